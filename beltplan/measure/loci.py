"""Where a point may lie by one reading: on a circle, on a line or at a place; and where two of these cross."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

import numpy as np

from beltplan.geometry.vectors import Floats, cross, dot, from_angle, left_normal, norm

_MOST_LOCI = 7
_PARALLEL = 1e-3
"""Lines that turn by less than this, rad, do not cross."""
_ONE_CENTRE_MM = 1e-3
_FAR_MM = 500.0


class Chance(NamedTuple):
    """What is taken by chance in one drawing: angles spread evenly over the drawings, and all else."""

    rng: np.random.Generator
    first_rad: float

    def angle_rad(self) -> float:
        """An angle near this drawing's own."""
        return self.first_rad + float(self.rng.uniform(0.0, 0.3))


@dataclass(frozen=True, eq=False)
class Circle:
    """At a distance from a centre; with none at a place."""

    centre: Floats
    radius_mm: float

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        return np.abs(norm(places - self.centre) - self.radius_mm)

    def drawn(self, chance: Chance) -> Floats:
        """A place on it by chance, (2) mm."""
        return self.centre + self.radius_mm * from_angle(np.asarray(chance.angle_rad()))


@dataclass(frozen=True, eq=False)
class Straight:
    """On a line through a place along a unit vector; with `ray` only ahead of the place."""

    through: Floats
    along: Floats
    ray: bool

    def miss_mm(self, places: Floats) -> Floats:
        away = places - self.through
        behind = self.ray & (dot(self.along, away) < 0.0)
        return np.where(behind, norm(away), np.abs(cross(self.along, away)))

    def drawn(self, chance: Chance) -> Floats:
        return self.through + chance.rng.uniform(0.1, 1.0) * _FAR_MM * self.along


Curve = Circle | Straight


def crossing(one: Curve, other: Curve) -> list[Floats]:
    """Where two curves cross, or come nearest where a circle is one of them."""
    if isinstance(one, Circle):
        return _circles(one, other) if isinstance(other, Circle) else _line_with_circle(other, one)
    if isinstance(other, Circle):
        return _line_with_circle(one, other)
    turn = float(cross(one.along, other.along))
    if abs(turn) < _PARALLEL:
        return []
    return [one.through + cross(other.through - one.through, other.along) / turn * one.along]


def _circles(first: Circle, other: Circle) -> list[Floats]:
    step = other.centre - first.centre
    apart = float(norm(step))
    if apart < _ONE_CENTRE_MM:
        return []
    along, a, b = step / apart, first.radius_mm, other.radius_mm
    if a + b < apart:
        return [first.centre + 0.5 * (a + apart - b) * along]
    if abs(a - b) > apart:
        return [first.centre + 0.5 * (a + apart + b if a > b else apart - a - b) * along]
    foot = (apart * apart + a * a - b * b) / (2.0 * apart)
    return _both_sides(first.centre + foot * along, left_normal(along), a * a - foot * foot)


def _line_with_circle(line: Straight, circle: Circle) -> list[Floats]:
    foot = line.through + dot(line.along, circle.centre - line.through) * line.along
    places = _both_sides(foot, line.along, circle.radius_mm**2 - float(norm(foot - circle.centre)) ** 2)
    ahead = [place for place in places if not line.ray or dot(line.along, place - line.through) >= 0.0]
    return ahead or places


def _both_sides(foot: Floats, along: Floats, reach_sq: float) -> list[Floats]:
    reach = np.sqrt(max(reach_sq, 0.0))
    return [foot + reach * along, foot - reach * along]


class Loci(NamedTuple):
    """Every locus of one point: curves, and places by images."""

    curves: tuple[Curve, ...]
    spots: tuple[Circle, ...]

    @property
    def every(self) -> tuple[Curve, ...]:
        return (*self.curves, *self.spots)

    def crossings(self) -> Floats:
        """Every place where two loci cross or come nearest, and those that are places; (c, 2) mm."""
        pairs = [place for one, other in combinations(self.curves[:_MOST_LOCI], 2) for place in crossing(one, other)]
        return np.array([*(spot.centre for spot in self.spots), *pairs], dtype=float).reshape(-1, 2)

    def drawn(self, chance: Chance) -> Floats:
        """A place by chance on the first of them, anywhere where there is none; (2) mm."""
        return self.every[0].drawn(chance) if self.every else chance.rng.uniform(-_FAR_MM, _FAR_MM, 2)
