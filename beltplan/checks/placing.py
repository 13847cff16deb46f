"""How far off its place may a pulley come to sit?"""

from __future__ import annotations

from math import floor

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Layout, Units, deviations_of

LEAST_OFF_MM = 3.0
"""So far off its place a pulley may come to sit at least, however well it was measured (our own choice)."""
_DEVIATIONS = 2.0
"""Standard deviations of a pulley's place that it may be off."""
_STEPS_OFF = 1e-9
"""A whole number of steps may come out smaller by so much."""


def at_least_words(mm: float, units: Units) -> str:
    """A distance rounded down as it is told in those units: what keeps within it is surely well."""
    step_mm, decimals = (0.1, 1) if units == "mm" else (0.001 * MM_PER_UNIT[units], 2)
    return f"{floor(mm / step_mm + _STEPS_OFF) * step_mm:.{decimals}f} mm"


def may_be_off_mm(layout: Layout, name: str) -> float:
    """How far off its place a pulley may come to sit: two standard deviations, 3 mm at least."""
    return max(LEAST_OFF_MM, _DEVIATIONS * deviations_of(layout, layout.pulleys[name]).position_mm)
