"""Where to put it: the best place that stays good when it is met a little off, or to stay where it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.comparison import ranks_of
from beltplan.checks.placing import may_be_off_mm
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout, Units
from beltplan.drive.way_round import NoBeltPath
from beltplan.geometry.vectors import Floats, Ints
from beltplan.judging.room import Stays, stays_at
from beltplan.judging.stages import CAUTION, SOUND, STATES, Place, moved
from beltplan.place.study import PlaceMap
from beltplan.report.screen import length_text

_TRIED = 24
"""Places checked in full at most, best first, until one ranks no lower than the present one."""


_REACH_MM = 15.0
"""So far round a place is looked at least (our own choice)."""


@dataclass(frozen=True, eq=False)
class Proof:
    """A place with all that `check` finds there.

    problem, caution: how far it stays without one; None where it has one, and where that is not asked.
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
    now: the present place, None without a belt path. stay: why not to move, '' where a move is advised. is_coarse:
    whether a finer map may find a place that surely stays good, as none of this one does.
    """

    needed_mm: float
    best: Proof | None
    now: Proof | None
    stay: str = ""
    is_coarse: bool = False

    @property
    def move(self) -> Proof | None:
        """Where a move is advised to."""
        return None if self.stay else self.best

    @property
    def robust(self) -> bool:
        """Whether the best place stays as good as it is, as far as it may be off."""
        return self.best is not None and self.best.surely_mm >= self.needed_mm


def advice_of(found: PlaceMap) -> Advice:
    """The place with the largest margin, by the rule of the map, of those that stay good as far as they may be off.

    Free of cautions where there is such a place, else of problems; where none stays so, the one that stays good
    farthest. None ranks lower than the present place by the rule of `compare`, and a gain that the error of placing
    may take away is none.
    """
    needed = may_be_off_mm(found.layout, found.pulley)

    def staying(proof: Proof) -> Proof:
        problem, caution = stays_at(found.layout, found.pulley, proof.place.at_mm[0], max(_REACH_MM, needed))
        return replace(proof, problem=problem, caution=caution)

    wanted, is_coarse = _in_turn(found, needed)
    now, stay = proof_of(found.layout, found.names, found.present), ""
    now, best = staying(now) if now and now.place.works else now, None
    for number in wanted.tolist():
        own = proof_of(found.layout, found.names, found.judged.place(number))
        if own is not None and not own.plan.count("problem") and (now is None or not _is_lower(own, now)):
            best = staying(own)
            stay = "" if now is None else _why_stay(found, number, best, now, needed)
            break
    if best is None and now is not None and now.place.works and len(found.working()):
        stay = "no other place of the map is better and stays good when it sits a little off"
    if stay and is_coarse:
        stay = "too coarse a map to say whether another place is better"
    return Advice(needed, now if stay else best, now, stay, is_coarse)


def _in_turn(found: PlaceMap, needed_mm: float) -> tuple[Ints, bool]:
    """Numbers of the places of the grid worth a full check, the most wanted first; whether a finer map may find more
    that surely stay good.
    """
    is_coarse = False
    for state in (SOUND, CAUTION):
        surely = surely_mm(found, state, needed_mm)
        if (surely >= needed_mm).any():
            return found.judged.best_first(surely >= needed_mm)[:_TRIED], is_coarse
        is_coarse |= bool((found.states >= state).any() and surely.max() + found.grid.step_mm > needed_mm)
    works = found.working()
    return works[np.argsort(-surely[works], kind="stable")][:_TRIED], is_coarse


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


def surely_mm(found: PlaceMap, state: int, needed_mm: float) -> Floats:
    """How far every place of the grid, and of what is no worse than a state, surely stays so, by the map; 0 if it is
    worse. What is more than needed counts no more.

    Source: the square of a distance is least along columns first, then along rows.
    """
    grid, step = found.grid, found.grid.step_mm
    most = min(math.ceil(needed_mm / step) + 2, max(grid.shape) + 1)
    # Few bytes for a number, since there may be millions.
    square = np.multiply(found.states >= state, most**2, dtype=np.min_scalar_type(2 * most**2))
    for _ in grid.shape:
        column = square.copy()
        for cells in range(1, most):
            np.minimum(square[cells:], column[:-cells] + cells**2, out=square[cells:])
            np.minimum(square[:-cells], column[cells:] + cells**2, out=square[:-cells])
        square = np.ascontiguousarray(square.T)
    seen = np.maximum(np.sqrt(square.ravel(), dtype=np.float64) - 1.0, 0.0) * step
    x, y = (np.minimum(along - along[0], along[-1] - along) for along in (grid.x_mm, grid.y_mm))
    return np.asarray(np.minimum(np.minimum(x, y[:, None]).ravel(), seen))
