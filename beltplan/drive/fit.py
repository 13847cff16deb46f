"""Which belt fits: the lengths that can be bought, each against the window, its position, and what is left to
either end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Generic, Literal, TypeVar

import numpy as np

from beltplan.drive.belt import MM_PER_INCH, Belt, format_designation, line_length_mm
from beltplan.drive.layout import Layout
from beltplan.drive.profiles import PROFILES
from beltplan.drive.travel import Circuit, Travel
from beltplan.geometry.vectors import Bools, Floats, Ints

BUILT_IN_SOURCE = "commonly stocked lengths, from memory, medium confidence: ask your supplier"

_PK_MM = tuple(float(length) for length in (*range(500, 2000, 5), *range(2000, 3010, 10)))
_AUTOMOTIVE_MM = tuple(float(length) for length in range(500, 1700, 25))
_INCHES_INSIDE = {"A": range(24, 91), "B": range(35, 101)}
"""Classical V-belts are sold about every inch of inside length, which is the number of A51 or B60."""
_BEGINS_MM: Mapping[str, float] = MappingProxyType({"PL": 950.0, "PM": 2286.0})
"""Where the lengths of a profile begin, effective; from memory, medium confidence."""


def begins_over(belt: Belt, maximum_mm: float) -> float | None:
    """Where the lengths of the belt's profile begin, mm, if that is over a length; else None."""
    begins = _BEGINS_MM.get(belt.profile.name, 0.0)
    return begins if maximum_mm < begins else None


def built_in_lengths_mm(profile_name: str) -> tuple[float, ...]:
    """Lengths of a profile that are surely sold, mm along the followed line (effective, datum for classical sections).

    Empty for the profiles whose steps are not known: PH, PJ, PL and PM are not sold every 5 mm.
    Source: from memory, medium confidence.

    >>> built_in_lengths_mm("PK")[:3], built_in_lengths_mm("PL")
    ((500.0, 505.0, 510.0), ())
    """
    if profile_name in _INCHES_INSIDE:
        below = PROFILES[profile_name].inside_below_mm or 0.0
        return tuple(round(inch * MM_PER_INCH + below, 2) for inch in _INCHES_INSIDE[profile_name])
    return {"PK": _PK_MM, "AV10": _AUTOMOTIVE_MM, "AV13": _AUTOMOTIVE_MM}.get(profile_name, ())


def may_be_sold(layout: Layout, minimum_mm: Floats | float, maximum_mm: Floats | float) -> Bools:
    """Whether a belt between two lengths may be sold though no list holds it: the list is the built-in one, from
    memory, and does not surely cover them. The user's own list is the last word. Least over most: no length at all.
    """
    lengths = built_in_lengths_mm(layout.belt.profile.name)
    some = np.asarray(minimum_mm) <= np.asarray(maximum_mm)
    if layout.stock is not None or layout.belt.length_mm is not None:
        return np.zeros_like(some)
    if not lengths:
        return some
    return np.asarray(some & ~((np.asarray(minimum_mm) >= lengths[0]) & (np.asarray(maximum_mm) <= lengths[-1])))


def stock_of(layout: Layout, minimum_mm: float = 0.0, maximum_mm: float = math.inf) -> tuple[Belt, ...]:
    """The belts to choose from: those listed, else the built-in list for the belt's profile and ribs.

    minimum_mm, maximum_mm: only belts whose length along the followed line lies between, ends included.
    A listed belt takes over what the layout says of its belt (tolerance, stretch, back) and keeps its own length.
    A belt that the layout names for test is among them.
    """
    named = () if layout.belt.length_mm is None else (layout.belt,)
    listed = _built_in(layout.belt, minimum_mm, maximum_mm) if layout.stock is None else layout.stock
    inside = (belt for belt in (*listed, *named) if minimum_mm <= line_length_mm(belt) <= maximum_mm)
    return tuple({(belt.length_mm, belt.length_kind): belt for belt in inside}.values())


def _built_in(belt: Belt, minimum_mm: float, maximum_mm: float) -> tuple[Belt, ...]:
    # Built-in lengths are along the followed line, so they can be sorted out before any belt is made of them.
    lengths = (length for length in built_in_lengths_mm(belt.profile.name) if minimum_mm <= length <= maximum_mm)
    below = belt.profile.inside_below_mm
    if below is not None:
        return tuple(replace(belt, length_mm=round(length - below, 2), length_kind="inside") for length in lengths)
    return tuple(replace(belt, length_mm=length, length_kind="effective") for length in lengths)


_Number = TypeVar("_Number", float, Floats)


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
        return "stretch to the set tension, and wear" if self.set else "and wear"


@dataclass(frozen=True, eq=False)
class Window(Generic[_Number]):
    """The lengths that the drive can take, and what must be left of them; mm, (...) for many layouts.

    shortest, longest: path at the ends of the usable travel. short_end, long_end: where the reserves count from (the
    marks where the arm has them). fitting: slack needed to slip the belt over the easiest fixed rim; last_over: its
    index. growth: of the belt, that must still be taken up.
    """

    shortest: _Number
    longest: _Number
    short_end: _Number
    long_end: _Number
    fitting: _Number
    last_over: Ints
    growth: BeltGrowth

    def where(self: Window[Floats], keep: Bools | Ints) -> Window[Floats]:
        ends = (self.short_end[keep], self.long_end[keep])
        shortest, longest, fitting = self.shortest[keep], self.longest[keep], self.fitting[keep]
        return Window(shortest, longest, *ends, fitting, self.last_over[keep], self.growth)

    @property
    def single(self: Window[Floats]) -> Window[float]:
        lengths = (self.shortest, self.longest, self.short_end, self.long_end, self.fitting)
        shortest, longest, short_end, long_end, fitting = map(float, lengths)
        return Window(shortest, longest, short_end, long_end, fitting, self.last_over, self.growth)


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
    reasons: tuple[str, ...]

    @property
    def verdict(self) -> Literal["good", "marginal"]:
        return "marginal" if self.reasons else "good"

    @property
    def designation(self) -> str:
        return format_designation(self.belt)

    @property
    def reserve_mm(self) -> float:
        return min(self.short_reserve_mm, self.long_reserve_mm)


def window_of(layout: Layout, circuit: Circuit, travel: Travel) -> Window[Floats]:
    """The windows of adjusters, with the slack that fitting needs at their short-path end.

    Source: fitting slack, dL/dr = wrap for every rim (derived); growth as `growth_of`.

    >>> from beltplan.drive.pulleys import Pulley, Slide
    >>> from beltplan.drive.travel import circuit_of, travel_of
    >>> crank = Pulley("crank", "crankshaft", 100.0, at_mm=(0.0, 0.0), drives=True)
    >>> idler = Pulley("tensioner", "tensioner", 100.0, adjuster=Slide((280.0, 0.0), (320.0, 0.0)))
    >>> pulleys = {"crank": crank, "tensioner": idler}
    >>> layout = Layout("two pulleys", Belt(PROFILES["PK"], 6), pulleys, tuple(pulleys))
    >>> circuit = circuit_of(layout)
    >>> travel = travel_of(circuit)
    >>> window = window_of(layout, circuit, travel).single
    >>> round(window.shortest, 3), round(window.longest, 3)
    (874.159, 954.159)
    >>> setting_for(circuit, travel, window, np.array([900.0])).round(3).tolist()
    [12.92]
    """
    path, rises = circuit.path_at(travel.ends(circuit)), travel.direction >= 0.0
    shortest, longest = _by_end(path.length, rises)
    fitting, last_over = np.full(rises.shape, np.inf), np.zeros(rises.shape, dtype=np.int16)
    # Of equals the first by name.
    for i in sorted(range(len(circuit.pulleys)), key=lambda i: circuit.pulleys[i].name):
        if i != circuit.moving:
            slack = _by_end(path.wrap[i], rises)[0] * circuit.pulleys[i].climb_mm(layout.belt)
            fitting, last_over = np.minimum(slack, fitting), np.where(slack < fitting, i, last_over)
    ends = _mark_lengths(circuit, travel) or (shortest, longest)
    return Window(shortest, longest, *ends, fitting, last_over, growth_of(layout.belt, circuit))


def _by_end(values: Floats, rises: Bools) -> tuple[Floats, Floats]:
    """What there is at the short-path and at the long-path end, of values at the low and the high one, (2, ...)."""
    low, high = np.broadcast_to(values, (2, *rises.shape))
    return np.where(rises, low, high), np.where(rises, high, low)


def _mark_lengths(circuit: Circuit, travel: Travel) -> tuple[Floats, Floats] | None:
    marks = None if circuit.track is None else circuit.track.marks
    if marks is None:
        return None
    first, last = (circuit.path_at(np.clip(mark, travel.low, travel.high)).length for mark in marks)
    return np.minimum(first, last), np.maximum(first, last)


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


def adjuster_word(circuit: Circuit) -> str:
    """What the adjuster is called: a tensioner where it is sprung."""
    return "tensioner" if is_sprung(circuit) else "adjuster"


def is_arm(circuit: Circuit) -> bool:
    """Whether it is an arm that adjusts, not a slide."""
    return circuit.adjuster is not None and circuit.adjuster.kind == "arm"


def setting_words(circuit: Circuit, setting: float) -> str:
    """Where the adjuster stands, as the file counts it: the arm's angle, or the distance from the slide's `from`."""
    return f"{np.degrees(setting):z.1f} deg" if is_arm(circuit) else f"{setting:z.1f} mm past `from`"


def left_words(circuit: Circuit, travel: Travel, setting: float) -> str:
    """How far that is from both ends of the usable travel, by the adjuster's own way."""
    unit, own = ("mm", 1.0) if circuit.adjuster is None else (circuit.adjuster.unit, circuit.adjuster.own)
    short, long = (own * abs(setting - float(end)) for end in (travel.short, travel.long))
    end = "stop" if travel.whole else "end of its usable travel"
    return f"{short:.1f} {unit} from the short and {long:.1f} {unit} from the long {end}"


_SOLVE_ROUNDS = 60
_CLOSE = 1e-12
_SHORTEST_WINDOW_MM = 1e-9
"""A window narrower than this is a point: no division by its width."""


def setting_for(circuit: Circuit, travel: Travel, window: Window[float] | Window[Floats], line_mm: Floats) -> Floats:
    """Settings at which paths have given lengths inside their windows, (...) mm -> (...): one layout and many lengths,
    or one for each of many layouts. Lengths outside the window give the nearer end.

    Newton steps from the closed-form slope, kept between both ends of what is still possible.
    """
    wanted = np.clip(np.asarray(line_mm, dtype=float), window.shortest, window.longest)
    low, high = travel.short, travel.long
    width = np.maximum(window.longest - window.shortest, _SHORTEST_WINDOW_MM)
    setting = low + (high - low) * (wanted - window.shortest) / width
    for _ in range(_SOLVE_ROUNDS):
        path = circuit.path_at(setting)
        error = path.length - wanted
        low, high = np.where(error < 0.0, setting, low), np.where(error < 0.0, high, setting)
        slope = circuit.slope_at(setting, path)
        step = setting - error / np.where(slope == 0.0, np.inf, slope)
        new = np.where((step - low) * (step - high) <= 0.0, step, 0.5 * (low + high))
        close = np.abs(new - setting) <= _CLOSE * (1.0 + np.abs(setting))
        setting = new
        if close.all():
            break
    return np.asarray(setting)


def fitted_in_window(layout: Layout, circuit: Circuit, travel: Travel, window: Window[float]) -> tuple[FittedBelt, ...]:
    """Stock belts inside the window, good before marginal, then larger smallest reserve, then shorter."""
    belts = stock_of(layout, window.shortest, window.longest)
    settings = setting_for(circuit, travel, window, np.array([line_length_mm(belt) for belt in belts]))
    return _best_first(_fitted(belt, float(at), travel, window) for belt, at in zip(belts, settings, strict=True))


def _fitted(belt: Belt, setting: float, travel: Travel, window: Window[float]) -> FittedBelt:
    line = line_length_mm(belt)
    short, long = reserves(window, line, belt.tolerance_of(line))
    growth = f"length tolerance{', ' if window.growth.set else ' '}{window.growth.words}"
    ends = ((short, "short", "length tolerance and fitting"), (long, "long", growth))
    reasons = tuple(
        f"{_lack(-reserve)} mm too little travel to the {end} stop for {what}"
        for reserve, end, what in ends
        if reserve < 0.0
    )
    return FittedBelt(belt, line, setting, float(travel.position(setting)), short, long, reasons)


def _lack(mm: float) -> str:
    """What is lacking never reads as zero."""
    return f"{mm:.1f}" if mm >= _SHOWN_MM else f"{max(mm, _LEAST_SHOWN_MM):.1g}"


_SHOWN_MM, _LEAST_SHOWN_MM = 0.05, 0.001


def reserves(window: Window[_Number], line_mm: _Number | float, tolerance_mm: float) -> tuple[_Number, _Number]:
    """What a belt leaves at the short-path end after tolerance and fitting, and at the long one after tolerance and
    growth, mm, (...).
    """
    short = line_mm - tolerance_mm - window.fitting - window.short_end
    return short, window.long_end - line_mm - tolerance_mm - window.growth.total * line_mm


def acceptable_lengths(belt: Belt, window: Window[float]) -> tuple[float, float] | None:
    """Least and most length along the followed line that is good in a window, mm; None where no length is."""
    least, most = map(float, good_ends(belt, window))
    return (least, most) if least <= most else None


def good_ends(belt: Belt, window: Window[_Number]) -> tuple[Floats, Floats]:
    """Least and most length that is good, mm, (...); the least is over the most where none is.

    Solves L - tolerance(L) - fitting >= short end and L + tolerance(L) + growth L <= long end, with the tolerance the
    greater of a fixed number and a share of L.
    """
    profile, given = belt.profile, belt.tolerance_mm
    fixed, share = (profile.tolerance_least_mm, profile.tolerance_share) if given is None else (given, 0.0)
    grown, long = 1.0 + window.growth.total, np.asarray(window.long_end)
    short = np.asarray(window.short_end + window.fitting)
    return np.maximum(short + fixed, short / (1.0 - share)), np.minimum((long - fixed) / grown, long / (share + grown))


def ends_put_on(window: Window[_Number]) -> tuple[Floats, Floats]:
    """Least and most length that can be put on, mm: slipped over the easiest rim at the short-path end, and no longer
    than the longest path when pulled to its set tension. The least is over the most where none can.
    """
    return np.asarray(window.shortest + window.fitting), np.asarray(window.longest) / window.growth.pulled


def ends_sure_to_go_on(belt: Belt, window: Window[_Number]) -> tuple[Floats, Floats]:
    """Least and most length that can be put on and tightened however far it is off by its tolerance, mm, (...); the
    least is over the most where none is. As `good_ends`, over the whole travel, of a belt that is new.
    """
    whole = replace(window, short_end=window.shortest, long_end=window.longest, growth=replace(window.growth, wear=0.0))
    return good_ends(belt, whole)


def ends_to_ask_for(layout: Layout, window: Window[_Number]) -> tuple[Floats, Floats, Bools]:
    """Least and most length to ask a supplier for, mm, and whether there is one to ask for: what is good, else what can
    be put on at all, where the built-in list does not surely cover the window.
    """
    good, on = good_ends(layout.belt, window), ends_put_on(window)
    least, most = (np.where(good[0] <= good[1], *pair) for pair in zip(good, on, strict=True))
    return least, most, may_be_sold(layout, window.shortest, window.longest) & (least <= most)


def share_missing(reserve_mm: _Number, window: Window[_Number]) -> Floats:
    """A reserve as a share of its window, negative where something is missing; of 1 mm at least."""
    return np.asarray(reserve_mm / np.maximum(window.longest - window.shortest, 1.0))


def fitted_on_fixed(layout: Layout, needed_mm: float) -> tuple[FittedBelt, ...]:
    """Stock belts that a drive without adjuster can take: by stretch, or, marginal at best, by their tolerance."""
    fitted = [_on_fixed(belt, needed_mm) for belt in stock_of(layout)]
    return _best_first(belt for belt in fitted if belt.reserve_mm >= 0.0)


def _best_first(belts: Iterable[FittedBelt]) -> tuple[FittedBelt, ...]:
    return tuple(sorted(belts, key=lambda own: (-_standing(own.reserve_mm, own.verdict == "good"), own.line_mm)))


def _on_fixed(belt: Belt, needed_mm: float) -> FittedBelt:
    line, (least, most) = line_length_mm(belt), taken_on_fixed(belt)
    loose = "there is no adjuster, and nothing else takes up its length tolerance, its stretch and its wear"
    reasons = (loose,) if belt.stretch_fit is None else ()
    return FittedBelt(belt, line, None, None, most - needed_mm, needed_mm - least, reasons)


def taken_on_fixed(belt: Belt) -> tuple[float, float]:
    """Shortest and longest path that a belt goes on where nothing adjusts it, mm: by its stretch, else by tolerance.

    >>> from beltplan.drive.belt import parse_designation
    >>> low, high = taken_on_fixed(replace(parse_designation("6PK1000"), stretch_fit=(0.01, 0.03)))
    >>> round(low), round(high)
    (1010, 1030)
    """
    line = line_length_mm(belt)
    if belt.stretch_fit is not None:
        return line * (1.0 + belt.stretch_fit[0]), line * (1.0 + belt.stretch_fit[1])
    return line - belt.tolerance_of(line), line + belt.tolerance_of(line)


def seat_mm(belt: Belt) -> float:
    """Path length that a belt is made for where nothing adjusts it, mm: its own, or in the middle of its stretch."""
    least, most = belt.stretch_fit or (0.0, 0.0)
    return line_length_mm(belt) * (1.0 + 0.5 * (least + most))


def stretch_lengths(belt: Belt, needed_mm: _Number) -> tuple[_Number, _Number] | None:
    """Least and most length of a stretch belt that a drive without adjuster can take, mm along the followed line, for
    one path or for many; None for a belt that needs an adjuster.
    """
    if belt.stretch_fit is None:
        return None
    return needed_mm / (1.0 + belt.stretch_fit[1]), needed_mm / (1.0 + belt.stretch_fit[0])


# The stock belt that each of very many layouts is judged with.

NO_BELT, UNLISTED = -1, -2
"""In the place of a belt's number: none fits; none on the list does, but one that may be sold can be put on."""
_LONGEST_MM = 10_000
"""No belt of such drives is longer (our own choice)."""
_GOOD = 1e6
"""Put on the reserve of a good belt, mm: any good belt comes before any marginal one."""


def _standing(reserve_mm: Floats | float, good: Bools | bool) -> Floats:
    """What belts are ranked by: good before marginal, then the larger smallest reserve; of equals the shorter."""
    return np.where(good, reserve_mm + _GOOD, reserve_mm)


@dataclass(frozen=True, eq=False)
class Chosen:
    """The belt that each layout is judged with, (N): index into the belts on offer, or NO_BELT, or UNLISTED; reserve
    mm, the smaller one; whether it is good.
    """

    index: Ints
    reserve_mm: Floats
    good: Bools

    def where(self, keep: Bools) -> Chosen:
        return Chosen(self.index[keep], self.reserve_mm[keep], self.good[keep])


def with_any_length(layout: Layout) -> Layout:
    """The layout with every belt of its kind on offer, in steps of 1 mm, whether it is sold or not.

    >>> belts = with_any_length(Layout("", Belt(PROFILES["PK"], 6), {}, ())).stock
    >>> [format_designation(belt) for belt in belts[998:1001]]
    ['6PK999', '6PK1000', '6PK1001']
    """
    belt = replace(layout.belt, length_mm=None, length_kind=layout.belt.profile.line_name)
    every = tuple(replace(belt, length_mm=float(length)) for length in range(1, _LONGEST_MM + 1))
    return replace(layout, belt=belt, stock=every)


def belts_on_offer(layout: Layout) -> tuple[Belt, ...]:
    """The belts to choose from, shorter first; only the named one where the layout names one."""
    belts = stock_of(layout) if layout.belt.length_mm is None else (layout.belt,)
    return tuple(sorted(belts, key=line_length_mm))


def chosen_in(layout: Layout, belts: tuple[Belt, ...], line_mm: Floats, window: Window[Floats]) -> Chosen:
    """The best belt of every window, (N), by the rule of a single layout; line_mm: of each belt, rising."""
    first = line_mm.searchsorted(window.shortest.min(initial=np.inf))
    beyond = line_mm.searchsorted(window.longest.max(initial=-np.inf), "right")

    def offers() -> Iterator[_Offer]:
        for i in range(first, beyond):
            line = float(line_mm[i])
            goes_on = np.flatnonzero((window.shortest <= line) & (line <= window.longest))
            reserve = np.minimum(*reserves(window.where(goes_on), line, belts[i].tolerance_of(line)))
            yield i, goes_on, reserve, reserve >= 0.0

    return _best_of(len(window.shortest), offers(), ends_to_ask_for(layout, window)[2])


def chosen_on_fixed(layout: Layout, belts: tuple[Belt, ...], needed_mm: Floats) -> Chosen:
    """The same where there is no adjuster: belts that go on by stretch are good, by their tolerance marginal."""

    def offers() -> Iterator[_Offer]:
        for i, belt in enumerate(belts):
            least, most = taken_on_fixed(belt)
            goes_on = np.flatnonzero((least <= needed_mm) & (needed_mm <= most))
            reserve = np.minimum(most - needed_mm[goes_on], needed_mm[goes_on] - least)
            yield i, goes_on, reserve, belt.stretch_fit is not None

    good_mm = stretch_lengths(layout.belt, needed_mm)
    return _best_of(len(needed_mm), offers(), False if good_mm is None else may_be_sold(layout, *good_mm))


_Offer = tuple[int, Ints, Floats, Bools | bool]
"""A belt's number, those of the layouts that it can be put on, with the reserve there, and whether that is good."""


def _best_of(count: int, offers: Iterable[_Offer], unlisted: Bools | bool) -> Chosen:
    """Offered shorter first, so that a tie leaves the shorter. unlisted: where one may be sold that no list holds."""
    best, number = np.full(count, -np.inf), np.full(count, NO_BELT)
    for index, goes_on, reserve, good in offers:
        score = _standing(reserve, good)
        better = score > best[goes_on]
        best[goes_on[better]], number[goes_on[better]] = score[better], index
    number[(number == NO_BELT) & unlisted] = UNLISTED
    is_good = best >= _GOOD
    return Chosen(number, np.where(is_good, best - _GOOD, best), is_good)
