"""Small networks for the tests: distances between points, the first at nought, the second level with it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.measure.network import Kind, Network
from beltplan.measure.sightings import NO_RADIUS, Directions, Distances

LEVEL_RAD = 1e-6


def distances(places: Floats, pairs: Iterable[tuple[int, int]], off_mm: Floats | float = 0.0) -> Distances:
    """Distances between centres with a deviation of 1 mm, true but for `off_mm`."""
    first, second = np.array(list(pairs), dtype=int).reshape(-1, 2).T
    none = np.full(len(first), NO_RADIUS)
    value = norm(places[second] - places[first]) + off_mm
    return Distances(first, second, value, np.ones(len(first)), np.zeros(len(first)), none, none)


def level(places: Floats) -> Directions:
    """The direction from point 0 to point 1 as it is, nearly exact."""
    step = places[1] - places[0]
    turn = np.array([np.arctan2(step[1], step[0])])
    return Directions(np.array([0]), np.array([1]), turn, np.array([LEVEL_RAD]))


def network(points: int, *kinds: Kind) -> Network:
    """A network without radii and sheets."""
    return Network(points, 0, np.zeros(0), kinds, 2 * points)


def scattered(rng: np.random.Generator, count: int) -> Floats:
    """Places, (count, 2) mm, the first at nought; none nearer to another than 60 mm."""
    found: list[Floats] = [np.zeros(2)]
    while len(found) < count:
        at = rng.uniform(-300.0, 300.0, 2)
        if all(float(norm(at - other)) > 60.0 for other in found):
            found.append(at)
    return np.array(found)
