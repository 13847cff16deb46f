"""The routing as a drawing that answers: a group for each pulley, span and obstacle, and the adjuster's settings."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import count, pairwise
from typing import Any
from xml.etree.ElementTree import Element, SubElement

import numpy as np

from beltplan.checks.comparison import Column, Comparison
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drive.fit import setting_words
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop, arc_points
from beltplan.geometry.vectors import Floats
from beltplan.page.elements import element, elements_of_length, lengths
from beltplan.page.svg import Canvas, Key, drawing, hatching
from beltplan.picture.page import INSIDE_PT, marks_of
from beltplan.picture.pens import ARM, BELT_RIBS, HAIRLINE, METAL_EDGE, SOFT_INK
from beltplan.picture.routing import Wanted, bare_items, edges_of, labels_of, scale_pt
from beltplan.picture.scene import Box, Item, View, box_round, extent, seen_box
from beltplan.picture.strokes import Drawn, on_paper
from beltplan.report.rows import compare_verdict
from beltplan.report.screen import in_units
from beltplan.report.words import letters, role_words

_NARROW = 2.4
"""On a narrow screen letters are drawn so much larger, and numbers stand for names."""
_AIR_PT = 6.0
_TOUCH_PT = 14.0
"""Width of what can be touched along a span."""
_OF_PART = ("rim", "grooves", "hub", "contact", "turning", "wrap", "name", "mark", "arc", "spare", "obstacle", "span")
_AT_ONE_SETTING = ("contact", "wrap", "arc", "span", "belt", "travel", "arm")
"""What holds for the judged belt only, and gives way while the slider stands elsewhere."""


def parts_of(plan: Plan) -> dict[str, tuple[str, str]]:
    """The id of every group, and what it is, by the name of its pulley, span or obstacle, in the order of travel."""
    spans = zip(plan.spans, count(1))
    return {
        **{row.name: (f"pulley-{n}", f"{n} {row.name}, {role_words(row.pulley.role)}")
           for n, row in enumerate(plan.pulleys, 1)},
        **{f"{span.start} to {span.end}": (f"span-{n}", f"span {span.start} to {span.end}") for span, n in spans},
        **{pulley.name: (f"spare-{n}", f"{pulley.name}, not on this belt")
           for n, pulley in enumerate(plan.layout.unrouted, 1)},
        **{each.name: (f"obstacle-{n}", f"obstacle {each.name}")
           for n, each in enumerate(plan.layout.obstacles, 1)},
    }  # fmt: skip


def routing_of(plan: Plan, settings: Sequence[Setting]) -> list[Element]:
    """The drawing, and what moves in it as data. Names stand beside the pulleys; where it is narrow, their numbers."""
    drawn, parts = Drawn(plan.route, View(scale_pt(Drawn(plan.route).box))), parts_of(plan)
    bare, names, numbers = _layers(drawn, plan)
    wide, narrow = extent([*bare, *names]), seen_box(extent(numbers), View(_NARROW))
    low = (min(wide[0], narrow[0]) - _BAND_PT, wide[1] - _BAND_PT)
    sheet = Canvas((*low, max(wide[2], narrow[2]) + _AIR_PT, wide[3] + _AIR_PT))
    grouped = partial(_groups, parts=parts, taken=set())
    layers = [
        hatching(METAL_EDGE),
        element("g", *_dimensions(drawn, sheet), class_="dimensions"),
        *grouped(sheet, bare),
        element("path", d="", fill="none", stroke=ARM.colour, stroke_width=ARM.width_pt, id="moved-arm"),
        element("path", d="", fill="none", stroke=BELT_RIBS, stroke_width=f"{sum(drawn.band):.1f}", id="moved"),
        element("g", *grouped(sheet, names), class_="names"),
        element("g", *grouped(Canvas(seen_box(sheet.frame, View(1.0 / _NARROW)), _NARROW), numbers), class_="numbers"),
    ]
    words = f"The routing, seen from the front: {'; '.join(words for _, words in parts.values())}"
    moving = None if plan.route.moving is None else plan.route.moving.name
    whole = drawing(
        sheet.size, words, *layers, role="group", id="routing", data_moving=moving, style=_room(sheet, narrow)
    )
    data = json.dumps([_moved(drawn, each, sheet) for each in settings]).replace("<", "\\u003c")
    return [whole, element("script", data, type="application/json", id="settings")]


def _layers(drawn: Drawn, plan: Plan) -> tuple[list[Item], list[Item], list[Item]]:
    marks, small = marks_of(plan.findings), Drawn(plan.route, View(drawn.view.pt_per_mm / _NARROW))
    wide = Wanted(edges_of(drawn.box), marks)
    narrow = Wanted(edges_of(small.box, INSIDE_PT / _NARROW), marks, signs=signs_of(plan.route))
    return bare_items(drawn), labels_of(drawn, wide).items, labels_of(small, narrow).items


def signs_of(*routes: Route) -> dict[str, str]:
    """What stands for each name where there is little room: numbers in the belt's travel, letters of all else."""
    pulleys = dict.fromkeys(pulley.name for route in routes for pulley in route.pulleys)
    more = (part for each in routes for part in (*each.layout.unrouted, *each.layout.obstacles, *each.layout.marks))
    others = dict.fromkeys(part.name for part in more)
    return {name: str(n) for n, name in enumerate(pulleys, 1)} | {name: letters(n) for n, name in enumerate(others)}


def _room(sheet: Canvas, narrow: Box) -> str:
    """How far the numbers of a narrow screen reach over and under the drawing, in % of its width."""
    _, bottom, _, top = sheet.frame
    over, under = (100.0 * max(reach, 0.0) / sheet.size[0] for reach in (narrow[3] - top, bottom - narrow[1]))
    return f"--over: {over:.1f}%; --under: {under:.1f}%"


def _groups(sheet: Canvas, items: list[Item], parts: dict[str, tuple[str, str]], taken: set[str]) -> Iterator[Element]:
    def key_of(name: str) -> Key:
        kind, _, rest = name.partition(" ")
        fleeting = kind in _AT_ONE_SETTING and name != "travel of the adjuster"
        return rest if kind in _OF_PART and rest in parts else None, "judged" if fleeting else ""

    for (name, kind), group in sheet.groups(items, key_of):
        group.set("class", kind if name is not None else f"rest {kind}".strip())
        if name is not None:
            _enter(group, name, *parts[name], taken)
        yield group


def _enter(group: Element, name: str, own_id: str, words: str, taken: set[str]) -> None:
    group.insert(0, element("title", words))
    group.set("data-part", name)
    group.set("data-kind", own_id.partition("-")[0])
    if own_id not in taken:
        taken.add(own_id)
        group.set("id", own_id)
        if own_id.startswith("span"):
            touched = {"d": group[1].get("d", ""), "class": "touch", "stroke-width": f"{_TOUCH_PT:g}"}
            SubElement(group, "path", touched)


# Dimensions: the place of every centre, along the left and the lower edge of the drawing, under all else.

_BAND_PT = 42.0
"""Left of the drawing and under it, for the figures."""
_BENT, _FIGURE = 36.0, 28.0
"""From the edge: where a line bends toward its figure, and where that stands."""
_APART_PT = 12.0
"""Between two figures."""


def _dimensions(drawn: Drawn, sheet: Canvas) -> Iterator[Element]:
    width, height = sheet.size
    centres, places, moving = sheet.laid(drawn.loop.centre), drawn.route.loop.centre, drawn.route.circuit.moving
    spread = zip(_spread(centres[:, 0], width), _spread(centres[:, 1], height), strict=True)
    rows = zip(centres.tolist(), spread, places.tolist(), strict=True)
    for index, ((x, y), (across, up), (x_mm, y_mm)) in enumerate(rows):
        down = _leader(f"M{x:.1f} {y:.1f}V{height - _BENT:.1f}L{across:.1f} {height - _FIGURE:.1f}")
        under = _figure(x_mm, f"translate({across + 3:.1f} {height - _FIGURE + 2:.1f}) rotate(-90)")
        aside = _leader(f"M{x:.1f} {y:.1f}H{_BENT:g}L{_FIGURE + 2:g} {up:.1f}")
        left = _figure(y_mm, f"translate({_FIGURE:g} {up + 3:.1f})")
        yield element("g", down, *under, aside, *left, class_="judged" if index == moving else None)


def _leader(d: str) -> Element:
    return element("path", d=d, fill="none", stroke=HAIRLINE.colour, stroke_width=0.7)


def _figure(mm: float, transform: str) -> list[Element]:
    figures, look = [text[:-3] for text in lengths(mm)], {"font_size": 8, "fill": SOFT_INK, "text_anchor": "end"}
    return elements_of_length("text", figures[0], figures[1], **look, transform=transform)


def _spread(at: Floats, most: float) -> list[float]:
    """The places of figures that want to stand at `at`, moved until none touches another."""
    order, placed = np.argsort(at), np.array(at, dtype=float)
    for one, other in pairwise(order):
        placed[other] = max(placed[other], placed[one] + _APART_PT)
    placed[order[-1]] = min(placed[order[-1]], most - _APART_PT)
    for other, one in pairwise(order[::-1]):
        placed[one] = min(placed[one], placed[other] - _APART_PT)
    return [float(each) for each in placed]


# Settings of the adjuster, laid beforehand: where the belt is then, what comes of it, and what a slider moves.

_COUNT = 21
_LARGEST_STEP_RAD = 0.5 * np.pi
"""Of an arc on the page: near half a turn, two ends and a radius no longer tell well which arc is meant."""


@dataclass(frozen=True, eq=False)
class Setting:
    """One setting. loop: the belt there. words: what it is and what comes of it, lengths in mm."""

    loop: Loop
    is_judged: bool
    words: str


def settings_of(route: Route) -> tuple[Setting, ...]:
    """From the short to the long end of the usable travel, the judged one among them; empty without an adjuster."""
    travel = route.travel
    if travel is None or route.setting is None or route.moving is None:
        return ()
    ends = float(travel.short), float(travel.long)
    every = np.unique([*np.linspace(*ends, _COUNT).tolist(), float(np.clip(route.setting, min(ends), max(ends)))])
    rising = every if ends[0] < ends[1] else every[::-1]
    judged = int(np.argmin(np.abs(rising - route.setting)))
    return tuple(_setting(route, at, number == judged) for number, at in enumerate(rising.tolist()))


def _setting(route: Route, at: float, is_judged: bool) -> Setting:
    loop, index, names = route.circuit.loop_at(at), route.circuit.moving or 0, [p.name for p in route.pulleys]
    near = [(index + step) % len(names) for step in (-1, 0, 1)]
    wraps = ", ".join(f"{names[i]} {np.degrees(loop.wrap[i]):.1f} deg" for i in dict.fromkeys(near))
    words = f"{names[index]} at {setting_words(route.circuit, at)}: path {float(loop.length):.1f} mm"
    return Setting(loop, is_judged, f"{words}; wrap {wraps}{f' (as judged, {AT_MEASURING})' if is_judged else ''}")


# What the slider moves, as data: at every setting the belt, each span and the arm as paths.


def _moved(drawn: Drawn, setting: Setting, sheet: Canvas) -> dict[str, Any]:
    loop, index = on_paper(setting.loop, drawn.view), drawn.route.circuit.moving or 0
    start, end = sheet.laid(loop.start).tolist(), sheet.laid(loop.end).tolist()
    to, pivot = sheet.laid(loop.centre[index]), drawn.pivot
    arcs = "".join(_arc(loop, index, sheet) for index in range(len(loop.span)))
    arm = "" if pivot is None else f"M{_pair(sheet.laid(pivot).tolist())}L{_pair(to.tolist())}"
    return {
        "judged": setting.is_judged,
        "belt": f"M{_pair(sheet.laid(loop.arrival[0]).tolist())}{arcs}Z",
        "spans": [f"M{_pair(a)}L{_pair(b)}" for a, b in zip(start, end, strict=True)],
        "by": [round(each, 2) for each in (to - sheet.laid(drawn.moving_at)).tolist()],
        "arm": arm,
        "mm": setting.words,
        "in": in_units(setting.words, "in"),
    }


def _arc(loop: Loop, index: int, sheet: Canvas) -> str:
    first, *others = sheet.laid(arc_points(loop, index, _LARGEST_STEP_RAD)).tolist()
    # With y down on the page, counter-clockwise is a falling angle.
    radius, falling = f"{float(loop.radius[index]) * sheet.scale:.2f}", int(loop.sense[index] < 0.0)
    return f"L{_pair(first)}" + "".join(f"A{radius} {radius} 0 0 {falling} {_pair(at)}" for at in others)


def _pair(at: Sequence[float]) -> str:
    return f"{at[0]:.2f} {at[1]:.2f}"


# Layouts side by side as small drawings at one scale and in one frame, so that what differs shows.

_WIDE_PT = 260.0
_MOST = 4
"""Drawings on one page; all layouts stand in the table."""


def sketches_of(comparison: Comparison) -> list[Element]:
    """What the numbers stand for; then each layout that has a belt path, its name and verdict under it."""
    judged = [(column, column.plan.route) for column in comparison.columns if column.plan is not None][:_MOST]
    signs = signs_of(*(route for _, route in judged))
    box = box_round(np.reshape([Drawn(route).box for _, route in judged], (-1, 2)))
    view = View(_WIDE_PT / (box[2] - box[0]))
    wanted = Wanted(edges_of(seen_box(box, view), 1.2 * _WIDE_PT), signs=signs)
    items = [_drawn(Drawn(route, view), wanted) for _, route in judged]
    sheet = Canvas(box_round(np.reshape([extent(each) for each in items], (-1, 2))))
    figures = (_sketch(column, sheet, each) for (column, _), each in zip(judged, items, strict=True))
    key = ", ".join(f"{sign}\N{NO-BREAK SPACE}{name}" for name, sign in signs.items())
    return [element("p", f"{key}.", class_="sketches"), element("div", *figures, class_="sketches")]


def _drawn(drawn: Drawn, wanted: Wanted) -> list[Item]:
    bare = [each for each in bare_items(drawn) if not each.name.startswith(("belt edge", "span ", "arc ", "grooves "))]
    return [*bare, *labels_of(drawn, wanted).items]


def _sketch(column: Column, sheet: Canvas, items: Sequence[Item]) -> Element:
    groups = [group for _, group in sheet.groups(items, lambda name: (None, ""))]
    caption = element("figcaption", element("b", column.name), f": {compare_verdict(column)}")
    return element("figure", drawing(sheet.size, f"The routing of {column.name}", *groups), caption)
