"""Things side by side as a table of words: one column each, in as many tables as the width needs."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from beltplan.report.words import KEPT, unbroken

_GAP = 2
_LEAST = 16
"""A column is made no narrower than this by breaking its words across lines."""
_NUMBER = re.compile(r"[-+]?\d+(?=$|[.,* ])")


@dataclass(frozen=True)
class Columns:
    """A head over each column; rows of a label and one cell a column. A label that begins with a blank says more of the
    row above.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]

    def only(self, which: Sequence[int]) -> Columns:
        """The same of some of the columns."""
        rows = tuple((label, tuple(cells[i] for i in which)) for label, cells in self.rows)
        return Columns(tuple(self.heads[i] for i in which), rows)

    def blocks(self, most: int) -> tuple[Columns, ...]:
        """The same in as few tables as hold so many columns each, all about as wide."""
        count = len(self.heads)
        per = -(-count // -(-count // most))
        return tuple(self.only(range(i, min(i + per, count))) for i in range(0, count, per))


def columns_lines(table: Columns, width: int) -> Iterator[str]:
    """The lines of the tables. Words go on below in their column, names are never cut, numbers align by their point.

    >>> print("\\n".join(columns_lines(Columns(("base", "low"), (("wrap", ("15.9", "4.1 (-11.8)")),)), 72)))
          base  low
    wrap  15.9   4.1 (-11.8)
    """
    labels = min(max(len(label) for label, _ in table.rows), 9 * width // 20)
    room = width - labels
    for most in range(len(table.heads), 0, -1):
        blocks = table.blocks(most)
        widths = [_widths(block, room) for block in blocks]
        if None not in widths or most == 1:
            break
    for i, (block, fitting) in enumerate(zip(blocks, widths, strict=True)):
        yield from [""] if i else []
        every = (labels, *(fitting or map(_least, zip(*_cells(block), strict=True))))
        for label, cells in zip(("", *(label for label, _ in block.rows)), _cells(block), strict=True):
            yield from _lines((label, *cells), every)


def _widths(table: Columns, room: int) -> list[int] | None:
    """The widest columns that the room takes, None where their names do not fit."""
    columns = list(zip(*_cells(table), strict=True))
    natural, least = [max(map(len, column)) for column in columns], [_least(column) for column in columns]
    for most in range(max(*natural, _LEAST), _LEAST - 1, -1):
        widths = [max(low, min(own, most)) for own, low in zip(natural, least, strict=True)]
        if sum(widths) + _GAP * len(widths) <= room:
            return widths
    return None


def _least(column: Sequence[str]) -> int:
    return max(len(word) for cell in column for word in unbroken(cell).split(" "))


def _cells(table: Columns) -> list[tuple[str, ...]]:
    """Heads and rows, numbers set under each other in every column."""
    whole = [_NUMBER.match(cell) for _, cells in table.rows for cell in cells]
    before = max((len(number[0]) for number in whole if number), default=0)

    def set_in(cell: str) -> str:
        number = _NUMBER.match(cell)
        return " " * (before - len(number[0])) + cell if number else cell

    return [table.heads, *(tuple(map(set_in, cells)) for _, cells in table.rows)]


def _lines(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    wrapped = [_wrapped(cell, width) for cell, width in zip(cells, widths, strict=True)]
    for i in range(max(map(len, wrapped))):
        line = (own[i] if i < len(own) else "" for own in wrapped)
        yield (" " * _GAP).join(part.ljust(width) for part, width in zip(line, widths, strict=True)).rstrip()


def _wrapped(cell: str, width: int) -> list[str]:
    lead = cell[: len(cell) - len(cell.lstrip())]
    kept = unbroken(cell.strip())
    lines = textwrap.wrap(
        kept, width, initial_indent=lead, subsequent_indent=lead, break_long_words=False, break_on_hyphens=False
    )
    return [line.replace(KEPT, " ") for line in lines or [""]]
