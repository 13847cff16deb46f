"""The whole sheet of a belt routing: head, drawing, legend, findings, caution."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from beltplan.belts.designations import MM_PER_INCH, format_designation
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding
from beltplan.geometry.vectors import Floats
from beltplan.plots.adjuster_strokes import items_before, items_behind
from beltplan.plots.belt_strokes import belt_items
from beltplan.plots.findings_list import findings_height_pt, findings_items
from beltplan.plots.legend import legend_height_pt, legend_items, routing_entries
from beltplan.plots.marks import MARK_PT, Mark, mark_items, marks_of
from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.pulley_strokes import obstacle_items, obstacle_outline, pulley_items, spare_items
from beltplan.plots.routing_ground import soft_of
from beltplan.plots.routing_labels import label_items
from beltplan.plots.scene import Box, Item, Label, Scene
from beltplan.plots.sheet import Paragraph, column, extent, height_pt, rule

WIDTH_PT = 800.0
MARGIN_PT = 28.0
LABEL_ROOM_PT = 105.0
"""Kept free on either side of the geometry, for labels that stand outside it."""
TALLEST_PT = 500.0
"""Most height that the geometry takes."""
AIR_PT = 16.0
CAUTION = "Planning aid from the measurements given; engine off, battery disconnected, guards back on."
FRAME_NOTE = "Seen from the front, facing the pulleys: x right, y up. Drawn to scale."


def routing_scene(route: Route, findings: tuple[Finding, ...], verdict: str) -> Scene:
    """A belt routing with its findings as a scene in mm of the layout."""
    box = geometry_box(route)
    unit_pt = scale_pt(box)
    half = 0.5 * WIDTH_PT / unit_pt
    middle = 0.5 * (box[0] + box[2])
    inner = (middle - half + MARGIN_PT / unit_pt, middle + half - MARGIN_PT / unit_pt)
    marks = marks_of(findings)
    drawing = drawing_items(route, marks, unit_pt, inner)
    reach = extent(drawing, unit_pt)
    head, top = _head(route, verdict, inner[0], reach[3], unit_pt)
    head += _unplaced(marks, drawing, head, unit_pt)
    foot, bottom = _foot(route, findings, marks, inner[0], reach[1], unit_pt)
    frame = (middle - half, bottom - MARGIN_PT / unit_pt, middle + half, top + MARGIN_PT / unit_pt)
    return Scene(frame, unit_pt, tuple(drawing + head + foot))


def drawing_items(
    route: Route,
    marks: tuple[Mark, ...],
    unit_pt: float,
    edges: tuple[float, float],
    kept_clear: tuple[Floats, ...] = (),
    signs: Mapping[str, str] = MappingProxyType({}),
) -> list[Item]:
    """The drawing itself with its labels, back to front. edges, kept_clear, signs: as in `label_items`."""
    layout = route.layout
    return [
        *(item for obstacle in layout.obstacles for item in obstacle_items(obstacle)),
        *items_behind(route),
        *(item for pulley in layout.unrouted for item in spare_items(pulley, layout.belt, unit_pt)),
        *(item for index in range(len(route.pulleys)) for item in pulley_items(route, index, unit_pt)),
        *items_before(route, unit_pt),
        *belt_items(route, unit_pt),
        *label_items(route, marks, unit_pt, edges, kept_clear, signs),
    ]


def geometry_box(route: Route) -> Box:
    """The box round all pulleys (at both stops too), the belt and the obstacles, mm."""
    reach = route.layout.belt.profile.thickness_mm
    discs = [np.column_stack((route.loop.centre, route.circuit.rim + reach)), soft_of(route)]
    spare = [(*p.at_mm, p.rim_radius_mm(route.layout.belt)) for p in route.layout.unrouted if p.at_mm is not None]
    every = np.concatenate((*discs, np.array(spare, dtype=float).reshape(-1, 3)))
    corners = [every[:, :2] - every[:, 2:], every[:, :2] + every[:, 2:]]
    points = np.concatenate([*corners, *(obstacle_outline(o) for o in route.layout.obstacles)])
    return _box(points)


def _box(points: Floats) -> Box:
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return (float(x0), float(y0), float(x1), float(y1))


def scale_pt(box: Box) -> float:
    """Points on paper for one mm, so that the geometry and the labels beside it fit the sheet."""
    wide = WIDTH_PT - 2.0 * (MARGIN_PT + LABEL_ROOM_PT)
    return min(wide / (box[2] - box[0]), TALLEST_PT / (box[3] - box[1]))


def belt_words(route: Route) -> str:
    """The belt that is drawn: designation, length in mm and inches, and how it comes to be the one."""
    line = route.layout.belt.profile.line_name
    length = f"{round(route.length_mm, 1):.10g} mm ({route.length_mm / MM_PER_INCH:.2f} in)"
    if route.designation is None:
        return f"Belt {format_designation(route.layout.belt)}: no stock length fits; drawn with {length} {line} length"
    words = f"Belt {route.designation}: {length} {line} length"
    if not route.named_outside:
        return words
    return words + (
        "; it does not fit" if route.travel is None else "; it does not fit, drawn at the nearer end of the travel"
    )


def path_words(route: Route) -> str:
    """The path that the drive offers."""
    if route.travel is not None:
        return f"Path {route.travel.shortest_mm:.1f} to {route.travel.longest_mm:.1f} mm over the adjuster's travel"
    return "" if route.needed_mm is None else f"Path {route.needed_mm:.1f} mm, no adjuster"


def _head(route: Route, verdict: str, left: float, low: float, unit_pt: float) -> tuple[list[Item], float]:
    variant = "" if route.layout.variant is None else f" - {route.layout.variant}"
    paragraphs = (
        Paragraph(route.layout.title + variant, 17.0, INK, True, name="title"),
        Paragraph(verdict, 12.0, INK, True, 2.0, "verdict"),
        Paragraph(belt_words(route), 10.5, SOFT_INK, before_pt=2.0, name="belt"),
        Paragraph(path_words(route), 10.5, SOFT_INK, name="path"),
    )
    width = WIDTH_PT - 2.0 * MARGIN_PT
    top = low + (height_pt(paragraphs, width) + AIR_PT) / unit_pt
    return [*column(paragraphs, left, top, width, unit_pt)], top


def _unplaced(marks: tuple[Mark, ...], drawing: list[Item], head: list[Item], unit_pt: float) -> list[Item]:
    # Findings on the belt as a whole have no place in the drawing: their marks stand after the belt's own line.
    placed = {item.text for item in drawing if isinstance(item, Label) and item.name.startswith("mark ")}
    loose = [mark for mark in marks if str(mark.number) not in placed]
    line = next(item for item in reversed(head) if isinstance(item, Label) and item.name == "belt")
    x, y = line.box(unit_pt)[2] + 0.7 * MARK_PT / unit_pt, line.at[1] + 0.36 * line.size_pt / unit_pt
    return [
        item
        for i, mark in enumerate(loose)
        for item in mark_items(mark, (x + i * MARK_PT / unit_pt, y), unit_pt, "mark belt")
    ]


def _foot(
    route: Route, findings: tuple[Finding, ...], marks: tuple[Mark, ...], left: float, high: float, unit_pt: float
) -> tuple[list[Item], float]:
    width = WIDTH_PT - 2.0 * MARGIN_PT
    y = high - AIR_PT / unit_pt
    items: list[Item] = [rule(left, y, width / unit_pt)]
    y -= 4.0 / unit_pt
    entries = routing_entries(route, marks, unit_pt)
    items += legend_items(entries, left, y, width, unit_pt)
    y -= (legend_height_pt(entries, width) + 4.0) / unit_pt
    items.append(rule(left, y, width / unit_pt))
    y -= 6.0 / unit_pt
    items += findings_items(findings, marks, left, y, width, unit_pt)
    y -= findings_height_pt(findings, marks, width) / unit_pt
    closing = (Paragraph(FRAME_NOTE, 9.0, SOFT_INK, before_pt=6.0), Paragraph(CAUTION, 10.0, INK, True, 2.0, "caution"))
    return [*items, *column(closing, left, y, width, unit_pt)], y - height_pt(closing, width) / unit_pt
