"""The picture of a belt that cannot be laid: the pulleys, as much of the belt as there is, and what is in its way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.drive.travel import Circuit, place_of
from beltplan.drive.way_round import PathFault, unsound
from beltplan.geometry.loops import Loop, arc_points
from beltplan.geometry.vectors import Floats
from beltplan.picture import page, pens, strokes
from beltplan.picture.framing import Outside, framed
from beltplan.picture.labels import KeepOut, areas_of
from beltplan.picture.legend import line_symbol, mark_entries, part_entries, scale_bar
from beltplan.picture.routing import PartWriter, closing_blocks, edges_of, scale_pt
from beltplan.picture.scene import Box, Item, Point, Scene, Stroke, View, box_round_discs, circle, seen_box
from beltplan.report.answer import in_units_of, title_words

_HALF_PT = 2.0
"""Half the width that labels leave to a line of the belt."""


def _discs(layout: Layout) -> Floats:
    """Centre and rim radius of every pulley that has a place, (n, 3) mm."""
    return np.array([(*place_of(pulley), pulley.rim_radius_mm(layout.belt)) for pulley in layout.placed])


def _framed(layout: Layout, also: Box | None = None) -> tuple[Layout, tuple[Outside, ...]]:
    routed = replace(layout, pulleys={each.name: each for each in layout.routed})
    return framed(layout, box_round_discs(_discs(routed)), also)


def unlaid_box(layout: Layout) -> Box:
    drawn, _ = _framed(layout)
    return box_round_discs(_discs(drawn), *strokes.fixed_outlines(drawn))


def path_findings(faults: tuple[PathFault, ...]) -> tuple[Finding, ...]:
    """Why there is no belt path, as problems that a picture can mark: each crossing one, in the order of the words."""
    told: list[tuple[str, str, tuple[str, ...]]] = []
    for fault in faults:
        told += [("route", each.words, (each.first, each.second)) for each in fault.crossings]
        if not fault.crossings:
            told.append((", ".join(fault.pulleys), f"{fault.got}; wanted: {fault.allowed}", fault.pulleys))
    return tuple(Finding("path", "problem", subject, words, "", parts=parts) for subject, words, parts in told)


def unlaid_items(
    layout: Layout,
    faults: tuple[PathFault, ...],
    marks: tuple[page.Mark, ...],
    view: View,
    edges: Point,
    signs: Mapping[str, str] = MappingProxyType({}),
    also: Box | None = None,
) -> list[Item]:
    """The drawing with its labels, back to front. marks, signs, edges, also: as for a routing."""
    circuit, path = unsound(layout)
    loop = strokes.on_paper(path, view)
    rim = view.pt_per_mm * circuit.rim
    box, (layout, outside) = seen_box(unlaid_box(layout), view), _framed(layout, also)
    writer = PartWriter(_keep_out(layout, loop, view, edges), view, marks, signs)
    middle = loop.centre.mean(axis=0)
    writer.points(layout)
    for pulley, centre, radius in zip(circuit.pulleys, loop.centre, rim.tolist(), strict=True):
        writer.pulley_apart(pulley, centre, radius, middle)
    writer.fixed(layout, middle)
    writer.free_spans(circuit, loop)
    writer.outside(outside, box)
    return [
        *strokes.obstacle_items(layout, view),
        *strokes.spare_items(layout, view),
        *strokes.arm_items(circuit.adjuster, loop.centre[circuit.moving or 0], view),
        # The largest first: none is hidden where they overlap.
        *(
            item
            for i in np.argsort(-rim)
            for item in strokes.disc_items(circuit.pulleys[i], loop.centre[i], float(rim[i]))
        ),
        *strokes.items_before(circuit.adjuster, view),
        *_belt_lines(circuit, loop, rim, faults),
        *writer.items,
    ]


def _belt_lines(circuit: Circuit, loop: Loop, rim: Floats, faults: tuple[PathFault, ...]) -> list[Stroke]:
    """The followed line: thick and dashed where it crosses, from centre to centre where there is no tangent.

    A pulley that overlaps another or is missed has such a line round it.
    """
    there, names = np.isfinite(loop.span), [pulley.name for pulley in circuit.pulleys]
    crossed = {part for fault in faults for each in fault.crossings for part in (each.first, each.second)}
    pen = {False: pens.UNLAID_LINE, True: pens.WRONG_LINE}
    ringed = {name for fault in faults if not fault.crossings for name in fault.pulleys}
    spans = [
        Stroke(np.stack((loop.start[i], loop.end[i])), pen[name in crossed], f"span {name}")
        if there[i]
        else Stroke(loop.centre[[i, (i + 1) % len(there)]], pens.MISSING_LINE, f"missing {name}")
        for i, name in enumerate(map(circuit.span_name, range(len(there))))
    ]
    arcs = [
        Stroke(arc_points(loop, i), pen[name in crossed], f"arc {name}")
        for i, name in enumerate(names)
        if there[i] and there[i - 1] and name not in ringed
    ]
    rings = [
        Stroke(circle(loop.centre[i], float(rim[i])), pens.WRONG_LINE, f"round {name}")
        for i, name in enumerate(names)
        if name in ringed
    ]
    return sorted([*spans, *arcs, *rings], key=lambda stroke: stroke.pen != pens.UNLAID_LINE)


def _keep_out(layout: Layout, loop: Loop, view: View, edges: Point) -> KeepOut:
    discs, n = _discs(layout), len(loop.span)
    ends = [(loop.start[i], loop.end[i]) if np.isfinite(loop.span[i]) else (loop.centre[i],) * 2 for i in range(n)]
    areas = areas_of(map(view.at, strokes.fixed_outlines(layout)))
    discs = np.column_stack((view.at(discs[:, :2]), view.pt_per_mm * discs[:, 2]))
    return KeepOut(discs, np.array(ends), np.full(n, _HALF_PT), *edges, areas)


def unlaid_entries(layout: Layout, faults: tuple[PathFault, ...]) -> list[page.Entry]:
    circuit, loop = unsound(layout)
    held = {stroke.pen for stroke in _belt_lines(circuit, loop, circuit.rim, faults)}
    told = {
        pens.UNLAID_LINE: "belt, as far as it can be laid",
        pens.WRONG_LINE: "crosses, overlaps or is missed",
        pens.MISSING_LINE: "no room for the belt",
    }
    entries = [page.Entry(words, line_symbol(pen)) for pen, words in told.items() if pen in held]
    return [*entries, *part_entries(_framed(layout)[0], page.Entry("travel of the adjuster", line_symbol(pens.TRAVEL)))]


def unlaid_scene(layout: Layout, faults: tuple[PathFault, ...], advice: str) -> Scene:
    findings = in_units_of(layout, path_findings(faults))
    box, marks = unlaid_box(layout), page.marks_of(findings)
    view = View(scale_pt(box))
    around = seen_box(box, view)
    blocks: list[page.Block] = [
        page.Paragraph("THE BELT CANNOT BE LAID", 12.0, pens.INK, True, 2.0, "verdict"),
        *([page.Paragraph(advice, 10.5, pens.SOFT_INK, before_pt=2.0, name="advice")] if advice else []),
        page.figure(unlaid_items(layout, faults, marks, view, edges_of(around)), around),
        *page.legend([scale_bar(view.pt_per_mm, layout.units), *unlaid_entries(layout, faults), *mark_entries(marks)]),
        page.Rule(),
        page.Gap(6.0),
        *page.findings_blocks(findings, marks),
        *closing_blocks(),
    ]
    return page.page_of(title_words(layout), blocks, f"The belt cannot be laid. {advice}", view.pt_per_mm)
