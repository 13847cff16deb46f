"""The unknowns for which a sum of squared residuals is least, and a circle near points."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.progress import Progress, unseen

_Equations = Callable[[Floats], tuple[Floats, Floats]]
"""Residuals (s, m), each over its standard deviation, and their Jacobian (s, m, n), for unknowns (s, n)."""

MOST_STEPS = 100
_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING = 1e-9, 1e-12, 1e12
"""Hardly damped at first: damping goes by columns, and beside an exact slanted row it holds a point along it too."""
_EASED, _STIFFENED = 0.2, 5.0
_SETTLED_SHARE = 1e-12
"""A step that lowers the sum by a smaller share of it, or by less than this, is the last."""


@dataclass(frozen=True, eq=False)
class Settled:
    """Where steps ended. unknowns: (..., n); residuals: (..., m), over standard deviations; jacobian: (..., m, n)."""

    unknowns: Floats
    residuals: Floats
    jacobian: Floats

    @property
    def cost(self) -> Floats:
        """Sum of the squared residuals, (...)."""
        return np.asarray(np.sum(self.residuals**2, axis=-1))

    def __getitem__(self, which: Ints | int) -> Settled:
        return Settled(self.unknowns[which], self.residuals[which], self.jacobian[which])


def settle(equations: _Equations, starts: Floats, heard: Bools | None = None, progress: Progress = unseen) -> Settled:
    """Step from each of several starts to the nearest least sum of squares, all of them side by side.

    Directions that no residual depends on stay as they are. The sum at which a start ends need not be the least of all:
    whoever does not know that a start is near settles several. One without finite residuals is given back as it is.
    starts: (s, n). heard: (s, m) whether a residual counts for a start; all do where it is None.
    Source: Levenberg 1944 and Marquardt 1963, damping scaled by the columns' own squares.
    """
    at = _at(equations, starts, heard)
    damping = np.full(len(starts), _FIRST_DAMPING)
    going = _is_finite(at)
    for step in range(MOST_STEPS):
        which = np.flatnonzero(going)
        if not len(which):
            break
        progress(max(step / MOST_STEPS, 1.0 - len(which) / len(starts)))
        now, own = at[which], damping[which]
        new = _at(equations, now.unknowns + _step(now, own), None if heard is None else heard[which])
        better = _is_finite(new) & (new.cost <= now.cost)
        gains = now.cost - new.cost > _SETTLED_SHARE * (1.0 + new.cost)
        for whole, part in zip(vars(at).values(), vars(new).values(), strict=True):
            whole[which[better]] = part[better]
        damping[which] = np.where(better, np.maximum(_EASED * own, _LEAST_DAMPING), _STIFFENED * own)
        going[which] = np.where(better, gains, own <= _MOST_DAMPING)
    return at


def _at(equations: _Equations, unknowns: Floats, heard: Bools | None) -> Settled:
    residuals, jacobian = equations(unknowns)
    if heard is not None:
        residuals, jacobian = np.where(heard, residuals, 0.0), np.where(heard[..., None], jacobian, 0.0)
    return Settled(unknowns.copy(), residuals, jacobian)


def _is_finite(at: Settled) -> Bools:
    return np.asarray(np.isfinite(at.cost) & np.isfinite(at.jacobian).all(axis=(1, 2)))


def _step(at: Settled, damping: Floats) -> Floats:
    """By the Jacobian itself and not by its square, which would lose a rough tape beside an exact line."""
    m, n = at.residuals.shape[1], at.unknowns.shape[1]
    size = np.sqrt(np.sum(at.jacobian**2, axis=1))
    size = np.where(size > 0.0, size, 1.0)
    system = np.zeros((len(size), m + n, n + 1))
    system[:, :m, :n], system[:, :m, n] = at.jacobian / size[:, None], -at.residuals
    system[:, m:, :n] = np.sqrt(damping)[:, None, None] * np.eye(n)
    triangle = np.asarray(np.linalg.qr(system, mode="r"))
    return np.asarray(np.linalg.solve(triangle[:, :n, :n], triangle[:, :n, n:])[..., 0] / size)


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
