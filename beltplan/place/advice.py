"""Where to put it: the best place that stays good when it is met a little off, or to stay where it is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from beltplan.checks.comparison import ranks_of
from beltplan.drive.layout import deviations_of
from beltplan.geometry.shapes import nearest_mm
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.place.pair import Proof, proof_of
from beltplan.place.study import CAUTION, SOUND, STATES, PlaceMap, in_order_of, place_of

_LEAST_MM = 3.0
"""So far off its place a pulley may come to sit at least, however well it was measured (our own choice)."""
_DEVIATIONS = 2.0
"""Standard deviations of a pulley's place that it may be off."""
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
class Standing:
    """A place with all that `check` finds there.

    problem, caution: how far it stays without one; None where it has one.
    """

    proof: Proof
    problem: Stays | None
    caution: Stays | None

    @property
    def stays(self) -> Stays | None:
        """How far it stays as good as it is."""
        return self.problem if self.caution is None else self.caution

    @property
    def surely_mm(self) -> float:
        return 0.0 if self.stays is None else self.stays.at_least_mm

    @property
    def state(self) -> int:
        """Number in `STATES`."""
        return STATES.index(self.proof.place.verdict)


@dataclass(frozen=True, eq=False)
class Advice:
    """What a map comes to. needed_mm: so far off its place the pulley may sit, two standard deviations.

    best: where to put it, None where every place has a problem; the present place where nothing is gained by a move.
    now: the present place, None without a belt path. stay: why not to move, '' where a move is advised.
    """

    needed_mm: float
    best: Standing | None
    now: Standing | None
    stay: str = ""

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
    needed = max(_LEAST_MM, _DEVIATIONS * deviations_of(found.layout, found.layout.pulleys[found.pulley]).position_mm)
    problem, caution = _Stretch.of(found, CAUTION), _Stretch.of(found, SOUND)

    def standing(number: int) -> Standing | None:
        proof = proof_of(found.layout, (found.pulley,), place_of(found.judged, number))
        return None if proof is None else Standing(proof, problem.at(number), caution.at(number))

    now = standing(found.grid.count)
    for number in _in_turn(found, problem, caution, needed):
        best = standing(number)
        if best is not None and not best.proof.plan.count("problem") and not _is_lower(best, now):
            stay = "" if now is None else _why_stay(found, number, best, now, needed)
            return Advice(needed, now if stay else best, now, stay)
    if now is None or now.state < CAUTION or not problem.good[:-1].any():
        return Advice(needed, None, now)
    return Advice(needed, now, now, "no place on the map that stays good ranks as high")


def _in_turn(found: PlaceMap, problem: _Stretch, caution: _Stretch, needed_mm: float) -> Iterator[int]:
    """Numbers of the places of the grid worth a full check, the most wanted first."""
    on_grid = np.arange(len(found.judged.state)) < found.grid.count
    robust = [on_grid & (each.at_least_mm >= needed_mm) for each in (caution, problem)]
    for among in robust:
        if among.any():
            yield from in_order_of(found.judged, among)[:_TRIED].tolist()
            return
    works = in_order_of(found.judged, on_grid & problem.good)
    yield from works[np.argsort(-problem.at_least_mm[works], kind="stable")][:_TRIED].tolist()


def _is_lower(best: Standing, now: Standing | None) -> bool:
    """Whether a place ranks lower than the present one by the rule of `compare`."""
    if now is None:
        return False
    first, second = ranks_of([now.proof.plan.rank_key, best.proof.plan.rank_key])
    return second > first


def _why_stay(found: PlaceMap, number: int, best: Standing, now: Standing, needed_mm: float) -> str:
    """Why the present place is as good as the best one of the map; '' where it is not."""
    if now.state < best.state or now.surely_mm < min(needed_mm, best.surely_mm):
        return ""
    then, today = best.proof.place.own_margin, now.proof.place.own_margin
    if then is None or today is None:
        return ""
    gain, worth = then - today, _slope(found, number) * needed_mm
    if gain > worth:
        return ""
    x, y = best.proof.place.at_mm[0]
    return (
        f"the best of the map, x {x:z.1f}, y {y:z.1f} mm, leaves only {100.0 * gain:.1f} % more margin; being "
        f"{needed_mm:.1f} mm off may cost {100.0 * worth:.1f} %"
    )


def _slope(found: PlaceMap, number: int) -> float:
    """How fast what the place changes falls or rises beside a place of the grid, a share of its limit a mm."""
    own, (row, column) = found.field("own_margin"), divmod(number, found.grid.shape[1])
    beside = [own[r, c] for r, c in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1))
              if 0 <= r < own.shape[0] and 0 <= c < own.shape[1]]  # fmt: skip
    steps = [abs(each - own[row, column]) for each in beside if math.isfinite(each - own[row, column])]
    return max(steps, default=0.0) / found.grid.step_mm


# How far from every place the nearest worse one is.


@dataclass(frozen=True, eq=False)
class _Stretch:
    """How far every place, the present one last, stays at least at a state: surely, and at most; mm, 0 if it is worse.

    at_most_mm: infinite where nothing worse is on the map. map_ends: whether the map ends before.
    """

    good: Bools
    map_ends: Bools
    at_least_mm: Floats
    at_most_mm: Floats

    @staticmethod
    def of(found: PlaceMap, state: int) -> _Stretch:
        good, places = found.judged.state >= state, found.judged.places[:, 0]
        keep, away = np.flatnonzero(good), np.zeros(len(good))
        away[keep] = nearest_mm(places[keep], places[:-1][_edge_of(good[:-1].reshape(found.grid.shape))])
        if good[-1]:
            # Between places of the grid the nearest worse one need not lie beside a good one.
            away[-1] = nearest_mm(places[-1:], places[:-1][~good[:-1]])[0]
        ends = np.array([[each[0], each[-1]] for each in (found.grid.x_mm, found.grid.y_mm)])
        inside = np.minimum(places - ends[:, 0], ends[:, 1] - places).min(axis=1)
        seen = np.maximum(away - found.grid.step_mm, 0.0)
        surely = np.where(good, np.clip(inside, 0.0, seen), 0.0)
        return _Stretch(good, inside < seen, surely, away)

    def at(self, number: int) -> Stays | None:
        if not self.good[number]:
            return None
        most = float(self.at_most_mm[number])
        least, ends = float(self.at_least_mm[number]), bool(self.map_ends[number])
        return Stays(least, most if math.isfinite(most) else None, ends)


def _edge_of(good: Bools) -> Ints:
    """Numbers of the worse places of a grid that lie beside a good one: of all, the nearest to any good one is one."""
    framed = np.pad(good, 1)
    beside = framed[:-2, 1:-1] | framed[2:, 1:-1] | framed[1:-1, :-2] | framed[1:-1, 2:]
    return np.flatnonzero(beside & ~good)
