"""Two pulleys free at once, and the plan of the best place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from beltplan.checks.comparison import MARGIN_DIGITS, order_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.layout import Layout
from beltplan.drive.route import NoBeltPath
from beltplan.geometry.vectors import Floats, Ints
from beltplan.place.study import (
    CAUTION,
    STATES,
    Grid,
    JudgedPlaces,
    Place,
    Progress,
    Shaded,
    in_order_of,
    judged_places,
    moved,
    place_of,
)

SEED = 1
DRAWS = 40_000
"""Pairs drawn over the whole box."""
CLOSER_DRAWS = 10_000
_CLOSER = (0.12, 0.04, 0.012, 0.004)
"""Half width of the box round each of the best pairs in the later rounds, as a share of the whole box."""
_PAIR_S = 1.6e-6
"""What a pair takes on two cores, for each pulley squared (measured on the shipped layouts, to be told roughly)."""
_KEPT = 10
_CELLS = 1600
"""Of the picture: each holds some 25 of the pairs drawn over the whole box."""

_Corner = tuple[float, float]


@dataclass(frozen=True)
class PairSearch:
    """What a search for two places found. draws: pairs judged in all, seed: of the drawing.

    counts: how many of the pairs drawn over the whole box come to what. present: where the two stand now. foremost: the
    best pairs without a problem, by the rule of the map. everywhere: what the checks find at every place. shaded: by
    the place of the first, the largest margin of all pairs drawn.
    """

    names: tuple[str, str]
    low: _Corner
    high: _Corner
    seed: int
    draws: int
    counts: dict[str, int]
    present: Place
    foremost: tuple[Place, ...]
    everywhere: tuple[Finding, ...]
    shaded: Shaded


def announced(layout: Layout) -> str:
    """How many pairs will be judged, and roughly how long that takes."""
    pairs = DRAWS + len(_CLOSER) * CLOSER_DRAWS
    return f"judging up to {pairs:,} pairs, about {max(1.0, pairs * _PAIR_S * len(layout.route) ** 2):.0f} s"


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
    foremost, now, draws = _foremost_of(judged), place_of(judged, 0), DRAWS
    grid = Grid(low, high, float(np.sqrt(np.prod(box[1] - box[0]) / _CELLS)))
    largest = np.full(grid.shape, -np.inf)
    _keep_largest(largest, grid, judged)
    for share in _CLOSER:
        kept = _foremost(judged)
        if len(kept):
            around = judged.places[kept][rng.integers(len(kept), size=CLOSER_DRAWS)]
            step = rng.uniform(-share, share, (CLOSER_DRAWS, 2, 2)) * (box[1] - box[0])
            near = np.concatenate((judged.places[kept], np.clip(around + step, box[0], box[1])))
            judged = judged_places(layout, names, near, next(told))
            _keep_largest(largest, grid, judged)
            foremost, draws = _foremost_of(judged, foremost), draws + CLOSER_DRAWS
    found = dict(zip(STATES, (int(count) for count in counts), strict=True))
    shaded = Shaded.of(grid, largest > -np.inf, largest)
    return PairSearch(names, low, high, SEED, draws, found, now, foremost, everywhere, shaded)


def _keep_largest(largest: Floats, grid: Grid, judged: JudgedPlaces) -> None:
    """Keep the largest margin of the pairs without a problem whose first pulley stands in each cell."""
    # The present pair may stand outside the box.
    good = (judged.state >= CAUTION) & ((judged.places[:, 0] >= grid.low) & (judged.places[:, 0] <= grid.high)).all(
        axis=1
    )
    column, row = np.rint((judged.places[good, 0] - grid.low) / grid.step_mm).astype(int).T
    rows, columns = grid.shape
    cell = np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)
    np.maximum.at(largest, cell, np.nan_to_num(judged.spread("own_margin")[good], nan=0.0))


def _foremost(judged: JudgedPlaces) -> Ints:
    """Numbers of the best pairs, best first."""
    return in_order_of(judged, judged.state >= CAUTION)[:_KEPT]


def _foremost_of(judged: JudgedPlaces, others: tuple[Place, ...] = ()) -> tuple[Place, ...]:
    """The best pairs of this round and of those before, best first, each once."""
    every = {place.at_mm: place for place in (*others, *(place_of(judged, int(n)) for n in _foremost(judged)))}
    return tuple(sorted(every.values(), key=_key, reverse=True)[:_KEPT])


def _key(place: Place) -> tuple[float, ...]:
    margins = (
        -np.inf if margin is None else round(margin, MARGIN_DIGITS) for margin in (place.margin, place.own_margin)
    )
    return (STATES.index(place.verdict), *margins)


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


def proofs_of(layout: Layout, found: PairSearch) -> tuple[Proof, ...]:
    """The foremost pairs and the present one, checked in full, best first by the rule of `compare`.

    Those with a problem are left out.
    """
    now = proof_of(layout, found.names, found.present)
    proofs = [proof for place in found.foremost if (proof := proof_of(layout, found.names, place)) is not None]
    every = [*([] if now is None or now.place in found.foremost else [now]), *proofs]
    ranked = [every[i] for i in order_of([proof.plan.rank_key for proof in every])]
    return tuple(proof for proof in ranked if not proof.plan.count("problem"))
