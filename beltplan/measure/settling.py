"""What settles mirror solutions: the fewest words, distances and angles that tell them apart."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.advice import MOVED_SDS, PLAIN_MM, unmeasured
from beltplan.measure.study import Measuring

T = TypeVar("T")
_Pair = tuple[int, int]
_TOLD_DEG = 5.0
"""An angle tells two mirror solutions apart where it differs by more than this."""


@dataclass(frozen=True)
class Apart:
    """A distance or an angle that tells mirrors apart: here by the places that are told, there in the image nearest it.

    Distances in mm; angles in deg, of the line from the first to the second.
    """

    first: str
    second: str
    here: float
    there: float


@dataclass(frozen=True)
class Settling:
    """What settles the mirrors. words: where points are seen if the places are right. unsettled: mirrors left over.

    quarters: whether what is left is settled by the quarters in which points are seen: without a level line an angle
    or a single word is not enough.
    """

    words: tuple[tuple[str, SeenSide], ...]
    distances: tuple[Apart, ...]
    angles: tuple[Apart, ...]
    unsettled: int
    quarters: bool = False

    @property
    def sides(self) -> dict[str, list[SeenSide]]:
        """The words by point."""
        return {name: [word for other, word in self.words if other == name] for name, _ in self.words}


@dataclass(frozen=True)
class _Way:
    """A way to tell mirror solutions apart: what is read between two points, and how far apart is enough.

    turn: what makes no difference, of an angle.
    """

    read: Callable[[Floats, int, int], float]
    enough: float
    turn: float = math.inf

    def _differ(self, here: float, there: float) -> float:
        return min(abs(here - there), self.turn - abs(here - there))

    def widest_first(self, pairs: list[_Pair], here: Floats, mirrors: list[Floats]) -> list[tuple[_Pair, set[int]]]:
        """Pairs with the mirror solutions that they settle, those first that differ most."""
        found = []
        for pair in pairs:
            wide = [self._differ(self.read(here, *pair), self.read(places, *pair)) for places in mirrors]
            settled = {k for k, apart in enumerate(wide) if apart > self.enough}
            if settled:
                found.append((min(wide[k] for k in settled), pair, settled))
        return [(pair, settled) for _, pair, settled in sorted(found, key=lambda each: -each[0])]

    def apart(self, found: Measuring, pair: _Pair, here: Floats, mirrors: list[Floats]) -> Apart:
        """What is read of a pair here, and in the nearest mirror solution that it settles."""
        own, first, second = self.read(here, *pair), *(found.measured.points[i] for i in pair)
        others = (self.read(places, *pair) for places in mirrors)
        settled = [there for there in others if self._differ(own, there) > self.enough]
        return Apart(first, second, own, min(settled, key=lambda there: self._differ(own, there)))


def settling_of(found: Measuring) -> Settling:
    """The fewest words that settle the mirrors, then distances for what words do not settle, then angles."""
    mirrors = mirror_places(found)
    left = set(range(len(mirrors)))
    words, left = _fewest(_words(found), left)
    here = found.places
    tape, level = _Way(_length, MOVED_SDS * found.measured.tape_mm), _Way(_angle_deg, _TOLD_DEG, 360.0)
    pairs = [pair for pair in unmeasured(found.measured) if {*pair} <= {*_held(found)}]
    distances, left = _fewest(tape.widest_first(pairs, here, mirrors), left)
    angles, left = _fewest(level.widest_first(_angles(found, here), here, mirrors), left)
    quarters = found.measured.frame_is_open and bool(left)
    return Settling(
        tuple(words),
        tuple(tape.apart(found, pair, here, mirrors) for pair in distances),
        tuple(level.apart(found, pair, here, mirrors) for pair in angles),
        0 if quarters else len(left),
        quarters,
    )


def mirror_places(found: Measuring) -> list[Floats]:
    """Where all points lie in each mirror solution, (points, 2) mm."""
    names = found.measured.points
    mirrors = []
    for mirror in found.mirrors:
        places = found.places
        places[[names.index(name) for name in mirror.points]] = np.array(mirror.places)
        mirrors.append(places)
    return mirrors


def _fewest(settles: Iterable[tuple[T, set[int]]], left: set[int]) -> tuple[list[T], set[int]]:
    """Greedy: what settles most of the mirrors that are left, again and again. The first of equals."""
    offered, taken = list(settles), list[T]()
    while left and offered:
        best, settled = max(offered, key=lambda each: len(each[1] & left))
        if not settled & left:
            break
        taken.append(best)
        left = left - settled
    return taken, left


def _words(found: Measuring) -> list[tuple[tuple[str, SeenSide], set[int]]]:
    pairs = dict.fromkeys(pair for mirror in found.mirrors for pair in mirror.sides.items())
    return [(pair, {i for i, mirror in enumerate(found.mirrors) if pair in mirror.sides.items()}) for pair in pairs]


def _angles(found: Measuring, here: Floats) -> list[_Pair]:
    """Those from the origin, where something says what is level."""
    if found.measured.frame_is_open:
        return []
    origin = found.measured.points.index(found.measured.origin)
    return [(origin, i) for i in _held(found) if norm(here[i] - here[origin]) > PLAIN_MM]


def _held(found: Measuring) -> list[int]:
    """Numbers of the points that can be measured again: held, and no marks."""
    marks = found.measured.marks
    return [i for i, each in enumerate(found.centres) if not each.is_undetermined and each.name not in marks]


def _length(places: Floats, i: int, j: int) -> float:
    return float(norm(places[j] - places[i]))


def _angle_deg(places: Floats, i: int, j: int) -> float:
    x, y = places[j] - places[i]
    return float(np.degrees(np.arctan2(y, x)))
