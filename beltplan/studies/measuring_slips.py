"""What a person may have done who misread something: another unit, another way round, rims for centres."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from beltplan.belts.designations import MM_PER_INCH
from beltplan.geometry.vectors import TURN
from beltplan.studies.measured import Direction, Distance, Measured
from beltplan.studies.measured_network import RIMS
from beltplan.studies.measuring_blunders import TOLERATED, Misread

Kind = Literal["read in mm", "read in inches", "centres", "outside", "gap", "plumb", "clockwise", "reversed"]
"""read in mm, read in inches: the number is of the other unit. centres, outside, gap: what the tape lay along. plumb:
the angle counts from straight up. clockwise: it counts the other way. reversed: from the second point to the first."""

ALIKE = 1e-6
"""A right angle is nine times ten degrees as well: where both explain as much, the slip says more."""


@dataclass(frozen=True)
class Slip:
    """What explains a misreading. fits: what would have been read without it, mm or deg as the reading counts."""

    kind: Kind
    fits: float


def slip_of(measured: Measured, misread: Misread) -> Slip | None:
    """The slip that explains a misreading within its deviation, the nearest of all that do; None where none does.

    Nor is there one where a whole number of inches, of ten millimetres or of ten degrees explains it better.
    Source: the kinds are common practice, no source.
    """
    source, tolerance = misread.reading.source, TOLERATED * misread.deviation
    if isinstance(source, Distance):
        right = source.value_mm - misread.error
        known, own = _of_distance(measured, source), abs(misread.error)
    elif isinstance(source, Direction):
        right = math.degrees(source.value_rad) - misread.error
        known, own = _of_direction(math.degrees(source.value_rad)), abs(misread.error)
    else:
        return None
    offs = [(_off(fits, right, isinstance(source, Direction)), Slip(kind, fits)) for kind, fits in known.items()]
    # Where the deviation is wide, what was read lies near as well: then nothing is explained.
    near = [(off, slip) for off, slip in offs if off <= tolerance < 0.5 * own]
    off, slip = min(near, key=lambda each: each[0], default=(math.inf, None))
    by_steps = abs(misread.error - misread.steps * misread.step) if misread.steps else math.inf
    return slip if off <= by_steps + ALIKE else None


def _off(fits: float, right: float, is_angle: bool) -> float:
    turns = round((fits - right) / 360.0) if is_angle else 0
    return abs(fits - right - 360.0 * turns)


def _of_distance(measured: Measured, source: Distance) -> dict[Kind, float]:
    """What every slip would have made of the right distance, turned back: by its kind, mm."""
    value = source.value_mm
    known: dict[Kind, float] = {"read in mm": value / MM_PER_INCH, "read in inches": value * MM_PER_INCH}
    radii = [size.diameter_mm / 2.0 for name in (source.first, source.second) for size in measured.sizes
             if size.pulley == name][:2]  # fmt: skip
    if len(radii) == 2:
        # The reading counts as its own way says; taken as another way, the centres lie elsewhere.
        ways: tuple[Literal["centres", "outside", "gap"], ...] = ("centres", "outside", "gap")
        shift = {way: (RIMS[source.between] - RIMS[way]) * sum(radii) for way in ways if way != source.between}
        known |= {way: value + by for way, by in shift.items()}
    return known


def _of_direction(value_deg: float) -> dict[Kind, float]:
    return {"plumb": value_deg + 90.0, "clockwise": -value_deg, "reversed": value_deg + math.degrees(TURN) / 2.0}
