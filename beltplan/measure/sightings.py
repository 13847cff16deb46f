"""Measurements between points of a plane, and pictures on which points were picked: the rows they give a network."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, Ints, dot, from_angle, left_normal
from beltplan.measure.least_squares import circle_near

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


# A sheet on which points of the plane were picked: a tracing, a scan or a photo, and how it maps the plane.

Model = Literal["rigid", "similar", "slanted"]
"""rigid: turned and shifted, scale known; similar: scale open as well; slanted: a photo at an angle (homography)."""
PARAMETERS: dict[Model, int] = {"rigid": 3, "similar": 4, "slanted": 8}
POINTS_NEEDED: dict[Model, int] = {"rigid": 2, "similar": 2, "slanted": 4}
LEAST_PX_PER_MM = 1e-6
"""Places that lie so close on a sheet, for their distance in the plane, tell neither its turn nor its scale."""
PLANE_UNIT_MM = 300.0
"""Unit of the plane inside a homography: keeps its eight numbers of one size."""


def mapped(model: Model, scale: float, numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    """Where points of the plane lie on a sheet.

    scale: px for one mm, of a rigid sheet. numbers: (k), k as in PARAMETERS. points: (m, 2) mm.
    Returns (m, 2) px, slopes by the point (m, 2, 2) and slopes by the numbers (m, 2, k).
    """
    if model == "slanted":
        return _slanted(numbers, points)
    if model == "similar":
        return _similar(numbers, points)
    along = scale * from_angle(numbers[0])
    spread = np.array([along[0], along[1], numbers[1], numbers[2]])
    at, by_point, by_similar = _similar(spread, points)
    by_turn = by_similar[..., :2] @ left_normal(along)
    return at, by_point, np.concatenate((by_turn[..., None], by_similar[..., 2:]), axis=-1)


def _similar(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    a, b, u, v = numbers
    x, y = points[:, 0], points[:, 1]
    zero, one = np.zeros(len(points)), np.ones(len(points))
    at = np.stack((a * x - b * y + u, b * x + a * y + v), axis=-1)
    by_point = np.broadcast_to(np.array(((a, -b), (b, a))), (len(points), 2, 2))
    by_numbers = np.stack((np.stack((x, -y, one, zero), -1), np.stack((y, x, zero, one), -1)), axis=1)
    return at, by_point, by_numbers


def _slanted(numbers: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    x, y = points[:, 0] / PLANE_UNIT_MM, points[:, 1] / PLANE_UNIT_MM
    one, zero = np.ones(len(points)), np.zeros(len(points))
    top = numbers[:6].reshape(2, 3)
    low = numbers[6] * x + numbers[7] * y + 1.0
    at = (np.stack((x, y, one), -1) @ top.T) / low[:, None]
    by_point = (top[:, :2] - at[..., None] * numbers[6:]) / (PLANE_UNIT_MM * low[:, None, None])
    tail = -at[..., None] * np.stack((x, y), -1)[:, None, :]
    first = np.stack((x, y, one, zero, zero, zero), -1)
    second = np.stack((zero, zero, zero, x, y, one), -1)
    by_numbers = np.concatenate((np.stack((first, second), axis=1), tail), axis=-1) / low[:, None, None]
    return at, by_point, by_numbers


def fitted(model: Model, scale: float, points: Floats, at: Floats) -> Floats:
    """Numbers of a sheet from points whose places in the plane (m, 2) mm and on the sheet (m, 2) px are known; (k).

    Needs as many as POINTS_NEEDED; the least of squares on the sheet, for a slanted one of an algebraic misfit.
    Source: direct linear solution of a plane homography, Hartley and Zisserman, Multiple View Geometry, 4.1 (from
    memory).
    """
    if model == "slanted":
        return _fitted_slanted(points, at)
    z, w = points[:, 0] + 1j * points[:, 1], at[:, 0] + 1j * at[:, 1]
    apart = z - z.mean()
    turn = np.vdot(apart, w - w.mean()) / max(float(np.vdot(apart, apart).real), 1e-300)
    if not abs(turn) > LEAST_PX_PER_MM:
        turn = complex(scale)
    if model == "rigid":
        turn = scale * np.exp(1j * np.angle(turn))
    shift = w.mean() - turn * z.mean()
    if model == "rigid":
        return np.array((np.angle(turn), shift.real, shift.imag))
    return np.array((turn.real, turn.imag, shift.real, shift.imag))


def _fitted_slanted(points: Floats, at: Floats) -> Floats:
    _, _, by_numbers = _slanted(np.zeros(8), points)
    rows = by_numbers.copy()
    x = points / PLANE_UNIT_MM
    rows[:, 0, 6:], rows[:, 1, 6:] = -at[:, :1] * x, -at[:, 1:] * x
    return np.asarray(np.linalg.lstsq(rows.reshape(-1, 8), at.reshape(-1), rcond=None)[0])


def placed(model: Model, scale: float, numbers: Floats, at: Floats) -> Floats:
    """Points of the plane, (m, 2) mm, that lie at places of a sheet, (m, 2) px."""
    if model == "slanted":
        whole = np.append(numbers, 1.0).reshape(3, 3)
        back = np.column_stack((at, np.ones(len(at)))) @ np.linalg.pinv(whole).T
        return np.asarray(PLANE_UNIT_MM * back[:, :2] / back[:, 2:])
    turn = scale * np.exp(1j * numbers[0]) if model == "rigid" else complex(numbers[0], numbers[1])
    shift = complex(numbers[-2], numbers[-1])
    z = (at[:, 0] + 1j * at[:, 1] - shift) / turn
    return np.stack((z.real, z.imag), axis=-1)


@dataclass(frozen=True, eq=False)
class Sheet:
    """Places picked on one sheet, and rims picked point by point.

    scale: px for one mm, of a rigid sheet. points: (p) numbers of points; at: (p, 2) px. rim_point, rim_radius: (q)
    number of the point in the middle and place of the radius among the unknowns, of each rim point; rim_at: (q, 2) px.
    deviation_px: of each coordinate. first_number, first_angle: places among the unknowns of the sheet's numbers and
    of the angles at which the rim points stand on their rims.
    """

    model: Model
    scale: float
    points: Ints
    at: Floats
    rim_point: Ints
    rim_radius: Ints
    rim_at: Floats
    deviation_px: float
    first_number: int
    first_angle: int

    @property
    def count(self) -> int:
        """How many rows it gives: two a place, u before v."""
        return 2 * (len(self.points) + len(self.rim_point))

    @property
    def picks(self) -> tuple[Ints, Floats]:
        """Points with their places on the sheet, for a start: those picked, and the middles of rims not picked as well.

        Returns numbers of points (s) and places (s, 2) px.
        """
        points, at = list(self.points), list(self.at)
        for point in np.unique(self.rim_point):
            if point not in self.points:
                points.append(point)
                at.append(circle_near(self.rim_at[self.rim_point == point])[0])
        return np.array(points, dtype=int), np.array(at, dtype=float).reshape(-1, 2)

    @property
    def numbers(self) -> slice:
        """Where its numbers stand among the unknowns."""
        return slice(self.first_number, self.first_number + PARAMETERS[self.model])

    @property
    def angles(self) -> slice:
        """Where the angles of its rim points stand among the unknowns."""
        return slice(self.first_angle, self.first_angle + len(self.rim_point))

    def faces(self, unknowns: Floats) -> bool:
        """Whether its places are seen from the front and before the horizon: a photo of them can be taken."""
        points, _ = self.picks
        if self.model != "slanted" or len(points) < POINTS_NEEDED[self.model]:
            return True
        centres = np.stack((unknowns[2 * points], unknowns[2 * points + 1]), axis=-1)
        _, by_point, _ = mapped(self.model, self.scale, unknowns[self.numbers], centres)
        return bool((np.linalg.det(by_point) > 0.0).all())

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over the deviation (2 (p + q)) and their slopes (2 (p + q), n)."""
        which = np.concatenate((self.points, self.rim_point))
        places, by_angle, by_radius = self._places(unknowns, which)
        at, by_point, by_numbers = mapped(self.model, self.scale, unknowns[self.numbers], places)
        slopes = np.zeros((len(which), 2, len(unknowns)))
        every = np.arange(len(which))
        slopes[every, :, 2 * which] += by_point[:, :, 0]
        slopes[every, :, 2 * which + 1] += by_point[:, :, 1]
        slopes[:, :, self.numbers] += by_numbers
        rims, turned = every[len(self.points) :], by_point[len(self.points) :]
        slopes[rims, :, self.first_angle + np.arange(len(rims))] += (turned @ by_angle[..., None])[..., 0]
        slopes[rims, :, self.rim_radius] += (turned @ by_radius[..., None])[..., 0]
        misfit = at - np.concatenate((self.at, self.rim_at))
        return misfit.reshape(-1) / self.deviation_px, slopes.reshape(self.count, -1) / self.deviation_px

    def _places(self, unknowns: Floats, which: Ints) -> tuple[Floats, Floats, Floats]:
        """Places in the plane of all that was picked (m, 2), and their slopes by angle and radius on rims (q, 2)."""
        centres = np.stack((unknowns[2 * which], unknowns[2 * which + 1]), axis=-1)
        outward, radius = from_angle(unknowns[self.angles]), unknowns[self.rim_radius]
        by_angle = radius[:, None] * left_normal(outward)
        centres[len(self.points) :] += radius[:, None] * outward
        return centres, by_angle, outward
