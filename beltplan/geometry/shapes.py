"""Closed outlines: whether they are sound, what lies in them, and thinned ones. The one file here with shapely."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import asin, atan2, hypot, pi, remainder

import numpy as np
import shapely

from beltplan.geometry.vectors import TURN, Bools, Floats


def walked(points: Floats, within: float) -> Floats:
    """Some of the points of a chain, first and last among them: none left out lies farther than `within` off its chord.

    points: (n, 2). From each point that is kept the walk goes on as long as one straight line from there passes all
    that is left out. Source: the cone of Sklansky and Gonzalez 1980, from memory, medium confidence.

    >>> walked(np.array([[0.0, 0.0], [1.0, 0.01], [2.0, 0.0], [2.0, 2.0]]), within=0.1).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0]]
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
                return i - 1
            half = asin(within / away)
            low, high = max(low, turned - half), min(high, turned + half)
        elif far > within:
            return i - 1
        far = max(far, away)
    return len(chain) - 1


_MOST_WALKED = 10_000
"""Points that shapely is given to thin: many more take its memory or its stack."""
_PIECE = 50
_WALK_SHARE = 0.25
"""Share of what an outline may be off that the walk along it takes."""
_SHARES = (1.0, 0.95, 0.5, 0.1)
"""Shares of the rest that are tried for what shapely leaves out, until what is left is measured and found right."""

MOST_OUTERMOST = 50
"""Outlines beside one another that are told apart: one is asked for, and none draws so many to choose from."""


def is_polygon(corners: Sequence[tuple[float, float]]) -> bool:
    """Whether corners bound an area without the outline crossing itself.

    >>> is_polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]), is_polygon([(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)])
    (True, False)
    """
    if len(corners) < 3:
        return False
    shape = shapely.Polygon(corners)
    return bool(shape.is_valid and shape.area > 0.0)


def crossing_at(corners: Floats) -> tuple[float, float] | None:
    """A place where an outline crosses or touches itself, None where it does not; corners (n, 2).

    >>> crossing_at(np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]]))
    (1.0, 1.0)
    """
    shape = shapely.Polygon(corners)
    found = re.search(r"\[(\S+) (\S+)\]", "" if shape.is_valid else shapely.is_valid_reason(shape))
    return None if found is None else (float(found[1]), float(found[2]))


def thinned(corners: Floats, within: float, outward: bool = False) -> Floats:
    """An outline with fewer corners; (n, 2) -> (k, 2). Where it is too rough, more are left than anybody can use.

    It loses nothing of the area, and gains nothing, that is farther than `within` from it. outward: it loses nothing
    at all, and gains twice `within` at most.
    Source: Douglas and Peucker's rule as shapely has it, kept from crossing itself; then measured, since that has no
    strict bound at the ends of a ring.
    """
    ring = np.concatenate((corners, corners[:1]))
    walk = _WALK_SHARE * within if outward or len(ring) > _MOST_WALKED else 0.0
    near = walked(ring, walk) if walk else ring
    if len(near) > _MOST_WALKED:
        return near[:-1]
    shape, rest = _grown(near, within) if outward else shapely.Polygon(near), within - walk
    least, most = shapely.Polygon(corners) if outward else shape.buffer(-rest), shape.buffer(rest)
    for found in (shape.simplify(share * rest) for share in _SHARES if shape.is_valid):
        if found.is_valid and found.covers(least) and most.covers(found):
            return np.asarray(shapely.get_coordinates(found.exterior)[:-1])
    return corners


def flooded(corners: Floats, within: float) -> int:
    """How many corners `thinned` to the outside would leave of an outline that it does not touch; 0 where it does.

    To be asked before shapely meets the outline: a star of 300,000 corners that all cross takes it minutes.
    """
    left = len(walked(corners, _WALK_SHARE * within)) if len(corners) > _MOST_WALKED else 0
    return left if left > _MOST_WALKED else 0


def _grown(ring: Floats, by: float) -> shapely.Polygon:
    """All that lies within a closed line, which may cross itself, or no farther than `by` from it."""
    # Piece by piece: a whole that lies many times over itself would take minutes.
    pieces = [shapely.LineString(ring[i : i + _PIECE + 1]) for i in range(0, len(ring) - 1, _PIECE)]
    return shapely.Polygon(shapely.union_all(shapely.buffer(pieces, by)).exterior)


def outermost(outlines: Sequence[Floats]) -> list[int]:
    """Which closed outlines lie inside no other one, of equal ones the first; each (n, 2).

    Where there are more than `MOST_OUTERMOST`, those beyond are not looked at one by one.
    """
    shapes = shapely.polygons([shapely.linearrings(corners) for corners in outlines])
    rings, sound = shapely.get_exterior_ring(shapes), shapely.is_valid(shapes)
    left = np.argsort(-shapely.area(shapes), kind="stable")
    found: list[int] = []
    while len(left) and len(found) < MOST_OUTERMOST:
        first, left = int(left[0]), left[1:]
        found.append(first)
        if sound[first]:
            shapely.prepare(shapes[first])
            left = left[~shapely.covers(shapes[first], rings[left])]
    return sorted([*found, *left.tolist()])


def are_inside(lines: Sequence[Floats], corners: Floats) -> Bools:
    """Which lines lie within an outline; (n, 2) each."""
    shape = shapely.Polygon(corners)
    if not (shape.is_valid and len(lines)):
        return np.zeros(len(lines), dtype=bool)
    shapely.prepare(shape)
    return np.asarray(shapely.covers(shape, [shapely.LineString(line) for line in lines]))


def hull_area(points: Floats) -> float:
    """The area within a rope round points, (n, 2)."""
    return float(shapely.MultiPoint(points).convex_hull.area)
