"""Distances between strands with thickness, arcs, points and polygons, in plain numpy, for very many layouts at once.

Every argument has leading axes of its own; they broadcast. `clearance` measures the same things one layout at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.crossing import strands_cross
from beltplan.geometry.pieces import Arc, Strand
from beltplan.geometry.vectors import Bools, Floats, cross, dot, left_normal


@dataclass(frozen=True, eq=False)
class Band:
    """The rectangle that a belt fills along a strand. left_mm, right_mm: its reach to either side of the strand."""

    strand: Strand
    left_mm: float
    right_mm: float

    def corners(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Its corners in order, each (..., 2) mm."""
        start, end, left = self.strand.start, self.strand.end, left_normal(self.strand.direction)
        return (
            start + self.left_mm * left,
            end + self.left_mm * left,
            end - self.right_mm * left,
            start - self.right_mm * left,
        )


def _length(vector: Floats) -> Floats:
    # Several times faster than np.hypot, which guards against overflow that mm never reach.
    return np.asarray(np.sqrt(dot(vector, vector)))


def point_to_point(first: Floats, second: Floats) -> Floats:
    """Distance between points, (..., 2) mm each -> (...) mm."""
    return _length(second - first)


def band_to_point(band: Band, point: Floats) -> Floats:
    """Distance of a point from a strand's rectangle, zero inside; (..., 2) mm -> (...) mm."""
    strand = band.strand
    towards = point - strand.start
    along, aside = dot(strand.direction, towards), cross(strand.direction, towards)
    beyond = np.maximum(np.maximum(-along, along - strand.length), 0.0)
    beside = np.maximum(np.maximum(aside - band.left_mm, -band.right_mm - aside), 0.0)
    return np.asarray(np.sqrt(beyond * beyond + beside * beside))


def band_to_band(first: Band, second: Band) -> Floats:
    """Distance between the rectangles of two strands that do not cross, zero where they meet; (...) mm.

    The nearest points of two rectangles that do not pass right through each other include a corner of one.
    """
    gaps = [band_to_point(first, corner) for corner in second.corners()]
    gaps += [band_to_point(second, corner) for corner in first.corners()]
    return _least(gaps)


def band_to_polygon(band: Band, corners: Floats) -> Floats:
    """Distance of a strand's rectangle from a polygon, zero where they meet; (k, 2) mm, in order -> (...) mm."""
    own = band.corners()
    gaps = [band_to_point(band, corner) for corner in corners]
    meets = in_polygon(band.strand.start, corners)
    for start, end in _edges(corners):
        gaps += [point_to_segment(corner, start, end) for corner in own]
        for i in range(4):
            meets = meets | _segments_cross(own[i], own[(i + 1) % 4], start, end)
    return np.where(meets, 0.0, _least(gaps))


def point_to_segment(point: Floats, start: Floats, end: Floats) -> Floats:
    """Distance of a point from a straight segment, (...) mm."""
    step, towards = end - start, point - start
    share = np.clip(dot(towards, step) / dot(step, step), 0.0, 1.0)
    return _length(towards - share[..., None] * step)


def point_to_polygon(point: Floats, corners: Floats) -> Floats:
    """Distance of a point from a polygon, zero inside; (..., 2) and (k, 2) mm -> (...) mm."""
    gap = _least([point_to_segment(point, start, end) for start, end in _edges(corners)])
    return np.where(in_polygon(point, corners), 0.0, gap)


def in_polygon(point: Floats, corners: Floats) -> Bools:
    """Whether a point lies inside a polygon, (..., 2) and (k, 2) mm -> (...).

    Source: even-odd rule, a ray toward +x.
    """
    x, y = point[..., 0], point[..., 1]
    inside = np.zeros(x.shape, dtype=bool)
    for start, end in _edges(corners):
        (x0, y0), (x1, y1) = start, end
        if y0 != y1:
            inside ^= ((y0 > y) != (y1 > y)) & (x < x0 + (y - y0) * (x1 - x0) / (y1 - y0))
    return inside


def arc_to_point(arc: Arc, point: Floats) -> Floats:
    """Distance of a point from an arc, (...) mm."""
    return _sector_of(arc).to_point(point)


def arc_to_band(arc: Arc, band: Band) -> Floats:
    """Distance between an arc and a strand's rectangle, zero where they meet; (...) mm."""
    sector = _sector_of(arc)
    # An end inside the rectangle gives zero.
    ends = [band_to_point(band, point) for point in (sector.begin, sector.end)]
    return _least([sector.to_outline(list(band.corners())), *ends])


def arc_to_polygon(arc: Arc, corners: Floats) -> Floats:
    """Distance between an arc and a polygon, zero where they meet; corners (k, 2) mm, in order -> (...) mm."""
    sector = _sector_of(arc)
    return np.where(in_polygon(sector.begin, corners), 0.0, sector.to_outline(list(corners)))


@dataclass(frozen=True, eq=False)
class _Sector:
    """An arc with what every distance from it needs. middle: from the centre to half way; least: what the projection
    of a unit vector on it must reach for its direction to fall on the arc.
    """

    arc: Arc
    begin: Floats
    end: Floats
    middle: Floats
    least: Floats

    def holds(self, offset: Floats, apart: Floats) -> Bools:
        """Whether a direction from the centre falls on the arc; apart: the vector's length."""
        return np.asarray(dot(offset, self.middle) >= apart * self.least)

    def to_point(self, point: Floats) -> Floats:
        offset = point - self.arc.centre
        apart = _length(offset)
        ends = np.minimum(_length(point - self.begin), _length(point - self.end))
        return np.where(self.holds(offset, apart), np.abs(apart - self.arc.radius), ends)

    def to_outline(self, corners: list[Floats]) -> Floats:
        """Distance from a closed chain of segments, zero where they meet."""
        gaps = [self.to_point(corner) for corner in corners]
        edges = [self._to_edge(corners[i - 1], corners[i]) for i in range(len(corners))]
        return _least([*gaps, *edges])

    def _to_edge(self, start: Floats, end: Floats) -> Floats:
        """Distance from the inside of a segment; its ends are left to others."""
        step, towards = end - start, self.arc.centre - start
        square = dot(step, step)
        foot = dot(towards, step) / square
        gaps = [point_to_segment(self.begin, start, end), point_to_segment(self.end, start, end)]
        gaps.append(self.to_point(start + np.clip(foot, 0.0, 1.0)[..., None] * step))
        half_sq = self.arc.radius**2 - dot(towards, towards) + foot * foot * square
        half = np.sqrt(np.maximum(half_sq, 0.0) / square)
        meets = np.zeros((), dtype=bool)
        for at in (foot - half, foot + half):
            on_circle = (half_sq > 0.0) & (at > 0.0) & (at < 1.0)
            if on_circle.any():
                meets = meets | (on_circle & self.holds(at[..., None] * step - towards, self.arc.radius))
        return np.where(meets, 0.0, _least(gaps))


def _sector_of(arc: Arc) -> _Sector:
    return _Sector(arc, arc.centre + arc.away, arc.end, arc.middle, arc.radius * np.cos(0.5 * arc.wrap))


def _segments_cross(start: Floats, end: Floats, other_start: Floats, other_end: Floats) -> Bools:
    one = np.ones(())
    return strands_cross(Strand(start, end - start, one), Strand(other_start, other_end - other_start, one))


def _edges(corners: Floats) -> list[tuple[Floats, Floats]]:
    return [(corners[i - 1], corners[i]) for i in range(len(corners))]


def _least(gaps: Sequence[Floats]) -> Floats:
    least = gaps[0]
    for gap in gaps[1:]:
        least = np.minimum(least, gap)
    return least
