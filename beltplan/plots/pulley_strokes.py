"""Pulleys and fixed parts as they are drawn: to scale, with the arc of contact and the way each turns."""

from __future__ import annotations

import numpy as np

from beltplan.belts.adjusters import Arm
from beltplan.belts.belt import Belt
from beltplan.belts.layout import Circle, Obstacle
from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.geometry.vectors import Floats, from_angle, left_normal
from beltplan.plots.belt_strokes import reach_mm
from beltplan.plots.palette import (
    DRIVER_RIM,
    GROOVE_RING,
    INK,
    METAL,
    METAL_EDGE,
    OBSTACLE,
    OUTLINE,
    RIM,
    SPARE_RIM,
    TURNING,
    WRAP_ARC,
    WRAP_END,
)
from beltplan.plots.scene import Item, Shape, Stroke, arc, arrow_head, circle

TURNING_SHARE = 0.5
"""Radius of the turning arrow as a share of the rim's."""
TURNING_SWEEP_RAD = np.radians(124.0)
WRAP_SHARE, LEAST_WRAP_SHARE = 0.84, 0.6
WRAP_UNDER_BELT_PT = 4.0
GROOVE_SHARE = 0.93


def pulley_items(route: Route, index: int, unit_pt: float) -> list[Item]:
    """One pulley on the belt: disc, rim, groove ring, hub, contact arc, turning arrow."""
    pulley, centre = route.pulleys[index], route.loop.centre[index]
    radius = float(route.circuit.rim[index])
    items: list[Item] = [
        Shape((circle(centre, radius),), METAL, DRIVER_RIM if pulley.drives else RIM, name=f"rim {pulley.name}")
    ]
    if not pulley.on_back:
        items.append(Shape((circle(centre, GROOVE_SHARE * radius),), pen=GROOVE_RING, name=f"grooves {pulley.name}"))
    hub = min(2.6 / unit_pt, 0.15 * radius)
    items.append(Shape((circle(centre, hub),), INK, name=f"hub {pulley.name}"))
    sense = float(route.loop.sense[index])
    turning = turning_items(pulley.name, centre, radius, sense, unit_pt, turning_side_rad(route, index))
    return [*items, *_contact(route, index, unit_pt), *turning]


def turning_side_rad(route: Route, index: int) -> float:
    """Where the turning arrow stands about the hub: over it; beside the line of travel on an adjusted pulley."""
    adjuster = route.pulleys[index].adjuster
    if adjuster is None:
        return 0.5 * np.pi
    across = left_normal(adjuster.motion_at(np.asarray(route.setting or 0.0)))
    # The line of an arm bends toward its pivot: the other side is free.
    away = route.loop.centre[index] - adjuster.pivot_mm if isinstance(adjuster, Arm) else np.array((0.0, 1.0))
    return float(np.arctan2(across[1], across[0]) + (0.0 if across @ away >= 0.0 else np.pi))


def _contact(route: Route, index: int, unit_pt: float) -> list[Item]:
    loop, name = route.loop, f"contact {route.pulleys[index].name}"
    centre, radius = loop.centre[index], contact_radius_mm(route, index, unit_pt)
    first, sweep = contact_angles(route, index)
    tick = min(3.5 / unit_pt, 0.12 * radius)
    ends = [
        Stroke(np.asarray(centre + np.outer((radius - tick, radius + tick), from_angle(angle))), WRAP_END, name)
        for angle in np.array((first, first + sweep))
    ]
    return [Stroke(arc(centre, radius, first, sweep), WRAP_ARC, name), *ends]


def contact_radius_mm(route: Route, index: int, unit_pt: float) -> float:
    """Radius at which the arc of contact is drawn: inside the rim, and clear of a belt that sits deep in its groove."""
    rim = float(route.circuit.rim[index])
    if route.pulleys[index].on_back:
        return WRAP_SHARE * rim
    under = float(route.loop.radius[index]) - reach_mm(route, unit_pt)[1] - WRAP_UNDER_BELT_PT / unit_pt
    return max(min(WRAP_SHARE * rim, under), LEAST_WRAP_SHARE * rim)


def contact_angles(route: Route, index: int) -> tuple[float, float]:
    """Angle at which the belt meets a pulley, and its signed sweep on it, rad."""
    away = route.loop.arrival[index] - route.loop.centre[index]
    return float(np.arctan2(away[1], away[0])), float(route.loop.sense[index] * route.loop.wrap[index])


def turning_items(
    name: str, centre: Floats, radius: float, sense: float, unit_pt: float, middle_rad: float = 0.5 * np.pi
) -> list[Item]:
    """The curved arrow beside the hub: sense +1 counter-clockwise, -1 clockwise. middle_rad: the side it is on."""
    begin = middle_rad - 0.5 * sense * TURNING_SWEEP_RAD
    end, at = begin + sense * TURNING_SWEEP_RAD, TURNING_SHARE * radius
    head = min(9.0 / unit_pt, 0.34 * radius)
    # The head is turned back by half its length along the arc, so that it lies on the arc.
    along = sense * left_normal(from_angle(np.asarray(end - sense * 0.5 * head / at)))
    tip = np.asarray(centre + at * from_angle(np.asarray(end)))
    shaft = arc(centre, at, begin, float(sense * (TURNING_SWEEP_RAD - 0.7 * head / at)))
    return [
        Stroke(shaft, TURNING, f"turning {name}"),
        Shape((arrow_head(tip, along, head),), INK, name=f"turning {name}"),
    ]


def spare_items(pulley: Pulley, belt: Belt, unit_pt: float) -> list[Item]:
    """A pulley that the belt does not go round: dashed."""
    if pulley.at_mm is None:
        return []
    rim = circle(pulley.at_mm, pulley.rim_radius_mm(belt))
    hub = circle(pulley.at_mm, 2.0 / unit_pt)
    return [Shape((rim,), pen=SPARE_RIM, name=f"spare {pulley.name}"), Shape((hub,), METAL_EDGE)]


def obstacle_outline(obstacle: Obstacle) -> Floats:
    """Points round an obstacle, (n, 2) mm."""
    if isinstance(obstacle, Circle):
        return circle(obstacle.at_mm, obstacle.diameter_mm / 2.0)
    return np.array(obstacle.corners_mm, dtype=float)


def obstacle_items(obstacle: Obstacle) -> list[Item]:
    """A fixed part: grey and hatched."""
    return [Shape((obstacle_outline(obstacle),), OBSTACLE, OUTLINE, True, f"obstacle {obstacle.name}")]
