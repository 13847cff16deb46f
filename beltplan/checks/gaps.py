"""How far apart things are that must not touch, in one layout or in very many at once; `clearance` judges it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from itertools import combinations, product

import numpy as np

from beltplan.checks.limits import Bound, demanded
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.pulleys import Arm
from beltplan.drive.travel import Circuit
from beltplan.geometry.distances import (
    Band,
    arc_to_band,
    arc_to_point,
    arc_to_polygon,
    band_to_band,
    band_to_point,
    band_to_polygon,
    point_to_polygon,
    point_to_segment,
)
from beltplan.geometry.loops import around, beside
from beltplan.geometry.pieces import Arc, FreeSpan, Pieces
from beltplan.geometry.vectors import Bools, Floats, cross, dot, norm

CLEARANCE_CHECK = "clearance"
GAP_CHECK = "strand_gap"
RIM_CHECK = "rim_gap"
_ARM_HALF_MM = 15.0
_AXIS_HALF_MM = 10.0
_ASSUMED = f"assumed: arm and pivot {2.0 * _ARM_HALF_MM:g} mm wide, bolts and shafts {2.0 * _AXIS_HALF_MM:g} mm thick"
"""Metal that no layout gives. An arm lies behind its pulley, so the belt and other rims may pass before it; what holds
another pulley goes through its plane and may not.
"""
MEASURED = 3.0
"""Where not everything is asked for, a gap is measured up to so many times its limit."""


_Box = tuple[Floats, Floats]
"""The lower left and the upper right corner of what holds a part in all layouts, (2) mm each."""


def _box_of(beyond_mm: float, *points: Floats) -> _Box:
    every = np.concatenate([np.asarray(each, float).T.reshape(2, -1) for each in points], axis=1)
    return every.min(axis=1, initial=np.inf) - beyond_mm, every.max(axis=1, initial=-np.inf) + beyond_mm


@dataclass(frozen=True, eq=False)
class _Body:
    """A disc, or a polygon where `corners` are given, that stands in the belt's way.

    index: of the pulley on the belt that it is, or whose mount it is. is_mount: of the pulley of that name; under_rim:
    one that lies under that pulley's own rim, where no belt comes. moved: how far its corners are moved, (..., 2) mm;
    None for a mount that goes with the pulley's centre.
    """

    name: str
    centre: Floats
    radius: Floats | float
    corners: Floats | None = None
    index: int | None = None
    moved: Floats | None = None
    is_mount: bool = False
    under_rim: bool = False

    @property
    def called(self) -> str:
        return f"mount of {self.name}" if self.is_mount else self.name

    @property
    def kind(self) -> str:
        return "mount" if self.is_mount else "obstacle"

    @property
    def box(self) -> _Box:
        """What it covers in any of the layouts."""
        if self.corners is None:
            return _box_of(float(np.max(self.radius)), self.centre)
        low, high = self.corners.min(axis=0), self.corners.max(axis=0)
        return _box_of(0.0, low, high) if self.moved is None else _box_of(0.0, low + self.moved, high + self.moved)

    def gap_to(self, at: Floats) -> Floats:
        """Distance of points, (..., 2) -> (...) mm; of those inside negative for a disc, zero for a polygon."""
        if self.corners is not None:
            return point_to_polygon(self.before_it(at), self.corners)
        return norm(at - self.centre) - self.radius

    def before_it(self, at: Floats) -> Floats:
        """Points as they lie before its corners where these are not moved: so the corners need no leading axes."""
        return at if self.moved is None else np.asarray(at - self.moved)


@dataclass(frozen=True, eq=False)
class Bodies:
    """Everything that gaps are measured between, and the limits by what they are between.

    reach: (n) how far the belt stands over the line on each pulley. left_mm, right_mm: its reach beside a
    span. spares: pulleys off the belt. pivot: (..., 2) of the adjuster's arm and the index of its pulley, None without
    one. mounts: those that count as metal. known: limits looked up so far.
    """

    layout: Layout
    circuit: Circuit
    reach: Floats
    left_mm: float
    right_mm: float
    spares: tuple[_Body, ...]
    obstacles: tuple[_Body, ...]
    pivot: tuple[Floats, int] | None = None
    mounts: tuple[_Body, ...] = ()
    known: dict[tuple[str, ...], Bound] = field(default_factory=dict)

    def limit(self, key: str, *names: str) -> Bound:
        """The limit for what lies between these parts."""
        sought = (key, *names)
        if sought not in self.known:
            self.known[sought] = demanded(self.layout, key, names)
        return self.known[sought]

    def band(self, span: FreeSpan) -> Band:
        """The belt along a span."""
        return Band(span, self.left_mm, self.right_mm)


def bodies_of(layout: Layout, circuit: Circuit) -> Bodies:
    """What gaps are measured between in a layout."""
    belt = layout.belt
    reach = np.array([belt.inner_mm if p.on_back else belt.outer_mm for p in circuit.pulleys])
    # A loop that goes round counter-clockwise has its outside on the right.
    left, right = (belt.inner_mm, belt.outer_mm) if circuit.turning > 0 else (belt.outer_mm, belt.inner_mm)
    spares = tuple(
        _Body(p.name, np.asarray(p.at_mm), p.rim_radius_mm(belt)) for p in layout.unrouted if p.at_mm is not None
    )
    obstacles = tuple(map(_body, layout.obstacles))
    arms = ((i, p.adjuster) for i, p in enumerate(circuit.pulleys) if isinstance(p.adjuster, Arm))
    pivot = next(((np.asarray(arm.pivot_mm), i) for i, arm in arms), None)
    if pivot is not None and circuit.track is not None:
        pivot = circuit.track.origin, pivot[1]
    mounts = tuple(_mounts(layout, circuit))
    return Bodies(layout, circuit, reach, left, right, spares, obstacles, pivot, mounts)


def _mounts(layout: Layout, circuit: Circuit) -> Iterator[_Body]:
    index = {pulley.name: i for i, pulley in enumerate(circuit.pulleys)}
    for name, pulley in layout.pulleys.items():
        if pulley.mount is None or not pulley.mount.outline_mm:
            continue
        corners, i = np.array(pulley.mount.outline_mm), index.get(name)
        moved: Floats | None = np.asarray(pulley.bolted_at_mm)
        if i is not None and circuit.track is not None and i == circuit.moving:
            moved = circuit.track.origin
        elif i is not None:
            moved = None
        rim_mm = 0.0 if pulley.adjuster else pulley.rim_radius_mm(layout.belt)
        under = bool((np.hypot(*corners.T) <= rim_mm).all())
        yield _Body(name, corners.mean(axis=0), 0.0, corners, i, moved, is_mount=True, under_rim=under)


def _body(obstacle: Obstacle) -> _Body:
    if isinstance(obstacle, Circle):
        return _Body(obstacle.name, np.asarray(obstacle.at_mm), obstacle.diameter_mm / 2.0)
    corners = np.asarray(obstacle.corners_mm, dtype=float)
    return _Body(obstacle.name, corners.mean(axis=0), 0.0, corners)


@dataclass(frozen=True, eq=False)
class _GapOver:
    """The distance between two parts, over the leading axes on which it depends, mm; negative where they overlap.

    check: the question it answers. first, second: names of spans, pulleys or obstacles; the belt on a pulley is
    'belt on NAME'. second_is: what the second one is, in words before its name. own: the span, pulley or obstacle that
    the first and the second belong to, by their names alone.
    """

    check: str
    bound: Bound
    gap_mm: Floats
    first: str
    second: str
    second_is: str
    own: tuple[str, str]


def gaps_over(
    bodies: Bodies,
    path: Pieces,
    moving: frozenset[int] | None = None,
    fixed: bool = False,
    times: float = MEASURED,
    near: bool = False,
) -> Iterator[_GapOver]:
    """Every gap that the clearance checks judge, along paths over any leading axes.

    moving: pulleys that do not stand the same in all layouts; None for all of them. fixed: only between parts that none
    of these moves, else only between the others. times: up to so many times its limit a gap is measured; endlessly
    often means every gap, those of no meaning infinite. near: leave out what is surely farther.
    """
    laid = _Laid(bodies, path, moving, fixed, times, near)
    yield from _spans_to_pulleys(laid)
    yield from _belt_to_obstacles(laid)
    yield from _spans_to_spans(laid)
    yield from _rims(laid)
    yield from _arms(laid)


def rims_over(bodies: Bodies, path: Pieces, moving: int) -> Iterator[_GapOver]:
    """Every gap of one pulley's rim that `gaps_over` judges: for it the path needs no tangent."""
    return _rims(_Laid(bodies, path, frozenset({moving}), False, np.inf, False))


@dataclass(frozen=True, eq=False)
class _Laid:
    """A path as bodies, and which couples of them are wanted. known: from pulleys' centres to obstacles, so far."""

    bodies: Bodies
    path: Pieces
    moving: frozenset[int] | None
    fixed: bool
    times: float
    near: bool
    known: dict[tuple[int, str], Floats] = field(default_factory=dict)

    @property
    def n(self) -> int:
        return len(self.path.span)

    @cached_property
    def bands(self) -> list[Band]:
        return [self.bodies.band(self.path.free_span(i)) for i in range(self.n)]

    @cached_property
    def arcs(self) -> list[Arc]:
        return [self.path.arc(i).raised(float(self.bodies.reach[i])) for i in range(self.n)]

    @cached_property
    def apart(self) -> Floats:
        """How far, at least, bands, then arcs, then discs lie from all of them and, in the last columns, obstacles."""
        reach, outward = max(self.bodies.left_mm, self.bodies.right_mm), np.array([[-1.0], [1.0]])
        circles = self.path.circle_boxes + self.bodies.reach[:, None, None] * outward
        bodies = [body.box for body in (*self.discs, *self.obstacles)]
        low, high = np.swapaxes([*(self.path.span_boxes + reach * outward), *circles, *bodies], 0, 1)
        rows = slice(2 * self.n + len(self.discs))
        return np.asarray(np.maximum(low[rows, None] - high, low - high[rows, None]).max(axis=-1))

    @cached_property
    def parts(self) -> tuple[range, range, range, range]:
        """Which rows and columns of `apart` are bands, arcs, discs and, columns only, obstacles."""
        ends = np.cumsum([0, self.n, self.n, len(self.discs), len(self.obstacles)]).tolist()
        return range(*ends[0:2]), range(*ends[1:3]), range(*ends[2:4]), range(*ends[3:5])

    def couples(self, rows: range, columns: range, key: str) -> Iterable[tuple[int, int]]:
        """Couples by their row and column of `apart`; `near`: only those near enough to matter to any limit."""
        if not self.near:
            return product(rows, columns)
        layout = self.bodies.layout
        most = max(demanded(layout, key).limit, *layout.limits.get(key, {}).values(), 0.0)
        apart = self.apart[rows.start : rows.stop, columns.start : columns.stop]
        row, column = (~(apart > self.times * most)).nonzero()
        return zip((row + rows.start).tolist(), (column + columns.start).tolist(), strict=True)

    def measure(self, row: int, column: int, far: float, gap: Callable[[], Floats]) -> Floats:
        """A gap, measured only where in some layout two parts may be nearer than `far`; else that."""
        if self.moving is None or np.isinf(far) or not self.apart[row, column] > far:
            return gap()
        return np.full((), far)

    @cached_property
    def discs(self) -> list[_Body]:
        routed = zip(self.bodies.circuit.pulleys, self.path.centre, self.bodies.circuit.rim, strict=True)
        on_belt = [_Body(pulley.name, centre, rim, index=i) for i, (pulley, centre, rim) in enumerate(routed)]
        return [*on_belt, *self.bodies.spares]

    @cached_property
    def obstacles(self) -> list[_Body]:
        return [*self.bodies.obstacles, *map(self._put, self.bodies.mounts)]

    def _put(self, mount: _Body) -> _Body:
        if mount.moved is not None or mount.index is None:
            return mount
        return replace(mount, moved=self.path.centre[mount.index])

    @cached_property
    def anew(self) -> tuple[frozenset[int], frozenset[int]]:
        """The spans and the arcs that are not the same in all layouts."""
        moving = frozenset(range(self.n)) if self.moving is None else self.moving
        return frozenset(beside(moving, self.n)), frozenset(around(moving, self.n))

    def span(self, index: int) -> bool:
        return index in self.anew[0]

    def arc(self, index: int | None) -> bool:
        return self.moving is None or index in self.anew[1]

    def disc(self, body: _Body) -> bool:
        return self.moving is None or body.index in self.moving

    def wanted(self, *varies: bool) -> bool:
        return any(varies) != self.fixed

    def far(self, bound: Bound) -> float:
        return self.times if np.isinf(self.times) else self.times * bound.limit

    def centre_gap(self, number: int, obstacle: _Body) -> Floats:
        """From the centre of a disc, by number, to an obstacle."""
        key = (number, obstacle.called)
        if key not in self.known:
            self.known[key] = obstacle.gap_to(self.discs[number].centre)
        return self.known[key]


def _spans_to_pulleys(laid: _Laid) -> Iterator[_GapOver]:
    bodies, key, (bands, _, discs, _) = laid.bodies, "min_clearance_mm", laid.parts
    for i, column in laid.couples(bands, discs, key):
        other = laid.discs[column - discs.start]
        j = other.index
        if j not in (i, (i + 1) % laid.n) and laid.wanted(laid.span(i), laid.disc(other), laid.arc(j)):
            bound = bodies.limit(key, other.name, *bodies.circuit.ends(i))
            far = laid.far(bound)
            gap = laid.measure(i, column, far, partial(_span_to_pulley, laid, laid.bands[i], other, far))
            names = bodies.circuit.span_name(i), other.name
            yield _GapOver(CLEARANCE_CHECK, bound, gap, *names, "pulley", names)


def _span_to_pulley(laid: _Laid, band: Band, other: _Body, far: float) -> Floats:
    from_centre = band_to_point(band, other.centre)
    gap = from_centre - other.radius
    if other.index is None:
        return gap
    # A span that cuts into the metal keeps that depth; elsewhere the belt on it may be nearer.
    arc = laid.arcs[other.index]
    near = (from_centre - arc.radius < far) & (gap > 0.0)
    return np.minimum(gap, _where(near, np.inf, arc_to_band, arc, band))


def _belt_to_obstacles(laid: _Laid) -> Iterator[_GapOver]:
    bodies, n, key, obstacles = laid.bodies, laid.n, "min_clearance_mm", laid.parts[-1]
    by_obstacle = sorted(laid.couples(range(2 * n), obstacles, key), key=lambda at: (at[1], at[0] % n, at[0]))
    for row, column in by_obstacle:
        obstacle, i, on_pulley = laid.obstacles[column - obstacles.start], row % n, row >= n
        names = bodies.circuit.ends(i)[:1] if on_pulley else bodies.circuit.ends(i)
        varies = laid.arc(i) if on_pulley else laid.span(i)
        if (obstacle.under_rim and obstacle.name in names) or not laid.wanted(varies, laid.disc(obstacle)):
            continue
        bound = bodies.limit(key, obstacle.name, *names)
        far = laid.far(bound)
        between = _arc_to_obstacle if on_pulley else _band_to_obstacle
        gap = laid.measure(row, column, far, partial(between, laid, i, obstacle, far))
        own = names[0] if on_pulley else bodies.circuit.span_name(i)
        first = f"belt on {own}" if on_pulley else own
        yield _GapOver(CLEARANCE_CHECK, bound, gap, first, obstacle.called, obstacle.kind, (own, obstacle.name))


def _band_to_obstacle(laid: _Laid, index: int, obstacle: _Body, far: float) -> Floats:
    band, corners = laid.bands[index], obstacle.corners
    if corners is None:
        return band_to_point(band, obstacle.centre) - obstacle.radius
    band = replace(band, span=replace(band.span, start=obstacle.before_it(band.span.start)))
    near = _box_gap(band.span, corners) - max(band.left_mm, band.right_mm) < far
    return _where(near, far, lambda part: band_to_polygon(part, corners), band)


def _arc_to_obstacle(laid: _Laid, index: int, obstacle: _Body, far: float) -> Floats:
    arc, corners, centre = laid.arcs[index], obstacle.corners, obstacle.centre
    near = laid.centre_gap(index, obstacle) - arc.radius < far
    if corners is None:
        return _where(near, far, lambda at: arc_to_point(at, centre) - obstacle.radius, arc)
    arc = replace(arc, centre=obstacle.before_it(arc.centre))
    return _where(near, far, lambda at: arc_to_polygon(at, corners), arc)


def _spans_to_spans(laid: _Laid) -> Iterator[_GapOver]:
    bodies, key, bands = laid.bodies, "min_strand_gap_mm", laid.parts[0]
    near = set(laid.couples(bands, bands, key))
    for i, j in _facing(laid.n):
        if (i, j) in near and laid.wanted(laid.span(i), laid.span(j)):
            bound = bodies.limit(key, *bodies.circuit.ends(i), *bodies.circuit.ends(j))
            far = laid.far(bound)
            gap = laid.measure(i, j, far, partial(_span_to_span, laid, i, j, far))
            names = bodies.circuit.span_name(i), bodies.circuit.span_name(j)
            yield _GapOver(GAP_CHECK, bound, gap, *names, "span", names)


def _span_to_span(laid: _Laid, i: int, j: int, far: float) -> Floats:
    near: Bools = np.ones((), dtype=bool)
    if j == (i + 1) % laid.n:
        # Neighbours meet at their pulley; they only come together again past half a turn on it.
        near = laid.path.wrap[j] > np.pi
    near = near & _may_be_near(laid.bands[i], laid.bands[j], far) if near.any() else near
    return _where(near, far, band_to_band, laid.bands[i], laid.bands[j])


def _facing(n: int) -> list[tuple[int, int]]:
    """Couples of spans that may come near each other; neighbours after the others, in the belt's order."""
    neighbours = [((i - 1) % n, i) for i in range(n)] if n > 2 else []
    return [pair for pair in combinations(range(n), 2) if (pair[1] - pair[0]) % n not in (1, n - 1)] + neighbours


def _rims(laid: _Laid) -> Iterator[_GapOver]:
    limit, key, (_, _, discs, obstacles) = laid.bodies.limit, "min_rim_gap_mm", laid.parts
    for row, column in laid.couples(discs, discs, key):
        first, second = laid.discs[row - discs.start], laid.discs[column - discs.start]
        if row < column and laid.wanted(laid.disc(first), laid.disc(second)):
            bound = limit(key, second.name, first.name)
            gap = laid.measure(row, column, laid.far(bound), partial(_rim_gap, first, second))
            names = first.name, second.name
            yield _GapOver(RIM_CHECK, bound, gap, *names, "pulley", names)
    for row, column in sorted(laid.couples(discs, obstacles, key), key=lambda at: at[::-1]):
        i, obstacle = row - discs.start, laid.obstacles[column - obstacles.start]
        disc = laid.discs[i]
        own = obstacle.is_mount and disc.name == obstacle.name
        if not own and laid.wanted(laid.disc(disc), laid.disc(obstacle)):
            bound = limit(key, obstacle.name, disc.name)
            gap = laid.measure(row, column, laid.far(bound), partial(_rim_to_obstacle, laid, i, obstacle))
            names = disc.name, obstacle.name
            yield _GapOver(RIM_CHECK, bound, gap, disc.name, obstacle.called, obstacle.kind, names)


def _rim_gap(first: _Body, second: _Body) -> Floats:
    return second.gap_to(first.centre) - first.radius


def _rim_to_obstacle(laid: _Laid, index: int, obstacle: _Body) -> Floats:
    return laid.centre_gap(index, obstacle) - laid.discs[index].radius


def _arms(laid: _Laid) -> Iterator[_GapOver]:
    """What holds other pulleys against the tensioner's pivot and arm, and their rims against its pivot."""
    if laid.bodies.pivot is None:
        return
    pivot, index = laid.bodies.pivot
    own = laid.discs[index]
    low, high = _box_of(_ARM_HALF_MM + _AXIS_HALF_MM, pivot, own.centre)
    for other in laid.discs:
        if other is not own and laid.wanted(laid.disc(other), laid.disc(own)):
            bound = laid.bodies.limit("min_rim_gap_mm", other.name, own.name)
            if laid.near and np.maximum(other.box[0] - high, low - other.box[1]).max() > laid.far(bound):
                continue
            bound = replace(bound, source=f"{bound.source}; {_ASSUMED}")
            gap = point_to_segment(other.centre, pivot, own.centre) - _ARM_HALF_MM - _AXIS_HALF_MM
            names = other.name, own.name
            yield _GapOver(RIM_CHECK, bound, gap, other.name, f"arm of {own.name}", "arm", names)
            # How far the pivot stands out toward the belt no layout says: a question where a rim is over it, and no
            # clearance where none is.
            over = other.gap_to(pivot) - _ARM_HALF_MM
            asked = np.where(over < bound.limit, over, np.inf)
            asks = replace(bound, only_caution=True)
            yield _GapOver(RIM_CHECK, asks, asked, other.name, f"pivot of {own.name}", "pivot", names)


def _box_gap(span: FreeSpan, corners: Floats) -> Floats:
    """How far the upright boxes round a span and a polygon are apart along x or y: never more than they are."""
    start, end = span.start, span.end
    low, high = np.minimum(start, end), np.maximum(start, end)
    apart = np.maximum(low - corners.max(axis=0), corners.min(axis=0) - high)
    return np.asarray(np.maximum(apart[..., 0], apart[..., 1]))


def _may_be_near(first: Band, second: Band, far: float) -> Bools:
    """Whether one of two spans does not lie wholly beside the other, farther off than `far`."""
    reach = far + first.left_mm + first.right_mm
    return _not_beside(first.span, second.span, reach) & _not_beside(second.span, first.span, reach)


def _not_beside(span: FreeSpan, other: FreeSpan, reach: float) -> Bools:
    start = other.start - span.start
    aside, along = cross(span.direction, start), dot(span.direction, start)
    aside_end = aside + other.length * cross(span.direction, other.direction)
    along_end = along + other.length * dot(span.direction, other.direction)
    beside = np.minimum(aside, aside_end) > reach
    beside |= np.maximum(aside, aside_end) < -reach
    beside |= np.minimum(along, along_end) > span.length + reach
    beside |= np.maximum(along, along_end) < -reach
    return np.asarray(~beside)


def _where(near: Bools, otherwise: float, measure: Callable[..., Floats], *parts: Arc | Band) -> Floats:
    """Measure only where parts are near each other; elsewhere they are `otherwise` apart."""
    if not near.any():
        return np.full((), otherwise)
    if near.all():
        return measure(*parts)
    shape = np.broadcast_shapes(near.shape, *(part.shape for part in parts))
    near = np.broadcast_to(near, shape)
    gap = np.full(shape, otherwise)
    gap[near] = measure(*(part.picked(near) for part in parts))
    return gap
