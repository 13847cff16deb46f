"""The whole sheet of a slip picture: head, charts of slip use, hub loads on the routing, legend, findings, caution."""

from __future__ import annotations

import numpy as np

from beltplan.belts.route import Route
from beltplan.belts.travel import END_WORDS
from beltplan.checks import adjuster, resonance, slip, strand_tension
from beltplan.checks.finding import Finding
from beltplan.geometry.vectors import Floats
from beltplan.plots.findings_list import findings_height_pt, findings_items
from beltplan.plots.hub_loads import HubLoad, force_entries, hub_loads, points_per_N
from beltplan.plots.legend import Entry, legend_height_pt, legend_items, mark_entries, scale_bar
from beltplan.plots.marks import Mark, marks_of
from beltplan.plots.palette import DESIGN, DRY, INK, OTHER_DRY, OTHER_WET, SOFT_INK, WET
from beltplan.plots.routing_scene import MARGIN_PT, WIDTH_PT, belt_words, geometry_box
from beltplan.plots.scene import Item, Pen, Scene, Stroke
from beltplan.plots.sheet import Paragraph, column, extent, height_pt, rule
from beltplan.plots.slip_charts import Charts, slip_charts, tick_step_rpm
from beltplan.plots.slip_curves import SlipPanel, beyond, slip_panels, top_of
from beltplan.plots.slip_routing import bare_route, loaded_routing_items
from beltplan.tension.mechanics import DAMPING, source_of
from beltplan.tension.operation import Operation, end_of_travel, spring_band_N
from beltplan.tension.strands import is_slack

INSIDE_PT = WIDTH_PT - 2.0 * MARGIN_PT
LABEL_ROOM_PT = 130.0
TALLEST_PT = 340.0
CHECKS = (
    *(slip.CHECK, slip.REV_CHECK, adjuster.CHECK, adjuster.SIDE_CHECK, resonance.CHECK),
    *(strand_tension.CHECK, strand_tension.HUB_CHECK, strand_tension.SPRING_CHECK),
)
"""Whose findings stand on this sheet."""
CAUTION = (
    "Friction varies by a factor of two with wear, water and dust. Brackets and bolts are for a qualified person. "
    "Keep clear of a sprung arm. A planning aid, never an approval; engine off, battery disconnected, guards back on."
)


def slip_scene(route: Route, findings: tuple[Finding, ...], operation: Operation, verdict: str) -> Scene:
    """How near a drive is to slipping, and what pulls on its brackets, as a scene in mm of the layout."""
    box = geometry_box(bare_route(route))
    unit_pt = min((WIDTH_PT - 2.0 * (MARGIN_PT + LABEL_ROOM_PT)) / (box[2] - box[0]), TALLEST_PT / (box[3] - box[1]))
    half, middle = 0.5 * WIDTH_PT / unit_pt, 0.5 * (box[0] + box[2])
    left, right = middle - half + MARGIN_PT / unit_pt, middle + half - MARGIN_PT / unit_pt
    marks = tuple(mark for mark in marks_of(findings) if mark.finding.check in CHECKS)
    loads, panels = hub_loads(operation), slip_panels(operation)
    drawing = loaded_routing_items(operation, loads, points_per_N(loads), marks, unit_pt, (left, right))
    reach = extent(drawing, unit_pt)
    head, top = _head(operation, panels, marks, verdict, left, reach[3] + 8.0 / unit_pt, unit_pt)
    foot, bottom = _foot(panels, loads, findings, marks, left, reach[1], unit_pt)
    frame = (middle - half, bottom - MARGIN_PT / unit_pt, middle + half, top + MARGIN_PT / unit_pt)
    return Scene(frame, unit_pt, tuple(head + drawing + foot))


def _head(
    operation: Operation, panels: tuple[SlipPanel, ...], marks: tuple[Mark, ...], verdict: str, left: float,
    low: float, unit_pt: float,
) -> tuple[list[Item], float]:  # fmt: skip
    """Everything over the drawing, standing on its upper edge: laid out at zero first, to know how high it is."""
    _, bottom = _head_from(operation, panels, marks, verdict, left, 0.0, unit_pt)
    items, _ = _head_from(operation, panels, marks, verdict, left, low - bottom, unit_pt)
    return items, low - bottom


def _head_from(
    operation: Operation, panels: tuple[SlipPanel, ...], marks: tuple[Mark, ...], verdict: str, left: float,
    top: float, unit_pt: float,
) -> tuple[list[Item], float]:  # fmt: skip
    pt = 1.0 / unit_pt
    words = _head_words(operation, verdict)
    y = top - (height_pt(words, INSIDE_PT) + 6.0) * pt
    above: list[Item] = [*column(words, left, top, INSIDE_PT, unit_pt), rule(left, y, INSIDE_PT * pt)]
    about = _chart_words(operation, panels)
    charts_top = y - (height_pt(about, INSIDE_PT) + 8.0) * pt
    charts = Charts((), (), charts_top)
    if panels:
        charts = slip_charts(operation, panels, marks, left, charts_top, INSIDE_PT, unit_pt)
    end = charts.bottom - 2.0 * pt
    hubs = _hub_words(operation)
    below = column(hubs, left, end, INSIDE_PT, unit_pt)
    above += [*column(about, left, y, INSIDE_PT, unit_pt), *charts.items, rule(left, end, INSIDE_PT * pt), *below]
    return above, end - (height_pt(hubs, INSIDE_PT) + 6.0) * pt


def _head_words(operation: Operation, verdict: str) -> tuple[Paragraph, ...]:
    route = operation.route
    variant = "" if route.layout.variant is None else f" - {route.layout.variant}"
    return (
        Paragraph(route.layout.title + variant, 17.0, INK, True, name="title"),
        Paragraph(verdict, 12.0, INK, True, 2.0, "verdict"),
        Paragraph(belt_words(route), 10.5, SOFT_INK, before_pt=2.0, name="belt"),
        Paragraph(tension_words(operation), 10.5, INK, before_pt=2.0, name="tension"),
    )


def tension_words(operation: Operation) -> str:
    """The tension to set, engine stopped, with the band that the friction of a sprung arm leaves."""
    belt, tension = operation.route.layout.belt, float(operation.stopped.total_N.mean())
    words = f"Tension, engine stopped: {tension:.0f} N in every strand"
    words += f" ({tension / belt.ribs:.0f} N a rib)" if belt.profile.is_ribbed else ""
    band, held = spring_band_N(operation, DAMPING), operation.route.circuit.adjuster
    if band is not None:
        arm = "arm" if held is not None and held.kind == "arm" else "slide"
        words += f"; {band[0]:.0f} to {band[1]:.0f} N with {100 * DAMPING:.0f} % friction in the {arm}"
    elif operation.stopped.at_stop and (end := end_of_travel(operation)) is not None:
        words += f"; the adjuster {END_WORDS[end[0]]}: the spring does not set it"
    elif held is not None and held.tension_N is None:
        words += f"; not given, so taken ({source_of(operation.route.layout.belt, 'hand_set_N')})"
    return words


def _chart_words(operation: Operation, panels: tuple[SlipPanel, ...]) -> tuple[Paragraph, ...]:
    if not panels:
        return (Paragraph("No pulley has a load: slip is not judged.", 10.0, INK, True, 6.0, "no load"),)
    step = tick_step_rpm(float(operation.driver_rpm[0]), float(operation.driver_rpm[-1]))
    power = f"Most power taken by the driver: {float(operation.driver_power_kW.max()):.1f} kW."
    several = "The worst duty at each speed; thin lines: each duty. " if len(operation.duties) > 1 else ""
    cut = any(beyond(panel, top_of(panels)) for panel in panels)
    over = " A triangle: a curve goes on over the top." if cut else ""
    about = (
        f"Share of the grip that is used, over the engine's speed in rpm (short ticks every {step:.0f}). {several}"
        f"The dot is the worst when wet.{over} {power}"
    )
    return (
        Paragraph("How near each pulley is to slipping", 12.0, INK, True, 8.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _hub_words(operation: Operation) -> tuple[Paragraph, ...]:
    about = "Seen from the front. Written at the strands: what they sound at when plucked, engine stopped."
    if is_slack(operation.running.tractive_N).any():
        about += " Where a strand is slack the pulls are unknown and left out."
    return (
        Paragraph("What pulls on each hub, and so on its bracket", 12.0, INK, True, 8.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _foot(
    panels: tuple[SlipPanel, ...], loads: tuple[HubLoad, ...], findings: tuple[Finding, ...],
    marks: tuple[Mark, ...], left: float, high: float, unit_pt: float,
) -> tuple[list[Item], float]:  # fmt: skip
    pt, about = 1.0 / unit_pt, tuple(finding for finding in findings if finding.check in CHECKS)
    entries = [scale_bar(unit_pt), *force_entries(points_per_N(loads)), *_curve_entries(panels), *mark_entries(marks)]
    y = high - 14.0 * pt
    items: list[Item] = [rule(left, y, INSIDE_PT * pt)]
    items += legend_items(entries, left, y - 4.0 * pt, INSIDE_PT, unit_pt)
    y -= (legend_height_pt(entries, INSIDE_PT) + 8.0) * pt
    items += [rule(left, y, INSIDE_PT * pt), *findings_items(about, marks, left, y - 4.0 * pt, INSIDE_PT, unit_pt)]
    y -= (findings_height_pt(about, marks, INSIDE_PT) + 4.0) * pt
    numbers = (Paragraph("Numbers as in the picture of the routing.", 9.0, SOFT_INK, before_pt=3.0),) if marks else ()
    closing = (*numbers, Paragraph(CAUTION, 10.0, INK, True, 5.0, "caution"))
    return [*items, *column(closing, left, y, INSIDE_PT, unit_pt)], y - height_pt(closing, INSIDE_PT) * pt


def _curve_entries(panels: tuple[SlipPanel, ...]) -> list[Entry]:
    if not panels:
        return []
    entries = [_curve("wet", WET), _curve("dry", DRY), _curve("cautious design friction", DESIGN)]
    several = any(curve.duty for curve in panels[0].curves)
    return entries + ([_curve("each duty, wet", OTHER_WET), _curve("each duty, dry", OTHER_DRY)] if several else [])


def _curve(words: str, pen: Pen) -> Entry:
    def line(at: Floats, pt: float) -> list[Item]:
        half = np.array((15.0 * pt, 0.0))
        return [Stroke(np.stack((at - half, at + half)), pen)]

    return Entry(words, line)
