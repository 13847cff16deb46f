"""Where a point may lie, one measurement at a time: circles, lines and places, and where two of them cross."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from beltplan.geometry.network import Network
from beltplan.geometry.sheets import POINTS_NEEDED, Sheet, fitted, placed
from beltplan.geometry.sightings import Directions, Distances, Offsets
from beltplan.geometry.vectors import Bools, Floats, cross, dot, from_angle, left_normal, norm

MOST_LOCI = 7
"""Loci of one point whose crossings are looked for."""
PARALLEL = 1e-3
"""Lines that turn by less than this, rad, do not cross."""
ONE_CENTRE_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Circle:
    """At a distance from a centre."""

    centre: Floats
    radius_mm: float

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        return np.abs(norm(places - self.centre) - self.radius_mm)


@dataclass(frozen=True, eq=False)
class Straight:
    """On a line through a place along a unit vector; with `ray` only ahead of the place."""

    through: Floats
    along: Floats
    ray: bool

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        away = places - self.through
        behind = self.ray & (dot(self.along, away) < 0.0)
        return np.where(behind, norm(away), np.abs(cross(self.along, away)))


@dataclass(frozen=True, eq=False)
class Spot:
    """At a place."""

    at: Floats

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        return norm(places - self.at)


Locus = Circle | Straight | Spot


def loci_of(network: Network, places: Floats, point: int) -> list[Locus]:
    """Where a point may lie by the points that are laid. places: (points, 2) mm, NaN where not laid."""
    laid = np.isfinite(places[:, 0])
    found: list[Locus] = []
    for kind in network.kinds:
        if isinstance(kind, Distances):
            found += _circles(network, kind, places, laid, point)
        elif isinstance(kind, Directions):
            found += _rays(kind, places, laid, point)
        elif isinstance(kind, Offsets):
            found += _lines(kind, places, laid, point)
        elif isinstance(kind, Sheet):
            found += _spots(kind, places, laid, point)
    return found


def _circles(network: Network, kind: Distances, places: Floats, laid: Bools, point: int) -> list[Locus]:
    apart = np.maximum(kind.between_centres_mm(network.bare), 0.0)
    pairs = ((kind.first, kind.second), (kind.second, kind.first))
    return [
        Circle(places[other[i]], float(apart[i]))
        for own, other in pairs
        for i in np.flatnonzero((own == point) & laid[other])
    ]


def _rays(kind: Directions, places: Floats, laid: Bools, point: int) -> list[Locus]:
    along = from_angle(kind.value_rad)
    ahead = [
        Straight(places[kind.first[i]], along[i], True)
        for i in np.flatnonzero((kind.second == point) & laid[kind.first])
    ]
    behind = [
        Straight(places[kind.second[i]], -along[i], True)
        for i in np.flatnonzero((kind.first == point) & laid[kind.second])
    ]
    return [*ahead, *behind]


def _lines(kind: Offsets, places: Floats, laid: Bools, point: int) -> list[Locus]:
    axes = np.eye(2)
    found: list[Locus] = []
    for own, other, sign in ((kind.point, kind.datum, 1.0), (kind.datum, kind.point, -1.0)):
        for i in np.flatnonzero((own == point) & laid[other]):
            axis = axes[kind.axis[i]]
            found.append(Straight(places[other[i]] + sign * kind.value_mm[i] * axis, left_normal(axis), False))
    return found


def _spots(sheet: Sheet, places: Floats, laid: Bools, point: int) -> list[Locus]:
    points, at = sheet.picks
    known = laid[points]
    if point not in points or np.count_nonzero(known) < POINTS_NEEDED[sheet.model]:
        return []
    numbers = fitted(sheet.model, sheet.scale, places[points[known]], at[known])
    with np.errstate(divide="ignore", invalid="ignore"):  # on the horizon of a photo: no place
        spots = placed(sheet.model, sheet.scale, numbers, at[points == point])
    return [Spot(spot) for spot in spots if np.isfinite(spot).all()]


def crossings(loci: list[Locus]) -> Floats:
    """Every place where two loci cross or come nearest, and those that are places; (c, 2) mm."""
    spots = [locus.at for locus in loci if isinstance(locus, Spot)]
    curves = [locus for locus in loci if not isinstance(locus, Spot)][:MOST_LOCI]
    pairs = [place for first, second in combinations(curves, 2) for place in _crossing(first, second)]
    return np.array([*spots, *pairs], dtype=float).reshape(-1, 2)


def _crossing(first: Circle | Straight, second: Circle | Straight) -> list[Floats]:
    if isinstance(first, Circle):
        return _two_circles(first, second) if isinstance(second, Circle) else _line_and_circle(second, first)
    return _line_and_circle(first, second) if isinstance(second, Circle) else _two_lines(first, second)


def _two_circles(first: Circle, second: Circle) -> list[Floats]:
    step = second.centre - first.centre
    apart = float(norm(step))
    if apart < ONE_CENTRE_MM:
        return []
    along, a, b = step / apart, first.radius_mm, second.radius_mm
    if a + b < apart:
        return [first.centre + 0.5 * (a + apart - b) * along]
    if abs(a - b) > apart:
        return [first.centre + 0.5 * (a + apart + b if a > b else apart - a - b) * along]
    foot = (apart * apart + a * a - b * b) / (2.0 * apart)
    return _both_sides(first.centre + foot * along, left_normal(along), a * a - foot * foot)


def _line_and_circle(line: Straight, circle: Circle) -> list[Floats]:
    foot = line.through + dot(line.along, circle.centre - line.through) * line.along
    places = _both_sides(foot, line.along, circle.radius_mm**2 - float(norm(foot - circle.centre)) ** 2)
    ahead = [place for place in places if not line.ray or dot(line.along, place - line.through) >= 0.0]
    return ahead or places


def _two_lines(first: Straight, second: Straight) -> list[Floats]:
    turn = float(cross(first.along, second.along))
    if abs(turn) < PARALLEL:
        return []
    return [first.through + cross(second.through - first.through, second.along) / turn * first.along]


def _both_sides(foot: Floats, along: Floats, reach_sq: float) -> list[Floats]:
    reach = np.sqrt(max(reach_sq, 0.0))
    return [foot + reach * along, foot - reach * along]
