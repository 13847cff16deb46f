"""Charts on a scene: a panel with its two axes, curves, and lines of equal value over a grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from beltplan.geometry.vectors import Bools, Floats
from beltplan.picture.scene import Box, Point


@dataclass(frozen=True)
class Axes:
    """Where values land. box: the panel, scene units; x, y: the values at its edges."""

    box: Box
    x: Point
    y: Point

    def at(self, values: Floats) -> Floats:
        """Scene points of values, (..., 2) -> (..., 2)."""
        low, high = np.array((self.x[0], self.y[0])), np.array((self.x[1], self.y[1]))
        share = (np.asarray(values) - low) / (high - low)
        return np.asarray(self.box[:2] + share * (np.array(self.box[2:]) - self.box[:2]))

    def across(self, y: float) -> Floats:
        """Ends of a level line, (2, 2)."""
        return self.at(np.array([(self.x[0], y), (self.x[1], y)]))

    def upright(self, x: float) -> Floats:
        """Ends of an upright line from edge to edge, (2, 2)."""
        return self.at(np.array([(x, self.y[0]), (x, self.y[1])]))


def cut_at(points: Floats, top: float) -> list[Floats]:
    """The pieces of a curve, (n, 2), up to a top: cut where it crosses; an infinite value stands at the top itself."""
    inside = points[:, 1] <= top
    pieces: list[list[Floats]] = []
    for i in range(len(points)):
        if not inside[i]:
            continue
        if i == 0 or not inside[i - 1]:
            pieces.append([_crossing(points[i], points[i - 1], top)] if i else [])
        pieces[-1].append(points[i])
        if i + 1 < len(points) and not inside[i + 1]:
            pieces[-1].append(_crossing(points[i], points[i + 1], top))
    return [np.array(piece) for piece in pieces if len(piece) > 1]


def _crossing(inside: Floats, beyond: Floats, top: float) -> Floats:
    if not np.isfinite(beyond[1]):
        return np.array((beyond[0], top))
    share = (top - inside[1]) / (beyond[1] - inside[1])
    return np.asarray(inside + share * (beyond - inside))


# Lines of equal value over a grid, as chains of points.


def contour_chains(x: Floats, y: Floats, values: Floats, level: float) -> list[Floats]:
    """Where values cross a level. x: (columns), y: (rows), values: (rows, columns), NaN where there is none.

    Returns chains of points, each (n, 2), longest first.
    """
    known = values[np.isfinite(values)]
    if min(values.shape) < 2 or not len(known) or not known.min() < level <= known.max():
        return []
    drawn = Figure().add_subplot().contour(x, y, np.ma.masked_invalid(values), levels=[level])
    chains = [np.asarray(chain) for chain in drawn.allsegs[0] if len(chain) > 1]
    return sorted(chains, key=lambda chain: -chain_length(chain))


def chain_length(chain: Floats) -> float:
    """Length of a chain of points."""
    return float(np.hypot(*np.diff(chain, axis=0).T).sum())


def outline_chains(x: Floats, y: Floats, inside: Bools) -> list[Floats]:
    """The edges of a region; inside: (rows, columns), whether a place belongs to it."""
    step_x, step_y = x[1] - x[0], y[1] - y[0]
    # A frame of places outside closes the edge of a region that reaches the end of the grid.
    framed = np.pad(np.asarray(inside, dtype=float), 1)
    wide_x = np.concatenate(([x[0] - step_x], x, [x[-1] + step_x]))
    wide_y = np.concatenate(([y[0] - step_y], y, [y[-1] + step_y]))
    return contour_chains(wide_x, wide_y, framed, 0.5)
