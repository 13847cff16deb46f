"""A chain of points with fewer of them: one walk along it, whatever its number."""

from __future__ import annotations

from math import asin, atan2, hypot, pi, remainder

from beltplan.geometry.vectors import TURN, Floats


def walked(points: Floats, within: float) -> Floats:
    """Some of the points of a chain, first and last among them: none left out lies farther than `within` off its chord.

    points: (n, 2). From each point that is kept the walk goes on as long as one straight line from there passes all
    that is left out. Source: the cone of Sklansky and Gonzalez 1980, from memory, medium confidence.
    """
    chain, kept, at = points.tolist(), [0], 0
    while at < len(chain) - 1:
        at = _farthest(chain, at, within)
        kept.append(at)
    return points[kept]


def _farthest(chain: list[list[float]], start: int, within: float) -> int:
    """The last point to which a straight line from `start` leaves out none by more than `within`."""
    (x, y), far = chain[start], 0.0
    middle, low, high = 0.0, -pi, pi
    for i in range(start + 1, len(chain)):
        dx, dy = chain[i][0] - x, chain[i][1] - y
        away = hypot(dx, dy)
        if away > within:
            if far <= within:
                middle = atan2(dy, dx)
            turned = remainder(atan2(dy, dx) - middle, TURN)
            # Nearer than a point that is left out already, the chord would end before that.
            if away < far or not low <= turned <= high:
                return max(i - 1, start + 1)
            half = asin(within / away)
            low, high = max(low, turned - half), min(high, turned + half)
        elif far > within:
            return max(i - 1, start + 1)
        far = max(far, away)
    return len(chain) - 1
