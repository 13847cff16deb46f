"""The unknowns for which a sum of squared residuals is least, and the circle through points that lie nearly on one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats, norm

_Equations = Callable[[Floats], tuple[Floats, Floats]]
"""Residuals (m), each over its standard deviation, and their Jacobian (m, n) for unknowns (n)."""

MOST_STEPS = 100
_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING = 1e-9, 1e-12, 1e12
"""Hardly damped at first: damping goes by columns, and beside an exact slanted row it holds a point along it too."""
_EASED, _STIFFENED = 0.2, 5.0
_SETTLED_SHARE = 1e-12
"""A step that lowers the sum by a smaller share of it, or by less than this, is the last."""


@dataclass(frozen=True, eq=False)
class Settled:
    """Where the steps ended. unknowns: (n); residuals: (m), each over its standard deviation; jacobian: (m, n)."""

    unknowns: Floats
    residuals: Floats
    jacobian: Floats

    @property
    def cost(self) -> float:
        """Sum of the squared residuals."""
        return float(self.residuals @ self.residuals)


def settle(equations: _Equations, start: Floats) -> Settled:
    """Step from a start to the nearest least sum of squares. Directions that no residual depends on stay as they are.

    The sum that it ends at need not be the least of all: whoever does not know that their start is near settles
    several. start: (n). One without finite residuals is given back as it is. Source: Levenberg 1944 and Marquardt 1963,
    damping scaled by the columns' own squares.
    """
    at, damping = _at(equations, start), _FIRST_DAMPING
    for _ in range(MOST_STEPS if np.isfinite(at.cost) and np.isfinite(at.jacobian).all() else 0):
        step = _step(at, damping)
        new = _at(equations, at.unknowns + step)
        if np.isfinite(new.jacobian).all() and new.cost <= at.cost:
            gained, at = at.cost - new.cost, new
            if gained <= _SETTLED_SHARE * (1.0 + at.cost):
                break
            damping = max(_EASED * damping, _LEAST_DAMPING)
        elif damping > _MOST_DAMPING:
            break
        else:
            damping *= _STIFFENED
    return at


def _at(equations: _Equations, unknowns: Floats) -> Settled:
    residuals, jacobian = equations(unknowns)
    return Settled(unknowns, residuals, jacobian)


def _step(at: Settled, damping: float) -> Floats:
    """By the Jacobian itself and not by its square, which would lose a rough tape beside an exact line."""
    size = np.sqrt(np.sum(at.jacobian**2, axis=0))
    size = np.where(size > 0.0, size, 1.0)
    rows = np.concatenate((at.jacobian / size, np.sqrt(damping) * np.eye(len(size))))
    aim = np.concatenate((-at.residuals, np.zeros(len(size))))
    return np.asarray(np.linalg.lstsq(rows, aim, rcond=None)[0] / size)


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

    def equations(unknowns: Floats) -> tuple[Floats, Floats]:
        away = unknowns[:2] - points
        apart = np.maximum(norm(away), 1e-300)
        return apart - unknowns[2], np.column_stack((away / apart[:, None], -np.ones(len(points))))

    found = settle(equations, np.array((*centre, radius))).unknowns
    return found[:2], float(found[2])
