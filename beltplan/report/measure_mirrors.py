"""What tells the mirror images of a measured drive apart: the fewest words, distances and angles that settle them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import TypeVar

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.studies.measured import Side
from beltplan.studies.measuring import Measuring
from beltplan.studies.measuring_advice import MOVED_DEVIATIONS, PLAIN_MM

T = TypeVar("T")
TOLD_DEG = 5.0
"""An angle tells two images apart where it differs by more than this."""


@dataclass(frozen=True)
class Apart:
    """A distance or an angle that tells images apart: here by the places that are told, there in the image nearest it.

    Distances in mm; angles in deg, of the line from the first to the second.
    """

    first: str
    second: str
    here: float
    there: float


@dataclass(frozen=True)
class Settling:
    """What settles the images. words: where points are seen if the places are right. unsettled: images left over.

    quarters: whether what is left is settled by the quarters in which points are seen: without a level line an angle
    or a single word is not enough.
    """

    words: tuple[tuple[str, Side], ...]
    distances: tuple[Apart, ...]
    angles: tuple[Apart, ...]
    unsettled: int
    quarters: bool = False

    @property
    def sides(self) -> dict[str, list[Side]]:
        """The words by point."""
        return {name: [word for other, word in self.words if other == name] for name, _ in self.words}


def settling_of(found: Measuring) -> Settling:
    """The fewest words that settle the images, then distances for what words do not settle, then angles."""
    images = images_of(found)
    left = set(range(len(images)))
    words, left = _fewest(_words(found), left)
    distances, left = _fewest(_distances(found, images), left)
    angles, left = _fewest(_angles(found, images), left)
    quarters = found.measured.frame_is_open and bool(left)
    here = _places(found)
    return Settling(
        tuple(words),
        tuple(_apart(found, pair, here, images, _length) for pair in distances),
        tuple(_apart(found, pair, here, images, _angle_deg) for pair in angles),
        0 if quarters else len(left),
        quarters,
    )


def images_of(found: Measuring) -> list[Floats]:
    """Where all points lie in each mirror image, (points, 2) mm."""
    names = [centre.name for centre in found.centres]
    images = []
    for mirror in found.mirrors:
        places = _places(found)
        places[[names.index(name) for name in mirror.points]] = np.array(mirror.places)
        images.append(places)
    return images


def _places(found: Measuring) -> Floats:
    return np.array([(centre.x_mm, centre.y_mm) for centre in found.centres])


def _fewest(settles: Iterable[tuple[T, set[int]]], left: set[int]) -> tuple[list[T], set[int]]:
    """Greedy: what settles most of the images that are left, again and again. The first of equals."""
    offered, taken = list(settles), list[T]()
    while left and offered:
        best, images = max(offered, key=lambda each: len(each[1] & left))
        if not images & left:
            break
        taken.append(best)
        left = left - images
    return taken, left


def _words(found: Measuring) -> list[tuple[tuple[str, Side], set[int]]]:
    pairs = dict.fromkeys(pair for mirror in found.mirrors for pair in mirror.sides.items())
    return [(pair, {i for i, mirror in enumerate(found.mirrors) if pair in mirror.sides.items()}) for pair in pairs]


def _distances(found: Measuring, images: list[Floats]) -> list[tuple[tuple[int, int], set[int]]]:
    done = {frozenset((each.first, each.second)) for each in found.measured.distances}
    held = _held(found)
    least = MOVED_DEVIATIONS * found.measured.tape_mm
    pairs = [
        (i, j)
        for i, j in combinations(held, 2)
        if frozenset((found.centres[i].name, found.centres[j].name)) not in done
    ]
    return _widest_first(pairs, _places(found), images, _length, least)


def _angles(found: Measuring, images: list[Floats]) -> list[tuple[tuple[int, int], set[int]]]:
    if found.measured.frame_is_open:
        return []
    here = _places(found)
    origin = next(i for i, centre in enumerate(found.centres) if centre.name == found.measured.origin)
    pairs = [(origin, i) for i in _held(found) if norm(here[i] - here[origin]) > PLAIN_MM]
    return _widest_first(pairs, here, images, _angle_deg, TOLD_DEG)


def _held(found: Measuring) -> list[int]:
    """Numbers of the points that can be measured again: held, and no marks."""
    marks = found.measured.marks
    return [i for i, each in enumerate(found.centres) if each.deviation_mm is not None and each.name not in marks]


Measure = Callable[[Floats, int, int], float]


def _length(places: Floats, i: int, j: int) -> float:
    return float(norm(places[j] - places[i]))


def _angle_deg(places: Floats, i: int, j: int) -> float:
    x, y = places[j] - places[i]
    return float(np.degrees(np.arctan2(y, x)))


def _differ(measure: Measure, here: float, there: float) -> float:
    apart = abs(here - there)
    return min(apart, 360.0 - apart) if measure is _angle_deg else apart


def _widest_first(
    pairs: list[tuple[int, int]], here: Floats, images: list[Floats], measure: Measure, least: float
) -> list[tuple[tuple[int, int], set[int]]]:
    found = []
    for i, j in pairs:
        apart = [_differ(measure, measure(here, i, j), measure(image, i, j)) for image in images]
        settled = {k for k, wide in enumerate(apart) if wide > least}
        if settled:
            found.append((min(apart[k] for k in settled), (i, j), settled))
    return [(pair, settled) for _, pair, settled in sorted(found, key=lambda each: -each[0])]


def _apart(found: Measuring, pair: tuple[int, int], here: Floats, images: list[Floats], measure: Measure) -> Apart:
    i, j = pair
    own = measure(here, i, j)
    least = TOLD_DEG if measure is _angle_deg else MOVED_DEVIATIONS * found.measured.tape_mm
    others = [measure(image, i, j) for image in images]
    there = min(
        (each for each in others if _differ(measure, own, each) > least), key=lambda e: _differ(measure, own, e)
    )
    return Apart(found.centres[i].name, found.centres[j].name, own, there)
