"""How well an adjuster takes up belt where it works."""

from __future__ import annotations

import numpy as np

from beltplan.belts.route import Route
from beltplan.geometry.vectors import Floats


def take_up_per_unit(route: Route) -> float | None:
    """Change of path length for one unit of the adjuster's setting, mm per rad or per mm; None without an adjuster."""
    if route.setting is None:
        return None
    return abs(float(route.circuit.slope_at(np.asarray(route.setting))))


def take_up_percent(route: Route) -> float | None:
    """Take-up against the best that it could be, %; None without an adjuster.

    Source: dL/dsetting (closed form) over lever x 2 sin(wrap / 2), its value when the movement bisects the strands.
    """
    moving, adjuster, slope = route.circuit.moving, route.circuit.adjuster, take_up_per_unit(route)
    if moving is None or adjuster is None or slope is None:
        return None
    return float(share_of_best_percent(np.asarray(slope), adjuster.lever_mm, route.loop.wrap[moving]))


def share_of_best_percent(slope: Floats, lever_mm: float, wrap_rad: Floats) -> Floats:
    """A take-up in mm for one unit of the setting against its best, (...) %; zero where the belt only touches."""
    best = lever_mm * 2.0 * np.sin(np.asarray(wrap_rad) / 2.0)
    return np.asarray(100.0 * slope / np.where(best > 0.0, best, np.inf))
