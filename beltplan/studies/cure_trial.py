"""Changes tried out: the changed layout, judged by the same checks as any other."""

from __future__ import annotations

from dataclasses import dataclass, replace

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route, route_of
from beltplan.belts.routing import NoBeltPath
from beltplan.checks.every_check import findings_of
from beltplan.checks.finding import Finding
from beltplan.studies.cure_belt import OtherBelt
from beltplan.studies.cure_change import Changes, applied, disturbance
from beltplan.tension.operation import operation_of

Problem = tuple[str, str]


@dataclass(frozen=True, eq=False)
class Trial:
    """Changes, and what the changed layout comes to. problems: (check, subject) of each that is left."""

    changes: Changes
    layout: Layout
    problems: frozenset[Problem]
    counts: tuple[int, int]

    @property
    def cured(self) -> bool:
        """Whether no problem is left."""
        return self.counts[0] == 0

    @property
    def nearness(self) -> tuple[tuple[int, int], tuple[int, tuple[int, ...], float]]:
        """What trials are compared by where none is a cure: problems, cautions, disturbance."""
        return self.counts, disturbance(self.changes)


def problems_of(findings: tuple[Finding, ...]) -> frozenset[Problem]:
    """The problems among findings, by check and subject."""
    return frozenset((finding.check, finding.subject) for finding in findings if finding.severity == "problem")


def trial_of(changes: Changes, layout: Layout) -> Trial | None:
    """Make changes and judge; None where there is no belt path then.

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
    findings = findings_of(route, operation_of(route))
    counts = (sum(f.severity == "problem" for f in findings), sum(f.severity == "caution" for f in findings))
    return Trial(changes, changed, problems_of(findings), counts)


def _freed(route: Route) -> OtherBelt | None:
    """The best belt where the named one does not go on, None where none does."""
    free = route_of(replace(route.layout, belt=replace(route.layout.belt, length_mm=None)))
    best = free.judged
    return None if best is None else OtherBelt(best.belt, round(abs(best.line_mm - route.length_mm), 3))
