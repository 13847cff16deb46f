"""What settles mirror solutions: the fewest words, distances and angles that tell them apart."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from beltplan.geometry.vectors import Floats, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.advice import MOVED_SDS, PLAIN_MM, Apart, Mirror, unmeasured
from beltplan.measure.readings import Measured
from beltplan.measure.solutions import Solution

T = TypeVar("T")
_Pair = tuple[int, int]
_TOLD_DEG = 5.0
"""An angle tells two mirror solutions apart where it differs by more than this."""


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


def settling_of(measured: Measured, best: Solution, mirrors: Sequence[Mirror]) -> Settling:
    """The fewest words that settle the mirrors, then distances for what words do not settle, then angles."""
    names, here = measured.points, best.places
    there = np.repeat(here[None], len(mirrors), axis=0)
    for places, mirror in zip(there, mirrors, strict=True):
        places[[names.index(name) for name in mirror.points]] = mirror.places
    pairs = [pair for pair in unmeasured(measured) if not best.undetermined[[*pair]].any()]
    words, left = _fewest(_words(mirrors), set(range(len(mirrors))))
    tapes = _telling(names, pairs, norm, MOVED_SDS * measured.tape_mm, here, there)
    distances, left = _fewest(tapes, left)
    lines = _telling(names, _lines(measured, best), _angle_deg, _TOLD_DEG, here, there, 360.0)
    angles, left = _fewest(lines, left)
    quarters = measured.frame_is_open and bool(left)
    return Settling(tuple(words), tuple(distances), tuple(angles), 0 if quarters else len(left), quarters)


def _telling(
    names: tuple[str, ...],
    pairs: list[_Pair],
    read: Callable[[Floats], Floats],
    enough: float,
    here: Floats,
    there: Floats,
    turn: float = math.inf,
) -> list[tuple[Apart, set[int]]]:
    """What is read between pairs, with the mirrors that it settles, those first that differ most.

    read: by steps from point to point, (..., 2). there: (mirrors, points, 2) mm. turn: what makes no difference.
    """
    found = list[tuple[float, Apart, set[int]]]()
    for i, j in pairs:
        own, other = float(read(here[j] - here[i])), read(there[:, j] - there[:, i])
        off = np.minimum(np.abs(own - other), turn - np.abs(own - other))
        settled = np.flatnonzero(off > enough)
        if len(settled):
            nearest = settled[np.argmin(off[settled])]
            apart = Apart(names[i], names[j], own, float(other[nearest]))
            found.append((-float(off[nearest]), apart, set(settled.tolist())))
    return [(apart, settled) for _, apart, settled in sorted(found, key=lambda each: each[0])]


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


def _words(mirrors: Sequence[Mirror]) -> list[tuple[tuple[str, SeenSide], set[int]]]:
    pairs = dict.fromkeys(pair for mirror in mirrors for pair in mirror.sides.items())
    return [(pair, {i for i, mirror in enumerate(mirrors) if pair in mirror.sides.items()}) for pair in pairs]


def _lines(measured: Measured, best: Solution) -> list[_Pair]:
    """From the origin to every point that can be measured again, where something says what is level."""
    origin = measured.points.index(measured.origin)
    far = ~best.undetermined & (norm(best.places - best.places[origin]) > PLAIN_MM)
    held = [i for i in np.flatnonzero(far).tolist() if measured.points[i] not in measured.marks]
    return [] if measured.frame_is_open else [(origin, i) for i in held]


def _angle_deg(step: Floats) -> Floats:
    return np.asarray(np.degrees(np.arctan2(step[..., 1], step[..., 0])))
