"""Layouts side by side: what each comes to, how far from its limits, and the one rule by which they are ranked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.checks.clearance import Gap, gaps_of, smallest_gap
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Bound, Finding, Severity, demanded
from beltplan.checks.pulleys import least_wrap
from beltplan.drive.fit import share_missing
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import Condition
from beltplan.drive.operation import Operation, WorstPoint, operation_of, worst_point
from beltplan.drive.route import NoBeltPath, PathFault, Route, ratios, route_of

RULE = (
    "fewest problems, then fewest cautions, then the largest worst margin, then the order given; a layout without a "
    "belt path comes last. The worst margin is the smallest distance to a limit, as a share of that limit, over every "
    "wrap, every slip use when wet, and every clearance, as far as they are known; what the belt lacks of its reserves "
    "counts too, as a share of its window"
)
"""The rule in words, for whoever reads a ranking."""
MARGIN_DIGITS = 6
"""Margins are compared to this many decimals: rounding in the arithmetic decides no rank."""


@dataclass(frozen=True)
class Margin:
    """Distance to a limit on the good side as a share of it; negative beyond it, -infinite where a strand is slack.

    of: 'wrap', 'slip when wet', 'clearance' or 'reserve'. where: the pulley, the two parts, or the belt.
    """

    share: float
    of: str
    where: str


@dataclass(frozen=True)
class Standing:
    """What a layout is ranked by. margin: its worst margin's share, None where nothing has one."""

    problems: int
    cautions: int
    margin: float | None


def standing_of(findings: Sequence[Finding], margin: Margin | None) -> Standing:
    """Counts the findings; notes do not count."""
    problems, cautions = (sum(f.severity == severity for f in findings) for severity in ("problem", "caution"))
    return Standing(problems, cautions, None if margin is None else margin.share)


def order_of(standings: Sequence[Standing | None]) -> tuple[int, ...]:
    """Indices, best first, by `RULE`. None stands for a layout without a belt path."""
    return tuple(sorted(range(len(standings)), key=lambda i: _key(standings[i])))


def ranks_of(standings: Sequence[Standing | None]) -> tuple[int, ...]:
    """Rank of each, 1 the best. What only the order given tells apart shares a rank, and the next is left out."""
    keys = [_key(standing) for standing in standings]
    return tuple(1 + sum(other < own for other in keys) for own in keys)


def _key(standing: Standing | None) -> tuple[float, ...]:
    if standing is None:
        return (math.inf, 0.0, 0.0)
    margin = -math.inf if standing.margin is None else round(standing.margin, MARGIN_DIGITS)
    return (standing.problems, standing.cautions, -margin)


def worst_margin(route: Route, operation: Operation | None, gaps: Sequence[Gap]) -> Margin | None:
    """The smallest of all margins, as `RULE` says; None where nothing has a limit.

    A limit of 0 has no share and is left out. Without an operation, or without loads, slip is left out.
    """
    every = [*_wraps(route), *_clearances(gaps), *_lacking(route)]
    if operation is not None and operation.carries_load:
        every += _slips(operation)
    return min(every, key=lambda margin: margin.share, default=None)


def _wraps(route: Route) -> list[Margin]:
    wraps = zip(route.pulleys, np.degrees(route.loop.wrap), strict=True)
    return [
        margin
        for pulley, wrap in wraps
        for margin in _margin(float(wrap), least_wrap(route.layout, pulley), "wrap", pulley.name)
    ]


def _clearances(gaps: Sequence[Gap]) -> list[Margin]:
    return [margin for gap in gaps for margin in _margin(gap.value_mm, gap.bound, "clearance", gap.subject)]


def _lacking(route: Route) -> list[Margin]:
    fitted, window = route.judged, route.window
    if fitted is None or window is None or fitted.reserve_mm >= 0.0:
        return []
    share = float(share_missing(fitted.reserve_mm, window.shortest, window.longest))
    return [Margin(share, "reserve", fitted.designation)]


def _slips(operation: Operation) -> list[Margin]:
    return [
        margin
        for i, pulley in enumerate(operation.route.pulleys)
        for margin in _margin(
            worst_point(operation, operation.use, i, "wet").use,
            demanded(operation.route.layout, "max_slip_use", (pulley.name, pulley.role)),
            "slip when wet",
            pulley.name,
        )
    ]


def _margin(value: float, bound: Bound | None, of: str, where: str) -> list[Margin]:
    return [] if bound is None or not bound.limit else [Margin(float(bound.margin(value)), of, where)]


# Layouts side by side: what each comes to, how far it is from its limits, and which is best.


@dataclass(frozen=True)
class Wrap:
    """The wrap that is least over its limit: over_deg is negative where it is under."""

    pulley: str
    wrap_deg: float
    least_deg: float

    @property
    def over_deg(self) -> float:
        """Degrees over what the pulley needs."""
        return self.wrap_deg - self.least_deg


@dataclass(frozen=True)
class ShaftSpeed:
    """How fast a pulley turns with the engine at idle and at its most; None where the layout does not say."""

    pulley: str
    idle_rpm: float | None
    max_rpm: float | None


@dataclass(frozen=True)
class HubPull:
    """The largest pull on any hub, running or stopped, N."""

    pulley: str
    load_N: float


@dataclass(frozen=True, eq=False)
class Judged:
    """A layout with a belt path, and everything that is compared.

    operation: None where tensions cannot be computed; then dry, wet and hub are None too. dry, wet: the highest slip
    use of any pulley, None without loads. gap: the smallest of all clearances.
    """

    route: Route
    operation: Operation | None
    findings: tuple[Finding, ...]
    wrap: Wrap | None
    dry: WorstPoint | None
    wet: WorstPoint | None
    alternators: tuple[ShaftSpeed, ...]
    hub: HubPull | None
    gap: Gap | None
    margin: Margin | None

    @property
    def standing(self) -> Standing:
        """What it is ranked by."""
        return standing_of(self.findings, self.margin)

    def count(self, severity: Severity) -> int:
        """How many findings there are of a severity."""
        return sum(finding.severity == severity for finding in self.findings)


@dataclass(frozen=True, eq=False)
class Column:
    """One layout of a comparison. outcome: what it comes to, or why there is no belt path."""

    name: str
    layout: Layout
    outcome: Judged | tuple[PathFault, ...]

    @property
    def judged(self) -> Judged | None:
        """What it comes to, None where there is no belt path."""
        return self.outcome if isinstance(self.outcome, Judged) else None

    @property
    def refusal(self) -> tuple[PathFault, ...]:
        """Why there is no belt path, empty where there is one."""
        return () if isinstance(self.outcome, Judged) else self.outcome


@dataclass(frozen=True, eq=False)
class Comparison:
    """Columns in the order given. order: their indices, best first. ranks: of each column, 1 the best, ties alike."""

    columns: tuple[Column, ...]
    order: tuple[int, ...]
    ranks: tuple[int, ...]

    @property
    def best(self) -> Column:
        """The column ranked first."""
        return self.columns[self.order[0]]

    @property
    def shared(self) -> tuple[Finding, ...]:
        """Findings that every judged column has in the same words; none where only one is judged."""
        judged = [column.judged for column in self.columns if column.judged is not None]
        if len(judged) < 2:
            return ()
        others = [set(map(_words, each.findings)) for each in judged[1:]]
        return tuple(f for f in judged[0].findings if all(_words(f) in found for found in others))

    def own(self, column: Column) -> tuple[Finding, ...]:
        """Findings of a column that are not shared by all."""
        shared = set(map(_words, self.shared))
        return () if column.judged is None else tuple(f for f in column.judged.findings if _words(f) not in shared)


def _words(finding: Finding) -> tuple[str, str, str, str]:
    return (finding.check, finding.severity, finding.subject, finding.message)


def compare(named: Sequence[tuple[str, Layout]]) -> Comparison:
    """Judge every layout, each with its name, and rank them by `ranking.RULE`."""
    columns = tuple(Column(name, layout, _outcome(layout)) for name, layout in named)
    standings = [None if column.judged is None else column.judged.standing for column in columns]
    return Comparison(columns, order_of(standings), ranks_of(standings))


def _outcome(layout: Layout) -> Judged | tuple[PathFault, ...]:
    try:
        return judge_layout(layout)
    except NoBeltPath as refusal:
        return refusal.faults


def judge_layout(layout: Layout) -> Judged:
    """One layout with everything that is compared. Raises NoBeltPath."""
    route = route_of(layout)
    operation, gaps = operation_of(route), gaps_of(route)
    return Judged(
        route,
        operation,
        findings_of(route, operation),
        _least_wrap(route),
        _most_use(operation, "dry"),
        _most_use(operation, "wet"),
        _alternators(route),
        None if operation is None else _largest_pull(operation),
        smallest_gap(gaps),
        worst_margin(route, operation, gaps),
    )


def _least_wrap(route: Route) -> Wrap | None:
    bounds = [least_wrap(route.layout, pulley) for pulley in route.pulleys]
    wraps = [
        Wrap(pulley.name, float(wrap), bound.limit)
        for pulley, wrap, bound in zip(route.pulleys, np.degrees(route.loop.wrap), bounds, strict=True)
        if bound is not None
    ]
    return min(wraps, key=lambda wrap: wrap.over_deg, default=None)


def _most_use(operation: Operation | None, condition: Condition) -> WorstPoint | None:
    if operation is None or not operation.carries_load:
        return None
    points = [worst_point(operation, operation.use, i, condition) for i in range(len(operation.route.pulleys))]
    return max(points, key=lambda point: point.use)


def _alternators(route: Route) -> tuple[ShaftSpeed, ...]:
    engine = route.layout.engine
    return tuple(
        ShaftSpeed(pulley.name, _times(engine.idle_rpm, ratio), _times(engine.max_rpm, ratio))
        for pulley, ratio in zip(route.pulleys, ratios(route), strict=True)
        if pulley.role == "alternator"
    )


def _times(rpm: float | None, ratio: float) -> float | None:
    return None if rpm is None else float(rpm * ratio)


def _largest_pull(operation: Operation) -> HubPull:
    stopped = np.hypot(*np.moveaxis(operation.stopped.hub_load_N, -1, 0))
    most = np.maximum(operation.hub_size_N.max(axis=(0, 1)), stopped)
    index = int(np.argmax(most))
    return HubPull(operation.route.pulleys[index].name, float(most[index]))
