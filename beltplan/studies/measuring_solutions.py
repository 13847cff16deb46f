"""Every way in which points can lie for what was measured: the best first, mirror images among them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from beltplan.geometry.least_squares import Settled
from beltplan.geometry.multilateration import starts_of
from beltplan.geometry.network import Network, settled
from beltplan.geometry.precision import Precision, precision_of
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle, norm
from beltplan.studies.measured import Measured
from beltplan.studies.measured_network import Surveyed
from beltplan.studies.measuring_sides import is_as_seen

SEED = 20_261
DRAWS = 12
MOST_SETTLED = 64
"""Starts that are settled; the likeliest first."""
ALIKE_START_MM = 2.0
RING_MM = 200.0
SAME_MM = 0.05
"""Settled places nearer than this are the same."""


@dataclass(frozen=True, eq=False)
class Solution:
    """One way in which the points can lie. places: (points, 2) mm. left_out: rows that had no say."""

    network: Network
    at: Settled
    places: Floats
    left_out: tuple[int, ...] = ()

    @cached_property
    def precision(self) -> Precision:
        """How well it is held: worked out when it is asked for, since most solutions are only tried."""
        return precision_of(self.network, self.at)

    @property
    def can_be(self) -> bool:
        """Whether it was reached at all, and its photos can have been taken from the front."""
        return math.isfinite(self.cost) and all(sheet.faces(self.at.unknowns) for sheet in self.network.sheets)

    @property
    def cost(self) -> float:
        """Sum of the squared misfits of the rows that had a say."""
        return float(np.sum(np.delete(self.at.misfit, list(self.left_out)) ** 2))

    @property
    def degrees(self) -> int:
        """Readings more than are needed: degrees of freedom."""
        return round(float(np.sum(self.precision.redundancy))) - len(self.left_out)

    @property
    def loose(self) -> Bools:
        """Points that nothing holds, (points)."""
        return self.precision.loose


def solutions_of(measured: Measured, survey: Surveyed) -> tuple[Solution, ...]:
    """Every solution that was found, the least sum of squares first; of equals the one with more points above.

    Those that do not lie where the user sees them come last.
    """
    network = survey.network
    starts = [*laid_layouts(network), _ring(network.points)]
    with np.errstate(all="ignore"):  # a start may lie where a photo sees its horizon: it is dropped below
        ends = [settled(network, network.unknowns_at(places)) for places in starts]
    ends = sorted((end for end in ends if np.isfinite(end.cost)), key=lambda end: end.cost)
    ends = [end for end in ends if all(sheet.faces(end.unknowns) for sheet in network.sheets)] or ends
    held = ~precision_of(network, ends[0]).loose
    kept: list[Solution] = []
    for end in ends:
        if all(_apart(_places(network, end), other.places, held) > SAME_MM for other in kept):
            kept.append(_solution(survey, end, ()))
    return tuple(sorted(kept, key=lambda end: rank_of(measured, end)))


def laid_layouts(network: Network) -> list[Floats]:
    """Layouts by crossings of what was measured, each (points, 2) mm: the likeliest first, even if one is misread."""
    starts = [start.places for start in starts_of(network, SEED, DRAWS)]
    return _distinct(starts, ALIKE_START_MM, MOST_SETTLED)


def solved(survey: Surveyed, start: Floats, left_out: tuple[int, ...] = ()) -> Solution:
    """The solution near a start (size), without the rows that are left out."""
    return _solution(survey, settled(survey.network, start, left_out), left_out)


def _solution(survey: Surveyed, end: Settled, left_out: tuple[int, ...]) -> Solution:
    right = _right_side_out(survey.network, end.unknowns)
    at = end if right is None else settled(survey.network, right, left_out)
    return Solution(survey.network, at, _places(survey.network, at), left_out)


def _right_side_out(network: Network, unknowns: Floats) -> Floats | None:
    """The same with no radius below nought, its rim points on the other side; None where none is.

    A rim point at a radius of -r lies where that at r and half a turn on does: the misfits cannot tell.
    """
    first = 2 * network.points
    below = first + np.flatnonzero(unknowns[first : first + len(network.start_radii_mm)] < 0.0)
    if not len(below):
        return None
    right = unknowns.copy()
    right[below] *= -1.0
    for sheet in network.sheets:
        right[sheet.angles] += np.pi * np.isin(sheet.rim_radius, below)
    return right


def _places(network: Network, end: Settled) -> Floats:
    return end.unknowns[: 2 * network.points].reshape(-1, 2)


def _ring(points: int) -> Floats:
    """Points spread round a circle: a start that is always finite."""
    return np.asarray(RING_MM * from_angle(np.linspace(0.0, TURN, points, endpoint=False)))


def rank_of(measured: Measured, end: Solution) -> tuple[bool, float, int]:
    """Smaller is better: as it is seen, then the sum of squares, then more points above."""
    return not is_as_seen(measured, end.places), round(end.cost, 6), -points_above(end.places)


def points_above(places: Floats) -> int:
    """How many of the places, (points, 2), lie higher than nought."""
    return int(np.count_nonzero(places[:, 1] > 0.0))


def _distinct(every: list[Floats], apart_mm: float, most: int) -> list[Floats]:
    """The first layouts that differ in more than where they stand, all shifted to their first point."""
    kept: list[Floats] = []
    for places in every:
        own = places - places[0]
        if not kept or float(norm(np.array(kept) - own).max(axis=1).min()) > apart_mm:
            kept.append(own)
        if len(kept) == most:
            break
    return kept


def _apart(first: Floats, second: Floats, which: Bools) -> float:
    return float(norm(first - second)[which].max(initial=0.0))
