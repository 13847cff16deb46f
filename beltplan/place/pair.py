"""Two pulleys free at once: the best pairs of places, checked in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from beltplan.checks.comparison import order_of
from beltplan.checks.limits import Finding
from beltplan.checks.placing import may_be_off_mm
from beltplan.drive.layout import Layout
from beltplan.geometry.vectors import Floats, Ints
from beltplan.judging.stages import CAUTION, SHARE_DIGITS, STATES, JudgedPlaces, Place, judged_places
from beltplan.place.advice import Advice, Proof, advice_of, proof_of, staying
from beltplan.place.study import Box, Grid, PlaceMap, Shaded, bounds_of, map_grid, place_map
from beltplan.progress import Progress, part_of, unseen

SEED = 1
DRAWS = 40_000
"""Pairs drawn over the whole box."""
CLOSER_DRAWS = 10_000
_CLOSER = (0.12, 0.04, 0.012, 0.004)
"""Half width of the box round each of the best pairs in the later rounds, as a share of the whole box."""
_KEPT = 10
_CELLS = 1600
"""Of the picture: each holds some 25 of the pairs drawn over the whole box."""
_ALONE = 0.5
"""Share of the work that is done when the best place of each alone is found."""

_Corner = tuple[float, float]


@dataclass(frozen=True, eq=False)
class PairSearch:
    """What a search for two places found. draws: pairs drawn and judged in all.

    counts: how many of the pairs drawn over the whole box come to what. present: where the two stand now; now: with
    what `check` finds there, None without a belt path. foremost: the best pairs, the best place of each of the two with
    the other where it stands, and the present pair, checked in full, best first by the rule of `compare`, then by what
    a move changes; those with a problem left out. everywhere: what the checks find at every place.
    shaded: by the place of the first, the largest margin of all pairs drawn.
    """

    layout: Layout
    names: tuple[str, str]
    low: _Corner
    high: _Corner
    draws: int
    counts: dict[str, int]
    present: Place
    now: Proof | None
    foremost: tuple[Proof, ...]
    everywhere: tuple[Finding, ...]
    shaded: Shaded

    @cached_property
    def advice(self) -> Advice:
        """What it comes to, and how far either pulley stays good while the other stands at its place."""
        needed = max(may_be_off_mm(self.layout, name) for name in self.names)
        best, now = (
            proof and staying(self.layout, self.names, proof, needed)
            for proof in (next(iter(self.foremost), None), self.now)
        )
        stays = best is not None and best.place == self.present
        return Advice(needed, best, now, "no pair that was found is better" * stays)


Search = PlaceMap | PairSearch


def pair_search(
    layout: Layout, names: tuple[str, str], within: Box | None = None, progress: Progress = unseen
) -> PairSearch:
    """Search a box for the best pair of places of two fixed pulleys on the belt. The same seed, the same answer."""
    rng, rounds = np.random.default_rng(SEED), 1 + len(_CLOSER)
    low, high = within or bounds_of(layout)
    box = np.array((low, high))
    given = _present_and_alone(layout, names, within, part_of(progress, 0.0, _ALONE))
    progress = part_of(progress, _ALONE, 1.0)
    drawn = np.concatenate((given, rng.uniform(box[0], box[1], (DRAWS, 2, 2))))
    first = judged = judged_places(layout, names, drawn, part_of(progress, 0.0, 1.0 / rounds))
    grid, draws = Grid(low, high, float(np.sqrt(np.prod(box[1] - box[0]) / _CELLS))), DRAWS
    largest = np.full(grid.shape, -np.inf)
    _keep_largest(largest, grid, judged)
    for done, share in enumerate(_CLOSER, start=1):
        kept = _foremost(judged)
        if not len(kept):
            break
        around = judged.places[kept][rng.integers(len(kept), size=CLOSER_DRAWS)]
        step = rng.uniform(-share, share, (CLOSER_DRAWS, 2, 2)) * (box[1] - box[0])
        near = np.concatenate((judged.places[kept], np.clip(around + step, box[0], box[1])))
        judged = first.again(near, part_of(progress, done / rounds, (done + 1) / rounds))
        _keep_largest(largest, grid, judged)
        draws += CLOSER_DRAWS
    present, *alone = map(first.place, range(len(given)))
    now, foremost = _checked(layout, names, present, [*alone, *map(judged.place, _foremost(judged).tolist())])
    counts = dict(zip(STATES, np.bincount(first.state[len(given) :], minlength=len(STATES)).tolist(), strict=True))
    shaded = Shaded.of(grid, largest > -np.inf, largest)
    return PairSearch(layout, names, low, high, draws, counts, present, now, foremost, first.everywhere, shaded)


def _present_and_alone(layout: Layout, names: Sequence[str], within: Box | None, progress: Progress) -> Floats:
    """The present pair of places, and those where one of the two is put where `place` finds it best alone."""
    given = [[layout.pulleys[name].at_mm or (0.0, 0.0) for name in names]]
    for i, name in enumerate(names):
        own = part_of(progress, i / len(names), (i + 1) / len(names))
        found = place_map(layout, name, map_grid(layout, name, within), part_of(own, 0.0, 0.5))
        best = advice_of(found, part_of(own, 0.5, 1.0)).best
        given += [] if best is None else [[*given[0][:i], *best.place.at_mm, *given[0][i + 1 :]]]
    return np.array(given, dtype=float)


def _keep_largest(largest: Floats, grid: Grid, judged: JudgedPlaces) -> None:
    """Keep the largest margin of the pairs without a problem whose first pulley stands in each cell."""
    # The present pair may stand outside the box.
    at = judged.places[:, 0]
    good = (judged.state >= CAUTION) & ((at >= grid.low) & (at <= grid.high)).all(axis=1)
    column, row = np.rint((at[good] - grid.low) / grid.step_mm).astype(int).T
    rows, columns = grid.shape
    cell = np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)
    np.maximum.at(largest, cell, np.nan_to_num(judged.spread("own_margin")[good], nan=0.0))


def _foremost(judged: JudgedPlaces) -> Ints:
    return judged.best_first(judged.state >= CAUTION)[:_KEPT]


def _checked(
    layout: Layout, names: Sequence[str], present: Place, places: Sequence[Place]
) -> tuple[Proof | None, tuple[Proof, ...]]:
    each_once = {place.at_mm: place for place in (*places, present)}
    others = [place for at_mm, place in each_once.items() if at_mm != present.at_mm]
    now, *proofs = (proof_of(layout, names, place) for place in (present, *others))
    every = [proof for proof in (now, *proofs) if proof is not None and not proof.plan.count("problem")]
    every.sort(key=lambda proof: -round(proof.place.own_margin or 0.0, SHARE_DIGITS))
    return now, tuple(every[i] for i in order_of([proof.plan.rank_key for proof in every]))
