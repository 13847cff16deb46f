"""Two pulleys free at once, and the plan of the best place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from beltplan.checks.comparison import MARGIN_DIGITS
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout
from beltplan.drive.route import NoBeltPath
from beltplan.geometry.vectors import Ints
from beltplan.place.study import (
    CAUTION,
    STATES,
    JudgedPlaces,
    Place,
    PlaceMap,
    Progress,
    best_of,
    in_order_of,
    judged_places,
    moved,
    place_of,
)

SEED = 1
DRAWS = 100_000
"""Pairs drawn over the whole box."""
CLOSER_DRAWS = 20_000
_CLOSER = (0.12, 0.04, 0.012, 0.004)
"""Half width of the box round each of the best pairs in the later rounds, as a share of the whole box."""
_KEPT = 10

_Corner = tuple[float, float]


@dataclass(frozen=True)
class PairSearch:
    """What a search for two places found. draws: pairs judged in all, seed: of the drawing.

    counts: how many of the pairs drawn over the whole box come to what. present: where the two stand now. best: by the
    rule of the map, None where no pair was found without a problem. everywhere: what the checks find at every place.
    """

    names: tuple[str, str]
    low: _Corner
    high: _Corner
    seed: int
    draws: int
    counts: dict[str, int]
    present: Place
    best: Place | None
    everywhere: tuple[Finding, ...]


def pair_search(
    layout: Layout, names: tuple[str, str], low: _Corner, high: _Corner, progress: Progress | None = None
) -> PairSearch:
    """Search a box for the best pair of places of two fixed pulleys on the belt. The same seed, the same answer."""
    rng, told = np.random.default_rng(SEED), _rounds(progress, 1 + len(_CLOSER))
    box = np.array((low, high))
    present = np.array([[layout.pulleys[name].at_mm for name in names]], dtype=float)
    drawn = np.concatenate((present, rng.uniform(box[0], box[1], (DRAWS, 2, 2))))
    judged = judged_places(layout, names, drawn, next(told))
    counts = np.bincount(judged.state[1:], minlength=len(STATES))
    everywhere = judged.everywhere
    best, now, draws = _best(judged), place_of(judged, 0), DRAWS
    for share in _CLOSER:
        kept = _foremost(judged)
        if len(kept):
            around = judged.places[kept][rng.integers(len(kept), size=CLOSER_DRAWS)]
            step = rng.uniform(-share, share, (CLOSER_DRAWS, 2, 2)) * (box[1] - box[0])
            near = np.concatenate((judged.places[kept], np.clip(around + step, box[0], box[1])))
            judged = judged_places(layout, names, near, next(told))
            best, draws = _better(best, _best(judged)), draws + CLOSER_DRAWS
    found = dict(zip(STATES, (int(count) for count in counts), strict=True))
    return PairSearch(names, low, high, SEED, draws, found, now, best, everywhere)


def _foremost(judged: JudgedPlaces) -> Ints:
    """Numbers of the best pairs, best first."""
    return in_order_of(judged, judged.state >= CAUTION)[:_KEPT]


def _best(judged: JudgedPlaces) -> Place | None:
    number = best_of(judged, judged.state >= CAUTION)
    return None if number is None else place_of(judged, number)


def _better(first: Place | None, second: Place | None) -> Place | None:
    return max((place for place in (first, second) if place is not None), key=_key, default=None)


def _key(place: Place) -> tuple[int, float]:
    return STATES.index(place.verdict), round(-np.inf if place.margin is None else place.margin, MARGIN_DIGITS)


def _rounds(progress: Progress | None, count: int) -> Iterator[Progress | None]:
    """Who watches each round of a search."""
    for done in range(count):
        yield None if progress is None else partial(_tell, progress, done, count)


def _tell(progress: Progress, done: int, count: int, share: float) -> None:
    progress((done + share) / count)


# The plan of a place: what the map says of it in one word, with every finding and number.


@dataclass(frozen=True, eq=False)
class Proof:
    """A place with all that `check` finds there."""

    place: Place
    plan: Plan


def proof_of(layout: Layout, names: Sequence[str], place: Place) -> Proof | None:
    """Check a place; None where there is no belt path."""
    try:
        return Proof(place, plan_of(moved(layout, names, place.at_mm)))
    except NoBeltPath:
        return None


def best_place(found: PlaceMap) -> Proof | None:
    """The best place by the rule of the map, with its plan; None where every place has a problem."""
    return None if found.best is None else proof_of(found.layout, (found.pulley,), found.best)
