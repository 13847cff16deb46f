"""The right of the window: verdict, belt, adjuster, a row of bars for each pulley, findings, and what the hand does."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from beltplan.checks.plan import OnBelt, Plan
from beltplan.drag.bench import Hand
from beltplan.drag.live import Live, cured_in, key_of, new_in
from beltplan.picture.page import MARK_PT, Page, Paragraph, column, height_pt, mark_items, marks_of
from beltplan.picture.routing import belt_words, path_words, title_words
from beltplan.picture.scene import (
    ADJUSTER,
    BELT_RIBS,
    INK,
    METAL,
    METAL_EDGE,
    PROBLEM,
    SOFT_INK,
    WRAP,
    Item,
    Label,
    Pen,
    Shape,
    Stroke,
    rectangle,
)
from beltplan.report.findings_text import in_units_of
from beltplan.report.words import PICTURE_SAFETY

_TEXT_PT, _SMALL_PT = 9.0, 8.0
_ROW_PT = 16.0
_MOST_WRAP_DEG, _MOST_SLIP = 270.0, 1.3
_WRAP_SHARE, _SLIP_SHARE, _BAR_SHARE = 0.29, 0.69, 0.16
"""Of the panel's width: where the bars of wrap begin, where those of slip, and how wide both are."""
_FRAME = Pen(METAL_EDGE, 0.6)
_LIMIT = Pen(PROBLEM, 1.6)
_MOST_REASONS = 3
_MARK_ROOM_PT = MARK_PT + 4.0


def panel_items(live: Live, start: Live, hand: Hand, size_pt: tuple[float, float]) -> list[Item]:
    """The panel in points from its lower left corner. size_pt: its width and height."""
    page = Page(0.0, size_pt[1], size_pt[0], 1.0)
    page.text(*_head(live, hand))
    if live.plan is not None:
        page.skip(6.0)
        page.items += _adjuster(page, live.plan)
        page.items += _bars(page, live.plan, live.at_rest)
    _findings(page, live, start, room_pt=_foot_pt(hand, size_pt[0]))
    foot = Page(0.0, _foot_pt(hand, size_pt[0]), size_pt[0], 1.0)
    foot.rule()
    foot.text(*_foot(hand))
    return [*page.items, *foot.items]


def _head(live: Live, hand: Hand) -> tuple[Paragraph, ...]:
    title = Paragraph(title_words(live.layout), 13.0, INK, True, name="title")
    fault = (Paragraph(hand.fault, _TEXT_PT, PROBLEM, True, 2.0, "fault"),) if hand.fault else ()
    if live.plan is None:
        told = tuple(
            Paragraph(f"{fault.got}; wanted: {fault.allowed}", _TEXT_PT, PROBLEM, False, 4.0, "why")
            for fault in live.faults[:3]
        )
        return title, *fault, Paragraph("no belt path", 12.0, PROBLEM, True, 2.0, "verdict"), *told
    verdict = live.plan.verdict if live.at_rest else f"{live.plan.verdict} (slip not yet)"
    return (
        title,
        *fault,
        Paragraph(verdict, 11.0, PROBLEM if live.plan.count("problem") else INK, True, 2.0, "verdict"),
        Paragraph(belt_words(live.plan.route), _TEXT_PT, INK, before_pt=2.0, name="belt"),
        Paragraph(path_words(live.plan.route), _TEXT_PT, SOFT_INK, name="path"),
    )


def _adjuster(page: Page, plan: Plan) -> Iterator[Item]:
    """The usable travel as a bar from the short stop to the long one, the stock lengths as ticks on it."""
    route = plan.route
    if route.travel is None or route.position is None:
        return
    left, width, y = page.left + 4.0, page.width_pt - 8.0, page.y - 22.0
    yield Label("short stop", (left, y - 13.0), _SMALL_PT, SOFT_INK, name="stop")
    yield Label("long stop", (left + width, y - 13.0), _SMALL_PT, SOFT_INK, align="right", name="stop")
    yield Shape((rectangle((left, y, left + width, y + 7.0)),), METAL, _FRAME, name="travel")
    for fitted in route.stock:
        x = left + width * (fitted.position or 0.0)
        pen = Pen(BELT_RIBS, 2.4 if fitted is route.judged else 1.0)
        yield Stroke(np.array([(x, y - 2.0), (x, y + 10.0)]), pen, f"belt {fitted.designation}")
    x = left + width * min(max(route.position, 0.0), 1.0)
    yield Shape((np.array([(x - 4.0, y + 15.0), (x + 4.0, y + 15.0), (x, y + 9.0)]),), ADJUSTER, name="adjuster")
    yield Label(f"{100.0 * route.position:.0f} %", (x + 6.0, y + 10.0), _SMALL_PT, ADJUSTER, True, name="position")
    page.skip(42.0)


def _bars(page: Page, plan: Plan, at_rest: bool) -> Iterator[Item]:
    """A row a pulley: its name, its wrap against the least, and its wet slip use against 1."""
    wrap_x, slip_x = page.left + _WRAP_SHARE * page.width_pt, page.left + _SLIP_SHARE * page.width_pt
    yield Label("wrap, deg (minimum)", (wrap_x, page.y - 9.0), _SMALL_PT, SOFT_INK, name="head")
    yield Label("wet grip (1 slips)", (slip_x, page.y - 9.0), _SMALL_PT, SOFT_INK, name="head")
    page.skip(13.0)
    slips = {slip.pulley: slip.wet.utilisation for slip in plan.slip}
    for row in plan.pulleys:
        yield from _row(page, row, wrap_x)
        if row.name in slips:
            yield from _bar(page, slip_x, slips[row.name] / _MOST_SLIP, 1.0 / _MOST_SLIP, f"{slips[row.name]:.2f}")
        elif not at_rest and row.pulley.load is not None:
            yield Label("...", (slip_x, page.y - 11.0), _SMALL_PT, SOFT_INK, name="slip later")
        page.skip(_ROW_PT)
    page.skip(4.0)


def _row(page: Page, row: OnBelt, wrap_x: float) -> Iterator[Item]:
    name = row.name if len(row.name) <= 20 else row.name[:19] + "\N{HORIZONTAL ELLIPSIS}"
    yield Label(name, (page.left, page.y - 11.0), _SMALL_PT, INK, name=f"row {row.name}")
    least = "" if row.minimum_deg is None else f" ({row.minimum_deg:.0f})"
    limit = None if row.minimum_deg is None else row.minimum_deg / _MOST_WRAP_DEG
    yield from _bar(page, wrap_x, row.wrap_deg / _MOST_WRAP_DEG, limit, f"{row.wrap_deg:.1f}{least}", lower=True)


def _bar(page: Page, x: float, share: float, limit: float | None, words: str, lower: bool = False) -> Iterator[Item]:
    """A bar with its limit as a stroke and its number behind it; red and outlined where it is beyond."""
    width, y = _BAR_SHARE * page.width_pt, page.y - 12.0
    beyond = limit is not None and ((share < limit) if lower else (share >= limit))
    box = (x, y, x + width * float(np.clip(share, 0.0, 1.0)), y + 8.0)
    yield Shape((rectangle(box),), PROBLEM if beyond else WRAP, Pen(INK, 0.8) if beyond else None, name="bar")
    if limit is not None:
        at = x + width * limit
        yield Stroke(np.array([(at, y - 2.0), (at, y + 10.0)]), _LIMIT, "limit")
    yield Label(words, (x + width + 6.0, y + 1.0), _SMALL_PT, PROBLEM if beyond else INK, beyond, name="number")


def _findings(page: Page, live: Live, start: Live, room_pt: float) -> None:
    """Problems and cautions, worst first, the new ones told as such, then what was cured; as many as have room."""
    told = in_units_of(live.layout, [each for each in live.findings if each.severity != "note"])
    fresh, marks = new_in(live, start), {id(mark.finding): mark for mark in marks_of(told)}
    rows = [(marks[id(each)], f"{'NEW  ' if key_of(each) in fresh else ''}{each.about}") for each in told]
    cured = [(None, f"CURED  {each.about}") for each in in_units_of(start.layout, cured_in(live, start))]
    width_pt = page.width_pt - _MARK_ROOM_PT
    page.rule()
    for count, (mark, words) in enumerate([*rows, *cured]):
        paragraph = Paragraph(words, _TEXT_PT, INK if mark else SOFT_INK, name="finding" if mark else "cured")
        tall = max(height_pt((paragraph,), width_pt), MARK_PT)
        if page.y - tall < room_pt + 2.0 * _TEXT_PT:
            left = len(rows) + len(cured) - count
            page.text(Paragraph(f"and {left} more: beltplan check tells all", _TEXT_PT, SOFT_INK))
            return
        page.items += [] if mark is None else mark_items(mark, (0.5 * MARK_PT, page.y - 0.5 * MARK_PT), 1.0)
        page.items += column((paragraph,), _MARK_ROOM_PT, page.y, width_pt, 1.0)
        page.skip(tall + 2.0)


def _foot(hand: Hand) -> tuple[Paragraph, ...]:
    told = (hand.readout, hand.message, f"{hand.snap}   ? tells the keys")
    lines = tuple(Paragraph(words, _TEXT_PT, INK, before_pt=2.0, name="hand") for words in told if words)
    return *lines, Paragraph(PICTURE_SAFETY, _SMALL_PT, INK, True, 3.0, "caution")


def _foot_pt(hand: Hand, width_pt: float) -> float:
    return height_pt(_foot(hand), width_pt) + 6.0
