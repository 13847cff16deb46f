"""What a hand does to a layout: takes a part, puts it elsewhere, gives it another size, or the belt's other side."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.pulleys import Adjuster
from beltplan.geometry.distances import in_polygon
from beltplan.picture.framing import obstacle_outline

Spot = tuple[float, float]
SNAPS_MM = (0.0, 1.0, MM_PER_INCH / 16.0)
"""Steps to which places are rounded: not at all, whole mm, sixteenths of an inch."""
_SMALLEST_MM, _LARGEST_MM = 10.0, 1000.0
"""Diameters between which a pulley is turned up or down."""


def part_at(layout: Layout, centres: dict[str, Spot], spot: Spot) -> str | None:
    """The pulley or obstacle under a place, the smallest where several lie over one another; None on bare ground.

    centres: where the pulleys are, mm, the adjusted one where the belt puts it.
    """
    rims = {name: layout.pulleys[name].rim_radius_mm(layout.belt) for name in centres}
    over = [name for name, at in centres.items() if math.dist(at, spot) <= rims[name]]
    if over:
        return min(over, key=rims.__getitem__)
    return next((each.name for each in layout.obstacles if in_polygon(np.array(spot), obstacle_outline(each))), None)


def place_of_part(layout: Layout, name: str) -> Spot | None:
    """The place by which a part is moved: a centre, or the first corner; None for what an arm or slide carries."""
    if name in layout.pulleys:
        return layout.pulleys[name].at_mm
    obstacle = next(each for each in layout.obstacles if each.name == name)
    return obstacle.at_mm if isinstance(obstacle, Circle) else obstacle.corners_mm[0]


def snapped(spot: Spot, step_mm: float) -> Spot:
    """A place on the nearest crossing of a grid of this step; as it is for a step of 0.

    >>> snapped((12.4, -3.6), 1.0)
    (12.0, -4.0)
    """
    if step_mm == 0.0:
        return spot
    return step_mm * round(spot[0] / step_mm), step_mm * round(spot[1] / step_mm)


def put(layout: Layout, name: str, spot: Spot) -> Layout:
    """The layout with a part at another place; an obstacle is moved as a whole."""
    if name in layout.pulleys:
        return layout.with_pulley(replace(layout.pulleys[name], at_mm=spot))
    return replace(
        layout, obstacles=tuple(_put(each, spot) if each.name == name else each for each in layout.obstacles)
    )


def _put(obstacle: Obstacle, spot: Spot) -> Obstacle:
    if isinstance(obstacle, Circle):
        return replace(obstacle, at_mm=spot)
    (x, y), *_ = obstacle.corners_mm
    moved = tuple((u + spot[0] - x, v + spot[1] - y) for u, v in obstacle.corners_mm)
    return replace(obstacle, corners_mm=moved)


def resized(layout: Layout, name: str, steps: int) -> Layout:
    """The layout with a pulley so many sizes larger: of those that can be had, else in steps of 1 mm."""
    pulley = layout.pulleys[name]
    if pulley.diameters_mm:
        sizes = sorted({*pulley.diameters_mm, pulley.diameter_mm})
        place = min(max(sizes.index(pulley.diameter_mm) + steps, 0), len(sizes) - 1)
        return layout.with_pulley(replace(pulley, diameter_mm=sizes[place]))
    size = min(max(pulley.diameter_mm + steps, _SMALLEST_MM), _LARGEST_MM)
    return layout.with_pulley(replace(pulley, diameter_mm=size))


def other_side(layout: Layout, name: str) -> Layout:
    pulley = layout.pulleys[name]
    return layout.with_pulley(replace(pulley, belt_side="ribbed" if pulley.on_back else "back"))


def setting_toward(adjuster: Adjuster, spot: Spot) -> float:
    """The setting within the adjuster's stops that brings its pulley nearest to a place."""
    settings = np.linspace(*adjuster.travel, 2001)
    away = adjuster.track.centre_at(settings) - np.array(spot)
    return float(settings[np.argmin((away**2).sum(axis=-1))])


@dataclass(frozen=True, eq=False)
class Session:
    """A layout while a hand works on it. start: as the file has it; past, future: what undo and redo lead to."""

    start: Layout
    now: Layout
    past: tuple[Layout, ...] = ()
    future: tuple[Layout, ...] = ()

    @property
    def is_changed(self) -> bool:
        return self.now is not self.start

    def to(self, layout: Layout) -> Session:
        """One change further; what was undone is gone."""
        return self if layout is self.now else Session(self.start, layout, (*self.past, self.now))

    def undone(self) -> Session:
        if not self.past:
            return self
        return Session(self.start, self.past[-1], self.past[:-1], (self.now, *self.future))

    def redone(self) -> Session:
        if not self.future:
            return self
        return Session(self.start, self.future[0], (*self.past, self.now), self.future[1:])

    def reread(self, layout: Layout) -> Session:
        """The file was changed: its layout is the start; undo still leads to what the hand had made before."""
        past = (*self.past, self.now) if self.is_changed else ()
        return Session(layout, layout, past)

    def shift_mm(self, name: str) -> Spot | None:
        """How far a part was moved from where the file has it; None where it was not, or is not moved by a place."""
        parts = {*self.start.pulleys, *(obstacle.name for obstacle in self.start.obstacles)}
        was = place_of_part(self.start, name) if name in parts else None
        now = place_of_part(self.now, name)
        return None if was is None or now is None or was == now else (now[0] - was[0], now[1] - was[1])
