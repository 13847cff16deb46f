"""How far a picture reaches: round the pulleys and what stands near; what lies further out is told at its edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.ops import nearest_points

from beltplan.drive.layout import Circle, Layout, Obstacle, Polygon
from beltplan.geometry.vectors import Floats
from beltplan.picture.scene import Box, Point, box_round, circle, grown
from beltplan.report.screen import length_text

_REACH = 0.75
"""Of the larger side of the drive: what lies further from it would make the drive too small to be read."""
EVERYWHERE: Box = (-1e9, -1e9, 1e9, 1e9)
"""Where nothing may be left out, mm."""


@dataclass(frozen=True)
class Outside:
    """What is not drawn, or not all of it. at_mm: its nearest point; words: where it lies, seen from the driver."""

    name: str
    at_mm: Point
    words: str


def framed(layout: Layout, core: Box, also: Box | None = None) -> tuple[Layout, tuple[Outside, ...]]:
    """The layout less what lies far from the drive, and what that is.

    core: the box round its pulleys; also: another that is shown, mm.
    """
    near = grown(core, _REACH * max(core[2] - core[0], core[3] - core[1]))
    frame = shapely.box(*box_round(np.reshape((near, also or near), (-1, 2))))
    x, y = 0.5 * (core[0] + core[2]), 0.5 * (core[1] + core[3])
    driver = layout.driver.at_mm or (x, y)
    spares = {pulley.name: shapely.Point(pulley.at_mm) for pulley in layout.unrouted if pulley.at_mm is not None}
    marks = {mark.name: shapely.Point(mark.at_mm) for mark in layout.marks}
    metal = {each.name: shapely.Polygon(obstacle_outline(each)) for each in layout.obstacles}
    outside = tuple(
        _outside(layout, name, shape, frame, driver)
        for name, shape in (*spares.items(), *marks.items(), *metal.items())
        if not frame.covers(shape)
    )
    near_ones = [each for each in layout.obstacles if frame.intersects(metal[each.name])]
    inside = replace(
        layout,
        pulleys={n: each for n, each in layout.pulleys.items() if n not in spares or frame.covers(spares[n])},
        marks=tuple(mark for mark in layout.marks if frame.covers(marks[mark.name])),
        obstacles=tuple(_cut(each, metal[each.name], frame) for each in near_ones),
    )
    return (inside, outside) if outside else (layout, ())


def obstacle_outline(obstacle: Obstacle) -> Floats:
    """Points round an obstacle, (n, 2) mm."""
    if isinstance(obstacle, Circle):
        return circle(obstacle.at_mm, obstacle.diameter_mm / 2.0)
    return np.array(obstacle.corners_mm, dtype=float)


def _cut(obstacle: Obstacle, shape: shapely.Polygon, frame: shapely.Polygon) -> Obstacle:
    """The largest part of it inside the frame."""
    if frame.covers(shape):
        return obstacle
    part = max(shapely.get_parts(shape.buffer(0.0).intersection(frame)), key=lambda each: float(each.area))
    return Polygon(obstacle.name, tuple((float(x), float(y)) for x, y in shapely.get_coordinates(part)[:-1]))


def _outside(layout: Layout, name: str, shape: shapely.Geometry, frame: shapely.Polygon, driver: Point) -> Outside:
    far = shape.difference(frame) if frame.intersects(shape) else shape
    near = nearest_points(shapely.Point(driver), far)[1]
    away = np.array((near.x, near.y)) - driver
    axis = int(np.argmax(np.abs(away)))
    way = (("left of", "right of"), ("below", "above"))[axis][int(away[axis] > 0.0)]
    where = f"{length_text(abs(float(away[axis])), 0, layout.units)} {layout.units} {way} {layout.driver.name}"
    words = f"goes on beyond {where}" if frame.intersects(shape) else f"is outside of the picture, {where}"
    return Outside(name, (near.x, near.y), words)
