"""How far is a layout from the limit that it comes nearest to?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.checks.clearance import Gap
from beltplan.checks.every_check import CALLED
from beltplan.checks.limits import Bound, Finding, Severity
from beltplan.checks.pulleys import minimum_wrap
from beltplan.checks.slip import grip_bound
from beltplan.drive.fit import share_missing
from beltplan.drive.operation import Operation, worst_of_all
from beltplan.drive.route import Route


@dataclass(frozen=True)
class Margin:
    """Distance to a limit on the good side as a share of it; negative beyond it, -infinite where a span is slack.

    of: 'wrap', 'slip when wet', 'slip when wet and revving', 'clearance', 'reserve', or what a problem is of.
    where: the pulley, the two parts, or the belt. of_least: whether the limit is the least that is allowed, not the
    most.
    """

    share: float
    of: str
    where: str
    of_least: bool


def found_margins(findings: Iterable[Finding], severity: Severity) -> Iterator[Margin]:
    """Those of the findings of a severity that have a number; what only asks after the file has none."""
    for f in findings:
        if f.severity == severity and f.value is not None and f.limit and not f.asks_first and not f.keys:
            of = f"{CALLED[f.check]}{', slackened' * f.low}"
            yield Margin(_to_nothing(f), of, f.subject, f.value < f.limit)


def _to_nothing(finding: Finding) -> float:
    """The margin of a finding, where what is to be had at least is less than nothing: as of nothing."""
    return max(finding.margin, -1.0) if (finding.value or 0.0) <= 0.0 else finding.margin


def worst_margin(route: Route, operation: Operation | None, gaps: Sequence[Gap]) -> Margin | None:
    """The smallest of all margins as `comparison.RULE` says; None where nothing is known.

    A limit of 0 has no share and is left out. Without an operation, or where no shaft takes torque, slip is left out.
    """
    every = [
        Margin(float(bound.margin(value)), of, where, bound.kind == "lower")
        for value, bound, of, where in _limited(route, operation, gaps)
        if bound is not None and bound.limit
    ]
    fitted, window = route.judged, route.window
    if fitted is not None and window is not None and fitted.reserve_mm < 0.0:
        every.append(Margin(float(share_missing(fitted.reserve_mm, window)), "reserve", fitted.designation, True))
    return min(every, key=lambda margin: margin.share, default=None)


def _limited(
    route: Route, operation: Operation | None, gaps: Sequence[Gap]
) -> Iterator[tuple[float, Bound | None, str, str]]:
    """Every value that has a limit: it, the limit, of what it is, and where."""
    wraps = zip(route.pulleys, np.degrees(route.loop.wrap).tolist(), strict=True)
    for pulley, wrap in wraps:
        yield wrap, minimum_wrap(route.layout, pulley), "wrap", pulley.name
    for gap in gaps:
        yield gap.value_mm, gap.bound, "clearance", gap.subject
    if operation is not None and operation.judges_grip:
        for i, pulley in enumerate(operation.route.pulleys):
            point = worst_of_all(operation, i, "wet")
            of = "slip when wet" + " and revving" * (point.when != "steady")
            yield point.utilisation, grip_bound(route.layout, pulley), of, pulley.name
