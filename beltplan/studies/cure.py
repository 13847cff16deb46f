"""Which small change cures a layout best? Families of changes, alone and in pairs, judged by every check."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, Severity
from beltplan.studies.compare import Judged, judge_layout
from beltplan.studies.cure_belt import more_ribs, other_belts
from beltplan.studies.cure_change import FAMILIES, Change, Changes, Family, disturbance
from beltplan.studies.cure_diameter import other_diameters
from beltplan.studies.cure_idler import idlers
from beltplan.studies.cure_kinds import Cautions, Kind, cautions_of, kinds_of, leaves_margin, near_of, rank_of
from beltplan.studies.cure_move import moves
from beltplan.studies.cure_order import other_orders
from beltplan.studies.cure_pairs import companions_of, pairs_of
from beltplan.studies.cure_pool import Pool, best_of, screened
from beltplan.studies.cure_screen import Needs, needs_of, paths_of
from beltplan.studies.cure_spring import more_tension
from beltplan.studies.cure_trial import Issue, Trial, trial_of, untried

MOST_LISTED = 10
RULE = (
    "no problem; then the fewest cautions, left and made together; of as many, first what leaves margin; then the "
    "least disturbance: one change before two; belt, rib, order, spring, diameter, move, idler, in this order; then "
    "how far it goes. Of each kind of change the best is listed, with the smallest that cures, and the one that leaves "
    "margin where the best does not. What helps as well stands beside the best and has no rank. Margin: no caution of "
    "what was to be cured, or none but slip by the design friction. Where the belt that the file names no longer fits, "
    "another one is a change besides"
)
"""By what cures are ranked, in words."""
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
MOST_COMPANIONS = 24
A_POOL = 8
"""Idlers of one strand, side and size that are judged, at most."""

Progress = Callable[[float], None]
Judge = Callable[[Changes], Trial | None]
AsWell = tuple[tuple[Finding, Trial], ...]


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
    """A trial with everything that is told of its layout. kind: what else cures in the same way, None for no cure."""

    trial: Trial
    judged: Judged
    kind: Kind | None

    @property
    def changes(self) -> Changes:
        """What is to be done."""
        return self.trial.changes

    @property
    def layout(self) -> Layout:
        """The changed layout."""
        return self.trial.layout


@dataclass(frozen=True, eq=False)
class Cures:
    """What a layout comes to, and the cures for it, the best first: of its problems, or of cautions where it has none.

    found: how many kinds of cure there are in all. nearest: the least bad change where nothing cures, else None.
    smallest: the cure that disturbs least, None where it is the best. as_well: the best with one change more, by the
    caution of the best against which that helps.
    """

    layout: Layout
    before: Judged
    listed: tuple[Remedy, ...]
    found: int
    nearest: Remedy | None
    tried: tuple[Tried, ...]
    smallest: Trial | None = None
    as_well: AsWell = ()

    @property
    def healthy(self) -> bool:
        """Whether there is no problem to cure."""
        return self.before.count("problem") == 0

    @property
    def clean(self) -> bool:
        """Whether there is nothing to cure at all."""
        return self.healthy and self.before.count("caution") == 0

    @property
    def best(self) -> Remedy | None:
        """The cure that ranks first."""
        return self.listed[0] if self.listed else None

    def cautions(self, trial: Trial) -> Cautions:
        """The cautions after a change, by what there was before it."""
        return cautions_of(self.before.findings, trial.findings)

    def leaves_margin(self, trial: Trial) -> bool:
        """Whether a change leaves margin to what was to be cured."""
        return leaves_margin(trial, self.before.findings)

    @property
    def wanted(self) -> tuple[Finding, ...]:
        """What is to be cured: the problems, the cautions where there is none."""
        severity: Severity = "caution" if self.healthy else "problem"
        return tuple(finding for finding in self.before.findings if finding.severity == severity)


def cures_of(layout: Layout, progress: Progress = lambda share: None) -> Cures:
    """Look for cures of a layout's problems; of its cautions, where it has no problem.

    progress: called with the share that is done. Raises NoBeltPath where the layout has no path to begin with.
    """
    judged = judge_layout(layout)
    before = untried(judged)
    if not before.findings:
        return Cures(layout, judged, (), 0, None, ())
    needs = needs_of(judged.route, judged.operation)
    needs = needs if before.problems else needs.against_cautions
    families = _candidates(judged.route, needs)
    wanted = sum(len(family.changes) for family in families) + MOST_PAIRS + MOST_COMPANIONS
    done = iter(range(1, wanted + 1))

    def judge(changes: Changes) -> Trial | None:
        progress(next(done, wanted) / wanted)
        return trial_of(changes, layout)

    singles, tried = _singles(families, judge, before)
    couples, looked_at = pairs_of(singles, before, needs, MOST_PAIRS)
    pairs = [trial for changes in couples if (trial := judge(changes)) is not None]
    tried.append(Tried("pair", looked_at, len(couples), sum(trial.cures(before) for trial in pairs)))
    kinds = kinds_of([trial for trial in (*singles, *pairs) if trial.cures(before)], before)
    if not kinds:
        return Cures(layout, judged, (), 0, _nearest([*singles, *pairs], before), tuple(tried))
    return _chosen(judged, before, kinds, tuple(tried), _as_well(kinds[0].best, singles, before, judge))


def _singles(families: Sequence[Candidates], judge: Judge, before: Trial) -> tuple[list[Trial], list[Tried]]:
    singles: list[Trial] = []
    tried: list[Tried] = []
    for family in families:
        own = [trial for change in family.changes if (trial := judge((change,))) is not None]
        tried.append(
            Tried(family.family, family.looked_at, len(family.changes), sum(trial.cures(before) for trial in own))
        )
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


def _chosen(judged: Judged, before: Trial, kinds: Sequence[Kind], tried: tuple[Tried, ...], as_well: AsWell) -> Cures:
    best = kinds[0].best
    every = [trial for kind in kinds for trial in (kind.best, kind.smallest) if trial is not None]
    smallest = min(every, key=lambda trial: disturbance(trial.changes))
    listed = tuple(_remedy(kind.best, kind) for kind in kinds[:MOST_LISTED])
    least = None if smallest is best else smallest
    return Cures(before.layout, judged, listed, len(kinds), None, tried, least, as_well)


def _as_well(best: Trial, singles: Sequence[Trial], before: Trial, judge: Judge) -> AsWell:
    """The best cure with one change more: for each of its cautions that which takes it, or its nearness, away."""
    if not best.findings:
        return ()
    trials = [judge(changes) for changes in companions_of(best, singles, MOST_COMPANIONS)]
    ranked = sorted((trial for trial in trials if trial is not None), key=lambda trial: rank_of(trial, before))
    better = [trial for trial in ranked if rank_of(trial, before)[:2] < rank_of(best, before)[:2]]
    found: dict[Trial, Finding] = {}
    for finding in best.findings:
        issue = (finding.check, finding.subject)
        left = near_of if issue in near_of(best) else _issues
        helps = next((trial for trial in better if issue not in left(trial)), None)
        if helps is not None:
            found.setdefault(helps, finding)
    return tuple((finding, trial) for trial, finding in found.items())


def _issues(trial: Trial) -> frozenset[Issue]:
    return trial.issues


def _nearest(trials: Sequence[Trial], before: Trial) -> Remedy | None:
    nearest = min(trials, key=lambda trial: trial.nearness, default=None)
    return None if nearest is None or nearest.counts[0] >= before.counts[0] else _remedy(nearest)


def _remedy(trial: Trial, kind: Kind | None = None) -> Remedy:
    return Remedy(trial, judge_layout(trial.layout), kind)
