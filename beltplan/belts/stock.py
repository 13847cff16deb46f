"""Belts that can be bought: the file's own list, or a built-in one from memory."""

from __future__ import annotations

from dataclasses import replace

from beltplan.belts.belt import Belt
from beltplan.belts.layout import Layout

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


def stock_of(layout: Layout) -> tuple[Belt, ...]:
    """The belts to choose from: those listed, else the built-in list for the belt's profile and ribs.

    A listed belt takes over what the layout says of its belt (tolerance, stretch, back) and keeps its own length.
    A belt that the layout names for test is among them.
    """
    listed = layout.stock if layout.stock is not None else _built_in(layout.belt)
    named = () if layout.belt.length_mm is None else (layout.belt,)
    every = (*named, *listed)
    return tuple({(b.profile.name, b.ribs, b.length_mm, b.length_kind): b for b in reversed(every)}.values())


def _built_in(belt: Belt) -> tuple[Belt, ...]:
    kind = belt.profile.line_name
    return tuple(
        replace(belt, length_mm=float(length), length_kind=kind) for length in built_in_lengths_mm(belt.profile.name)
    )
