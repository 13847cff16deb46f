"""Does the belt run clear of everything over the whole travel of the adjuster?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.limits import CAUTION_BAND, Bound, Finding, bound_for, demanded, judge
from beltplan.drive.layout import Circle, Layout, Obstacle
from beltplan.drive.operation import Operation, why_not_judged
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.crossing import Pairs, spans_apart
from beltplan.geometry.loops import Loop, overlap
from beltplan.geometry.shapes import (
    arc_lines,
    belt_to_belt,
    belt_to_shape,
    disc_to_shape,
    point,
    polygon,
    strand_bodies,
    strand_to_disc,
    strand_to_strand,
)
from beltplan.geometry.vectors import Floats

CLEARANCE_CHECK = "clearance"
CLEARANCE_MEANING = "a strand through, or too close to, a pulley it does not belong to or an obstacle"
GAP_CHECK = "strand_gap"
GAP_MEANING = "two strands too near each other"
RIM_CHECK = "rim_gap"
RIM_MEANING = "two rims, or a rim and an obstacle, too near each other"
FREE_CHECK = "free_strand"
FREE_MEANING = "a long free strand, which may flap"
PLACES = 17
"""Settings of the adjuster at which clearances are measured, stops and judged place included."""


@dataclass(frozen=True, eq=False)
class Sweep:
    """Everything that moves, at every setting that is looked at: settings lead every array.

    position: (s) along the travel, 0 without an adjuster. bodies, arcs: shapely arrays (s, n) of strands and of the
    belt on each pulley. around: (n) radius of the belt's far side on each pulley. rim: (m) of all pulleys, routed ones
    first; centre: (s, m, 2).
    """

    position: Floats
    loop: Loop
    bodies: object
    arcs: object
    around: Floats
    centre: Floats
    rim: Floats
    pulleys: tuple[Pulley, ...]


def sweep_of(route: Route) -> Sweep:
    """The belt and the pulleys over the usable travel, the judged place among them."""
    setting = _settings(route)
    loop, belt = route.circuit.loop_at(setting), route.layout.belt
    reach = np.array([belt.inner_mm if pulley.on_back else belt.outer_mm for pulley in route.pulleys])
    spare = tuple(pulley for pulley in route.layout.unrouted if pulley.at_mm is not None)
    beside = np.array([pulley.at_mm for pulley in spare], dtype=float).reshape(-1, 2)
    centre = np.concatenate((loop.centre, np.broadcast_to(beside, (len(setting), *beside.shape))), axis=-2)
    rim = np.append(route.circuit.rim, [pulley.rim_radius_mm(belt) for pulley in spare])
    position = np.array([0.0 if route.travel is None else route.travel.position(float(at)) for at in setting])
    bodies = strand_bodies(loop, belt.outer_mm, belt.inner_mm)
    arcs = arc_lines(loop, reach)
    return Sweep(position, loop, bodies, arcs, route.circuit.radius + reach, centre, rim, route.pulleys + spare)


def _settings(route: Route) -> Floats:
    if route.travel is None or route.setting is None:
        return np.zeros(1)
    return np.append(np.linspace(route.travel.short, route.travel.long, PLACES), route.setting)


@dataclass(frozen=True, eq=False)
class Gap:
    """The smallest distance between two parts over the travel, mm; negative where one cuts into the other.

    check: the question it answers (`CHECK`, `GAP_CHECK` or `RIM_CHECK`). first, second: names of strands, pulleys or
    obstacles; the belt on a pulley is 'belt on NAME'. second_is: what the second one is, in words before its name.
    bound: what is asked of it. position: where on the adjuster's travel it is that small, None without an adjuster.
    """

    check: str
    value_mm: float
    first: str
    second: str
    second_is: str
    bound: Bound
    position: float | None

    @property
    def subject(self) -> str:
        """Both parts, as a finding names them."""
        return f"{self.first} / {self.second}"


def clearance_findings(route: Route) -> list[Finding]:
    """Everything that the belt or a rim comes too close to: checks clearance, strand_gap and rim_gap."""
    return [
        finding
        for gap in _gaps(route, _farthest_wanted(route))
        if gap.bound.verdict(gap.value_mm) is not None
        for finding in judge(
            gap.check,
            gap.subject,
            gap.value_mm,
            gap.bound,
            _message(gap),
            (gap.first.removeprefix("belt on "), gap.second),
        )
    ]


def gaps_of(route: Route) -> tuple[Gap, ...]:
    """Every distance that the clearance checks judge, however large, from the same measurement."""
    return tuple(_gaps(route, np.inf))


def smallest_gap(gaps: tuple[Gap, ...]) -> Gap | None:
    """The smallest of them in mm, None where there are none."""
    return min(gaps, key=lambda gap: gap.value_mm, default=None)


def _gaps(route: Route, far: float) -> list[Gap]:
    """far: the belt on a pulley is left out where it is surely at least that far from the other part, mm."""
    sweep = sweep_of(route)
    return (
        _strands_to_pulleys(route, sweep, far)
        + _belt_to_obstacles(route, sweep, far)
        + _strands_to_strands(route, sweep)
        + _rims(route, sweep)
    )


def _farthest_wanted(route: Route) -> float:
    """The largest clearance that any part of the layout asks for, caution included, mm."""
    own = route.layout.limits.get("min_clearance_mm", {}).values()
    return CAUTION_BAND * max((demanded(route.layout, "min_clearance_mm").limit, *own))


def _strands_to_pulleys(route: Route, sweep: Sweep, far: float) -> list[Gap]:
    n = len(route.pulleys)
    gap = strand_to_disc(sweep.bodies, sweep.centre, sweep.rim)
    # The belt all round a pulley is a lower bound for the belt on its arc, and much cheaper to measure.
    bound = strand_to_disc(sweep.bodies, sweep.loop.centre, sweep.around).min(axis=0)
    found: list[Gap] = []
    for i in range(n):
        for j, other in enumerate(sweep.pulleys):
            if j in (i, (i + 1) % n):
                continue
            own = gap[:, i, j]
            if j < n and bound[i, j] < far:
                arc = belt_to_belt(sweep.bodies, i, sweep.arcs, j)
                # A strand that cuts into the metal keeps that depth; elsewhere the belt on it may be nearer.
                own = np.where(own > 0.0, np.minimum(own, arc), own)
            found.append(_close(route, sweep, own, strand_name(route, i), _ends(route, i), ("pulley", other.name)))
    return found


def _belt_to_obstacles(route: Route, sweep: Sweep, far: float) -> list[Gap]:
    found: list[Gap] = []
    for obstacle in route.layout.obstacles:
        (shape, radius), other = _shape(obstacle), ("obstacle", obstacle.name)
        strands = belt_to_shape(sweep.bodies, shape) - radius
        arcs = disc_to_shape(sweep.loop.centre, sweep.around + radius, shape)
        for i, pulley in enumerate(route.pulleys):
            found.append(_close(route, sweep, strands[:, i], strand_name(route, i), _ends(route, i), other))
            if arcs[:, i].min() < far:
                arc = belt_to_shape(np.asarray(sweep.arcs)[:, i], shape) - radius
                found.append(_close(route, sweep, arc, f"belt on {pulley.name}", (pulley.name,), other))
    return found


def _close(route: Route, sweep: Sweep, gap: Floats, part: str, names: tuple[str, ...], other: tuple[str, str]) -> Gap:
    """The gap between one part of the belt (its pulleys' names) and one other thing (what it is, its name)."""
    bound = demanded(route.layout, "min_clearance_mm", (other[1], *names))
    return _gap(route, sweep, CLEARANCE_CHECK, gap, (part, other[1], other[0]), bound)


def _gap(route: Route, sweep: Sweep, check: str, over: Floats, parts: tuple[str, str, str], bound: Bound) -> Gap:
    """over: the distance at every setting, mm. parts: first, second, what the second is."""
    worst = int(np.argmin(over))
    position = None if route.travel is None else abs(float(sweep.position[worst]))
    return Gap(check, float(over[worst]), *parts, bound, position)


def _strands_to_strands(route: Route, sweep: Sweep) -> list[Gap]:
    pairs = _facing_strands(sweep.loop)
    if not pairs:
        return []
    gap = strand_to_strand(sweep.bodies, pairs)
    found: list[Gap] = []
    for column, (i, j) in enumerate(pairs):
        ends = tuple(pulley.name for strand in (i, j) for pulley in route.strands[strand])
        bound = demanded(route.layout, "min_strand_gap_mm", ends)
        parts = (strand_name(route, i), strand_name(route, j), "strand")
        found.append(_gap(route, sweep, GAP_CHECK, gap[:, column], parts, bound))
    return found


def _facing_strands(loop: Loop) -> Pairs:
    # Neighbours meet at their pulley; they only come together again where it turns them by more than half a turn.
    n = loop.span.shape[-1]
    tight = np.max(loop.wrap, axis=0) > np.pi
    neighbours = tuple(((i - 1) % n, i) for i in range(n) if n > 2 and bool(tight[i]))
    return spans_apart(n) + neighbours


def _rims(route: Route, sweep: Sweep) -> list[Gap]:
    depth, pairs = overlap(sweep.centre, sweep.rim)
    found = [
        _near_rims(route, sweep, -depth[:, column], sweep.pulleys[i].name, (sweep.pulleys[j].name, "pulley"))
        for column, (i, j) in enumerate(pairs)
    ]
    for obstacle in route.layout.obstacles:
        shape, radius = _shape(obstacle)
        gap = disc_to_shape(sweep.centre, sweep.rim + radius, shape)
        for i, pulley in enumerate(sweep.pulleys):
            found.append(_near_rims(route, sweep, gap[:, i], pulley.name, (obstacle.name, "obstacle")))
    return found


def _near_rims(route: Route, sweep: Sweep, gap: Floats, first: str, second: tuple[str, str]) -> Gap:
    bound = demanded(route.layout, "min_rim_gap_mm", (second[0], first))
    return _gap(route, sweep, RIM_CHECK, gap, (first, *second), bound)


def _message(gap: Gap) -> str:
    value, where = gap.value_mm, _where(gap)
    if gap.check == GAP_CHECK:
        passing = f"strands {gap.first} and {gap.second} pass at {value:.1f} mm{where}"
        return f"{passing}: they may touch when they flap; spread the pulleys"
    if gap.check == RIM_CHECK:
        apart = f"{value:.1f} mm apart" if value > 0.0 else "in each other's way"
        return f"{gap.first} and {gap.second} are {apart}{where}: leave room for run-out and fingers"
    other = f"{gap.second_is} {gap.second}"
    passing = f"passes {other} at {value:.1f} mm" if value > 0.0 else f"runs through {other}"
    return f"{gap.first} {passing}{where}: move one of them, or lead the belt round with an idler"


def _ends(route: Route, index: int) -> tuple[str, str]:
    start, end = route.strands[index]
    return start.name, end.name


def _where(gap: Gap) -> str:
    return "" if gap.position is None else f" (adjuster at {100.0 * gap.position:.0f} % of its travel)"


def strand_name(route: Route, index: int) -> str:
    """Name of a strand, by the pulleys at its ends."""
    start, end = route.strands[index]
    return f"{start.name} to {end.name}"


def _shape(obstacle: Obstacle) -> tuple[object, float]:
    """What distances are measured to, and the radius to take off them."""
    if isinstance(obstacle, Circle):
        return point(obstacle.at_mm), obstacle.diameter_mm / 2.0
    return polygon(obstacle.corners_mm), 0.0


def free_strand_findings(route: Route) -> list[Finding]:
    """Strands so long that they may flap."""
    found: list[Finding] = []
    for i, span in enumerate(route.loop.span):
        name, ends = strand_name(route, i), tuple(pulley.name for pulley in route.strands[i])
        message = f"{span:.0f} mm of free strand may flap: an idler or guide half way calms it"
        found += judge(
            FREE_CHECK, name, float(span), demanded(route.layout, "max_free_strand_mm", ends), message, (name,)
        )
    return found


# Is a free span long enough for the belt to come straight between two bends?

SHORT_SPAN_CHECK = "short_span"
SHORT_SPAN_MEANING = "a free span shorter than the belt is high: the belt cannot come straight there, and has no tone"
HEIGHT = "common practice, no source: a span no shorter than the belt is high"


def short_span_findings(route: Route) -> list[Finding]:
    """Short spans where the chosen belt puts the adjuster; where tensions are known, `tight_span_findings` tells."""
    return _short(route, route.loop.span) if why_not_judged(route) is not None else []


def tight_span_findings(operation: Operation) -> list[Finding]:
    """Short spans of the belt at its measuring tension, stopped and running: the shortest of each."""
    chosen, stopped = operation.route.loop.span, operation.stopped.loop.span
    running = operation.running.loop.span.min(axis=(0, 1))
    found = []
    for i, span in enumerate(np.minimum(np.minimum(running, stopped), chosen)):
        when = "where the running belt's tension puts the adjuster"
        if stopped[i] <= running[i]:
            when = "where the belt's tension puts the adjuster, engine stopped"
        found += _short_at(operation.route, i, float(span), "" if span == chosen[i] else f" {when}")
    return found


def least_span(layout: Layout, ends: tuple[str, ...]) -> Bound:
    """The shortest span between two pulleys, by their names, that needs no look: the height of the belt."""
    default = Bound("lower", layout.belt.profile.thickness_mm, "mm", HEIGHT, only_caution=True)
    return bound_for(layout, "min_span_mm", ends, default=default) or default


def _short(route: Route, span_mm: Floats) -> list[Finding]:
    return [finding for i, span in enumerate(span_mm) for finding in _short_at(route, i, float(span), "")]


def _short_at(route: Route, index: int, span_mm: float, when: str) -> list[Finding]:
    name, ends = strand_name(route, index), tuple(pulley.name for pulley in route.strands[index])
    message = f"only {span_mm:.1f} mm of free span{when}, less than the belt is high: move the two apart"
    return judge(SHORT_SPAN_CHECK, name, span_mm, least_span(route.layout, ends), message, (name,))
