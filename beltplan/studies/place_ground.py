"""Everything that the belt must keep clear of, for measuring at very many places, and the limits by what they part."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from beltplan.belts.layout import Circle, Obstacle
from beltplan.checks.limits import demanded
from beltplan.geometry.distances import Band
from beltplan.geometry.pieces import Strand
from beltplan.geometry.vectors import Floats
from beltplan.studies.place_limits import Threshold, threshold_of
from beltplan.studies.place_mover import Mover


@dataclass(frozen=True, eq=False)
class Body:
    """A disc, or a polygon where `corners` are given, that stands in the belt's way. index: of a pulley on the belt."""

    name: str
    centre: Floats
    radius: float
    corners: Floats | None = None
    index: int | None = None


@dataclass(frozen=True, eq=False)
class Ground:
    """Everything that gaps are measured between, and the limits by what they are between.

    reach: (n) how far the belt stands over the line on each pulley. left_mm, right_mm: its reach beside a strand.
    known: limits looked up so far.
    """

    mover: Mover
    reach: Floats
    left_mm: float
    right_mm: float
    spares: tuple[Body, ...]
    obstacles: tuple[Body, ...]
    known: dict[tuple[str, ...], Threshold] = field(default_factory=dict)

    def limit(self, key: str, *names: str) -> Threshold:
        """The limit for what lies between these parts."""
        sought = (key, *names)
        if sought not in self.known:
            self.known[sought] = threshold_of(demanded(self.mover.layout, key, names))
        return self.known[sought]

    def ends(self, strand: int) -> tuple[str, str]:
        """Names of the pulleys at the ends of a strand."""
        pulleys = self.mover.circuit.pulleys
        return pulleys[strand].name, pulleys[(strand + 1) % len(pulleys)].name

    def band(self, strand: Strand) -> Band:
        """The belt along a strand."""
        return Band(strand, self.left_mm, self.right_mm)


def ground_of(mover: Mover) -> Ground:
    """What gaps are measured between in a layout."""
    layout, belt = mover.layout, mover.layout.belt
    reach = np.array([belt.inner_mm if p.on_back else belt.outer_mm for p in mover.circuit.pulleys])
    # A loop that goes round counter-clockwise has its outside on the right.
    left, right = (belt.inner_mm, belt.outer_mm) if mover.circuit.turning > 0 else (belt.outer_mm, belt.inner_mm)
    spares = tuple(
        Body(p.name, np.asarray(p.at_mm), p.rim_radius_mm(belt)) for p in layout.unrouted if p.at_mm is not None
    )
    return Ground(mover, reach, left, right, spares, tuple(map(_body, layout.obstacles)))


def _body(obstacle: Obstacle) -> Body:
    if isinstance(obstacle, Circle):
        return Body(obstacle.name, np.asarray(obstacle.at_mm), obstacle.diameter_mm / 2.0)
    corners = np.asarray(obstacle.corners_mm, dtype=float)
    return Body(obstacle.name, corners.mean(axis=0), 0.0, corners)
