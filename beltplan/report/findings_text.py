"""Findings as a report tells them: by what to do, worst first, each with its severity, its sources under letters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.report.screen import Block, Footnotes, Paragraph, in_units

_LEAD = " " * 11


def findings_blocks(findings: Sequence[Finding], notes: Footnotes, head: str = "TO DO") -> list[Block]:
    """The findings under a head, worst first; those of one advice stand together, before it. `notes` takes sources."""
    if not findings:
        return [f"{head}  nothing"]
    return [head, *(block for group in grouped(findings) for block in _group(group, notes))]


def grouped(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Those of one advice together, where the first of them stands; one without advice stands alone. What is asked of
    the whole file comes first.
    """
    groups: dict[object, list[Finding]] = {}
    for finding in sorted(findings, key=lambda each: not each.asks_first):
        groups.setdefault(finding.advice or finding, []).append(finding)
    return list(groups.values())


def _group(findings: Sequence[Finding], notes: Footnotes) -> Iterator[Paragraph]:
    for finding in findings:
        yield Paragraph(f"{finding.about} {notes.mark(finding.source)}", f"  {finding.severity:8} ", _LEAD + "  ")
    if findings[0].advice:
        yield Paragraph(findings[0].advice, _LEAD)


def in_units_of(layout: Layout, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings with their lengths in the layout's units, for a picture."""
    told = [(in_units(each.wrong, layout.units), in_units(each.advice, layout.units)) for each in findings]
    return tuple(replace(each, wrong=a, advice=b) for each, (a, b) in zip(findings, told, strict=True))
