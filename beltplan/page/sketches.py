"""Layouts side by side as small drawings at one scale and in one frame, so that what differs shows."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

import numpy as np

from beltplan.checks.comparison import Column, Comparison
from beltplan.drive.route import Route
from beltplan.page.elements import element
from beltplan.page.routing import signs_of
from beltplan.page.svg import Canvas, drawing
from beltplan.picture.routing import Wanted, bare_items, edges_of, labels_of
from beltplan.picture.scene import Item, View, box_round, extent, seen_box
from beltplan.picture.strokes import Drawn
from beltplan.report.rows import compare_verdict
from beltplan.report.words import letters

_WIDE_PT = 260.0
_MOST = 4
"""Drawings on one page; all layouts stand in the table."""


def sketches_of(comparison: Comparison) -> list[Element]:
    """What the numbers stand for; then each layout that has a belt path, its name and verdict under it."""
    judged = [(column, column.judged.route) for column in comparison.columns if column.judged is not None][:_MOST]
    signs = _signs([route for _, route in judged])
    box = box_round(np.reshape([Drawn(route).box for _, route in judged], (-1, 2)))
    view = View(_WIDE_PT / (box[2] - box[0]))
    wanted = Wanted(edges_of(seen_box(box, view), 1.2 * _WIDE_PT), signs=signs)
    items = [_drawn(Drawn(route, view), wanted) for _, route in judged]
    sheet = Canvas(box_round(np.reshape([extent(each) for each in items], (-1, 2))))
    figures = (_figure(column, sheet, each) for (column, _), each in zip(judged, items, strict=True))
    key = ", ".join(f"{sign}\N{NO-BREAK SPACE}{name}" for name, sign in signs.items())
    return [element("p", f"{key}.", class_="sketches"), element("div", *figures, class_="sketches")]


def _signs(routes: Sequence[Route]) -> dict[str, str]:
    each = [signs_of(route) for route in routes]
    pulleys, others = (dict.fromkeys(n for own in each for n, sign in own.items() if sign.isdigit() is is_pulley)
                       for is_pulley in (True, False))  # fmt: skip
    return {name: str(n) for n, name in enumerate(pulleys, 1)} | {name: letters(n) for n, name in enumerate(others)}


def _drawn(drawn: Drawn, wanted: Wanted) -> list[Item]:
    bare = [each for each in bare_items(drawn) if not each.name.startswith(("belt edge", "span ", "arc ", "grooves "))]
    return [*bare, *labels_of(drawn, wanted).items]


def _figure(column: Column, sheet: Canvas, items: Sequence[Item]) -> Element:
    groups = [group for _, group in sheet.groups(items, lambda name: (None, ""))]
    caption = element("figcaption", element("b", column.name), f": {compare_verdict(column)}")
    return element("figure", drawing(sheet.size, f"The routing of {column.name}", *groups), caption)
