"""Belt, pulleys, adjuster and fixed parts as they are drawn, to scale."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.drive.belt import Belt
from beltplan.drive.layout import Circle, Obstacle
from beltplan.drive.pulleys import Adjuster, Arm, Pulley
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop, arc_points, outline
from beltplan.geometry.vectors import Floats, from_angle, left_normal, norm
from beltplan.picture.scene import (
    ADJUSTER,
    ARM,
    BELT_BACK,
    BELT_EDGE,
    BELT_RIBS,
    DRIVER_RIM,
    FOLLOWED_LINE,
    GHOST_LONG,
    GHOST_SHORT,
    GROOVE_RING,
    INK,
    METAL,
    METAL_EDGE,
    OBSTACLE,
    OUTLINE,
    PAPER,
    RIM,
    SPARE_RIM,
    TRAVEL,
    TURNING,
    WRAP_ARC,
    WRAP_END,
    Item,
    Pen,
    Shape,
    Stroke,
    arc,
    arrow_head,
    circle,
)

_THINNEST_PT = 4.0
"""A belt thinner than this on paper is drawn this thick, so that its two sides can be told apart."""
_ARROW_PT = 12.0
_ARROW_TO_BAND = 2.0
"""The arrow of travel is at least this much longer than the band is thick, so that it stands out of it."""
_EVERY_PT = 170.0
"""One arrow of travel for about this much span."""


def reach_mm(route: Route, unit_pt: float) -> tuple[float, float]:
    """How far the drawn band stands over and under the followed line, mm."""
    belt = route.layout.belt
    growth = max(1.0, _THINNEST_PT / (belt.profile.thickness_mm * unit_pt))
    return belt.outer_mm * growth, belt.inner_mm * growth


def arrow_mm(route: Route, unit_pt: float) -> float:
    """Length of an arrow of travel, mm."""
    return max(_ARROW_PT / unit_pt, _ARROW_TO_BAND * sum(reach_mm(route, unit_pt)))


def belt_items(route: Route, unit_pt: float) -> list[Item]:
    """The band, the followed line span by span and arc by arc, and the arrows of travel."""
    outer, inner = reach_mm(route, unit_pt)
    middle = 0.5 * (outer - inner)
    back, face, ribs = (_shifted(route, by) for by in (outer, middle, -inner))
    return [
        Shape((outline(back), outline(face)), BELT_BACK, name="belt back"),
        Shape((outline(face), outline(ribs)), BELT_RIBS, name="belt ribs"),
        Shape((outline(back),), pen=BELT_EDGE, name="belt edge"),
        Shape((outline(ribs),), pen=BELT_EDGE, name="belt edge"),
        *_followed_line(route),
        *_arrows(route, unit_pt, middle),
    ]


def _shifted(route: Route, by_mm: float) -> Loop:
    # A parallel of the path `by_mm` further out: same tangent directions, radii changed by the side the belt is on.
    loop = route.loop
    return replace(loop, radius=loop.radius + by_mm * loop.sense * route.circuit.turning)


def _followed_line(route: Route) -> list[Item]:
    loop = route.loop
    spans = [
        Stroke(np.stack((loop.start[i], loop.end[i])), FOLLOWED_LINE, f"span {a.name} to {b.name}")
        for i, (a, b) in enumerate(route.spans)
    ]
    arcs = [Stroke(arc_points(loop, i), FOLLOWED_LINE, f"arc {p.name}") for i, p in enumerate(route.pulleys)]
    return [*spans, *arcs]


def _arrows(route: Route, unit_pt: float, middle: float) -> list[Item]:
    band = _shifted(route, middle)
    length = arrow_mm(route, unit_pt)
    longest = int(np.argmax(norm(band.end - band.start)))
    items: list[Item] = []
    for i, (a, b) in enumerate(route.spans):
        if band.span[i] > 2.2 * length or i == longest:
            name = f"travel {a.name} to {b.name}"
            items += [_arrow(band, i, share, length, name) for share in _shares(band, i, unit_pt)]
    return items


def _shares(band: Loop, index: int, unit_pt: float) -> Floats:
    count = max(1, round(float(band.span[index]) * unit_pt / _EVERY_PT))
    return (np.arange(count) + 0.5) / count


def _arrow(band: Loop, index: int, share: float, length: float, name: str) -> Shape:
    along = band.direction[index]
    tip = band.start[index] + share * band.span[index] * along + 0.5 * length * along
    return Shape((arrow_head(tip, along, length),), INK, Pen(PAPER, 1.2), name=name)


# Pulleys and fixed parts as they are drawn: to scale, with the arc of contact and the way each turns.

_TURNING_SHARE = 0.5
"""Radius of the turning arrow as a share of the rim's."""
_TURNING_SWEEP_RAD = np.radians(124.0)
_WRAP_SHARE, _LEAST_WRAP_SHARE = 0.84, 0.6
_WRAP_UNDER_BELT_PT = 4.0
_GROOVE_SHARE = 0.93


def pulley_items(route: Route, index: int, unit_pt: float) -> list[Item]:
    """One pulley on the belt: disc, rim, groove ring, hub, contact arc, turning arrow."""
    pulley, centre = route.pulleys[index], route.loop.centre[index]
    radius, sense = float(route.circuit.rim[index]), float(route.loop.sense[index])
    turning = turning_items(pulley.name, centre, radius, sense, unit_pt, _turning_side_rad(route, index))
    return [*disc_items(pulley, centre, radius, unit_pt), *_contact(route, index, unit_pt), *turning]


def disc_items(pulley: Pulley, centre: Floats, radius: float, unit_pt: float) -> list[Item]:
    """The pulley alone: disc, rim, groove ring, hub."""
    name, hub = pulley.name, min(2.6 / unit_pt, 0.15 * radius)
    grooves = [Shape((circle(centre, _GROOVE_SHARE * radius),), pen=GROOVE_RING, name=f"grooves {name}")]
    return [
        Shape((circle(centre, radius),), METAL, DRIVER_RIM if pulley.drives else RIM, name=f"rim {name}"),
        *(grooves if not pulley.on_back else ()),
        Shape((circle(centre, hub),), INK, name=f"hub {name}"),
    ]


def _turning_side_rad(route: Route, index: int) -> float:
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
    centre, radius = loop.centre[index], _contact_radius_mm(route, index, unit_pt)
    first, sweep = contact_angles(route, index)
    tick = min(3.5 / unit_pt, 0.12 * radius)
    ends = [
        Stroke(np.asarray(centre + np.outer((radius - tick, radius + tick), from_angle(angle))), WRAP_END, name)
        for angle in np.array((first, first + sweep))
    ]
    return [Stroke(arc(centre, radius, first, sweep), WRAP_ARC, name), *ends]


def _contact_radius_mm(route: Route, index: int, unit_pt: float) -> float:
    """Radius at which the arc of contact is drawn: inside the rim, and clear of a belt that sits deep in its groove."""
    rim = float(route.circuit.rim[index])
    if route.pulleys[index].on_back:
        return _WRAP_SHARE * rim
    under = float(route.loop.radius[index]) - reach_mm(route, unit_pt)[1] - _WRAP_UNDER_BELT_PT / unit_pt
    return max(min(_WRAP_SHARE * rim, under), _LEAST_WRAP_SHARE * rim)


def contact_angles(route: Route, index: int) -> tuple[float, float]:
    """Angle at which the belt meets a pulley, and its signed sweep on it, rad."""
    away = route.loop.arrival[index] - route.loop.centre[index]
    return float(np.arctan2(away[1], away[0])), float(route.loop.sense[index] * route.loop.wrap[index])


def turning_items(
    name: str, centre: Floats, radius: float, sense: float, unit_pt: float, middle_rad: float = 0.5 * np.pi
) -> list[Item]:
    """The curved arrow beside the hub: sense +1 counter-clockwise, -1 clockwise. middle_rad: the side it is on."""
    begin = middle_rad - 0.5 * sense * _TURNING_SWEEP_RAD
    end, at = begin + sense * _TURNING_SWEEP_RAD, _TURNING_SHARE * radius
    head = min(9.0 / unit_pt, 0.34 * radius)
    # The head is turned back by half its length along the arc, so that it lies on the arc.
    along = sense * left_normal(from_angle(np.asarray(end - sense * 0.5 * head / at)))
    tip = np.asarray(centre + at * from_angle(np.asarray(end)))
    shaft = arc(centre, at, begin, float(sense * (_TURNING_SWEEP_RAD - 0.7 * head / at)))
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


# The adjuster as it is drawn: the travel of its pulley, the pulley at both stops, the arm where the belt puts it.

_TRAVEL_POINTS = 61
_STOP_PT = 5.0


def _travel_points(adjuster: Adjuster) -> Floats:
    """The line on which the pulley's centre moves, from stop to stop; (n, 2) mm."""
    return adjuster.centre_at(np.linspace(*adjuster.travel, _TRAVEL_POINTS))


def stop_words(route: Route) -> tuple[str, str]:
    """What the two ends of the travel are called, in the adjuster's order: after the path that they give."""
    travel, adjuster = route.travel, route.circuit.adjuster
    if travel is None or adjuster is None:
        return "short", "long"
    # The file gives its stops in either order, rising or falling.
    first = adjuster.travel[0]
    return ("short", "long") if abs(first - travel.short) <= abs(first - travel.long) else ("long", "short")


def items_behind(route: Route) -> list[Item]:
    """What lies under pulleys and belt: the pulley at both stops, and the arm."""
    if route.moving is None or route.moving.adjuster is None:
        return []
    adjuster, radius = route.moving.adjuster, route.moving.rim_radius_mm(route.layout.belt)
    items: list[Item] = [
        Shape((circle(centre, radius),), pen=GHOST_SHORT if word == "short" else GHOST_LONG, name=f"stop {word}")
        for centre, word in zip(adjuster.centre_at(np.array(adjuster.travel)), stop_words(route), strict=True)
    ]
    return [*items, *arm_items(adjuster, route.loop.centre[route.circuit.moving or 0])]


def arm_items(adjuster: Adjuster | None, centre: Floats) -> list[Item]:
    """The arm of an adjuster that has one, from its pivot to the pulley's centre."""
    if not isinstance(adjuster, Arm):
        return []
    return [Stroke(np.stack((np.array(adjuster.pivot_mm), centre)), ARM, "arm")]


def items_before(adjuster: Adjuster | None, unit_pt: float) -> list[Item]:
    """What lies over the pulleys: the travel of the centre with a bar at each stop, and the arm's pivot."""
    if adjuster is None:
        return []
    bars: list[Item] = [_bar(adjuster, stop, unit_pt) for stop in adjuster.travel]
    items: list[Item] = [Stroke(_travel_points(adjuster), TRAVEL, "travel of the adjuster"), *bars]
    if isinstance(adjuster, Arm):
        items.append(Shape((circle(adjuster.pivot_mm, 4.0 / unit_pt),), PAPER, Pen(ADJUSTER, 1.8), name="pivot"))
    return items


def _bar(adjuster: Adjuster, stop: float, unit_pt: float) -> Stroke:
    centre, motion = adjuster.centre_at(np.asarray(stop)), adjuster.motion_at(np.asarray(stop))
    across = left_normal(motion) / norm(motion) * _STOP_PT / unit_pt
    return Stroke(np.stack((centre - across, centre + across)), TRAVEL, "stop bar")
