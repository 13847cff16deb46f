"""The stock belt that each place would be judged with, and where it puts the adjuster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.fit import good_ends, growth_of, reserves_in_window, stretch_lengths, taken_on_fixed
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.stock import may_be_sold, stock_of
from beltplan.belts.travel import SHORTEST_WINDOW_MM, newton_inside
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.studies.place_mover import Mover
from beltplan.studies.place_travel import Travels
from beltplan.studies.windows import Windows

NO_BELT, UNLISTED = -1, -2
"""In the place of a belt's number: none fits; none on the list does, but one that may be sold would be good."""
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
    growth = growth_of(mover.layout.belt, mover.circuit).total
    layout, best = mover.layout, _Best(len(windows.shortest))
    ends = (windows.fitting, windows.short_end, windows.long_end)
    if not len(windows.shortest):
        return best.chosen()
    least, most = windows.shortest.min(), windows.longest.max()
    for i, belt in enumerate(belts):
        line = line_length_mm(belt)
        if least <= line <= most:
            reserve = np.minimum(*reserves_in_window(line, belt.tolerance_of(line), growth, *ends))
            goes_on = (windows.shortest <= line) & (line <= windows.longest)
            best.offer(i, reserve, goes_on, reserve >= 0.0)
    return best.chosen(may_be_sold(layout, *good_ends(layout.belt, growth, *ends)))


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
        """The best of each. may_be_sold: where a belt would be good that no list holds."""
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
