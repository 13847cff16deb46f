"""What the window shows: at the left the drive in hand, over the ghost of the start, or why there is no belt path; at
the right verdict, belt, adjuster, a row of bars for each pulley, findings, and what the hand does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.limits import new_in
from beltplan.checks.plan import OnBelt, Plan
from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drag.bench import Bench
from beltplan.drag.live import Live, cured_in
from beltplan.drive.fit import setting_words
from beltplan.drive.route import Route
from beltplan.geometry.loops import outline
from beltplan.picture import pens, scene, strokes
from beltplan.picture.framing import EVERYWHERE, obstacle_outline
from beltplan.picture.page import MARK_PT, Block, Gap, Laid, Led, Paragraph, Rule, led_by, marks_of, stacked
from beltplan.picture.pens import Pen
from beltplan.picture.routing import Wanted, bare_items, belt_words, drawing_items, path_words
from beltplan.picture.scene import Align, Box, Item, Label, Point, Shape, Stroke, View
from beltplan.picture.unlaid import path_findings, unlaid_items
from beltplan.report.answer import in_units_of, title_words
from beltplan.report.screen import in_units
from beltplan.report.words import PICTURE_SAFETY

_GHOST = Pen(pens.SOFT_INK, 0.8, (2.0, 2.0))
_PALE_BELT = Pen("#c9d8e6", 3.0)
_ORDER = Pen(pens.PROBLEM, 1.2, (6.0, 4.0))


def drawn_items(bench: Bench, unit_pt: float, edges_mm: Point) -> list[Item]:
    """The left, in mm of the layout, back to front. unit_pt: points for a mm; edges_mm: left and right of all."""
    view, edges = View(unit_pt), (edges_mm[0] * unit_pt, edges_mm[1] * unit_pt)
    under: list[Item] = [] if bench.map is None else [bench.map]
    ghost = list(_ghost(bench.live, bench.start))
    under += ghost
    plan, layout = bench.live.plan, bench.live.layout
    if plan is None:
        return [*under, *_without_belt(bench, view, edges)]
    route = plan.route
    if bench.setting is not None and (loop := route.circuit.loop_at(bench.setting)).exists:
        # Held somewhere on its travel, the belt is as long as it then has to be.
        route = replace(route, setting=bench.setting, loop=loop, length_mm=float(loop.length))
    if bench.setting is not None or not bench.live.at_rest:
        return [*under, *_moving(route, view)]
    marks = marks_of(in_units_of(layout, plan.findings))
    was_there = tuple(view.at(each.rings[0]) for each in ghost if isinstance(each, Shape))
    shown = drawing_items(strokes.Drawn(plan.route, view, EVERYWHERE), Wanted(edges, marks, kept_clear=was_there))
    return [*under, *scene.seen(shown, view.back)]


def _moving(route: Route, view: View) -> list[Item]:
    under = route.loop.centre - (0.0, 1.6 * _TEXT_PT / view.pt_per_mm)
    return [
        *scene.seen(bare_items(strokes.Drawn(route, view, EVERYWHERE)), view.back),
        *(
            Label(each.name, (x, y), _TEXT_PT, pens.INK, False, "center", f"name {each.name}")
            for each, (x, y) in zip(route.pulleys, under.tolist(), strict=True)
        ),
    ]


def _ghost(live: Live, start: Live) -> Iterator[Item]:
    """What has moved, where it was: the belt's line, and every rim and outline that is another now."""
    if live.layout is start.layout:
        return
    if start.plan is not None:
        yield Stroke(_closed(outline(start.plan.route.loop)), _GHOST, "ghost belt")
    for name, pulley in start.layout.pulleys.items():
        if name in start.centres and live.layout.pulleys[name] != pulley:
            rim = scene.circle(start.centres[name], pulley.rim_radius_mm(start.layout.belt))
            metal = pulley.mounted.outline_mm
            rings = [rim, *([np.array(metal)] if metal else [])]
            yield from (Shape((ring,), pen=_GHOST, name=f"ghost {name}") for ring in rings)
    for old, new in zip(start.layout.obstacles, live.layout.obstacles, strict=True):
        if old != new:
            yield Shape((obstacle_outline(old),), pen=_GHOST, name=f"ghost {old.name}")


def _without_belt(bench: Bench, view: View, edges: Point) -> Iterator[Item]:
    """The last sound belt pale, the order of the pulleys as a dashed line, and over it what stands in the way."""
    live, layout = bench.live, bench.live.layout
    if bench.sound is not None:
        yield Stroke(_closed(outline(bench.sound.route.loop)), _PALE_BELT, "last belt")
    marks = marks_of(path_findings(live.faults))
    yield from scene.seen(unlaid_items(layout, live.faults, marks, view, edges, also=EVERYWHERE), view.back)
    order = [live.centres[name] for name in (*layout.route, layout.route[0])]
    yield Stroke(np.array(order), _ORDER, "order")


def _closed(ring: np.ndarray) -> np.ndarray:
    return np.concatenate((ring, ring[:1]))


def limits_of(live: Live) -> Box:
    """The box that the window shows, mm: room to move things in round all there is."""
    layout = live.layout
    discs = [(*at, layout.pulleys[name].rim_radius_mm(layout.belt)) for name, at in live.centres.items()]
    left, bottom, right, top = whole = scene.box_round_discs(np.array(discs), *strokes.fixed_outlines(layout))
    return scene.grown(whole, 0.18 * max(right - left, top - bottom))


# The panel.

_TEXT_PT, _SMALL_PT = 9.0, 8.0
_ROW_PT = 16.0
_MOST_WRAP_DEG, _MOST_SLIP = 270.0, 1.3
_WRAP_SHARE, _SLIP_SHARE, _BAR_SHARE = 0.29, 0.69, 0.16
"""Of the panel's width: where the bars of wrap begin, where those of slip, and how wide both are."""
_FRAME = Pen(pens.METAL_EDGE, 0.6)
_LIMIT = Pen(pens.PROBLEM, 1.6)
_MOST_REASONS = 3
_MARK_ROOM_PT = MARK_PT + 4.0


def panel_items(bench: Bench, size_pt: tuple[float, float]) -> list[Item]:
    """The right in points from its lower left corner. size_pt: its width and height."""
    live, (width, high) = bench.live, size_pt
    told: list[Block] = [*_head(live, bench.fault)]
    if live.plan is not None:
        told += [Gap(6.0), _Travel(live.plan), _Bars(live.plan, live.at_rest)]
    items, y = stacked(told, 0.0, high, width)
    said = (bench.readout, bench.message, f"{bench.snap_words}; ? tells the keys")
    foot: list[Block] = [
        Rule(),
        *(Paragraph(words, _TEXT_PT, pens.INK, before_pt=2.0, name="hand") for words in said if words),
        Paragraph(PICTURE_SAFETY, _SMALL_PT, pens.INK, True, 3.0, "caution"),
    ]
    low = -stacked(foot, 0.0, 0.0, width)[1] + 6.0
    return [*items, *_findings(live, bench.start, (y, low), width), *stacked(foot, 0.0, low, width)[0]]


def _head(live: Live, wrong: str) -> tuple[Paragraph, ...]:
    """wrong: with the file, where it was saved elsewhere."""
    title = Paragraph(title_words(live.layout), 13.0, pens.INK, True, name="title")
    fault = (Paragraph(wrong, _TEXT_PT, pens.PROBLEM, True, 2.0, "fault"),) if wrong else ()
    if live.plan is None:
        told = tuple(
            Paragraph(f"{fault.got}; wanted: {fault.allowed}", _TEXT_PT, pens.PROBLEM, False, 4.0, "why")
            for fault in live.faults[:_MOST_REASONS]
        )
        return title, *fault, Paragraph("no belt path", 12.0, pens.PROBLEM, True, 2.0, "verdict"), *told
    verdict = live.plan.verdict if live.at_rest else f"{live.plan.verdict} (slip not yet)"
    return (
        title,
        *fault,
        Paragraph(verdict, 11.0, pens.PROBLEM if live.plan.count("problem") else pens.INK, True, 2.0, "verdict"),
        Paragraph(belt_words(live.plan.route), _TEXT_PT, pens.INK, before_pt=2.0, name="belt"),
        Paragraph(path_words(live.plan, moving=not live.at_rest), _TEXT_PT, pens.SOFT_INK, name="path"),
    )


@dataclass(frozen=True, eq=False)
class _Travel:
    """The usable travel as a bar from the short stop to the long one, the stock lengths as ticks on it."""

    plan: Plan

    def laid(self, left: float, top: float, width: float) -> Laid:
        route = self.plan.route
        if route.travel is None or route.position is None:
            return [], top
        x0, x1, y = left + 4.0, left + width - 4.0, top - 22.0
        at = x0 + (x1 - x0) * min(max(route.position, 0.0), 1.0)
        place = scene.one_line(in_units(setting_words(route.circuit, route.setting or 0.0), self.plan.layout.units))
        align: Align = "left" if at < 0.5 * (x0 + x1) else "right"
        side = 1.0 if align == "left" else -1.0
        ticks = [(x0 + (x1 - x0) * (fitted.position or 0.0), fitted) for fitted in route.stock]
        items: list[Item] = [
            Label("short stop", (x0, y - 13.0), _SMALL_PT, pens.SOFT_INK, name="stop"),
            Label(AT_MEASURING, (0.5 * (x0 + x1), y - 13.0), _SMALL_PT, pens.SOFT_INK, align="center", name="tension"),
            Label("long stop", (x1, y - 13.0), _SMALL_PT, pens.SOFT_INK, align="right", name="stop"),
            Shape((scene.rectangle((x0, y, x1, y + 7.0)),), pens.METAL, _FRAME, name="travel"),
            *(
                Stroke(
                    np.array([(x, y - 2.0), (x, y + 10.0)]),
                    Pen(pens.BELT_RIBS, 2.4 if fitted is route.judged else 1.0),
                    f"belt {fitted.designation}",
                )
                for x, fitted in ticks
            ),
            Shape((scene.arrow_head((at, y + 9.0), np.array((0.0, -1.0)), 8.0),), pens.ADJUSTER, name="adjuster"),
            Label(place, (at + side * 6.0, y + 12.5), _SMALL_PT, pens.ADJUSTER, True, align, "position"),
        ]
        return items, top - 42.0


@dataclass(frozen=True, eq=False)
class _Bars:
    """A row a pulley: its name, its wrap against the least, and its wet grip utilisation against 1."""

    plan: Plan
    at_rest: bool

    def laid(self, left: float, top: float, width: float) -> Laid:
        wrap_x, slip_x, y = left + _WRAP_SHARE * width, left + _SLIP_SHARE * width, top - 13.0
        items: list[Item] = [
            Label("wrap, deg (minimum)", (wrap_x, top - 9.0), _SMALL_PT, pens.SOFT_INK, name="head"),
            Label("wet grip (1 slips)", (slip_x, top - 9.0), _SMALL_PT, pens.SOFT_INK, name="head"),
        ]
        slips = {slip.pulley: slip.wet.utilisation for slip in self.plan.slip}
        for row in self.plan.pulleys:
            items += _row(row, left, wrap_x, y, _BAR_SHARE * width)
            if (used := slips.get(row.name)) is not None:
                items += _bar((slip_x, y), _BAR_SHARE * width, used / _MOST_SLIP, 1.0 / _MOST_SLIP, f"{used:.2f}")
            elif not self.at_rest and row.pulley.load is not None:
                items.append(Label("...", (slip_x, y - 11.0), _SMALL_PT, pens.SOFT_INK, name="slip later"))
            y -= _ROW_PT
        return items, y - 4.0


def _row(row: OnBelt, left: float, wrap_x: float, y: float, width: float) -> Iterator[Item]:
    name = row.name if len(row.name) <= 20 else row.name[:19] + "\N{HORIZONTAL ELLIPSIS}"
    yield Label(name, (left, y - 11.0), _SMALL_PT, pens.INK, name=f"row {row.name}")
    words, limit = f"{row.wrap_deg:.1f} ({row.minimum_deg:.0f})", row.minimum_deg / _MOST_WRAP_DEG
    yield from _bar((wrap_x, y), width, row.wrap_deg / _MOST_WRAP_DEG, limit, words, lower=True)


def _bar(
    at: tuple[float, float], width: float, share: float, limit: float | None, words: str, lower: bool = False
) -> Iterator[Item]:
    """A bar with its limit as a stroke and its number behind it; red and outlined where it is beyond."""
    x, y = at[0], at[1] - 12.0
    beyond = limit is not None and ((share < limit) if lower else (share >= limit))
    box = (x, y, x + width * float(np.clip(share, 0.0, 1.0)), y + 8.0)
    fill, rim = (pens.PROBLEM, Pen(pens.INK, 0.8)) if beyond else (pens.WRAP, None)
    yield Shape((scene.rectangle(box),), fill, rim, name="bar")
    if limit is not None:
        edge = x + width * limit
        yield Stroke(np.array([(edge, y - 2.0), (edge, y + 10.0)]), _LIMIT, "limit")
    yield Label(
        words, (x + width + 6.0, y + 1.0), _SMALL_PT, pens.PROBLEM if beyond else pens.INK, beyond, name="number"
    )


def _findings(live: Live, start: Live, room: tuple[float, float], width: float) -> list[Item]:
    """Worst first, the new ones told as such, then what was cured; as many as have room, from height to height."""
    told = in_units_of(live.layout, [each for each in live.findings if each.severity != "note"])
    fresh = new_in(told, start.findings)
    rows = [(m, f"{'NEW  ' if m.finding in fresh else ''}{m.finding.about}") for m in marks_of(told)]
    cured = [(None, f"CURED  {each.about}") for each in in_units_of(start.layout, cured_in(live, start))]
    items, y = Rule().laid(0.0, room[0], width)
    for count, (mark, words) in enumerate([*rows, *cured]):
        text = Paragraph(words, _TEXT_PT, pens.INK if mark else pens.SOFT_INK, name="finding" if mark else "cured")
        own, end = Led(led_by(mark), (text, Gap(2.0)), _MARK_ROOM_PT).laid(0.0, y, width)
        if end < room[1] + 2.0 * _TEXT_PT:
            left = len(rows) + len(cured) - count
            more = Paragraph(f"and {left} more: beltplan check tells all", _TEXT_PT, pens.SOFT_INK)
            return [*items, *more.laid(0.0, y, width)[0]]
        items, y = [*items, *own], end
    return items
