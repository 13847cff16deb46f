"""A layout with one or two pulleys free to stand anywhere: its path, usable travel and belt at very many places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from itertools import combinations

import numpy as np

from beltplan.drive.belt import Belt, line_length_mm
from beltplan.drive.fit import (
    Windows,
    ends_to_ask_for,
    growth_of,
    may_be_sold,
    reserves_in_window,
    stock_of,
    stretch_lengths,
    taken_on_fixed,
)
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster
from beltplan.drive.travel import SAMPLES, SHORTEST_WINDOW_MM, TOUCHING_MM, Circuit, newton_inside
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, around, pieces_cross
from beltplan.geometry.distances import point_to_point
from beltplan.geometry.pieces import Pieces, pieces_of
from beltplan.geometry.vectors import Bools, Floats, Ints, dot


@dataclass(frozen=True, eq=False)
class Mover:
    """A circuit some of whose pulleys are moved. Places are (N, k, 2) mm for the k pulleys that `moved` names by index.

    base: the path as the layout has it, the adjuster at its design setting.
    """

    layout: Layout
    circuit: Circuit
    moved: tuple[int, ...]
    base: Pieces

    def path(self, places: Floats, setting: Floats | None = None) -> Pieces:
        """The path through places. setting: of the adjuster, (N) or (S, 1) or (S, N); None for the design's own."""
        centres = {index: places[:, i] for i, index in enumerate(self.moved)}
        adjuster, moving = self.circuit.adjuster, self.circuit.moving
        if setting is not None and adjuster is not None and moving is not None:
            centres[moving] = adjuster.centre_at(setting)
        return self.base.moved(centres)

    def one_turn(self, path: Pieces) -> Bools:
        """Whether a path exists and makes one turn the circuit's way, (...)."""
        return np.asarray(np.abs(path.turns - self.circuit.turning) < WHOLE_LOOP_TURNS)

    def rims_apart(self, path: Pieces, among: frozenset[int]) -> Bools:
        """Whether no rim overlaps that of one of these pulleys, (...)."""
        clear = np.ones((), dtype=bool)
        for first, second in combinations(range(len(path.centre)), 2):
            if first in among or second in among:
                clear = clear & ~(self.rim_gap(path, first, second) < -TOUCHING_MM)
        return np.asarray(clear)

    def rim_gap(self, path: Pieces, first: int, second: int) -> Floats:
        """How far the rims of two pulleys are apart, (...) mm."""
        apart = point_to_point(path.centre[first], path.centre[second])
        return np.asarray(apart - self.circuit.rim[first] - self.circuit.rim[second])

    @property
    def design_setting(self) -> float:
        """The adjuster's own setting, 0 without one."""
        return 0.0 if self.circuit.adjuster is None else self.circuit.adjuster.nominal

    def sound_at_design(self, places: Floats) -> Bools:
        """Whether there is a sound path with the adjuster at its design setting, (N); the cheapest tests first."""
        among = frozenset(self.moved)
        sound = np.array(self.rims_apart(self.path(places), among))
        sound[sound] = self.one_turn(self.path(places[sound]))
        sound[sound] = ~pieces_cross(self.path(places[sound]), among)
        return sound

    def rest_is_sound(self) -> bool:
        """Whether the pulleys that stay leave a path at all: their rims, strands and arcs meet at no place."""
        n = len(self.circuit.pulleys)
        rest = frozenset(range(n)) - frozenset(self.moved)
        far = self.base.moved({index: np.full(2, np.nan) for index in self.moved})
        return bool(self.rims_apart(far, rest) & ~pieces_cross(far))

    def slope(self, path: Pieces, setting: Floats) -> Floats:
        """Change of path length for one unit of the setting, (...) mm."""
        adjuster, moving = self.circuit.adjuster, self.circuit.moving
        if adjuster is None or moving is None:
            return np.zeros(())
        return dot(path.direction[moving - 1] - path.direction[moving], adjuster.motion_at(setting))


def mover_of(layout: Layout, circuit: Circuit, names: tuple[str, ...]) -> Mover:
    """Free some pulleys of a circuit, by name."""
    moved = tuple(next(i for i, p in enumerate(circuit.pulleys) if p.name == name) for name in names)
    return Mover(layout, circuit, moved, pieces_of(list(circuit.centre), circuit.radius, circuit.sense))


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    places = dict(zip(names, at_mm, strict=True))
    pulleys = {name: replace(pulley, at_mm=places.get(name, pulley.at_mm)) for name, pulley in layout.pulleys.items()}
    return replace(layout, pulleys=pulleys)


# The usable travel of the adjuster at every place, by the same rule as that of a single layout.

FEW = 9
"""Settings that are looked at first; where anything comes near to changing between two of them, all 121 are."""
HALVINGS = 28
"""Rounds that find an end inside the travel: to less than a thousand-millionth of it."""


@dataclass(frozen=True, eq=False)
class Travels:
    """Usable travel at every place, (N): settings of both ends in rising order, whether that is the whole travel."""

    low: Floats
    high: Floats
    whole: Bools

    def where(self, keep: Bools | Ints) -> Travels:
        """Only some of the places."""
        return Travels(self.low[keep], self.high[keep], self.whole[keep])


@dataclass(frozen=True, eq=False)
class Scan:
    """What samples along the travel tell at every place, all (N).

    low, high: the outermost good settings round the design setting, in rising order; below, above: the bad ones next
    to them, NaN at a stop of the adjuster. direction: sign of the slope.
    """

    low: Floats
    high: Floats
    below: Floats
    above: Floats
    direction: Floats

    def where(self, keep: Bools | Ints) -> Scan:
        """Only some of the places."""
        return Scan(self.low[keep], self.high[keep], self.below[keep], self.above[keep], self.direction[keep])

    @property
    def whole(self) -> Bools:
        """Where the whole travel is usable."""
        return np.isnan(self.below) & np.isnan(self.above)


def scanned(mover: Mover, places: Floats) -> Scan:
    """Sample the travel at places whose path is sound at the design setting; without an adjuster a single setting."""
    adjuster = mover.circuit.adjuster
    if adjuster is None:
        none, stop = np.zeros(len(places)), np.full(len(places), np.nan)
        return Scan(none, none, stop, stop, none)
    scan, doubtful = _sampled(mover, places, _settings(adjuster, FEW))
    if doubtful.any():
        again, _ = _sampled(mover, places[doubtful], _settings(adjuster, SAMPLES))
        for field in fields(scan):
            getattr(scan, field.name)[doubtful] = getattr(again, field.name)
    return scan


def ended(mover: Mover, places: Floats, scan: Scan) -> Travels:
    """The usable travel: to a stop of the adjuster, or to what halving finds between a good sample and a bad one."""
    low, high = scan.low.copy(), scan.high.copy()
    for end, beyond in ((low, scan.below), (high, scan.above)):
        cut = ~np.isnan(beyond)
        if cut.any():
            end[cut] = _halved(mover, places[cut], scan.direction[cut], end[cut], beyond[cut])
    return Travels(low, high, scan.whole)


def _settings(adjuster: Adjuster, count: int) -> Floats:
    even = np.linspace(min(adjuster.travel), max(adjuster.travel), count)
    return np.array(sorted({*even.tolist(), adjuster.nominal}))


def _runs(mover: Mover, path: Pieces) -> Bools:
    # What does not move with the adjuster was looked at with the design setting.
    return np.asarray(mover.one_turn(path) & mover.rims_apart(path, frozenset({mover.circuit.moving or 0})))


def _crossed(mover: Mover, path: Pieces) -> Bools:
    return pieces_cross(path, frozenset({mover.circuit.moving or 0}))


def _sampled(mover: Mover, places: Floats, setting: Floats) -> tuple[Scan, Bools]:
    """The scan over given settings (S), and whether something may change unseen between two of them."""
    count, samples = len(places), len(setting)
    column = setting[:, None]
    path = mover.path(places, column)
    slope = mover.slope(path, column)
    home = int(np.searchsorted(setting, mover.design_setting))
    sign = np.sign(np.nan_to_num(slope))
    following = np.append(sign[1:], sign[-2:-1], axis=0)
    sign = np.where(sign == 0.0, following, sign)
    good = np.broadcast_to(_runs(mover, path) & ~_crossed(mover, path) & (sign == sign[home]), (samples, count))
    below = np.logical_and.accumulate(good[:home][::-1], axis=0).sum(axis=0)
    above = np.logical_and.accumulate(good[home + 1 :], axis=0).sum(axis=0)
    first, last = home - below, home + above
    framed = np.concatenate(([np.nan], setting, [np.nan]))
    direction = np.array(np.broadcast_to(sign[home], (count,)))
    scan = Scan(setting[first], setting[last], framed[first], framed[last + 2], direction)
    return scan, _doubtful(mover, setting, path, slope, first, last)


def _doubtful(mover: Mover, setting: Floats, path: Pieces, slope: Floats, first: Ints, last: Ints) -> Bools:
    """Whether the slope, a wrap or a gap between rims is so small that it may pass zero unseen between two samples."""
    moving = mover.circuit.moving or 0
    watched = [np.abs(slope), *(path.wrap[i] for i in sorted(around(frozenset({moving}), len(path.span))))]
    watched += [mover.rim_gap(path, index, moving) for index in mover.moved]
    inside: Bools | None = None
    found = np.zeros(len(first), dtype=bool)
    for values in (v for v in watched if v.ndim == 2):
        suspect = np.broadcast_to(_near_zero(setting, values), found.shape) & ~found
        if suspect.any():
            if inside is None:
                number = np.arange(len(values))[:, None]
                inside = (first <= number) & (number <= last)
            own = np.broadcast_to(values, inside.shape)[:, suspect]
            found[suspect] = _near_zero(setting, np.where(inside[:, suspect], own, np.nan))
    return found


def _near_zero(setting: Floats, values: Floats) -> Bools:
    """Whether a value comes nearer to zero than it leaves the straight line between its neighbouring samples.

    Between two samples a smooth value bends by about a quarter of that.
    """
    share = ((setting[1:-1] - setting[:-2]) / (setting[2:] - setting[:-2]))[:, None]
    bend = values[1:-1] - values[:-2] - share * (values[2:] - values[:-2])
    return np.asarray(np.fmin.reduce(values, axis=0) < np.fmax.reduce(np.abs(bend), axis=0, initial=0.0))


def _halved(mover: Mover, places: Floats, direction: Floats, inside: Floats, outside: Floats) -> Floats:
    """Ends between a good setting and a bad one. Where the path does not cross itself at the bad one, crossing is left
    out at first, and all is done again with it where the end so found turns out to cross.
    """
    path = mover.path(places, outside)
    simple = np.broadcast_to(~_crossed(mover, path), inside.shape)
    end = np.empty_like(inside)
    for own, whole in ((simple, False), (~simple, True)):
        end[own] = _halved_by(mover, places[own], direction[own], inside[own], outside[own], whole)
    wrong = simple & np.broadcast_to(_crossed(mover, mover.path(places, end)), inside.shape)
    if wrong.any():
        end[wrong] = _halved_by(mover, places[wrong], direction[wrong], inside[wrong], outside[wrong], True)
    return end


def _halved_by(mover: Mover, places: Floats, direction: Floats, inside: Floats, outside: Floats, whole: bool) -> Floats:
    for _ in range(HALVINGS if len(places) else 0):
        middle = 0.5 * (inside + outside)
        path = mover.path(places, middle)
        fit = _runs(mover, path) & (np.sign(np.nan_to_num(mover.slope(path, middle))) == direction)
        if whole:
            fit = fit & ~_crossed(mover, path)
        inside, outside = np.where(fit, middle, inside), np.where(fit, outside, middle)
    return inside


# The stock belt that each place would be judged with, and where it puts the adjuster.

NO_BELT, UNLISTED = -1, -2
"""In the place of a belt's number: none fits; none on the list does, but one that may be sold can be put on."""
GOOD = 1e6
"""Put on the reserve of a good belt, mm: any good belt comes before any marginal one."""
ROUNDS = 60
CLOSE = 1e-12


@dataclass(frozen=True, eq=False)
class Chosen:
    """The belt that each place is judged with, (N): index into the belts on offer, or NO_BELT, or UNLISTED; reserve
    mm, the smaller one; whether it is good.
    """

    index: Ints
    reserve_mm: Floats
    good: Bools


def belts_on_offer(layout: Layout) -> tuple[Belt, ...]:
    """The belts to choose from, shorter first; only the named one where the layout names one."""
    belts = stock_of(layout) if layout.belt.length_mm is None else (layout.belt,)
    return tuple(sorted(belts, key=line_length_mm))


def windows_of(mover: Mover, places: Floats, travels: Travels) -> Windows:
    """The window at every place.

    Source: as `belts.fit.window_of`.
    """
    ends = end_settings(travels)
    path, count = mover.path(places, ends), len(places)
    length = np.broadcast_to(path.length, (2, count))
    first = length[0] <= length[1]
    low, high = np.where(first, travels.low, travels.high), np.where(first, travels.high, travels.low)
    fitting = np.full(count, np.inf)
    for i, pulley in enumerate(mover.circuit.pulleys):
        if i != mover.circuit.moving:
            wrap = np.broadcast_to(path.wrap[i], (2, count))
            fitting = np.minimum(fitting, np.where(first, wrap[0], wrap[1]) * pulley.climb_mm(mover.layout.belt))
    shortest, longest = length.min(axis=0), length.max(axis=0)
    return Windows(low, high, shortest, longest, *_reserved(mover, places, travels, shortest, longest), fitting)


def end_settings(travels: Travels) -> Floats:
    """Settings of both ends, (2, N); (2, 1) where every place has the whole travel."""
    if travels.whole.all():
        return np.array([[travels.low[0]], [travels.high[0]]]) if len(travels.low) else np.zeros((2, 1))
    return np.stack((travels.low, travels.high))


def _reserved(
    mover: Mover, places: Floats, travels: Travels, shortest: Floats, longest: Floats
) -> tuple[Floats, Floats]:
    marks = mover.circuit.adjuster.marks if mover.circuit.adjuster else None
    if marks is None:
        return shortest, longest
    settings = np.clip(np.array(marks)[:, None], travels.low, travels.high)
    lengths = np.sort(np.broadcast_to(mover.path(places, settings).length, settings.shape), axis=0)
    return lengths[0], lengths[1]


def chosen_in(mover: Mover, belts: tuple[Belt, ...], windows: Windows) -> Chosen:
    """The best belt of every window, by the rule of a single layout: good before marginal, then larger smallest
    reserve, then shorter.
    """
    growth = growth_of(mover.layout.belt, mover.circuit)
    layout, best = mover.layout, _Best(len(windows.shortest))
    ends = (windows.fitting, windows.short_end, windows.long_end)
    if not len(windows.shortest):
        return best.chosen()
    least, most = windows.shortest.min(), windows.longest.max()
    for i, belt in enumerate(belts):
        line = line_length_mm(belt)
        if least <= line <= most:
            reserve = np.minimum(*reserves_in_window(line, belt.tolerance_of(line), growth.total, *ends))
            goes_on = (windows.shortest <= line) & (line <= windows.longest)
            best.offer(i, reserve, goes_on, reserve >= 0.0)
    return best.chosen(ends_to_ask_for(layout, growth, windows)[2])


def chosen_on_fixed(layout: Layout, belts: tuple[Belt, ...], needed_mm: Floats) -> Chosen:
    """The same where there is no adjuster: belts that go on by stretch are good, by their tolerance marginal."""
    best = _Best(len(needed_mm))
    for i, belt in enumerate(belts):
        least, most = taken_on_fixed(belt)
        reserve = np.minimum(most - needed_mm, needed_mm - least)
        good = np.full(reserve.shape, belt.stretch_fit is not None)
        best.offer(i, reserve, reserve >= 0.0, good)
    good_mm = stretch_lengths(layout.belt, needed_mm)
    return best.chosen(None if good_mm is None else may_be_sold(layout, *good_mm))


class _Best:
    """Keeps the best belt so far at every place; offered shorter first, so that a tie leaves the shorter."""

    def __init__(self, count: int) -> None:
        self._score = np.full(count, -np.inf)
        self._index = np.full(count, NO_BELT)

    def offer(self, index: int, reserve: Floats, goes_on: Bools, good: Bools) -> None:
        score = np.where(good, reserve + GOOD, reserve)
        better = goes_on & (score > self._score)
        self._score[better], self._index[better] = score[better], index

    def chosen(self, may_be_sold: Bools | None = None) -> Chosen:
        """The best of each. may_be_sold: where a belt may be asked for that no list holds."""
        if may_be_sold is not None:
            self._index[(self._index == NO_BELT) & may_be_sold] = UNLISTED
        good = self._score >= GOOD
        return Chosen(self._index, np.where(good, self._score - GOOD, self._score), good)


def lengths_for(
    mover: Mover, belts: tuple[Belt, ...], chosen: Chosen, places: Floats, windows: Windows, among: Bools
) -> Floats:
    """Length along the followed line that some of the places are judged with; where no list holds a belt, the path at
    the middle of the travel, as `belts.route`.
    """
    index = chosen.index[among]
    lengths = np.array([line_length_mm(belt) for belt in belts] or [np.nan])[np.maximum(index, 0)]
    unlisted = index == UNLISTED
    if not unlisted.any():
        return lengths
    adjuster = mover.circuit.adjuster
    if adjuster is None:
        middle_mm = windows.shortest[among][unlisted]
    else:
        low, high = np.sort(np.stack((windows.short[among], windows.long[among])), axis=0)[:, unlisted]
        inside = (low <= adjuster.middle) & (adjuster.middle <= high)
        setting = np.where(inside, adjuster.middle, 0.5 * (low + high))
        middle_mm = np.broadcast_to(mover.path(places[unlisted], setting).length, setting.shape)
    lengths[unlisted] = middle_mm
    return lengths


def settings_for(mover: Mover, places: Floats, windows: Windows, line_mm: Floats) -> Floats:
    """Where a length puts the adjuster of each place, (N); Newton steps kept inside the window, as `setting_for`."""
    low, high = windows.short, windows.long
    width = np.maximum(windows.longest - windows.shortest, SHORTEST_WINDOW_MM)
    setting = low + (high - low) * (line_mm - windows.shortest) / width
    for _ in range(ROUNDS):
        path = mover.path(places, setting)
        error = path.length - line_mm
        low, high = np.where(error < 0.0, setting, low), np.where(error < 0.0, high, setting)
        new = newton_inside(mover.slope(path, setting), setting, error, low, high)
        if np.all(np.abs(new - setting) <= CLOSE * (1.0 + np.abs(setting))):
            return new
        setting = new
    return setting
