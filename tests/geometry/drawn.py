"""The belt drawn with shapely, a general-purpose geometry library, and what it measures: a reference for every gap."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from beltplan.drive.layout import Circle, Obstacle
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import Floats, from_angle, left_normal

Shapes = dict[str, Floats]
ARC_POINTS = 1000
"""Points along the belt on a pulley: chords cut in by 0.0005 mm at most on a 100 mm radius wrapped all round."""


def span_bodies(loop: Loop, outer_mm: float, inner_mm: float) -> Floats:
    """Every span as the rectangle that the belt's section sweeps, (..., n).

    outer_mm, inner_mm: how far the belt reaches from the followed line toward the outside and the inside of the loop.
    """
    outward = -np.sign(loop.turns)[..., None, None] * left_normal(loop.direction)
    start, end = loop.start, loop.end
    corners = (
        start + outer_mm * outward,
        end + outer_mm * outward,
        end - inner_mm * outward,
        start - inner_mm * outward,
    )
    return np.asarray(shapely.polygons(np.stack(corners, axis=-2)))


def arc_lines(loop: Loop, reach_mm: Floats) -> Floats:
    """The outermost line of the belt on every pulley as a chain of chords, (..., n).

    reach_mm: (n), how far the belt stands over the followed line on the side away from each pulley.
    """
    away = loop.arrival - loop.centre
    first = np.arctan2(away[..., 1], away[..., 0])
    angles = first[..., None] + (loop.sense * loop.wrap)[..., None] * np.linspace(0.0, 1.0, ARC_POINTS)
    radius = (loop.radius + reach_mm)[..., None, None]
    return np.asarray(shapely.linestrings(loop.centre[..., None, :] + radius * from_angle(angles)))


@dataclass(frozen=True, eq=False)
class Drawn:
    """A drive over settings of its adjuster: shapely arrays (s) by the names that the checks use."""

    spans: Shapes
    arcs: Shapes
    discs: Shapes
    radius: dict[str, float]
    wrap: Floats

    @property
    def names(self) -> list[str]:
        """The routed pulleys, in the belt's order."""
        return list(self.arcs)


def drawn(route: Route, settings: Floats) -> Drawn:
    """Draw everything that moves."""
    belt, loop = route.layout.belt, route.circuit.loop_at(settings)
    names = [pulley.name for pulley in route.pulleys]
    reach = np.array([belt.inner_mm if pulley.on_back else belt.outer_mm for pulley in route.pulleys])
    spare = {p.name: p for p in route.layout.unrouted if p.at_mm is not None}
    at = {name: shapely.points(loop.centre[:, i]) for i, name in enumerate(names)}
    at |= {name: np.asarray([shapely.Point(pulley.at_mm)]) for name, pulley in spare.items()}
    spans = [f"{first} to {second}" for first, second in zip(names, names[1:] + names[:1], strict=True)]
    return Drawn(
        dict(zip(spans, span_bodies(loop, belt.outer_mm, belt.inner_mm).T, strict=True)),
        dict(zip(names, arc_lines(loop, reach).T, strict=True)),
        at,
        {name: route.layout.pulleys[name].rim_radius_mm(belt) for name in at},
        loop.wrap,
    )


def drawn_gaps(route: Route, settings: Floats) -> dict[tuple[str, str], float]:
    """The smallest gap of every couple of parts over settings of the adjuster, mm."""
    it = drawn(route, settings)
    gaps = _to_pulleys(it) | _to_spans(it)
    for obstacle in route.layout.obstacles:
        gaps |= _to_obstacle(it, obstacle)
    for first, second in combinations(it.discs, 2):
        apart = shapely.distance(it.discs[first], it.discs[second])
        gaps[first, second] = apart - it.radius[first] - it.radius[second]
    for name, arm in ((p.name, p.adjuster) for p in route.pulleys if isinstance(p.adjuster, Arm)):
        # 25 mm: half an arm and half a bolt or shaft, common practice.
        arms = shapely.linestrings(np.array([[arm.pivot_mm, arm.track.centre_at(np.asarray(at))] for at in settings]))
        others = (other for other in it.discs if other != name)
        gaps |= {(other, f"arm of {name}"): shapely.distance(it.discs[other], arms) - 25.0 for other in others}
    return {key: float(np.min(gap)) for key, gap in gaps.items() if np.min(gap) < np.inf}


def _to_pulleys(it: Drawn) -> dict[tuple[str, str], Floats]:
    found = {}
    for span, body in it.spans.items():
        for name in (name for name in it.discs if name not in span.split(" to ")):
            gap = shapely.distance(body, it.discs[name]) - it.radius[name]
            arc = shapely.distance(body, it.arcs[name]) if name in it.arcs else np.inf
            found[span, name] = np.where(gap > 0.0, np.minimum(gap, arc), gap)
    return found


def _to_spans(it: Drawn) -> dict[tuple[str, str], Floats]:
    found, n, spans = {}, len(it.names), list(it.spans)
    for i, j in combinations(range(n if n > 2 else 0), 2):
        first, second = (j, i) if (i, j) == (0, n - 1) else (i, j)
        gap = shapely.distance(it.spans[spans[first]], it.spans[spans[second]])
        if second == (first + 1) % n:
            gap = np.where(it.wrap[:, second] > np.pi, gap, np.inf)
        found[spans[first], spans[second]] = gap
    return found


def _to_obstacle(it: Drawn, obstacle: Obstacle) -> dict[tuple[str, str], Floats]:
    if isinstance(obstacle, Circle):
        shape, radius = shapely.Point(obstacle.at_mm), obstacle.diameter_mm / 2.0
    else:
        shape, radius = shapely.Polygon(obstacle.corners_mm), 0.0
    found = {(f"belt on {name}", obstacle.name): shapely.distance(arc, shape) - radius for name, arc in it.arcs.items()}
    found |= {(name, obstacle.name): shapely.distance(body, shape) - radius for name, body in it.spans.items()}
    rims = {name: shapely.distance(at, shape) - radius - it.radius[name] for name, at in it.discs.items()}
    return found | {(name, obstacle.name): gap for name, gap in rims.items()}
