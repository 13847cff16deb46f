"""Clearances at very many places at once, and the limits that they are held against."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from beltplan.checks.clearance import CLEARANCE_CHECK, GAP_CHECK, RIM_CHECK
from beltplan.checks.limits import NONE, Bound, demanded
from beltplan.drive.layout import Circle, Obstacle
from beltplan.geometry.crossing import around, beside
from beltplan.geometry.distances import (
    Band,
    arc_to_band,
    arc_to_point,
    arc_to_polygon,
    band_to_band,
    band_to_point,
    band_to_polygon,
    point_to_point,
    point_to_polygon,
)
from beltplan.geometry.pieces import Arc, Pieces, Strand
from beltplan.geometry.vectors import Bools, Floats, cross, dot
from beltplan.place.travel import Mover


class Tally:
    """What every place comes to, judged value by value: the worst severity, and the smallest margin with its name.

    worst: number of the name in `names`, -1 where nothing has a margin. own_margin: the smallest of what is not the
    same at every place.
    """

    def __init__(self, count: int, names: tuple[str, ...]) -> None:
        self.names = names
        self.severity = np.full(count, NONE, dtype=np.int8)
        self.margin = np.full(count, np.inf)
        self.own_margin = np.full(count, np.inf)
        self.worst = np.full(count, -1, dtype=np.int16)

    def mark(self, where: Bools | bool, severity: int) -> None:
        """Places that are at least so bad, by something that has no bound."""
        np.maximum(self.severity, np.multiply(where, severity, dtype=np.int8), out=self.severity)

    def judge(self, values: Floats, bound: Bound, name: str = "") -> None:
        """Hold values, (N) or a single one for all, against a bound; only what has a name counts for the margin."""
        np.maximum(self.severity, bound.severity(values), out=self.severity)
        if name and bound.limit:
            self.rank(bound.margin(values), name)

    def rank(self, share: Floats | float, name: str) -> None:
        """Count a distance to a limit, as a share of it, (N) or a single one for all, for the margin."""
        margin = np.broadcast_to(share, self.margin.shape)
        self.worst[margin < self.margin] = self.names.index(name)
        np.minimum(self.margin, margin, out=self.margin)
        if np.size(share) > 1:
            np.minimum(self.own_margin, margin, out=self.own_margin)


# Everything that the belt must keep clear of, for measuring at very many places, and the limits by what they part.


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
    known: dict[tuple[str, ...], Bound] = field(default_factory=dict)

    def limit(self, key: str, *names: str) -> Bound:
        """The limit for what lies between these parts."""
        sought = (key, *names)
        if sought not in self.known:
            self.known[sought] = demanded(self.mover.layout, key, names)
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


# Clearances at very many places at once: what `checks.clearance` measures, at settings of one's own choosing.

MEASURED = 3.0
Gaps = dict[tuple[str, Bound], Floats]
"""The smallest gap of every check and limit, mm: (N), or a single number where it is the same at every place."""


def gaps_at(ground: Ground, path: Pieces, moving: frozenset[int], fixed: bool = False) -> Gaps:
    """The smallest gaps of paths, settings (if they have an axis) put together.

    moving: pulleys that do not stand everywhere the same. fixed: measure only between parts that none of them moves,
    else only between the others.
    """
    found: Gaps = {}
    for check, limit, gap in _every(ground, path, _Parts(moving, len(path.span), fixed)):
        least = gap.min(axis=0) if gap.ndim == 2 else gap
        key = (check, limit)
        found[key] = np.minimum(found[key], least) if key in found else least
    return found


@dataclass(frozen=True, eq=False)
class _Parts:
    """Which couples of parts are wanted."""

    moving: frozenset[int]
    n: int
    fixed: bool

    def strand(self, index: int) -> bool:
        return index in beside(self.moving, self.n)

    def arc(self, index: int) -> bool:
        return index in around(self.moving, self.n)

    def disc(self, body: Body) -> bool:
        return body.index in self.moving

    def wanted(self, *varies: bool) -> bool:
        return any(varies) != self.fixed


Measured = Iterator[tuple[str, Bound, Floats]]


def _every(ground: Ground, path: Pieces, parts: _Parts) -> Measured:
    n, pulleys, rim = parts.n, ground.mover.circuit.pulleys, ground.mover.circuit.rim
    bands = [ground.band(path.strand(i)) for i in range(n)]
    arcs = [path.arc(i).raised(float(ground.reach[i])) for i in range(n)]
    discs = [Body(p.name, path.centre[i], float(rim[i]), index=i) for i, p in enumerate(pulleys)]
    discs += ground.spares
    yield from _strands_to_pulleys(ground, bands, arcs, discs, parts)
    yield from _belt_to_obstacles(ground, bands, arcs, parts)
    yield from _strands_to_strands(ground, path, bands, parts)
    yield from _rims(ground, discs, parts)


def _strands_to_pulleys(
    ground: Ground, bands: list[Band], arcs: list[Arc], discs: list[Body], parts: _Parts
) -> Measured:
    for i, band in enumerate(bands):
        for other in discs:
            j, arc_varies = other.index, other.index is not None and parts.arc(other.index)
            if j in (i, (i + 1) % parts.n) or not parts.wanted(parts.strand(i), parts.disc(other), arc_varies):
                continue
            limit = ground.limit("min_clearance_mm", other.name, *ground.ends(i))
            from_centre = band_to_point(band, other.centre)
            gap = from_centre - other.radius
            if j is not None:
                # A strand that cuts into the metal keeps that depth; elsewhere the belt on it may be nearer.
                near = (from_centre - arcs[j].radius < MEASURED * limit.limit) & (gap > 0.0)
                gap = np.minimum(gap, _where(near, np.inf, _arc_to_band(ground), arcs[j], band.strand))
            yield CLEARANCE_CHECK, limit, gap


def _belt_to_obstacles(ground: Ground, bands: list[Band], arcs: list[Arc], parts: _Parts) -> Measured:
    for obstacle in ground.obstacles:
        for i, (band, arc) in enumerate(zip(bands, arcs, strict=True)):
            if parts.wanted(parts.strand(i)):
                limit = ground.limit("min_clearance_mm", obstacle.name, *ground.ends(i))
                yield CLEARANCE_CHECK, limit, _band_to_obstacle(ground, band, obstacle, MEASURED * limit.limit)
            if parts.wanted(parts.arc(i)):
                limit = ground.limit("min_clearance_mm", obstacle.name, ground.ends(i)[0])
                yield CLEARANCE_CHECK, limit, _arc_to_obstacle(arc, obstacle, MEASURED * limit.limit)


def _band_to_obstacle(ground: Ground, band: Band, obstacle: Body, far: float) -> Floats:
    corners = obstacle.corners
    if corners is None:
        return band_to_point(band, obstacle.centre) - obstacle.radius
    near = _box_gap(band.strand, corners) - max(band.left_mm, band.right_mm) < far
    return _where(near, far, lambda strand: band_to_polygon(ground.band(strand), corners), band.strand)


def _arc_to_obstacle(arc: Arc, obstacle: Body, far: float) -> Floats:
    corners, centre = obstacle.corners, obstacle.centre
    near = _point_to_body(arc.centre, obstacle) - arc.radius < far
    if corners is None:
        return _where(near, far, lambda at: arc_to_point(at, centre) - obstacle.radius, arc)
    return _where(near, far, lambda at: arc_to_polygon(at, corners), arc)


def _strands_to_strands(ground: Ground, path: Pieces, bands: list[Band], parts: _Parts) -> Measured:
    n = parts.n
    for i, j in combinations(range(n if n > 2 else 0), 2):
        shared = j if j == i + 1 else 0 if (i, j) == (0, n - 1) else None
        if not parts.wanted(parts.strand(i), parts.strand(j)):
            continue
        limit = ground.limit("min_strand_gap_mm", *ground.ends(i), *ground.ends(j))
        far = MEASURED * limit.limit
        near = _may_be_near(bands[i], bands[j], far)
        if shared is not None:
            # Neighbours meet at their pulley; they only come together again past half a turn on it.
            near = near & (path.wrap[shared] > np.pi)
        yield GAP_CHECK, limit, _where(near, far, _band_to_band(ground), bands[i].strand, bands[j].strand)


def _rims(ground: Ground, discs: list[Body], parts: _Parts) -> Measured:
    bodies = [*discs, *ground.obstacles]
    for i, first in enumerate(discs):
        for second in bodies[i + 1 :]:
            if parts.wanted(parts.disc(first), parts.disc(second)):
                limit = ground.limit("min_rim_gap_mm", second.name, first.name)
                yield RIM_CHECK, limit, _point_to_body(first.centre, second) - first.radius


def _point_to_body(point: Floats, body: Body) -> Floats:
    if body.corners is not None:
        return point_to_polygon(point, body.corners)
    return point_to_point(point, body.centre) - body.radius


def _arc_to_band(ground: Ground) -> Callable[[Arc, Strand], Floats]:
    return lambda arc, strand: arc_to_band(arc, ground.band(strand))


def _band_to_band(ground: Ground) -> Callable[[Strand, Strand], Floats]:
    return lambda first, second: band_to_band(ground.band(first), ground.band(second))


def _box_gap(strand: Strand, corners: Floats) -> Floats:
    """How far the upright boxes round a strand and a polygon are apart along x or y: never more than they are."""
    start, end = strand.start, strand.end
    low, high = np.minimum(start, end), np.maximum(start, end)
    apart = np.maximum(low - corners.max(axis=0), corners.min(axis=0) - high)
    return np.asarray(np.maximum(apart[..., 0], apart[..., 1]))


def _may_be_near(first: Band, second: Band, far: float) -> Bools:
    """Whether one of two strands does not lie wholly beside the other, farther off than `far`."""
    reach = far + first.left_mm + first.right_mm
    return _not_beside(first.strand, second.strand, reach) & _not_beside(second.strand, first.strand, reach)


def _not_beside(strand: Strand, other: Strand, reach: float) -> Bools:
    start = other.start - strand.start
    aside, along = cross(strand.direction, start), dot(strand.direction, start)
    aside_end = aside + other.length * cross(strand.direction, other.direction)
    along_end = along + other.length * dot(strand.direction, other.direction)
    beside = np.minimum(aside, aside_end) > reach
    beside |= np.maximum(aside, aside_end) < -reach
    beside |= np.minimum(along, along_end) > strand.length + reach
    beside |= np.maximum(along, along_end) < -reach
    return np.asarray(~beside)


def _where(near: Bools, otherwise: float, measure: Callable[..., Floats], *parts: Arc | Strand) -> Floats:
    """Measure only where parts are near each other; elsewhere they are `otherwise` apart."""
    if not near.any():
        return np.full((), otherwise)
    shape = np.broadcast_shapes(near.shape, *(part.shape for part in parts))
    near = np.broadcast_to(near, shape)
    gap = np.full(shape, otherwise)
    gap[near] = measure(*(part.picked(near) for part in parts))
    return gap
