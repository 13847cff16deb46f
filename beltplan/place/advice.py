"""Where to put it: the best place that stays good when it is met a little off, or to stay where it is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.comparison import ranks_of
from beltplan.checks.placing import may_be_off_mm
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout, Units
from beltplan.drive.way_round import NoBeltPath
from beltplan.geometry.vectors import Bools, Floats
from beltplan.place.stages import CAUTION, SOUND, STATES, Place, moved
from beltplan.place.study import PlaceMap
from beltplan.report.screen import length_text

_TRIED = 24
"""Places checked in full at most, best first, until one ranks no lower than the present one."""


@dataclass(frozen=True)
class Stays:
    """How far any way from a place nothing worse is met, mm: so far surely, and so far at most.

    Between the two lies a step of the grid, more where the map ends before (map_ends). at_most_mm: None where nothing
    worse is on the map.
    """

    at_least_mm: float
    at_most_mm: float | None
    map_ends: bool = False


@dataclass(frozen=True, eq=False)
class Proof:
    """A place with all that `check` finds there.

    problem, caution: how far it stays without one; None where it has one, and where that is not known.
    """

    place: Place
    plan: Plan
    problem: Stays | None = None
    caution: Stays | None = None

    @property
    def stays(self) -> Stays | None:
        return self.problem if self.caution is None else self.caution

    @property
    def surely_mm(self) -> float:
        return 0.0 if self.stays is None else self.stays.at_least_mm


def proof_of(layout: Layout, names: Sequence[str], place: Place) -> Proof | None:
    """Check a place; None where there is no belt path."""
    try:
        return Proof(place, plan_of(moved(layout, names, place.at_mm)))
    except NoBeltPath:
        return None


@dataclass(frozen=True, eq=False)
class Advice:
    """What a search comes to. needed_mm: so far off its place the pulley may sit, two standard deviations.

    best: where to put it, None where every place has a problem; the present place where nothing is gained by a move.
    now: the present place, None without a belt path. stay: why not to move, '' where a move is advised.
    """

    needed_mm: float
    best: Proof | None
    now: Proof | None
    stay: str = ""

    @property
    def move(self) -> Proof | None:
        """Where a move is advised to."""
        return None if self.stay else self.best

    @property
    def robust(self) -> bool:
        """Whether the best place stays as good as it is, as far as it may be off."""
        return self.best is not None and self.best.surely_mm >= self.needed_mm

    @property
    def is_coarse(self) -> bool:
        """Whether a finer map may find that it does, for no problem is met so near."""
        most_mm = None if self.best is None or self.best.problem is None else self.best.problem.at_most_mm
        return not self.robust and most_mm is not None and most_mm > self.needed_mm


def advice_of(found: PlaceMap) -> Advice:
    """The place with the largest margin, by the rule of the map, of those that stay good as far as they may be off.

    Free of cautions where there is such a place, else of problems; where none stays so, the one that stays good
    farthest. None ranks lower than the present place by the rule of `compare`, and a gain that the error of placing
    may take away is none.
    """
    needed = may_be_off_mm(found.layout, found.pulley)
    problem, caution = (_Stretch(found, found.judged.state >= state) for state in (CAUTION, SOUND))

    def proof(number: int) -> Proof | None:
        own = proof_of(found.layout, found.names, found.judged.place(number))
        return own and replace(own, problem=problem.at(number), caution=caution.at(number))

    now = proof(found.grid.count)
    for number in _in_turn(found, problem, caution, needed):
        best = proof(number)
        if best is not None and not best.plan.count("problem") and (now is None or not _is_lower(best, now)):
            stay = "" if now is None else _why_stay(found, number, best, now, needed)
            return _staying(needed, now, stay) if stay else Advice(needed, best, now)
    if now is None or not now.place.works or not problem.good[:-1].any():
        return Advice(needed, None, now)
    return _staying(needed, now, "no other place of the map is better and stays good when it sits a little off")


def _staying(needed_mm: float, now: Proof | None, why: str) -> Advice:
    told = Advice(needed_mm, now, now, why)
    return replace(told, stay="too coarse a map to say whether another place is better") if told.is_coarse else told


def _in_turn(found: PlaceMap, problem: _Stretch, caution: _Stretch, needed_mm: float) -> Iterator[int]:
    """Numbers of the places of the grid worth a full check, the most wanted first."""
    for stretch in (caution, problem):
        surely = stretch.surely_mm(needed_mm)
        if (surely >= needed_mm).any():
            yield from found.judged.best_first(surely >= needed_mm)[:_TRIED].tolist()
            return
    works = found.working()
    yield from works[np.argsort(-surely[works], kind="stable")][:_TRIED].tolist()


def _is_lower(best: Proof, now: Proof) -> bool:
    first, second = ranks_of([now.plan.rank_key, best.plan.rank_key])
    return second > first


def _why_stay(found: PlaceMap, number: int, best: Proof, now: Proof, needed_mm: float) -> str:
    """Why the present place is as good as the best one of the map; '' where it is not."""
    before, after = (STATES.index(each.place.verdict) for each in (now, best))
    worse = before < after or best.plan.count("caution") < now.plan.count("caution")
    then, today = best.place.own_margin, now.place.own_margin
    if worse or now.surely_mm < min(needed_mm, best.surely_mm) or then is None or today is None:
        return ""
    gain, worth = then - today, _slope(found, number) * needed_mm
    if gain > worth:
        return ""
    if gain < 0.0005:
        return "no place of the map leaves more margin"
    at = at_words(best.place.at_mm[0], found.layout.units)
    return (
        f"the best of the map ({at}) gains only {100.0 * gain:.1f} % of margin, and {needed_mm:.1f} mm off it may "
        f"lose {100.0 * worth:.1f} %: not worth a move"
    )


def at_words(at_mm: tuple[float, float], units: Units) -> str:
    """A place as it is told, rounded once."""
    x, y = (length_text(along, 1, units) for along in at_mm)
    return f"x {x}, y {y} {units}"


def _slope(found: PlaceMap, number: int) -> float:
    """How fast what the place changes falls or rises beside a place of the grid, a share of its limit a mm."""
    row, column = divmod(number, found.grid.shape[1])
    around = np.pad(found.field("own_margin"), 1, constant_values=np.nan)[row : row + 3, column : column + 3]
    steps = np.abs(around[[0, 1, 1, 2], [1, 0, 2, 1]] - around[1, 1])
    return float(steps[np.isfinite(steps)].max(initial=0.0)) / found.grid.step_mm


# How far from every place the nearest worse one is.


@dataclass(frozen=True, eq=False)
class _Stretch:
    """How far places stay good, which tells of every place of the map, the present one last."""

    found: PlaceMap
    good: Bools

    def at(self, number: int) -> Stays | None:
        if not self.good[number]:
            return None
        grid, (x, y) = self.found.grid, self.found.judged.places[number, 0]
        square = (grid.x_mm - x) ** 2 + (grid.y_mm[:, None] - y) ** 2
        away = math.sqrt(square.ravel()[~self.good[:-1]].min(initial=math.inf))
        inside, seen = float(self._inside(x, y)), max(away - grid.step_mm, 0.0)
        surely = min(max(inside, 0.0), seen)
        return Stays(surely, away if math.isfinite(away) else None, inside < seen)

    def surely_mm(self, needed_mm: float) -> Floats:
        """How far every place of the grid surely stays so, 0 if it is worse; what is more than needed counts no more.

        Source: the square of a distance is least along columns first, then along rows.
        """
        grid, step = self.found.grid, self.found.grid.step_mm
        most = min(math.ceil(needed_mm / step) + 2, max(grid.shape) + 1)
        # Few bytes for a number, since there may be millions.
        square = np.multiply(self.good[:-1].reshape(grid.shape), most**2, dtype=np.min_scalar_type(2 * most**2))
        for _ in grid.shape:
            column = square.copy()
            for cells in range(1, most):
                np.minimum(square[cells:], column[:-cells] + cells**2, out=square[cells:])
                np.minimum(square[:-cells], column[cells:] + cells**2, out=square[:-cells])
            square = np.ascontiguousarray(square.T)
        seen = np.maximum(np.sqrt(square.ravel(), dtype=np.float64) - 1.0, 0.0) * step
        return np.minimum(self._inside(grid.x_mm, grid.y_mm[:, None]).ravel(), seen)

    def _inside(self, x: Floats, y: Floats) -> Floats:
        """How far places are from where the map ends, mm."""
        along = ((x, self.found.grid.x_mm), (y, self.found.grid.y_mm))
        return np.asarray(np.minimum(*(np.minimum(at - ends[0], ends[-1] - at) for at, ends in along)))
