"""The tension section of the terminal report: what to set, what slips, what the brackets must hold."""

from __future__ import annotations

import numpy as np

from beltplan.belts.fit import is_sprung
from beltplan.belts.route import Route
from beltplan.belts.take_up import take_up_percent
from beltplan.belts.travel import END_WORDS
from beltplan.checks.limits import demanded
from beltplan.geometry.vectors import Floats
from beltplan.report.assumed_loads import assumed_words
from beltplan.report.tables import paragraph, table
from beltplan.tension.mechanics import CONDITIONS, DAMPING, source_of
from beltplan.tension.operation import Operation, end_of_travel, spring_band_N, why_not_judged
from beltplan.tension.tones import tones_Hz
from beltplan.tension.worst import WANTED_USE, Cure, cures_of, worst_point

FRICTION_WORDS = (
    "Friction varies by a factor of two with wear, water and dust: judge by the wet column and leave some in hand. The "
    "strength of brackets and bolts is for a qualified person."
)

BEYOND = ": do not rely on this tension, past there nothing holds the belt tight"
_SPRING = {
    "spring torque": (1000.0, ("torque_Nm", "rate_Nm_per_deg"), "deg"),
    "spring force": (1.0, ("force_N", "rate_N_per_mm"), "mm"),
}
"""By what sets the tension: the scale to the layout's unit, its two keys there, and the unit of `at`."""


def tension_lines(route: Route, operation: Operation | None) -> list[str]:
    """The section's lines; why there are no figures, where there are none."""
    if operation is None:
        return paragraph(f"not judged: {why_not_judged(route)}", "TENSION  ")
    return [
        "TENSION",
        *paragraph(_set_words(operation), "  "),
        *paragraph(_tune_words(operation), "  "),
        *_warnings(operation),
        *_slip(operation),
        *[line for cure in cures_of(operation) for line in paragraph(_cure_words(cure), "  ")],
        *_hubs(operation),
        *paragraph(FRICTION_WORDS + (" Keep clear of a sprung arm." if is_sprung(route.circuit) else "")),
    ]


def _set_words(operation: Operation) -> str:
    route = operation.route
    stopped, ribs = float(operation.stopped.total_N.mean()), route.layout.belt.ribs
    each = f"{stopped:.0f} N in every strand, engine stopped"
    if route.layout.belt.profile.is_ribbed:
        each += f" ({stopped / ribs:.0f} N a rib)"
    end = end_of_travel(operation)
    if operation.stopped.at_stop and end is not None:
        words = f"{each}: the adjuster {END_WORDS[end[0]]}, at {_setting_words(operation, end[1])}"
        stretched = end[0] in ("stop", "shortest path")
        return words + (", and the belt's stretch sets the tension, not the spring" if stretched else BEYOND)
    band = spring_band_N(operation, DAMPING)
    if band is not None:
        return (
            f"{each}; {band[0]:.0f} to {band[1]:.0f} N with {100 * DAMPING:.0f} % friction in the arm. The belt's "
            f"stretch puts the adjuster at {_setting_words(operation, float(operation.stopped.setting))}, a little off "
            "its place at measuring tension"
        )
    adjuster = route.circuit.adjuster
    given = adjuster is not None and adjuster.tension_N is not None
    return each + (
        "" if given or adjuster is None else f"; not given, so taken ({source_of(route.layout.belt, 'hand_set_N')})"
    )


def _setting_words(operation: Operation, setting: float) -> str:
    adjuster = operation.route.circuit.adjuster
    if adjuster is not None and adjuster.kind == "arm":
        return f"{np.degrees(setting):.1f} deg"
    return f"{setting:.1f} mm"


def _tune_words(operation: Operation) -> str:
    strands = ", ".join(
        f"{start.name} to {end.name} {'-' if hertz is None else format(hertz, '.0f')}"
        for (start, end), hertz in zip(operation.route.strands, tones_Hz(operation), strict=True)
    )
    return f"plucked, engine stopped, the strands sound at (Hz): {strands}"


def _warnings(operation: Operation) -> list[str]:
    percent = take_up_percent(operation.route)
    bound = demanded(operation.route.layout, "min_take_up_percent")
    if not is_sprung(operation.route.circuit) or percent is None or bound.verdict(percent) is None:
        return []
    words = f"the adjuster takes up only {percent:.0f} % of the best here: do not rely on the tension from its spring"
    return paragraph(words, "  ")


def _slip(operation: Operation) -> list[str]:
    if not operation.carries_load:
        return paragraph("no pulley has a `load`: slip is not judged", "  ")
    rows = [
        [pulley.name, *_slip_cells(operation, i)]
        for i, pulley in enumerate(operation.route.pulleys)
        if i == 0 or pulley.load is not None
    ]
    power = float(operation.driver_power_kW.max())
    words = f"Share of the grip used, worst over all speeds and duties; 1 is slip. Most power taken: {power:.1f} kW."
    return [
        *table(["slip", "worst duty", *CONDITIONS, "worst at", "torque"], rows, left=2),
        *paragraph(words),
        *[line for assumed in assumed_words(operation.route.pulleys) for line in paragraph(assumed, "  ")],
    ]


def _slip_cells(operation: Operation, index: int) -> list[str]:
    points = [worst_point(operation, operation.use, index, condition) for condition in CONDITIONS]
    wet = points[CONDITIONS.index("wet")]
    torque = abs(float(operation.running.torque_Nm[wet.duty, wet.speed, index]))
    cells = [f"{point.use:.2f}" if np.isfinite(point.use) else "slack" for point in points]
    return [operation.duties[wet.duty], *cells, f"{wet.rpm:.0f} rpm", f"{torque:.1f} Nm"]


def _cure_words(cure: Cure) -> str:
    if cure.push is None:
        return f"{cure.condition}: no tension brings the worst use to {WANTED_USE:g}: more wrap"
    done = f"would bring the worst use to {WANTED_USE:g}"
    by = ": a shorter belt" if cure.holds == "belt tension" else ""
    if cure.at is None or cure.rate is None:
        return f"{cure.condition}: a {cure.holds} of {cure.push * cure.now:.4g} N (now {cure.now:.4g}) {done}{by}"
    scale, names, unit = _SPRING[cure.holds]
    now = (cure.now / scale, cure.rate / scale)
    torque, rate = (f"{name} {cure.push * was:.4g} (now {was:.4g})" for name, was in zip(names, now, strict=True))
    return f"{cure.condition}: a spring {cure.push:.2f} times as strong {done}: {torque} at {cure.at:g} {unit}, {rate}"


def _hubs(operation: Operation) -> list[str]:
    stopped = operation.stopped.hub_load_N
    rows = [
        [pulley.name, *_load_cells(stopped[i]), *_load_cells(_worst_hub(operation, i))]
        for i, pulley in enumerate(operation.route.pulleys)
    ]
    heads = ["pull on the hub", "stopped", "toward", "worst running", "toward"]
    words = "Directions in degrees, 0 right, 90 up."
    adjuster = operation.route.circuit.adjuster
    if adjuster is not None and adjuster.kind == "arm":
        words += " The pivot of an arm carries the pull on its pulley's hub."
    return [*table(heads, rows), *paragraph(words)]


def _worst_hub(operation: Operation, index: int) -> Floats:
    loads, size = operation.running.hub_load_N[..., index, :].reshape(-1, 2), operation.hub_size_N[..., index]
    return np.asarray(loads[int(np.argmax(size))])


def _load_cells(load: Floats) -> list[str]:
    return [f"{np.hypot(load[0], load[1]):.0f} N", f"{np.degrees(np.arctan2(load[1], load[0])) % 360.0:.0f}"]
