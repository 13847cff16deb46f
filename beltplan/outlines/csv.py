"""An outline from a CSV file: one point a row, round the edge."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import quoted
from beltplan.outlines.curves import Edges
from beltplan.outlines.drawing import MOST_POINTS, Drawing, Piece, Wrong, WrongDrawing, number_of, plain_number

_UNITS = {"": None, "mm": 1.0, "in": MM_PER_INCH}
"""What may stand behind x and y in a header, and what it is in mm."""
_COLUMNS = "columns x and y; or x_mm, y_mm; or x_in, y_in"
_DELIMITERS = (";", "\t", ",")
_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d+,\d+\s*", re.ASCII)

_Row = tuple[int, list[str]]


def read_csv(text: str) -> Drawing:
    """The one outline of a CSV text, a chain of straight edges. Raises WrongDrawing."""
    rows = list(_rows(text))
    if not rows:
        raise WrongDrawing.of("no points", "a row for each point, x and y")
    columns, unit = (0, 1), None
    if plain := all(_DECIMAL_COMMA.fullmatch(cell) or plain_number(cell) is not None for cell in rows[0][1][:2]):
        _refuse_doubtful_columns(rows)
    elif any(character.isalpha() for character in "".join(rows[0][1])):
        columns, unit = _columns(rows[0])
        rows = rows[1:]
    corners = np.array(_points(rows, columns), dtype=float).reshape(-1, 2)
    if len(corners) < 3:
        raise WrongDrawing.of(f"{len(corners)} points{'' if plain else ' under the header'}", "at least 3 points")
    return Drawing("CSV", (Piece((Edges(corners),), True, (), "points", rows[0][0]),), unit)


def _rows(text: str) -> Iterator[_Row]:
    """Every row with its line; blank ones and comments are left out."""
    numbered = enumerate(text.splitlines(), start=1)
    kept = [(number, line) for number, line in numbered if line.lstrip()[:1] not in ("", "#")]
    if len(kept) > MOST_POINTS:
        raise WrongDrawing.of(f"{len(kept)} rows", f"at most {MOST_POINTS}")
    lines = [line for _, line in kept]
    delimiter = next((one for one in _DELIMITERS if lines and one in lines[0]), " ")
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    try:
        for cells in reader:
            yield kept[reader.line_num - 1][0], cells
    except csv.Error as error:
        line = kept[max(reader.line_num, 1) - 1][0]
        raise WrongDrawing.of(f"a row that is not CSV ({error})", "rows of x and y", line) from None


def _refuse_doubtful_columns(rows: list[_Row]) -> None:
    """Without a header the first two cells are x and y only if they cannot be a point's number, or half of a number.

    A third column may be a height of 0, or empty.
    """
    wide = len(rows[0][1])
    if wide > 3 or any(cell.strip() and plain_number(cell) != 0.0 for _, cells in rows for cell in cells[2:3]):
        hint = "(decimal commas? then put semicolons between the columns; points with numbers? then a header)"
        raise WrongDrawing.of(f"{wide} columns without a header {hint}", f"x,y; or a header: {_COLUMNS}", rows[0][0])
    odd = [(line, cells) for line, cells in rows if len(cells) != wide]
    WrongDrawing.refuse([Wrong(f"{len(cells)} columns", f"{wide}, as in the first row", line) for line, cells in odd])


def _columns(header: _Row) -> tuple[tuple[int, int], float | None]:
    line, cells = header
    names = [re.sub(r"[^a-z]+", "_", cell.lower()).strip("_") for cell in cells]
    for unit, mm in _UNITS.items():
        wanted = [f"{axis}_{unit}".rstrip("_") for axis in "xy"]
        if all(names.count(name) == 1 for name in wanted):
            return (names.index(wanted[0]), names.index(wanted[1])), mm
    raise WrongDrawing.of(f"the header {quoted(', '.join(cells))}", f"{_COLUMNS}, each once", line)


def _points(rows: list[_Row], columns: tuple[int, int]) -> list[list[float]]:
    points: list[list[float]] = []
    wrong: list[Wrong] = []
    for line, cells in rows:
        pair = [cells[column] if column < len(cells) else "" for column in columns]
        # With a comma inside, the columns are parted by something else, or the cell is in quotes.
        pair = [cell.replace(",", ".") if _DECIMAL_COMMA.fullmatch(cell) else cell for cell in pair]
        try:
            points.append([number_of(cell, line, axis) for cell, axis in zip(pair, "xy", strict=True)])
        except WrongDrawing as fault:
            wrong += fault.wrong
    WrongDrawing.refuse(wrong)
    return points
