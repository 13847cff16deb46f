"""Findings as a report tells them: worst first, each with its severity, its sources under letters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.report.screen import Block, Footnotes, Paragraph, in_units
from beltplan.report.words import paragraph


def findings_blocks(findings: Sequence[Finding], notes: Footnotes, head: str = "TO DO") -> list[Block]:
    """The findings under a head; `notes` takes their sources."""
    if not findings:
        return [f"{head}  nothing"]
    return [head, *_each(findings, notes)]


def in_units_of(layout: Layout, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings with their lengths in the layout's units, for a picture."""
    return tuple(replace(finding, message=in_units(finding.message, layout.units)) for finding in findings)


def _each(findings: Sequence[Finding], notes: Footnotes) -> Iterator[Paragraph]:
    for finding in findings:
        text = f"{finding.subject}: {finding.message} {notes.mark(finding.source)}"
        yield Paragraph(text, f"  {finding.severity:8} ")


def findings_lines(findings: tuple[Finding, ...], head: str = "FINDINGS") -> list[str]:
    """The findings under a head, each with its number, limit and source beside it."""
    if not findings:
        return [f"{head}  none"]
    lines = [head]
    for finding in findings:
        source = f" [{_limit_words(finding)}{finding.source}]"
        lines += paragraph(f"{finding.subject}: {finding.message}{source}", f"  {finding.severity.upper():8} ")
    return lines


def _limit_words(finding: Finding) -> str:
    if finding.limit is None:
        return ""
    return f"limit {finding.limit:g} {finding.unit}; " if finding.limit == round(finding.limit, 3) else ""
