"""A change tried out: what the changed layout comes to by every check."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from math import ceil, inf, radians

from beltplan.checks.advice import with_agreeing_advice
from beltplan.checks.belt import RESERVE
from beltplan.checks.clearance import gaps_beside
from beltplan.checks.every_check import answers
from beltplan.checks.limits import Finding, Severity, in_order
from beltplan.checks.placing import may_be_off_mm
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.pulleys import minimum_wrap
from beltplan.checks.slip import SLIP, SLIP_ON_REVS
from beltplan.checks.tension import SPAN_TENSION
from beltplan.cure.changes import Change, Changes, Disturbance, applied, disturbance, other_belt
from beltplan.cure.screen import wet_utilisation
from beltplan.drive.layout import Layout
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import Route, over, routes_of
from beltplan.geometry.vectors import norm
from beltplan.judging.room import Stays, room_of

Issue = tuple[str, str]
"""A finding by its check and its subject."""
SLIPS = (SLIP.name, SLIP_ON_REVS.name)
"""Of each pulley `check` tells the worse of the two: they are one issue."""


@dataclass(frozen=True, eq=False)
class Trial:
    """Changes, and what the changed layout comes to.

    findings: its problems and cautions. belt: its designation. wet_utilisation: highest grip used in the wet, by
    pulley, steady or while revving; 0 where it is not known. whole: whether all findings are known. route: None where
    none was laid.
    """

    changes: Changes
    layout: Layout
    findings: tuple[Finding, ...]
    belt: str | None = None
    wet_utilisation: Mapping[str, float] = field(default_factory=dict)
    whole: bool = True
    route: Route | None = None

    @cached_property
    def off_mm(self) -> int:
        """By how many mm, in all, pulleys that are yet to be placed may sit farther off than they roughly have room."""
        over = (may_be_off_mm(self.layout, name) - _roughly_mm(route, i) for route, i, name in self.placed())
        return sum(ceil(each) for each in over if each > 0.0)

    @cached_property
    def room(self) -> Callable[[str], Stays | None]:
        """Gives of a pulley how far it stays without a problem, once found; None where as far as it may sit off."""
        return cache(lambda name: room_of(self.layout, name, may_be_off_mm(self.layout, name)))

    def placed(self) -> Iterator[tuple[Route, int, str]]:
        """Pulleys that are yet to be placed, by their number on the route that is laid."""
        if self.route is not None:
            yield from ((self.route, i, each.name) for i, each in enumerate(self.route.pulleys) if each.planned)

    @cached_property
    def plan(self) -> Plan:
        """All that `check` answers of it, its notes too."""
        return plan_of(self.layout)

    @cached_property
    def problems(self) -> frozenset[Issue]:
        return issues_of(self.findings, "problem")

    @cached_property
    def issues(self) -> frozenset[Issue]:
        return issues_of(self.findings)

    @cached_property
    def counts(self) -> tuple[int, int]:
        return counts_of(self.findings)

    def cures(self, before: Trial) -> bool:
        """Whether no problem is left; where there was none, whether there are fewer cautions too, no belt that lacks
        reserve for them, and none that stays is made worse.
        """
        if before.problems or self.problems:
            return not self.problems
        fewer = self.counts < before.counts and (RESERVE.name, "belt") not in self.issues - before.issues
        return fewer and not self.worse(before)

    def worse(self, before: Trial) -> dict[Finding, Finding]:
        """Cautions that stay and stand further over their limits, with what they were before.

        What slips when the belt has slackened does so sooner where it is set to less.
        """
        was = {_alike(each): each for each in before.findings if each.severity == "caution"}
        stay = [(each, was[_alike(each)]) for each in self.findings if _alike(each) in was]
        new = set(self.changes).difference(before.changes)
        sooner = any(change.family == "spring" and change.size < 0.0 for change in new)
        return {f: own for f, own in stay if f.margin < own.margin - _AS_IT_WAS or (sooner and f.low)}

    @property
    def nearness(self) -> tuple[tuple[int, int], Disturbance]:
        return self.counts, disturbance(self.changes)


def _roughly_mm(route: Route, at: int) -> float:
    """How far off a pulley may sit, any way, until a gap or a wrap that is well falls short; good to rank by.

    Source: geometry, to first order: a gap changes by no more than the step, and a span turns by the step across it
    over its length.
    """
    turn = route.loop.direction / route.loop.span[:, None]
    turns = {at - 1: turn[at - 1], at: turn[at - 1] + turn[at], (at + 1) % len(turn): turn[at]}
    rooms = [gap.value_mm - gap.bound.limit for gap in gaps_beside(route, at)]
    for i, turned in turns.items():
        if (by := float(norm(turned))) > 0.0:
            spare = float(route.loop.wrap[i]) - radians(minimum_wrap(route.layout, route.pulleys[i]).limit)
            rooms.append(spare / by)
    return min((room for room in rooms if room > 0.0), default=inf)


_AS_IT_WAS = 0.01
"""A hundredth of its limit makes no caution another: common practice, no source."""


def _alike(finding: Finding) -> tuple[object, ...]:
    """What makes a caution the same as one before a change, told against the same kind of limit."""
    condition = "low" if finding.low else finding.condition
    return issue_of(finding), finding.severity, condition, finding.margin < 0.0


def counts_of(findings: Sequence[Finding]) -> tuple[int, int]:
    found = [finding.severity for finding in findings]
    return found.count("problem"), found.count("caution")


def issues_of(findings: Sequence[Finding], *severities: Severity) -> frozenset[Issue]:
    """Findings by check and subject; of all severities where none is named."""
    told = (finding for finding in findings if not severities or finding.severity in severities)
    return frozenset().union(*map(issues_in, told))


def issues_in(finding: Finding) -> frozenset[Issue]:
    """The same by every pulley where several slip for one cause."""
    check, subject = issue_of(finding)
    names = finding.parts if check == SLIP.name else ()
    return frozenset((check, name) for name in names or (subject,))


def issue_of(finding: Finding) -> Issue:
    """What a finding is about, to know it again after a change: an idler more splits a span that is pulled too much."""
    if finding.check == SPAN_TENSION.name:
        return finding.check, "too much" if finding.limit else "slack"
    return (SLIP.name if finding.check in SLIPS else finding.check, finding.subject)


def untried(plan: Plan) -> Trial:
    return _told((), plan.route, plan.operation, plan.findings)


def _told(changes: Changes, route: Route, operation: Operation | None, findings: Sequence[Finding]) -> Trial:
    serious = tuple(finding for finding in findings if finding.severity != "note")
    names = [pulley.name for pulley in route.pulleys]
    wet = dict(zip(names, wet_utilisation(route, operation).tolist(), strict=True))
    return Trial(changes, route.layout, serious, route.designation, wet, route=route)


Most = tuple[float, float]
"""Problems and cautions: of a trial that comes to more it need not be known what else there is."""


def trial_of(changes: Changes, layout: Layout, most: Most = (inf, inf)) -> Trial | None:
    """Make changes and judge, as `_trial_on`; None where there is no belt path then."""
    (route,) = routes_of([applied(changes, layout)])
    return None if route is None else _trial_on(changes, route, most)


def _trial_on(changes: Changes, route: Route, most: Most = (inf, inf)) -> Trial:
    """Judge the route that changes make.

    Where the layout names a belt and that does not go on any more, the best stock belt that does is one change more.
    """
    if route.named_outside and not any(change.family == "belt" for change in changes):
        belt = _freed(route)
        if belt is not None:
            changes = (*changes, belt)
            route = over(route, belt.applied(route.layout))
    running = cache(lambda: operation_of(route))
    found: list[Finding] = []
    for some in answers(route, running, notes=False):
        found += some
        if counts_of(found) > most:
            return replace(_told(changes, route, None, found), whole=False)
    return _told(changes, route, running(), in_order(with_agreeing_advice(found)))


def _freed(route: Route) -> Change | None:
    best = over(route, replace(route.layout, belt=replace(route.layout.belt, length_mm=None))).judged
    return None if best is None else other_belt(best.belt, abs(best.line_mm - route.length_mm))


TO_JUDGE = 3
"""Judging one layout is about so many times the work of screening a pool."""


@dataclass(frozen=True)
class Judge:
    """What changes of a layout come to, each judged once, and anew where too little is known of it by then."""

    layout: Layout
    done: Callable[[int], None]
    routes: dict[Changes, Route | None] = field(default_factory=dict)
    known: dict[Changes, Trial | None] = field(default_factory=dict)

    def lay(self, every: Iterable[Changes]) -> None:
        """Lay all their belts at once, which is quicker than one by one."""
        new = [changes for changes in dict.fromkeys(every) if changes not in self.routes]
        self.routes.update(zip(new, routes_of([applied(changes, self.layout) for changes in new]), strict=True))

    def __call__(self, changes: Changes, most: Most = (inf, inf)) -> Trial | None:
        known = self.known.get(changes)
        if changes not in self.known or (known is not None and not known.whole and known.counts <= most):
            self.done(TO_JUDGE)
            self.lay([changes])
            route = self.routes[changes]
            self.known[changes] = None if route is None else _trial_on(changes, route, most)
        return self.known[changes]
