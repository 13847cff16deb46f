"""The page: blocks set one under the other in points, from paragraphs to drawings and charts; marks of findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np

from beltplan.checks.limits import Finding, Severity, begun
from beltplan.geometry.vectors import Floats, from_angle
from beltplan.picture import pens, scene
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Align, Box, Chart, Item, Label, Point, Scene, Shape, Stroke, View
from beltplan.report.answer import grouped

_WIDTH_PT = 800.0
_MARGIN_PT = 28.0
INSIDE_PT = _WIDTH_PT - 2.0 * _MARGIN_PT
MIDDLE_EM = 0.36
"""A line of letters has its middle so far over its base line."""


class Block(Protocol):
    """Something that a page sets under what it has."""

    def laid(self, left: float, top: float, width: float) -> tuple[list[Item], float]:
        """What it draws from a top left corner in a width, and where it ends."""


Laid = tuple[list[Item], float]


def stacked(blocks: Iterable[Block], left: float, top: float, width: float) -> Laid:
    items: list[Item] = []
    for block in blocks:
        own, top = block.laid(left, top, width)
        items += own
    return items, top


def page_of(title: str, under: Iterable[Block], about: str = "", pt_per_mm: float = 1.0) -> Scene:
    """A title and what stands under it. The scene's view is that of the first drawing: so many points a mm."""
    view, items, end = View(pt_per_mm), list[Item](), 0.0
    for block in (Paragraph(title, 17.0, pens.INK, True, name="title"), *under):
        if isinstance(block, Figure) and view.origin == (0.0, 0.0):
            view = View(pt_per_mm, block.shift(0.0, end, INSIDE_PT))
        own, end = block.laid(0.0, end, INSIDE_PT)
        items += own
    frame = (-_MARGIN_PT, end - _MARGIN_PT, INSIDE_PT + _MARGIN_PT, _MARGIN_PT)
    return Scene(frame, tuple(items), scene.one_line(title), scene.one_line(about), view)


def footed(shown: Scene, words: str) -> Scene:
    left, bottom, right, top = shown.frame
    foot = Paragraph(words, 8.0, pens.SOFT_INK, before_pt=3.0, name="foot")
    items, end = foot.laid(left + _MARGIN_PT, bottom + _MARGIN_PT, right - left - 2.0 * _MARGIN_PT)
    return replace(shown, frame=(left, end - _MARGIN_PT, right, top), items=(*shown.items, *items))


@dataclass(frozen=True)
class Gap:
    room_pt: float

    def laid(self, left: float, top: float, width: float) -> Laid:
        return [], top - self.room_pt


@dataclass(frozen=True)
class Rule:
    before_pt: float = 0.0
    after_pt: float = 0.0

    def laid(self, left: float, top: float, width: float) -> Laid:
        y = top - self.before_pt
        return [Stroke(np.array([(left, y), (left + width, y)]), pens.HAIRLINE, "rule")], y - self.after_pt


# Numbered marks for findings: a dark octagon for a problem, a light diamond for a caution.

MARK_PT = 18.5
"""Room that one mark needs, either way."""
_NUMBER_PT = 8.0
_CORNERS = {"problem": 8, "caution": 4}


@dataclass(frozen=True)
class Mark:
    number: int
    finding: Finding

    def drawn(self, at: Point | Floats, name: str = "") -> list[Item]:
        x, y = (float(value) for value in at)
        colour = pens.PAPER if self.finding.severity == "problem" else pens.INK
        text = Label(str(self.number), (x, y - MIDDLE_EM * _NUMBER_PT), _NUMBER_PT, colour, True, "center", name)
        return [*mark_items(self.finding.severity, at, name), text]


def marked(findings: Iterable[Finding]) -> list[Finding]:
    """What is asked of the whole file, problems, cautions, as they are numbered: those of one advice together.
    Notes have no mark.
    """
    every = tuple(findings)
    worst_first = [f for severity in ("problem", "caution") for f in every if f.severity == severity]
    return [finding for group in grouped(worst_first) for finding in group]


def marks_of(findings: Iterable[Finding]) -> tuple[Mark, ...]:
    return tuple(Mark(number, finding) for number, finding in enumerate(marked(findings), 1))


def marks_at(marks: tuple[Mark, ...], part: str) -> tuple[Mark, ...]:
    return tuple(mark for mark in marks if part in mark.finding.parts)


def mark_items(severity: Severity, centre: Point | Floats, name: str = "") -> list[Item]:
    """A mark without its number."""
    count = _CORNERS[severity]
    turn, size = (np.pi / count, 7.6) if count == 8 else (0.0, 9.2)
    corners = np.array(centre) + size * from_angle(turn + np.arange(count) * 2.0 * np.pi / count)
    return [Shape((corners,), pens.PROBLEM if severity == "problem" else pens.CAUTION, Pen(pens.INK, 0.8), name=name)]


# Words.

_LINE_FACTOR, _BASE_EM = 1.35, 0.32


@dataclass(frozen=True)
class Paragraph:
    """Text that may need more than one line. before_pt: room left over it; marks: after the end of its first line."""

    text: str
    size_pt: float
    colour: str
    bold: bool = False
    before_pt: float = 0.0
    name: str = ""
    marks: tuple[Mark, ...] = ()

    def laid(self, left: float, top: float, width: float) -> Laid:
        y, items = top - self.before_pt, list[Item]()
        for text in scene.wrapped(self.text, width - MARK_PT * len(self.marks), self.size_pt, self.bold):
            y -= _LINE_FACTOR * self.size_pt
            base = (left, y + _BASE_EM * self.size_pt)
            items.append(Label(text, base, self.size_pt, self.colour, self.bold, name=self.name))
        if self.marks:
            first = items[0]
            at = np.array((first.box[2] + 0.7 * MARK_PT, top - self.before_pt - 0.5 * _LINE_FACTOR * self.size_pt))
            for i, mark in enumerate(self.marks):
                items += mark.drawn(at + np.array((i * MARK_PT, 0.0)), f"mark {self.name}")
        return items, y


@dataclass(frozen=True)
class Led:
    """Blocks with something drawn before them: `lead` round the middle of their first line, in so much room."""

    lead: Callable[[Floats], Sequence[Item]]
    blocks: tuple[Block, ...]
    room_pt: float
    line_pt: float = MARK_PT

    def laid(self, left: float, top: float, width: float) -> Laid:
        items, end = stacked(self.blocks, left + self.room_pt, top, width - self.room_pt)
        middle = np.array((left, top - 0.5 * self.line_pt))
        return [*self.lead(middle), *items], min(end, top - self.line_pt)


# The list of findings: numbered as the marks are, problems first, notes last; those of one advice stand together.

_TEXT_PT = 9.5
_INDENT_PT, _STEP_PT = 24.0, 4.0


def findings_blocks(findings: Sequence[Finding], marks: tuple[Mark, ...]) -> list[Block]:
    numbers = {id(mark.finding): mark for mark in marks}
    told = [mark.finding for mark in marks], [each for each in findings if each.severity == "note"]
    return [block for part in told for group in grouped(part) for block in _group(group, numbers)]


def _group(group: list[Finding], numbers: dict[int, Mark]) -> list[Block]:
    alone, advice = len(group) == 1, group[0].advice
    more = f". {begun(advice)}" if alone and advice else ""
    rows = [_row(each, numbers.get(id(each)), more) for each in group]
    if alone or not advice:
        return rows
    told = Paragraph(f"For these {len(group)}: {advice}", _TEXT_PT, pens.INK, before_pt=1.0, name="advice")
    return [*rows, Led(led_by(None), (told,), _INDENT_PT, 0.0)]


def _row(finding: Finding, mark: Mark | None, more: str) -> Block:
    if mark is None:
        note = f"note: {finding.about}{more}"
        words, room = Paragraph(note, _TEXT_PT, pens.SOFT_INK, before_pt=_STEP_PT, name="note"), 0.0
    else:
        name, room = f"finding {mark.number}", MARK_PT + 1.0
        words = Paragraph(f"{finding.about}{more}", _TEXT_PT, pens.INK, before_pt=_STEP_PT, name=name)
    return Led(led_by(mark), (words,), _INDENT_PT, room)


def led_by(mark: Mark | None) -> Callable[[Floats], Sequence[Item]]:
    shift = np.array((0.5 * MARK_PT, 0.0))
    return lambda at: [] if mark is None else mark.drawn(at + shift, f"list {mark.number}")


# Symbols with their words, side by side in rows.

_LEGEND_PT = 9.0
_ROW_EM = 7.0 / 3.0
_SYMBOL_PT, _SYMBOL_GAP_PT = 30.0, 5.0

Symbol = Callable[[Floats], Sequence[Item]]
"""Draws a symbol round a point."""


@dataclass(frozen=True)
class Entry:
    """A symbol and what it stands for, in a legend. symbol_pt: its width."""

    text: str
    symbol: Symbol
    symbol_pt: float = _SYMBOL_PT


@dataclass(frozen=True)
class Legend:
    entries: tuple[Entry, ...]
    size_pt: float = _LEGEND_PT

    def laid(self, left: float, top: float, width: float) -> Laid:
        size, row = self.size_pt, self.size_pt * _ROW_EM
        items, x, y = list[Item](), left, top - 0.5 * row
        for entry in self.entries:
            words = scene.wrapped(entry.text, width - entry.symbol_pt - _SYMBOL_GAP_PT, size)
            wide = entry.symbol_pt + _SYMBOL_GAP_PT + max(scene.text_width_pt(line, size) for line in words)
            if x > left and x + wide > left + width:
                x, y = left, y - row
            items += entry.symbol(np.array((x + 0.5 * entry.symbol_pt, y)))
            for i, line in enumerate(words):
                y -= _LINE_FACTOR * size * min(i, 1)
                at = (x + entry.symbol_pt + _SYMBOL_GAP_PT, y - MIDDLE_EM * size)
                items.append(Label(line, at, size, pens.SOFT_INK, name="legend"))
            x += wide + 2.0 * size
        return items, y - 0.5 * row


def legend(entries: Sequence[Entry]) -> list[Block]:
    return [Rule(0.0, 4.0), Legend(tuple(entries)), Gap(4.0)]


# Drawings, charts, tables, and blocks side by side.


@dataclass(frozen=True, eq=False)
class Figure:
    """A drawing. box: the room that it takes, in its own points; its middle stands in the middle of the width."""

    items: Sequence[Item]
    box: Box
    air_pt: float = 16.0

    def shift(self, left: float, top: float, width: float) -> Point:
        x = left + 0.5 * width - 0.5 * (self.box[0] + self.box[2])
        return x, top - self.air_pt - self.box[3]

    def laid(self, left: float, top: float, width: float) -> Laid:
        placed = scene.seen(self.items, View(1.0, self.shift(left, top, width)))
        return placed, top - 2.0 * self.air_pt - (self.box[3] - self.box[1])


def figure(items: Sequence[Item], box: Box) -> Figure:
    """A drawing as high as what is drawn, with the middle of a box in the middle of the width."""
    _, low, _, high = scene.extent(items)
    return Figure(items, (box[0], low, box[2], high))


@dataclass(frozen=True)
class Panel:
    """A chart. room: what its own axes leave free at the left, below, at the right and above, for their words."""

    draw: Callable[[Any], None]
    height_pt: float
    room: Box
    name: str = ""

    def laid(self, left: float, top: float, width: float) -> Laid:
        over = (self.room[0], self.room[1], -self.room[2], -self.room[3])
        whole = (left, top - self.height_pt, left + width, top)
        x0, y0, x1, y1 = (edge + by for edge, by in zip(whole, over, strict=True))
        return [Chart((x0, y0, x1, y1), self.draw, self.name)], top - self.height_pt


@dataclass(frozen=True)
class Beside:
    stacks: tuple[tuple[Block, ...], ...]
    gap_pt: float = 24.0
    of: int = 0
    """How many would stand side by side in a full row; 0: as many as there are."""

    def laid(self, left: float, top: float, width: float) -> Laid:
        count = self.of or len(self.stacks)
        each = (width - (count - 1) * self.gap_pt) / count
        laid = [stacked(own, left + i * (each + self.gap_pt), top, each) for i, own in enumerate(self.stacks)]
        return [item for items, _ in laid for item in items], min(end for _, end in laid)


_CELL_PT, _CELL_LINE_PT, _BETWEEN_PT, _INSET_PT, _CELL_GAP_PT = 9.0, 12.0, 2.0, 10.0, 10.0


@dataclass(frozen=True)
class Table:
    """A head over rows of cells. shares: of the width, by column; right: the columns whose cells stand flush right.

    A row whose first cell begins with a blank says more of the row above. bad: rows and columns that fail.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    right: frozenset[int] = frozenset()
    bad: frozenset[tuple[int, int]] = frozenset()
    names: tuple[str, str, str] = ("head", "row", "cell")

    @property
    def lefts(self) -> list[float]:
        """Where each column begins, and the last ends, as shares of the width."""
        return [float(each) for each in np.cumsum((0.0, *self.shares))]

    def laid(self, left: float, top: float, width: float) -> Laid:
        items, y = self._row(self.head, None, left, top, width)
        rule = Rule(1.0, _BETWEEN_PT)
        ruled, y = rule.laid(left, y, width * self.lefts[-1])
        items += ruled
        for number, row in enumerate(self.rows):
            own, y = self._row(row, number, left, y, width)
            items, y = [*items, *own], y - _BETWEEN_PT
        ruled, y = replace(rule, before_pt=0.0).laid(left, y, width * self.lefts[-1])
        return [*items, *ruled], y

    def _row(self, cells: tuple[str, ...], number: int | None, left: float, top: float, width: float) -> Laid:
        items, low = list[Item](), top - _CELL_LINE_PT
        for column, cell in enumerate(cells):
            bad = number is not None and (number, column) in self.bad
            bold = bad or number is None
            inset = _INSET_PT if column == 0 and cell.startswith(" ") else 0.0
            x, room = left + width * self.lefts[column] + inset, width * self.shares[column] - _CELL_GAP_PT - inset
            align: Align = "right" if column in self.right else "left"
            name = self.names[0 if number is None else 1 if column == 0 else 2]
            colour = pens.PROBLEM if bad else pens.SOFT_INK if column == 0 and number is not None else pens.INK
            y = top
            for text in scene.wrapped(cell, room, _CELL_PT, bold):
                y -= _CELL_LINE_PT
                if text:
                    at = (x + (room if align == "right" else 0.0), y + 3.0)
                    items.append(Label(text, at, _CELL_PT, colour, bold, align, name))
            low = min(low, y)
        return items, low
