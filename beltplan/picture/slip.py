"""The slip picture: charts of grip used, hub loads as arrows on the routing, legend, findings, caution."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.checks.belt import SLACK_SIDE, TAKE_UP
from beltplan.checks.limits import Finding
from beltplan.checks.plan import HubLoad, Plan, SetTension
from beltplan.checks.tension import (
    HUB_LOAD,
    HUB_MOMENT,
    RESONANCE,
    SLIP,
    SLIP_ON_REVS,
    SPAN_TENSION,
    SPRING,
)
from beltplan.drive.route import Route
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.loops import outline
from beltplan.geometry.vectors import Floats
from beltplan.picture.labels import Anchor, Block, KeepOut, Line, Writer
from beltplan.picture.legend import line_symbol, mark_entries, scale_bar
from beltplan.picture.page import (
    INSIDE_PT,
    MARGIN_PT,
    WIDTH_PT,
    Entry,
    Mark,
    Page,
    Paragraph,
    edges_of,
    extent,
    marks_at,
    marks_of,
)
from beltplan.picture.painter import paint
from beltplan.picture.routing import belt_words, geometry_box, keep_out_of, outer_radius_mm, title_words
from beltplan.picture.scene import (
    BELT_LINE,
    BELT_RIBS,
    DESIGN,
    DRIVER_RIM,
    DRY,
    FORCE,
    FORCE_AT_REST,
    FORCE_AT_REST_EDGE,
    FORCE_HALO,
    INK,
    METAL,
    OTHER_DRY,
    OTHER_WET,
    PULLEY_LINE,
    SOFT_INK,
    WET,
    Item,
    Scene,
    Shape,
    Stroke,
    arrow_head,
    broad_arrow,
    circle,
    wrapped,
)
from beltplan.picture.slip_charts import SlipPanel, beyond, slip_charts, slip_panels, tick_step_rpm, top_of
from beltplan.picture.strokes import contact_angles, items_before, items_behind
from beltplan.report.findings_text import in_units_of
from beltplan.report.words import SLIP_SAFETY

_LONGEST_PT = 115.0
_SHAFT_PT, _HEAD_PT = 2.4, 10.0
_REST_SHAFT_PT, _REST_HEAD_PT = 8.0, 13.0
_SCALE_N = (500.0, 1000.0, 200.0, 2000.0, 100.0, 5000.0, 50.0, 10000.0, 20.0, 10.0)
_SHORTEST_BAR_PT, _LONGEST_BAR_PT = 28.0, 80.0


def points_per_N(loads: tuple[HubLoad, ...]) -> float:
    """Length of an arrow on paper for one newton: the greatest load gets the longest arrow."""
    return _LONGEST_PT / max(1.0, *(float(np.hypot(*load)) for hub in loads for load in (hub.stopped_N, hub.running_N)))


def _arrow_items(load: HubLoad, hub: Floats, per_N: float, unit_pt: float) -> list[Item]:
    """Both arrows of a hub: the broad pale one for the engine stopped under the slim dark one for the worst."""
    return [
        _at_rest(hub, load.stopped_N * per_N / unit_pt, unit_pt, f"stopped {load.pulley}"),
        _worst(hub, load.running_N * per_N / unit_pt, unit_pt, f"running {load.pulley}"),
    ]


def _at_rest(tail: Floats, along: Floats, unit_pt: float, name: str = "") -> Shape:
    ring = broad_arrow(tail, along, _REST_SHAFT_PT / unit_pt, _REST_HEAD_PT / unit_pt)
    return Shape((ring,), FORCE_AT_REST, FORCE_AT_REST_EDGE, name=name)


def _worst(tail: Floats, along: Floats, unit_pt: float, name: str = "") -> Shape:
    return Shape((broad_arrow(tail, along, _SHAFT_PT / unit_pt, _HEAD_PT / unit_pt),), FORCE, FORCE_HALO, name=name)


def _force_entries(per_N: float) -> list[Entry]:
    """The scale of the arrows, and what each kind stands for."""
    fitting = [newton for newton in _SCALE_N if _SHORTEST_BAR_PT <= newton * per_N <= _LONGEST_BAR_PT]
    newton = fitting[0] if fitting else 0.4 * _LONGEST_PT / per_N
    length = newton * per_N

    def slim(at: Floats, pt: float) -> list[Item]:
        along = np.array((length * pt, 0.0))
        return [_worst(at - 0.5 * along, along, 1.0 / pt, "force scale")]

    def broad(at: Floats, pt: float) -> list[Item]:
        along = np.array((30.0 * pt, 0.0))
        return [_at_rest(at - 0.5 * along, along, 1.0 / pt)]

    return [
        Entry(f"hub load, highest in running: this long is {newton:.4g} N", slim, length),
        Entry("hub load, engine stopped", broad),
    ]


# The routing of a slip picture: belt and pulleys in outline, hub loads as arrows, span frequencies.

_NAME_PT, _TEXT_PT, _NAME_WIDTH_PT = 10.5, 9.0, 140.0
_TRAVEL_PT = 9.0
_SPAN_SHARES = (0.5, 0.38, 0.62, 0.26, 0.74)


def _loaded_routing_items(
    plan: Plan, per_N: float, marks: tuple[Mark, ...], unit_pt: float, edges: tuple[float, float]
) -> list[Item]:
    """The drawing with its labels, back to front. per_N: points of arrow a newton; edges: for labels, mm."""
    route, loads = plan.route, plan.hubs
    arrows = [_arrow_items(load, route.loop.centre[load.index], per_N, unit_pt) for load in loads]
    writer = Writer(_with_arrows(keep_out_of(_bare_route(route), unit_pt, edges), loads, per_N, unit_pt), unit_pt)
    for load in sorted(loads, key=lambda load: -float(route.circuit.rim[load.index])):
        _write_load(writer, route, load, marks, unit_pt)
    _write_frequencies(writer, plan, marks)
    return [*_outlined_items(route, unit_pt), *(item for both in arrows for item in both), *writer.items]


def _bare_route(route: Route) -> Route:
    """The route without what this drawing leaves out: obstacles and pulleys that are not on the belt."""
    pulleys = {pulley.name: pulley for pulley in route.pulleys}
    return replace(route, layout=replace(route.layout, obstacles=(), pulleys=pulleys))


def _outlined_items(route: Route, unit_pt: float) -> list[Item]:
    """Pulleys, arm and belt, drawn lightly."""
    rims: list[Item] = [
        Shape((circle(centre, float(rim)),), METAL, DRIVER_RIM if pulley.drives else PULLEY_LINE, name="rim")
        for pulley, centre, rim in zip(route.pulleys, route.loop.centre, route.circuit.rim, strict=True)
    ]
    hubs: list[Item] = [Shape((circle(centre, 2.6 / unit_pt),), INK) for centre in route.loop.centre]
    path = outline(route.loop)
    arm = [item for item in items_behind(route) if item.name == "arm"]
    pivot = [item for item in items_before(route.circuit.adjuster, unit_pt) if item.name == "pivot"]
    belt = Stroke(np.concatenate((path, path[:1])), BELT_LINE, "belt")
    return [*arm, *rims, *pivot, belt, *hubs, *_travel(route, unit_pt)]


def _travel(route: Route, unit_pt: float) -> list[Item]:
    loop, length = route.loop, _TRAVEL_PT / unit_pt
    tips = loop.start + 0.5 * (loop.span + length)[:, None] * loop.direction
    return [
        Shape((arrow_head(tip, along, length),), BELT_RIBS, name="travel")
        for tip, along, span in zip(tips, loop.direction, loop.span, strict=True)
        if span > 2.0 * length
    ]


def _with_arrows(keep_out: KeepOut, loads: tuple[HubLoad, ...], per_N: float, unit_pt: float) -> KeepOut:
    tail = np.repeat(keep_out.centre[[load.index for load in loads]], 2, axis=0)
    along = np.concatenate([(load.stopped_N, load.running_N) for load in loads]) * per_N / unit_pt
    half = np.full(len(tail), 0.75 * _REST_SHAFT_PT / unit_pt)
    return replace(
        keep_out,
        start=np.concatenate((keep_out.start, tail)),
        end=np.concatenate((keep_out.end, tail + along)),
        half=np.concatenate((keep_out.half, half)),
        soft=np.zeros((0, 3)),
    )


def _write_load(writer: Writer, route: Route, load: HubLoad, marks: tuple[Mark, ...], unit_pt: float) -> None:
    names = wrapped(load.pulley, _NAME_WIDTH_PT, _NAME_PT, True)
    when = "every speed" if load.steady else f"{load.rpm:.0f} rpm"
    lines = (
        *(Line(text, _NAME_PT, INK, True, f"name {load.pulley}") for text in names),
        Line(f"{_size(load.running_N)} at {when}", _TEXT_PT, FORCE, True, f"running {load.pulley}"),
        Line(f"{_size(load.stopped_N)} stopped", _TEXT_PT, SOFT_INK, name=f"stopped {load.pulley}"),
    )
    block = Block(lines, marks_at(marks, load.pulley), f"mark {load.pulley}")
    first, sweep = contact_angles(route, load.index)
    x, y = (float(value) for value in route.loop.centre[load.index])
    writer.beside(block, (Anchor((x, y), outer_radius_mm(route, load.index, unit_pt), first + 0.5 * sweep),))


def _size(load: Floats) -> str:
    return f"{np.hypot(load[0], load[1]):.0f} N"


def _write_frequencies(writer: Writer, plan: Plan, marks: tuple[Mark, ...]) -> None:
    route, loop = plan.route, plan.route.loop
    for i, span in enumerate(plan.spans):
        if span.hertz is None:
            continue
        name = f"{span.start} to {span.end}"
        line = Line(f"{span.hertz:.0f} Hz", _TEXT_PT, BELT_RIBS, True, f"frequency {name}")
        points = loop.start[i] + np.outer(_SPAN_SHARES, loop.end[i] - loop.start[i])
        out = loop.direction[i] * route.circuit.turning
        toward, half = float(np.arctan2(-out[0], out[1])), float(writer.keep_out.half[i])
        anchors = tuple(Anchor((float(x), float(y)), half, toward) for x, y in points)
        writer.beside(Block((line,), marks_at(marks, name), f"mark {name}"), anchors)


# The whole sheet of a slip picture: head, charts of slip use, hub loads on the routing, legend, findings, caution.

_LABEL_ROOM_PT = 130.0
_TALLEST_PT = 340.0
_CHECKS = (
    *(SLIP.name, SLIP_ON_REVS.name, TAKE_UP.name, SLACK_SIDE.name, RESONANCE.name),
    *(SPAN_TENSION.name, HUB_LOAD.name, HUB_MOMENT.name, SPRING.name),
)
"""Whose findings stand on this sheet."""


def slip_scene(plan: Plan) -> Scene:
    """How near a drive is to slipping, and what pulls on its brackets, as a scene in mm of the layout."""
    box = geometry_box(_bare_route(plan.route))
    unit_pt = min((WIDTH_PT - 2.0 * (MARGIN_PT + _LABEL_ROOM_PT)) / (box[2] - box[0]), _TALLEST_PT / (box[3] - box[1]))
    edges, margin = edges_of(box, unit_pt), MARGIN_PT / unit_pt
    findings = in_units_of(plan.layout, plan.findings)
    marks = tuple(mark for mark in marks_of(findings) if mark.finding.check in _CHECKS)
    panels = slip_panels(plan)
    drawing = _loaded_routing_items(plan, points_per_N(plan.hubs), marks, unit_pt, edges)
    reach = extent(drawing, unit_pt)
    # Laid out at zero first, to know how high it is.
    high = _head(plan, panels, marks, Page(edges[0], 0.0, INSIDE_PT, unit_pt)).y
    top = reach[3] + 8.0 / unit_pt - high
    page = _head(plan, panels, marks, Page(edges[0], top, INSIDE_PT, unit_pt))
    head, page.items, page.y = page.items, [], reach[1] - 14.0 / unit_pt
    _foot(plan, panels, findings, marks, page)
    frame = (edges[0] - margin, page.y - margin, edges[1] + margin, top + margin)
    return Scene(frame, unit_pt, (*head, *drawing, *page.items))


def _head(plan: Plan, panels: tuple[SlipPanel, ...], marks: tuple[Mark, ...], page: Page) -> Page:
    """Everything over the drawing."""
    page.text(*_head_words(plan))
    page.skip(6.0)
    page.rule()
    page.text(*_chart_words(plan, panels))
    page.skip(8.0)
    if plan.operation is not None and panels:
        charts = slip_charts(plan.operation, panels, marks, page.left, page.y, INSIDE_PT, page.unit_pt)
        page.items += charts.items
        page.y = charts.bottom
    page.skip(2.0)
    page.rule()
    page.text(*_hub_words(plan))
    page.skip(6.0)
    return page


def _head_words(plan: Plan) -> tuple[Paragraph, ...]:
    told = () if plan.tension is None else (_tension_words(plan, plan.tension),)
    return (
        Paragraph(title_words(plan.layout), 17.0, INK, True, name="title"),
        Paragraph(plan.verdict, 12.0, INK, True, 2.0, "verdict"),
        Paragraph(belt_words(plan.route), 10.5, SOFT_INK, before_pt=2.0, name="belt"),
        *(Paragraph(words, 10.5, INK, before_pt=2.0, name="tension") for words in told),
    )


def _tension_words(plan: Plan, tension: SetTension) -> str:
    """The tension to set, engine stopped, with the band that the friction of a sprung arm leaves."""
    words = f"Tension, engine stopped: {tension.each_N:.0f} N in every span"
    words += "" if tension.rib_N is None else f" ({tension.rib_N:.0f} N a rib)"
    if tension.band_N is not None:
        low, high = tension.band_N
        arm = "arm" if plan.adjuster is not None and plan.adjuster.is_arm else "slide"
        words += f"; {low:.0f} to {high:.0f} N with {100 * tension.friction[0]:.0f} % friction in the {arm}"
    elif tension.end is not None:
        words += f"; the adjuster {END_WORDS[tension.end[0]]}: the spring does not set it"
    elif tension.source is not None:
        words += f"; not given, so taken ({tension.source})"
    return words


def _chart_words(plan: Plan, panels: tuple[SlipPanel, ...]) -> tuple[Paragraph, ...]:
    if not panels or plan.operation is None:
        return (Paragraph("No pulley has a load: slip is not judged.", 10.0, INK, True, 6.0, "no load"),)
    rpm = plan.operation.driver_rpm
    step = tick_step_rpm(float(rpm[0]), float(rpm[-1]))
    power = f"Most power taken by the driver: {plan.power_kW:.1f} kW."
    several = "The worst duty at each speed; thin lines: each duty. " if len(plan.operation.duties) > 1 else ""
    cut = any(beyond(panel, top_of(panels)) for panel in panels)
    over = " A triangle: a curve goes on over the top." if cut else ""
    assumed = ", ".join(pulley.name for pulley in plan.route.pulleys if pulley.usual_load is not None)
    usual = f" Loads of {assumed} are assumed: the usual ones." if assumed else ""
    steady = any(panel.revving is not None for panel in panels)
    revving = " The curves are steady running only; what revving uses is written at its pulley." if steady else ""
    about = (
        f"Grip used (1 slips), over the engine's speed in rpm (short ticks every {step:.0f}). {several}"
        f"The dot is the worst when wet.{over}{revving} {power}{usual}"
    )
    return (
        Paragraph("How near each pulley is to slipping", 12.0, INK, True, 8.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _hub_words(plan: Plan) -> tuple[Paragraph, ...]:
    about = "Seen from the front. Written at the spans: what they sound at when plucked, engine stopped."
    if plan.goes_slack:
        about += " Where a span is slack the pulls are unknown and left out."
    return (
        Paragraph("What pulls on each hub, and so on its bracket", 12.0, INK, True, 8.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _foot(
    plan: Plan, panels: tuple[SlipPanel, ...], findings: tuple[Finding, ...], marks: tuple[Mark, ...], page: Page
) -> None:
    page.rule()
    page.skip(4.0)
    forces, curves = _force_entries(points_per_N(plan.hubs)), _curve_entries(panels)
    page.legend([scale_bar(page.unit_pt, plan.route.layout.units), *forces, *curves, *mark_entries(marks)])
    page.skip(4.0)
    page.rule()
    page.skip(4.0)
    page.findings(tuple(finding for finding in findings if finding.check in _CHECKS), marks)
    numbers = (Paragraph("Numbers as in the picture of the routing.", 9.0, SOFT_INK, before_pt=3.0),) if marks else ()
    page.text(*numbers, Paragraph(SLIP_SAFETY, 10.0, INK, True, 5.0, "caution"))


def _curve_entries(panels: tuple[SlipPanel, ...]) -> list[Entry]:
    curves = (("wet", WET), ("dry", DRY), ("design friction", DESIGN)) if panels else ()
    several = panels and any(curve.duty for curve in panels[0].curves)
    duties = (("each duty, wet", OTHER_WET), ("each duty, dry", OTHER_DRY)) if several else ()
    return [Entry(words, line_symbol(pen)) for words, pen in (*curves, *duties)]


# Slip use over the speed range and hub loads as a picture file.


def draw_slip(plan: Plan, path: str) -> None:
    """Write the slip picture of a drive; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(slip_scene(plan), path)
