"""Changes tried out: the changed layout, judged by the same checks as any other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route, route_of
from beltplan.belts.routing import NoBeltPath
from beltplan.checks.every_check import findings_of
from beltplan.checks.finding import Finding, Severity
from beltplan.studies.compare import Judged
from beltplan.studies.cure_belt import OtherBelt
from beltplan.studies.cure_change import Changes, Disturbance, applied, disturbance
from beltplan.studies.cure_screen import wet_use
from beltplan.tension.operation import Operation, operation_of

Issue = tuple[str, str]
"""A finding by its check and its subject."""


@dataclass(frozen=True, eq=False)
class Trial:
    """Changes, and what the changed layout comes to.

    findings: its problems and cautions. belt: its designation. wet_use: highest slip use in the wet, by pulley; 0 where
    it is not known.
    """

    changes: Changes
    layout: Layout
    findings: tuple[Finding, ...]
    belt: str | None = None
    wet_use: Mapping[str, float] = field(default_factory=dict)

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
        """Whether no problem is left; where there was none, whether there are fewer cautions too."""
        return not self.problems and (bool(before.problems) or self.counts < before.counts)

    @property
    def nearness(self) -> tuple[tuple[int, int], Disturbance]:
        """What trials are compared by: problems, cautions left and made, disturbance."""
        return self.counts, disturbance(self.changes)


def issues_of(findings: Sequence[Finding], *severities: Severity) -> frozenset[Issue]:
    """Findings by check and subject; of all severities where none is named."""
    return frozenset((f.check, f.subject) for f in findings if not severities or f.severity in severities)


def untried(judged: Judged) -> Trial:
    """What a layout comes to before any change."""
    return _told((), judged.route, judged.operation, judged.findings)


def _told(changes: Changes, route: Route, operation: Operation | None, findings: Sequence[Finding]) -> Trial:
    serious = tuple(finding for finding in findings if finding.severity != "note")
    uses = zip(route.pulleys, wet_use(route, operation), strict=True)
    return Trial(changes, route.layout, serious, route.designation, {pulley.name: float(use) for pulley, use in uses})


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
    operation = operation_of(route)
    return _told(changes, route, operation, findings_of(route, operation))


def _freed(route: Route) -> OtherBelt | None:
    """The best belt where the named one does not go on, None where none does."""
    free = route_of(replace(route.layout, belt=replace(route.layout.belt, length_mm=None)))
    best = free.judged
    return None if best is None else OtherBelt(best.belt, round(abs(best.line_mm - route.length_mm), 3))
