"""The strip at the foot of every sheet of a template: what it is, how to print and join it, scales and cautions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from beltplan.drawing.marks import INCHES, page_words, scales_across
from beltplan.drawing.paper import STRIP_MM, Page, Tiling
from beltplan.drawing.report import DO_NOT_PUNCH
from beltplan.drawing.strokes import DOT_MM, FULL_SIZE
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.page import Paragraph, stacked
from beltplan.picture.paper import MM_PT
from beltplan.picture.routing import belt_words
from beltplan.picture.scene import (
    Box,
    Item,
    Label,
    Shape,
    Stroke,
    circle,
    cross,
    extent,
    one_line,
    rectangle,
    seen,
    text_width_pt,
)
from beltplan.report.words import PRINT_SAFETY

_PRINT_WORDS = 'Print at 100 % (no "fit to page"); measure the check scale first, both ways.'
_JOIN_WORDS = (
    "Cut off the left and the top along the line. Row by row, lay every sheet over those before it: its cut edge on "
    "their dotted line, equal letters meeting. Tape."
)
_ONE_SHEET_WORDS = "One sheet holds all of it."
_FRAME_WORDS = "Seen from the front; x right, y up, from the layout's origin."
_LOUD_PT, _TITLE_PT, _STRONG_PT, _TEXT_PT, _SMALL_PT = 12.5, 10.0, 8.5, 7.0, 6.5
_MAP_MM = (26.0, 14.5)
_LEGEND_MM = 7.0
_GAP_MM = 2.0
_LEGEND = (
    (pens.PRINT_BELT_LINE, "belt line"),
    (pens.PRINT_BELT_FACE, "belt faces"),
    (pens.PRINT_RIM, "rims"),
    (pens.PRINT_ADJUSTER, "adjuster: stops, travel"),
    (pens.PRINT_OBSTACLE, "obstacles"),
    (pens.PRINT_CROSS, "centre; dot: punch here"),
)


@dataclass(frozen=True)
class Heading:
    """What every sheet says. checked: what the checks came to; belt: the belt that is drawn."""

    title: str
    variant: str
    printed: date
    checked: str
    belt: str

    @property
    def stops(self) -> bool:
        """Whether nothing may be punched yet: then it is the loudest of all that a sheet says."""
        return self.checked.startswith(DO_NOT_PUNCH)


def heading_of(route: Route, printed: date, checked: str) -> Heading:
    """The heading of a route's template, printed on a day."""
    layout = route.layout
    return Heading(layout.title, layout.variant or "", printed, checked, belt_words(route))


def strip_items(
    heading: Heading, tiling: Tiling, pages: tuple[Page, ...], page: Page, line: tuple[Floats, ...], control: str
) -> list[Item]:
    """The strip of one sheet. line: the belt's path, for the small map of the sheets. control: what to measure."""
    left, top = tiling.window(page)[0], tiling.window(page)[1] - 1.0
    right, foot = left + tiling.sheet.window_mm[0], tiling.window(page)[1] - STRIP_MM
    colour = pens.PROBLEM if heading.stops else pens.INK
    words = (
        Paragraph(heading.checked, _LOUD_PT if heading.stops else _STRONG_PT, colour, True, name="checked"),
        *([Paragraph(control, _TEXT_PT, pens.INK, True, name="control")] if control else []),
        Paragraph(f"{heading.belt}. {_FRAME_WORDS}", _TEXT_PT, pens.SOFT_INK, name="belt"),
        Paragraph(PRINT_SAFETY, _TEXT_PT, pens.INK, True, name="caution"),
    )
    beside, low = left + INCHES.length_mm + 3.0, foot + 4.2
    small = _map_items(tiling, pages, page, line, (beside, low, beside + _MAP_MM[0], low + _MAP_MM[1]))
    rest = extent(small)[2] + _GAP_MM
    joining = Paragraph(_JOIN_WORDS if len(pages) > 1 else _ONE_SHEET_WORDS, _SMALL_PT, pens.INK, name="joining")
    heads = _head(heading, tiling, pages, page, (left, right), top)
    items = [*heads, *scales_across(left, foot + 18.6), *small, *_legend(left, foot + 0.8)]
    texts = [*_set(words, left, top - 9.0, right), *_set((joining,), rest, foot + 19.2, right)]
    return [*seen(items, FULL_SIZE), *texts]


def _set(words: tuple[Paragraph, ...], left: float, top: float, right: float) -> list[Item]:
    """Paragraphs between two edges from a height on, given in mm, set in points."""
    return stacked(words, left * MM_PT, top * MM_PT, (right - left) * MM_PT)[0]


def _head(
    heading: Heading, tiling: Tiling, pages: tuple[Page, ...], page: Page, edges: tuple[float, float], top: float
) -> list[Label]:
    left, right = edges
    place = f"row {page[0] + 1} of {tiling.rows}, column {page[1] + 1} of {tiling.columns}"
    day = f"{heading.printed.isoformat()}, sheet {page_words(page)} ({pages.index(page) + 1} of {len(pages)})"
    room_pt = (right - left - _GAP_MM) * MM_PT - text_width_pt(day, _TEXT_PT)
    return [
        Label(_title(heading, room_pt), (left, top - 3.7), _TITLE_PT, pens.INK, True, name="title"),
        Label(_PRINT_WORDS, (left, top - 8.0), _STRONG_PT, pens.INK, True, name="print"),
        Label(place, (right, top - 8.0), _STRONG_PT, pens.INK, True, "right", "place"),
        Label(day, (right, top - 3.7), _TEXT_PT, pens.INK, align="right", name="date"),
    ]


def _title(heading: Heading, room_pt: float) -> str:
    # A long title is cut, but not the variant: it is what tells two prints apart.
    variant = one_line(f" - {heading.variant}") if heading.variant else ""
    title = one_line(heading.title)
    ends = "..." + (f" {variant}" if variant else "")
    whole = f"{title} {variant}".strip()
    if text_width_pt(whole, _TITLE_PT, True) <= room_pt:
        return whole
    while title and text_width_pt(title + ends, _TITLE_PT, True) > room_pt:
        title = title[:-1]
    return title.rstrip() + ends


def _map_items(tiling: Tiling, pages: tuple[Page, ...], page: Page, line: tuple[Floats, ...], box: Box) -> list[Item]:
    """A small map of the sheets with the belt's path: this one framed twice, those left out crossed through."""
    whole = tiling.whole
    scale = min((box[2] - box[0]) / (whole[2] - whole[0]), (box[3] - box[1]) / (whole[3] - whole[1]))
    origin = np.array((box[0], box[3])) - scale * np.array((whole[0], whole[3]))
    items: list[Item] = [Stroke(origin + scale * points, pens.PRINT_FRAME, "map line") for points in line]
    for each in tiling.pages:
        ring = origin + scale * rectangle(tiling.cell(each))
        items.append(Shape((ring,), pen=pens.PRINT_FRAME, name=f"map {page_words(each)}"))
        if each not in pages:
            items += [Stroke(ring[[i, i + 2]], pens.PRINT_FRAME, "map left out") for i in (0, 1)]
    here = origin + scale * rectangle(tiling.cell(page))
    return [*items, Shape((here,), pen=pens.PRINT_BELT_LINE, name="map here")]


def _legend(left: float, y: float) -> list[Item]:
    items: list[Item] = []
    x = left
    for pen, words in _LEGEND:
        start, end = (x, y + 0.9), (x + _LEGEND_MM, y + 0.9)
        items.append(Stroke(np.array((start, end)), pen, "legend"))
        if pen is pens.PRINT_CROSS:
            middle = (x + 0.5 * _LEGEND_MM, y + 0.9)
            items += cross(middle, 1.5, pen, "legend")
            items.append(Shape((circle(middle, DOT_MM),), pens.INK, name="legend"))
        items.append(Label(words, (x + _LEGEND_MM + 1.0, y), _SMALL_PT, pens.SOFT_INK, name="legend"))
        x += _LEGEND_MM + 1.0 + text_width_pt(words, _SMALL_PT) / MM_PT + _GAP_MM
    return items
