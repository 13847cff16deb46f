"""Charts on a scene: a panel with its two axes, and curves cut off at its top."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.plots.scene import Box, Point


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
