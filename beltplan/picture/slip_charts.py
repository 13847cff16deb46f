"""Grip used as charts: every pulley as a row of dots on one scale, and curves over speed of those that come near."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from beltplan.checks.plan import Plan, Slip
from beltplan.checks.tension import SLIP_ON_REVS, used_words
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.operation import WANTED_USE, Operation, WorstPoint
from beltplan.geometry.vectors import Floats
from beltplan.picture import pens
from beltplan.picture.chart import Row, RowChart, line_of
from beltplan.picture.page import Beside, Block, Gap, Mark, Panel, Paragraph, marks_at
from beltplan.picture.pens import Pen

_LOWEST_TOP, _HIGHEST_TOP = 1.25, 2.5
"""The charts reach over the limit always, and never so far that what matters is squeezed flat."""
_OVER = 1.08
CURVED = 0.5
"""A pulley that uses more of its grip when wet has its curves drawn."""
_PLOT_PT, _ACROSS = 150.0, 3
_APART = 0.16
"""Speeds nearer to idle or maximum than this share of the range are not written."""


def slip_rows(plan: Plan) -> tuple[Slip, ...]:
    """The driver and every loaded pulley; what it uses while the engine changes speed only where something is found."""
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
    return [row for row in rows if row.wet.utilisation > CURVED]


# The dots: the worst of every pulley in each condition, on one scale.

DOTS: dict[Condition, tuple[str, str, str, float]] = {
    "dry": ("s", pens.PAPER, pens.INK, 5.5),
    "wet": ("o", pens.WRAP, pens.PAPER, 8.0),
    "design": ("D", pens.PAPER, pens.SOFT_INK, 5.0),
}
"""Marker, fill, edge and size of a dot, by condition: told apart by shape."""


def slip_dots(operation: Operation, rows: Sequence[Slip], marks: tuple[Mark, ...]) -> Block:
    """A row of dots a pulley, the nearest to slipping first; figures beside them."""
    several = len(operation.duties) > 1
    order = sorted(rows, key=lambda row: -row.wet.utilisation)
    top = top_of(operation, rows)

    def draw(axes: Any) -> None:
        axes.set_xlim(0.0, top)
        axes.set_xlabel("grip used: 1 slips")
        _bands(axes, upright=True)
        for i, row in enumerate(order):
            for point in row.points:
                _dot(axes, point, i, top)

    heads = ("wet", "at", "dry", "design", *(("worst duty",) if several else ()))
    told = [_row(row, operation, marks) for row in order]
    return RowChart(told, heads, draw, 150.0, (36.0, 62.0, 36.0, 46.0, *((126.0,) if several else ())), "slip")


def _row(row: Slip, operation: Operation, marks: tuple[Mark, ...]) -> Row:
    dry, wet, design = (used_words(p.utilisation) for p in row.points)
    slips = tuple(mark for mark in marks_at(marks, row.pulley) if mark.finding.check.startswith("slip"))
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
    """Where it slips, and where little is in hand, with the limits at 1 and at what is wanted."""
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


def slip_curves(operation: Operation, rows: Sequence[Slip]) -> list[Block]:
    """Charts of the pulleys that come near, all to the same axes."""
    shown, top = curved(rows), top_of(operation, rows)
    blocks: list[Block] = []
    for first in range(0, len(shown), _ACROSS):
        own = shown[first : first + _ACROSS]
        over = [tuple(_header(row, top)) for row in own]
        charts = [(_chart(row, operation, top),) for row in own]
        blocks += [Gap(6.0), *(Beside(tuple(each), 10.0, _ACROSS) for each in (over, charts))]
    return blocks


def _chart(row: Slip, operation: Operation, top: float) -> Block:
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

    return Panel(draw, _PLOT_PT, (30.0, 34.0, 14.0, 8.0), f"chart {row.pulley}")


def _speeds(axes: Any, operation: Operation) -> None:
    """The axis of speed, with a line and a word at each that the layout names."""
    low, most = float(operation.driver_rpm[0]), float(operation.driver_rpm[-1])
    axes.set_xlim(low, max(most, low + 1.0))
    speeds = operation.route.layout.engine.speeds_rpm
    for rpm in speeds.values():
        axes.axvline(rpm, zorder=1, **line_of(pens.SPEED_LINE))
    apart = _APART * max(most - low, 1.0)
    told = {word: rpm for word, rpm in speeds.items() if word != "cruise" or low + apart < rpm < most - apart}
    axes.set_xticks(list(told.values()), [f"{word}\n{rpm:.0f}" for word, rpm in told.items()])


def _header(row: Slip, top: float) -> list[Paragraph]:
    over = {point.condition: " (over the top)" for point in beyond(row, top)}
    if np.isfinite(row.wet.utilisation):
        told = [
            f"{p.condition} {used_words(p.utilisation)}{over[p.condition]}" for p in row.points if p.condition in over
        ]
    else:
        told = [f"a span is slack from {row.wet.rpm:.0f} rpm"]
    if row.revving is not None:
        used = used_words(row.revving.utilisation)
        told.append(f"revving: wet {used} at {row.revving.rpm:.0f} rpm")
    name = Paragraph(row.pulley, 10.5, pens.INK, True, name=f"panel {row.pulley}")
    return [name, *(Paragraph(words, 9.0, pens.WRAP, True, name=f"worst {row.pulley}") for words in told)]
