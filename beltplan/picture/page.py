"""The page round a drawing: lines of text over and under it, numbered marks, and the list of findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
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
    Scene,
    Shape,
    Stroke,
    box_round,
    text_width_pt,
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


def extent(items: list[Item], unit_pt: float) -> Box:
    """The box round everything drawn, scene units."""
    return box_round(np.array([_box(item, unit_pt) for item in items]).reshape(-1, 2))


def _box(item: Item, unit_pt: float) -> Box:
    if isinstance(item, Label):
        return item.box(unit_pt)
    if isinstance(item, Raster):
        return item.box
    return box_round(item.points if isinstance(item, Stroke) else item.rings[0])


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


def marks_after(line: Label, marks: Iterable[Mark], unit_pt: float, name: str) -> list[Item]:
    """Marks side by side after the end of a line of text."""
    step = MARK_PT / unit_pt
    x, y = line.box(unit_pt)[2] + 0.7 * step, line.at[1] + 0.36 * line.size_pt / unit_pt
    return [item for i, mark in enumerate(marks) for item in mark_items(mark, (x + i * step, y), unit_pt, name)]


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


def _rows(findings: tuple[Finding, ...], marks: tuple[Mark, ...]) -> list[tuple[Mark | None, Paragraph]]:
    marked: list[tuple[Mark | None, Paragraph]] = [
        (mark, Paragraph(_words(mark.finding), _TEXT_PT, INK, name=f"finding {mark.number}")) for mark in marks
    ]
    notes = [f for f in findings if f.severity == "note"]
    return marked + [(None, Paragraph(f"note: {_words(note)}", _TEXT_PT, SOFT_INK, name="note")) for note in notes]


def _words(finding: Finding) -> str:
    return f"{finding.about}: {finding.advice}" if finding.advice else finding.about


def _row_height(paragraph: Paragraph, width_pt: float) -> float:
    lines = height_pt((paragraph,), width_pt - _INDENT_PT)
    return _BEFORE_PT + max(lines, MARK_PT - _BEFORE_PT)


# A page: blocks set one under the other, over and under a drawing.

WIDTH_PT = 800.0
MARGIN_PT = 28.0
INSIDE_PT = WIDTH_PT - 2.0 * MARGIN_PT
AIR_PT = 16.0
_ROW_PT, _ENTRY_GAP_PT = 21.0, 18.0
_LEGEND_PT = 9.0
_SYMBOL_PT, _SYMBOL_GAP_PT = 30.0, 5.0

Symbol = Callable[[Floats, float], list[Item]]
"""Draws a symbol round a point, given the scene units of a point."""


@dataclass(frozen=True)
class Entry:
    """A symbol and what it stands for, in a legend. symbol_pt: its width."""

    text: str
    symbol: Symbol
    symbol_pt: float = _SYMBOL_PT

    @property
    def width_pt(self) -> float:
        """Width with its text."""
        return self.symbol_pt + _SYMBOL_GAP_PT + text_width_pt(self.text, _LEGEND_PT)


class Page:
    """Blocks set one under the other from a top left corner. y: where the next one begins, scene units."""

    def __init__(self, left: float, top: float, width_pt: float, unit_pt: float) -> None:
        self.left, self.y, self.width_pt, self.unit_pt = left, top, width_pt, unit_pt
        self.items: list[Item] = []

    def skip(self, room_pt: float) -> None:
        """Leave room."""
        self.y -= room_pt / self.unit_pt

    def rule(self, width_pt: float | None = None) -> None:
        """A thin line across the page."""
        right = self.left + (self.width_pt if width_pt is None else width_pt) / self.unit_pt
        self.items.append(Stroke(np.array([(self.left, self.y), (right, self.y)]), HAIRLINE, "rule"))

    def text(self, *paragraphs: Paragraph) -> None:
        """Paragraphs."""
        self.items += column(paragraphs, self.left, self.y, self.width_pt, self.unit_pt)
        self.skip(height_pt(paragraphs, self.width_pt))

    def legend(self, entries: Sequence[Entry]) -> None:
        """Symbols with their words, side by side in rows."""
        pt, x, row = 1.0 / self.unit_pt, 0.0, 0
        for entry in entries:
            if x > 0.0 and x + entry.width_pt > self.width_pt:
                x, row = 0.0, row + 1
            middle = np.array((self.left + (x + 0.5 * entry.symbol_pt) * pt, self.y - (row + 0.5) * _ROW_PT * pt))
            self.items += entry.symbol(middle, pt)
            words_x = self.left + (x + entry.symbol_pt + _SYMBOL_GAP_PT) * pt
            at = (words_x, float(middle[1]) - 0.36 * _LEGEND_PT * pt)
            self.items.append(Label(entry.text, at, _LEGEND_PT, SOFT_INK, name="legend"))
            x += entry.width_pt + _ENTRY_GAP_PT
        self.skip((row + 1) * _ROW_PT)

    def findings(self, findings: tuple[Finding, ...], marks: tuple[Mark, ...]) -> None:
        """What was found, numbered as the marks are, problems first, notes last."""
        pt = 1.0 / self.unit_pt
        for mark, paragraph in _rows(findings, marks):
            start = self.y - _BEFORE_PT * pt
            if mark is not None:
                at = (self.left + 0.5 * MARK_PT * pt, start - 0.5 * _LINE_FACTOR * _TEXT_PT * pt)
                self.items += mark_items(mark, at, self.unit_pt, f"list {mark.number}")
            indented, width_pt = self.left + _INDENT_PT * pt, self.width_pt - _INDENT_PT
            self.items += column((paragraph,), indented, start, width_pt, self.unit_pt)
            self.skip(_row_height(paragraph, self.width_pt))


def edges_of(box: Box, unit_pt: float) -> tuple[float, float]:
    """Left and right edge of what stands inside the margins of a page round a drawing, scene units."""
    half, middle = 0.5 * INSIDE_PT / unit_pt, 0.5 * (box[0] + box[2])
    return middle - half, middle + half


def page_round(
    drawing: list[Item], head: tuple[Paragraph, ...], foot: Callable[[Page], None], edges: Point, unit_pt: float
) -> Scene:
    """A whole page: words over a drawing, and under it what `foot` sets. edges: as in `edges_of`."""
    reach, margin = extent(drawing, unit_pt), MARGIN_PT / unit_pt
    top = reach[3] + (height_pt(head, INSIDE_PT) + AIR_PT) / unit_pt
    page = Page(edges[0], top, INSIDE_PT, unit_pt)
    page.text(*head)
    page.y = reach[1] - AIR_PT / unit_pt
    foot(page)
    frame = (edges[0] - margin, page.y - margin, edges[1] + margin, top + margin)
    return Scene(frame, unit_pt, (*drawing, *page.items))
