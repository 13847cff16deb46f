"""The list of findings under a drawing: numbered as the marks are, problems first, notes last."""

from __future__ import annotations

from beltplan.checks.finding import Finding
from beltplan.plots.marks import MARK_PT, Mark, mark_items
from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.scene import Item
from beltplan.plots.sheet import LINE_FACTOR, Paragraph, column, height_pt

TEXT_PT = 9.5
INDENT_PT = 24.0
BEFORE_PT = 4.0


def findings_height_pt(findings: tuple[Finding, ...], marks: tuple[Mark, ...], width_pt: float) -> float:
    """Height of the list set to a width."""
    rows = _rows(findings, marks)
    return sum(_row_height(paragraph, width_pt) for _, paragraph in rows)


def findings_items(
    findings: tuple[Finding, ...], marks: tuple[Mark, ...], left: float, top: float, width_pt: float, unit_pt: float
) -> list[Item]:
    """The list from a top left corner."""
    items: list[Item] = []
    y = top
    for mark, paragraph in _rows(findings, marks):
        start = y - BEFORE_PT / unit_pt
        labels = column((paragraph,), left + INDENT_PT / unit_pt, start, width_pt - INDENT_PT, unit_pt)
        if mark is not None:
            middle = start - 0.5 * LINE_FACTOR * TEXT_PT / unit_pt
            items += mark_items(mark, (left + 0.5 * MARK_PT / unit_pt, middle), unit_pt, f"list {mark.number}")
        items += labels
        y -= _row_height(paragraph, width_pt) / unit_pt
    return items


def _rows(findings: tuple[Finding, ...], marks: tuple[Mark, ...]) -> list[tuple[Mark | None, Paragraph]]:
    marked: list[tuple[Mark | None, Paragraph]] = [
        (mark, Paragraph(_words(mark.finding), TEXT_PT, INK, name=f"finding {mark.number}")) for mark in marks
    ]
    notes = [f for f in findings if f.severity == "note"]
    return marked + [(None, Paragraph(f"note: {_words(note)}", TEXT_PT, SOFT_INK, name="note")) for note in notes]


def _words(finding: Finding) -> str:
    # The message of a gap between two parts already begins with the first; any other may begin with a word like a name.
    first, between, _ = finding.subject.partition(" / ")
    begun = between != "" and finding.message.startswith(f"{first} ")
    return finding.message if begun else f"{finding.subject}: {finding.message}"


def _row_height(paragraph: Paragraph, width_pt: float) -> float:
    lines = height_pt((paragraph,), width_pt - INDENT_PT)
    return BEFORE_PT + max(lines, MARK_PT - BEFORE_PT)
