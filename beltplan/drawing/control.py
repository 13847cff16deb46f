"""Distances to be measured on a print before anything is punched: between dots, by their numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from beltplan.drawing.study import Spot
from beltplan.drive.belt import MM_PER_INCH
from beltplan.picture.scene import Box

_ON_FIRST = 3


def control_words(dots: Sequence[Spot], window: Box, first: bool) -> str:
    """What to measure on a sheet: on the first the three longest distances of all, else the longest on it, or nothing.

    dots: the points to punch; those of shaft centres and pivots count. window: what the sheet shows, mm.
    """
    centres = [spot for spot in dots if spot.layer == "centres"]
    (left, bottom, right, top), here = window, centres
    if not first:
        here = [spot for spot in centres if left <= spot.at_mm[0] <= right and bottom <= spot.at_mm[1] <= top]
    pairs = sorted(combinations(here, 2), key=lambda pair: -math.dist(pair[0].at_mm, pair[1].at_mm))
    told = [_told(*pair) for pair in pairs[: _ON_FIRST if first else 1]]
    return f"Measure dot to dot before you punch: {'; '.join(told)}." if told else ""


def _told(start: Spot, end: Spot) -> str:
    mm = math.dist(start.at_mm, end.at_mm)
    return f"{start.name} to {end.name} {mm:.1f} mm ({mm / MM_PER_INCH:.2f} in)"
