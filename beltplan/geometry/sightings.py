"""Measurements between points of a plane, and the rows that they give a least-squares network.

Unknowns are one vector: x and y of every point in turn, then the radii, then what the sheets need.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, Ints, dot, left_normal

NO_RADIUS = -1
NEAREST_MM = 1e-6
"""Points nearer than this have no direction between them: it is taken as if they were this far apart."""


@dataclass(frozen=True, eq=False)
class Distances:
    """Distances between points, (m) each: centre to centre, over the rims of both, or the gap between them.

    first, second: numbers of points. rims: 0 between centres, +1 over the far rims, -1 between the near ones.
    first_radius, second_radius: place of the radii among the unknowns, NO_RADIUS between centres.
    """

    first: Ints
    second: Ints
    value_mm: Floats
    deviation_mm: Floats
    rims: Floats
    first_radius: Ints
    second_radius: Ints

    @property
    def count(self) -> int:
        """How many rows it gives."""
        return len(self.first)

    def between_centres_mm(self, unknowns: Floats) -> Floats:
        """What is left for the distance of the centres, (m) mm, with the radii among the unknowns."""
        return np.asarray(self.value_mm - self.rims * self._both_radii(unknowns))

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over deviations (m) and their slopes (m, n)."""
        step = _points(unknowns, self.second) - _points(unknowns, self.first)
        apart = np.maximum(np.sqrt(dot(step, step)), NEAREST_MM)
        along = step / apart[:, None]
        misfit = apart + self.rims * self._both_radii(unknowns) - self.value_mm
        slopes = np.zeros((self.count, len(unknowns)))
        _enter(slopes, self.second, along)
        _enter(slopes, self.first, -along)
        for radius in (self.first_radius, self.second_radius):
            there = np.flatnonzero(radius != NO_RADIUS)
            slopes[there, radius[there]] += self.rims[there]
        return misfit / self.deviation_mm, slopes / self.deviation_mm[:, None]

    def _both_radii(self, unknowns: Floats) -> Floats:
        return _radius(unknowns, self.first_radius) + _radius(unknowns, self.second_radius)


@dataclass(frozen=True, eq=False)
class Directions:
    """Directions from one point to another, (m) rad counter-clockwise from +x."""

    first: Ints
    second: Ints
    value_rad: Floats
    deviation_rad: Floats

    @property
    def count(self) -> int:
        """How many rows it gives."""
        return len(self.first)

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over deviations (m), by the shorter way round, and their slopes (m, n)."""
        step = _points(unknowns, self.second) - _points(unknowns, self.first)
        apart_sq = np.maximum(dot(step, step), NEAREST_MM**2)
        across = left_normal(step) / apart_sq[:, None]
        off = np.arctan2(step[:, 1], step[:, 0]) - self.value_rad
        slopes = np.zeros((self.count, len(unknowns)))
        _enter(slopes, self.second, across)
        _enter(slopes, self.first, -across)
        misfit = off - TURN * np.round(off / TURN)
        return misfit / self.deviation_rad, slopes / self.deviation_rad[:, None]


@dataclass(frozen=True, eq=False)
class Offsets:
    """How far a point lies from a datum point along one axis, (m) mm. axis: 0 for x, 1 for y."""

    datum: Ints
    point: Ints
    axis: Ints
    value_mm: Floats
    deviation_mm: Floats

    @property
    def count(self) -> int:
        """How many rows it gives."""
        return len(self.point)

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over deviations (m) and their slopes (m, n)."""
        every = np.arange(self.count)
        there, datum = 2 * self.point + self.axis, 2 * self.datum + self.axis
        slopes = np.zeros((self.count, len(unknowns)))
        slopes[every, there] += 1.0
        slopes[every, datum] -= 1.0
        misfit = unknowns[there] - unknowns[datum] - self.value_mm
        return misfit / self.deviation_mm, slopes / self.deviation_mm[:, None]


@dataclass(frozen=True, eq=False)
class Sizes:
    """Radii that were measured by themselves, (m) mm. radius: their places among the unknowns."""

    radius: Ints
    value_mm: Floats
    deviation_mm: Floats

    @property
    def count(self) -> int:
        """How many rows it gives."""
        return len(self.radius)

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over deviations (m) and their slopes (m, n)."""
        slopes = np.zeros((self.count, len(unknowns)))
        slopes[np.arange(self.count), self.radius] = 1.0 / self.deviation_mm
        return (unknowns[self.radius] - self.value_mm) / self.deviation_mm, slopes


def _points(unknowns: Floats, which: Ints) -> Floats:
    return np.stack((unknowns[2 * which], unknowns[2 * which + 1]), axis=-1)


def _radius(unknowns: Floats, which: Ints) -> Floats:
    return np.where(which == NO_RADIUS, 0.0, unknowns[which])


def _enter(slopes: Floats, which: Ints, change: Floats) -> None:
    every = np.arange(len(which))
    slopes[every, 2 * which] += change[:, 0]
    slopes[every, 2 * which + 1] += change[:, 1]
