"""What the labels of a routing keep clear of."""

from __future__ import annotations

import numpy as np

from beltplan.belts.adjusters import Arm
from beltplan.belts.route import Route
from beltplan.geometry.vectors import Floats
from beltplan.plots.belt_strokes import arrow_mm, reach_mm
from beltplan.plots.placing import Ground
from beltplan.plots.pulley_strokes import obstacle_outline


def outer_radius_mm(route: Route, index: int, unit_pt: float) -> float:
    """Radius of a pulley with the belt on it, as drawn."""
    outer, inner = reach_mm(route, unit_pt)
    over = inner if route.pulleys[index].on_back else outer
    return max(float(route.circuit.rim[index]), float(route.loop.radius[index]) + over) + 1.0 / unit_pt


def ground_of(route: Route, unit_pt: float, edges: tuple[float, float]) -> Ground:
    """Pulleys, belt, adjuster and obstacles of a routing; strands first, in the route's order."""
    loop, layout = route.loop, route.layout
    spare = [pulley for pulley in layout.unrouted if pulley.at_mm is not None]
    radius = [outer_radius_mm(route, i, unit_pt) for i in range(len(route.pulleys))]
    radius += [pulley.rim_radius_mm(layout.belt) for pulley in spare]
    beside = np.array([pulley.at_mm for pulley in spare], dtype=float).reshape(-1, 2)
    half = max(*reach_mm(route, unit_pt), 0.45 * arrow_mm(route, unit_pt))
    arm, pivot = _arm(route, unit_pt)
    return Ground(
        np.concatenate((loop.centre, beside, pivot[:, :2])),
        np.append(np.array(radius), pivot[:, 2]),
        np.concatenate((loop.start, arm[:, 0])),
        np.concatenate((loop.end, arm[:, 1])),
        np.append(np.full(len(loop.start), half), np.full(len(arm), 2.5 / unit_pt)),
        tuple(obstacle_outline(obstacle) for obstacle in layout.obstacles),
        *edges,
        soft_of(route),
        np.zeros((0, 4)),
        np.zeros((0, 2, 2)),
    )


def _arm(route: Route, unit_pt: float) -> tuple[Floats, Floats]:
    moving, index = route.moving, route.circuit.moving
    if moving is None or index is None or not isinstance(moving.adjuster, Arm):
        return np.zeros((0, 2, 2)), np.zeros((0, 3))
    pivot = np.array(moving.adjuster.pivot_mm)
    return np.stack((pivot, route.loop.centre[index]))[None], np.array([[*pivot, 6.0 / unit_pt]])


def soft_of(route: Route) -> Floats:
    """The adjusted pulley at both stops: x, y, radius, (2, 3); empty without an adjuster."""
    if route.moving is None or route.moving.adjuster is None:
        return np.zeros((0, 3))
    centres = route.moving.adjuster.centre_at(np.array(route.moving.adjuster.travel))
    radius = np.full(2, route.moving.rim_radius_mm(route.layout.belt))
    return np.concatenate((centres, radius[:, None]), axis=1)
