"""Curves of a drawing as chains of points: straight edges, arcs of ellipses, Bezier curves and B-splines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, left_normal

LEAST_CHORDS = 16
"""Chords of a whole turn at least, so that a small circle still looks round."""
MOST_CHORDS = 200_000
"""Chords of one spline, shared by its spans: a guard that no curve of a real drawing meets."""
LEAST_SHARE = 64
FLAT = 1e-6
"""A bulge so small is a straight edge: the arc leaves it by half of that of its length."""


@dataclass(frozen=True, eq=False)
class Map:
    """A linear map of the plane and a shift: point -> matrix @ point + shift. matrix: (2, 2); shift: (2)."""

    matrix: Floats
    shift: Floats

    def of(self, points: Floats) -> Floats:
        """Where points go, (..., 2)."""
        return np.asarray(points @ self.matrix.T + self.shift)

    def turn(self, vectors: Floats) -> Floats:
        """Where directions go, which no shift moves; (..., 2)."""
        return np.asarray(vectors @ self.matrix.T)

    def after(self, first: Map) -> Map:
        """The map that does another one first, then this."""
        return Map(self.matrix @ first.matrix, self.of(first.shift))

    @property
    def largest(self) -> float:
        """Its largest number."""
        return float(max(np.abs(self.matrix).max(), np.abs(self.shift).max()))


def scaled(x: float, y: float) -> Map:
    """The map that stretches along x and y."""
    return Map(np.array([[x, 0.0], [0.0, y]]), np.zeros(2))


@dataclass(frozen=True, eq=False)
class Edges:
    """Straight edges from corner to corner, (n, 2)."""

    corners: Floats

    def moved(self, by: Map) -> Edges:
        """The same edges after a map."""
        return Edges(by.of(self.corners))

    @property
    def reach(self) -> float:
        """A distance from the origin that no part exceeds along x or y."""
        return float(np.abs(self.corners).max())

    def points(self, within: float) -> Floats:
        """Points along it, (n, 2)."""
        return self.corners


@dataclass(frozen=True, eq=False)
class Sweep:
    """A part of an ellipse: centre + across cos(t) + aside sin(t), t from start over a signed sweep, in rad."""

    centre: Floats
    across: Floats
    aside: Floats
    start_rad: float
    sweep_rad: float

    def moved(self, by: Map) -> Sweep:
        """The same arc after a map."""
        return Sweep(by.of(self.centre), by.turn(self.across), by.turn(self.aside), self.start_rad, self.sweep_rad)

    @property
    def reach(self) -> float:
        """A distance from the origin that no part exceeds by much along x or y; the centre may lie farther."""
        return float(np.abs(self._at(np.linspace(0.0, 1.0, LEAST_CHORDS + 1))).max())

    @property
    def circle(self) -> tuple[Floats, float] | None:
        """Centre and radius where it is a whole circle."""
        first, second = float(np.hypot(*self.across)), float(np.hypot(*self.aside))
        skew = abs(float(self.across @ self.aside))
        whole = abs(self.sweep_rad) >= TURN * (1.0 - 1e-9)
        if not (whole and first > 0.0 and abs(first - second) <= 1e-9 * first and skew <= 1e-9 * first * first):
            return None
        return self.centre, first

    def points(self, within: float) -> Floats:
        """Points along it, (n, 2), whose chords leave it by `within` at most.

        A chord over a step h leaves a curve by h^2/8 of its largest second derivative at most.
        """
        largest = float(np.linalg.norm(np.stack((self.across, self.aside)), 2))
        # A number of chords to the quarter turn, so that a whole circle keeps its width and height.
        quarters = 4.0 * abs(self.sweep_rad) / TURN
        chords = np.ceil(max(TURN / 4.0 * np.sqrt(largest / (8.0 * within)), LEAST_CHORDS / 4.0))
        return self._at(np.linspace(0.0, 1.0, max(int(np.ceil(quarters * chords - 1e-9)), 1) + 1))

    def _at(self, share: Floats) -> Floats:
        angles = self.start_rad + self.sweep_rad * share
        return np.asarray(self.centre + np.cos(angles)[:, None] * self.across + np.sin(angles)[:, None] * self.aside)


@dataclass(frozen=True, eq=False)
class Bezier:
    """A Bezier curve of any degree by its control points, (n, 2)."""

    controls: Floats

    def moved(self, by: Map) -> Bezier:
        """The same curve after a map."""
        return Bezier(by.of(self.controls))

    @property
    def reach(self) -> float:
        """A distance from the origin that no part exceeds along x or y."""
        return float(np.abs(self.controls).max())

    def points(self, within: float) -> Floats:
        """Points along it, (n, 2), whose chords leave it by `within` at most, by the bound of `Sweep.points`."""
        degree = len(self.controls) - 1
        bends = np.diff(self.controls, n=2, axis=0)
        largest = degree * (degree - 1) * float(np.hypot(bends[:, 0], bends[:, 1]).max(initial=0.0))
        share = np.linspace(0.0, 1.0, int(np.ceil(max(np.sqrt(largest / (8.0 * within)), 1.0))) + 1)[:, None, None]
        level = np.broadcast_to(self.controls, (len(share), *self.controls.shape))
        while level.shape[1] > 1:
            level = level[:, :-1] + share * (level[:, 1:] - level[:, :-1])
        return np.asarray(level[:, 0])


@dataclass(frozen=True, eq=False)
class Spline:
    """A B-spline over its clamped or unclamped knots: knots (n + degree + 1), controls (n, 2), weights (n)."""

    degree: int
    knots: Floats
    controls: Floats
    weights: Floats

    def moved(self, by: Map) -> Spline:
        """The same curve after a map."""
        return Spline(self.degree, self.knots, by.of(self.controls), self.weights)

    @property
    def reach(self) -> float:
        """A distance from the origin that no part exceeds along x or y."""
        return float(np.abs(self.controls).max())

    def at(self, places: Floats) -> Floats:
        """Points at places of the knots' line; (n) -> (n, 2).

        Source: de Boor's recurrence, on homogeneous coordinates where weights differ.
        """
        degree, knots = self.degree, self.knots
        last = len(self.controls) - 1
        span = np.clip(np.searchsorted(knots, places, side="right") - 1, degree, last)
        held = np.column_stack((self.controls * self.weights[:, None], self.weights))
        level = held[span[:, None] - degree + np.arange(degree + 1)]
        for r in range(1, degree + 1):
            first = span[:, None] - degree + np.arange(r, degree + 1)
            low, width = knots[first], knots[first + degree - r + 1] - knots[first]
            share = np.where(width > 0.0, (places[:, None] - low) / np.where(width > 0.0, width, 1.0), 0.0)[..., None]
            level = (1.0 - share) * level[:, :-1] + share * level[:, 1:]
        return np.asarray(level[:, 0, :2] / level[:, 0, 2:])

    def points(self, within: float) -> Floats:
        """Points along it, (n, 2): every span halved until the middles lie within half of `within` of chords."""
        ends = np.unique(self.knots[self.degree : len(self.controls) + 1])
        most = max(LEAST_SHARE, MOST_CHORDS // (len(ends) - 1))
        parts = [self._span(float(low), float(high), within, most) for low, high in pairwise(ends)]
        return np.concatenate([part[:-1] for part in parts] + [parts[-1][-1:]])

    def _span(self, low: float, high: float, within: float, most: int) -> Floats:
        count = 2 * self.degree + 2
        while True:
            # The last place belongs to the span before it, so that a jump of the knots is not stepped over.
            places = np.linspace(low, high, 2 * count + 1)
            places[-1] = np.nextafter(high, low)
            points = self.at(places)
            off = points[1::2] - 0.5 * (points[:-2:2] + points[2::2])
            if count >= most or np.hypot(off[:, 0], off[:, 1]).max() <= 0.5 * within:
                return points[::2]
            count *= 2


Curve = Edges | Sweep | Bezier | Spline


def circle_sweep(centre: Floats, radius: float, start_rad: float = 0.0, sweep_rad: float = TURN) -> Sweep:
    """A part of a circle, or the whole."""
    return Sweep(centre, np.array([radius, 0.0]), np.array([0.0, radius]), start_rad, sweep_rad)


def bulged(start: Floats, end: Floats, bulge: float) -> Curve:
    """The edge between two corners with a bulge: the tangent of a quarter of its arc, positive counter-clockwise."""
    chord = end - start
    if abs(bulge) <= FLAT or not chord.any():
        return Edges(np.stack((start, end)))
    centre = 0.5 * (start + end) + (1.0 - bulge * bulge) / (4.0 * bulge) * left_normal(chord)
    away = start - centre
    return Sweep(centre, away, left_normal(away), 0.0, 4.0 * float(np.arctan(bulge)))


def flattened(curves: Sequence[Curve], within: float, most: int = MOST_CHORDS) -> Floats:
    """Points along curves that follow one another, (n, 2), no point twice in a row.

    Stops where there are more than `most`, so that whoever asks can refuse.
    """
    parts: list[Floats] = []
    count = 0
    for curve in curves:
        parts.append(without_repeats(curve.points(within)))
        count += len(parts[-1])
        if count > most:
            return np.concatenate(parts)
    return without_repeats(np.concatenate(parts))


def without_repeats(points: Floats, apart: float = 1e-6) -> Floats:
    """The points less those that lie no farther than `apart` from the one before; (n, 2)."""
    steps = np.abs(np.diff(points, axis=0)).max(axis=1)
    return points[np.concatenate(([True], steps > apart))]
