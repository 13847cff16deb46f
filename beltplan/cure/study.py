"""What is the smallest change that cures a layout? Families of changes, alone and together, judged by every check."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from math import ceil, inf
from typing import Literal

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_on
from beltplan.checks.pulleys import SMALL_PULLEY
from beltplan.checks.questions import with_questions
from beltplan.checks.tension import HUB_LOAD, HUB_MOMENT, SPAN_TENSION
from beltplan.cure import kinds
from beltplan.cure.changes import (
    Change,
    Changes,
    Family,
    key_of,
    more_ribs,
    one_ways,
    other_belts,
    other_tensions,
    shimmed,
)
from beltplan.cure.kinds import Remedy
from beltplan.cure.moves import SIZES_MM, enlarged, idlers, moves, other_diameters, other_orders
from beltplan.cure.pairs import companions_of, kept_of, pairs_of
from beltplan.cure.screen import Pool, Promise, Screen, as_it_stands, best_of, picked, screen_of
from beltplan.cure.trials import TO_JUDGE, Judge, Trial, issues_in, untried
from beltplan.drive.layout import Layout
from beltplan.drive.route import route_of, with_known_push
from beltplan.progress import Progress, unseen

MOST_LISTED = 10
RULE = (
    "no problem; the fewest changes, the belt that goes with them not counted; the fewest cautions; the fewest new or "
    "worse ones; what leaves margin, so no caution where the problem was; what stays good farthest off its place, to "
    "3 mm; the smallest change: belt, rib, order, shim, spring, one-way pulley, diameter, move, "
    "idler, then how far it goes. Of each kind of change the best is listed"
)
_PULLS = (SPAN_TENSION.name, HUB_LOAD.name, HUB_MOMENT.name)
_MOST_JUDGED: dict[Family, int] = {
    "belt": 30,
    "rib": 1,
    "order": 16,
    "shim": 1,
    "spring": 27,
    "one_way": 8,
    "diameter": 40,
    "move": 48,
    "idler": 64,
}
_MOST_PAIRS = 110
_MOST_COMPANIONS = 24
_MANY = 16
"""On drives of more pulleys fewer changes are judged, as judging takes longer by the square of their number."""
MOST_TOGETHER = 3
"""Changes that go together, at most, beside a belt that follows from them."""
_A_POOL = 8
"""Idlers of one span, side and size that are judged, at most."""

_AsWell = tuple[tuple[Finding, Trial], ...]
_Candidates = tuple[tuple[Change, ...], int]
"""Changes that are worth judging, and how many were looked at to find them."""


@dataclass(frozen=True)
class Tried:
    """What was tried of one family, or in pairs: looked at, judged by every check, and found to cure."""

    what: Family | Literal["pair", "more"]
    looked_at: int
    judged: int
    cured: int


@dataclass(frozen=True, eq=False)
class Cures:
    """What a layout comes to, and the cures for it, the best first: of its problems, or of cautions where it has none.

    found: how many kinds of cure there are in all. nearest: the least bad change where nothing cures, else None.
    smallest: the cure that disturbs least, None where it is the best. as_well: the best with one change more that
    leaves no more cautions, by the caution of the best against which that helps. share: of the usual number of
    changes that was judged; less where the drive has very many pulleys. almost: where nothing leaves less, what comes
    nearest to it, as `kinds.almost_of`.
    """

    layout: Layout
    before: Plan
    listed: tuple[Remedy, ...]
    found: int
    nearest: Remedy | None
    tried: tuple[Tried, ...]
    smallest: Trial | None = None
    as_well: _AsWell = ()
    share: float = 1.0
    almost: Trial | None = None

    @property
    def healthy(self) -> bool:
        return self.before.count("problem") == 0

    @cached_property
    def unchanged(self) -> Trial:
        """The layout as it was, as a trial of no change."""
        return untried(self.before)

    @property
    def best(self) -> Remedy | None:
        return self.listed[0] if self.listed else None

    def smallest_first(self) -> Cures:
        """The same with the cure that disturbs least in the place of the best."""
        if self.smallest is None:
            return self
        others = (remedy for remedy in self.listed if remedy.trial is not self.smallest)
        listed = (Remedy(self.smallest), *others)[:MOST_LISTED]
        return replace(self, listed=listed, smallest=None, as_well=())

    @cached_property
    def asked(self) -> tuple[Finding, ...]:
        """Which slip of the file `check` asks after first: without it there may be nothing to cure."""
        return tuple(each for each in with_questions(self.before).findings if each.asks_first)

    @property
    def wanted(self) -> tuple[Finding, ...]:
        return kinds.wanted_of(self.before.findings)


def cures_of(layout: Layout, progress: Progress = unseen) -> Cures:
    """Look for cures of a layout's problems; of its cautions, where it has no problem.

    progress: called with the share that is done. Raises NoBeltPath where the layout has no path to begin with.
    """
    route = route_of(layout)
    layout = with_known_push(layout, route)
    plan = plan_on(replace(route, layout=layout))
    before = untried(plan)
    if not before.findings:
        return Cures(layout, plan, (), 0, None, ())
    share = min(1.0, (_MANY / len(layout.route)) ** 2)
    work = _Work(progress, _most_work(layout, share))
    judge = Judge(layout, work.add)
    singles, pairs, tried = _alone_and_in_pairs(plan, before, share, work, judge)
    cured = [trial for trial in (*singles, *pairs) if trial.cures(before)]
    nearest = min([before, *singles, *pairs], key=lambda trial: trial.nearness)
    if not cured and nearest.counts[0] == before.counts[0]:
        almost = kinds.almost_of(before, [*singles, *pairs])
        return Cures(layout, plan, (), 0, None, tuple(tried), share=share, almost=almost)
    best = min(cured, key=lambda trial: kinds.rank_of(trial, before), default=nearest)
    beside = (
        partial(companions_of, singles=singles, most=_MOST_COMPANIONS) if cured else partial(_beside, before, share)
    )
    more, better = _with_one_more(best, beside, before, judge)
    tried.append(Tried("more", len(more), len(more), sum(trial.cures(before) for trial in better)))
    cured += [trial for trial in better if trial.cures(before)]
    if not cured:
        nearest = min((best, *better), key=lambda trial: kinds.worth_of(trial, before))
        return Cures(layout, plan, (), 0, Remedy(kinds.lean(nearest, judge)), tuple(tried), share=share)
    leaner = ((kinds.lean(each, judge), each) for each in cured)
    spare = {trial.changes: trial for trial in (lean if lean.cures(before) else each for lean, each in leaner)}
    remedies = kinds.remedies_of([*spare.values()], before)
    as_well = _as_well(remedies[0].trial, more, before, judge)
    return replace(_chosen(plan, remedies, tuple(tried)), as_well=as_well, share=share)


@dataclass
class _Work:
    told: Progress
    whole: int
    done: int = 0

    def add(self, more: int = 1) -> None:
        self.done += more
        self.told(min(self.done / self.whole, 1.0))


def _most_work(layout: Layout, share: float) -> int:
    pools = 2 * len(layout.route) * (len(layout.idler_sizes_mm or SIZES_MM[layout.units]) if share == 1.0 else 1)
    return pools + ceil(TO_JUDGE * (share * (sum(_MOST_JUDGED.values()) + _MOST_PAIRS) + _MOST_COMPANIONS))


def _alone_and_in_pairs(
    plan: Plan, before: Trial, share: float, work: _Work, judge: Judge
) -> tuple[list[Trial], list[Trial], list[Tried]]:
    """What the most promising changes come to alone, and two together; and what was tried of each family."""
    screen = screen_of(plan.route, plan.operation, cautions=not before.problems)
    most_pairs = ceil(share * _MOST_PAIRS)
    families = _candidates(plan, screen, work, share, share < 1.0)
    wanted = sum(len(changes) for changes, _ in families.values()) + most_pairs + _MOST_COMPANIONS
    work.whole = work.done + TO_JUDGE * wanted
    singles, tried = _singles(families, judge, before)
    resized, of_resized = _resized(plan, screen, share)
    promising, of_pairs = pairs_of(singles, before, screen, most_pairs, work.add)
    couples = tuple(dict.fromkeys((*resized, *promising)))[:most_pairs]
    pairs = _judged(couples, singles, judge)
    tried.append(Tried("pair", of_resized + of_pairs, len(couples), sum(trial.cures(before) for trial in pairs)))
    return singles, pairs, tried


def _singles(families: Mapping[Family, _Candidates], judge: Judge, before: Trial) -> tuple[list[Trial], list[Tried]]:
    singles: list[Trial] = []
    tried: list[Tried] = []
    judge.lay((change,) for changes, _ in families.values() for change in changes)
    for family, (changes, looked_at) in families.items():
        own = [trial for change in changes if (trial := judge((change,)))]
        tried.append(Tried(family, looked_at, len(changes), sum(trial.cures(before) for trial in own)))
        singles += own
    return singles, tried


def _judged(couples: Sequence[Changes], singles: Sequence[Trial], judge: Judge) -> list[Trial]:
    pairs: list[Trial] = []
    judge.lay(couples)
    for changes in couples:
        # What leaves more problems than another can neither cure nor be the nearest.
        fewest = min((each.counts[0] for each in (*singles, *pairs)), default=inf)
        if trial := judge(changes, (fewest, inf)):
            pairs.append(trial)
    return pairs


def _resized(plan: Plan, screen: Screen, share: float) -> tuple[list[Changes], int]:
    """Of each pulley that is too small a larger one, and itself moved to where that has room."""
    base, layout = as_it_stands(plan.route), plan.route.layout
    small = {each.subject for each in kinds.wanted_of(plan.findings) if each.check == SMALL_PULLEY.name}
    larger = (enlarged(base, layout, i) for i, pulley in enumerate(base.pulleys) if pulley.name in small)
    found, count = list[Changes](), 0
    for change, pool in filter(None, larger):
        short = screen.over(pool.parts)
        # From the smallest move to the largest: the screening does not tell which of them make a new caution.
        spread = picked(pool, short, 0.0, 2 * _A_POOL)[: ceil(share * _A_POOL)]
        found += [(change, each.change) for each in spread]
        count += len(short.short)
    return found, count


def _candidates(plan: Plan, screen: Screen, work: _Work, share: float, one_size: bool) -> dict[Family, _Candidates]:
    route, layout, base = plan.route, plan.route.layout, as_it_stands(plan.route)
    pulled = any(each.check in _PULLS and each.limit for each in kinds.wanted_of(plan.findings))
    factors = [cure.times for cure, _ in plan.cures if cure.times is not None]
    most = {family: ceil(share * number) for family, number in _MOST_JUDGED.items()}

    def screened(family: Family, pools: Iterable[Pool | None], each: int) -> _Candidates:
        promises: list[Promise] = []
        count, length = 0, float(route.loop.length)
        for pool in pools:
            if pool is not None:
                short = screen.over(pool.parts)
                promises += picked(pool, short, length, each)
                count += len(short.short)
                work.add()
        return best_of(promises, most[family]), count

    def whole(changes: tuple[Change, ...]) -> _Candidates:
        return changes, len(changes)

    found: dict[Family, _Candidates] = {
        "belt": whole(other_belts(route)),
        "rib": whole(more_ribs(layout)),
        "order": other_orders(base, screen, work.add),
        "shim": whole(shimmed(route)),
        "spring": whole(other_tensions(route, factors, pulled)),
        "one_way": whole(one_ways(route, plan.findings)),
        "diameter": screened("diameter", [other_diameters(layout, base)], most["diameter"]),
        "move": screened("move", [moves(base, layout.units)], most["move"]),
        "idler": screened("idler", idlers(layout, base, one_size), _A_POOL),
    }
    return {family: (changes[: most[family]], looked_at) for family, (changes, looked_at) in found.items()}


def _chosen(plan: Plan, remedies: tuple[Remedy, ...], tried: tuple[Tried, ...]) -> Cures:
    every = [trial for kind in remedies for trial in (kind.trial, kind.smallest) if trial is not None]
    smallest = min(every, key=kinds.smallness)
    least = None if smallest is remedies[0].trial else smallest
    return Cures(plan.layout, plan, remedies[:MOST_LISTED], len(remedies), None, tried, least)


def _with_one_more(
    best: Trial, beside: Callable[[Trial], Sequence[Changes]], before: Trial, judge: Judge
) -> tuple[list[Trial], list[Trial]]:
    """The best with one change more, and so on from a better one; all of them, and those that leave less by it."""
    first = best
    tried: list[Trial] = []
    better: list[Trial] = []
    while best.findings and kinds.together(best.changes) < MOST_TOGETHER:
        companions = beside(best)
        judge.lay(companions)
        more = [trial for changes in companions if (trial := judge(changes, first.counts))]
        ahead = [trial for trial in more if kinds.worth_of(trial, before) < kinds.worth_of(best, before)]
        tried, better = tried + more, better + ahead
        if not ahead:
            break
        best = min(ahead, key=lambda trial: kinds.worth_of(trial, before))
    return tried, better


def _beside(before: Trial, share: float, nearest: Trial) -> tuple[Changes, ...]:
    """The nearest with one more beside it, looked for on the path that it makes: what it leaves is mostly its own."""
    plan = nearest.plan
    screen = screen_of(plan.route, plan.operation)
    few = share * _MOST_COMPANIONS / sum(_MOST_JUDGED.values())
    families = _candidates(plan, screen, _Work(unseen, 1), few, share < 1.0)
    kept, added = kept_of(nearest), nearest.layout.pulleys.keys() - before.layout.pulleys.keys()
    # What asks for a pulley that is added with it could not be judged without it.
    changes = [each for some, _ in families.values() for each in some if added.isdisjoint(each.names)]
    own = set(key_of(kept))
    return tuple((*kept, each) for each in changes if own.isdisjoint(key_of((each,))))


def _as_well(best: Trial, more: Sequence[Trial], before: Trial, judge: Judge) -> _AsWell:
    """The best cure with one change more: for each of its cautions what takes it, or its nearness, away, and leaves
    fewer cautions or, of a slip, margin, and none worse.
    """
    own = frozenset(change for change in best.changes if change.family != "belt")
    more = [trial for trial in more if own < set(trial.changes) and trial.counts <= best.counts]
    spared = (trial for trial in more if not trial.worse(best) and kinds.lean(trial, judge) is trial)
    alike = sorted(spared, key=lambda trial: kinds.rank_of(trial, before))
    found: dict[Trial, Finding] = {}
    for finding in best.findings:
        # What slips with the tension low is told of that: it is not helped by being less near slipping otherwise.
        about = issues_in(finding)
        near = frozenset() if finding.low else about & kinds.near_of(best)
        helps = (trial for trial in alike if not (near & kinds.near_of(trial) if near else about & trial.issues))
        # One caution for another is no help.
        gain = (trial for trial in helps if trial.counts < best.counts or kinds.gains_grip(trial, best, finding))
        if first := next(gain, None):
            found.setdefault(first, finding)
    return tuple((finding, trial) for trial, finding in found.items())
