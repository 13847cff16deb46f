"""Small drawings beside tables: what a belt leaves at both stops, how near each pulley comes to slipping."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np

from beltplan.checks.limits import demanded
from beltplan.checks.plan import Plan, Slip
from beltplan.drive.fit import FittedBelt
from beltplan.drive.mechanics import CONDITIONS
from beltplan.drive.operation import Operation, WorstPoint
from beltplan.geometry.vectors import Floats
from beltplan.page.elements import element, elements_of_length, lengths
from beltplan.page.svg import drawing
from beltplan.picture.pens import CAUTION, INK, METAL_EDGE, PROBLEM, SOFT_INK, WRAP
from beltplan.picture.scene import text_width_pt

_WIDE, _ROW, _HEAD, _GAP = 360.0, 20.0, 18.0, 4.0
"""Width of a drawing, height of a row and of the line over all, and between a bar and its words, in points."""
_TALL, _LEFT = 27.0, 14.0
"""Height of a row with a pulley's name over it, and where its scale begins."""
_TEXT = 10
_MOST_USE, _LEAST_TOP = 2.0, 1.2
"""Grip used beyond this is drawn at the edge; the scale reaches this far at least."""
_CURVE = (90.0, 24.0)
"""Height of a curve's field, and left of it for its numbers."""


def _at(x: float, y: float) -> dict[str, Any]:
    return {"x": f"{x:.1f}", "y": f"{y:.1f}", "font_size": _TEXT, "fill": INK}


def _text(words: str, x: float, y: float, **look: Any) -> Element:
    return element("text", words, **(_at(x, y) | look))


def _line(x0: float, y0: float, x1: float, y1: float, colour: str, **look: Any) -> Element:
    return element("path", d=f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}", fill="none", stroke=colour, **look)


# What is left of the adjuster's travel at both stops.


def reserves_of(belts: Sequence[FittedBelt]) -> Element:
    """One row a belt: a bar to either side, as long as what is left there; what lacks is drawn hollow and dark."""
    ends = [(belt.short_reserve_mm, belt.long_reserve_mm) for belt in belts]
    names = _GAP + max(text_width_pt(belt.designation, _TEXT, True) for belt in belts)
    words = 2.0 * _GAP + max(text_width_pt(each, _TEXT) for both in ends for mm in both for each in lengths(mm))
    middle, most = 0.5 * (names + _WIDE), max(1e-9, *(abs(end) for each in ends for end in each))
    per_mm = (0.5 * (_WIDE - names) - words) / most
    rows = [row for n, (belt, both) in enumerate(zip(belts, ends, strict=True))
            for row in _reserve_row(belt.designation, both, middle, per_mm, _HEAD + (n + 0.5) * _ROW)]  # fmt: skip
    height = _HEAD + len(belts) * _ROW
    heads = [_text("short reserve", middle - 6, 11, text_anchor="end", fill=SOFT_INK),
             _text("long reserve", middle + 6, 11, fill=SOFT_INK)]  # fmt: skip
    axis = _line(middle, _HEAD, middle, height, INK, stroke_width=1)
    label = "What each belt leaves to either stop after tolerance, fitting and wear; the table holds the numbers"
    return drawing((_WIDE, height), label, *heads, *rows, axis, class_="chart")


def _reserve_row(name: str, ends: tuple[float, float], middle: float, per_mm: float, y: float) -> Iterator[Element]:
    yield _text(name, 0, y + 3.5, font_weight="bold")
    for mm, side in zip(ends, (-1, 1), strict=True):
        reach, lacks = abs(mm) * per_mm, mm < 0.0
        look = {"fill": "none" if lacks else WRAP, "stroke": PROBLEM if lacks else WRAP, "stroke_width": 1.5}
        left = middle - reach if side < 0 else middle
        yield element("rect", x=f"{left:.1f}", y=f"{y - 5:.1f}", width=f"{reach:.1f}", height=10, **look)
        at, anchor = _at(middle + side * (reach + _GAP), y + 3.5), "end" if side < 0 else "start"
        yield from elements_of_length("text", *lengths(mm), **at, text_anchor=anchor)


# How near each pulley comes to slipping.


def slip_dots(plan: Plan) -> Element:
    """One row a pulley on one scale, most used first: dry, wet, and wet at the low end of the tension."""
    rows = sorted(plan.slip, key=lambda row: -row.wet.utilisation)
    top = _top_of([point.utilisation for row in rows for point in _points(row).values()])
    foot = _HEAD + len(rows) * _TALL
    drawn = [each for n, row in enumerate(rows) for each in _dots(plan, row, top, _HEAD + (n + 0.7) * _TALL)]
    head = _text("highest", _WIDE, 12, text_anchor="end", fill=SOFT_INK)
    label = "Grip used by each pulley, dry, wet and wet at the low end; 1 slips; the table holds the numbers"
    return drawing((_WIDE, foot + _ROW), label, *_scale(top, foot), *drawn, *_key(rows, foot), head, class_="chart")


def _top_of(uses: Sequence[float]) -> float:
    finite = [use for use in uses if np.isfinite(use)]
    return float(np.clip(1.1 * max(finite, default=1.0), _LEAST_TOP, _MOST_USE))


def _points(row: Slip) -> dict[str, WorstPoint]:
    dry = row.points[CONDITIONS.index("dry")]
    return {"dry": dry, "wet": row.wet} | ({} if row.low is None else {"low end": row.low})


def _x(use: float, top: float) -> float:
    return _LEFT + (_WIDE - _LEFT - 40.0) * min(use, top) / top


def _scale(top: float, foot: float) -> Iterator[Element]:
    for tick in (0.0, 0.5, 1.0, *((1.5, 2.0) if top >= 1.5 else ())):
        x, heavy = _x(tick, top), tick == 1.0
        if tick <= top:
            yield _line(x, _HEAD, x, foot, PROBLEM if heavy else METAL_EDGE, stroke_width=1.6 if heavy else 0.5)
            yield _text("1 slips" if heavy else f"{tick:g}", x, 12, text_anchor="middle", fill=SOFT_INK)


def _dots(plan: Plan, row: Slip, top: float, y: float) -> Iterator[Element]:
    pulley = plan.route.pulleys[row.index]
    limit = demanded(plan.layout, "max_slip_use", (pulley.name, pulley.role)).ample
    yield _line(_x(0.0, top), y, _x(top, top), y, METAL_EDGE, stroke_width=0.5)
    yield _line(_x(limit, top), y - 7, _x(limit, top), y + 7, CAUTION, stroke_width=3)
    yield _text(row.pulley, _LEFT, y - 8, **_HALO)
    for kind, point in _points(row).items():
        yield _dot(kind, _x(point.utilisation, top), y)
    worst = max(point.utilisation for point in _points(row).values())
    yield _text(f"{worst:.2f}" if np.isfinite(worst) else "slack", _WIDE, y + 3.5, text_anchor="end")


def _dot(kind: str, x: float, y: float) -> Element:
    if kind == "low end":
        corners = f"M{x - 5:.1f} {y:.1f}L{x:.1f} {y - 5:.1f}L{x + 5:.1f} {y:.1f}L{x:.1f} {y + 5:.1f}Z"
        return element("path", d=corners, fill="none", stroke=INK, stroke_width=1.4)
    fill = WRAP if kind == "wet" else "#ffffff"
    return element("circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=4, fill=fill, stroke=INK, stroke_width=1.2)


_HALO = {"stroke": "#ffffff", "stroke_width": 3, "paint_order": "stroke"}
"""Of words over lines."""


def _key(rows: Sequence[Slip], foot: float) -> Iterator[Element]:
    y = foot + 0.6 * _ROW
    for n, kind in enumerate(_points(rows[0])):
        x = _LEFT + 8.0 + 62.0 * n
        yield _dot(kind, x, y)
        yield _text(kind, x + 8, y + 3.5, fill=SOFT_INK)
    yield _line(_LEFT + 192, y - 6, _LEFT + 192, y + 6, CAUTION, stroke_width=3)
    yield _text("caution", _LEFT + 198, y + 3.5, fill=SOFT_INK)


def slip_curves(plan: Plan) -> list[Element]:
    """Grip used over the engine's speed, pulley by pulley: the worst duty, wet as a line, dry dashed."""
    operation = plan.operation
    return [] if operation is None else [_curves(operation, row) for row in plan.slip]


def _curves(operation: Operation, row: Slip) -> Element:
    height, left = _CURVE
    rpm = operation.driver_rpm
    uses = {kind: operation.utilisation[CONDITIONS.index(kind), :, :, row.index].max(axis=0) for kind in CONDITIONS[:2]}
    top = _top_of([float(use) for each in uses.values() for use in each])
    low, high = float(rpm.min()), float(rpm.max())

    x = left + (rpm - low) / max(high - low, 1e-9) * (_WIDE - left - 4.0)

    def y(use: Floats | float) -> Floats:
        return np.asarray(_HEAD + height * (1.0 - np.asarray(use) / top))

    field = [_line(left, float(y(use)), _WIDE - 4.0, float(y(use)), PROBLEM if use else METAL_EDGE, stroke_width=1)
             for use in (0.0, 1.0)]  # fmt: skip
    marks = [_text(f"{use:g}", left - 4, float(y(use)) + 3.5, text_anchor="end") for use in (0.0, 1.0)]
    foot = [_text(f"{at:.0f} rpm", along, _HEAD + height + 13, text_anchor=anchor, fill=SOFT_INK)
            for at, along, anchor in ((low, left, "start"), (high, _WIDE - 4, "end"))]  # fmt: skip
    curves = [_curve(np.stack((x, y(np.minimum(use, top))), axis=-1), kind) for kind, use in uses.items()]
    head = _text(row.pulley, 0, 11, font_weight="bold")
    label = f"Grip used by {row.pulley} over the engine's speed, wet and dry"
    return drawing((_WIDE, _HEAD + height + 18), label, head, *field, *marks, *foot, *curves, class_="chart")


def _curve(points: Floats, kind: str) -> Element:
    d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points.tolist())
    look = {"stroke": WRAP} if kind == "wet" else {"stroke": INK, "stroke_dasharray": "5 3"}
    return element("path", d=d, fill="none", stroke_width=2, **look)
