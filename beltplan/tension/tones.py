"""What every span sounds at when it is plucked, engine stopped."""

from __future__ import annotations

from beltplan.tension.operation import Operation
from beltplan.tension.vibration import frequency_at_rest_Hz


def tones_Hz(operation: Operation) -> tuple[float | None, ...]:
    """First natural frequency of every span at rest, in the order of the route.

    None for a slack span, and for one shorter than the belt is high: that is no string.
    """
    stopped, height = operation.stopped, operation.route.layout.belt.profile.thickness_mm
    tones = frequency_at_rest_Hz(stopped.total_N, operation.mechanics.mass_kg_per_m, stopped.loop.span)
    rows = zip(tones.tolist(), stopped.loop.span.tolist(), strict=True)
    return tuple(hertz if span >= height and hertz > 0.0 else None for hertz, span in rows)
