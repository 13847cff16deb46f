"""Which belt fits: the lengths that can be bought, each against the window, its position, and what is left to
either end."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Literal, TypeVar

import numpy as np

from beltplan.drive.belt import MM_PER_INCH, Belt, format_designation, line_length_mm
from beltplan.drive.layout import Layout
from beltplan.drive.profiles import PROFILES
from beltplan.drive.travel import Circuit, Travel, setting_for
from beltplan.geometry.vectors import Bools, Floats

BUILT_IN_SOURCE = "commonly stocked lengths, from memory, medium confidence: ask your supplier"

_PK_MM = tuple(float(length) for length in (*range(500, 2000, 5), *range(2000, 3010, 10)))
_AUTOMOTIVE_MM = tuple(float(length) for length in range(500, 1700, 25))
_INCHES_INSIDE = {"A": range(24, 91), "B": range(35, 101)}
"""Classical V-belts are sold about every inch of inside length, which is the number of A51 or B60."""
BEGINS_MM: Mapping[str, float] = MappingProxyType({"PL": 950.0, "PM": 2286.0})
"""Where the lengths of a profile begin, effective; from memory, medium confidence."""


def begins_over(belt: Belt, most_mm: float) -> float | None:
    """Where the lengths of the belt's profile begin, mm, if that is over a length; else None."""
    begins = BEGINS_MM.get(belt.profile.name, 0.0)
    return begins if most_mm < begins else None


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


# Which belt fits: every stock belt against the window, its place on the travel, and what is left to either end.

Number = TypeVar("Number", float, Floats)


@dataclass(frozen=True)
class BeltGrowth:
    """By how much a belt grows over its nominal length, as shares of it.

    wear: stretch and wear in life. set: stretch from the measuring force up to the set tension of an adjuster without
    a spring; zero with a spring, None where the belt's stiffness is not known, and then it is left out.
    """

    wear: float
    set: float | None

    @property
    def total(self) -> float:
        """All that must be taken up; a belt set more loosely than it was measured is not counted as shorter."""
        return max(self.wear + (self.set or 0.0), 0.0)

    @property
    def pulled(self) -> float:
        """Length of a belt pulled to its set tension, over its nominal one; never under it, as `total`."""
        return 1.0 + max(self.set or 0.0, 0.0)

    @property
    def words(self) -> str:
        """What makes it up."""
        return "stretch to the set tension, and wear" if self.set else "and wear"


@dataclass(frozen=True, eq=False)
class Window:
    """The lengths that the drive can take, and what must be left of them; all in mm.

    shortest, longest: path at the ends of the usable travel. short_end, long_end: where the reserves count from (the
    marks where the arm has them). fitting: slack needed to slip the belt over the easiest fixed rim, `last_over`.
    growth: of the belt, that must still be taken up.
    """

    shortest: float
    longest: float
    short_end: float
    long_end: float
    fitting: float
    last_over: str
    growth: BeltGrowth


@dataclass(frozen=True, eq=False)
class FittedBelt:
    """A belt that can be put on: where it puts the adjuster, and what is left.

    line_mm: its length along the followed line. setting: the adjuster's; position: 0 short end, 1 long end (None
    without an adjuster). short_reserve_mm, long_reserve_mm: left over after tolerance, fitting and wear; negative
    where something is missing. reasons: in words, empty for a good belt.
    """

    belt: Belt
    line_mm: float
    setting: float | None
    position: float | None
    short_reserve_mm: float
    long_reserve_mm: float
    judged: Literal["good", "marginal"]
    reasons: tuple[str, ...]

    @property
    def designation(self) -> str:
        """Designation of the belt."""
        return format_designation(self.belt)

    @property
    def reserve_mm(self) -> float:
        """The smaller of the two reserves."""
        return min(self.short_reserve_mm, self.long_reserve_mm)


def window_of(layout: Layout, circuit: Circuit, travel: Travel) -> Window:
    """The window of an adjuster, with the slack that fitting needs at its short-path stop.

    Source: fitting slack, dL/dr = wrap for every rim (derived); growth as `growth_of`.
    """
    fitting, last_over = _fitting(layout, circuit, travel)
    ends = _mark_lengths(circuit, travel)
    return Window(travel.shortest_mm, travel.longest_mm, *ends, fitting, last_over, growth_of(layout.belt, circuit))


def growth_of(belt: Belt, circuit: Circuit) -> BeltGrowth:
    """What an adjuster must take up of a belt's growth: wear, and where it is set by hand the stretch to that tension.

    Source: wear by belt kind, common practice, no source; stretch (T_set - T_measuring) / EA, Hooke.
    """
    wear, stiffness = belt.profile.wear_share, belt.full_stiffness_N
    if circuit.adjuster is None or is_sprung(circuit):
        return BeltGrowth(wear, 0.0)
    set_N = belt.hand_set_N if circuit.adjuster.tension_N is None else circuit.adjuster.tension_N
    return BeltGrowth(wear, None if stiffness is None else (set_N - belt.measuring_N) / stiffness)


def is_sprung(circuit: Circuit) -> bool:
    """Whether a spring moves the adjuster; otherwise it is set by hand and locked."""
    return circuit.adjuster is not None and circuit.adjuster.spring is not None


def _fitting(layout: Layout, circuit: Circuit, travel: Travel) -> tuple[float, str]:
    wrap = circuit.loop_at(travel.short).wrap
    over = [
        (float(wrap[i]) * pulley.climb_mm(layout.belt), pulley.name)
        for i, pulley in enumerate(circuit.pulleys)
        if i != circuit.moving
    ]
    return min(over)


def _mark_lengths(circuit: Circuit, travel: Travel) -> tuple[float, float]:
    marks = circuit.adjuster.marks if circuit.adjuster is not None else None
    if marks is None:
        return travel.shortest_mm, travel.longest_mm
    low, high = sorted((travel.short, travel.long))
    lengths = sorted(float(length) for length in circuit.loop_at(np.clip(np.array(marks), low, high)).length)
    return lengths[0], lengths[1]


def fitted_in_window(layout: Layout, circuit: Circuit, travel: Travel, window: Window) -> tuple[FittedBelt, ...]:
    """Stock belts inside the window, good before marginal, then larger smallest reserve, then shorter."""
    belts = stock_of(layout, window.shortest, window.longest)
    settings = setting_for(circuit, travel, np.array([line_length_mm(belt) for belt in belts]))
    fitted = [_fitted(belt, float(at), travel, window) for belt, at in zip(belts, settings, strict=True)]
    return tuple(sorted(fitted, key=lambda f: (f.judged != "good", -f.reserve_mm, f.line_mm)))


def _fitted(belt: Belt, setting: float, travel: Travel, window: Window) -> FittedBelt:
    line = line_length_mm(belt)
    short, long = reserves_in_window(
        line, belt.tolerance_of(line), window.growth.total, window.fitting, window.short_end, window.long_end
    )
    reasons = _short_of(short, "short", "length tolerance and fitting") + _short_of(
        long, "long", f"length tolerance{', ' if window.growth.set else ' '}{window.growth.words}"
    )
    judged: Literal["good", "marginal"] = "marginal" if reasons else "good"
    return FittedBelt(belt, line, setting, travel.position(setting), short, long, judged, reasons)


def reserves_in_window(
    line_mm: float,
    tolerance_mm: float,
    growth_share: float,
    fitting_mm: Number,
    short_end_mm: Number,
    long_end_mm: Number,
) -> tuple[Number, Number]:
    """What a belt leaves at the short-path end after tolerance and fitting, and at the long one after tolerance and
    growth, mm; for one window or for arrays of them.
    """
    short = line_mm - tolerance_mm - fitting_mm - short_end_mm
    return short, long_end_mm - line_mm - tolerance_mm - growth_share * line_mm


def _short_of(reserve: float, end: str, what: str) -> tuple[str, ...]:
    return () if reserve >= 0.0 else (f"{-reserve:.1f} mm too little at the {end}-path end for {what}",)


def acceptable_lengths(belt: Belt, window: Window) -> tuple[float, float] | None:
    """Least and most length along the followed line that is good in a window, mm; None where no length is."""
    ends = (window.fitting, window.short_end, window.long_end)
    least, most = (float(end) for end in good_ends(belt, window.growth.total, *ends))
    return (least, most) if least <= most else None


def good_ends(
    belt: Belt, growth_share: float, fitting_mm: Number, short_end_mm: Number, long_end_mm: Number
) -> tuple[Floats, Floats]:
    """Least and most length that is good, mm, for one window or for arrays of them; the least is over the most where
    none is.

    Solves L - tolerance(L) - fitting >= short end and L + tolerance(L) + growth L <= long end, with the tolerance the
    greater of a fixed number and a share of L.
    """
    fixed, share = _tolerance_parts(belt)
    grown, short, long = 1.0 + growth_share, np.asarray(short_end_mm + fitting_mm), np.asarray(long_end_mm)
    return np.maximum(short + fixed, short / (1.0 - share)), np.minimum((long - fixed) / grown, long / (share + grown))


def ends_put_on(growth: BeltGrowth, window: Window | Windows) -> tuple[Floats, Floats]:
    """Least and most length that can be put on, mm: slipped over the easiest rim at the short-path end, and no longer
    than the longest path when pulled to its set tension. The least is over the most where none can.
    """
    return np.asarray(window.shortest + window.fitting), np.asarray(window.longest) / growth.pulled


def ends_to_ask_for(layout: Layout, growth: BeltGrowth, window: Window | Windows) -> tuple[Floats, Floats, Bools]:
    """Least and most length to ask a supplier for, mm, and whether there is one to ask for: what is good, else what can
    be put on at all, where the built-in list does not surely cover the window.
    """
    ends = (np.asarray(end) for end in (window.fitting, window.short_end, window.long_end))
    good, on = good_ends(layout.belt, growth.total, *ends), ends_put_on(growth, window)
    least, most = (np.where(good[0] <= good[1], *pair) for pair in zip(good, on, strict=True))
    return least, most, may_be_sold(layout, window.shortest, window.longest) & (least <= most)


def share_missing(reserve_mm: Number, shortest_mm: Number, longest_mm: Number) -> Floats:
    """A reserve as a share of its window, negative where something is missing; of 1 mm at least."""
    return np.asarray(reserve_mm / np.maximum(longest_mm - shortest_mm, 1.0))


def _tolerance_parts(belt: Belt) -> tuple[float, float]:
    if belt.tolerance_mm is not None:
        return belt.tolerance_mm, 0.0
    return belt.profile.tolerance_least_mm, belt.profile.tolerance_share


def fitted_on_fixed(layout: Layout, needed_mm: float) -> tuple[FittedBelt, ...]:
    """Stock belts that a drive without adjuster can take: by stretch, or, marginal at best, by their tolerance."""
    fitted = [_on_fixed(belt, needed_mm) for belt in stock_of(layout)]
    inside = [belt for belt in fitted if belt.reserve_mm >= 0.0]
    return tuple(sorted(inside, key=lambda f: (f.judged != "good", -f.reserve_mm, f.line_mm)))


def _on_fixed(belt: Belt, needed_mm: float) -> FittedBelt:
    line, (least, most) = line_length_mm(belt), taken_on_fixed(belt)
    reserves = (most - needed_mm, needed_mm - least)
    if belt.stretch_fit is not None:
        return FittedBelt(belt, line, None, None, *reserves, "good", ())
    reasons = ("there is no adjuster, and nothing else takes up its length tolerance, its stretch and its wear",)
    return FittedBelt(belt, line, None, None, *reserves, "marginal", reasons)


def taken_on_fixed(belt: Belt) -> tuple[float, float]:
    """Shortest and longest path that a belt goes on where nothing adjusts it, mm: by its stretch, else by tolerance."""
    line = line_length_mm(belt)
    if belt.stretch_fit is not None:
        return line * (1.0 + belt.stretch_fit[0]), line * (1.0 + belt.stretch_fit[1])
    return line - belt.tolerance_of(line), line + belt.tolerance_of(line)


def seat_mm(belt: Belt) -> float:
    """Path length that a belt is made for where nothing adjusts it, mm: its own, or in the middle of its stretch."""
    least, most = belt.stretch_fit or (0.0, 0.0)
    return line_length_mm(belt) * (1.0 + 0.5 * (least + most))


def stretch_lengths(belt: Belt, needed_mm: Number) -> tuple[Number, Number] | None:
    """Least and most length of a stretch belt that a drive without adjuster can take, mm along the followed line, for
    one path or for many; None for a belt that needs an adjuster.
    """
    if belt.stretch_fit is None:
        return None
    return needed_mm / (1.0 + belt.stretch_fit[1]), needed_mm / (1.0 + belt.stretch_fit[0])


# What very many drives can take: the window of each, as arrays.


@dataclass(frozen=True, eq=False)
class Windows:
    """The windows of many drives, (N) mm each, as `belts.fit.Window`.

    short, long: where the adjuster is at the two ends, in whatever the study counts its place by.
    """

    short: Floats
    long: Floats
    shortest: Floats
    longest: Floats
    short_end: Floats
    long_end: Floats
    fitting: Floats

    def where(self, keep: Bools) -> Windows:
        """Only some of them."""
        return Windows(*(getattr(self, field.name)[keep] for field in fields(self)))
