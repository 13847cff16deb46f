"""The places of a map worth a full check: those that stay good, found by ever closer maps round the best of them.

Where these lie hangs on the layout, and not on where the places of the first map happen to lie.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints, norm
from beltplan.judging.stages import CAUTION, SOUND, Place
from beltplan.place.study import Grid, PlaceMap, other_maps
from beltplan.progress import Progress, part_of, unseen

_FINEST_MM, _STEPS_NEEDED = 0.2, 15
"""The last maps have such steps, or no more than so many in what is needed (our own choice)."""
_TIMES_CLOSER, _STARTS, _CLIMBS = 6.0, 6, 3
"""Each map is so many times closer than the one before, round so many places at first, fewer each time; no more maps
follow a best place that lies at the edge (our own choice)."""
_ALIKE_MM = 50.0
"""Of places with one belt no farther from each other the best alone is looked at closer."""
_UNSEEN_STEPS = 1.0 + math.sqrt(0.5)
"""So many steps less than there is a map may see of how far a place near by stays good."""

_CLOSER = 1.5
"""So many times closer a map must be to be worth making."""

_At = tuple[float, float]


class _Wanted(NamedTuple):
    """Numbers of places of a map, the most wanted first; state: that surely stays so, as far as needed, 0 for none."""

    state: int
    numbers: Ints


class _Peak(NamedTuple):
    """The most wanted place of a map. surely_mm: how far it stays without a problem, where no state stays so far."""

    state: int
    surely_mm: float
    at_mm: _At


def wanted_of(found: PlaceMap, needed_mm: float, unseen_mm: float = 0.0) -> _Wanted:
    """Of those that surely stay free of cautions as far as is needed, else of problems, the best first; if there are
    any, those that stay above the margin of the present place too. Where none stays so, those that do farthest.
    unseen_mm: so much less does as well.
    """
    own = found.judged.spread("own_margin")
    more = (own[:-1] > own[-1]).reshape(found.grid.shape)
    for state in (SOUND, CAUTION):
        for good in (more & (found.states >= state), found.states >= state):
            if (among := good.ravel() & (surely_mm(found, good, needed_mm) >= needed_mm - unseen_mm)).any():
                return _Wanted(state, found.judged.best_first(among))
    surely = surely_mm(found, found.states >= CAUTION, needed_mm)
    works = found.working()
    return _Wanted(0, works[np.argsort(-surely[works], kind="stable")])


def closest(found: PlaceMap, needed_mm: float, progress: Progress = unseen) -> list[Place]:
    """The most wanted places near those of a map, the first first; none where the map is a line."""
    finest_mm = max(_FINEST_MM, needed_mm / _STEPS_NEEDED)
    if min(found.grid.shape) < 2:
        return []
    if not wanted_of(found, needed_mm).state and (closer := found.closer()) is not None:
        (found,) = other_maps(found, [closer], part_of(progress, 0.0, 0.5))
    places, step_mm = _starts(found, needed_mm, finest_mm), found.grid.step_mm
    while places and step_mm > finest_mm * _CLOSER:
        around_mm, step_mm = 2.0 * step_mm, step_mm / _TIMES_CLOSER
        last = step_mm < 2.0 * finest_mm
        step_mm, unseen_mm = (finest_mm, 0.0) if last else (step_mm, _UNSEEN_STEPS * step_mm)
        ranked = _ranked(found, _peaks(found, places, around_mm, step_mm, needed_mm, unseen_mm))
        places = ranked if last else ranked[: -(-len(places) // 2)]
    progress(1.0)
    return places


def _starts(found: PlaceMap, needed_mm: float, finest_mm: float) -> list[Place]:
    """The best of each belt and each part of the map: half of those that surely stay good, half of those that may."""
    belt, at, step_mm = found.judged.spread("belt", -1.0), found.judged.places[:, 0], found.grid.step_mm

    def unlike(left: Ints, start: int) -> Ints:
        return np.asarray(left[(belt[left] != belt[start]) | (norm(at[left] - at[start]) > _ALIKE_MM)])

    starts: list[int] = []
    may_mm = _UNSEEN_STEPS * step_mm if step_mm > finest_mm * _CLOSER else 0.0
    for most, unseen_mm in ((_STARTS // 2, 0.0), (_STARTS, may_mm)):
        left = wanted_of(found, needed_mm, unseen_mm).numbers
        for start in starts:
            left = unlike(left, start)
        while len(left) and len(starts) < most:
            starts.append(int(left[0]))
            left = unlike(left, starts[-1])
    return [found.judged.place(number) for number in starts]


def _peaks(
    found: PlaceMap, places: list[Place], around_mm: float, step_mm: float, needed_mm: float, unseen_mm: float
) -> list[_Peak]:
    """The most wanted place round each, and on from there while it lies at the edge; none of what does not work."""
    reach_mm, peaks = around_mm + needed_mm + 2.0 * step_mm, dict[int, _Peak | None]()
    left = {i: place.at_mm[0] for i, place in enumerate(places)}
    for _ in range(_CLIMBS):
        grids = [_grid_about(found.grid, at_mm, reach_mm, step_mm) for at_mm in left.values()]
        maps = zip(left, other_maps(found, grids), strict=True)
        peaks |= {i: _peak(own, needed_mm, unseen_mm) for i, own in maps}
        ahead = ((i, before, peak.at_mm) for i, before in left.items() if (peak := peaks[i]))
        left = {i: at for i, was, at in ahead if max(abs(at[0] - was[0]), abs(at[1] - was[1])) >= around_mm - step_mm}
        if not left:
            break
    return [peak for peak in peaks.values() if peak]


def _peak(own: PlaceMap, needed_mm: float, unseen_mm: float) -> _Peak | None:
    state, numbers = wanted_of(own, needed_mm, unseen_mm)
    if not len(numbers):
        return None
    surely = 0.0 if state else float(surely_mm(own, own.states >= CAUTION, needed_mm)[numbers[0]])
    return _Peak(state, surely, own.judged.place(int(numbers[0])).at_mm[0])


def _grid_about(whole: Grid, at_mm: _At, reach_mm: float, step_mm: float) -> Grid:
    """A grid round a place, no farther than another; at whole steps, so that every such grid has the same places."""
    ends = [*zip(at_mm, whole.low, (float(whole.x_mm[-1]), float(whole.y_mm[-1])), strict=True)]
    low = [math.ceil(max(at - reach_mm, least) / step_mm - 1e-9) * step_mm for at, least, _ in ends]
    high = [max(min(at + reach_mm, most), first) for first, (at, _, most) in zip(low, ends, strict=True)]
    return Grid((low[0], low[1]), (high[0], high[1]), step_mm)


def _ranked(found: PlaceMap, peaks: list[_Peak]) -> list[Place]:
    """Those that stay as good as far as is needed first, else as far as they do; by the rule of the map."""
    if not peaks:
        return []
    own = {at_mm: (state, surely) for state, surely, at_mm in peaks}
    judged = found.judged.again(np.array([*own])[:, None])
    best_first = [judged.place(int(number)) for number in judged.best_first(judged.state >= CAUTION)]
    ranked: list[Place] = []
    for place in sorted(best_first, key=lambda place: own[place.at_mm[0]], reverse=True):
        alike = (each for each in ranked if each.belt == place.belt)
        if all(math.dist(each.at_mm[0], place.at_mm[0]) > _ALIKE_MM for each in alike):
            ranked.append(place)
    return ranked


def surely_mm(found: PlaceMap, good: Bools, needed_mm: float) -> Floats:
    """How far every place of the grid surely stays among the good ones, by the map; 0 if it is none. What is more than
    needed counts no more.

    Source: the square of a distance is least along columns first, then along rows.
    """
    grid, step = found.grid, found.grid.step_mm
    most = min(math.ceil(needed_mm / step) + 2, max(grid.shape) + 1)
    # Few bytes for a number, since there may be millions.
    square = np.multiply(good, most**2, dtype=np.min_scalar_type(2 * most**2))
    for _ in grid.shape:
        column = square.copy()
        for cells in range(1, most):
            np.minimum(square[cells:], column[:-cells] + cells**2, out=square[cells:])
            np.minimum(square[:-cells], column[cells:] + cells**2, out=square[:-cells])
        square = np.ascontiguousarray(square.T)
    seen = np.maximum(np.sqrt(square.ravel(), dtype=np.float64) - 1.0, 0.0) * step
    x, y = (np.minimum(along - along[0], along[-1] - along) for along in (grid.x_mm, grid.y_mm))
    return np.asarray(np.minimum(np.minimum(x, y[:, None]).ravel(), seen))
