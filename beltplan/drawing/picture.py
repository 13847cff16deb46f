"""A template: a route at full scale over sheets of paper, each a scene in mm, as a PDF file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from beltplan.drawing.labels import Note, keep_out_of, notes_of, with_seams, within
from beltplan.drawing.marks import Join, Scale, edge_items, join_items, joins_of, scale_items, scales_of
from beltplan.drawing.paper import MARGIN_MM, Page, Sheet, Tiling, pages_kept, sheets_needed, tiling_of
from beltplan.drawing.strip import Heading, strip_items, strip_mm
from beltplan.drawing.strokes import FULL_SIZE, Drawing, cut, holds, window_items
from beltplan.files import write_whole
from beltplan.geometry.vectors import Floats
from beltplan.picture.painter import document_bytes
from beltplan.picture.paper import PAPERS, Paper
from beltplan.picture.scene import Box, Item, Scene, grown, seen, seen_box

_AIR_MM = 4.0
"""Round the drawing, at least."""
MOST_SHEETS = 100


@dataclass(frozen=True, eq=False)
class Template:
    """A drawing, its sheets, and what is written on them. pages: those to print, row by row from the top."""

    drawing: Drawing
    tiling: Tiling
    pages: tuple[Page, ...]
    joins: tuple[Join, ...] = ()
    notes: tuple[Note, ...] = ()
    scales: tuple[tuple[Scale, Scale], ...] = ()

    @property
    def left_out(self) -> tuple[Page, ...]:
        return tuple(page for page in self.tiling.pages if page not in self.pages)


def sheet_counts(drawing: Drawing, heading: Heading) -> dict[str, int]:
    """How many sheets of every paper a drawing takes, by the paper's name, the smallest paper first."""
    box, papers = _room(drawing), sorted(PAPERS, key=lambda paper: paper.width_mm * paper.height_mm)
    return {
        paper.name: min(math.prod(sheets_needed(sheet, box)) for sheet in _sheets(drawing, heading, paper))
        for paper in papers
    }


def _sheets(drawing: Drawing, heading: Heading, paper: Paper) -> list[Sheet]:
    return [Sheet(paper, across, strip_mm(heading, drawing, paper, across)) for across in (False, True)]


def template_of(drawing: Drawing, heading: Heading, paper: Paper) -> Template:
    """The template of a route on a paper, whatever number of sheets it takes. drawing: that of the heading's route."""
    tiling = tiling_of(_sheets(drawing, heading, paper), _room(drawing), drawing.centres)
    homes = {_home(tiling, centre) for centre in drawing.centres}
    drawn = {page for page in tiling.pages if any(cut(stroke, tiling.cell(page)) for stroke in drawing.strokes)}
    pages = pages_kept(tiling, (homes | drawn).__contains__)
    tiling = replace(tiling, first=pages[0])
    scales = tuple(scales_of(tiling, page, drawing.centres, heading.plan.layout.units) for page in pages)
    keep_out = keep_out_of(drawing, tiling, pages)
    for scale in (scale for both in scales for scale in both):
        keep_out = keep_out.with_box(seen_box(scale.box, FULL_SIZE))
    joins = joins_of(tiling, pages, keep_out)
    for join in joins:
        keep_out = keep_out.with_box(seen_box(join.box, FULL_SIZE))
    notes = notes_of(heading.plan.route, drawing, with_seams(keep_out, tiling), tiling)
    return Template(drawing, tiling, pages, joins, notes, scales)


def _room(drawing: Drawing) -> Box:
    return grown(drawing.box, _AIR_MM)


def _home(tiling: Tiling, centre: Floats) -> Page:
    # The sheet on which a cross stands furthest from every edge, so whole.
    def depth(page: Page) -> float:
        window = np.array(tiling.window(page))
        return float(min((centre - window[:2]).min(), (window[2:] - centre).min()))

    return max(tiling.pages, key=depth)


def page_scenes(template: Template, heading: Heading) -> Iterator[Scene]:
    tiling, title = template.tiling, heading.plan.layout.title
    for page, scales in zip(template.pages, template.scales, strict=True):
        window = tiling.window(page)
        items = [*edge_items(tiling, template.pages, page), *window_items(template.drawing, window)]
        items += [item for join in template.joins if page in join.pages for item in join_items(join, page)]
        items += [item for scale in scales for item in scale_items(scale)]
        shown, cell = (seen_box(box, FULL_SIZE) for box in (window, tiling.cell(page)))
        notes = [item for note in template.notes for item in _note_items(note, shown, cell)]
        strip = strip_items(heading, template.drawing, tiling, template.pages, page)
        left, top, (width, height) = window[0] - MARGIN_MM, window[3] + MARGIN_MM, tiling.sheet.size_mm
        frame = seen_box((left, top - height, left + width, top), FULL_SIZE)
        yield Scene(frame, (*seen(items, FULL_SIZE), *notes, *strip), title, view=FULL_SIZE)


def _note_items(note: Note, window: Box, cell: Box) -> list[Item]:
    # Words are whole on a sheet or not on it at all.
    whole = within(note.box, window)
    if note.leader is None:
        return list(note.words) if whole else []
    # A leader line without its words is drawn where it shows the way to the next sheet.
    start, end = ((float(x), float(y)) for x, y in note.leader.points)
    leads = holds(cell, start) or not holds(window, end)
    return [*(cut(note.leader, window) if whole or leads else ()), *(note.words if whole else ())]


# A template as a PDF file.


def write_template(template: Template, heading: Heading, path: str) -> None:
    """Write all sheets, the file whole or not at all. Raises OSError where it cannot be written."""
    write_whole(path, document_bytes(page_scenes(template, heading), heading.plan.layout.title))
