"""A map of places as a table for other programs: one row a place, columns named with their units."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO

import numpy as np
from numpy.typing import NDArray

from beltplan.drive.belt import format_designation
from beltplan.geometry.vectors import Floats
from beltplan.judging.stages import STATES
from beltplan.place.study import PlaceMap

_PIECE = 65_536
"""Rows written at a time."""
_AT, _TENTHS, _SHARE = 4, 1, 3
"""Decimals: of places, of mm, deg and %, of shares."""
_MM = ("reserve_mm", "clearance_mm", "span_gap_mm", "rim_gap_mm", "shortest_mm", "longest_mm")
_OLDER = {"span_gap_mm": "strand_gap_mm"}

_Letters = NDArray[np.uint8]
"""(rows, letters) of a column, each row ended by its comma; a letter that a row does not have is 0."""


def place_csv(found: PlaceMap) -> Iterator[bytes]:
    """Every place of the grid, row by row, in pieces; a value that a place does not have is left empty."""
    judged, numbers = found.judged, _numbers(found)
    belts = _letters([*map(format_designation, judged.belts), ""])
    belt = np.maximum(judged.spread("belt", -1.0).astype(int), -1)
    words = {"verdict": _letters(STATES)[judged.state], "belt": belts[belt]}
    head = StringIO()
    csv.writer(head, lineterminator="\n").writerow((*list(numbers)[:2], *words, *list(numbers)[2:]))
    yield head.getvalue().encode("utf-8")
    for first in range(0, found.grid.count, _PIECE):
        part = slice(first, min(first + _PIECE, found.grid.count))
        figures = [_figures(values[part], decimals) for values, decimals in numbers.values()]
        letters = np.hstack([*figures[:2], *(column[part] for column in words.values()), *figures[2:]])
        letters[:, -1] = ord("\n")
        yield letters[letters > 0].tobytes()


def _letters(words: tuple[str, ...] | list[str]) -> _Letters:
    ended = np.array([f"{word},".encode() for word in words])
    return ended.view(np.uint8).reshape(len(words), -1)


def _numbers(found: PlaceMap) -> dict[str, tuple[Floats, int]]:
    judged = found.judged
    return {
        "x_mm": (judged.places[:, 0, 0], _AT),
        "y_mm": (judged.places[:, 0, 1], _AT),
        "adjuster_percent": (100.0 * judged.spread("position"), _TENTHS),
        "take_up_percent": (judged.spread("take_up_percent"), _TENTHS),
        **{_OLDER.get(name, name): (judged.spread(name), _TENTHS) for name in _MM},
        "margin_percent": (100.0 * judged.spread("margin"), _TENTHS),
        "own_margin_percent": (100.0 * judged.spread("own_margin"), _TENTHS),
        "slip_use_wet": (judged.spread("slip_wet"), _SHARE),
        **{f"wrap_{name}_deg": (judged.wrap_deg(name), _TENTHS) for name in judged.ways[0][0].pulleys},
    }


def _figures(values: Floats, decimals: int) -> _Letters:
    """Numbers as letters: digits by division, since one word at a time takes a minute for a million rows."""
    known = np.isfinite(values)
    whole = np.rint(np.abs(np.where(known, values, 0.0)) * 10.0**decimals)
    most = int(whole.max(initial=0.0))
    left = whole.astype(np.min_scalar_type(max(most, 255)))
    columns = [np.full(len(values), ord(","))]
    for place in range(max(len(str(most)), decimals + 1)):
        if place == decimals:
            columns.append(known * ord("."))
        rest = left // 10
        columns.append((left - 10 * rest + ord("0")) * (known & ((left > 0) | (place <= decimals))))
        left = rest
    columns.append(((values < 0.0) & (whole > 0.0)) * ord("-"))
    return np.stack(columns[::-1], axis=1, dtype=np.uint8, casting="unsafe")
