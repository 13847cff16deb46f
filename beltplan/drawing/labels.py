"""What is written at the centres and obstacles of a template, each label whole on at least one sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from beltplan.drawing.paper import Page, Tiling
from beltplan.drawing.strokes import CROSS_MM, MM_PT, Drawing
from beltplan.drawing.study import Spot
from beltplan.drive.belt import MM_PER_INCH, Belt
from beltplan.drive.layout import Circle, Obstacle
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.picture.labels import Anchor, Block, KeepOut, Line, Writer, hits
from beltplan.picture.scene import ADJUSTER, INK, PRINT_LEADER, SOFT_INK, Box, Label, Point, Stroke, wrapped
from beltplan.picture.strokes import obstacle_outline, stop_words

_NAME_PT, _TEXT_PT = 9.0, 7.0
_NAME_WIDTH_PT = 130.0
_BESIDE_MM = 1.6
"""From a cross to a label between two of its arms."""
_ROUND_MM = CROSS_MM + 1.0
"""Other labels, and leader lines, keep clear of the whole cross."""
_CORNER_GAP_MM = 0.8
_DISC_MM = 5.0
"""Round every cross: leader lines of others pass outside."""
_LINE_HALF_MM, _SEAM_HALF_MM = 0.2, 0.8
_GROUND_STEP_MM, _LEAST_STEPS = 6.0, 24
_FAR_MM = 1e5


@dataclass(frozen=True, eq=False)
class Note:
    """A label with its leader line, if it has one. box: the room of its words, mm in the layout's frame."""

    box: Box
    words: tuple[Label, ...]
    leader: Stroke | None


def keep_out_of(drawing: Drawing, tiling: Tiling, pages: tuple[Page, ...]) -> KeepOut:
    """What marks and labels keep clear of: every stroke, and what is not printed."""
    chains = [_coarse(stroke.points) for stroke in drawing.strokes]
    start, end = (np.concatenate([chain[part] for chain in chains]) for part in (slice(-1), slice(1, None)))
    half = np.full(len(start), _LINE_HALF_MM)
    left, bottom, right, top = tiling.whole
    over, under = (left - _FAR_MM, top, right + _FAR_MM, _FAR_MM), (left - _FAR_MM, -_FAR_MM, right + _FAR_MM, bottom)
    blank = [tiling.cell(page) for page in tiling.pages if page not in pages]
    # Each counted so often that a leader line rather crosses the belt than another cross.
    centres = np.tile(drawing.centres, (4, 1))
    return KeepOut(
        centres, np.full(len(centres), _DISC_MM), start, end, half, left, right, boxes=np.array([over, under, *blank])
    )


def _coarse(points: Floats) -> Floats:
    # A point every few mm is enough to keep text clear.
    if len(points) < 6:
        return points
    along = np.concatenate(((0.0,), np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    every = np.linspace(0.0, along[-1], max(_LEAST_STEPS, int(along[-1] / _GROUND_STEP_MM)))
    return np.asarray(points[np.unique(np.searchsorted(along, every).clip(0, len(points) - 1))])


def with_seams(keep_out: KeepOut, tiling: Tiling) -> KeepOut:
    """The same with the seams between sheets: no label lies across one."""
    seams = np.array([*_seams(tiling)]).reshape(-1, 2, 2)
    return replace(
        keep_out,
        start=np.concatenate((keep_out.start, seams[:, 0])),
        end=np.concatenate((keep_out.end, seams[:, 1])),
        half=np.concatenate((keep_out.half, np.full(len(seams), _SEAM_HALF_MM))),
    )


def _seams(tiling: Tiling) -> Iterator[Floats]:
    left, bottom, right, top = tiling.whole
    for column in range(1, tiling.columns):
        x = tiling.window((0, column))[0]
        yield np.array(((x, bottom), (x, top)))
    for row in range(1, tiling.rows):
        y = tiling.window((row, 0))[3]
        yield np.array(((left, y), (right, y)))


def notes_of(route: Route, drawing: Drawing, keep_out: KeepOut, tiling: Tiling) -> tuple[Note, ...]:
    """Every label: those of centres first, as near as there is room, on the sheet that shows its centre if it can."""
    notes: list[Note] = []
    blank, whole = keep_out.boxes, tiling.whole
    for block, anchors in _wanted(route, drawing):
        cell = next(tiling.cell(page) for page in tiling.pages if holds(tiling.cell(page), anchors[0].at))
        here = tuple(anchor for anchor in anchors if holds(cell, anchor.at))
        note = _placed(block, here, _only(keep_out, cell))
        if not within(note.box, cell) or _misleads(note, drawing):
            note = _placed(block, anchors, keep_out)
        if not within(note.box, whole):
            # Too crowded: over lines, but still clear of the crosses, the other labels and the seams.
            note = _placed(block, anchors, _bare(keep_out, drawing))
        if not within(note.box, whole):
            # Hopeless: rather over another label than on no sheet at all.
            note = _placed(block, anchors, replace(_bare(keep_out, drawing), boxes=blank))
        keep_out = keep_out.with_box(note.box)
        if note.leader is not None:
            keep_out = keep_out.with_leader(note.leader.points)
        notes.append(note)
    return tuple(notes)


def _placed(block: Block, anchors: tuple[Anchor, ...], keep_out: KeepOut) -> Note:
    writer = Writer(keep_out, MM_PT)
    if (box := _in_a_corner(block, anchors[0], keep_out)) is not None:
        writer.put(block, box, "left" if box[0] > anchors[0].at[0] else "right")
    else:
        writer.beside(block, anchors)
    x0, y0, x1, y1 = (float(edge) for edge in writer.keep_out.boxes[-1])
    leaders = [Stroke(item.points, PRINT_LEADER, item.name) for item in writer.items if isinstance(item, Stroke)]
    words = tuple(item for item in writer.items if isinstance(item, Label))
    return Note((x0, y0, x1, y1), words, leaders[0] if leaders else None)


def _misleads(note: Note, drawing: Drawing) -> bool:
    # Whether the leader line runs through a cross: it keeps clear of its own.
    if note.leader is None:
        return False
    start, end = note.leader.points
    along = end - start
    share = np.clip((drawing.centres - start) @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
    away = np.hypot(*(drawing.centres - start - share[:, None] * along).T)
    return bool((away < _DISC_MM).any())


def _in_a_corner(block: Block, anchor: Anchor, keep_out: KeepOut) -> Box | None:
    # Best of all: between two arms of the cross, without a leader line.
    x, y = anchor.at
    width, height = block.width_pt / MM_PT, block.height_pt / MM_PT
    over, under, right, left = y + _BESIDE_MM, y - _BESIDE_MM - height, x + _BESIDE_MM, x - _BESIDE_MM - width
    low = np.array([(right, over), (left, over), (right, under), (left, under)])
    boxes = np.concatenate((low, low + np.array((width, height))), axis=1)
    # Discs round the crosses keep leader lines away; between the arms there is room.
    open_between = replace(keep_out, centre=np.empty((0, 2)), radius=np.empty(0))
    free = np.flatnonzero(~hits(open_between, boxes, _CORNER_GAP_MM))
    if anchor.radius != _ROUND_MM or not len(free):
        return None
    x0, y0, x1, y1 = (float(edge) for edge in boxes[free[0]])
    return (x0, y0, x1, y1)


def holds(box: Box, at: Point) -> bool:
    """Whether a point lies in a box."""
    return box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3]


def within(box: Box, room: Box) -> bool:
    """Whether a box lies in another."""
    return box[0] >= room[0] and box[1] >= room[1] and box[2] <= room[2] and box[3] <= room[3]


def _only(keep_out: KeepOut, cell: Box) -> KeepOut:
    # For labels on one sheet: what lies over and under it is barred, and strokes elsewhere do not matter.
    left, bottom, right, top = cell
    low, high = np.minimum(keep_out.start, keep_out.end), np.maximum(keep_out.start, keep_out.end)
    near = (high >= np.array((left, bottom))).all(axis=1) & (low <= np.array((right, top))).all(axis=1)
    bars = np.array([(left, top, right, top + _FAR_MM), (left, bottom - _FAR_MM, right, bottom)])
    return replace(
        keep_out,
        start=keep_out.start[near],
        end=keep_out.end[near],
        half=keep_out.half[near],
        left=left,
        right=right,
        boxes=np.concatenate((keep_out.boxes, bars)),
    )


def _bare(keep_out: KeepOut, drawing: Drawing) -> KeepOut:
    crosses = [stroke.points for stroke in drawing.strokes if stroke.name.startswith("cross ")]
    seams = np.flatnonzero(keep_out.half == _SEAM_HALF_MM)
    start = np.concatenate((np.array([arm[0] for arm in crosses]), keep_out.start[seams]))
    end = np.concatenate((np.array([arm[1] for arm in crosses]), keep_out.end[seams]))
    half = np.concatenate((np.full(len(crosses), _LINE_HALF_MM), keep_out.half[seams]))
    return replace(keep_out, start=start, end=end, half=half, leaders=np.empty((0, 2, 2)))


def _wanted(route: Route, drawing: Drawing) -> Iterator[tuple[Block, tuple[Anchor, ...]]]:
    pulleys = {pulley.name: pulley for pulley in (*route.pulleys, *route.layout.unrouted)}
    stops = iter(stop_words(route))
    for spot in drawing.crosses:
        if spot.layer == "adjuster":
            lines = _stop_lines(route, next(stops), spot)
        elif spot.name in pulleys:
            lines = _pulley_lines(route, pulleys[spot.name], spot)
        else:
            lines = [*_name(spot.name, INK), *_place_lines(spot)]
        yield Block(tuple(lines)), (Anchor(spot.at_mm, _ROUND_MM, 0.25 * np.pi),)
    for obstacle in route.layout.obstacles:
        yield _obstacle_block(obstacle), _obstacle_anchors(obstacle)


def _pulley_lines(route: Route, pulley: Pulley, spot: Spot) -> list[Line]:
    lines = [*_name(pulley.name, INK), *_size_lines(route.layout.belt, pulley), *_place_lines(spot)]
    if pulley is route.moving:
        lines += [Line(words, _TEXT_PT, INK, True) for words in ("placed by the belt:", "do not punch")]
    if pulley.name not in route.layout.route:
        lines.append(Line("not on this belt", _TEXT_PT, SOFT_INK))
    return lines


def _size_lines(belt: Belt, pulley: Pulley) -> list[Line]:
    line, rim = pulley.line_diameter_mm(belt), 2.0 * pulley.rim_radius_mm(belt)
    if round(line, 2) == round(rim, 2):
        return [Line(f"\u00d8 {_mm(rim)} mm ({_inch(rim)} in)", _TEXT_PT, INK)]
    words = (f"\u00d8 {_mm(line)} mm ({_inch(line)} in) {belt.profile.line_name}", f"rim \u00d8 {_mm(rim)} mm")
    return [Line(text, _TEXT_PT, INK) for text in words]


def _stop_lines(route: Route, word: str, spot: Spot) -> list[Line]:
    name = "" if route.moving is None else route.moving.name
    return [*_name(name, ADJUSTER), Line(f"at the {word}-path stop", _TEXT_PT, ADJUSTER, True), *_place_lines(spot)]


def _place_lines(spot: Spot) -> list[Line]:
    x, y = spot.at_mm
    return [
        Line(f"x {_mm(x)}, y {_mm(y)} mm", _TEXT_PT, INK, name=f"place {spot.name}"),
        Line(f"x {_inch(x)}, y {_inch(y)} in", _TEXT_PT, SOFT_INK),
    ]


def _name(name: str, colour: str) -> list[Line]:
    return [
        Line(text, _NAME_PT, colour, True, f"name {name}") for text in wrapped(name, _NAME_WIDTH_PT, _NAME_PT, True)
    ]


def _mm(value: float) -> str:
    return f"{round(value, 2) + 0.0:.10g}"


def _inch(value: float) -> str:
    return f"{round(value / MM_PER_INCH, 3) + 0.0:.3f}"


def _obstacle_block(obstacle: Obstacle) -> Block:
    lines = _name(obstacle.name, SOFT_INK)
    if isinstance(obstacle, Circle):
        lines.append(Line(f"\u00d8 {_mm(obstacle.diameter_mm)} mm", _TEXT_PT, SOFT_INK))
    return Block(tuple(lines))


def _obstacle_anchors(obstacle: Obstacle) -> tuple[Anchor, ...]:
    if isinstance(obstacle, Circle):
        return (Anchor(obstacle.at_mm, 0.5 * obstacle.diameter_mm, 0.5 * np.pi),)
    outline = obstacle_outline(obstacle)
    middles = 0.5 * (outline + np.roll(outline, -1, axis=0))
    inward = outline.mean(axis=0) - middles
    return tuple(
        Anchor((float(x), float(y)), 0.0, float(np.arctan2(v, u)))
        for (x, y), (u, v) in zip(middles, inward, strict=True)
    )
