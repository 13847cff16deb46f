"""The routing of a slip picture: belt and pulleys in outline, hub loads as arrows, strand frequencies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.belts.route import Route
from beltplan.geometry.outline import outline
from beltplan.geometry.vectors import Floats
from beltplan.plots.adjuster_strokes import items_before, items_behind
from beltplan.plots.blocks import Block, Line
from beltplan.plots.hub_loads import REST_SHAFT_PT, HubLoad, arrow_items
from beltplan.plots.lettering import wrapped
from beltplan.plots.marks import Mark, marks_at
from beltplan.plots.palette import BELT_LINE, BELT_RIBS, DRIVER_RIM, FORCE, INK, METAL, PULLEY_LINE, SOFT_INK
from beltplan.plots.placing import Anchor, Ground
from beltplan.plots.pulley_strokes import contact_angles
from beltplan.plots.routing_ground import ground_of, outer_radius_mm
from beltplan.plots.scene import Item, Shape, Stroke, arrow_head, circle
from beltplan.plots.writer import Writer
from beltplan.tension.operation import Operation
from beltplan.tension.tones import tones_Hz

NAME_PT, TEXT_PT, NAME_WIDTH_PT = 10.5, 9.0, 140.0
TRAVEL_PT = 9.0
STRAND_SHARES = (0.5, 0.38, 0.62, 0.26, 0.74)


def loaded_routing_items(
    operation: Operation, loads: tuple[HubLoad, ...], per_N: float, marks: tuple[Mark, ...], unit_pt: float,
    edges: tuple[float, float],
) -> list[Item]:  # fmt: skip
    """The drawing with its labels, back to front. per_N: points of arrow a newton; edges: for labels, mm."""
    route = operation.route
    arrows = [arrow_items(load, route.loop.centre[load.index], per_N, unit_pt) for load in loads]
    writer = Writer(_with_arrows(ground_of(bare_route(route), unit_pt, edges), loads, per_N, unit_pt), unit_pt)
    for load in sorted(loads, key=lambda load: -float(route.circuit.rim[load.index])):
        _write_load(writer, route, load, marks, unit_pt)
    _write_frequencies(writer, operation, marks)
    return [*outlined_items(route, unit_pt), *(item for both in arrows for item in both), *writer.items]


def bare_route(route: Route) -> Route:
    """The route without what this drawing leaves out: obstacles and pulleys that are not on the belt."""
    pulleys = {pulley.name: pulley for pulley in route.pulleys}
    return replace(route, layout=replace(route.layout, obstacles=(), pulleys=pulleys))


def outlined_items(route: Route, unit_pt: float) -> list[Item]:
    """Pulleys, arm and belt, drawn lightly."""
    rims: list[Item] = [
        Shape((circle(centre, float(rim)),), METAL, DRIVER_RIM if pulley.drives else PULLEY_LINE, name="rim")
        for pulley, centre, rim in zip(route.pulleys, route.loop.centre, route.circuit.rim, strict=True)
    ]
    hubs: list[Item] = [Shape((circle(centre, 2.6 / unit_pt),), INK) for centre in route.loop.centre]
    path = outline(route.loop)
    arm = [item for item in items_behind(route) if item.name == "arm"]
    pivot = [item for item in items_before(route, unit_pt) if item.name == "pivot"]
    belt = Stroke(np.concatenate((path, path[:1])), BELT_LINE, "belt")
    return [*arm, *rims, *pivot, belt, *hubs, *_travel(route, unit_pt)]


def _travel(route: Route, unit_pt: float) -> list[Item]:
    loop, length = route.loop, TRAVEL_PT / unit_pt
    tips = loop.start + 0.5 * (loop.span + length)[:, None] * loop.direction
    return [
        Shape((arrow_head(tip, along, length),), BELT_RIBS, name="travel")
        for tip, along, span in zip(tips, loop.direction, loop.span, strict=True)
        if span > 2.0 * length
    ]


def _with_arrows(ground: Ground, loads: tuple[HubLoad, ...], per_N: float, unit_pt: float) -> Ground:
    tail = np.repeat(ground.centre[[load.index for load in loads]], 2, axis=0)
    along = np.concatenate([(load.stopped_N, load.running_N) for load in loads]) * per_N / unit_pt
    half = np.full(len(tail), 0.75 * REST_SHAFT_PT / unit_pt)
    return replace(
        ground,
        start=np.concatenate((ground.start, tail)),
        end=np.concatenate((ground.end, tail + along)),
        half=np.concatenate((ground.half, half)),
        soft=np.zeros((0, 3)),
    )


def _write_load(writer: Writer, route: Route, load: HubLoad, marks: tuple[Mark, ...], unit_pt: float) -> None:
    names = wrapped(load.pulley, NAME_WIDTH_PT, NAME_PT, True)
    when = "every speed" if load.steady else f"{load.rpm:.0f} rpm"
    lines = (
        *(Line(text, NAME_PT, INK, True, f"name {load.pulley}") for text in names),
        Line(f"{_size(load.running_N)} at {when}", TEXT_PT, FORCE, True, f"running {load.pulley}"),
        Line(f"{_size(load.stopped_N)} stopped", TEXT_PT, SOFT_INK, name=f"stopped {load.pulley}"),
    )
    block = Block(lines, marks_at(marks, load.pulley), f"mark {load.pulley}")
    first, sweep = contact_angles(route, load.index)
    x, y = (float(value) for value in route.loop.centre[load.index])
    writer.beside(block, (Anchor((x, y), outer_radius_mm(route, load.index, unit_pt), first + 0.5 * sweep),))


def _size(load: Floats) -> str:
    return f"{np.hypot(load[0], load[1]):.0f} N"


def _write_frequencies(writer: Writer, operation: Operation, marks: tuple[Mark, ...]) -> None:
    route, loop = operation.route, operation.route.loop
    for i, hertz in enumerate(tones_Hz(operation)):
        if hertz is None:
            continue
        name = " to ".join(pulley.name for pulley in route.strands[i])
        line = Line(f"{hertz:.0f} Hz", TEXT_PT, BELT_RIBS, True, f"frequency {name}")
        points = loop.start[i] + np.outer(STRAND_SHARES, loop.end[i] - loop.start[i])
        out = loop.direction[i] * route.circuit.turning
        toward, half = float(np.arctan2(-out[0], out[1])), float(writer.ground.half[i])
        anchors = tuple(Anchor((float(x), float(y)), half, toward) for x, y in points)
        writer.beside(Block((line,), marks_at(marks, name), f"mark {name}"), anchors)
