"""Cures by moving one pulley, where the layout says that it may be moved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from beltplan.belts.adjusters import Adjuster, Arm
from beltplan.belts.layout import Layout
from beltplan.geometry.vectors import TURN, from_angle, norm
from beltplan.studies.cure_change import Change, Family
from beltplan.studies.cure_pool import Pool
from beltplan.studies.cure_screen import Paths

DIRECTIONS, RINGS = 24, 12
LEAST_STEP_MM = 1.0

Point = tuple[float, float]


@dataclass(frozen=True)
class Moved:
    """One pulley moved, or its whole arm or slide. step_mm: in x and y."""

    target: str
    step_mm: Point
    adjusted: bool

    family: ClassVar[Family] = "move"

    @property
    def size(self) -> float:
        """How far, mm."""
        return float(np.hypot(*self.step_mm))

    @property
    def words(self) -> str:
        """What is to be done."""
        what = f"{self.target} with its adjuster" if self.adjusted else self.target
        x, y = self.step_mm
        return f"move {what} by {self.size:.0f} mm: x {x:+.0f} mm, y {y:+.0f} mm"

    def applied(self, layout: Layout) -> Layout:
        """The layout with it moved."""
        pulley = layout.pulleys[self.target]
        if pulley.adjuster is not None:
            pulley = replace(pulley, adjuster=_shifted(pulley.adjuster, self.step_mm))
        elif pulley.at_mm is not None:
            pulley = replace(pulley, at_mm=_sum(pulley.at_mm, self.step_mm))
        return replace(layout, pulleys={**layout.pulleys, self.target: pulley})


def _shifted(adjuster: Adjuster, step: Point) -> Adjuster:
    if isinstance(adjuster, Arm):
        return replace(adjuster, pivot_mm=_sum(adjuster.pivot_mm, step))
    return replace(adjuster, start_mm=_sum(adjuster.start_mm, step), end_mm=_sum(adjuster.end_mm, step))


def _sum(place: Point, step: Point) -> Point:
    return round(place[0] + step[0], 6), round(place[1] + step[1], 6)


def moves(base: Paths) -> Pool | None:
    """Every movable pulley moved, one at a time, by whole millimetres out to what it may."""
    found = [
        Moved(pulley.name, step, pulley.adjuster is not None)
        for pulley in base.pulleys
        for step in _steps(pulley.movable_mm)
    ]
    if not found:
        return None
    centre = np.repeat(base.centre, len(found), axis=0)
    index = {pulley.name: i for i, pulley in enumerate(base.pulleys)}
    rows = [index[change.target] for change in found]
    centre[np.arange(len(found)), rows] += np.array([change.step_mm for change in found])
    whole = tuple(np.repeat(part, len(found), axis=0) for part in (base.radius, base.rim, base.sense))

    def change_of(number: int, size: float) -> Change:
        return found[number]

    return Pool(Paths(base.pulleys, centre, *whole), np.array([change.size for change in found]), change_of)


def _steps(most_mm: float) -> list[Point]:
    """Whole millimetres in every direction, in rings, none farther than allowed."""
    if most_mm < LEAST_STEP_MM:
        return []
    ring = np.linspace(0.0, most_mm, RINGS + 1)[1:]
    angle = np.arange(DIRECTIONS) * TURN / DIRECTIONS
    steps = np.round(ring[:, None, None] * from_angle(angle)[None]).reshape(-1, 2)
    inside = steps[(norm(steps) <= most_mm + 1e-9) & (norm(steps) > 0.0)]
    return list(dict.fromkeys((float(x) + 0.0, float(y) + 0.0) for x, y in inside))
