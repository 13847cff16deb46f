"""Belt, pulleys, adjuster and fixed parts as they are drawn, to scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from beltplan.checks.gaps import MEASURED, RIM_CHECK, bodies_of, gaps_over
from beltplan.drive.layout import Layout
from beltplan.drive.mounts import Mount, Slot
from beltplan.drive.pulleys import Adjuster, Arm, Pulley
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop, arc, arc_angles, arc_points, outline
from beltplan.geometry.vectors import Floats, from_angle, left_normal, norm
from beltplan.picture import pens, scene
from beltplan.picture.framing import Outside, framed, obstacle_outline
from beltplan.picture.pens import Pen
from beltplan.picture.scene import IN_MM, Box, Item, Point, Shape, Stroke, View

_THINNEST_PT = 4.0
"""A belt thinner than this on paper is drawn this thick, so that its two sides can be told apart."""
_LEAST_GAP_PT = 2.5
"""A gap narrower than this on paper looks as if both sides touched: sooner a thinner belt."""
_ARROW_PT, _LONGEST_ARROW_PT = 12.0, 26.0
_ARROW_TO_BAND = 2.0
"""The arrow of travel is so much longer than the band is thick, so that it stands out of it, but never a wedge."""
_EVERY_PT, _MOST_ARROWS = 170.0, 3
"""One arrow of travel for about this much span, and no more than so many on one."""
_OVER_RIM_PT = 1.0
_MARK_PT = 4.0
"""Half the length of the cross at a mark."""


@dataclass(frozen=True, eq=False)
class Drawn:
    """A route on paper: its loop, rims, band and adjuster, in points. also: a box that is shown beside it, mm."""

    route: Route
    view: View = IN_MM
    also: Box | None = None

    @cached_property
    def loop(self) -> Loop:
        return on_paper(self.route.loop, self.view)

    @cached_property
    def rim(self) -> Floats:
        return np.asarray(self.view.pt_per_mm * self.route.circuit.rim)

    @cached_property
    def core_mm(self) -> Box:
        over = self.route.circuit.rim + self.route.layout.belt.profile.thickness_mm
        discs = np.concatenate((np.column_stack((self.route.loop.centre, over)), Drawn(self.route).stops))
        return scene.box_round_discs(discs)

    @cached_property
    def framed(self) -> tuple[Layout, tuple[Outside, ...]]:
        return framed(self.route.layout, self.core_mm, self.also)

    @property
    def layout(self) -> Layout:
        """What is drawn of it: what lies too far out is told at the edge."""
        return self.framed[0]

    @property
    def box(self) -> Box:
        """The box round all that is drawn: pulleys (at both stops too), belt, fixed parts."""
        spares = np.array([(*at, radius) for at, radius in spare_discs(self.layout, IN_MM).values()]).reshape(-1, 3)
        core = np.reshape(self.core_mm, (-1, 2))
        return scene.seen_box(scene.box_round_discs(spares, core, *fixed_outlines(self.layout)), self.view)

    @cached_property
    def thickening(self) -> float:
        """How many times thicker than it is the belt is drawn: no more than leaves its gaps open to the eye."""
        belt, circuit = self.route.layout.belt, self.route.circuit
        wanted = max(1.0, _THINNEST_PT / (self.view.pt_per_mm * belt.profile.thickness_mm))
        if wanted == 1.0:
            return wanted
        path = circuit.path_at(np.array([self.route.setting or 0.0]))
        every = gaps_over(bodies_of(self.route.layout, circuit), path, times=MEASURED)
        # What the belt runs through shows without a gap.
        gaps = (float(over.gap_mm.min()) for over in every if over.check != RIM_CHECK)
        gap = min((each for each in gaps if each > 0.0), default=np.inf)
        room = gap - _LEAST_GAP_PT / self.view.pt_per_mm
        return float(np.clip(1.0 + room / (2.0 * max(belt.outer_mm, belt.inner_mm)), 1.0, wanted))

    @property
    def band(self) -> tuple[float, float]:
        """How far the band stands over and under the followed line."""
        belt, over = self.route.layout.belt, self.view.pt_per_mm * self.thickening
        return over * belt.outer_mm, over * belt.inner_mm

    @property
    def arrow(self) -> float:
        return min(max(_ARROW_PT, _ARROW_TO_BAND * sum(self.band)), _LONGEST_ARROW_PT)

    def reach(self, index: int) -> float:
        outer, inner = self.band
        over = inner if self.route.pulleys[index].on_back else outer
        return max(float(self.rim[index]), float(self.loop.radius[index]) + over) + _OVER_RIM_PT

    @property
    def stops(self) -> Floats:
        """The adjusted pulley at both stops: x, y, radius, (2, 3); (0, 3) without an adjuster."""
        index, adjuster = self.route.circuit.moving, self.route.circuit.adjuster
        if index is None or adjuster is None:
            return np.zeros((0, 3))
        centres = self.view.at(adjuster.track.centre_at(np.array(adjuster.travel)))
        return np.column_stack((centres, self.rim[[index, index]]))

    @property
    def pivot(self) -> Floats | None:
        adjuster = self.route.circuit.adjuster
        return self.view.at(adjuster.pivot_mm) if isinstance(adjuster, Arm) else None

    @property
    def moving_at(self) -> Floats:
        return np.asarray(self.loop.centre[self.route.circuit.moving or 0])

    def shifted(self, by: float) -> Loop:
        """A parallel of the path further out: the same directions, radii changed by the side the belt is on."""
        return replace(self.loop, radius=self.loop.radius + by * self.loop.sense * self.route.circuit.turning)


def on_paper(loop: Loop, view: View) -> Loop:
    k = view.pt_per_mm
    return replace(loop, centre=view.at(loop.centre), radius=k * loop.radius, span=k * loop.span)


def belt_items(drawn: Drawn, hollow: frozenset[str] = frozenset()) -> list[Item]:
    """hollow: pulleys whose arcs and spans are drawn as outlines only."""
    (outer, inner), loop, route = drawn.band, drawn.loop, drawn.route
    levels = tuple(drawn.shifted(by) for by in (outer, 0.5 * (outer - inner), -inner))
    back, face, ribs = map(outline, levels)
    spans = np.stack((loop.start, loop.end), axis=1)
    filled = [((back, face), (face, ribs))] if not hollow else [_chained(levels, run) for run in _runs(drawn, hollow)]
    return [
        *(Shape(rings, pens.BELT_BACK, name="belt back") for rings, _ in filled),
        *(Shape(rings, pens.BELT_RIBS, name="belt ribs") for _, rings in filled),
        Shape((back,), pen=pens.BELT_EDGE, name="belt edge"),
        Shape((ribs,), pen=pens.BELT_EDGE, name="belt edge"),
        *(Stroke(ends, pens.FOLLOWED_LINE, f"span {route.circuit.span_name(i)}") for i, ends in enumerate(spans)),
        *(Stroke(arc_points(loop, i), pens.FOLLOWED_LINE, f"arc {p.name}") for i, p in enumerate(route.pulleys)),
        *_arrows(drawn, levels[1], hollow),
    ]


def _runs(drawn: Drawn, hollow: frozenset[str]) -> list[list[int]]:
    count, names = len(drawn.route.pulleys), [pulley.name for pulley in drawn.route.pulleys]
    first = next(i for i, name in enumerate(names) if name in hollow)
    runs: list[list[int]] = [[]]
    for i in ((first + step) % count for step in range(1, count + 1)):
        runs = [*runs, []] if names[i] in hollow else [*runs[:-1], [*runs[-1], i]]
    return [run for run in runs if run]


def _chained(levels: Sequence[Loop], run: Sequence[int]) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    back, face, ribs = (np.concatenate([arc_points(level, i) for i in run]) for level in levels)
    return (np.concatenate((back, face[::-1])),), (np.concatenate((face, ribs[::-1])),)


def _arrows(drawn: Drawn, band: Loop, hollow: frozenset[str]) -> list[Item]:
    length, items = drawn.arrow, list[Item]()
    longest = int(np.argmax(norm(band.end - band.start)))
    for i, (a, b) in enumerate(drawn.route.spans):
        if (band.span[i] > 2.2 * length or i == longest) and not hollow & {a.name, b.name}:
            count = min(max(1, round(float(band.span[i]) / _EVERY_PT)), _MOST_ARROWS)
            for share in (np.arange(count) + 0.5) / count:
                tip = band.start[i] + (share * band.span[i] + 0.5 * length) * band.direction[i]
                head = scene.arrow_head(tip, band.direction[i], length)
                items.append(Shape((head,), pens.INK, Pen(pens.PAPER, 1.2), name=f"travel {a.name} to {b.name}"))
    return items


# Pulleys and fixed parts: with the arc of contact and the way each turns.

_TURNING_SHARE = 0.5
"""Radius of the turning arrow as a share of the rim's."""
_TURNING_SWEEP_RAD = np.radians(124.0)
_WRAP_SHARE, _LEAST_WRAP_SHARE = 0.84, 0.6
_WRAP_UNDER_BELT_PT = 4.0
_GROOVE_SHARE = 0.93
_ORIGIN_PT = 4.5


def pulley_items(drawn: Drawn, index: int, fill: str = pens.METAL) -> list[Item]:
    pulley, centre, radius = drawn.route.pulleys[index], drawn.loop.centre[index], float(drawn.rim[index])
    if not fill:
        return [Shape((scene.circle(centre, radius),), "", pens.RIM, name=f"rim {pulley.name}")]
    sense, side = float(drawn.loop.sense[index]), _turning_side_rad(drawn, index)
    turning = turning_items(pulley.name, centre, radius, sense, side)
    return [*disc_items(pulley, centre, radius, fill), *_contact(drawn, index), *turning]


def disc_items(pulley: Pulley, centre: Floats, radius: float, fill: str = pens.METAL) -> list[Item]:
    name, rim = pulley.name, pens.DRIVER_RIM if pulley.drives else pens.RIM
    grooves = Shape((scene.circle(centre, _GROOVE_SHARE * radius),), pen=pens.GROOVE_RING, name=f"grooves {name}")
    return [
        Shape((scene.circle(centre, radius),), fill, rim, name=f"rim {name}"),
        *(() if pulley.on_back else (grooves,)),
        Shape((scene.circle(centre, min(2.6, 0.15 * radius)),), pens.INK, name=f"hub {name}"),
    ]


def _turning_side_rad(drawn: Drawn, index: int) -> float:
    """Where the turning arrow stands about the hub: over it; beside the line of travel on an adjusted pulley."""
    adjuster = drawn.route.pulleys[index].adjuster
    if adjuster is None:
        return 0.5 * np.pi
    across = left_normal(adjuster.track.motion_at(np.asarray(drawn.route.setting or 0.0)))
    # The line of an arm bends toward its pivot: the other side is free.
    away = np.array((0.0, 1.0)) if drawn.pivot is None else drawn.loop.centre[index] - drawn.pivot
    return float(np.arctan2(across[1], across[0]) + (0.0 if across @ away >= 0.0 else np.pi))


def _contact(drawn: Drawn, index: int) -> list[Item]:
    name, centre, radius = f"contact {drawn.route.pulleys[index].name}", drawn.loop.centre[index], drawn.rim[index]
    under = float(drawn.loop.radius[index]) - drawn.band[1] - _WRAP_UNDER_BELT_PT
    # Inside the rim, and clear of a belt that sits deep in its groove.
    inside = _WRAP_SHARE * radius
    at = inside if drawn.route.pulleys[index].on_back else max(min(inside, under), _LEAST_WRAP_SHARE * radius)
    first, sweep = arc_angles(drawn.loop, index)
    tick = min(3.5, 0.12 * at)
    ends = [
        Stroke(np.asarray(centre + np.outer((at - tick, at + tick), from_angle(angle))), pens.WRAP_END, name)
        for angle in np.array((first, first + sweep))
    ]
    return [Stroke(arc(centre, at, first, sweep), pens.WRAP_ARC, name), *ends]


def contact_middle_rad(loop: Loop, index: int) -> float:
    first, sweep = arc_angles(loop, index)
    return first + 0.5 * sweep


def turning_items(
    name: str, centre: Floats, radius: float, sense: float, middle_rad: float = 0.5 * np.pi
) -> list[Item]:
    """The curved arrow beside the hub: sense +1 counter-clockwise, -1 clockwise. middle_rad: the side it is on."""
    begin = middle_rad - 0.5 * sense * _TURNING_SWEEP_RAD
    end, at = begin + sense * _TURNING_SWEEP_RAD, _TURNING_SHARE * radius
    head = min(9.0, 0.34 * radius)
    # The head is turned back by half its length along the arc, so that it lies on the arc.
    along = sense * left_normal(from_angle(np.asarray(end - sense * 0.5 * head / at)))
    tip = np.asarray(centre + at * from_angle(np.asarray(end)))
    shaft = arc(centre, at, begin, float(sense * (_TURNING_SWEEP_RAD - 0.7 * head / at)))
    return [
        Stroke(shaft, pens.TURNING, f"turning {name}"),
        Shape((scene.arrow_head(tip, along, head),), pens.INK, name=f"turning {name}"),
    ]


def spare_discs(layout: Layout, view: View) -> dict[str, tuple[Floats, float]]:
    return {
        pulley.name: (view.at(pulley.at_mm), view.pt_per_mm * pulley.rim_radius_mm(layout.belt))
        for pulley in layout.unrouted
        if pulley.at_mm is not None
    }


def spare_items(layout: Layout, view: View) -> list[Item]:
    items: list[Item] = []
    for name, (centre, radius) in spare_discs(layout, view).items():
        items.append(Shape((scene.circle(centre, radius),), pen=pens.SPARE_RIM, name=f"spare {name}"))
        items.append(Shape((scene.circle(centre, 2.0),), pens.METAL_EDGE))
    return items


def fixed_outlines(layout: Layout) -> list[Floats]:
    """Points round everything that is bolted on and round obstacles, and the marks; (n, 2) mm each."""
    metal = [np.array(each.outline_mm) for each in _mounts(layout) if each.outline_mm]
    marks = [np.array([mark.at_mm]) for mark in layout.marks]
    return [*map(obstacle_outline, layout.obstacles), *metal, *bolt_holes(_mounts(layout)), *marks]


def _mounts(layout: Layout) -> list[Mount]:
    return [pulley.mounted for pulley in layout.pulleys.values()]


def bolt_holes(mounts: Sequence[Mount]) -> list[Floats]:
    round_ones = [scene.circle(hole.at_mm, 0.5 * hole.diameter_mm) for each in mounts for hole in each.holes]
    return round_ones + [_slot_outline(slot) for each in mounts for slot in each.slots]


def _slot_outline(slot: Slot) -> Floats:
    x, y = np.subtract(slot.end_mm, slot.start_mm)
    across, radius = float(np.arctan2(y, x)) - 0.5 * np.pi, 0.5 * slot.width_mm
    ends = (arc(slot.end_mm, radius, across, np.pi), arc(slot.start_mm, radius, across + np.pi, np.pi))
    return np.concatenate(ends)


def obstacle_items(layout: Layout, view: View) -> list[Item]:
    """Fixed parts: grey and hatched what is in the way; thin what is bolted through, and the marks."""
    outlines = {each.name: obstacle_outline(each) for each in layout.obstacles}
    mounts = {name: pulley.mounted.outline_mm for name, pulley in layout.pulleys.items()}
    outlines |= {f"mount of {name}": np.array(corners) for name, corners in mounts.items() if corners}
    holes = bolt_holes(_mounts(layout))
    return [
        *(Shape((view.at(o),), pens.OBSTACLE, pens.OUTLINE, True, f"obstacle {name}") for name, o in outlines.items()),
        *(Shape((view.at(hole),), pens.PAPER, pens.OUTLINE, name="bolt hole") for hole in holes),
        *(item for mark in layout.marks for item in mark_cross(view.at(mark.at_mm), mark.name)),
    ]


def mark_cross(at: Floats, name: str) -> list[Item]:
    """A point that is no pulley, on paper of its own: it is seen on a hatched obstacle too."""
    return [Shape((scene.circle(at, _MARK_PT),), pens.PAPER), *scene.cross(at, _MARK_PT, pens.OUTLINE, f"point {name}")]


def origin_items(at: Point | Floats) -> list[Item]:
    quarters = [arc(at, _ORIGIN_PT, start, 0.5 * np.pi) for start in (0.0, np.pi)]
    filled = [Shape((np.concatenate((np.array([at]), each)),), pens.INK, name="origin") for each in quarters]
    return [Shape((scene.circle(at, _ORIGIN_PT),), pens.PAPER, Pen(pens.INK, 0.8), name="origin"), *filled]


# The adjuster: the travel of its pulley, the pulley at both stops, the arm where the belt puts it.

_TRAVEL_POINTS = 61
_STOP_PT, _TRAVEL_HEAD_PT = 5.0, 7.0


def items_behind(drawn: Drawn) -> list[Item]:
    ghosts = {"short": pens.GHOST_SHORT, "long": pens.GHOST_LONG}
    words = drawn.route.stop_names
    stops: list[Item] = [
        Shape((scene.circle(stop[:2], stop[2]),), pen=ghosts[word], name=f"stop {word}")
        for stop, word in zip(drawn.stops, words, strict=False)
    ]
    return [*stops, *arm_items(drawn.route.circuit.adjuster, drawn.moving_at, drawn.view)]


def arm_items(adjuster: Adjuster | None, centre: Floats, view: View) -> list[Item]:
    if not isinstance(adjuster, Arm):
        return []
    return [Stroke(np.stack((view.at(adjuster.pivot_mm), centre)), pens.ARM, "arm")]


def items_before(adjuster: Adjuster | None, view: View) -> list[Item]:
    if adjuster is None:
        return []
    travel = travel_items(view.at(adjuster.track.centre_at(np.linspace(*adjuster.travel, _TRAVEL_POINTS))))
    if not isinstance(adjuster, Arm):
        return travel
    return [*travel, Shape((scene.circle(view.at(adjuster.pivot_mm), 4.0),), pens.PAPER, pens.PIVOT, name="pivot")]


def travel_items(line: Floats) -> list[Item]:
    """A line of travel in dashes, a head and a bar at both ends: by its shape no arc of contact."""
    items: list[Item] = [Stroke(line, pens.TRAVEL, "travel of the adjuster")]
    for tip, before in ((line[0], line[1]), (line[-1], line[-2])):
        along = (tip - before) / max(float(norm(tip - before)), 1e-12)
        across = _STOP_PT * left_normal(along)
        head = min(_TRAVEL_HEAD_PT, 0.4 * float(norm(line[-1] - line[0])))
        items.append(Shape((scene.arrow_head(tip, along, head),), pens.ADJUSTER, name="stop head"))
        items.append(Stroke(np.stack((tip - across, tip + across)), pens.STOP_BAR, "stop bar"))
    return items
