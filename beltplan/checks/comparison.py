"""Layouts side by side: what each comes to, how far from its limits, and the one rule by which they are ranked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, RankKey, plan_of
from beltplan.checks.slip import condition_words
from beltplan.drive.layout import Layout
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.progress import Progress, unseen

ORDER = "fewest problems, then fewest cautions, then the largest worst margin"
WORST_MARGIN = (
    "The worst margin is the smallest distance to a limit, as a share of that limit: of every wrap, every clearance, "
    "the grip used when wet, steady or revving, and every problem that has a number. What the belt lacks of its "
    "reserves counts too, as a share of its window"
)
_CAUTIONS = "; so does every caution that has a number, where there is no problem"
RULE = f"{ORDER}, then the order given. A layout without a belt path comes last. {WORST_MARGIN}{_CAUTIONS}"
"""The rule in words, in short and in full, for whoever reads a ranking."""
MARGIN_DIGITS = 6
"""Margins are compared to this many decimals: rounding in the arithmetic decides no rank."""


def order_of(rank_keys: Sequence[RankKey | None]) -> tuple[int, ...]:
    """Indices, best first, by `RULE`. None stands for a layout without a belt path."""
    return tuple(sorted(range(len(rank_keys)), key=lambda i: _key(rank_keys[i])))


def ranks_of(rank_keys: Sequence[RankKey | None]) -> tuple[int, ...]:
    """Rank of each, 1 the best. What only the order given tells apart shares a rank, and the next is left out."""
    keys = [_key(rank_key) for rank_key in rank_keys]
    return tuple(1 + sum(other < own for other in keys) for own in keys)


def _key(rank_key: RankKey | None) -> tuple[float, ...]:
    if rank_key is None:
        return (math.inf, 0.0, 0.0)
    margin = -math.inf if rank_key.margin is None else round(rank_key.margin, MARGIN_DIGITS)
    return (rank_key.problems, rank_key.cautions, -margin)


# Layouts side by side: what each comes to, and which is best.


@dataclass(frozen=True, eq=False)
class Column:
    """One layout of a comparison. outcome: what it comes to, or why there is no belt path. mend: what would give it."""

    name: str
    layout: Layout
    outcome: Plan | tuple[PathFault, ...]
    mend: str = ""

    @property
    def plan(self) -> Plan | None:
        return self.outcome if isinstance(self.outcome, Plan) else None

    @property
    def refusal(self) -> tuple[PathFault, ...]:
        return () if isinstance(self.outcome, Plan) else self.outcome


@dataclass(frozen=True, eq=False)
class Comparison:
    """Columns in the order given. order: their indices, best first. ranks: of each column, 1 the best, ties alike."""

    columns: tuple[Column, ...]
    order: tuple[int, ...]
    ranks: tuple[int, ...]

    @property
    def best(self) -> Column:
        return self.columns[self.order[0]]

    @cached_property
    def shared(self) -> tuple[Finding, ...]:
        """Findings that every judged column has, in the words of the first, and the others' numbers where they differ;
        none where only one is judged.
        """
        judged = [(column.name, column.plan) for column in self.columns if column.plan is not None]
        if len(judged) < 2:
            return ()
        others = [(name, {about(f): f for f in plan.findings}) for name, plan in judged[1:]]
        every = (f for f in judged[0][1].findings if all(about(f) in found for _, found in others))
        return tuple(_of_all(f, [(name, found[about(f)]) for name, found in others]) for f in every)

    def own(self, column: Column) -> tuple[Finding, ...]:
        shared = set(map(about, self.shared))
        return () if column.plan is None else tuple(f for f in column.plan.findings if about(f) not in shared)


def about(finding: Finding) -> tuple[str, ...]:
    """What makes two findings one: of what they are, in which condition, against which limit, with which advice; the
    words too, where no number tells how they differ.
    """
    state = (finding.condition or "", "low" * finding.low)
    own = (finding.check, finding.severity, finding.subject, *state, str(finding.limit), "".join(finding.advised))
    return own if finding.value is not None else (*own, finding.message)


def _of_all(finding: Finding, others: Sequence[tuple[str, Finding]]) -> Finding:
    alike = all(each.amount == finding.amount for _, each in others)
    return replace(finding, wrong=finding.wrong + _where_else(finding, others), amount=finding.amount if alike else "")


def _where_else(finding: Finding, others: Sequence[tuple[str, Finding]]) -> str:
    if finding.value is None or (finding.condition is None and finding.unit.startswith("of its")):
        return ""
    unit = f" {finding.unit}" if finding.unit in ("mm", "N", "deg", "%", "% clear", "A", "V", "rpm", "m/s") else ""
    if finding.condition is not None:
        unit = f" {condition_words(finding.condition)}"
    differing = [(name, each.value) for name, each in others if each.wrong != finding.wrong]
    known = ((name, value) for name, value in differing if value is not None)
    # Of what lies as the words say beyond nothing, the size alone.
    told = [
        f"{name} {value_words(abs(value) if max(value, finding.value) < 0.0 else value)}{unit}" for name, value in known
    ]
    return f"; {', '.join(told)}" if told else ""


def value_words(value: float) -> str:
    """A finding's number, with as many digits as tell one layout from another.

    >>> value_words(1349.27), value_words(82.44), value_words(1.503)
    ('1349', '82.4', '1.50')
    """
    return f"{value:.{0 if abs(value) >= 1000.0 else 1 if abs(value) >= 10.0 else 2}f}"


def compare(named: Sequence[tuple[str, Layout]], shown: Progress = unseen) -> Comparison:
    """Judge every layout, each with its name, and rank them by `RULE`. shown: told the share of them that is judged."""
    columns: list[Column] = []
    for name, layout in named:
        columns.append(Column(name, layout, _outcome(layout)))
        shown(len(columns) / len(named))
    rank_keys = [None if column.plan is None else column.plan.rank_key for column in columns]
    return Comparison(tuple(columns), order_of(rank_keys), ranks_of(rank_keys))


def _outcome(layout: Layout) -> Plan | tuple[PathFault, ...]:
    try:
        return plan_of(layout)
    except NoBeltPath as refusal:
        return refusal.faults
