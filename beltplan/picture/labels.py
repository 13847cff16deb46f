"""Labels: a few short lines as one box, and where it can go, clear of everything drawn and placed before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import shapely

from beltplan.geometry.vectors import TURN, Bools, Floats, cross, from_angle, norm
from beltplan.picture import pens, scene
from beltplan.picture.page import MARK_PT, Mark
from beltplan.picture.pens import Pen

_DIRECTIONS = 48
_LONGEST_TRIES = 40
_PLACES_BELOW = 48
_CROSSED_BELT_PT, _CROSSED_DISC_PT, _CROSSED_AREA_PT = 45.0, 90.0, 60.0
"""Leader over a span, a pulley, an obstacle: as bad as that much further away."""
_ANOTHERS_PT, _READ_FROM_PT = 22.0, 20.0
"""A label hardly further from a small area than from its own thing: as bad as that much further away."""
_TURNED_AWAY_PT = 22.0
"""A label straight behind its anchor, seen from the wanted direction: as bad as that much further away."""
_FIRST_PT, _RING_PT, _LED_PT = 4.0, 9.0, 6.0
"""The nearest ring of places, from one to the next, and from how far on a label has a leader."""
_AIR_PT, _LEADER_AIR_PT = 3.0, 1.5
_DOT_PT = 1.8
"""A leader ends in a dot on what it belongs to, so that it is no line of the drawing."""


@dataclass(frozen=True, eq=False)
class KeepOut:
    """What labels keep clear of, all in points.

    discs: (m, 3) x, y, radius. strips: (k, 2, 2) their ends, half: (k) of their widths; leaders may cross them at a
    cost. areas: closed areas. boxes: (b, 4) of labels placed. leaders: (l, 2, 2). left, right: edges that no label
    passes.
    """

    discs: Floats
    strips: Floats
    half: Floats
    left: float
    right: float
    areas: tuple[shapely.Polygon, ...] = ()
    boxes: Floats = field(default_factory=lambda: np.zeros((0, 4)))
    leaders: Floats = field(default_factory=lambda: np.zeros((0, 2, 2)))

    def with_strips(self, ends: Floats, half: float) -> KeepOut:
        """The same with more strips of one width, (n, 2, 2)."""
        more = np.full(len(ends), half)
        return replace(self, strips=np.concatenate((self.strips, ends)), half=np.append(self.half, more))

    def with_box(self, box: scene.Box) -> KeepOut:
        return replace(self, boxes=np.concatenate((self.boxes, np.array([box]))))

    def with_leader(self, ends: Floats) -> KeepOut:
        return replace(self, leaders=np.concatenate((self.leaders, ends[None])))

    @cached_property
    def tree(self) -> tuple[shapely.STRtree, Floats]:
        """Everything but the discs, to be searched by place; how far each reaches beyond its own points."""
        lines = shapely.linestrings(np.concatenate((self.strips, self.leaders)))
        things = [*lines, *shapely.box(*self.boxes.T), *self.areas]
        return shapely.STRtree(things), np.append(self.half, np.zeros(len(things) - len(self.half)))

    @cached_property
    def label_tree(self) -> shapely.STRtree:
        """The labels placed, with the air that leaders leave them."""
        return shapely.STRtree(shapely.box(*_grown(self.boxes, _LEADER_AIR_PT).T))

    @cached_property
    def area_tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.areas)


def areas_of(outlines: Iterable[Floats]) -> tuple[shapely.Polygon, ...]:
    return tuple(shapely.Polygon(outline) for outline in outlines if len(outline) > 2)


@dataclass(frozen=True, eq=False)
class Anchor:
    """What a label belongs to: a disc (radius 0 for a point), and the direction in which the label is best put."""

    at: scene.Point | Floats
    radius: float
    toward_rad: float

    @staticmethod
    def away(at: Floats, radius: float, middle: Floats) -> Anchor:
        """A disc whose label is best put on the side away from some point."""
        x, y = at - middle
        return Anchor(at, radius, float(np.arctan2(y, x)))


def place(keep_out: KeepOut, anchors: Sequence[Anchor], width: float, height: float) -> tuple[scene.Box, Floats | None]:
    """The best free place for a label of a given size; the ends of its leader, (2, 2), None where it stands close by.

    Tries rings of growing distance round every anchor until one ring has a free place; there is always one, as
    nothing stands far above or below the drawing. The same keep-out gives the same place.
    """
    best: tuple[float, scene.Box, Floats, float] | None = None
    for ring in range(_LONGEST_TRIES):
        gap = _FIRST_PT + _RING_PT * ring
        if best is not None and best[0] <= gap:
            break
        for anchor in anchors:
            found = _best_on_ring(keep_out, anchor, gap, (width, height))
            if found is not None and (best is None or found[0] < best[0]):
                best = (*found, gap)
    if best is None:
        return _below(keep_out, anchors, (width, height))
    _, box, leader, gap = best
    return box, leader if gap > _LED_PT else None


def _best_on_ring(
    keep_out: KeepOut, anchor: Anchor, gap: float, size: scene.Point
) -> tuple[float, scene.Box, Floats] | None:
    turn = np.linspace(0.0, TURN, _DIRECTIONS, endpoint=False)
    unit = from_angle(anchor.toward_rad + turn)
    half = 0.5 * np.array(size)
    middle = np.array(anchor.at) + _reach(unit, half, anchor.radius + gap)[:, None] * unit
    boxes = np.concatenate((middle - half, middle + half), axis=-1)
    free = np.flatnonzero(~hits(keep_out, boxes, _AIR_PT))
    if len(free):
        free = free[~_over_labels(keep_out, _leaders(anchor, boxes[free]))]
    if not len(free):
        return None
    boxes, ends = boxes[free], _leaders(anchor, boxes[free])
    cost = gap + _TURNED_AWAY_PT * 0.5 * (1.0 - np.cos(turn[free]))
    cost += _crossing_cost(keep_out, anchor, ends) + _ANOTHERS_PT * _nearer_to_another(keep_out, anchor, boxes, gap)
    first = int(np.argmin(cost))
    return float(cost[first]), scene.box_round(boxes[first].reshape(2, 2)), ends[first]


def _reach(unit: Floats, half: Floats, clear: float) -> Floats:
    # How far along each direction the box's middle must go to stay `clear` of the anchor's centre: exact for a disc.
    along = np.maximum(np.abs(unit), 1e-12)
    # The disc touches an edge where that is the nearest part of the box, else a corner.
    edge = (half + clear) / along
    beside = edge * along[:, ::-1] <= half[::-1]
    inward = along @ half
    corner = inward + np.sqrt(np.maximum(inward**2 - half @ half + clear**2, 0.0))
    return np.where(beside[:, 0], edge[:, 0], np.where(beside[:, 1], edge[:, 1], corner))


def _leaders(anchor: Anchor, boxes: Floats) -> Floats:
    near = np.clip(np.array(anchor.at), boxes[:, :2], boxes[:, 2:])
    away = near - np.array(anchor.at)
    size = np.maximum(norm(away), 1e-12)[:, None]
    return np.stack((np.array(anchor.at) + anchor.radius * away / size, near), axis=1)


def hits(keep_out: KeepOut, boxes: Floats, gap: float) -> Bools:
    """Which boxes, (c, 4), come nearer than `gap` to anything to be kept clear of, or pass its edges; (c)."""
    bad = (boxes[:, 0] < keep_out.left) | (boxes[:, 2] > keep_out.right)
    nearest = np.clip(keep_out.discs[:, :2], boxes[:, None, :2], boxes[:, None, 2:])
    bad |= (norm(nearest - keep_out.discs[:, :2]) < keep_out.discs[:, 2] + gap).any(axis=1)
    tree, reach = keep_out.tree
    for by in np.unique(reach):
        left = np.flatnonzero(~bad)
        which, thing = tree.query(shapely.box(*_grown(boxes[left], gap + by).T), predicate="intersects")
        bad[left[which[reach[thing] == by]]] = True
    return np.asarray(bad)


def lies_inside(box: scene.Box, outline: Floats, gap: float) -> bool:
    """Whether a box lies in a closed area, and no nearer to its outline, (n, 2), than a gap."""
    return bool(shapely.Polygon(outline).contains_properly(shapely.box(*_grown(np.array(box), gap))))


def _grown(boxes: Floats, by: float) -> Floats:
    return boxes + by * np.array([-1.0, -1.0, 1.0, 1.0])


def _crossing_cost(keep_out: KeepOut, anchor: Anchor, ends: Floats) -> Floats:
    leaders, discs = shapely.linestrings(ends), keep_out.discs
    strips = _segments_meet(ends, keep_out.strips).sum(axis=1)
    others = discs[norm(discs[:, :2] - np.array(anchor.at)) >= 1e-6]
    covered = (shapely.distance(leaders[:, None], shapely.points(others[:, :2])) < others[:, 2]).sum(axis=1)
    which, _ = keep_out.area_tree.query(leaders, predicate="crosses")
    areas = np.bincount(which, minlength=len(ends))
    return np.asarray(_CROSSED_BELT_PT * strips + _CROSSED_DISC_PT * covered + _CROSSED_AREA_PT * areas)


def _nearer_to_another(keep_out: KeepOut, anchor: Anchor, boxes: Floats, gap: float) -> Bools:
    """Which boxes, (c, 4), would be read as the name of a thing no larger, which is not the one at the anchor; (c)."""
    label = float(np.prod(boxes[0, 2:] - boxes[0, :2]))
    own = keep_out.area_tree.query(shapely.Point(anchor.at).buffer(anchor.radius + 1.0), predicate="intersects")
    which, area = keep_out.area_tree.query(shapely.box(*_grown(boxes, gap + _READ_FROM_PT).T), predicate="intersects")
    return np.isin(np.arange(len(boxes)), which[~np.isin(area, own) & (shapely.area(keep_out.areas)[area] <= label)])


def _segments_meet(ends: Floats, others: Floats) -> Bools:
    between = others[None, :, 0] - ends[:, None, 0]
    a, b = (ends[:, 1] - ends[:, 0])[:, None], (others[:, 1] - others[:, 0])[None]
    across = cross(a, b)
    safe = np.where(np.abs(across) < 1e-12, np.inf, across)
    t, u = cross(between, b) / safe, cross(between, a) / safe
    return np.asarray((t > 0.02) & (t < 1.0) & (u > 0.0) & (u < 1.0))


def _over_labels(keep_out: KeepOut, ends: Floats) -> Bools:
    """Which leaders, (c, 2, 2), run through labels placed before, or over their leaders; (c)."""
    which, _ = keep_out.label_tree.query(shapely.linestrings(ends), predicate="intersects")
    met = _segments_meet(ends, keep_out.leaders).any(axis=1)
    return np.asarray(met | np.isin(np.arange(len(ends)), which))


def _below(keep_out: KeepOut, anchors: Sequence[Anchor], size: scene.Point) -> tuple[scene.Box, Floats]:
    """Under everything, as near as a leader gets without running through a label; as near as can be where none does."""
    lows = (keep_out.discs[:, 1] - keep_out.discs[:, 2], shapely.bounds(keep_out.tree[0].geometries)[:, 1])
    low = float(np.concatenate(lows).min()) - 8.0
    left = np.linspace(keep_out.left, max(keep_out.left, keep_out.right - size[0]), _PLACES_BELOW)
    level = np.full(_PLACES_BELOW, low)
    boxes = np.column_stack((left, level - size[1], left + size[0], level))
    ends = np.concatenate([_leaders(anchor, boxes) for anchor in anchors])
    length = norm(ends[:, 1] - ends[:, 0])
    first = int(np.argmin(length + 2.0 * length.max() * _over_labels(keep_out, ends)))
    return scene.box_round(boxes[first % _PLACES_BELOW].reshape(2, 2)), ends[first]


def clear_pieces(keep_out: KeepOut, leader: Floats, gap: float) -> list[Floats]:
    """A leader line, (2, 2), broken where it would run through labels or nearer than a gap; each piece (2, 2)."""
    line, boxes = shapely.LineString(leader), shapely.box(*_grown(keep_out.boxes, gap).T)
    pieces = shapely.get_parts(line.difference(shapely.union_all(boxes[shapely.intersects(boxes, line)])))
    return [shapely.get_coordinates(piece) for piece in pieces if piece.length > 0.0]


# Label blocks: a few short lines and the marks of findings, laid out as one box.

_LINE_FACTOR, _BASE_EM = 1.28, 0.3
_MARKS_A_ROW = 4
_PAD_PT = 1.5


@dataclass(frozen=True)
class Line:
    text: str
    size_pt: float
    colour: str
    bold: bool = False
    name: str = ""


@dataclass(frozen=True)
class LabelBlock:
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...] = ()
    name: str = ""

    @property
    def width_pt(self) -> float:
        lines = [scene.text_width_pt(line.text, line.size_pt, line.bold) for line in self.lines]
        return max([0.0, *lines, MARK_PT * min(len(self.marks), _MARKS_A_ROW)]) + 2.0 * _PAD_PT

    @property
    def height_pt(self) -> float:
        rows = -(-len(self.marks) // _MARKS_A_ROW)
        return sum(line.size_pt * _LINE_FACTOR for line in self.lines) + rows * MARK_PT + 2.0 * _PAD_PT

    def at(self, middle: Floats | scene.Point) -> scene.Box:
        return scene.box_about(middle, self.width_pt, self.height_pt)

    def items(self, box: scene.Box, align: scene.Align) -> list[scene.Item]:
        left, right, y = box[0] + _PAD_PT, box[2] - _PAD_PT, box[3] - _PAD_PT
        x = {"left": left, "center": 0.5 * (left + right), "right": right}[align]
        items: list[scene.Item] = []
        for line in self.lines:
            y -= line.size_pt * _LINE_FACTOR
            at = (x, y + _BASE_EM * line.size_pt)
            items.append(scene.Label(line.text, at, line.size_pt, line.colour, line.bold, align, line.name))
        for first in range(0, len(self.marks), _MARKS_A_ROW):
            row = self.marks[first : first + _MARKS_A_ROW]
            start = x + {"left": 0.5, "center": 0.5 - 0.5 * len(row), "right": 0.5 - len(row)}[align] * MARK_PT
            y -= MARK_PT
            for i, mark in enumerate(row):
                items += mark.drawn((start + i * MARK_PT, y + 0.5 * MARK_PT), self.name)
        return items


def name_lines(name: str, size_pt: float, width_pt: float, colour: str = pens.INK, bold: bool = True) -> list[Line]:
    return [Line(text, size_pt, colour, bold, f"name {name}") for text in scene.wrapped(name, width_pt, size_pt, bold)]


def edge_anchors(outline: Floats, outward: bool = True) -> tuple[Anchor, ...]:
    """The middles of the edges of an outline, (n, 2); labels stand best outside."""
    middles = 0.5 * (outline + np.roll(outline, -1, axis=0))
    away = (middles - outline.mean(axis=0)) * (1.0 if outward else -1.0)
    return tuple(map(Anchor, middles, np.zeros(len(middles)), np.arctan2(away[:, 1], away[:, 0]).tolist()))


# Writes label blocks one after the other, each clear of all that was drawn and written before.

ALONG = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)
"""Shares of a line at which something may stand on it, the best first."""


class Writer:
    def __init__(self, keep_out: KeepOut, leader: Pen = pens.LEADER) -> None:
        self.keep_out = keep_out
        self.leader = leader
        self.items: list[scene.Item] = []

    def beside(self, block: LabelBlock, *anchors: Anchor, longest_pt: float = np.inf) -> bool:
        """Write a block beside one of its anchors. longest_pt: of its leader; where that would be longer, the block is
        not written. Returns whether it was.
        """
        box, leader = place(self.keep_out, anchors, block.width_pt, block.height_pt)
        if leader is not None and norm(leader[1] - leader[0]) > longest_pt:
            return False
        if leader is not None:
            pieces = clear_pieces(self.keep_out, leader, 1.0)
            self.items += [scene.Stroke(piece, self.leader, "leader") for piece in pieces]
            # A print is punched through where it has dots.
            dot = () if self.leader.dash else (scene.circle(leader[0], _DOT_PT),)
            self.items += [scene.Shape((ring,), self.leader.colour, name="leader end") for ring in dot]
            self.keep_out = self.keep_out.with_leader(leader)
        self.put(block, box, _align(box, float(anchors[0].at[0]) if len(anchors) == 1 else None))
        return True

    def put(self, block: LabelBlock, box: scene.Box, align: scene.Align = "center", plate: bool = False) -> None:
        """Write a block in a box of its size. plate: on paper, where it stands on something drawn."""
        if plate:
            self.items.append(scene.Shape((scene.rectangle(box),), pens.PAPER, name="plate"))
        self.items += block.items(box, align)
        self.keep_out = self.keep_out.with_box(box)

    def on_line(self, block: LabelBlock, points: Iterable[Floats], apart: Bools, plate: bool = True) -> bool:
        """Write a block on the first of some points of a line where it touches none of what is kept clear.

        apart: which strips are no part of that line. Returns whether there was room.
        """
        others = replace(self.keep_out, strips=self.keep_out.strips[apart], half=self.keep_out.half[apart])
        for point in points:
            box = block.at(point)
            if not hits(others, np.array([box]), 1.0)[0]:
                self.put(block, box, plate=plate)
                return True
        return False


def _align(box: scene.Box, x: float | None) -> scene.Align:
    # Text stands flush toward what it belongs to.
    if x is None or box[0] < x < box[2]:
        return "center"
    return "left" if x <= box[0] else "right"
