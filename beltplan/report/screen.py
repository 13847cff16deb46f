"""A report as blocks, and how a screen shows them: its width, the file's unit of length, colours of severities."""

from __future__ import annotations

import os
import re
import shutil
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import gcd
from typing import Literal, TextIO

from beltplan.checks.limits import against
from beltplan.drive.belt import LBF_N, MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.drive.own_units import FTLB_NM
from beltplan.report.words import KEPT, letters, unbroken

Cell = str | float | None

_LEAST_WIDTH = 72
PIPE_WIDTH = 100
"""Of what is no terminal: a file, or another program."""
_GAP = "  "
_UNKNOWN = "-"
_LEAST_WORDS = 16
"""Characters of a last column of words, at least."""
_FIRST_DROPPED = 9
"""Number of a column that gives way before all others."""
_PARTNERS: Mapping[str, tuple[str, float]] = {"N": ("lbf", LBF_N), "Nm": ("ft-lb", FTLB_NM)}
"""What who measures in inches reads beside newtons and newton metres, and how many of these it is."""


@dataclass(frozen=True)
class Paragraph:
    """Text that is broken to the width, with a lead on its first line and one on the others."""

    text: str
    first: str = ""
    rest: str | None = None


@dataclass(frozen=True)
class Column:
    """Of a table. decimals_mm: its cells are numbers in mm, shown with so many decimals, or in the file's inches.
    force: unit of its cells where they are forces or moments, N or Nm, under a head that says it; who measures in
    inches reads lbf or ft-lb beside them, or alone where there is no room for both.

    drop: where the table is too wide, the columns of the highest number are left out first; 0 is never left out.
    """

    head: str
    left: bool = False
    drop: int = 0
    decimals_mm: int | None = None
    force: Literal["", "N", "Nm"] = ""
    scale: float = 1.0


@dataclass(frozen=True)
class Table:
    """Rows under heads. A cell is a word, a number of mm where the column says so, or None: not known."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]


def known_columns(columns: Sequence[Column], rows: Sequence[Sequence[Cell]]) -> Table:
    told = [i for i in range(len(columns)) if any(row[i] is not None for row in rows)]
    return Table([columns[i] for i in told], [[row[i] for i in told] for row in rows])


@dataclass(frozen=True)
class Columns:
    """A head over each column; rows of a label and one cell a column. A label that begins with a blank says more of the
    row above.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]

    def only(self, which: Sequence[int]) -> Columns:
        rows = tuple((label, tuple(cells[i] for i in which)) for label, cells in self.rows)
        return Columns(tuple(self.heads[i] for i in which), rows)

    def blocks(self, most: int) -> tuple[Columns, ...]:
        count = len(self.heads)
        per = -(-count // -(-count // most))
        return tuple(self.only(range(i, min(i + per, count))) for i in range(0, count, per))


Block = str | Paragraph | Table | Columns
"""A text alone is one line, shown as it is."""


@dataclass(frozen=True)
class Report:
    """What a command answers: its blocks, in mm, and the unit of length in which the user reads them."""

    blocks: tuple[Block, ...]
    units: Units = "mm"


@dataclass(frozen=True)
class Screen:
    width: int = PIPE_WIDTH
    colour: bool = False


def screen_of(stream: TextIO | None) -> Screen:
    """The screen behind a stream: as wide as COLUMNS or its window says; a pipe is plain and always of one width."""
    if stream is None or not stream.isatty():
        return Screen()
    width = max(_LEAST_WIDTH, shutil.get_terminal_size((PIPE_WIDTH, 24)).columns)
    return Screen(width, not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb")


def shown(report: Report, screen: Screen) -> str:
    """The report as the screen shows it; no line is wider than it, but for a table that no dropped column narrows."""
    return "\n".join(line for block in report.blocks for line in _lines(block, report.units, screen))


def _lines(block: Block, units: Units, screen: Screen) -> Iterator[str]:
    if isinstance(block, Table):
        yield from _table_lines(block, units, screen.width)
    elif isinstance(block, Columns):
        yield from columns_lines(block, screen.width)
    elif isinstance(block, Paragraph):
        lead = " " * len(block.first) if block.rest is None else block.rest
        text = unbroken(in_units(block.text, units))
        lines = textwrap.wrap(text, screen.width, initial_indent=block.first, subsequent_indent=lead)
        hue = _HUES.get(block.first.strip().lower()) if screen.colour else None
        if hue is not None:
            width = len(block.first)
            lines[0] = f"\033[{hue}m{lines[0][:width]}\033[0m{lines[0][width:]}"
        yield from (line.replace(KEPT, " ") for line in lines)
    else:
        yield in_units(block, units)


# A severity has a colour beside its word.

_HUES = {"problem": "1;31", "caution": "1;33", "note": "1;36"}


# Units: all is computed in mm and N, and who measures in inches reads inches, and pounds beside newtons.

_NUMBER = r"[-+±]?\d+(?:,\d{3})*(?:\.\d+)?"
_LENGTHS = re.compile(
    rf"(?<![\w.`])(?<! in \()({_NUMBER}(?:(?: to | and |, | or )(?:[a-z] )?{_NUMBER})*) mm\b(?!/| \([^)]*\bin\))"
)
_AGAINST = re.compile(
    rf"(?<![\w.])({_NUMBER}) mm\b([^\d,:;]*, (?:only )?)({_NUMBER}) mm (over|short of|under) ([^\d,:;]* )"
    rf"({_NUMBER}) mm\b"
)
"""A length beside its limit, as `Bound.words` tells it."""
_ROUNDED_MM = 1e-6
_BOUGHT = re.compile(rf"(?:(?<=pulley of )|(?<=idler of ))({_NUMBER}) mm\b(?! \()")
_FORCES = re.compile(rf"(?<![\w.])({_NUMBER}(?: to {_NUMBER})?) (Nm?)\b(?!/| \([^)]*(?:lbf|ft-lb)\))([^()]*\))?")


def in_units(text: str, units: Units) -> str:
    """A text in the units asked for: `12.7 mm` reads `0.50 in`, `98 N` reads `98 N (22 lbf)`.

    A length that has its inches beside it in brackets stays as it is: in mm and in inches is how belts are bought, and
    pulleys by their diameter, which has its mm beside it.
    """
    if units == "mm":
        return text
    text = _BOUGHT.sub(lambda found: f"{_inches(found[1])} in ({found[1]} mm)", text)
    text = _FORCES.sub(_with_partner, text)
    text = _AGAINST.sub(_against, text)
    return _LENGTHS.sub(lambda found: _each(_inches, found[1]) + " in", text)


def _with_partner(found: re.Match[str]) -> str:
    """In brackets already, it stands after a comma."""
    numbers, unit, closing = found.groups()
    partner, scale = _PARTNERS[unit]
    beside = f"{_each(lambda number: _in_partner(_value(number) / scale), numbers)} {partner}"
    if closing is None:
        return f"{numbers} {unit} ({beside})"
    return f"{numbers} {unit}, {beside}{in_units(closing, 'in')}"


def _against(found: re.Match[str]) -> str:
    """The three numbers are told anew, for rounded each by itself they would not add up. Three that do not add up in mm
    either are no length beside its limit.
    """
    value, of, off_mm, side, limit_words, limit = found.groups()
    over = _value(value) - _value(limit)
    if abs((over if side == "over" else -over) - _value(off_mm)) > _ROUNDED_MM:
        return found[0]
    decimals = max(2, 1 + len(value.partition(".")[2]))
    shown, off, beside = against(_value(value) / MM_PER_INCH, _value(limit) / MM_PER_INCH, decimals)
    return f"{shown} in{of}{off} in {side} {limit_words}{beside} in"


def _value(number: str) -> float:
    return float(number.replace(",", ""))


def _each(shown_as: Callable[[str], str], text: str) -> str:
    return re.sub(_NUMBER, lambda found: shown_as(found[0]), text)


def _in_partner(value: float) -> str:
    return f"{value:z.{0 if abs(value) >= 10.0 else 1}f}"


def _inches(number: str) -> str:
    plain = number.lstrip("+-±")
    value, decimals = _value(plain), len(plain.partition(".")[2])
    sign, inches = number.removesuffix(plain), length_text(value, decimals, "in")
    if value and not float(inches):  # what is not zero in mm does not read as zero in inches
        inches = length_text(value, decimals + 1, "in")
    return inches if sign == "-" and not float(inches) else sign + inches


def length_text(mm: float, decimals: int, units: Units) -> str:
    """A length to so many decimals of a mm, rounded once, with no sign on a zero."""
    # An inch is 25 mm: one decimal more, and never fewer than a tape shows.
    return f"{mm:z.{decimals}f}" if units == "mm" else f"{mm / MM_PER_INCH:z.{max(2, decimals + 1)}f}"


_SMALLEST_PART, _EXACT = 64, 1e-3
"""A length that is a whole number of these parts of an inch, but for so much of one, is said as a fraction."""


def tape_words(length_mm: float, in_inches: bool) -> str:
    """A length as a tape shows it: 18 1/4 in, 371.5 mm."""
    parts = _SMALLEST_PART * length_mm / MM_PER_INCH
    if not in_inches or abs(parts - round(parts)) > _EXACT:
        return f"{round(length_mm / MM_PER_INCH, 3):g} in" if in_inches else f"{round(length_mm, 2) + 0.0:.10g} mm"
    whole, part = divmod(abs(round(parts)), _SMALLEST_PART)
    common = gcd(part, _SMALLEST_PART)
    words = [str(whole)] * (whole > 0 or not part) + [f"{part // common}/{_SMALLEST_PART // common}"] * (part > 0)
    return f"{'-' * (round(parts) < 0)}{' '.join(words)} in"


# Tables: names never lose letters; where they do not fit, a column is left out, and words in the last go on below.


def _table_lines(table: Table, units: Units, width: int) -> Iterator[str]:
    columns = [(column, _aligned(cells, column.left)) for column, cells in told_columns(table, units)]
    while sum(len(cells[0]) + len(_GAP) for _, cells in columns) - len(_GAP) > width:
        drop = max(column.drop for column, _ in columns)
        if drop == 0:
            break
        columns = [each for each in columns if each[0].drop != drop]
    before = sum(len(cells[0]) + len(_GAP) for _, cells in columns[:-1])
    room = max(width - before, _LEAST_WORDS)
    for row in zip(*(cells for _, cells in columns), strict=True):
        last = textwrap.wrap(row[-1], room, break_long_words=False) if columns[-1][0].left else row[-1:]
        yield _GAP.join((*row[:-1], *last[:1])).rstrip()
        yield from (" " * before + line for line in last[1:])


def told_columns(table: Table, units: Units) -> list[tuple[Column, list[str]]]:
    return [
        (column, [head, *(_cell(row[i], column, units) for row in table.rows)])
        for i, each in enumerate(table.columns)
        for column, head in _heads(each, units)
    ]


def _heads(column: Column, units: Units) -> Iterator[tuple[Column, str]]:
    """A column with its head, and one of pounds beside one of newtons: that stays where there is no room for both."""
    unit = ", in" if units == "in" else f" {units}"  # without the comma it reads as a preposition
    head = column.head + unit * (column.decimals_mm is not None)
    if not (column.force and units == "in"):
        yield column, head
        return
    partner, scale = _PARTNERS[column.force]
    yield replace(column, drop=_FIRST_DROPPED), head
    yield replace(column, scale=scale), re.sub(rf"\b{column.force}\b", partner, head)


def _cell(cell: Cell, column: Column, units: Units) -> str:
    if cell is None or isinstance(cell, str):
        return _UNKNOWN if cell is None else cell
    if column.force:
        told = f"{cell:z.{0 if column.force == 'N' else 1}f}"
        # As in a sentence, whole pounds are those of the newtons that are told.
        exact = cell if abs(cell) < 10.0 * column.scale else float(told)
        return told if column.scale == 1.0 else _in_partner(exact / column.scale)
    return length_text(cell, column.decimals_mm or 0, units)


def _aligned(cells: list[str], left: bool) -> list[str]:
    if not left:
        after = [len(cell) - cell.find(".") if _is_number(cell) and "." in cell else 0 for cell in cells]
        cells = [
            cell + " " * (max(after) - own) if _is_number(cell) else cell
            for cell, own in zip(cells, after, strict=True)
        ]
    widest = max(map(len, cells))
    return [cell.ljust(widest) if left else cell.rjust(widest) for cell in cells]


def _is_number(cell: str) -> bool:
    return re.fullmatch(_NUMBER, cell) is not None


# Where a number comes from is told once, under a letter.


class Footnotes:
    """Gives each text a letter, the same text the same one; `legend` tells them all."""

    def __init__(self) -> None:
        self._marks: dict[str, str] = {}

    def mark(self, text: str) -> str:
        return f"({self._marks.setdefault(text, letters(len(self._marks)).lower())})"

    def legend(self) -> Iterable[Paragraph]:
        return (Paragraph(text, f"({letter}) ") for text, letter in self._marks.items())


# Things side by side as a table of words: one column each, in as many tables as the width needs.


_LEAST = 16
"""A column is made no narrower than this by breaking its words across lines."""
_FIRST_NUMBER = re.compile(r"[-+]?\d+(?=$|[.,* ])")


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
            yield from _columns_row((label, *cells), every)


def _widths(table: Columns, room: int) -> list[int] | None:
    """The widest columns that the room takes, None where their names do not fit."""
    columns = list(zip(*_cells(table), strict=True))
    natural, least = [max(map(len, column)) for column in columns], [_least(column) for column in columns]
    for most in range(max(*natural, _LEAST), _LEAST - 1, -1):
        widths = [max(low, min(own, most)) for own, low in zip(natural, least, strict=True)]
        if sum(widths) + len(_GAP) * len(widths) <= room:
            return widths
    return None


def _least(column: Sequence[str]) -> int:
    return max(len(word) for cell in column for word in unbroken(cell).split(" "))


def _cells(table: Columns) -> list[tuple[str, ...]]:
    """Heads and rows, numbers set under each other in every column."""
    whole = [_FIRST_NUMBER.match(cell) for _, cells in table.rows for cell in cells]
    before = max((len(number[0]) for number in whole if number), default=0)

    def set_in(cell: str) -> str:
        number = _FIRST_NUMBER.match(cell)
        return " " * (before - len(number[0])) + cell if number else cell

    return [table.heads, *(tuple(map(set_in, cells)) for _, cells in table.rows)]


def _columns_row(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    wrapped = [_wrapped(cell, width) for cell, width in zip(cells, widths, strict=True)]
    for i in range(max(map(len, wrapped))):
        line = (own[i] if i < len(own) else "" for own in wrapped)
        yield _GAP.join(part.ljust(width) for part, width in zip(line, widths, strict=True)).rstrip()


def _wrapped(cell: str, width: int) -> list[str]:
    lead = cell[: len(cell) - len(cell.lstrip())]
    kept = unbroken(cell.strip())
    lines = textwrap.wrap(
        kept, width, initial_indent=lead, subsequent_indent=lead, break_long_words=False, break_on_hyphens=False
    )
    return [line.replace(KEPT, " ") for line in lines or [""]]
