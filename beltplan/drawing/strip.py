"""The strip at the foot of every sheet of a template: what it is, how to print and join it, scales and cautions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from beltplan.drawing.marks import INCHES, page_words, scales_across
from beltplan.drawing.paper import STRIP_MM, Page, Tiling
from beltplan.drawing.strokes import DOT_MM, MM_PT
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.picture.page import Paragraph, column, extent
from beltplan.picture.routing import belt_words
from beltplan.picture.scene import (
    INK,
    PRINT_ADJUSTER,
    PRINT_BELT_FACE,
    PRINT_BELT_LINE,
    PRINT_CROSS,
    PRINT_FRAME,
    PRINT_OBSTACLE,
    PRINT_RIM,
    SOFT_INK,
    Box,
    Item,
    Label,
    Shape,
    Stroke,
    circle,
    one_line,
    rectangle,
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
_TITLE_PT, _STRONG_PT, _TEXT_PT, _SMALL_PT = 10.0, 8.5, 7.0, 6.5
_MAP_MM = (26.0, 14.5)
_LEGEND_MM = 7.0
_GAP_MM = 2.0
_LEGEND = (
    (PRINT_BELT_LINE, "belt line"),
    (PRINT_BELT_FACE, "belt faces"),
    (PRINT_RIM, "rims"),
    (PRINT_ADJUSTER, "adjuster: stops, travel"),
    (PRINT_OBSTACLE, "obstacles"),
    (PRINT_CROSS, "centre; dot: punch here"),
)


@dataclass(frozen=True)
class Heading:
    """What every sheet says. checked: what the checks came to; belt: the belt that is drawn."""

    title: str
    variant: str
    printed: date
    checked: str
    belt: str


def heading_of(route: Route, printed: date, checked: str) -> Heading:
    """The heading of a route's template, printed on a day."""
    layout = route.layout
    return Heading(layout.title, layout.variant or "", printed, checked, belt_words(route))


def strip_items(
    heading: Heading, tiling: Tiling, pages: tuple[Page, ...], page: Page, line: tuple[Floats, ...]
) -> list[Item]:
    """The strip of one sheet. line: the belt's path, for the small map of the sheets."""
    left, top = tiling.window(page)[0], tiling.window(page)[1] - 1.0
    right = left + tiling.sheet.window_mm[0]
    items: list[Item] = [*_head(heading, tiling, pages, page, (left, right), top)]
    width_pt = (right - left) * MM_PT
    words = (
        Paragraph(heading.checked, _STRONG_PT, INK, True, name="checked"),
        Paragraph(f"{heading.belt}. {_FRAME_WORDS}", _TEXT_PT, SOFT_INK, name="belt"),
        Paragraph(PRINT_SAFETY, _TEXT_PT, INK, True, name="caution"),
    )
    items += column(words, left, top - 9.0, width_pt, MM_PT)
    foot = tiling.window(page)[1] - STRIP_MM
    items += scales_across(left, foot + 18.6)
    beside, low = left + INCHES.length_mm + 3.0, foot + 4.2
    small = _map_items(tiling, pages, page, line, (beside, low, beside + _MAP_MM[0], low + _MAP_MM[1]))
    items += small
    rest = extent(small, MM_PT)[2] + _GAP_MM
    joining = Paragraph(_JOIN_WORDS if len(pages) > 1 else _ONE_SHEET_WORDS, _SMALL_PT, INK, name="joining")
    items += column((joining,), rest, foot + 19.2, (right - rest) * MM_PT, MM_PT)
    return items + _legend(left, foot + 0.8)


def _head(
    heading: Heading, tiling: Tiling, pages: tuple[Page, ...], page: Page, edges: tuple[float, float], top: float
) -> list[Label]:
    left, right = edges
    place = f"row {page[0] + 1} of {tiling.rows}, column {page[1] + 1} of {tiling.columns}"
    day = f"{heading.printed.isoformat()}, sheet {page_words(page)} ({pages.index(page) + 1} of {len(pages)})"
    return [
        Label(_title(heading, (right - left) * MM_PT), (left, top - 3.7), _TITLE_PT, INK, True, name="title"),
        Label(_PRINT_WORDS, (left, top - 8.0), _STRONG_PT, INK, True, name="print"),
        Label(place, (right, top - 8.0), _STRONG_PT, INK, True, "right", "place"),
        Label(day, (right, top - 12.0), _TEXT_PT, INK, align="right", name="date"),
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
    items: list[Item] = [Stroke(origin + scale * points, PRINT_FRAME, "map line") for points in line]
    for each in tiling.pages:
        ring = origin + scale * rectangle(tiling.cell(each))
        items.append(Shape((ring,), pen=PRINT_FRAME, name=f"map {page_words(each)}"))
        if each not in pages:
            items += [Stroke(ring[[i, i + 2]], PRINT_FRAME, "map left out") for i in (0, 1)]
    here = origin + scale * rectangle(tiling.cell(page))
    return [*items, Shape((here,), pen=PRINT_BELT_LINE, name="map here")]


def _legend(left: float, y: float) -> list[Item]:
    items: list[Item] = []
    x = left
    for pen, words in _LEGEND:
        start, end = (x, y + 0.9), (x + _LEGEND_MM, y + 0.9)
        items.append(Stroke(np.array((start, end)), pen, "legend"))
        if pen is PRINT_CROSS:
            middle = x + 0.5 * _LEGEND_MM
            items.append(Stroke(np.array(((middle, y - 0.6), (middle, y + 2.4))), pen, "legend"))
            items.append(Shape((circle((middle, y + 0.9), DOT_MM),), INK, name="legend"))
        items.append(Label(words, (x + _LEGEND_MM + 1.0, y), _SMALL_PT, SOFT_INK, name="legend"))
        x += _LEGEND_MM + 1.0 + text_width_pt(words, _SMALL_PT) / MM_PT + _GAP_MM
    return items
