"""A loop as a chain of points: for drawings, and for checks by outside libraries."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import Floats, from_angle


def arc_points(loop: Loop, index: int, step_rad: float = 0.05) -> Floats:
    """Points along one arc of a single loop, both contact points included.

    step_rad: the largest angle between neighbouring points. Returns (points, 2) mm, in the direction of travel.
    """
    wrap, sense = float(loop.wrap[index]), float(loop.sense[index])
    away = loop.arrival[index] - loop.centre[index]
    first = np.arctan2(away[1], away[0])
    count = max(2, int(np.ceil(wrap / step_rad)) + 1)
    angles = first + sense * np.linspace(0.0, wrap, count)
    return np.asarray(loop.centre[index] + loop.radius[index] * from_angle(angles))


def outline(loop: Loop, step_rad: float = 0.05) -> Floats:
    """Points once round a single loop, from the first arc on; (points, 2) mm, first point not repeated."""
    return np.concatenate([arc_points(loop, i, step_rad) for i in range(loop.span.shape[-1])])
