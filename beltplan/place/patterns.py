"""What fails where no place is good, as patterns that grey prints and a copier keep apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.picture import pens
from beltplan.picture.page import Entry
from beltplan.picture.scene import Box, Raster, Shape, View, box_about, rectangle, seen_box
from beltplan.place.judge import Words
from beltplan.place.study import CAUTION, NO_BELT_FITS, NO_PATH, STATES, PlaceMap

_DOT_PT = 1.2
"""Side of the dots of which patterns are made."""
_LEAST_SHARE = 0.02
"""What fewer places fail by has no pattern of its own."""
_PATTERNS: tuple[Callable[[Ints, Ints], Bools], ...] = (
    lambda row, column: (row - column) % 7 == 0,
    lambda row, column: (row % 5 == 0) & (column % 5 == 0),
    lambda row, column: row % 6 == 0,
    lambda row, column: column % 6 == 0,
    lambda row, column: (row % 8 == 0) | (column % 8 == 0),
)
"""Whether a dot is dark, by its row and column: the most places first."""


@dataclass(frozen=True, eq=False)
class Failing:
    """What fails on paper. cells: number of the pattern of every dot of the raster, -1 where nothing fails.

    named: what each pattern stands for; the number behind the last pattern is that of all other problems.
    """

    raster: Raster
    cells: Ints
    named: tuple[tuple[int, str], ...]


def failing_of(found: PlaceMap, around: Box, view: View) -> Failing:
    """What fails at every place within a box, mm, the dots over the grid's cells."""
    left, bottom, right, top = (
        edge(first, second) for edge, first, second in zip((max, max, min, min), found.shaded.box, around, strict=True)
    )
    size = _DOT_PT / view.pt_per_mm
    columns, rows = (max(1, int((high - low) / size)) for low, high in ((left, right), (bottom, top)))
    x, y = left + (np.arange(columns) + 0.5) * size, bottom + (np.arange(rows) + 0.5) * size
    row, column = (
        np.clip(np.rint((at - low) / found.grid.step_mm).astype(int), 0, count - 1)
        for at, low, count in zip((y, x), found.grid.low[::-1], found.grid.shape, strict=True)
    )
    causes = causes_of(found)[np.ix_(row, column)]
    fails, counted = causes != "", Counter(causes.ravel().tolist()).most_common(len(_PATTERNS) + 1)
    shown = [cause for cause, count in counted if cause and count > _LEAST_SHARE * fails.sum()][: len(_PATTERNS)]
    cells = np.where(fails, len(_PATTERNS), -1)
    for number, cause in enumerate(shown):
        cells[causes == cause] = number
    named = [*enumerate(shown), *([(len(_PATTERNS), "other problems")] if (cells == len(_PATTERNS)).any() else [])]
    box = seen_box((left, bottom, left + columns * size, bottom + rows * size), view)
    return Failing(_painted(box, cells), cells, tuple(named))


def causes_of(found: PlaceMap) -> Words:
    """What a place that is not good fails by, (rows, columns), '' where it is good or has no belt path."""
    states, own = found.states, found.judged.failing[:-1].reshape(found.grid.shape)
    anywhere = ", ".join(found.judged.standing) or "a problem at every place"
    causes = np.where(own == "", anywhere, own)
    causes[states == NO_BELT_FITS] = STATES[NO_BELT_FITS]
    causes[(states == NO_PATH) | (states >= CAUTION)] = ""
    return causes


def _painted(box: Box, cells: Ints) -> Raster:
    row, column = np.arange(cells.shape[0])[:, None], np.arange(cells.shape[1])
    dark = np.zeros(cells.shape, dtype=bool)
    for number, pattern in enumerate(_PATTERNS):
        dark |= (cells == number) & pattern(row, column)
    return Raster(box, np.where(cells < 0, -1, dark), (pens.PATH_BUT_PROBLEM, pens.PATTERN), "failing")


def pattern_entry(number: int, words: str) -> Entry:

    def symbol(at: Floats) -> list[Raster | Shape]:
        box = box_about(at, 20 * _DOT_PT, 11 * _DOT_PT)
        return [
            _painted(box, np.full((11, 20), number)),
            Shape((rectangle(box),), pen=pens.OUTLINE, name="swatch"),
        ]

    return Entry(words, symbol, 24.0)
