"""Does the engine shake a strand at its own frequency while it idles?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.sources import PRACTICE
from beltplan.belts.speeds import ratios
from beltplan.checks.clearance import strand_name
from beltplan.checks.finding import Finding
from beltplan.checks.limits import demanded
from beltplan.geometry.vectors import Floats
from beltplan.tension.operation import Operation
from beltplan.tension.vibration import frequency_running_Hz

CHECK = "resonance"
MEANING = "a strand whose own frequency meets the firing order or a pulley's turning in the idle band"
MOVING_STRING = "strand as a moving string (Sack 1954); width of the band " + PRACTICE


def resonance_findings(operation: Operation) -> list[Finding]:
    """Strands that the firing order or a turning pulley may shake at idle, one finding a strand: the nearest order."""
    shaking, found = exciting_Hz(operation), []
    for i, by_duty in enumerate(idle_frequencies_Hz(operation).T):
        ends = tuple(pulley.name for pulley in operation.route.strands[i])
        band = demanded(operation.route.layout, "idle_band_percent", ends).limit / 100.0
        near = (
            (abs(hertz / own - 1.0), own, name, hertz)
            for own in by_duty
            if own > 0.0
            for name, hertz in shaking.items()
        )
        apart, own, name, exciting = min(near, default=(np.inf, 0.0, "", 0.0))
        if apart < band:
            found.append(_near(operation, i, float(own), name, exciting, band, float(apart)))
    return found


def _near(
    operation: Operation, index: int, own: float, name: str, exciting: float, band: float, apart: float
) -> Finding:
    strand = strand_name(operation.route, index)
    message = (
        f"its own {own:.0f} Hz at idle is within {100 * band:.0f} % of {name} ({exciting:.0f} Hz): it may flap there; "
        "another tension, or an idler that shortens it"
    )
    margin = apart / band - 1.0
    return Finding(
        CHECK, "caution", strand, message, MOVING_STRING, 100.0 * apart, 100.0 * band, "%", margin, (strand,)
    )


def idle_frequencies_Hz(operation: Operation) -> Floats:
    """First natural frequency of every strand at idle in every duty; (d, n) Hz."""
    running = operation.running
    speed = np.sqrt(running.centrifugal_N[:, :1] / operation.mechanics.mass_kg_per_m)
    span = running.loop.span[:, 0]
    return frequency_running_Hz(running.total_N[:, 0], operation.mechanics.mass_kg_per_m, span, speed)


def exciting_Hz(operation: Operation) -> dict[str, float]:
    """What shakes the belt at idle, by name: the firing order of a four-stroke, and each pulley's turning; Hz.

    Source: cylinders / 2 firings a turn.
    """
    turns = float(operation.driver_rpm[0]) / 60.0
    cylinders = operation.route.layout.engine.cylinders
    orders = {} if cylinders is None else {"the firing order": turns * cylinders / 2.0}
    pulleys = zip(operation.route.pulleys, ratios(operation.route), strict=True)
    return orders | {f"the turning of {pulley.name}": turns * float(ratio) for pulley, ratio in pulleys}
