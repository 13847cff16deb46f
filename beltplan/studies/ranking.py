"""The one rule by which layouts are ranked, and the margin that it looks at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.belts.route import Route
from beltplan.checks.clearance import Gap
from beltplan.checks.finding import Finding
from beltplan.checks.limits import Bound, demanded
from beltplan.checks.wrap import least_wrap
from beltplan.tension.operation import Operation
from beltplan.tension.worst import worst_point

RULE = (
    "fewest problems, then fewest cautions, then the largest worst margin, then the order given; a layout without a "
    "belt path comes last. The worst margin is the smallest distance to a limit, as a share of that limit, over every "
    "wrap, every slip use when wet, and every clearance, as far as they are known"
)
"""The rule in words, for whoever reads a ranking."""
MARGIN_DIGITS = 6
"""Margins are compared to this many decimals: rounding in the arithmetic decides no rank."""


@dataclass(frozen=True)
class Margin:
    """Distance to a limit on the good side as a share of it; negative beyond it, -infinite where a strand is slack.

    of: 'wrap', 'slip when wet' or 'clearance'. where: the pulley, or the two parts.
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
    every = [*_wraps(route), *_clearances(gaps)]
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
    return [] if bound is None or not bound.limit else [Margin(bound.margin(value, bound.limit), of, where)]
