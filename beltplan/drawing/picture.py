"""A template: a route at full scale over sheets of paper, with its labels, each sheet a scene in mm, as a PDF file."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from beltplan.drawing.control import Control, place_words, told
from beltplan.drawing.marks import Join, Scale, edge_items, join_items, joins_of, scale_items, scales_of
from beltplan.drawing.paper import MARGIN_MM, Page, Sheet, Tiling, pages_kept, sheets_needed, tiling_of
from beltplan.drawing.strip import Heading, strip_items, strip_mm
from beltplan.drawing.strokes import CROSS_MM, FULL_SIZE, Drawing, cut, holds, window_items
from beltplan.drive.layout import Circle, Obstacle, Units
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.files import write_whole
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.framing import obstacle_outline
from beltplan.picture.labels import Anchor, KeepOut, LabelBlock, Line, Writer, edge_anchors, hits, name_lines
from beltplan.picture.painter import document_bytes
from beltplan.picture.paper import MM_PT, PAPERS, Paper
from beltplan.picture.scene import Box, Item, Label, Scene, Stroke, box_round, grown, seen, seen_box

# What is written at centres and obstacles, each label whole on at least one sheet; in points.

_NAME_PT, _TEXT_PT = 9.0, 7.0
_NAME_WIDTH_PT = 130.0
_BESIDE_PT = 1.6 * MM_PT
"""From a cross to a label between two of its arms."""
_ROUND_PT = (CROSS_MM + 1.0) * MM_PT
"""Other labels, and leader lines, keep clear of the whole cross."""
_CORNER_GAP_PT = 0.8 * MM_PT
_DISC_PT = 5.0 * MM_PT
"""Round every cross: leader lines of others pass outside."""
_LINE_HALF_PT, _SEAM_HALF_PT = 0.2 * MM_PT, 0.8 * MM_PT
_GROUND_STEP_MM, _LEAST_STEPS = 6.0, 24
_FAR_PT = 3e5
_EDGES_OF_A_CIRCLE = 8
"""At the middles of so many the name of a round obstacle may stand."""


@dataclass(frozen=True, eq=False)
class Note:
    """A label with its leader line, if it has one. box: the room of its words."""

    box: Box
    words: tuple[Label, ...]
    leader: Stroke | None


def keep_out_of(drawing: Drawing, tiling: Tiling, pages: tuple[Page, ...]) -> KeepOut:
    """What marks and labels keep clear of: every stroke, and what is not printed."""
    chains = [FULL_SIZE.at(_coarse(stroke.points)) for stroke in drawing.shown]
    strips = np.concatenate([np.stack((chain[:-1], chain[1:]), axis=1) for chain in chains])
    left, bottom, right, top = seen_box(tiling.whole, FULL_SIZE)
    over, under = (left - _FAR_PT, top, right + _FAR_PT, _FAR_PT), (left - _FAR_PT, -_FAR_PT, right + _FAR_PT, bottom)
    blank = [seen_box(tiling.cell(page), FULL_SIZE) for page in tiling.pages if page not in pages]
    # Each counted so often that a leader line rather crosses the belt than another cross.
    discs = np.insert(np.tile(FULL_SIZE.at(drawing.centres), (4, 1)), 2, _DISC_PT, axis=1)
    boxes = np.array([over, under, *blank])
    return KeepOut(discs, strips, np.full(len(strips), _LINE_HALF_PT), left, right, boxes=boxes)


def _coarse(points: Floats) -> Floats:
    # A point every few mm is enough to keep text clear.
    if len(points) < 6:
        return points
    along = np.concatenate(((0.0,), np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    every = np.linspace(0.0, along[-1], max(_LEAST_STEPS, int(along[-1] / _GROUND_STEP_MM)))
    return np.asarray(points[np.unique(np.searchsorted(along, every).clip(0, len(points) - 1))])


def with_seams(keep_out: KeepOut, tiling: Tiling) -> KeepOut:
    left, bottom, right, top = tiling.whole
    across = (tiling.window((0, column))[0] for column in range(1, tiling.columns))
    down = (tiling.window((row, 0))[3] for row in range(1, tiling.rows))
    seams = [*(((x, bottom), (x, top)) for x in across), *(((left, y), (right, y)) for y in down)]
    return keep_out.with_strips(FULL_SIZE.at(np.reshape(seams, (-1, 2, 2))), _SEAM_HALF_PT)


def notes_of(route: Route, drawing: Drawing, keep_out: KeepOut, tiling: Tiling) -> tuple[Note, ...]:
    """Every label: those of centres first, as near as there is room, on the sheet that shows its centre if it can.

    One that stands nearer to another's centre than to its own is asked before that one, where all leaders together
    come out shorter so.
    """
    wanted = list(_wanted(route, drawing))
    centres = shapely.points(FULL_SIZE.at(drawing.centres))
    order, notes = list(range(len(wanted))), _noted(wanted, drawing, keep_out, tiling)
    for label in range(len(centres)):
        box = shapely.box(*notes[label].box)
        robber = int(np.argmin(shapely.distance(box, centres)))
        if robber != label and order.index(robber) < order.index(label):
            before = [each for each in order if each != label]
            before.insert(before.index(robber), label)
            laid = _noted([wanted[each] for each in before], drawing, keep_out, tiling)
            told = [laid[before.index(each)] for each in range(len(wanted))]
            if sum(map(_led, told)) < sum(map(_led, notes)):
                order, notes = before, told
    return tuple(notes)


def _led(note: Note) -> float:
    return 0.0 if note.leader is None else float(np.hypot(*(note.leader.points[-1] - note.leader.points[0])))


def _noted(
    wanted: Sequence[tuple[LabelBlock, tuple[Anchor, ...]]], drawing: Drawing, keep_out: KeepOut, tiling: Tiling
) -> list[Note]:
    """Labels one after the other, each clear of those before."""
    notes: list[Note] = []
    blank, whole = keep_out.boxes, seen_box(tiling.whole, FULL_SIZE)
    cells = [seen_box(tiling.cell(page), FULL_SIZE) for page in tiling.pages]
    centres = shapely.points(FULL_SIZE.at(drawing.centres))
    for block, anchors in wanted:
        cell = next(cell for cell in cells if holds(cell, anchors[0].at))
        here = [anchor for anchor in anchors if holds(cell, anchor.at)]
        note = _placed(block, here, _only(keep_out, cell))
        # A leader line keeps clear of its own cross.
        led = [] if note.leader is None else shapely.distance(shapely.LineString(note.leader.points), centres)
        if not _within(note.box, cell) or np.any(np.array(led) < _DISC_PT):
            note = _placed(block, anchors, keep_out)
        # Too crowded: over lines, but clear of the crosses, the other labels and the seams. Hopeless: over labels.
        bare = _bare(keep_out, drawing)
        for crowded in (bare, replace(bare, boxes=blank)):
            if not _within(note.box, whole):
                note = _placed(block, anchors, crowded)
        keep_out = keep_out.with_box(note.box)
        if note.leader is not None:
            keep_out = keep_out.with_leader(note.leader.points)
        notes.append(note)
    return notes


def _placed(block: LabelBlock, anchors: Sequence[Anchor], keep_out: KeepOut) -> Note:
    writer = Writer(keep_out, pens.PRINT_LEADER)
    if (box := _in_a_corner(block, anchors[0], keep_out)) is not None:
        writer.put(block, box, "left" if box[0] > anchors[0].at[0] else "right")
    else:
        writer.beside(block, *anchors)
    leaders = [item for item in writer.items if isinstance(item, Stroke)]
    words = tuple(item for item in writer.items if isinstance(item, Label))
    return Note(box_round(writer.keep_out.boxes[-1].reshape(2, 2)), words, leaders[0] if leaders else None)


def _in_a_corner(block: LabelBlock, anchor: Anchor, keep_out: KeepOut) -> Box | None:
    # Best of all: between two arms of the cross, without a leader line.
    x, y = anchor.at
    width, height = block.width_pt, block.height_pt
    over, under, right, left = y + _BESIDE_PT, y - _BESIDE_PT - height, x + _BESIDE_PT, x - _BESIDE_PT - width
    low = np.array([(right, over), (left, over), (right, under), (left, under)])
    boxes = np.concatenate((low, low + np.array((width, height))), axis=1)
    # Discs round the crosses keep leader lines away; between the arms there is room.
    open_between = replace(keep_out, discs=np.empty((0, 3)))
    free = np.flatnonzero(~hits(open_between, boxes, _CORNER_GAP_PT))
    if anchor.radius != _ROUND_PT or not len(free):
        return None
    return box_round(boxes[free[0]].reshape(2, 2))


def _within(box: Box, room: Box) -> bool:
    return box[0] >= room[0] and box[1] >= room[1] and box[2] <= room[2] and box[3] <= room[3]


def _only(keep_out: KeepOut, cell: Box) -> KeepOut:
    # For labels on one sheet: what lies over and under it is barred, and strokes elsewhere do not matter.
    left, bottom, right, top = cell
    low, high = keep_out.strips.min(axis=1), keep_out.strips.max(axis=1)
    near = (high >= np.array((left, bottom))).all(axis=1) & (low <= np.array((right, top))).all(axis=1)
    bars = np.array([(left, top, right, top + _FAR_PT), (left, bottom - _FAR_PT, right, bottom)])
    on_it = replace(keep_out, strips=keep_out.strips[near], half=keep_out.half[near], left=left, right=right)
    return replace(on_it, boxes=np.concatenate((keep_out.boxes, bars)))


def _bare(keep_out: KeepOut, drawing: Drawing) -> KeepOut:
    crosses = [FULL_SIZE.at(stroke.points) for stroke in drawing.strokes if stroke.name.startswith("cross ")]
    seams = keep_out.half == _SEAM_HALF_PT
    bare = replace(keep_out, strips=keep_out.strips[seams], half=keep_out.half[seams], leaders=np.empty((0, 2, 2)))
    return bare.with_strips(np.array(crosses), _LINE_HALF_PT)


def _wanted(route: Route, drawing: Drawing) -> Iterator[tuple[LabelBlock, tuple[Anchor, ...]]]:
    pulleys = {pulley.name: pulley for pulley in (*route.pulleys, *route.layout.unrouted)}
    units, stops = route.layout.units, iter(route.stop_names)
    for spot in drawing.crosses:
        if spot.layer == "adjuster":
            name = "" if route.moving is None else route.moving.name
            stop = Line(f"at the {next(stops)} stop", _TEXT_PT, pens.ADJUSTER, True)
            lines = [*_name(name, pens.ADJUSTER), stop]
        elif spot.layer == "holes":
            drilled = drawing.drilled[spot.name]
            # Drills are sold in mm as well, wherever a file is in inches.
            beside = f" ({told(drilled, 'mm')} mm)" if units == "in" else ""
            size = f"\u00d8 {told(drilled, units)} {units}{beside}"
            lines = [*_name(spot.name, pens.INK), Line(size, _TEXT_PT, pens.INK)]
        elif spot in drawing.datums:
            lines = [*_name(spot.name, pens.INK), Line("datum point: lay the print on it", _TEXT_PT, pens.INK)]
        elif spot.name in pulleys:
            lines = _pulley_lines(route, pulleys[spot.name])
        else:
            lines = _name(spot.name, pens.INK)
        place = Line(place_words(spot.at_mm, units), _TEXT_PT, pens.INK, name=f"place {spot.name}")
        yield LabelBlock((*lines, place)), (Anchor(FULL_SIZE.at(spot.at_mm), _ROUND_PT, 0.25 * np.pi),)
    for obstacle in route.layout.obstacles:
        pieces = [FULL_SIZE.at(stroke.points) for stroke in drawing.beside.get(obstacle.name, ())]
        if drawing.only is None or pieces:
            yield _obstacle_note(obstacle, units, pieces)


def _pulley_lines(route: Route, pulley: Pulley) -> list[Line]:
    belt, units = route.layout.belt, route.layout.units
    line, rim = pulley.line_diameter_mm(belt), 2.0 * pulley.rim_radius_mm(belt)
    sizes = [f"\u00d8 {told(rim, units)} {units}"]
    if round(line, 2) != round(rim, 2):
        sizes = [f"\u00d8 {told(line, units)} {units} {belt.profile.line_name}", f"rim {sizes[0]}"]
    lines = [*_name(pulley.name, pens.INK), *(Line(words, _TEXT_PT, pens.INK) for words in sizes)]
    if pulley is route.moving:
        lines += [Line(words, _TEXT_PT, pens.INK, True) for words in ("placed by the belt:", "do not punch")]
    if pulley.name not in route.layout.route:
        lines.append(Line("not on this belt", _TEXT_PT, pens.SOFT_INK))
    return lines


def _name(name: str, colour: str) -> list[Line]:
    return name_lines(name, _NAME_PT, _NAME_WIDTH_PT, colour)


def _obstacle_note(obstacle: Obstacle, units: Units, pieces: Sequence[Floats]) -> tuple[LabelBlock, tuple[Anchor, ...]]:
    """Its name and where it is best told. pieces: what the sheets show of one that they do not reach round, points."""
    lines, outline = _name(obstacle.name, pens.SOFT_INK), FULL_SIZE.at(obstacle_outline(obstacle))
    if isinstance(obstacle, Circle):
        lines.append(Line(f"\u00d8 {told(obstacle.diameter_mm, units)} {units}", _TEXT_PT, pens.SOFT_INK))
        outline = outline[:: max(1, len(outline) // _EDGES_OF_A_CIRCLE)]
    round_it = edge_anchors(outline, outward=False)
    cut_off = tuple(Anchor(points[len(points) // 2], 0.0, 0.5 * np.pi) for points in pieces)
    is_whole = len(pieces) == 1 and np.array_equal(pieces[0][0], pieces[0][-1])
    return LabelBlock(tuple(lines)), round_it if is_whole or not pieces else cut_off


# The sheets.

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

    def controls(self, page: Page) -> tuple[Control, ...]:
        """What is measured first on a sheet: the longest distance between dots whose names stand on it too."""
        window = self.tiling.window(page)
        named = zip(self.drawing.crosses, self.notes, strict=False)
        shown = seen_box(window, FULL_SIZE)
        return self.drawing.controls(
            [spot for spot, note in named if holds(window, spot.at_mm) and _within(note.box, shown)]
        )


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
    drawing = replace(drawing, beside=dict(_on_sheets(drawing.beside, tiling, pages)))
    scales = tuple(scales_of(tiling, page, drawing.centres, heading.plan.layout.units) for page in pages)
    keep_out = keep_out_of(drawing, tiling, pages)
    for scale in (scale for both in scales for scale in both):
        keep_out = keep_out.with_box(seen_box(scale.box, FULL_SIZE))
    joins = joins_of(tiling, pages, keep_out)
    for join in joins:
        keep_out = keep_out.with_box(seen_box(join.box, FULL_SIZE))
    notes = notes_of(heading.plan.route, drawing, with_seams(keep_out, tiling), tiling)
    return Template(drawing, tiling, pages, joins, notes, scales)


def _on_sheets(
    beside: Mapping[str, tuple[Stroke, ...]], tiling: Tiling, pages: Sequence[Page]
) -> Iterator[tuple[str, tuple[Stroke, ...]]]:
    room = shapely.union_all([shapely.box(*tiling.cell(page)) for page in pages])
    for name, (stroke,) in beside.items():
        seen = shapely.get_parts(shapely.line_merge(shapely.LineString(stroke.points).intersection(room)))
        yield name, tuple(replace(stroke, points=shapely.get_coordinates(piece)) for piece in seen)


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
        strip = strip_items(heading, template.drawing, template.controls(page), tiling, template.pages, page)
        left, top, (width, height) = window[0] - MARGIN_MM, window[3] + MARGIN_MM, tiling.sheet.size_mm
        frame = seen_box((left, top - height, left + width, top), FULL_SIZE)
        yield Scene(frame, (*seen(items, FULL_SIZE), *notes, *strip), title, view=FULL_SIZE)


def _note_items(note: Note, window: Box, cell: Box) -> list[Item]:
    # Words are whole on a sheet or not on it at all.
    whole = _within(note.box, window)
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
