"""The page round a drawing: lines of text over and under it, numbered marks, and the list of findings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.limits import Finding, Severity
from beltplan.geometry.vectors import Floats, from_angle
from beltplan.picture.scene import (
    CAUTION,
    HAIRLINE,
    INK,
    PAPER,
    PROBLEM,
    SOFT_INK,
    Box,
    Item,
    Label,
    Pen,
    Point,
    Raster,
    Shape,
    Stroke,
    wrapped,
)

_LINE_FACTOR = 1.35


@dataclass(frozen=True)
class Paragraph:
    """Text that may need more than one line. before_pt: room left over it."""

    text: str
    size_pt: float
    colour: str
    bold: bool = False
    before_pt: float = 0.0
    name: str = ""


def height_pt(paragraphs: tuple[Paragraph, ...], width_pt: float) -> float:
    """Height of paragraphs set to a width, points."""
    return sum(
        p.before_pt + _LINE_FACTOR * p.size_pt * len(wrapped(p.text, width_pt, p.size_pt, p.bold)) for p in paragraphs
    )


def column(paragraphs: tuple[Paragraph, ...], left: float, top: float, width_pt: float, unit_pt: float) -> list[Label]:
    """Paragraphs set one under the other from a top left corner, scene units."""
    labels: list[Label] = []
    y = top
    for p in paragraphs:
        y -= p.before_pt / unit_pt
        for text in wrapped(p.text, width_pt, p.size_pt, p.bold):
            y -= _LINE_FACTOR * p.size_pt / unit_pt
            at = (left, y + 0.32 * p.size_pt / unit_pt)
            labels.append(Label(text, at, p.size_pt, p.colour, p.bold, name=p.name))
    return labels


def flowed(widths_pt: tuple[float, ...], room_pt: float, gap_pt: float) -> tuple[tuple[float, int], ...]:
    """Place of entries set side by side in rows: (points from the left edge, row) of each."""
    places: list[tuple[float, int]] = []
    x, row = 0.0, 0
    for width in widths_pt:
        if x > 0.0 and x + width > room_pt:
            x, row = 0.0, row + 1
        places.append((x, row))
        x += width + gap_pt
    return tuple(places)


def rule(left: float, y: float, width: float) -> Stroke:
    """A thin line across the sheet, scene units."""
    return Stroke(np.array([(left, y), (left + width, y)]), HAIRLINE, "rule")


def extent(items: list[Item], unit_pt: float) -> Box:
    """The box round everything drawn, scene units."""
    boxes = [_box(item, unit_pt) for item in items]
    lows, highs = zip(*((box[:2], box[2:]) for box in boxes), strict=True)
    return (
        min(x for x, _ in lows),
        min(y for _, y in lows),
        max(x for x, _ in highs),
        max(y for _, y in highs),
    )


def _box(item: Item, unit_pt: float) -> Box:
    if isinstance(item, Label):
        return item.box(unit_pt)
    if isinstance(item, Raster):
        return item.box
    points = item.points if isinstance(item, Stroke) else item.rings[0]
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return (float(x0), float(y0), float(x1), float(y1))


# Numbered marks for findings: a dark octagon for a problem, a light diamond for a caution.

MARK_PT = 18.5
"""Room that one mark needs, either way."""
NUMBER_PT = 8.0
_CORNERS = {"problem": 8, "caution": 4}


@dataclass(frozen=True)
class Mark:
    """A finding with the number by which the picture calls it."""

    number: int
    finding: Finding


def marks_of(findings: tuple[Finding, ...]) -> tuple[Mark, ...]:
    """Problems, then cautions, numbered from 1; notes have no mark."""
    marked = [f for severity in ("problem", "caution") for f in findings if f.severity == severity]
    return tuple(Mark(number, finding) for number, finding in enumerate(marked, 1))


def marks_at(marks: tuple[Mark, ...], part: str) -> tuple[Mark, ...]:
    """The marks that belong to a pulley, span or obstacle."""
    return tuple(mark for mark in marks if part in mark.finding.parts)


def mark_items(mark: Mark, centre: Point, unit_pt: float, name: str = "") -> list[Item]:
    """One mark, centred on a point."""
    return [
        mark_shape(mark.finding.severity, centre, unit_pt, name),
        Label(
            str(mark.number),
            (centre[0], centre[1] - 0.36 * NUMBER_PT / unit_pt),
            NUMBER_PT,
            PAPER if mark.finding.severity == "problem" else INK,
            True,
            "center",
            name,
        ),
    ]


def mark_shape(severity: Severity, centre: Point | Floats, unit_pt: float, name: str = "") -> Shape:
    """The bare shape of a mark."""
    count = _CORNERS[severity]
    turn = np.pi / count if count == 8 else 0.0
    size = (7.6 if count == 8 else 9.2) / unit_pt
    corners = np.array(centre) + size * from_angle(turn + np.arange(count) * 2.0 * np.pi / count)
    return Shape((corners,), PROBLEM if severity == "problem" else CAUTION, Pen(INK, 0.8), name=name)


# The list of findings under a drawing: numbered as the marks are, problems first, notes last.

_TEXT_PT = 9.5
_INDENT_PT = 24.0
_BEFORE_PT = 4.0


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
        start = y - _BEFORE_PT / unit_pt
        labels = column((paragraph,), left + _INDENT_PT / unit_pt, start, width_pt - _INDENT_PT, unit_pt)
        if mark is not None:
            middle = start - 0.5 * _LINE_FACTOR * _TEXT_PT / unit_pt
            items += mark_items(mark, (left + 0.5 * MARK_PT / unit_pt, middle), unit_pt, f"list {mark.number}")
        items += labels
        y -= _row_height(paragraph, width_pt) / unit_pt
    return items


def _rows(findings: tuple[Finding, ...], marks: tuple[Mark, ...]) -> list[tuple[Mark | None, Paragraph]]:
    marked: list[tuple[Mark | None, Paragraph]] = [
        (mark, Paragraph(_words(mark.finding), _TEXT_PT, INK, name=f"finding {mark.number}")) for mark in marks
    ]
    notes = [f for f in findings if f.severity == "note"]
    return marked + [(None, Paragraph(f"note: {_words(note)}", _TEXT_PT, SOFT_INK, name="note")) for note in notes]


def _words(finding: Finding) -> str:
    # The message of a gap between two parts already begins with the first; any other may begin with a word like a name.
    first, between, _ = finding.subject.partition(" / ")
    begun = between != "" and finding.message.startswith(f"{first} ")
    return finding.message if begun else f"{finding.subject}: {finding.message}"


def _row_height(paragraph: Paragraph, width_pt: float) -> float:
    lines = height_pt((paragraph,), width_pt - _INDENT_PT)
    return _BEFORE_PT + max(lines, MARK_PT - _BEFORE_PT)
