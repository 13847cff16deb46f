"""What is the smallest change that cures a layout? Families of changes, alone and in pairs, judged by every check."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.studies.compare import Judged, judge_layout
from beltplan.studies.cure_belt import more_ribs, other_belts
from beltplan.studies.cure_change import FAMILIES, Change, Changes, Family, Key, disturbance, families_of, key_of
from beltplan.studies.cure_diameter import other_diameters
from beltplan.studies.cure_idler import idlers
from beltplan.studies.cure_move import moves
from beltplan.studies.cure_order import other_orders
from beltplan.studies.cure_pairs import pairs_of
from beltplan.studies.cure_pool import Pool, best_of, screened
from beltplan.studies.cure_screen import Needs, needs_of, paths_of
from beltplan.studies.cure_spring import more_tension
from beltplan.studies.cure_trial import Trial, trial_of

MOST_LISTED = 10
RULE = (
    "one change before two; belt, rib, order, spring, diameter, move, idler, in this order; then by how far it goes. "
    "The best of every family stands before the second of any. Of the places for an idler in one strand the one with "
    "the fewest cautions is listed, then the one that lengthens the path least. Where the belt that the file names no "
    "longer fits, another one is a change besides"
)
"""By what cures are ordered, in words."""
MOST_JUDGED: dict[Family, int] = {
    "belt": 30,
    "rib": 1,
    "order": 16,
    "spring": 10,
    "diameter": 40,
    "move": 48,
    "idler": 64,
}
MOST_PAIRS = 110
A_POOL = 8
"""Idlers of one strand, side and size that are judged, at most."""

Progress = Callable[[float], None]


@dataclass(frozen=True, eq=False)
class Candidates:
    """Changes of one family that are worth judging, and how many were looked at to find them."""

    family: Family
    looked_at: int
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Tried:
    """What was tried of one family, or in pairs: looked at, judged by every check, and found to cure."""

    what: Family | str
    looked_at: int
    judged: int
    cured: int


@dataclass(frozen=True, eq=False)
class Remedy:
    """Changes, and the changed layout with everything that is told of it."""

    changes: Changes
    layout: Layout
    judged: Judged


@dataclass(frozen=True, eq=False)
class Cures:
    """What a layout comes to, and the cures for it, the one that disturbs least first.

    found: how many kinds of cure there are in all. nearest: the least bad change where nothing cures, else None.
    """

    layout: Layout
    before: Judged
    listed: tuple[Remedy, ...]
    found: int
    nearest: Remedy | None
    tried: tuple[Tried, ...]

    @property
    def healthy(self) -> bool:
        """Whether there is no problem to cure."""
        return self.before.count("problem") == 0

    @property
    def best(self) -> Remedy | None:
        """The cure that disturbs least."""
        return self.listed[0] if self.listed else None


def cures_of(layout: Layout, progress: Progress = lambda share: None) -> Cures:
    """Look for cures of a layout's problems.

    progress: called with the share that is done. Raises NoBeltPath where the layout has no path to begin with.
    """
    before = judge_layout(layout)
    if before.count("problem") == 0:
        return Cures(layout, before, (), 0, None, ())
    needs = needs_of(before.route, before.operation)
    families = _candidates(before.route, needs)
    wanted = sum(len(family.changes) for family in families) + MOST_PAIRS
    done = iter(range(1, wanted + 1))

    def judge(changes: Changes) -> Trial | None:
        progress(next(done, wanted) / wanted)
        return trial_of(changes, layout)

    singles, tried = _singles(families, judge)
    couples, looked_at = pairs_of(singles, layout, needs, MOST_PAIRS)
    pairs = [trial for changes in couples if (trial := judge(changes)) is not None]
    tried.append(Tried("pair", looked_at, len(couples), sum(trial.cured for trial in pairs)))
    return _chosen(layout, before, [*singles, *pairs], tuple(tried))


def _singles(
    families: Sequence[Candidates], judge: Callable[[Changes], Trial | None]
) -> tuple[list[Trial], list[Tried]]:
    singles: list[Trial] = []
    tried: list[Tried] = []
    for family in families:
        own = [trial for change in family.changes if (trial := judge((change,))) is not None]
        tried.append(Tried(family.family, family.looked_at, len(family.changes), sum(trial.cured for trial in own)))
        singles += own
    return singles, tried


def _candidates(route: Route, needs: Needs) -> tuple[Candidates, ...]:
    """What is worth judging, family by family."""
    layout, base = route.layout, paths_of(route)
    belts, ribs, tension = other_belts(route), more_ribs(layout), more_tension(route)
    orders, count = other_orders(base, needs)
    found = {
        "belt": Candidates("belt", len(belts), belts),
        "rib": Candidates("rib", len(ribs), ribs),
        "order": Candidates("order", count, orders),
        "spring": Candidates("spring", len(tension), tension),
        "diameter": _pooled("diameter", [other_diameters(layout, base)], route, needs, MOST_JUDGED["diameter"]),
        "move": _pooled("move", [moves(base)], route, needs, MOST_JUDGED["move"]),
        "idler": _pooled("idler", list(idlers(layout, base)), route, needs, A_POOL),
    }
    return tuple(
        Candidates(family, found[family].looked_at, found[family].changes[: MOST_JUDGED[family]]) for family in FAMILIES
    )


def _pooled(family: Family, pools: Sequence[Pool | None], route: Route, needs: Needs, each: int) -> Candidates:
    length = float(route.loop.length)
    promises = [p for pool in pools if pool is not None for p in screened(pool, needs, length).picked(each)]
    looked_at = sum(len(pool.paths) for pool in pools if pool is not None)
    return Candidates(family, looked_at, best_of(promises, MOST_JUDGED[family]))


def _chosen(layout: Layout, before: Judged, trials: Sequence[Trial], tried: tuple[Tried, ...]) -> Cures:
    cured = _least_of_each([trial for trial in trials if trial.cured])
    listed = tuple(_remedy(trial) for trial in listing(cured)[:MOST_LISTED])
    nearest = None
    if not cured and trials:
        best = min(trials, key=lambda trial: trial.nearness)
        nearest = _remedy(best) if best.counts[0] < before.count("problem") else None
    return Cures(layout, before, listed, len(cured), nearest, tried)


def _remedy(trial: Trial) -> Remedy:
    return Remedy(trial.changes, trial.layout, judge_layout(trial.layout))


def _least_of_each(cured: Sequence[Trial]) -> list[Trial]:
    """Of the cures of the same families and targets one, as `RULE` says."""
    found: dict[Key, Trial] = {}
    for trial in sorted(cured, key=lambda trial: disturbance(trial.changes)):
        key = key_of(trial.changes)
        best = found.setdefault(key, trial)
        if "idler" in families_of(trial.changes) and trial.counts[1] < best.counts[1]:
            found[key] = trial
    return list(found.values())


def listing(cured: Sequence[Trial]) -> list[Trial]:
    """Cures in the order they are listed: the best of every family, the second of every family, and so on.

    Singles come before pairs, and a family that disturbs less before one that disturbs more.
    """
    found: dict[tuple[int, tuple[Family, ...]], list[Trial]] = {}
    for trial in sorted(cured, key=lambda trial: disturbance(trial.changes)):
        found.setdefault((len(trial.changes), families_of(trial.changes)), []).append(trial)
    return [trial for rank in _by_rank(list(found.values())) for trial in rank]


def _by_rank(groups: Sequence[Sequence[Trial]]) -> Iterator[list[Trial]]:
    singles = [group for group in groups if len(group[0].changes) == 1]
    pairs = [group for group in groups if len(group[0].changes) > 1]
    for kind in (singles, pairs):
        for rank in zip_longest(*kind):
            yield [trial for trial in rank if trial is not None]
