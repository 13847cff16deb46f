"""A closed path of tangents and arcs round circles: the signed-tangent loop, how its length answers to small
movements, the loop as a chain of points, and in pieces of which only those that differ are laid for every layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, apart, dot, from_angle, left_normal, norm, picked, turned


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed path over n circles, or a whole batch of them along the leading axes.

    Span i runs from circle i to circle i + 1; arc i lies on circle i, between span i - 1 and span i.

    centre: (..., n, 2) mm. radius: (..., n) mm, positive. sense: (..., n), +1 counter-clockwise, -1 clockwise.
    direction: (..., n, 2) unit vector of each span. span: (..., n) mm, NaN where no tangent exists.
    wrap: (..., n) rad in [0, 2 pi), NaN beside a missing tangent.
    """

    centre: Floats
    radius: Floats
    sense: Floats
    direction: Floats
    span: Floats
    wrap: Floats

    def picked(self, where: Bools | tuple[int | slice, ...]) -> Loop:
        """Only some of a batch, by their leading axes."""
        return Loop(*(getattr(self, part.name)[where] for part in fields(self)))

    @property
    def pieces(self) -> Pieces:
        centre, direction = (tuple(np.moveaxis(each, -2, 0)) for each in (self.centre, self.direction))
        each = (np.moveaxis(values, -1, 0) for values in (self.radius, self.sense, self.span, self.wrap))
        radius, sense, span, wrap = each
        return Pieces(centre, radius, sense, direction, tuple(span), tuple(wrap))

    @property
    def length(self) -> Floats:
        """Length of the whole path, (...) mm; NaN where a tangent is missing."""
        return np.asarray(np.sum(self.span + self.wrap * self.radius, axis=-1))

    @property
    def turns(self) -> Floats:
        """Whole turns made along the path, (...): +1 for a simple counter-clockwise loop, -1 clockwise."""
        return np.asarray(np.sum(self.sense * self.wrap, axis=-1) / TURN)

    @property
    def exists(self) -> Bools:
        """Whether every tangent exists, (...)."""
        return np.asarray(np.isfinite(self.span).all(axis=-1))

    @property
    def start(self) -> Floats:
        """Where each span leaves its circle, (..., n, 2) mm."""
        return self._contact(self.direction)

    @property
    def end(self) -> Floats:
        """Where each span meets the next circle, (..., n, 2) mm."""
        return self.arrival[..., after(self.span.shape[-1]), :]

    @property
    def arrival(self) -> Floats:
        """Where each arc begins, (..., n, 2) mm: `end` listed by circle instead of by span."""
        return self._contact(self.direction[..., before(self.span.shape[-1]), :])

    def _contact(self, direction: Floats) -> Floats:
        # A belt that turns a circle counter-clockwise has the centre on its left.
        return np.asarray(self.centre - (self.sense * self.radius)[..., None] * left_normal(direction))


def close_loop(centre: Floats, radius: Floats, sense: Floats) -> Loop:
    """Lay the path of signed tangents and arcs round circles in their listed order.

    centre: (..., n, 2) mm; radius: (..., n) mm, positive; sense: (..., n) of +1 or -1; leading axes broadcast.
    Returns a Loop over the broadcast leading axes. A missing tangent (D <= |R_i - R_(i+1)|, R = sense x radius)
    gives NaN for its span and for the wraps beside it; `Loop.exists` tells.
    Source: common tangents of two circles, plane geometry; checked in tests/cited.

    >>> loop = close_loop(np.array([[0.0, 0.0], [400.0, 0.0]]), np.array([100.0, 50.0]), np.array([-1.0, -1.0]))
    >>> alpha = np.arcsin((100.0 - 50.0) / 400.0)
    >>> open_belt = 2.0 * 400.0 * np.cos(alpha) + np.pi * (100.0 + 50.0) + 2.0 * alpha * (100.0 - 50.0)
    >>> round(loop.length.item(), 6), round(open_belt.item(), 6)
    (1277.497074, 1277.497074)
    >>> np.degrees(loop.wrap).round(3).tolist(), loop.turns.item()
    ([194.362, 165.638], -1.0)
    """
    shape = np.broadcast_shapes(centre.shape[:-1], radius.shape, sense.shape)
    centre, radius = np.broadcast_to(centre, (*shape, 2)), np.broadcast_to(radius, shape)
    sense = np.broadcast_to(sense, shape)
    nxt = after(radius.shape[-1])
    signed = sense * radius
    direction, span = tangent(centre[..., nxt, :] - centre, signed - signed[..., nxt])
    wrap = turned(direction[..., before(radius.shape[-1]), :], direction, sense)
    return Loop(centre, radius, sense, direction, span, wrap)


def tangent(step: Floats, offset: Floats) -> tuple[Floats, Floats]:
    """The signed tangent from one circle to the next: its unit vector and its length.

    step: (..., 2) mm, from centre to centre; offset: (...) mm, signed radius of the first less that of the second.
    Returns (..., 2) and (...) mm, NaN where there is none.

    >>> direction, span = tangent(np.array([100.0, 0.0]), np.array(60.0))
    >>> direction.round(12).tolist(), span.item()
    ([0.8, 0.6], 80.0)
    >>> np.isnan(tangent(np.array([100.0, 0.0]), np.array(120.0))[1]).item()
    True
    """
    distance_sq = dot(step, step)
    span_sq = distance_sq - offset * offset
    span = np.sqrt(np.where(span_sq > 0.0, span_sq, np.nan))
    x, y = step[..., 0], step[..., 1]
    return apart((span * x - offset * y) / distance_sq, (span * y + offset * x) / distance_sq), span


def after(n: int) -> list[int]:
    """Index of the next circle round a loop of n."""
    return [*range(1, n), 0]


def before(n: int) -> list[int]:
    """Index of the previous circle round a loop of n."""
    return [n - 1, *range(n - 1)]


def beside(moved: Iterable[int], n: int) -> frozenset[int]:
    """The spans that touch one of these circles."""
    return frozenset(j for i in moved for j in ((i - 1) % n, i))


def around(moved: Iterable[int], n: int) -> frozenset[int]:
    """The circles on which the arc changes when one of these moves."""
    return frozenset(j for i in moved for j in ((i - 1) % n, i, (i + 1) % n))


def overlap(centre: Floats, radius: Floats) -> tuple[Floats, list[tuple[int, int]]]:
    """How deep each pair of discs overlaps.

    centre: (..., n, 2) mm; radius: (..., n) mm. Returns (..., pairs) mm, positive where two discs share ground,
    and the pairs as index couples, first below second.

    >>> depth, pairs = overlap(np.array([[0.0, 0.0], [70.0, 0.0], [200.0, 0.0]]), np.array([40.0, 40.0, 40.0]))
    >>> pairs, depth.tolist()
    ([(0, 1), (0, 2), (1, 2)], [10.0, -120.0, -50.0])
    """
    n = radius.shape[-1]
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    first, second = [i for i, _ in pairs], [j for _, j in pairs]
    apart = norm(centre[..., first, :] - centre[..., second, :])
    return radius[..., first] + radius[..., second] - apart, pairs


# How the length of a loop answers to small movements: closed forms, no finite differences.


def length_by_centre(loop: Loop) -> Floats:
    """Change of path length with the place of each centre: dL/dc_i = u_(i-1) - u_i.

    Returns (..., n, 2), mm of path for a mm of movement along x and along y.
    Source: first variation of the path; tangency makes the contact points' own movement drop out.

    >>> centre, radius, sense = np.array([[0.0, 0.0], [300.0, 0.0], [150.0, 200.0]]), np.full(3, 40.0), np.ones(3)
    >>> slope = length_by_centre(close_loop(centre, radius, sense))[2, 1]
    >>> longer = close_loop(centre + [[0.0, 0.0], [0.0, 0.0], [0.0, 0.001]], radius, sense).length
    >>> round(slope.item(), 4), round((longer - close_loop(centre, radius, sense).length).item() / 0.001, 4)
    (1.6, 1.6)
    """
    arriving = loop.direction[..., before(loop.span.shape[-1]), :]
    return arriving - loop.direction


def length_by_motion(arriving: Floats, leaving: Floats, motion: Floats) -> Floats:
    """Change of path length as one centre moves.

    arriving, leaving: (..., 2), unit directions of the spans before and after its circle. motion: (..., 2), movement of
    the centre for one unit of the adjuster (mm per rad, or mm per mm). Returns (...) mm of path for that unit.
    Source: dL/dc_i (above) dotted with the centre's movement.

    >>> along, back = np.array([1.0, 0.0]), np.array([-1.0, 0.0])
    >>> length_by_motion(along, back, np.array([1.0, 0.0])).item()
    2.0
    """
    return dot(arriving - leaving, motion)


# A loop as a chain of points: for drawings, and for checks by outside libraries.


def arc_angles(loop: Loop, index: int) -> tuple[float, float]:
    """Angle at which the belt of a single loop meets a pulley, and its sweep on it, rad, counter-clockwise positive."""
    x, y = loop.arrival[index] - loop.centre[index]
    return float(np.arctan2(y, x)), float(loop.sense[index] * loop.wrap[index])


def arc_points(loop: Loop, index: int, step_rad: float = 0.05) -> Floats:
    """Points along one arc of a single loop, both contact points included.

    step_rad: the largest angle between neighbouring points. Returns (points, 2) mm, in the direction of travel.
    """
    first, sweep = arc_angles(loop, index)
    count = max(2, int(np.ceil(abs(sweep) / step_rad)) + 1)
    angles = first + np.linspace(0.0, sweep, count)
    return np.asarray(loop.centre[index] + loop.radius[index] * from_angle(angles))


def outline(loop: Loop, step_rad: float = 0.05) -> Floats:
    """Points once round a single loop, from the first arc on; (points, 2) mm, first point not repeated.

    >>> loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([50.0, 50.0]), np.array([1.0, 1.0]))
    >>> step = np.diff(outline(loop, 0.001), axis=0, append=outline(loop, 0.001)[:1])
    >>> round(float(norm(step).sum()), 2), round(loop.length.item(), 2)
    (914.16, 914.16)
    """
    return np.concatenate([arc_points(loop, i, step_rad) for i in range(loop.span.shape[-1])])


# The same path in pieces: what is the same in all layouts of a batch is laid once.


@dataclass(frozen=True, eq=False)
class FreeSpan:
    """A straight piece. start: (..., 2) mm; direction: (..., 2), a unit vector; length: (...) mm."""

    start: Floats
    direction: Floats
    length: Floats

    @cached_property
    def end(self) -> Floats:
        """Where it meets the next circle, (..., 2) mm."""
        return np.asarray(self.start + self.length[..., None] * self.direction)

    @property
    def shape(self) -> tuple[int, ...]:
        return np.broadcast_shapes(self.start.shape[:-1], self.length.shape)

    def picked(self, where: Bools) -> FreeSpan:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        return FreeSpan(picked(self.start, where, 1), picked(self.direction, where, 1), picked(self.length, where))


@dataclass(frozen=True, eq=False)
class Arc:
    """A round piece. centre: (..., 2) mm; radius, sense: (...); away: (..., 2) mm, from the centre to where it begins;
    wrap: (...) rad.
    """

    centre: Floats
    radius: Floats
    sense: Floats
    away: Floats
    wrap: Floats

    @cached_property
    def end(self) -> Floats:
        """Where it ends, (..., 2) mm."""
        return np.asarray(self.centre + self._turned_by(self.wrap))

    @cached_property
    def middle(self) -> Floats:
        """From the centre to half way along, (..., 2) mm."""
        return self._turned_by(0.5 * self.wrap)

    @property
    def shape(self) -> tuple[int, ...]:
        return np.broadcast_shapes(self.centre.shape[:-1], self.wrap.shape, self.away.shape[:-1], self.radius.shape)

    def picked(self, where: Bools) -> Arc:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        centre, away = picked(self.centre, where, 1), picked(self.away, where, 1)
        return Arc(centre, picked(self.radius, where), self.sense, away, picked(self.wrap, where))

    def raised(self, by_mm: float) -> Arc:
        """The arc that runs beside this one, `by_mm` farther out."""
        radius = self.radius + by_mm
        return Arc(self.centre, radius, self.sense, self.away * (radius / self.radius)[..., None], self.wrap)

    def _turned_by(self, angle: Floats) -> Floats:
        turn, (x, y) = self.sense * angle, (self.away[..., 0], self.away[..., 1])
        cos, sin = np.cos(turn), np.sin(turn)
        return apart(cos * x - sin * y, cos * y + sin * x)


@dataclass(frozen=True, eq=False)
class Pieces:
    """A closed path over n circles, as `Loop`, but every piece with leading axes of its own that broadcast together.

    centre, direction: n arrays (..., 2); span, wrap: n arrays (...); radius: (n, ...); sense: (n). other: a path of
    which only what lies beside some circles is laid anew here.
    """

    centre: tuple[Floats, ...]
    radius: Floats
    sense: Floats
    direction: tuple[Floats, ...]
    span: tuple[Floats, ...]
    wrap: tuple[Floats, ...]
    other: tuple[Pieces, frozenset[int]] | None = None

    @property
    def length(self) -> Floats:
        """Length of the whole path, (...) mm; NaN where a tangent is missing."""
        return total([*self.span, *(wrap * r for wrap, r in zip(self.wrap, self.radius, strict=True))])

    @property
    def turns(self) -> Floats:
        """Whole turns made along the path, (...)."""
        return total([wrap * s for wrap, s in zip(self.wrap, self.sense, strict=True)]) / TURN

    def moved(self, centres: Mapping[int, Floats]) -> Pieces:
        """The path with some circles elsewhere, by index: only the pieces beside them are laid anew."""
        n, moved = len(self.centre), frozenset(centres)
        centre = tuple(centres.get(i, at) for i, at in enumerate(self.centre))
        direction, span, wrap = list(self.direction), list(self.span), list(self.wrap)
        for i in beside(moved, n):
            direction[i], span[i] = _tangent_from(centre, self.radius, self.sense, i)
        for i in around(moved, n):
            wrap[i] = turned(direction[i - 1], direction[i], self.sense[i])
        other = (self, moved)
        return Pieces(centre, self.radius, self.sense, tuple(direction), tuple(span), tuple(wrap), other)

    @cached_property
    def _laid(self) -> dict[int, FreeSpan]:
        return {}

    def free_span(self, index: int) -> FreeSpan:
        if index not in self._laid:
            out, along = self.sense[index] * self.radius[index], self.direction[index]
            start = self.centre[index] + apart(out * along[..., 1], -out * along[..., 0])
            self._laid[index] = FreeSpan(start, along, self.span[index])
        return self._laid[index]

    @cached_property
    def span_boxes(self) -> Floats:
        """Corners of what each span covers in any of the layouts, (n, 2, 2) mm; NaN where one has no tangent."""
        n = len(self.span)
        boxes = np.empty((n, 2, 2)) if self.other is None else self.other[0].span_boxes.copy()
        for i in range(n) if self.other is None else beside(self.other[1], n):
            boxes[i] = _outermost(self.free_span(i).start, self.free_span(i).end)
        return boxes

    @cached_property
    def circle_boxes(self) -> Floats:
        """The same of whole circles."""
        n = len(self.span)
        boxes = np.empty((n, 2, 2)) if self.other is None else self.other[0].circle_boxes.copy()
        for i in range(n) if self.other is None else self.other[1]:
            boxes[i] = _outermost(self.centre[i]) + np.array([[-1.0], [1.0]]) * np.max(self.radius[i], initial=0.0)
        return boxes

    def arc(self, index: int) -> Arc:
        radius, sense = np.asarray(self.radius[index]), np.asarray(self.sense[index])
        away = -(sense * radius)[..., None] * left_normal(self.direction[index - 1])
        return Arc(self.centre[index], radius, sense, away, self.wrap[index])

    @property
    def whole(self) -> Loop:
        """The same path with every part over all leading axes."""
        lead = np.broadcast_shapes(*(span.shape for span in self.span), self.radius.shape[1:])
        centre, direction = joined(self.centre, lead), joined(self.direction, lead)
        span, wrap = (joined([part[..., None] for part in parts], lead)[..., 0] for parts in (self.span, self.wrap))
        radius, sense = np.moveaxis(self.radius, 0, -1), np.broadcast_to(self.sense, span.shape)
        return Loop(centre, np.broadcast_to(radius, span.shape), sense, direction, span, wrap)

    def picked(self, where: Bools) -> Pieces:
        """Only some of the layouts; pieces that are the same for all stay so."""
        centre, direction = (tuple(picked(v, where, 1) for v in all_) for all_ in (self.centre, self.direction))
        span, wrap = (tuple(picked(v, where) for v in all_) for all_ in (self.span, self.wrap))
        return Pieces(centre, picked_rows(self.radius, where), self.sense, direction, span, wrap, self.other)


def pieces_of(centre: Sequence[Floats], radius: Floats, sense: Floats) -> Pieces:
    """Lay a path in pieces. centre: n arrays (..., 2) mm; radius: (n, ...); sense: (n), as in `close_loop`.

    >>> centre = [np.zeros(2), np.array([[300.0, 0.0], [400.0, 0.0]])]
    >>> path = pieces_of(centre, np.array([50.0, 50.0]), np.array([1.0, 1.0]))
    >>> path.length.round(3).tolist(), path.wrap[0].shape
    ([914.159, 1114.159], (2,))
    """
    n, places = len(centre), tuple(centre)
    if radius.ndim == 1 and all(place.ndim == 1 for place in places):
        loop = close_loop(np.array(places), radius, sense)
        return Pieces(places, radius, sense, tuple(loop.direction), tuple(loop.span), tuple(loop.wrap))
    laid = [_tangent_from(places, radius, sense, i) for i in range(n)]
    direction, span = tuple(u for u, _ in laid), tuple(s for _, s in laid)
    wrap = tuple(turned(direction[i - 1], direction[i], sense[i]) for i in range(n))
    return Pieces(places, radius, sense, direction, span, wrap)


def _outermost(*points: Floats) -> list[list[float]]:
    """The lower left and the upper right corner of what holds points of all layouts, mm."""
    return [
        [of.reduce([of.reduce(each[..., k], axis=None, initial=of_none) for each in points]) for k in (0, 1)]
        for of, of_none in ((np.minimum, np.inf), (np.maximum, -np.inf))
    ]


def joined(parts: Sequence[Floats], lead: tuple[int, ...]) -> Floats:
    """Values of n circles, (..., k) each, as one array over all leading axes, (*lead, n, k)."""
    whole = np.empty((*lead, len(parts), parts[0].shape[-1]))
    for i, part in enumerate(parts):
        whole[..., i, :] = part
    return whole


def picked_rows(values: Floats, where: Bools) -> Floats:
    """Only some of the layouts of something for every circle, (n, ...)."""
    return values if values.ndim == 1 else np.stack([picked(row, where) for row in values])


def _tangent_from(centre: tuple[Floats, ...], radius: Floats, sense: Floats, index: int) -> tuple[Floats, Floats]:
    following = (index + 1) % len(centre)
    offset = sense[index] * radius[index] - sense[following] * radius[following]
    return tangent(centre[following] - centre[index], np.asarray(offset))


def total(parts: Sequence[Floats]) -> Floats:
    """The sum of parts with axes of their own."""
    # Small ones first: what is the same everywhere is summed once.
    found = np.zeros(())
    for part in sorted(parts, key=np.size):
        found = found + part
    return found
