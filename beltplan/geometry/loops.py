"""A closed path of tangents and arcs round circles: the signed-tangent loop, how its length answers to small
movements, and the loop as a chain of points."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, apart, dot, from_angle, left_normal, norm, turned


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
    first, second = np.triu_indices(radius.shape[-1], 1)
    apart = norm(centre[..., first, :] - centre[..., second, :])
    return radius[..., first] + radius[..., second] - apart, [*zip(first.tolist(), second.tolist(), strict=True)]


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
    return arc(loop.centre[index], float(loop.radius[index]), *arc_angles(loop, index), step_rad)


def arc(
    centre: tuple[float, float] | Floats, radius: float, start_rad: float, sweep_rad: float, step_rad: float = 0.05
) -> Floats:
    """Points along an arc from an angle through a signed sweep, both ends included; (points, 2)."""
    count = max(2, int(np.ceil(abs(sweep_rad) / step_rad)) + 1)
    return np.asarray(centre + radius * from_angle(start_rad + np.linspace(0.0, sweep_rad, count)))


def outline(loop: Loop, step_rad: float = 0.05) -> Floats:
    """Points once round a single loop, from the first arc on; (points, 2) mm, first point not repeated.

    >>> loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([50.0, 50.0]), np.array([1.0, 1.0]))
    >>> step = np.diff(outline(loop, 0.001), axis=0, append=outline(loop, 0.001)[:1])
    >>> round(float(norm(step).sum()), 2), round(loop.length.item(), 2)
    (914.16, 914.16)
    """
    return np.concatenate([arc_points(loop, i, step_rad) for i in range(loop.span.shape[-1])])
