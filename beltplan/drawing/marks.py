"""Marks by which neighbouring sheets are laid together, and scales to be measured before anything is cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.drawing.paper import OVERLAP_MM, Page, Tiling
from beltplan.drawing.strokes import holds
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.labels import KeepOut, hits
from beltplan.picture.paper import MM_PT
from beltplan.picture.scene import Align, Box, Item, Label, Point, Shape, Stroke, cross, rectangle

_HALF_MM = 2.6
"""Half the length of a mark's cross."""
_WIDTH_MM, _HEIGHT_MM = 13.0, 12.4
"""Room for a mark with its two lines of words under it: less than the overlap."""
_LEVEL_WIDTH_MM, _LEVEL_HEIGHT_MM = 20.0, 6.0
"""The same with the words beside it, on a level seam: over the check scale of the sheet above there is so much room."""
_MARK_WORDS_PT = 6.0
_LINE_MM = 2.7
_SCALE_ROOM_MM = (14.0, 7.0)
"""Across a scale with its numbers: beside an upright one, over a level one."""
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
    def is_level(self) -> bool:
        return self.pages[0][0] != self.pages[1][0]

    @property
    def box(self) -> Box:
        x, y = self.at
        if self.is_level:
            half = 0.5 * _LEVEL_HEIGHT_MM
            return (x - half, y - half, x - half + _LEVEL_WIDTH_MM, y + half)
        high = y + _HALF_MM + 0.4
        return (x - 0.5 * _WIDTH_MM, high - _HEIGHT_MM, x + 0.5 * _WIDTH_MM, high)


def page_words(page: Page) -> str:
    return f"{page[0] + 1}-{page[1] + 1}"


def joins_of(tiling: Tiling, pages: Sequence[Page], keep_out: KeepOut) -> tuple[Join, ...]:
    seams = [(a, b) for a in pages for b in tiling.neighbours(a) if a < b and b in pages]
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
    # Crosses of marks along the overlap, without its ends, where four sheets may lie on one another.
    (left, bottom, right, top), end = tiling.window(seam[1]), OVERLAP_MM + _AIR_MM
    over_box = _HEIGHT_MM - _HALF_MM - 0.4
    if seam[0][0] == seam[1][0]:
        low = max(bottom, tiling.window(seam[0])[1], tiling.cell(seam[0])[1] - OVERLAP_MM)
        y = np.arange(low + end + over_box, top - end - _HALF_MM - 0.4, _STEP_MM)
        return np.column_stack((np.full(len(y), left + 0.5 * OVERLAP_MM), y))
    half = 0.5 * _LEVEL_HEIGHT_MM
    x = np.arange(left + end + half, right - end + half - _LEVEL_WIDTH_MM, _STEP_MM)
    return np.column_stack((x, np.full(len(x), top - 0.5 * (OVERLAP_MM - _SCALE_ROOM_MM[1]))))


def join_items(join: Join, page: Page) -> list[Item]:
    at, (x, y) = np.array(join.at), join.at
    other = join.pages[1] if page == join.pages[0] else join.pages[0]
    tips = at + _HALF_MM * np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)])
    lines = (f"{join.letter}: joins", f"sheet {page_words(other)}")
    align: Align = "left" if join.is_level else "center"
    start, first = (x + _HALF_MM + 0.8, y + 0.4) if join.is_level else (x, y - _HALF_MM - _LINE_MM)
    return [
        Stroke(tips, pens.PRINT_JOIN, "join diamond"),
        *cross(at, _HALF_MM, pens.PRINT_JOIN, "join cross"),
        *(
            Label(text, (start, first - i * _LINE_MM), _MARK_WORDS_PT, pens.INK, align=align, name="join")
            for i, text in enumerate(lines)
        ),
    ]


def cut_edges(pages: Sequence[Page], page: Page) -> list[str]:
    """Where a sheet is cut: it lies over those at its left and above."""
    row, column = page
    return [way for way, other in (("left", (row, column - 1)), ("top", (row - 1, column))) if other in pages]


def edge_items(tiling: Tiling, pages: Sequence[Page], page: Page) -> list[Item]:
    """The window's frame, lines to cut along at the left and the top, and where the next sheets' cut edges go."""
    window, (row, column) = tiling.window(page), page
    left, bottom, right, top = window
    cuts = {"left": ((left, bottom), (left, top)), "top": ((left, top), (right, top))}
    x, y = tiling.window((row, column + 1))[0], tiling.window((row + 1, column))[3]
    edges = {(row, column + 1): ((x, bottom), (x, top)), (row + 1, column): ((left, y), (right, y))}
    return [
        Shape((rectangle(window),), pen=pens.PRINT_FRAME, name="frame"),
        *(Stroke(np.array(cuts[way]), pens.PRINT_CUT, "cut") for way in cut_edges(pages, page)),
        *(Stroke(np.array(line), pens.PRINT_EDGE, "next edge") for other, line in edges.items() if other in pages),
    ]


# Check scales of a template: 100 mm or 4 in, along two edges of every window, to be measured before anything is cut.

_SCALE_WORDS_PT = 6.5
_TICK_MM = 3.0
"""Length of the longest ticks, those at the ends."""
_PLACES_TRIED = 41
_CLEAR_MM = 12.0


@dataclass(frozen=True)
class _Ruler:
    """What a check scale shows. numbers: those written along it, evenly; parts: between two of them."""

    length_mm: float
    numbers: tuple[int, ...]
    parts: int

    @property
    def ticks(self) -> tuple[tuple[float, float], ...]:
        count = (len(self.numbers) - 1) * self.parts
        inner = [0.75, *(0.5 if i == self.parts // 2 else 0.35 for i in range(1, self.parts))]
        shares = (1.0, *(inner[i % self.parts] for i in range(1, count)), 1.0)
        return tuple((self.length_mm * i / count, _TICK_MM * share) for i, share in enumerate(shares))


_RULERS: dict[Units, _Ruler] = {
    "mm": _Ruler(100.0, (0, 50, 100), 10),
    "in": _Ruler(4.0 * MM_PER_INCH, (0, 1, 2, 3, 4), 8),
}


@dataclass(frozen=True)
class Scale:
    """A check scale. start: its lower or left end, mm in the layout's frame; upright: along the right of a window."""

    units: Units
    start: Point
    upright: bool

    @property
    def box(self) -> Box:
        (x, y), length = self.start, _RULERS[self.units].length_mm
        if self.upright:
            return (x - _SCALE_ROOM_MM[0], y - 2.0, x, y + length + 2.0)
        return (x - 2.0, y, x + length + 5.0, y + _SCALE_ROOM_MM[1])


def scales_of(tiling: Tiling, page: Page, centres: Floats, units: Units) -> tuple[Scale, Scale]:
    """The scales of a sheet, inside the lower and the right edge of its window: midway, or clear of the centres."""
    left, bottom, right, top = tiling.window(page)
    length = _RULERS[units].length_mm
    shares = np.linspace(0.05, 0.95, _PLACES_TRIED)
    shares = shares[np.argsort(np.abs(shares - 0.5), kind="stable")].tolist()
    level = [Scale(units, (left + share * (right - left - length), bottom), False) for share in shares]
    upright = [Scale(units, (right, bottom + share * (top - bottom - length)), True) for share in shares]
    first, second = (max(places, key=lambda each: _clearance_mm(each, centres)) for places in (level, upright))
    return first, second


def _clearance_mm(scale: Scale, centres: Floats) -> float:
    """From its numbers to the nearest centre, as far as it matters; worst of all where a centre stands in its room."""
    ruler, along = _RULERS[scale.units], np.array((0.0, 1.0) if scale.upright else (1.0, 0.0))
    middle = np.array(scale.start) + 0.5 * np.array(_SCALE_ROOM_MM) * (np.array((-1.0, 1.0)) * along[::-1])
    numbers = middle + ruler.length_mm * np.linspace(0.0, 1.0, len(ruler.numbers))[:, None] * along
    away = np.hypot(*np.moveaxis(numbers[:, None] - centres, -1, 0)).min(initial=np.inf)
    covers = any(holds(scale.box, (x, y)) for x, y in centres.tolist())
    return float(np.minimum(away, _CLEAR_MM)) - _FAR_MM * covers


def scale_items(scale: Scale) -> list[Item]:
    ruler = _RULERS[scale.units]
    along, side = ((0.0, 1.0), (-1.0, 0.0)) if scale.upright else ((1.0, 0.0), (0.0, 1.0))
    at, unit, across = np.array(scale.start), np.array(along), np.array(side)
    line = Stroke(np.stack((at, at + ruler.length_mm * unit)), pens.PRINT_SCALE, f"check scale {scale.units}")
    ticks = [at + place * unit + np.outer((0.0, high), across) for place, high in ruler.ticks]
    items: list[Item] = [line, *(Stroke(tick, pens.PRINT_SCALE, "tick") for tick in ticks)]
    last = ruler.numbers[-1]
    for number in ruler.numbers:
        x, y = (at + ruler.length_mm * number / last * unit + (_TICK_MM + 0.8) * across).tolist()
        words, y = f"{number} {scale.units}" if number == last else str(number), y - 0.8 * scale.upright
        align: Align = "right" if scale.upright else "center"
        items.append(Label(words, (x, y), _SCALE_WORDS_PT, pens.INK, number == last, align, "scale"))
    return items
