"""Belts that can be bought: the file's own list, or a built-in one from memory."""

from __future__ import annotations

import math
from dataclasses import replace

from beltplan.belts.belt import Belt
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm

BUILT_IN_SOURCE = "commonly stocked lengths, from memory, medium confidence: ask your supplier"

_RIBBED_MM = tuple(range(500, 2000, 5)) + tuple(range(2000, 3010, 10))
_AUTOMOTIVE_MM = tuple(range(500, 1700, 25))
_A_DATUM_MM = (630, 700, 790, 890, 990, 1100, 1250, 1430, 1550, 1640, 1750, 1940, 2050, 2200, 2300, 2480, 2700)
_B_DATUM_MM = (930, 1000, 1100, 1210, 1370, 1560, 1760, 1950, 2180, 2300, 2500, 2700, 2870, 3200)


def built_in_lengths_mm(profile_name: str) -> tuple[int, ...]:
    """Commonly stocked lengths of a profile, mm: effective, or datum for classical sections (ISO 4184).

    Source: from memory, medium confidence.
    """
    own = {"AV10": _AUTOMOTIVE_MM, "AV13": _AUTOMOTIVE_MM, "A": _A_DATUM_MM, "B": _B_DATUM_MM}
    return own.get(profile_name, _RIBBED_MM)


def stock_of(layout: Layout, least_mm: float = 0.0, most_mm: float = math.inf) -> tuple[Belt, ...]:
    """The belts to choose from: those listed, else the built-in list for the belt's profile and ribs.

    least_mm, most_mm: only belts whose length along the followed line lies between, ends included.
    A listed belt takes over what the layout says of its belt (tolerance, stretch, back) and keeps its own length.
    A belt that the layout names for test is among them.
    """
    named = () if layout.belt.length_mm is None else (layout.belt,)
    listed = _built_in(layout.belt, least_mm, most_mm) if layout.stock is None else layout.stock
    inside = (belt for belt in (*listed, *named) if least_mm <= line_length_mm(belt) <= most_mm)
    return tuple({(belt.length_mm, belt.length_kind): belt for belt in inside}.values())


def _built_in(belt: Belt, least_mm: float, most_mm: float) -> tuple[Belt, ...]:
    # Built-in lengths are along the followed line, so they can be sorted out before any belt is made of them.
    lengths = (float(length) for length in built_in_lengths_mm(belt.profile.name) if least_mm <= length <= most_mm)
    return tuple(replace(belt, length_mm=length, length_kind=belt.profile.line_name) for length in lengths)
