"""Belts that can be bought: the file's own list, or a built-in one from memory."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.profile_data import PROFILES
from beltplan.geometry.vectors import Bools, Floats

BUILT_IN_SOURCE = "commonly stocked lengths, from memory, medium confidence: ask your supplier"

_PK_MM = tuple(float(length) for length in (*range(500, 2000, 5), *range(2000, 3010, 10)))
_AUTOMOTIVE_MM = tuple(float(length) for length in range(500, 1700, 25))
_INCHES_INSIDE = {"A": range(24, 91), "B": range(35, 101)}
"""Classical V-belts are sold about every inch of inside length, which is the number of A51 or B60."""
BEGINS_MM: Mapping[str, float] = MappingProxyType({"PL": 950.0, "PM": 2286.0})
"""Where the lengths of a profile begin, effective; from memory, medium confidence."""


def built_in_lengths_mm(profile_name: str) -> tuple[float, ...]:
    """Lengths of a profile that are surely sold, mm along the followed line (effective, datum for classical sections).

    Empty for the profiles whose steps are not known: PH, PJ, PL and PM are not sold every 5 mm.
    Source: from memory, medium confidence.
    """
    if profile_name in _INCHES_INSIDE:
        below = PROFILES[profile_name].inside_below_mm or 0.0
        return tuple(round(inch * MM_PER_INCH + below, 2) for inch in _INCHES_INSIDE[profile_name])
    return {"PK": _PK_MM, "AV10": _AUTOMOTIVE_MM, "AV13": _AUTOMOTIVE_MM}.get(profile_name, ())


def may_be_sold(layout: Layout, least_mm: Floats | float, most_mm: Floats | float) -> Bools:
    """Whether a belt between two lengths may be sold though no list holds it: the list is the built-in one, from
    memory, and does not surely cover them. The user's own list is the last word. Least over most: no length at all.
    """
    lengths = built_in_lengths_mm(layout.belt.profile.name)
    some = np.asarray(least_mm) <= np.asarray(most_mm)
    if layout.stock is not None or layout.belt.length_mm is not None:
        return np.zeros_like(some)
    if not lengths:
        return some
    return np.asarray(some & ~((np.asarray(least_mm) >= lengths[0]) & (np.asarray(most_mm) <= lengths[-1])))


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
    lengths = (length for length in built_in_lengths_mm(belt.profile.name) if least_mm <= length <= most_mm)
    below = belt.profile.inside_below_mm
    if below is not None:
        return tuple(replace(belt, length_mm=round(length - below, 2), length_kind="inside") for length in lengths)
    return tuple(replace(belt, length_mm=length, length_kind="effective") for length in lengths)
