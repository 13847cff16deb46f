"""Distances between spans with thickness, arcs, points and polygons, in plain numpy, for very many layouts at once.

Every argument has leading axes of its own; they broadcast. Corners and edges stand before them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, reduce

import numpy as np

from beltplan.geometry.crossing import spans_cross
from beltplan.geometry.pieces import Arc, FreeSpan
from beltplan.geometry.vectors import Bools, Floats, cross, dot, left_normal, norm

_BEFORE = [3, 0, 1, 2]
_AT_ONCE = 32768
"""Distances measured at once."""


@dataclass(frozen=True, eq=False)
class Band:
    """The rectangle that a belt fills along a span. left_mm, right_mm: its reach to either side of the span."""

    span: FreeSpan
    left_mm: float
    right_mm: float

    @property
    def shape(self) -> tuple[int, ...]:
        return self.span.shape

    def picked(self, where: Bools) -> Band:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        return Band(self.span.picked(where), self.left_mm, self.right_mm)

    @cached_property
    def ring(self) -> Floats:
        """Its corners in order, (4, ..., 2) mm."""
        start, end, left = self.span.start, self.span.end, left_normal(self.span.direction)
        ring = np.moveaxis(np.empty((2, 4, *end.shape[:-1])), 0, -1)
        ring[0], ring[1] = start + self.left_mm * left, end + self.left_mm * left
        ring[2], ring[3] = end - self.right_mm * left, start - self.right_mm * left
        return ring

    def corners(self, beside: tuple[int, ...]) -> Floats:
        """The same, with as many leading axes as the shape of what is beside it needs."""
        return self.ring.reshape(4, *(1,) * (len(beside) + 2 - self.ring.ndim), *self.ring.shape[1:])


def band_to_point(band: Band, point: Floats) -> Floats:
    """Distance of a point from a span's rectangle, zero inside; (..., 2) mm -> (...) mm.

    >>> band = Band(FreeSpan(np.array([0.0, 0.0]), np.array([1.0, 0.0]), np.array(100.0)), left_mm=2.0, right_mm=3.0)
    >>> band_to_point(band, np.array([[50.0, 12.0], [50.0, -13.0], [103.0, 6.0], [50.0, 0.0]])).tolist()
    [10.0, 10.0, 5.0, 0.0]
    """
    span = band.span
    towards = point - span.start
    along, aside = dot(span.direction, towards), cross(span.direction, towards)
    beyond = np.maximum(np.maximum(-along, along - span.length), 0.0)
    beside = np.maximum(np.maximum(aside - band.left_mm, -band.right_mm - aside), 0.0)
    return np.asarray(np.sqrt(beyond * beyond + beside * beside))


def band_to_band(first: Band, second: Band) -> Floats:
    """Distance between the rectangles of two spans that do not cross, zero where they meet; (...) mm.

    The nearest points of two rectangles that do not pass right through each other include a corner of one.
    """
    gaps = ((one, other.corners(one.shape)) for one, other in ((first, second), (second, first)))
    return reduce(np.minimum, (_least(band_to_point(band, corners)) for band, corners in gaps))


def band_to_polygon(band: Band, corners: Floats) -> Floats:
    """Distance of a span's rectangle from a polygon, zero where they meet; (k, 2) mm, in order -> (...) mm."""
    own, meets = band.ring[:, None], in_polygon(band.span.start, corners)
    gaps: list[Floats] = []
    for start, end in _edges(corners, band.shape):
        gaps += [_least(band_to_point(band, end)), _least(_least(point_to_segment(own, start, end)))]
        # An edge right through a rectangle crosses one of its diagonals.
        meets = meets | _segments_cross(own[:2], own[2:], start, end).any(axis=(0, 1))
    return np.where(meets, 0.0, reduce(np.minimum, gaps))


def point_to_segment(point: Floats, start: Floats, end: Floats) -> Floats:
    """Distance of a point from a straight segment, (...) mm."""
    step, towards = end - start, point - start
    share = _share(dot(towards, step) / dot(step, step))
    return norm(towards - share[..., None] * step)


def point_to_polygon(point: Floats, corners: Floats) -> Floats:
    """Distance of a point from a polygon, zero inside; (..., 2) and (k, 2) mm -> (...) mm.

    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> point_to_polygon(np.array([[13.0, 14.0], [5.0, -2.0], [5.0, 5.0]]), square).tolist()
    [5.0, 2.0, 0.0]
    """
    gaps = (_least(point_to_segment(point, *edges)) for edges in _edges(corners, point.shape[:-1]))
    return np.where(in_polygon(point, corners), 0.0, reduce(np.minimum, gaps))


def in_polygon(point: Floats, corners: Floats) -> Bools:
    """Whether a point lies inside a polygon, (..., 2) and (k, 2) mm -> (...).

    Source: even-odd rule, a ray toward +x.
    """
    x, y = point[..., 0], point[..., 1]
    inside = np.zeros(x.shape, dtype=bool)
    for start, end in _edges(corners, x.shape):
        x0, y0, y1, step = start[..., 0], start[..., 1], end[..., 1], end - start
        slope = step[..., 0] / np.where(step[..., 1] == 0.0, 1.0, step[..., 1])
        inside ^= np.logical_xor.reduce(((y0 > y) != (y1 > y)) & (x < x0 + (y - y0) * slope), axis=0)
    return inside


def arc_to_point(arc: Arc, point: Floats) -> Floats:
    """Distance of a point from an arc, (...) mm.

    >>> quarter = Arc(np.zeros(2), np.array(50.0), np.array(1.0), np.array([50.0, 0.0]), np.array(np.pi / 2.0))
    >>> arc_to_point(quarter, np.array([[60.0, 80.0], [50.0, -10.0]])).tolist()
    [50.0, 10.0]
    """
    offset = point - arc.centre
    apart = norm(offset)
    ends = np.minimum(norm(point - arc.begin), norm(point - arc.end))
    return np.where(arc.holds(offset, apart), np.abs(apart - arc.radius), ends)


def arc_to_band(arc: Arc, band: Band) -> Floats:
    """Distance between an arc and a span's rectangle, zero where they meet; (...) mm."""
    own = band.corners(arc.shape)
    # An end inside the rectangle gives zero.
    ends = np.minimum(band_to_point(band, arc.begin), band_to_point(band, arc.end))
    return np.minimum(ends, _to_outline(arc, own[_BEFORE], own))


def arc_to_polygon(arc: Arc, corners: Floats) -> Floats:
    """Distance between an arc and a polygon, zero where they meet; corners (k, 2) mm, in order -> (...) mm."""
    gaps = (_to_outline(arc, *edges) for edges in _edges(corners, arc.shape))
    return np.where(in_polygon(arc.begin, corners), 0.0, reduce(np.minimum, gaps))


def _to_outline(arc: Arc, start: Floats, end: Floats) -> Floats:
    """Distance of an arc from a closed chain of segments, (k, ..., 2) mm each, zero where they meet."""
    step, towards = end - start, arc.centre - start
    square = dot(step, step)
    foot = dot(towards, step) / square
    gaps = np.minimum(point_to_segment(arc.begin, start, end), point_to_segment(arc.end, start, end))
    gaps = np.minimum(gaps, arc_to_point(arc, start + _share(foot)[..., None] * step))
    half_sq = arc.radius**2 - dot(towards, towards) + foot * foot * square
    half = np.sqrt(np.maximum(half_sq, 0.0) / square)
    meets = np.zeros((), dtype=bool)
    for at in (foot - half, foot + half):
        on_circle = (half_sq > 0.0) & (at > 0.0) & (at < 1.0)
        if on_circle.any():
            meets = meets | (on_circle & arc.holds(at[..., None] * step - towards, arc.radius))
    return _least(np.where(meets, 0.0, np.minimum(gaps, arc_to_point(arc, end))))


def _segments_cross(start: Floats, end: Floats, other_start: Floats, other_end: Floats) -> Bools:
    one = np.ones(())
    return spans_cross(FreeSpan(start, end - start, one), FreeSpan(other_start, other_end - other_start, one))


def _edges(corners: Floats, shape: tuple[int, ...]) -> Iterator[tuple[Floats, Floats]]:
    """Starts and ends of a polygon's edges, an axis before those of what is measured to them, (k, 1, ..., 2) mm; all at
    once for a single layout, for very many so few that the processor's cache holds them.
    """
    end = corners.reshape(-1, *(1,) * len(shape), 2)
    start, step = end[range(-1, len(end) - 1)], max(1, _AT_ONCE // max(1, math.prod(shape)))
    for first in range(0, len(end), step):
        yield start[first : first + step], end[first : first + step]


def _share(values: Floats) -> Floats:
    # Much faster than np.clip on few values.
    return np.minimum(np.maximum(values, 0.0), 1.0)


def _least(gaps: Floats) -> Floats:
    return np.asarray(gaps.min(axis=0))
