"""Label blocks: a few short lines and the marks of findings, laid out as one box."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.plots.lettering import text_width_pt
from beltplan.plots.marks import MARK_PT, Mark, mark_items
from beltplan.plots.scene import Align, Box, Item, Label

LINE_FACTOR = 1.28
MARKS_A_ROW = 4
PAD_PT = 1.5


@dataclass(frozen=True)
class Line:
    """One line of a block."""

    text: str
    size_pt: float
    colour: str
    bold: bool = False
    name: str = ""


@dataclass(frozen=True)
class Block:
    """Lines over rows of marks."""

    lines: tuple[Line, ...]
    marks: tuple[Mark, ...] = ()
    name: str = ""

    @property
    def width_pt(self) -> float:
        """Width on paper."""
        lines = [text_width_pt(line.text, line.size_pt, line.bold) for line in self.lines]
        return max([0.0, *lines, MARK_PT * min(len(self.marks), MARKS_A_ROW)]) + 2.0 * PAD_PT

    @property
    def height_pt(self) -> float:
        """Height on paper."""
        rows = -(-len(self.marks) // MARKS_A_ROW)
        return sum(line.size_pt * LINE_FACTOR for line in self.lines) + rows * MARK_PT + 2.0 * PAD_PT


def block_items(block: Block, box: Box, align: Align, unit_pt: float) -> list[Item]:
    """The block's labels and marks in a box of its size."""
    pt = 1.0 / unit_pt
    left, right = box[0] + PAD_PT * pt, box[2] - PAD_PT * pt
    x = {"left": left, "center": 0.5 * (left + right), "right": right}[align]
    y = box[3] - PAD_PT * pt
    items: list[Item] = []
    for line in block.lines:
        y -= line.size_pt * LINE_FACTOR * pt
        at = (x, y + 0.3 * line.size_pt * pt)
        items.append(Label(line.text, at, line.size_pt, line.colour, line.bold, align, line.name))
    for first in range(0, len(block.marks), MARKS_A_ROW):
        row = block.marks[first : first + MARKS_A_ROW]
        y -= MARK_PT * pt
        items += _row(row, x, y + 0.5 * MARK_PT * pt, align, unit_pt, block.name)
    return items


def _row(row: tuple[Mark, ...], x: float, y: float, align: Align, unit_pt: float, name: str) -> list[Item]:
    step = MARK_PT / unit_pt
    first = x + {"left": 0.5, "center": 0.5 - 0.5 * len(row), "right": 0.5 - len(row)}[align] * step
    return [item for i, mark in enumerate(row) for item in mark_items(mark, (first + i * step, y), unit_pt, name)]
