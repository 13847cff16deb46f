"""What a route is as true lines, arcs and circles: for a drawing at full scale, and for files that other tools open."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from beltplan.drive.layout import Circle, Obstacle
from beltplan.drive.mounts import Slot
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop, arc_angles
from beltplan.geometry.vectors import TURN, Floats, from_angle, left_normal

Layer = Literal["belt_line", "belt_edges", "pulleys", "centres", "adjuster", "obstacles", "holes", "marks"]
"""What a part belongs to. belt_line: the line whose length the belt's number counts; belt_edges: its faces."""
LAYERS: tuple[Layer, ...] = get_args(Layer)
Place = tuple[float, float]


@dataclass(frozen=True)
class _Named:
    layer: Layer
    name: str


@dataclass(frozen=True)
class Line(_Named):
    start_mm: Place
    end_mm: Place

    @property
    def length_mm(self) -> float:
        return float(np.hypot(self.end_mm[0] - self.start_mm[0], self.end_mm[1] - self.start_mm[1]))


@dataclass(frozen=True)
class Arc(_Named):
    """A part of a circle. sweep_rad: signed, counter-clockwise positive, within one turn either way."""

    centre_mm: Place
    radius_mm: float
    start_rad: float
    sweep_rad: float

    @property
    def length_mm(self) -> float:
        return abs(self.sweep_rad) * self.radius_mm

    def place_at(self, share: float) -> Place:
        """The place at a share of the sweep: 0 its start, 1 its end."""
        angle = self.start_rad + share * self.sweep_rad
        x, y = self.centre_mm
        return x + self.radius_mm * float(np.cos(angle)), y + self.radius_mm * float(np.sin(angle))


@dataclass(frozen=True)
class Ring(_Named):
    centre_mm: Place
    radius_mm: float


@dataclass(frozen=True)
class Spot(_Named):
    at_mm: Place


@dataclass(frozen=True)
class Outline(_Named):
    corners_mm: tuple[Place, ...]


Part = Line | Arc | Ring | Spot | Outline


def parts_of(route: Route, only: Container[str] | None = None) -> tuple[Part, ...]:
    """Everything that a drawing of a route shows, mm in the layout's frame, layer by layer.

    only: names of pulleys and marks; then just these, with what holds and moves them.
    The belt is drawn where the judged belt puts the adjuster; lines and arcs of `belt_line` follow one another in the
    direction of travel, each beginning where the one before ends, and sum to the path length.
    """
    layout, belt = route.layout, route.layout.belt
    lines: tuple[tuple[Layer, float], ...] = (
        ("belt_line", 0.0), ("belt_edges", belt.outer_mm), ("belt_edges", -belt.inner_mm)
    )  # fmt: skip
    shown = [each for each in layout.pulleys.values() if only is None or each.name in only]
    return (
        *(part for layer, outward_mm in lines if only is None for part in _path(route, layer, outward_mm)),
        *(part for part in _pulleys(route) if only is None or part.name in only),
        *(part for pulley in shown for part in _adjuster(route, pulley)),
        *(obstacle_part(obstacle) for obstacle in layout.obstacles if only is None),
        *(part for pulley in shown for part in _mount(pulley)),
        *(Spot("marks", mark.name, mark.at_mm) for mark in layout.marks if only is None or mark.name in only),
    )


def _path(route: Route, layer: Layer, outward_mm: float) -> Iterator[Part]:
    """The belt's path, or a line parallel to it further out, arc after span."""
    loop, turning = route.loop, float(np.sign(route.loop.turns))
    shift = -turning * outward_mm * left_normal(loop.direction)
    for i, (pulley, (start, end)) in enumerate(zip(route.pulleys, route.spans, strict=True)):
        radius = float(loop.radius[i] + turning * loop.sense[i] * outward_mm)
        yield _arc(loop, i, layer, pulley.name, radius)
        yield Line(layer, f"{start.name} to {end.name}", place(loop.start[i] + shift[i]), place(loop.end[i] + shift[i]))


def _arc(loop: Loop, index: int, layer: Layer, name: str, radius: float) -> Arc:
    first, sweep = arc_angles(loop, index)
    if radius < 0.0:  # a belt thicker than the pulley's radius: its inner face comes out beyond the centre
        radius, first = -radius, first + float(np.pi)
    return Arc(layer, name, place(loop.centre[index]), radius, first, sweep)


def _pulleys(route: Route) -> Iterator[Part]:
    belt = route.layout.belt
    routed = [(pulley, place(route.loop.centre[i])) for i, pulley in enumerate(route.pulleys)]
    spare = [(pulley, pulley.at_mm) for pulley in route.layout.unrouted if pulley.at_mm is not None]
    for pulley, at in routed + spare:
        yield Ring("pulleys", pulley.name, at, pulley.rim_radius_mm(belt))
        yield Spot("centres", pulley.name, at)


def _adjuster(route: Route, pulley: Pulley) -> Iterator[Part]:
    """What moves a pulley, on the belt or not, and the pulley at both stops; nothing where it is fixed."""
    adjuster = pulley.adjuster
    if adjuster is None:
        return
    name, radius = pulley.name, pulley.rim_radius_mm(route.layout.belt)
    first, last = (place(adjuster.track.centre_at(np.asarray(stop))) for stop in adjuster.travel)
    if isinstance(adjuster, Arm):
        start, end = adjuster.stops_rad
        yield Spot("centres", f"{name} pivot", adjuster.pivot_mm)
        yield Arc("adjuster", f"{name} travel", adjuster.pivot_mm, adjuster.length_mm, start, end - start)
    else:
        yield Line("adjuster", f"{name} travel", first, last)
    # Only of the pulley that tightens the belt the path tells which stop is which.
    ends = route.stop_names if pulley is route.moving else ("first", "second")
    for at, which in zip((first, last), ends, strict=True):
        yield Ring("adjuster", f"{name} at the {which} stop", at, radius)
        yield Spot("adjuster", f"{name} at the {which} stop", at)


def obstacle_part(obstacle: Obstacle) -> Part:
    if isinstance(obstacle, Circle):
        return Ring("obstacles", obstacle.name, obstacle.at_mm, obstacle.diameter_mm / 2.0)
    return Outline("obstacles", obstacle.name, obstacle.corners_mm)


def _mount(pulley: Pulley) -> Iterator[Part]:
    name, mount = pulley.name, pulley.mounted
    for number, hole in enumerate(mount.holes, start=1):
        yield Ring("holes", f"{name} hole {number}", hole.at_mm, 0.5 * hole.diameter_mm)
    for number, slot in enumerate(mount.slots, start=1):
        yield from _slot(f"{name} slot {number}", slot)
    if mount.outline_mm:
        yield Outline("obstacles", f"mount of {name}", mount.outline_mm)


def _slot(name: str, slot: Slot) -> Iterator[Part]:
    """Round a slot, clockwise: along one side, round its end, back along the other, round its beginning."""
    ends, radius = np.array((slot.start_mm, slot.end_mm)), 0.5 * slot.width_mm
    for start, end in (ends, ends[::-1]):
        along = (end - start) / np.hypot(*(end - start))
        left = radius * left_normal(along)
        yield Line("holes", name, place(start + left), place(end + left))
        yield Arc("holes", name, place(end), radius, float(np.arctan2(left[1], left[0])), -float(np.pi))


def place(at: Floats) -> Place:
    return float(at[0]), float(at[1])


CHORD_ERROR_MM = 0.002
"""Chords leave their arc by no more."""


def points_along(part: Part) -> Floats:
    """Points along a part, both ends included, a closed one with its first point again at the end; (n, 2) mm."""
    if isinstance(part, Spot):
        return np.array((part.at_mm,))
    if isinstance(part, Line):
        return np.array((part.start_mm, part.end_mm))
    if isinstance(part, Outline):
        return np.array((*part.corners_mm, part.corners_mm[0]))
    start, sweep = (part.start_rad, part.sweep_rad) if isinstance(part, Arc) else (0.0, TURN)
    # A chord of angle a leaves an arc by r (1 - cos(a / 2)), about r a^2 / 8. Of a whole turn each quarter has an end.
    step = np.sqrt(8.0 * CHORD_ERROR_MM / max(part.radius_mm, CHORD_ERROR_MM))
    count = 4 * int(np.ceil(abs(sweep) / step / 4.0)) + 1
    return np.asarray(part.centre_mm + part.radius_mm * from_angle(start + np.linspace(0.0, sweep, max(count, 2))))
