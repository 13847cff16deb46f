"""The adjuster as it is drawn: the travel of its pulley, the pulley at both stops, the arm where the belt puts it."""

from __future__ import annotations

import numpy as np

from beltplan.belts.adjusters import Adjuster, Arm
from beltplan.belts.route import Route
from beltplan.geometry.vectors import Floats, left_normal, norm
from beltplan.plots.palette import ADJUSTER, ARM, GHOST_LONG, GHOST_SHORT, PAPER, TRAVEL
from beltplan.plots.scene import Item, Pen, Shape, Stroke, circle

TRAVEL_POINTS = 61
STOP_PT = 5.0


def travel_points(adjuster: Adjuster) -> Floats:
    """The line on which the pulley's centre moves, from stop to stop; (n, 2) mm."""
    return adjuster.centre_at(np.linspace(*adjuster.travel, TRAVEL_POINTS))


def stop_words(route: Route) -> tuple[str, str]:
    """What the two ends of the travel are called, in the adjuster's order: after the path that they give."""
    travel = route.travel
    return ("short", "long") if travel is None or travel.short <= travel.long else ("long", "short")


def items_behind(route: Route) -> list[Item]:
    """What lies under pulleys and belt: the pulley at both stops, and the arm."""
    if route.moving is None or route.moving.adjuster is None:
        return []
    adjuster, radius = route.moving.adjuster, route.moving.rim_radius_mm(route.layout.belt)
    items: list[Item] = [
        Shape((circle(centre, radius),), pen=GHOST_SHORT if word == "short" else GHOST_LONG, name=f"stop {word}")
        for centre, word in zip(adjuster.centre_at(np.array(adjuster.travel)), stop_words(route), strict=True)
    ]
    if isinstance(adjuster, Arm):
        ends = np.stack((np.array(adjuster.pivot_mm), _centre(route)))
        items.append(Stroke(ends, ARM, "arm"))
    return items


def items_before(route: Route, unit_pt: float) -> list[Item]:
    """What lies over the pulleys: the travel of the centre with a bar at each stop, and the arm's pivot."""
    if route.moving is None or route.moving.adjuster is None:
        return []
    adjuster = route.moving.adjuster
    bars: list[Item] = [_bar(adjuster, stop, unit_pt) for stop in adjuster.travel]
    items: list[Item] = [Stroke(travel_points(adjuster), TRAVEL, "travel of the adjuster"), *bars]
    if isinstance(adjuster, Arm):
        items.append(Shape((circle(adjuster.pivot_mm, 4.0 / unit_pt),), PAPER, Pen(ADJUSTER, 1.8), name="pivot"))
    return items


def _bar(adjuster: Adjuster, stop: float, unit_pt: float) -> Stroke:
    centre, motion = adjuster.centre_at(np.asarray(stop)), adjuster.motion_at(np.asarray(stop))
    across = left_normal(motion) / norm(motion) * STOP_PT / unit_pt
    return Stroke(np.stack((centre - across, centre + across)), TRAVEL, "stop bar")


def _centre(route: Route) -> Floats:
    return np.asarray(route.loop.centre[route.circuit.moving or 0])
