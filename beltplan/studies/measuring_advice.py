"""What to measure next: what would hold a loose point, settle a mirror image, or help most."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints, norm
from beltplan.studies.measured import Measured, Side
from beltplan.studies.measuring_solutions import Solution

MOST_ADVICE = 3
MOVED_MM, MOVED_DEVIATIONS = 1.0, 3.0
"""A point of a mirror image that lies nearer than both to its own place has not moved."""
PLAIN_MM = 10.0
"""A point farther than this from an axis is plainly on one side of it."""


@dataclass(frozen=True)
class Further:
    """A distance that was not measured, and what it would do.

    before_mm, after_mm: root mean square deviation of the points that are no marks, both coordinates together.
    """

    first: str
    second: str
    about_mm: float
    before_mm: float
    after_mm: float


@dataclass(frozen=True, eq=False)
class Mirror:
    """Points that can lie elsewhere as well for all that was measured.

    places: of each where it lies otherwise, mm. further: the distance that settles it best with its two values, or
    None where every distance between the points is the same. sides: words that settle it at a glance, by point.
    """

    points: tuple[str, ...]
    places: tuple[tuple[float, float], ...]
    further: tuple[str, str, float, float] | None
    sides: dict[str, Side]


def further_of(measured: Measured, solution: Solution) -> tuple[Further, ...]:
    """The distances that would sharpen the places most, the best first; none where any point is loose.

    Source: a measurement of deviation s and slopes a takes Q a a' Q / (s^2 + a' Q a) off the covariance Q.
    """
    if solution.loose.any():
        return ()
    n, wanted = len(measured.points), _wanted(measured)
    covariance = solution.precision.covariance[: 2 * n, : 2 * n]
    before = float(np.diagonal(covariance)[wanted].sum())
    found = []
    for i, j in _unmeasured(measured):
        slopes = _slopes(solution.places, i, j)
        if slopes is not None:
            seen = covariance @ slopes
            gained = float(seen[wanted] @ seen[wanted]) / (measured.tape_mm**2 + float(slopes @ seen))
            found.append((gained, i, j))
    best = sorted(found, key=lambda each: -each[0])[:MOST_ADVICE]
    return tuple(_further(measured, solution.places, before, *each) for each in best if each[0] > 0.0)


def _further(measured: Measured, places: Floats, before: float, gained: float, i: int, j: int) -> Further:
    names, count = measured.points, len(measured.points) - len(measured.marks)
    rms = [float(np.sqrt(max(each, 0.0) / max(count, 1))) for each in (before, before - gained)]
    return Further(names[i], names[j], float(norm(places[i] - places[j])), rms[0], rms[1])


def _wanted(measured: Measured) -> Bools:
    """Which coordinates are those of points that are no marks, (2 points)."""
    return np.repeat([name not in measured.marks for name in measured.points], 2)


def _unmeasured(measured: Measured) -> list[tuple[int, int]]:
    """Pairs of points, no marks, whose distance nobody measured."""
    done = {frozenset((each.first, each.second)) for each in measured.distances}
    names = measured.points
    pairs = combinations((i for i, name in enumerate(names) if name not in measured.marks), 2)
    return [(i, j) for i, j in pairs if frozenset((names[i], names[j])) not in done]


def _slopes(places: Floats, i: int, j: int) -> Floats | None:
    apart = float(norm(places[j] - places[i]))
    if not apart > PLAIN_MM:
        return None
    slopes = np.zeros((len(places), 2))
    slopes[j] = (places[j] - places[i]) / apart
    slopes[i] = -slopes[j]
    return slopes.reshape(-1)


def mirrors_of(measured: Measured, best: Solution, others: tuple[Solution, ...]) -> tuple[Mirror, ...]:
    """What can lie elsewhere: one entry for each other solution. others: those that fit as well as the best."""
    return tuple(mirror for other in others if (mirror := _mirror(measured, best, other)) is not None)


def _mirror(measured: Measured, best: Solution, other: Solution) -> Mirror | None:
    moved = moved_points(measured, best, other)
    if not len(moved):
        return None
    names = measured.points
    places = tuple((float(other.places[i, 0]), float(other.places[i, 1])) for i in moved)
    return Mirror(
        tuple(names[i] for i in moved),
        places,
        _settling(measured, best.places, other.places),
        {names[i]: side for i in moved if (side := _plain_side(best.places[i], other.places[i])) is not None},
    )


def moved_points(measured: Measured, best: Solution, other: Solution) -> Ints:
    """Numbers of the held points that lie elsewhere in another solution."""
    n = len(measured.points)
    deviation = np.sqrt(np.diagonal(best.precision.covariance)[: 2 * n].reshape(n, 2).sum(axis=1))
    apart = norm(best.places - other.places)
    return np.flatnonzero(~best.loose & (apart > np.maximum(MOVED_MM, MOVED_DEVIATIONS * deviation)))


def _settling(measured: Measured, here: Floats, there: Floats) -> tuple[str, str, float, float] | None:
    pairs = _unmeasured(measured)
    values = [(float(norm(here[i] - here[j])), float(norm(there[i] - there[j])), i, j) for i, j in pairs]
    if not values:
        return None
    first, second, i, j = max(values, key=lambda each: abs(each[0] - each[1]))
    if not abs(first - second) > MOVED_DEVIATIONS * measured.tape_mm:
        return None
    return measured.points[i], measured.points[j], first, second


def _plain_side(here: Floats, there: Floats) -> Side | None:
    words: tuple[tuple[Side, Side], ...] = (("right", "left"), ("above", "below"))
    for axis, (plus, minus) in enumerate(words):
        if here[axis] * there[axis] < 0.0 and min(abs(here[axis]), abs(there[axis])) > PLAIN_MM:
            return plus if here[axis] > 0.0 else minus
    return None


@dataclass(frozen=True)
class Loose:
    """A point that is not held. ties: how many more measurements it needs.

    to: held points from which no distance to it was measured; where there is none, only an angle or an offset helps,
    as it does for a point that lies in line with all it was measured from.
    """

    point: str
    ties: int
    to: tuple[str, ...]


def loose_of(measured: Measured, solution: Solution) -> tuple[Loose, ...]:
    """Points that nothing holds, with what would. A point that only moves with other loose ones is named as well."""
    held = [name for name, loose in zip(measured.points, solution.loose, strict=True) if not loose]
    return tuple(
        Loose(name, _ties(measured, name, set(held)), _open_to(measured, name, held))
        for name, loose in zip(measured.points, solution.loose, strict=True)
        if loose
    )


def _ties(measured: Measured, name: str, held: set[str]) -> int:
    """Two coordinates, less what is measured from points that are held; at least one is missing."""
    pairs = [(each.first, each.second) for each in measured.distances]
    pairs += [(each.first, each.second) for each in measured.directions]
    pairs += [(each.point, each.datum) for each in measured.offsets]
    others = {pair for pair in pairs if name in pair and (set(pair) - {name}) & held}
    return max(1, 2 - len(others))


def _open_to(measured: Measured, name: str, held: list[str]) -> tuple[str, ...]:
    done = {frozenset((each.first, each.second)) for each in measured.distances}
    return tuple(other for other in held if frozenset((name, other)) not in done)[:MOST_ADVICE]
