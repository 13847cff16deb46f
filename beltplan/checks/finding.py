"""A finding: what a check has to say of a layout, with the number, the limit and where the limit comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from beltplan.checks.limits import Bound

Severity = Literal["problem", "caution", "note"]
SEVERITIES: tuple[Severity, ...] = ("problem", "caution", "note")

NOT_MEASURED = -1.0
"""Margin of a finding that has no number: as bad as missing the whole limit."""


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing that the user should know.

    check: which question. subject: the pulley, strand or part it is about. value and limit in `unit`, None where the
    finding has no number. message: plain advice. source: where the limit comes from. margin: distance from the limit
    as a share of it, negative beyond it. parts: pulley, strand and obstacle names to mark in a picture.
    """

    check: str
    severity: Severity
    subject: str
    message: str
    source: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    margin: float = NOT_MEASURED
    parts: tuple[str, ...] = ()


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Findings by severity, then the worst margin, then check and subject."""
    return tuple(sorted(findings, key=lambda f: (SEVERITIES.index(f.severity), f.margin, f.check, f.subject)))


def judge(
    check: str, subject: str, value: float, bound: Bound, message: str, parts: tuple[str, ...] = ()
) -> list[Finding]:
    """The finding that a measured value deserves against its bound: none, a caution or a problem."""
    verdict = bound.verdict(value)
    if verdict is None:
        return []
    severity, limit, source = verdict
    margin = bound.margin(value, limit)
    return [Finding(check, severity, subject, message, source, value, limit, bound.unit, margin, parts)]


def plain(
    check: str, severity: Severity, subject: str, message: str, source: str, parts: tuple[str, ...] = ()
) -> Finding:
    """A finding without a number."""
    return Finding(check, severity, subject, message, source, parts=parts)
