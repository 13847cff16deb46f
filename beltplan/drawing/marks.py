"""Marks by which neighbouring sheets are laid together, and scales to be measured before anything is cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np

from beltplan.drawing.paper import OVERLAP_MM, Page, Tiling
from beltplan.drive.belt import MM_PER_INCH
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.labels import KeepOut, hits
from beltplan.picture.paper import MM_PT
from beltplan.picture.scene import Align, Box, Item, Label, Point, Shape, Stroke, cross, rectangle

_HALF_MM = 2.6
"""Half the length of a mark's cross."""
_WIDTH_MM, _HEIGHT_MM = 13.0, 12.4
"""Room for a mark with its two lines of words: less than the overlap."""
_MARK_WORDS_PT = 6.0
_LINE_MM = 2.7
_SHARES = (0.16, 0.84)
"""Where the two marks of a seam would stand along it: far apart, so that the sheets do not turn."""
_APART_MM = 40.0
"""The two marks of a seam are no nearer."""
_STEP_MM = 2.0
_FAR_MM = 1e6
_AIR_MM, _INNER_MM = 1.0, 1.5


@dataclass(frozen=True)
class Join:
    """A mark that two sheets share. at: its cross, mm in the layout's frame. pages: the earlier one first."""

    letter: str
    pages: tuple[Page, Page]
    at: Point

    @property
    def box(self) -> Box:
        """The room of the mark and its words."""
        x, y = self.at
        high = y + _HALF_MM + 0.4
        return (x - 0.5 * _WIDTH_MM, high - _HEIGHT_MM, x + 0.5 * _WIDTH_MM, high)


def page_words(page: Page) -> str:
    """What a sheet is called: its row and column, from 1."""
    return f"{page[0] + 1}-{page[1] + 1}"


def joins_of(tiling: Tiling, pages: Iterable[Page], keep_out: KeepOut) -> tuple[Join, ...]:
    """Two marks on every seam between two printed sheets, clear of the drawing where there is room."""
    kept = tuple(pages)
    seams = [(a, b) for a, b in product(kept, kept) if a < b and b in tiling.neighbours(a)]
    return tuple(join for seam in seams for join in _on_seam(tiling, seam, keep_out))


def _on_seam(tiling: Tiling, seam: tuple[Page, Page], keep_out: KeepOut) -> list[Join]:
    places = _places(tiling, seam)
    boxes = MM_PT * np.array([Join("", seam, (float(x), float(y))).box for x, y in places])
    # Where nothing is free the mark lies over as little as can be: better than no mark.
    inner = boxes + _INNER_MM * MM_PT * np.array((1.0, 1.0, -1.0, -1.0))
    covered = _FAR_MM * (hits(keep_out, boxes, _AIR_MM * MM_PT).astype(float) + hits(keep_out, inner, 0.0))
    joins: list[Join] = []
    for letter, share in zip("ab", _SHARES, strict=True):
        wanted = places[0] + share * (places[-1] - places[0])
        off = np.hypot(*(places - wanted).T)
        for join in joins:
            off = np.where(np.hypot(*(places - np.array(join.at)).T) < _APART_MM, np.inf, off)
        x, y = places[int(np.argmin(off + covered))]
        joins.append(Join(letter, seam, (float(x), float(y))))
    return joins


def _places(tiling: Tiling, seam: tuple[Page, Page]) -> Floats:
    # Crosses of marks down the middle of the overlap, without its ends, where four sheets may lie on one another.
    (left, bottom, right, top), end = tiling.window(seam[1]), OVERLAP_MM + _AIR_MM
    over_box = _HEIGHT_MM - _HALF_MM - 0.4
    if seam[0][0] == seam[1][0]:
        y = np.arange(bottom + end + over_box, top - end - _HALF_MM - 0.4, _STEP_MM)
        return np.column_stack((np.full(len(y), left + 0.5 * OVERLAP_MM), y))
    x = np.arange(left + end + 0.5 * _WIDTH_MM, right - end - 0.5 * _WIDTH_MM, _STEP_MM)
    return np.column_stack((x, np.full(len(x), top - 0.5 * OVERLAP_MM + 0.5 * _HEIGHT_MM - _HALF_MM - 0.4)))


def join_items(join: Join, page: Page) -> list[Item]:
    """A mark as it stands on one of its two sheets: a cross in a diamond, and which sheet it joins."""
    at = np.array(join.at)
    other = join.pages[1] if page == join.pages[0] else join.pages[0]
    tips = at + _HALF_MM * np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)])
    lines = (f"{join.letter}: joins", f"sheet {page_words(other)}")
    first = join.at[1] - _HALF_MM - _LINE_MM
    return [
        Stroke(tips, pens.PRINT_JOIN, "join diamond"),
        *cross(at, _HALF_MM, pens.PRINT_JOIN, "join cross"),
        *(
            Label(text, (join.at[0], first - i * _LINE_MM), _MARK_WORDS_PT, pens.INK, align="center", name="join")
            for i, text in enumerate(lines)
        ),
    ]


def edge_items(tiling: Tiling, pages: Iterable[Page], page: Page) -> list[Item]:
    """The window's frame, lines to cut along at the left and the top, and where the next sheets' cut edges go."""
    kept = set(pages)
    (left, bottom, right, top), (row, column) = tiling.window(page), page
    items: list[Item] = [Shape((rectangle(tiling.window(page)),), pen=pens.PRINT_FRAME, name="frame")]
    cut_at = []
    if (row, column - 1) in kept:
        items.append(_line((left, bottom), (left, top), "cut"))
        cut_at.append("left")
    if (row - 1, column) in kept:
        items.append(_line((left, top), (right, top), "cut"))
        cut_at.append("top")
    if cut_at:
        words = f"cut along the {' and the '.join(cut_at)} line"
        items.append(Label(words, (left, top + _AIR_MM), _MARK_WORDS_PT, pens.INK, name="cut words"))
    if (row, column + 1) in kept:
        items.append(_line((right - OVERLAP_MM, bottom), (right - OVERLAP_MM, top), "next edge"))
    if (row + 1, column) in kept:
        items.append(_line((left, bottom + OVERLAP_MM), (right, bottom + OVERLAP_MM), "next edge"))
    return items


def _line(start: Point, end: Point, name: str) -> Stroke:
    return Stroke(np.array((start, end)), pens.PRINT_CUT if name == "cut" else pens.PRINT_EDGE, name)


# Check scales of a template: 100 mm and 4 in, along and across the sheet, to be measured before anything is cut.

_SCALE_WORDS_PT = 6.5
_TICK_MM = 2.6
"""Length of the longest ticks, those at the ends."""


@dataclass(frozen=True)
class _Scale:
    """A check scale. numbers: those written along it, evenly; parts: between two of them, and how many to a tick."""

    length_mm: float
    unit: str
    numbers: tuple[int, ...]
    parts: int

    @property
    def ticks(self) -> tuple[tuple[float, float], ...]:
        """Place and length of every tick, mm."""
        count = (len(self.numbers) - 1) * self.parts
        return tuple((self.length_mm * i / count, self._tick(i, count)) for i in range(count + 1))

    def _tick(self, i: int, count: int) -> float:
        if i in (0, count):
            return _TICK_MM
        halves = (self.parts, self.parts // 2)
        return _TICK_MM * (0.75 if i % halves[0] == 0 else 0.5 if i % halves[1] == 0 else 0.35)


_METRIC = _Scale(100.0, "mm", (0, 50, 100), 10)
INCHES = _Scale(4.0 * MM_PER_INCH, "in", (0, 1, 2, 3, 4), 8)


def scales_across(left: float, top: float) -> list[Item]:
    """Both scales one under the other from a top left corner, mm; 14 mm high."""
    items: list[Item] = []
    for scale, y in ((_METRIC, top - 0.4), (INCHES, top - 7.8)):
        items += [*_lines(scale, (left, y), (1.0, 0.0)), *_numbers(scale, left, y - _TICK_MM - 2.3)]
    return items


def scales_up(left: float, bottom: float) -> list[Item]:
    """Both scales side by side, upright, from a bottom left corner, mm; 11 mm wide, 110 mm high."""
    items: list[Item] = []
    for scale, x in ((_METRIC, left + 2.0), (INCHES, left + 7.6)):
        items += _lines(scale, (x, bottom), (0.0, 1.0))
        for word, y in ((scale.unit, 1.4), (str(scale.numbers[-1]), 4.0)):
            at = (x + 0.5 * _TICK_MM, bottom + INCHES.length_mm + y)
            items.append(Label(word, at, _SCALE_WORDS_PT, pens.INK, True, "center", "scale"))
    return items


def _lines(scale: _Scale, start: Point, along: Point) -> list[Item]:
    # Ticks stand to the right of the line's direction: under a level scale, beside an upright one.
    at, unit = np.array(start), np.array(along)
    side = np.array((unit[1], -unit[0]))
    ticks = [at + place * unit + np.outer((0.0, high), side) for place, high in scale.ticks]
    line = Stroke(np.stack((at, at + scale.length_mm * unit)), pens.PRINT_SCALE, f"check scale {scale.unit}")
    return [line, *(Stroke(tick, pens.PRINT_SCALE, "tick") for tick in ticks)]


def _numbers(scale: _Scale, left: float, y: float) -> list[Item]:
    last = scale.numbers[-1]
    aligns: dict[int, Align] = {0: "left", last: "right"}
    return [
        Label(
            f"{number} {scale.unit}" if number == last else str(number),
            (left + scale.length_mm * number / last, y),
            _SCALE_WORDS_PT,
            pens.INK,
            number == last,
            aligns.get(number, "center"),
            "scale",
        )
        for number in scale.numbers
    ]
