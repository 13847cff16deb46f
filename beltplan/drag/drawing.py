"""The left of the window: the drive in hand as it lies, over the ghost of the start; or why there is no belt path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.plan import Plan
from beltplan.drag.live import Live
from beltplan.drive.route import Route
from beltplan.geometry.loops import outline
from beltplan.picture import strokes
from beltplan.picture.framing import EVERYWHERE, obstacle_outline
from beltplan.picture.page import marks_of
from beltplan.picture.pens import INK, PROBLEM, SOFT_INK, Pen
from beltplan.picture.routing import Wanted, bare_items, drawing_items
from beltplan.picture.scene import Item, Label, Point, Raster, Shape, Stroke, View, box_round_discs, circle, seen
from beltplan.picture.unlaid import path_findings, unlaid_items
from beltplan.report.answer import in_units_of

_GHOST = Pen(SOFT_INK, 0.8, (2.0, 2.0))
_PALE_BELT = Pen("#c9d8e6", 3.0)
_ORDER = Pen(PROBLEM, 1.2, (6.0, 4.0))
_NAME_PT = 9.0


@dataclass(frozen=True, eq=False)
class Seen:
    """What is drawn: the layout in hand, the start, the last layout that had a belt path, and the map under it all.

    setting: where the adjusted pulley is held, None where the belt puts it.
    """

    live: Live
    start: Live
    sound: Plan | None
    setting: float | None = None
    map: Raster | None = None


def drawn_items(drawn: Seen, unit_pt: float, edges_mm: Point) -> list[Item]:
    """All of it in mm of the layout, back to front. unit_pt: points for a mm; edges_mm: left and right of all."""
    view, edges = View(unit_pt), (edges_mm[0] * unit_pt, edges_mm[1] * unit_pt)
    under: list[Item] = [] if drawn.map is None else [drawn.map]
    under += _ghost(drawn.live, drawn.start)
    plan, layout = drawn.live.plan, drawn.live.layout
    if plan is None:
        return [*under, *_without_belt(drawn, view, edges)]
    route = plan.route
    if drawn.setting is not None and (loop := route.circuit.loop_at(drawn.setting)).exists:
        # Held somewhere on its travel, the belt is as long as it then has to be.
        route = replace(route, setting=drawn.setting, loop=loop, length_mm=float(loop.length))
    if drawn.setting is not None or not drawn.live.at_rest:
        return [*under, *_moving(route, view)]
    marks = marks_of(in_units_of(layout, plan.findings))
    return [*under, *seen(drawing_items(strokes.Drawn(plan.route, view, EVERYWHERE), Wanted(edges, marks)), view.back)]


def _moving(route: Route, view: View) -> list[Item]:
    places = zip(route.pulleys, route.loop.centre.tolist(), strict=True)
    bare = seen(bare_items(strokes.Drawn(route, view, EVERYWHERE)), view.back)
    return [*bare, *(_name(pulley.name, at, view.pt_per_mm) for pulley, at in places)]


def _name(name: str, at: list[float], unit_pt: float) -> Label:
    return Label(name, (at[0], at[1] - 1.6 * _NAME_PT / unit_pt), _NAME_PT, INK, False, "center", f"name {name}")


def _ghost(live: Live, start: Live) -> Iterator[Item]:
    """What has moved, where it was: the belt's line, and every rim and outline that is another now."""
    if live.layout is start.layout:
        return
    if start.plan is not None:
        yield Stroke(_closed(outline(start.plan.route.loop)), _GHOST, "ghost belt")
    for name, pulley in start.layout.pulleys.items():
        if name in start.centres and live.layout.pulleys[name] != pulley:
            rim = circle(start.centres[name], pulley.rim_radius_mm(start.layout.belt))
            metal = pulley.mounted.outline_mm
            rings = [rim, *([np.array(metal)] if metal else [])]
            yield from (Shape((ring,), pen=_GHOST, name=f"ghost {name}") for ring in rings)
    for old, new in zip(start.layout.obstacles, live.layout.obstacles, strict=True):
        if old != new:
            yield Shape((obstacle_outline(old),), pen=_GHOST, name=f"ghost {old.name}")


def _without_belt(drawn: Seen, view: View, edges: Point) -> Iterator[Item]:
    """The last sound belt pale, the order of the pulleys as a dashed line, and over it what stands in the way."""
    live, layout = drawn.live, drawn.live.layout
    if drawn.sound is not None:
        yield Stroke(_closed(outline(drawn.sound.route.loop)), _PALE_BELT, "last belt")
    marks = marks_of(path_findings(live.faults))
    yield from seen(unlaid_items(layout, live.faults, marks, view, edges, also=EVERYWHERE), view.back)
    order = [live.centres[name] for name in (*layout.route, layout.route[0])]
    yield Stroke(np.array(order), _ORDER, "order")


def _closed(ring: np.ndarray) -> np.ndarray:
    return np.concatenate((ring, ring[:1]))


def limits_of(live: Live) -> tuple[float, float, float, float]:
    """The box that the window shows, mm: left, right, bottom, top; room to move things in round all there is."""
    layout = live.layout
    discs = [(*at, layout.pulleys[name].rim_radius_mm(layout.belt)) for name, at in live.centres.items()]
    discs += [(x, y, 0.0) for ring in strokes.fixed_outlines(layout) for x, y in ring.tolist()]
    left, bottom, right, top = box_round_discs(np.array(discs))
    room = 0.18 * max(right - left, top - bottom)
    return left - room, right + room, bottom - room, top + room
