"""Cures by one idler more, on either side of the belt, in any strand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley, Side
from beltplan.belts.sources import PRACTICE
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Floats, left_normal
from beltplan.studies.cure_change import Change, Family
from beltplan.studies.cure_pool import Pool
from beltplan.studies.cure_screen import Paths

SIZES_MM = (65.0, 75.0, 90.0)
SIZES_SOURCE = f"sizes of idlers where the file lists none: {PRACTICE}"
NAME = "added_idler"

ALONG = np.linspace(0.1, 0.9, 17)
"""Places along the strand, as shares of it."""
DEPTH_MM = np.array([4.0, 8.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 42.0, 50.0, 60.0, 72.0, 86.0, 105.0, 130.0, 160.0])
"""How far the idler's face pushes the strand aside."""


@dataclass(frozen=True, eq=False)
class AddedIdler:
    """One idler more. follows: the pulley after which it stands in the file's route. size: longer path, mm."""

    idler: Pulley
    follows: str
    strand: str
    size: float

    family: ClassVar[Family] = "idler"

    @property
    def target(self) -> str:
        """The strand that it leads aside, and the side of the belt that it touches."""
        return f"{self.strand}, {self.idler.belt_side}"

    @property
    def words(self) -> str:
        """What is to be done."""
        side = "smooth, on the belt's back" if self.idler.on_back else "grooved, on its ribbed side"
        x, y = self.idler.at_mm or (0.0, 0.0)
        size = f"{self.idler.diameter_mm:.10g} mm"
        return f"add an idler of {size} ({side}) at x {x:.10g}, y {y:.10g} mm, in the strand {self.strand}"

    def applied(self, layout: Layout) -> Layout:
        """The layout with it on the belt."""
        name, route = _free_name(layout), list(layout.route)
        route.insert(route.index(self.follows) + 1, name)
        return replace(layout, pulleys={**layout.pulleys, name: replace(self.idler, name=name)}, route=tuple(route))


def idlers(layout: Layout, base: Paths) -> Iterator[Pool]:
    """One pool for every strand, side and size."""
    name = _free_name(layout)
    for strand in range(len(base.pulleys)):
        for side in _sides(layout):
            for size in layout.idler_sizes_mm or SIZES_MM:
                idler = Pulley(name, "idler", size, belt_side=side, plane_mm=_plane(base, strand))
                yield _pool(layout, base, strand, idler)


def _sides(layout: Layout) -> tuple[Side, ...]:
    return ("ribbed",) if layout.belt.back_mm is None else ("back", "ribbed")


def _free_name(layout: Layout) -> str:
    taken = {*layout.pulleys, *(obstacle.name for obstacle in layout.obstacles)}
    return next(name for i in range(1, 100) if (name := NAME if i == 1 else f"{NAME}_{i}") not in taken)


def _plane(base: Paths, strand: int) -> float | None:
    """Half way between the planes of its neighbours, as far as they are known."""
    ends = (base.pulleys[strand], base.pulleys[(strand + 1) % len(base.pulleys)])
    known = [pulley.plane_mm for pulley in ends if pulley.plane_mm is not None]
    return round(sum(known) / len(known), 2) if known else None


def _pool(layout: Layout, base: Paths, strand: int, idler: Pulley) -> Pool:
    radius, rim = idler.line_radius_mm(layout.belt), idler.rim_radius_mm(layout.belt)
    sense = float(layout.sense_of(idler))
    places = _places(base, strand, radius, sense)
    count, after = len(places), strand + 1

    def widened(part: Floats, value: float) -> Floats:
        return np.insert(np.repeat(part, count, axis=0), after, value, axis=1)

    centre = np.insert(np.repeat(base.centre, count, axis=0), after, places, axis=1)
    pulleys = (*base.pulleys[:after], idler, *base.pulleys[after:])
    paths = Paths(pulleys, centre, widened(base.radius, radius), widened(base.rim, rim), widened(base.sense, sense))
    start, end = base.pulleys[strand].name, base.pulleys[after % len(base.pulleys)].name
    # The file may list the route against the belt's travel.
    route = layout.route
    follows = start if route[(route.index(start) + 1) % len(route)] == end else end

    def change(number: int, size: float) -> Change:
        x, y = places[number]
        return AddedIdler(replace(idler, at_mm=(float(x), float(y))), follows, f"{start} to {end}", size)

    return Pool(paths, None, change)


def _places(base: Paths, strand: int, radius: float, sense: float) -> Floats:
    """Centres, (k, 2) whole mm, from which the idler pushes the strand aside, away from itself."""
    loop = close_loop(base.centre[0], base.radius[0], base.sense[0])
    direction = loop.direction[strand]
    # A pulley that turns counter-clockwise stands on the left of the belt.
    towards = sense * left_normal(direction)
    along = loop.start[strand] + ALONG[:, None] * loop.span[strand] * direction
    centres = along[:, None] + (radius - DEPTH_MM)[:, None] * towards
    return np.asarray(np.round(centres.reshape(-1, 2)) + 0.0)
