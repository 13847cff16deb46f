"""The table under the drawings of a comparison, in blocks of as many columns as the sheet takes."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.plots.lettering import wrapped
from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.scene import Item, Label
from beltplan.plots.sheet import rule

LABEL_PT, LEAST_PT, WIDEST_PT, GAP_PT = 150.0, 125.0, 390.0, 10.0
TEXT_PT, LINE_PT, BETWEEN_PT = 9.5, 12.5, 2.5
BLOCK_PT = 12.0


@dataclass(frozen=True)
class Table:
    """What the table says, in words ready to be set. rows: label, and one cell a column; note: what its signs mean."""

    names: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    note: str

    def only(self, which: tuple[int, ...]) -> Table:
        """The same of some of the columns."""
        rows = tuple((label, tuple(cells[i] for i in which)) for label, cells in self.rows)
        return Table(tuple(self.names[i] for i in which), rows, self.note)


def blocks_of(table: Table, width_pt: float) -> tuple[Table, ...]:
    """The table cut so that every block fits a width."""
    count = len(table.names)
    most = max(1, int((width_pt - LABEL_PT) // LEAST_PT))
    per = -(-count // -(-count // most))
    return tuple(table.only(tuple(range(i, min(i + per, count)))) for i in range(0, count, per))


def table_items(table: Table, left: float, top: float, width_pt: float, unit_pt: float) -> tuple[list[Item], float]:
    """The table from a top left corner, and its bottom edge."""
    items: list[Item] = []
    y = top
    for block in blocks_of(table, width_pt):
        drawn, y = _block(block, left, y - BLOCK_PT / unit_pt, width_pt, unit_pt)
        items += drawn
    return items, y


def _block(block: Table, left: float, top: float, width_pt: float, unit_pt: float) -> tuple[list[Item], float]:
    pt, each = 1.0 / unit_pt, min(WIDEST_PT, (width_pt - LABEL_PT) / len(block.names))
    items, y = _row("", block.names, left, top, each, unit_pt, head=True)
    across = (LABEL_PT + each * len(block.names)) * pt
    items.append(rule(left, y, across))
    y -= BETWEEN_PT * pt
    for label, cells in block.rows:
        drawn, y = _row(label, cells, left, y, each, unit_pt)
        items += drawn
        y -= BETWEEN_PT * pt
    return [*items, rule(left, y, across)], y


def _row(
    label: str, cells: tuple[str, ...], left: float, top: float, each_pt: float, unit_pt: float, head: bool = False
) -> tuple[list[Item], float]:
    pt = 1.0 / unit_pt
    lines = [wrapped(cell, each_pt - GAP_PT, TEXT_PT, head) for cell in cells]
    # Words that say more of the row above stand further in.
    inset = 10.0 if label.startswith(" ") else 0.0
    labels = wrapped(label.strip(), LABEL_PT - GAP_PT - inset, TEXT_PT)
    items: list[Item] = _set(labels, left + inset * pt, top, False, SOFT_INK, "row", pt)
    for i, words in enumerate(lines):
        items += _set(words, left + (LABEL_PT + i * each_pt) * pt, top, head, INK, "head" if head else "cell", pt)
    return items, top - LINE_PT * pt * max(len(labels), *map(len, lines))


def _set(lines: tuple[str, ...], x: float, top: float, bold: bool, colour: str, name: str, pt: float) -> list[Item]:
    return [
        Label(text, (x, top - (LINE_PT * (i + 1) - 3.0) * pt), TEXT_PT, colour, bold, name=name)
        for i, text in enumerate(lines)
        if text
    ]
