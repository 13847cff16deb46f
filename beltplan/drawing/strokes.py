"""The parts of a route as thin strokes in mm, and strokes cut at the edges of a box."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

import numpy as np
import shapely

from beltplan.drawing.control import Control, controls_of, laid_off_mm
from beltplan.drawing.study import Layer, Part, Spot, obstacle_part, parts_of, points_along
from beltplan.drive.pulleys import Slide
from beltplan.drive.route import Route
from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.picture import pens
from beltplan.picture.paper import MM_PT
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Box, Item, Point, Shape, Stroke, View, box_round, circle, cross, grown

FULL_SIZE = View(MM_PT)
"""A print is drawn in mm of the layout, and laid on paper by this view."""
CROSS_MM = 6.0
"""Half the length of a centre's cross."""
_STOP_CROSS_MM = 4.0
DOT_MM = 0.4
"""Radius of the dot to punch: smaller than a punch mark, which stays in sight."""
TRIANGLE_MM = 1.5 * from_angle(TURN * np.array((0.25, 0.25 + 1.0 / 3.0, 0.25 + 2.0 / 3.0, 0.25)))
"""Round the dot of a point that a print is laid on: so small that words have room between the arms of the cross."""

PENS: dict[Layer, Pen] = {
    "belt_line": pens.PRINT_BELT_LINE,
    "belt_edges": pens.PRINT_BELT_FACE,
    "pulleys": pens.PRINT_RIM,
    "centres": pens.PRINT_CROSS,
    "adjuster": pens.PRINT_ADJUSTER,
    "obstacles": pens.PRINT_OBSTACLE,
    "holes": pens.PRINT_SCALE,
    "marks": pens.PRINT_CROSS,
}


_NEARLY_AS_SURE = 1.5


@dataclass(frozen=True, eq=False)
class Drawing:
    """Everything drawn of a route, mm in the layout's frame.

    dots: points to punch, and datums, by the name of their cross. A cross without a dot belongs to what moves.
    drilled: diameters of bolt holes and slots, by the name of their cross, mm.
    only: names, where just some pulleys and marks are drawn; datums: points that the print is laid on beside them;
    others: fixed centres and marks left out; beside: outlines of obstacles by their names, so far as the sheets reach.
    """

    strokes: tuple[Stroke, ...]
    crosses: tuple[Spot, ...]
    dots: tuple[Spot, ...]
    drilled: Mapping[str, float]
    only: tuple[str, ...] | None = None
    datums: tuple[Spot, ...] = ()
    others: tuple[Spot, ...] = ()
    beside: Mapping[str, tuple[Stroke, ...]] = field(default_factory=dict)

    @property
    def shown(self) -> tuple[Stroke, ...]:
        return (*self.strokes, *chain.from_iterable(self.beside.values()))

    @property
    def box(self) -> Box:
        return box_round(np.concatenate([stroke.points for stroke in self.strokes]))

    @property
    def own(self) -> tuple[Spot, ...]:
        """The crosses less those of datums."""
        return tuple(spot for spot in self.crosses if spot not in self.datums)

    @property
    def centres(self) -> Floats:
        return np.array([spot.at_mm for spot in self.crosses])

    def controls(self, among: Container[Spot] | None = None) -> tuple[Control, ...]:
        """What is measured before anything is punched: the longest distances of all, or the longest among some dots."""
        layers = ("centres",) if self.only is None else ("centres", "marks", "adjuster")
        most, of = (3, None) if self.only is None else (2, {spot.name for spot in self.own})
        dots = [dot for dot in self.dots if dot.layer in layers and (among is None or dot in among)]
        return controls_of(dots, most if among is None else 1, of)


def drawing_of(route: Route, only: tuple[str, ...] | None = None) -> Drawing:
    """The strokes of a route, each named after its layer and its part: 'pulleys crank'.

    only: names of pulleys and marks; then what is needed round these, two points to lay the print on, and the lines
    between them that are to be measured.
    """
    parts = parts_of(route, only)
    mounts = [(each.name, each.mounted) for each in route.layout.pulleys.values() if only is None or each.name in only]
    bolts = [(f"{name} {hole}", at, size) for name, mount in mounts for hole, at, size in mount.bolts]
    own = _spots(parts) + tuple(Spot("holes", name, at) for name, at, _ in bolts)
    fixed = (spot for spot in _spots(parts_of(route)) if spot.layer != "adjuster" and _is_punched(route, spot))
    rest = tuple(spot for spot in fixed if spot not in own)
    datums = () if only is None else _datums(route, own, rest)
    spots = own + datums
    strokes = [_stroke(part) for part in parts if not isinstance(part, Spot)]
    strokes += [arm for spot in spots for arm in _cross(spot)]
    strokes += [Stroke(spot.at_mm + TRIANGLE_MM, pens.PRINT_CROSS, f"datum {spot.name}") for spot in datums]
    dots = tuple(spot for spot in spots if _is_punched(route, spot))
    others = () if only is None else tuple(spot for spot in rest if spot not in datums)
    drilled = {name: size for name, _, size in bolts}
    beside = {} if only is None else {each.name: (_stroke(obstacle_part(each)),) for each in route.layout.obstacles}
    drawing = Drawing(tuple(strokes), spots, dots, drilled, only, datums, others, beside)
    controls = () if only is None else drawing.controls()
    told = (Stroke(np.array((each.start.at_mm, each.end.at_mm)), pens.PRINT_CONTROL, "control") for each in controls)
    return replace(drawing, strokes=(*drawing.strokes, *told))


def _stroke(part: Part) -> Stroke:
    return Stroke(points_along(part), PENS[part.layer], f"{part.layer} {part.name}")


def _spots(parts: Iterable[Part]) -> tuple[Spot, ...]:
    return tuple(part for part in parts if isinstance(part, Spot))


def _datums(route: Route, own: Sequence[Spot], rest: Sequence[Spot]) -> tuple[Spot, ...]:
    """Two of the rest, to lay a print on: the driver's centre and, of those beside which the print is nearly as sure as
    by the best, a mark or the nearest centre. A print without the driver's is laid on the best of a mark or centre.
    """

    def rank(spot: Spot) -> tuple[bool, bool, float]:
        near = min(math.dist(spot.at_mm, each.at_mm) for each in own)
        return spot.name != route.layout.driver.name, spot.layer != "marks", near

    if len(rest) < 2:
        return tuple(rest)
    first, *others = sorted(rest, key=rank)
    off = {spot: laid_off_mm(route.layout, (first, spot), own) for spot in others}
    return first, next(spot for spot in others if off[spot] <= _NEARLY_AS_SURE * min(off.values()))


def _is_punched(route: Route, spot: Spot) -> bool:
    # What moves is not punched, but for the two ends of a slot.
    if spot.layer == "adjuster":
        return route.moving is not None and isinstance(route.moving.adjuster, Slide)
    return route.moving is None or spot.name != route.moving.name


def _cross(spot: Spot) -> list[Stroke]:
    half = CROSS_MM if spot.layer in ("centres", "marks") else _STOP_CROSS_MM
    pen = pens.PRINT_STOP if spot.layer == "adjuster" else pens.PRINT_CROSS
    return cross(spot.at_mm, half, pen, f"cross {spot.name}")


def window_items(drawing: Drawing, box: Box) -> list[Item]:
    dots = [spot for spot in drawing.dots if holds(grown(box, -DOT_MM), spot.at_mm)]
    return [
        *(piece for stroke in drawing.shown for piece in cut(stroke, box)),
        *(Shape((circle(spot.at_mm, DOT_MM),), pens.INK, name=f"dot {spot.name}") for spot in dots),
    ]


def holds(box: Box, at: Point | Floats) -> bool:
    return bool(box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3])


def cut(stroke: Stroke, box: Box) -> list[Stroke]:
    """The pieces of a stroke inside a box. Dashes go on as if the stroke were whole, so that sheets match."""
    line = shapely.LineString(stroke.points)
    pieces = []
    for part in shapely.get_parts(shapely.clip_by_rect(line, *box)):
        points = shapely.get_coordinates(part)
        if len(points) > 1:
            past_pt = float(line.project(shapely.Point(points[0]))) * MM_PT
            pen = replace(stroke.pen, phase_pt=past_pt) if stroke.pen.dash else stroke.pen
            pieces.append(Stroke(points, pen, stroke.name))
    return pieces
