"""The circle through points that lie nearly on one."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.least_squares import settle
from beltplan.geometry.vectors import Floats, norm


def circle_near(points: Floats) -> tuple[Floats, float]:
    """The circle whose equation fits points best: a quick start, too small where they cover a short arc.

    points: (m, 2), three or more, not on one line. Returns the centre (2) and the radius. Raises ValueError.
    Source: Coope 1993, linear least squares on x^2 + y^2 (from memory).
    """
    middle = points.mean(axis=0)
    away = points - middle
    size = float(np.sqrt(np.mean(away**2)))
    if len(points) < 3 or not size > 0.0:
        raise ValueError("a circle needs three points that differ")
    away = away / size
    rows = np.column_stack((2.0 * away, np.ones(len(away))))
    (x, y, rest), _, rank, _ = np.linalg.lstsq(rows, np.sum(away**2, axis=1), rcond=1e-9)
    if rank < 3:
        raise ValueError("the points lie on one line")
    return middle + size * np.array((x, y)), size * float(np.sqrt(rest + x * x + y * y))


def circle_through(points: Floats) -> tuple[Floats, float]:
    """The circle with the least squares of distances to points, (m, 2). Returns the centre (2) and the radius.

    Raises ValueError as `circle_near` does.
    """
    centre, radius = circle_near(points)

    def rows(unknowns: Floats) -> tuple[Floats, Floats]:
        away = unknowns[:2] - points
        apart = np.maximum(norm(away), 1e-300)
        return apart - unknowns[2], np.column_stack((away / apart[:, None], -np.ones(len(points))))

    found = settle(rows, np.array((*centre, radius))).unknowns
    return found[:2], float(found[2])
