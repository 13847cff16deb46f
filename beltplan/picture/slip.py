"""The slip picture: grip used as dots and curves, hub loads as arrows on the routing, tones, findings, caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.checks.belt import SLACK_SIDE, TAKE_UP
from beltplan.checks.plan import HubLoad, Plan, SetTension, Slip
from beltplan.checks.resonance import RESONANCE
from beltplan.checks.slip import SLIP, SLIP_ON_REVS, used_words
from beltplan.checks.tension import HUB_LOAD, HUB_MOMENT, SPAN_TENSION, SPRING
from beltplan.drive.layout import Units
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.operation import WANTED_USE, Operation, WorstPoint
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.loops import outline
from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.picture import page, pens
from beltplan.picture.chart import Row, RowChart, line_of
from beltplan.picture.labels import Anchor, Line, name_lines
from beltplan.picture.legend import line_symbol, mark_entries, scale_bar
from beltplan.picture.pens import Pen
from beltplan.picture.routing import PartWriter, belt_words, edges_of, keep_out_of, scale_pt, verdict_block
from beltplan.picture.scene import Item, Point, Scene, Shape, Stroke, View, arrow_head, broad_arrow, circle
from beltplan.picture.strokes import Drawn, arm_items, contact_middle_rad, items_before
from beltplan.report.answer import in_units_of, title_words
from beltplan.report.screen import in_units, length_text
from beltplan.report.words import SLIP_SAFETY

_LONGEST_PT = 115.0
_SHAFT_PT, _HEAD_PT = 2.4, 10.0
_REST_SHAFT_PT, _REST_HEAD_PT = 8.0, 13.0
_SCALE_N = (500.0, 1000.0, 200.0, 2000.0, 100.0, 5000.0, 50.0, 10000.0, 20.0, 10.0)
_SHORTEST_BAR_PT, _LONGEST_BAR_PT = 28.0, 80.0


def points_per_N(loads: tuple[HubLoad, ...]) -> float:
    """Length of an arrow on paper for one newton: the greatest load gets the longest arrow."""
    return _LONGEST_PT / max(1.0, *(float(np.hypot(*load)) for hub in loads for load in (hub.stopped_N, hub.running_N)))


def _at_rest(tail: Floats, along: Floats, name: str = "") -> Shape:
    ring = broad_arrow(tail, along, _REST_SHAFT_PT, _REST_HEAD_PT)
    return Shape((ring,), pens.FORCE_AT_REST, pens.FORCE_AT_REST_EDGE, name=name)


def _worst(tail: Floats, along: Floats, name: str = "") -> Shape:
    return Shape((broad_arrow(tail, along, _SHAFT_PT, _HEAD_PT),), pens.FORCE, pens.FORCE_HALO, name=name)


def _force_entries(per_N: float, units: Units) -> list[page.Entry]:
    fitting = [newton for newton in _SCALE_N if _SHORTEST_BAR_PT <= newton * per_N <= _LONGEST_BAR_PT]
    newton = fitting[0] if fitting else 0.4 * _LONGEST_PT / per_N
    long, short = np.array((newton * per_N, 0.0)), np.array((30.0, 0.0))
    words = in_units(f"hub load, highest in running: this long is {newton:.4g} N", units)
    return [
        page.Entry(words, lambda at: [_worst(at - 0.5 * long, long, "force scale")], newton * per_N),
        page.Entry("hub load, engine stopped", lambda at: [_at_rest(at - 0.5 * short, short)]),
    ]


# The routing of a slip picture: belt and pulleys in outline, hub loads as arrows.

_NAME_PT, _TEXT_PT, _NAME_WIDTH_PT = 10.5, 9.0, 140.0
_TRAVEL_PT = 9.0


def _loaded_routing_items(plan: Plan, drawn: Drawn, marks: tuple[page.Mark, ...], edges: Point) -> list[Item]:
    loads, per_N = plan.hubs, points_per_N(plan.hubs)
    hubs = drawn.loop.centre
    arrows: list[Item] = []
    for load in loads:
        arrows.append(_at_rest(hubs[load.index], load.stopped_N * per_N, f"stopped {load.pulley}"))
        arrows.append(_worst(hubs[load.index], load.running_N * per_N, f"running {load.pulley}"))
    tails = np.repeat(hubs[[load.index for load in loads]], 2, axis=0)
    along = np.concatenate([(load.stopped_N, load.running_N) for load in loads]) * per_N
    clear = keep_out_of(drawn, edges).with_strips(np.stack((tails, tails + along), axis=1), 0.75 * _REST_SHAFT_PT)
    writer = PartWriter(clear, drawn.view, marks, {})
    for load in sorted(loads, key=lambda load: -float(drawn.rim[load.index])):
        _write_load(writer, drawn, load, plan.layout.units)
    writer.free_spans(drawn.route.circuit, drawn.loop)
    return [*_outlined_items(drawn), *arrows, *writer.items]


def _outlined_items(drawn: Drawn) -> list[Item]:
    loop = drawn.loop
    rims: list[Item] = [
        Shape((circle(centre, rim),), pens.METAL, pens.DRIVER_RIM if p.drives else pens.PULLEY_LINE, name="rim")
        for p, centre, rim in zip(drawn.route.pulleys, loop.centre, drawn.rim.tolist(), strict=True)
    ]
    hubs: list[Item] = [Shape((circle(centre, 2.6),), pens.INK) for centre in loop.centre]
    path, tips = outline(loop), loop.start + 0.5 * (loop.span + _TRAVEL_PT)[:, None] * loop.direction
    adjuster = drawn.route.circuit.adjuster
    arm = arm_items(adjuster, drawn.moving_at, drawn.view)
    pivot = [item for item in items_before(adjuster, drawn.view) if item.name == "pivot"]
    belt = Stroke(np.concatenate((path, path[:1])), pens.BELT_LINE, "belt")
    travel = [
        Shape((arrow_head(tip, along, _TRAVEL_PT),), pens.BELT_RIBS, name="travel")
        for tip, along, span in zip(tips, loop.direction, loop.span, strict=True)
        if span > 2.0 * _TRAVEL_PT
    ]
    return [*arm, *rims, *pivot, belt, *hubs, *travel]


def _write_load(writer: PartWriter, drawn: Drawn, load: HubLoad, units: Units) -> None:
    most, running, stopped = (
        in_units(f"{newton:.0f} N", units)
        for newton in (load.high_N, np.hypot(*load.running_N), np.hypot(*load.stopped_N))
    )
    when = "every speed" if load.steady else f"{load.rpm:.0f} rpm"
    lines = (
        *name_lines(load.pulley, _NAME_PT, _NAME_WIDTH_PT),
        Line(f"up to {most}", _TEXT_PT, pens.FORCE, True, f"most {load.pulley}"),
        Line(f"{running} at {when}", _TEXT_PT, pens.FORCE, name=f"running {load.pulley}"),
        Line(f"{stopped} stopped", _TEXT_PT, pens.SOFT_INK, name=f"stopped {load.pulley}"),
    )
    anchor = Anchor(drawn.loop.centre[load.index], drawn.reach(load.index), contact_middle_rad(drawn.loop, load.index))
    writer.beside(writer.block(load.pulley, lines), anchor)


# The whole sheet: head, dots, curves, hub loads on the routing, tones, legend, findings, caution.

_LABEL_ROOM_PT = 130.0
_TALLEST_PT = 340.0
_CHECKS = (
    *(SLIP.name, SLIP_ON_REVS.name, TAKE_UP.name, SLACK_SIDE.name, RESONANCE.name),
    *(SPAN_TENSION.name, HUB_LOAD.name, HUB_MOMENT.name, SPRING.name),
)
"""Whose findings stand on this sheet."""
_FRONT = "Seen from the front."
_MUST_HOLD = "Bold: what its bracket must hold, the spring at its strongest or the belt new."
_SLACK_LEFT_OUT = " Where a span is slack the pulls are unknown and left out."


def slip_scene(plan: Plan) -> Scene:
    # Obstacles, and pulleys that are not on the belt, are left out.
    held = replace(plan.layout, obstacles=(), pulleys={pulley.name: pulley for pulley in plan.route.pulleys})
    bare = replace(plan.route, layout=held)
    view = View(scale_pt(Drawn(bare).box, page.INSIDE_PT - 2.0 * _LABEL_ROOM_PT, _TALLEST_PT))
    drawn = Drawn(bare, view)
    findings = in_units_of(plan.layout, plan.findings)
    marks = tuple(mark for mark in page.marks_of(findings) if mark.finding.check in _CHECKS)
    entries = [*_force_entries(points_per_N(plan.hubs), plan.layout.units), *_curve_entries(plan), *mark_entries(marks)]
    blocks: list[page.Block] = [
        verdict_block(plan.verdict, plan.findings),
        page.Paragraph(belt_words(plan.route), 10.5, pens.SOFT_INK, before_pt=2.0, name="belt"),
        *([] if plan.tension is None else [_small(_tension_words(plan, plan.tension), "tension")]),
        page.Rule(6.0),
        *_grip_blocks(plan, marks),
        page.Rule(6.0),
        _heading("What pulls on each hub, and so on its bracket"),
        page.Paragraph(
            f"{_FRONT} {_MUST_HOLD}{_SLACK_LEFT_OUT if plan.goes_slack else ''}", 9.0, pens.SOFT_INK, name="about"
        ),
        page.figure(_loaded_routing_items(plan, drawn, marks, edges_of(drawn.box)), drawn.box),
        *_tones(plan),
        *page.legend([scale_bar(view.pt_per_mm, plan.layout.units), *entries]),
        page.Rule(0.0, 4.0),
        *page.findings_blocks(tuple(finding for finding in findings if finding.check in _CHECKS), marks),
        *([_small("Numbers as in the picture of the routing.", "numbers")] if marks else []),
        page.Paragraph(SLIP_SAFETY, 10.0, pens.INK, True, 5.0, "caution"),
    ]
    about = f"Slip and hub loads. {plan.verdict}. {belt_words(plan.route)}."
    return page.page_of(title_words(plan.layout), blocks, about, view.pt_per_mm)


def _heading(words: str) -> page.Paragraph:
    return page.Paragraph(words, 12.0, pens.INK, True, 8.0, "heading")


def _small(words: str, name: str) -> page.Paragraph:
    return page.Paragraph(words, 9.5, pens.SOFT_INK, before_pt=2.0, name=name)


def _tension_words(plan: Plan, tension: SetTension) -> str:
    words = f"Tension, engine stopped: {tension.each_N:.0f} N in every span"
    words += "" if tension.rib_N is None else f" ({tension.rib_N:.0f} N a rib)"
    if tension.band_N is not None:
        low, high = tension.band_N
        arm = "arm" if plan.adjuster is not None and plan.adjuster.is_arm else "slide"
        words += f"; {low:.0f} to {high:.0f} N with {100 * tension.friction[0]:.0f} % friction in the {arm}"
    elif tension.end is not None:
        words += f"; the tensioner {END_WORDS[tension.end[0]]}: the spring does not set it"
    elif tension.source is not None:
        words += f"; not given, so taken ({tension.source})"
    return in_units(words, plan.layout.units)


def _grip_blocks(plan: Plan, marks: tuple[page.Mark, ...]) -> list[page.Block]:
    rows = slip_rows(plan)
    if not rows or plan.operation is None:
        return [page.Paragraph("No pulley has a load: slip is not judged.", 10.0, pens.INK, True, 6.0, "no load")]
    near, top = curved(rows), top_of(plan.operation, rows)
    words = f"Grip used over the engine's speed, rpm, of what uses more than {_CURVED:g} when wet"
    several = "The worst duty at each speed; thin lines: each duty. " if len(plan.operation.duties) > 1 else ""
    over = "A triangle: a curve goes on over the top. " if any(beyond(row, top) for row in near) else ""
    steady = any(row.revving is not None for row in rows)
    revving = "Steady running only; what revving uses is written at its pulley." if steady else ""
    return [
        _heading("How near each pulley is to slipping"),
        page.Paragraph(_dot_words(plan, any(beyond(row, top) for row in rows)), 9.0, pens.SOFT_INK, name="about"),
        slip_dots(plan.operation, rows, marks),
        _heading(words) if near else _small(f"No pulley uses more than {_CURVED:g} of its grip: no curves.", "about"),
        *([page.Paragraph(f"{several}{over}{revving}", 9.0, pens.SOFT_INK, name="about")] if near else []),
        *slip_curves(plan.operation, rows),
    ]


def _dot_words(plan: Plan, over: bool) -> str:
    assumed = ", ".join(pulley.name for pulley in plan.route.pulleys if pulley.usual_load is not None)
    usual = f" Loads of {assumed} are assumed: the usual ones." if assumed else ""
    further = " A triangle: it lies further out, as its figure says." if over else ""
    power = f"Most power taken by the driver: {plan.power_kW:.1f} kW."
    return f"The worst of each, in steady running.{further} {power}{usual}"


def _tones(plan: Plan) -> list[page.Block]:
    known = [span for span in plan.spans if span.hertz is not None]
    units = plan.layout.units
    rows = tuple((f"{s.start} to {s.end}", length_text(s.length_mm, 0, units), f"{s.hertz:.0f}") for s in known)
    head = ("tone of a plucked span, engine stopped", f"free length, {units}", "Hz")
    table = page.Table(head, rows, (0.5, 0.16, 0.1), frozenset((1, 2)), names=("tone head", "tone", "tone"))
    return [table, page.Gap(6.0)] if rows else []


def _curve_entries(plan: Plan) -> list[page.Entry]:
    rows, operation = slip_rows(plan), plan.operation
    words = {"dry": "dry", "wet": "wet", "design": "design friction"}
    dots = [page.Entry(f"{words[condition]}, worst", _dot_symbol(condition), 12.0) for condition in CONDITIONS if rows]
    near = curved(rows)
    lines = [("wet", pens.WET), ("dry", pens.DRY), ("design friction", pens.DESIGN)] if near else []
    if near and operation is not None and len(operation.duties) > 1:
        lines += [("each duty, wet", pens.OTHER_WET), ("each duty, dry", pens.OTHER_DRY)]
    return [*dots, *(page.Entry(told, line_symbol(pen)) for told, pen in lines)]


def _dot_symbol(condition: Condition) -> page.Symbol:
    """A dot as matplotlib draws its marker: round, square, or a square on its corner."""
    _, fill, edge, size = DOTS[condition]
    corners, reach, turn = {
        "wet": (40, 0.5, 0.0), "dry": (4, np.sqrt(0.5), 0.25 * np.pi), "design": (4, np.sqrt(0.5), 0.0),
    }[condition]  # fmt: skip
    ring = reach * size * from_angle(turn + np.arange(corners) * TURN / corners)
    return lambda at: [Shape((at + ring,), fill, Pen(edge, 1.0), name="legend dot")]


# Grip used as charts: every pulley as a row of dots on one scale, and curves over speed of those that come near.

_LOWEST_TOP, _HIGHEST_TOP = 1.25, 2.5
"""The charts reach over the limit always, and never so far that what matters is squeezed flat."""
_OVER = 1.08
_CURVED = 0.5
"""A pulley that uses more of its grip when wet has its curves drawn."""
_PLOT_PT, _ACROSS = 150.0, 3
_APART = 0.16
"""Speeds nearer to idle or maximum than this share of the range are not written."""


def slip_rows(plan: Plan) -> tuple[Slip, ...]:
    chirping = {finding.subject for finding in plan.findings if finding.check == SLIP_ON_REVS.name}
    return tuple(row if row.pulley in chirping else replace(row, revving=None) for row in plan.slip)


def curves_of(operation: Operation, row: Slip) -> list[tuple[Condition, str, Floats]]:
    """Condition, duty and grip used at every speed, infinite where a span is slack; no duty: the worst of all."""
    curves: list[tuple[Condition, str, Floats]] = []
    for condition, own in zip(CONDITIONS, operation.utilisation[:, :, :, row.index], strict=True):
        duties = zip(operation.duties, own, strict=True) if len(operation.duties) > 1 and condition != "design" else ()
        curves += [(condition, duty, used) for duty, used in (*duties, ("", own.max(axis=0)))]
    return curves


def top_of(operation: Operation, rows: Sequence[Slip]) -> float:
    """Highest use that all charts show: over all finite values, within bounds."""
    every = operation.utilisation[..., [row.index for row in rows]]
    highest = _OVER * float(every[np.isfinite(every)].max(initial=0.0))
    return _HIGHEST_TOP if np.isinf(every).any() else min(max(highest, _LOWEST_TOP), _HIGHEST_TOP)


def beyond(row: Slip, top: float) -> tuple[WorstPoint, ...]:
    """The worst points of a pulley that lie over the top of its chart; a slack span has none."""
    return tuple(point for point in row.points if top < point.utilisation < np.inf)


def curved(rows: Sequence[Slip]) -> list[Slip]:
    return [row for row in rows if row.wet.utilisation > _CURVED]


# The dots: the worst of every pulley in each condition, on one scale.

DOTS: dict[Condition, tuple[str, str, str, float]] = {
    "dry": ("s", pens.PAPER, pens.INK, 5.5),
    "wet": ("o", pens.WRAP, pens.PAPER, 8.0),
    "design": ("D", pens.PAPER, pens.SOFT_INK, 5.0),
}
"""Marker, fill, edge and size of a dot, by condition: told apart by shape."""


def slip_dots(operation: Operation, rows: Sequence[Slip], marks: tuple[page.Mark, ...]) -> page.Block:
    """A row of dots a pulley, the nearest to slipping first; figures beside them."""
    several = len(operation.duties) > 1
    order = sorted(rows, key=lambda row: -row.wet.utilisation)
    top = top_of(operation, rows)

    def draw(axes: Any) -> None:
        axes.set_xlim(0.0, top)
        axes.set_xlabel(f"grip used: 1 slips; over {WANTED_USE:g} (dashed) comes near it")
        _bands(axes, upright=True)
        for i, row in enumerate(order):
            for point in row.points:
                _dot(axes, point, i, top)

    heads = ("wet", "at", "dry", "design", *(("worst duty",) if several else ()))
    told = [_row(row, operation, marks) for row in order]
    return RowChart(told, heads, draw, 150.0, (36.0, 62.0, 36.0, 46.0, *((126.0,) if several else ())), "slip")


def _row(row: Slip, operation: Operation, marks: tuple[page.Mark, ...]) -> Row:
    dry, wet, design = (used_words(p.utilisation) for p in row.points)
    slips = tuple(mark for mark in page.marks_at(marks, row.pulley) if mark.finding.check.startswith("slip"))
    duty = (operation.duties[row.wet.duty],) if len(operation.duties) > 1 else ()
    return Row(row.pulley, (wet, f"{row.wet.rpm:.0f} rpm", dry, design, *duty), slips, row.wet.utilisation >= 1.0)


def _dot(axes: Any, point: WorstPoint, row: int, top: float) -> None:
    marker, fill, edge, size = DOTS[point.condition]
    over = point.utilisation > top
    style = {"marker": ">" if over else marker, "markersize": size, "zorder": 5 if point.condition == "wet" else 4}
    colour = pens.WRAP if point.condition == "wet" else edge
    face = {"markerfacecolor": colour if over else fill, "markeredgecolor": colour if over else edge}
    axes.plot([min(point.utilisation, top)], [row], clip_on=False, gid=f"dot {point.condition}", **style, **face)


def _bands(axes: Any, upright: bool) -> None:
    span, line = (axes.axvspan, axes.axvline) if upright else (axes.axhspan, axes.axhline)
    span(1.0, 100.0, color=pens.SLIPS, zorder=0)
    span(WANTED_USE, 1.0, color=pens.LITTLE_IN_HAND, zorder=0)
    line(1.0, **line_of(pens.LIMIT))
    line(WANTED_USE, **line_of(pens.LOW_LIMIT))


# The curves over the engine's speed.

PENS: dict[tuple[str, bool], Pen] = {
    ("dry", True): pens.DRY,
    ("wet", True): pens.WET,
    ("design", True): pens.DESIGN,
    ("dry", False): pens.OTHER_DRY,
    ("wet", False): pens.OTHER_WET,
}
"""By condition, and whether the curve is the worst of all duties."""


def slip_curves(operation: Operation, rows: Sequence[Slip]) -> list[page.Block]:
    """Charts of the pulleys that come near, all to the same axes."""
    shown, top = curved(rows), top_of(operation, rows)
    blocks: list[page.Block] = []
    for first in range(0, len(shown), _ACROSS):
        own = shown[first : first + _ACROSS]
        over = [tuple(_header(row, top)) for row in own]
        charts = [(_chart(row, operation, top),) for row in own]
        blocks += [page.Gap(6.0), *(page.Beside(tuple(each), 10.0, _ACROSS) for each in (over, charts))]
    return blocks


def _chart(row: Slip, operation: Operation, top: float) -> page.Block:
    def draw(axes: Any) -> None:
        _bands(axes, upright=False)
        _speeds(axes, operation)
        axes.set_ylim(0.0, top)
        axes.set_yticks([0.0, 0.5, WANTED_USE, *np.arange(1.0, top + 1e-9, 0.5)])
        for condition, duty, used in curves_of(operation, row):
            pen = PENS[condition, duty == ""]
            # Infinite where a span is slack: drawn as far over the top as shows where that begins.
            shown = np.minimum(used, 10.0 * top)
            axes.plot(operation.driver_rpm, shown, gid=f"{condition} {duty}".strip(), **line_of(pen))
        for point in beyond(row, top):
            colour = PENS[point.condition, True].colour
            axes.plot([point.rpm], [top], "^", color=colour, markersize=7.0, clip_on=False, gid="over")

    return page.Panel(draw, _PLOT_PT, (30.0, 34.0, 14.0, 8.0), f"chart {row.pulley}")


def _speeds(axes: Any, operation: Operation) -> None:
    low, most = float(operation.driver_rpm[0]), float(operation.driver_rpm[-1])
    axes.set_xlim(low, max(most, low + 1.0))
    speeds = operation.route.layout.engine.speeds_rpm
    for rpm in speeds.values():
        axes.axvline(rpm, zorder=1, **line_of(pens.SPEED_LINE))
    apart = _APART * max(most - low, 1.0)
    told = {word: rpm for word, rpm in speeds.items() if word != "cruise" or low + apart < rpm < most - apart}
    axes.set_xticks(list(told.values()), [f"{word}\n{rpm:.0f}" for word, rpm in told.items()])


def _header(row: Slip, top: float) -> list[page.Paragraph]:
    told = [f"{point.condition} {used_words(point.utilisation)} (over the top)" for point in beyond(row, top)]
    if not np.isfinite(row.wet.utilisation):
        told = [f"a span is slack from {row.wet.rpm:.0f} rpm"]
    if row.revving is not None:
        used = used_words(row.revving.utilisation)
        told.append(f"revving: wet {used} at {row.revving.rpm:.0f} rpm")
    name = page.Paragraph(row.pulley, 10.5, pens.INK, True, name=f"panel {row.pulley}")
    return [name, *(page.Paragraph(words, 9.0, pens.WRAP, True, name=f"worst {row.pulley}") for words in told)]
