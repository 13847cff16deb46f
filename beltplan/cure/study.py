"""What is the smallest change that cures a layout? Families of changes, alone and in pairs, judged by every check."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from itertools import combinations
from math import inf

import numpy as np

from beltplan.checks.belt import RESERVE
from beltplan.checks.every_check import answers
from beltplan.checks.limits import Finding, Severity, demanded, in_order
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.tension import SLIP, SLIP_ON_REVS, with_one_mind
from beltplan.cure.changes import (
    FAMILIES,
    Change,
    Changes,
    Disturbance,
    Family,
    Key,
    applied,
    disturbance,
    key_of,
    more_ribs,
    more_tension,
    other_belt,
    other_belts,
)
from beltplan.cure.moves import SIZES_MM, idlers, moves, other_diameters, other_orders
from beltplan.cure.screen import (
    NEARLY,
    Pool,
    Promise,
    Screen,
    as_it_stands,
    best_of,
    picked,
    screen_of,
    wet_utilisation,
)
from beltplan.drive.layout import Layout
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import NoBeltPath, Route, route_of
from beltplan.drive.travel import Circuit, circuit_of
from beltplan.geometry.loops import pieces_of
from beltplan.geometry.vectors import Floats

Issue = tuple[str, str]
"""A finding by its check and its subject."""
SLIPS = (SLIP.name, SLIP_ON_REVS.name)
"""Of each pulley `check` tells the worse of the two: they are one issue."""


_NO_RESERVE: Issue = (RESERVE.name, "belt")


@dataclass(frozen=True, eq=False)
class Trial:
    """Changes, and what the changed layout comes to.

    findings: its problems and cautions. belt: its designation. wet_utilisation: highest grip used in the wet, by
    pulley, steady or while revving; 0 where it is not known.
    """

    changes: Changes
    layout: Layout
    findings: tuple[Finding, ...]
    belt: str | None = None
    wet_utilisation: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def problems(self) -> frozenset[Issue]:
        """The problems that are left."""
        return issues_of(self.findings, "problem")

    @cached_property
    def issues(self) -> frozenset[Issue]:
        """All that is left, problems and cautions."""
        return issues_of(self.findings)

    @cached_property
    def counts(self) -> tuple[int, int]:
        """How many problems and cautions there are."""
        problems = sum(finding.severity == "problem" for finding in self.findings)
        return problems, len(self.findings) - problems

    def cures(self, before: Trial) -> bool:
        """Whether no problem is left; where there was none, whether there are fewer cautions too, and no belt that
        lacks reserve for them.
        """
        if before.problems or self.problems:
            return not self.problems
        return self.counts < before.counts and _NO_RESERVE not in self.issues - before.issues

    @property
    def nearness(self) -> tuple[tuple[int, int], Disturbance]:
        """What trials are compared by: problems, cautions left and made, disturbance."""
        return self.counts, disturbance(self.changes)


def issues_of(findings: Sequence[Finding], *severities: Severity) -> frozenset[Issue]:
    """Findings by check and subject; of all severities where none is named."""
    return frozenset(issue_of(finding) for finding in findings if not severities or finding.severity in severities)


def issue_of(finding: Finding) -> Issue:
    """What a finding is about, to know it again after a change."""
    return (SLIP.name if finding.check in SLIPS else finding.check, finding.subject)


def untried(judged: Plan) -> Trial:
    """What a layout comes to before any change."""
    return _told((), judged.route, judged.operation, judged.findings)


def _told(changes: Changes, route: Route, operation: Operation | None, findings: Sequence[Finding]) -> Trial:
    serious = tuple(finding for finding in findings if finding.severity != "note")
    utilisations = zip(route.pulleys, wet_utilisation(route, operation), strict=True)
    return Trial(
        changes,
        route.layout,
        serious,
        route.designation,
        {pulley.name: float(utilisation) for pulley, utilisation in utilisations},
    )


def trial_of(changes: Changes, layout: Layout, most_problems: float = inf) -> Trial | None:
    """Make changes and judge; None where there is no belt path then.

    most_problems: where there are more, it is not asked what else there is.
    Where the layout names a belt and that does not go on any more, the best stock belt that does is one change more.
    """
    changed = applied(changes, layout)
    try:
        route = route_of(changed)
        if route.named_outside and not any(change.family == "belt" for change in changes):
            belt = _freed(route)
            if belt is not None:
                changes = (*changes, belt)
                changed = applied(changes, layout)
                route = route_of(changed)
    except NoBeltPath:
        return None
    running = cache(lambda: operation_of(route))
    found: list[Finding] = []
    for some in answers(route, running):
        found += some
        if sum(finding.severity == "problem" for finding in found) > most_problems:
            return _told(changes, route, None, found)
    return _told(changes, route, running(), in_order(with_one_mind(found)))


def _freed(route: Route) -> Change | None:
    """The best belt where the named one does not go on, None where none does."""
    free = route_of(replace(route.layout, belt=replace(route.layout.belt, length_mm=None)))
    best = free.judged
    return None if best is None else other_belt(best.belt, abs(best.line_mm - route.length_mm))


# Cures of the same kind: the best, the smallest, and the one that leaves margin; and the cautions left and made.

_Rank = tuple[tuple[int, int], tuple[bool, int], Disturbance]


@dataclass(frozen=True, eq=False)
class Kind:
    """Cures of the same families and targets. best: by `rank_of`.

    smallest: the one that disturbs least, None where that is the best. ample: where the best leaves no margin, the best
    of those that do; else, of those with as few cautions, the farthest from slipping; None where that is the best.
    margin: whether the best leaves some.
    """

    best: Trial
    smallest: Trial | None
    ample: Trial | None
    margin: bool


@dataclass(frozen=True)
class Cautions:
    """Cautions after a change. left: there before, as problem or caution; made: new.

    edge: those left of what was to be cured: the problems, or the cautions where there was no problem.
    """

    left: tuple[Finding, ...]
    made: tuple[Finding, ...]
    edge: tuple[Finding, ...]


def cautions_of(before: Sequence[Finding], after: Sequence[Finding]) -> Cautions:
    """The cautions among the findings after a change, by what there was before it."""
    found = [finding for finding in after if finding.severity == "caution"]
    known = issues_of(before, "problem", "caution")
    wanted = issues_of(before, "problem") or known
    left = tuple(f for f in found if issue_of(f) in known)
    made = tuple(f for f in found if issue_of(f) not in known)
    return Cautions(left, made, tuple(f for f in left if issue_of(f) in wanted))


def near_of(trial: Trial) -> frozenset[Issue]:
    """The cautions of a trial that leave no margin.

    A pulley that does not come near slipping in the wet has margin, though it slips by the design friction.
    """
    cautions = [finding for finding in trial.findings if finding.severity == "caution"]
    return issues_of([f for f in cautions if f.check not in SLIPS or not _grips(trial, f.subject)])


def leaves_margin(trial: Trial, before: Sequence[Finding]) -> bool:
    """Whether nothing that was to be cured is left without margin."""
    wanted = issues_of(before, "problem") or issues_of(before, "caution")
    return not trial.problems & wanted and not near_of(trial) & wanted


def _grips(trial: Trial, name: str) -> bool:
    bound = demanded(trial.layout, "max_slip_use", (name, trial.layout.pulleys[name].role))
    return trial.wet_utilisation.get(name, inf) <= bound.ample


def rank_of(trial: Trial, before: Trial) -> _Rank:
    """What cures are ranked by: problems and cautions; margin of what was to be cured, and of all; disturbance."""
    margin = (not leaves_margin(trial, before.findings), len(near_of(trial)))
    return trial.counts, margin, disturbance(trial.changes)


def kinds_of(cures: Sequence[Trial], before: Trial) -> list[Kind]:
    """Cures by their kind, the best kind first."""
    groups: dict[Key, list[Trial]] = {}
    for trial in sorted(cures, key=lambda trial: rank_of(trial, before)):
        groups.setdefault(key_of(trial.changes), []).append(trial)
    return [_kind(group, before) for group in groups.values()]


def _kind(ranked: Sequence[Trial], before: Trial) -> Kind:
    best, smallest = ranked[0], min(ranked, key=lambda trial: disturbance(trial.changes))
    ample = next((trial for trial in ranked if leaves_margin(trial, before.findings)), None) or _grippiest(ranked)
    return Kind(
        best,
        None if smallest is best else smallest,
        None if ample is best else ample,
        leaves_margin(best, before.findings),
    )


def _grippiest(ranked: Sequence[Trial]) -> Trial:
    """Of those with as few cautions as the best the one farthest from slipping in the wet where the best is near it."""
    near = [name for check, name in near_of(ranked[0]) if check == SLIP.name]
    alike = [trial for trial in ranked if trial.counts == ranked[0].counts]
    return min(alike, key=lambda trial: sum(trial.wet_utilisation.get(name, inf) for name in near))


# Pairs of changes: which go together, screened in batches, and which of them are worth judging.

PARTNERS = {"belt": 2, "rib": 1, "order": 4, "spring": 4, "diameter": 10, "move": 10, "idler": 14}
"""How many trials of a family are paired with others: the best."""
A_TARGET = 3
"""Of them, with the same target."""
_MOST_SCREENED = 600


def pairs_of(
    singles: Sequence[Trial], before: Trial, screen: Screen, most: int, done: Callable[[], None] = lambda: None
) -> tuple[tuple[Changes, ...], int]:
    """The pairs that are worth judging, the most promising first; and how many were looked at.

    What takes every problem away alone, by its family and target, is in no pair; where there are only cautions, what
    takes them all. A pair is promising where each change solves what the other leaves. done: called after each step.
    """
    layout, partners = before.layout, _partners(singles, bool(before.problems))
    together = sorted(_couples(partners), key=lambda couple: (_left(couple), _disturbed(couple)))
    looked_at = together[:_MOST_SCREENED]
    changes = [(*first.changes, *second.changes) for first, second in looked_at]
    short = _shortfalls([applied(each, layout) for each in changes], screen, done)
    ranked = sorted(
        (i for i in range(len(changes)) if np.isfinite(short[i])),
        key=lambda i: (_left(looked_at[i]), short[i] > NEARLY, 0.0 if short[i] <= NEARLY else short[i], i),
    )
    return tuple(changes[i] for i in ranked[:most]), len(looked_at)


def companions_of(best: Trial, singles: Sequence[Trial], most: int) -> tuple[Changes, ...]:
    """Changes with one more beside it, that may take away what it leaves; the most promising first."""
    own = {(change.family, change.target) for change in best.changes}
    kept = tuple(change for change in best.changes if change.family != "belt") or best.changes
    taken: Counter[tuple[Family, str]] = Counter()
    found: list[Changes] = []
    for trial in sorted(singles, key=lambda trial: (len(trial.issues & best.issues), disturbance(trial.changes))):
        key = (trial.changes[0].family, trial.changes[0].target)
        if len(trial.changes) == 1 and key not in own and (taken[key] < A_TARGET or key[0] == "spring"):
            taken[key] += 1
            found.append((*kept, *trial.changes))
    return tuple(found[:most])


def _partners(singles: Sequence[Trial], problems: bool) -> list[Trial]:
    found: list[Trial] = []
    alone = {key_of(trial.changes) for trial in singles if not (trial.problems if problems else trial.issues)}
    left = [trial for trial in singles if len(trial.changes) == 1 and key_of(trial.changes) not in alone]
    for family in FAMILIES:
        own = [trial for trial in left if trial.changes[0].family == family]
        taken: Counter[str] = Counter()
        for trial in sorted(own, key=lambda trial: trial.nearness):
            target = trial.changes[0].target
            if taken[target] < A_TARGET and sum(taken.values()) < PARTNERS[family]:
                taken[target] += 1
                found.append(trial)
    return found


def _couples(partners: Sequence[Trial]) -> Iterator[tuple[Trial, Trial]]:
    for first, second in combinations(partners, 2):
        one, other = first.changes[0], second.changes[0]
        if (one.family, one.target) != (other.family, other.target):
            # An added idler comes last: the order is made of the pulleys that there were.
            yield (first, second)


def _left(couple: tuple[Trial, Trial]) -> tuple[int, int]:
    """How many problems neither of the two solves, and how many problems and cautions."""
    one, other = couple
    return len(one.problems & other.problems), len(one.issues & other.issues)


def _disturbed(couple: tuple[Trial, Trial]) -> Disturbance:
    return disturbance((*couple[0].changes, *couple[1].changes))


def _shortfalls(layouts: Sequence[Layout], screen: Screen, done: Callable[[], None]) -> Floats:
    """How far each falls short, the nearer way round, the adjuster at its design setting; (N)."""
    short = np.full(len(layouts), np.inf)
    ways = (False, True)
    groups: defaultdict[tuple[tuple[str, str], ...], list[tuple[int, Circuit]]] = defaultdict(list)
    for i, layout in enumerate(layouts):
        for circuit in (circuit_of(layout, way) for way in ways):
            groups[tuple((pulley.name, pulley.belt_side) for pulley in circuit.pulleys)].append((i, circuit))
    for members in groups.values():
        index = np.array([i for i, _ in members])
        own = screen.shortfall(_stacked([circuit for _, circuit in members]))
        np.minimum.at(short, index, own.short)
        done()
    return short


def _stacked(circuits: Sequence[Circuit]) -> Circuit:
    """Circuits of the same pulleys as one over (N), each with its adjuster at the design setting."""
    first, centres = circuits[0], zip(*(circuit.centre for circuit in circuits), strict=True)
    radius, rim = (np.stack([getattr(own, part) for own in circuits], axis=1) for part in ("radius", "rim"))
    base = pieces_of([np.stack(places) for places in centres], radius, first.sense)
    return replace(first, base=base, rim=rim, moving=None, track=None)


# Which small change cures a layout best? Families of changes, alone and in pairs, judged by every check.

MOST_LISTED = 10
RULE = (
    "no problem, then the fewest cautions, left and new together; of as many, first what leaves margin, then the "
    "smallest change first. One change is smaller than two; then comes belt, rib, order, spring, diameter, move, "
    "idler, in this order; then how far it goes. Of each kind of change the best is listed. With it stand the smallest "
    "that cures, and the one that leaves margin where the best does not. One change more is tried beside the best, and "
    "ranked where it leaves less. Margin: no caution of what was to be cured, or none but slip by the design friction. "
    "Slip counts by the worse of steady running and revving. Where the belt that the file names no longer fits, "
    "another one is a change besides"
)
"""By what cures are ranked, in words."""
_MOST_JUDGED: dict[Family, int] = {
    "belt": 30,
    "rib": 1,
    "order": 16,
    "spring": 12,
    "diameter": 40,
    "move": 48,
    "idler": 64,
}
_MOST_PAIRS = 110
_MOST_COMPANIONS = 24
_MOST_TOGETHER = 3
"""Changes that go together, at most, beside a belt that follows from them."""
_A_POOL = 8
"""Idlers of one span, side and size that are judged, at most."""

_Progress = Callable[[float], None]
_Judge = Callable[[Changes, float], Trial | None]
_AsWell = tuple[tuple[Finding, Trial], ...]


@dataclass(frozen=True, eq=False)
class _Candidates:
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
    judged: Plan
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
    smallest: the cure that disturbs least, None where it is the best. as_well: the best with one change more that makes
    another caution in its place, by the caution of the best against which that helps.
    """

    layout: Layout
    before: Plan
    listed: tuple[Remedy, ...]
    found: int
    nearest: Remedy | None
    tried: tuple[Tried, ...]
    smallest: Trial | None = None
    as_well: _AsWell = ()

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


def cures_of(layout: Layout, progress: _Progress = lambda share: None) -> Cures:
    """Look for cures of a layout's problems; of its cautions, where it has no problem.

    progress: called with the share that is done. Raises NoBeltPath where the layout has no path to begin with.
    """
    judged = plan_of(layout)
    before = untried(judged)
    if not before.findings:
        return Cures(layout, judged, (), 0, None, ())
    screen = screen_of(judged.route, judged.operation, cautions=not before.problems)
    work = _Work(progress, _most_work(layout))
    families = _candidates(judged, screen, work)
    wanted = sum(len(family.changes) for family in families) + _MOST_PAIRS + _MOST_COMPANIONS
    work.whole = work.done + _TO_JUDGE * wanted

    def judge(changes: Changes, most_problems: float = inf) -> Trial | None:
        work.add(_TO_JUDGE)
        return trial_of(changes, layout, most_problems)

    singles, tried = _singles(families, judge, before)
    couples, looked_at = pairs_of(singles, before, screen, _MOST_PAIRS, work.add)
    pairs: list[Trial] = []
    for changes in couples:
        # What leaves more problems than another can neither cure nor be the nearest.
        fewest = min((each.counts[0] for each in (*singles, *pairs)), default=inf)
        pairs += [trial for trial in (judge(changes, fewest),) if trial is not None]
    tried.append(Tried("pair", looked_at, len(couples), sum(trial.cures(before) for trial in pairs)))
    cured = [trial for trial in (*singles, *pairs) if trial.cures(before)]
    if not cured:
        return Cures(layout, judged, (), 0, _nearest([*singles, *pairs], before), tuple(tried))
    more, better = _with_one_more(cured, singles, before, judge)
    tried.append(Tried("more", len(more), len(more), len(better)))
    return _chosen(judged, before, kinds_of([*cured, *better], before), tuple(tried), more)


_TO_JUDGE = 3
"""Judging one layout is about so many times the work of screening a pool."""


@dataclass
class _Work:
    """How much of the whole is done, told as it grows."""

    told: _Progress
    whole: int
    done: int = 0

    def add(self, more: int = 1) -> None:
        self.done += more
        self.told(min(self.done / self.whole, 1.0))


def _most_work(layout: Layout) -> int:
    pools = 2 * len(layout.route) * len(layout.idler_sizes_mm or SIZES_MM)
    return pools + _TO_JUDGE * (sum(_MOST_JUDGED.values()) + _MOST_PAIRS + _MOST_COMPANIONS)


def _singles(families: Sequence[_Candidates], judge: _Judge, before: Trial) -> tuple[list[Trial], list[Tried]]:
    singles: list[Trial] = []
    tried: list[Tried] = []
    for family in families:
        own = [trial for change in family.changes if (trial := judge((change,), inf)) is not None]
        tried.append(
            Tried(family.family, family.looked_at, len(family.changes), sum(trial.cures(before) for trial in own))
        )
        singles += own
    return singles, tried


def _candidates(judged: Plan, screen: Screen, work: _Work) -> tuple[_Candidates, ...]:
    """What is worth judging, family by family."""
    route, layout, base = judged.route, judged.route.layout, as_it_stands(judged.route)
    factors = [cure.times for cure in judged.cures if cure.times is not None]

    def listed(family: Family, changes: Sequence[Change], looked_at: int | None = None) -> _Candidates:
        count = len(changes) if looked_at is None else looked_at
        return _Candidates(family, count, tuple(changes[: _MOST_JUDGED[family]]))

    def screened(family: Family, pools: Iterable[Pool | None], each: int) -> _Candidates:
        promises: list[Promise] = []
        count, length = 0, float(route.loop.length)
        for pool in pools:
            if pool is not None:
                promises += picked(pool, screen.shortfall(pool.circuit, pool.varying), length, each)
                count += pool.circuit.shape[0]
                work.add()
        return listed(family, best_of(promises, _MOST_JUDGED[family]), count)

    return (
        listed("belt", other_belts(route)),
        listed("rib", more_ribs(layout)),
        listed("order", *other_orders(base, screen, work.add)),
        listed("spring", more_tension(route, factors)),
        screened("diameter", [other_diameters(layout, base)], _MOST_JUDGED["diameter"]),
        screened("move", [moves(base)], _MOST_JUDGED["move"]),
        screened("idler", idlers(layout, base), _A_POOL),
    )


def _chosen(
    judged: Plan, before: Trial, kinds: Sequence[Kind], tried: tuple[Tried, ...], more: Sequence[Trial]
) -> Cures:
    best = kinds[0].best
    every = [trial for kind in kinds for trial in (kind.best, kind.smallest) if trial is not None]
    smallest = min(every, key=lambda trial: disturbance(trial.changes))
    listed = tuple(_remedy(kind.best, kind) for kind in kinds[:MOST_LISTED])
    least = None if smallest is best else smallest
    return Cures(before.layout, judged, listed, len(kinds), None, tried, least, _as_well(best, more, before))


def _with_one_more(
    cured: Sequence[Trial], singles: Sequence[Trial], before: Trial, judge: _Judge
) -> tuple[list[Trial], list[Trial]]:
    """The best cure with one change more, and so on from a better one; all of them, and those that leave less by it."""
    best = min(cured, key=lambda trial: rank_of(trial, before))
    tried: list[Trial] = []
    better: list[Trial] = []
    while best.findings and sum(change.family != "belt" for change in best.changes) < _MOST_TOGETHER:
        more = [trial for changes in companions_of(best, singles, _MOST_COMPANIONS) if (trial := judge(changes, 0))]
        ahead = [trial for trial in more if rank_of(trial, before)[:2] < rank_of(best, before)[:2]]
        tried, better = tried + more, better + ahead
        if not ahead:
            break
        best = min(ahead, key=lambda trial: rank_of(trial, before))
    return tried, better


def _as_well(best: Trial, more: Sequence[Trial], before: Trial) -> _AsWell:
    """The best cure with one change more: for each of its cautions that which takes it, or its nearness, away.

    None of them leaves fewer cautions than the best, or it would be that: each makes another in its place.
    """
    own = frozenset(change for change in best.changes if change.family != "belt")
    ranked = sorted((trial for trial in more if own < set(trial.changes)), key=lambda trial: rank_of(trial, before))
    alike = [trial for trial in ranked if trial.counts == best.counts]
    found: dict[Trial, Finding] = {}
    for finding in best.findings:
        issue = issue_of(finding)
        near = issue in near_of(best)
        helps = next((trial for trial in alike if issue not in (near_of(trial) if near else trial.issues)), None)
        if helps is not None:
            found.setdefault(helps, finding)
    return tuple((finding, trial) for trial, finding in found.items())


def _nearest(trials: Sequence[Trial], before: Trial) -> Remedy | None:
    nearest = min(trials, key=lambda trial: trial.nearness, default=None)
    return None if nearest is None or nearest.counts[0] >= before.counts[0] else _remedy(nearest)


def _remedy(trial: Trial, kind: Kind | None = None) -> Remedy:
    return Remedy(trial, plan_of(trial.layout), kind)
