"""The charts of a slip picture: grip used against engine speed, one panel for each pulley, all to the same axes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.plan import Plan, Slip
from beltplan.checks.tension import SLIP_ON_REVS
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.operation import WANTED_USE, Operation, WorstPoint
from beltplan.drive.route import engine_speeds_rpm
from beltplan.geometry.vectors import Floats
from beltplan.picture.chart import Axes, cut_at
from beltplan.picture.page import Mark, Paragraph, column, height_pt, marks_after, marks_at
from beltplan.picture.scene import (
    AXIS,
    DESIGN,
    DRY,
    INK,
    LIMIT,
    LITTLE_IN_HAND,
    LOW_LIMIT,
    OTHER_DRY,
    OTHER_WET,
    PAPER,
    SLIPS,
    SOFT_INK,
    SPEED_LINE,
    WET,
    WRAP,
    Align,
    Item,
    Label,
    Pen,
    Shape,
    Stroke,
    arrow_head,
    circle,
    rectangle,
    text_width_pt,
)

_LOWEST_TOP, _HIGHEST_TOP = 1.25, 2.5
"""The charts reach over the limit always, and never so far that what matters is squeezed flat."""
_OVER = 1.08


@dataclass(frozen=True)
class _Curve:
    """Slip use in one condition, (s, 2): engine rpm and use, infinite where a span is slack.

    duty: its name; empty for the worst of all duties at each speed.
    """

    condition: Condition
    duty: str
    points: Floats


@dataclass(frozen=True)
class SlipPanel:
    """One pulley's curves, with its worst point in every condition (in the order of `CONDITIONS`), in steady running.

    revving: its worst in the wet while the engine changes speed, where something is found of that.
    """

    index: int
    pulley: str
    curves: tuple[_Curve, ...]
    worst: tuple[WorstPoint, ...]
    revving: WorstPoint | None = None


def slip_panels(plan: Plan) -> tuple[SlipPanel, ...]:
    """The driver and every loaded pulley, in the order of the route; empty where nothing takes torque."""
    if plan.operation is None:
        return ()
    chirping = {finding.subject for finding in plan.findings if finding.check == SLIP_ON_REVS.name}
    rows = (row if row.pulley in chirping else replace(row, revving=None) for row in plan.slip)
    return tuple(_pulley_curves(plan.operation, row) for row in rows)


def _pulley_curves(operation: Operation, row: Slip) -> SlipPanel:
    curves: list[_Curve] = []
    for condition in CONDITIONS:
        own = operation.utilisation[CONDITIONS.index(condition), :, :, row.index]
        if len(operation.duties) > 1 and condition != "design":
            curves += [
                _curve(operation, condition, utilisation, duty)
                for duty, utilisation in zip(operation.duties, own, strict=True)
            ]
        curves.append(_curve(operation, condition, own.max(axis=0), ""))
    return SlipPanel(row.index, row.pulley, tuple(curves), row.points, row.revving)


def _curve(operation: Operation, condition: Condition, utilisation: Floats, duty: str) -> _Curve:
    return _Curve(condition, duty, np.column_stack((operation.driver_rpm, utilisation)))


def top_of(panels: tuple[SlipPanel, ...]) -> float:
    """Highest use that all charts show: over all finite values, within bounds."""
    every = np.concatenate([curve.points[:, 1] for panel in panels for curve in panel.curves])
    highest = _OVER * float(every[np.isfinite(every)].max(initial=0.0))
    top = min(max(highest, _LOWEST_TOP), _HIGHEST_TOP)
    return _HIGHEST_TOP if np.isinf(every).any() else top


def beyond(panel: SlipPanel, top: float) -> tuple[WorstPoint, ...]:
    """The worst points of a panel that lie over the top of its chart; a slack span has none."""
    return tuple(point for point in panel.worst if top < point.utilisation < np.inf)


# The charts of a slip picture: one panel for each pulley, all to the same axes.

_PLOT_PT = 118.0
_GAP_PT = 16.0
_LEFT_PT, _RIGHT_PT = 26.0, 66.0
_FOOT_PT, _FOOT_ROW_PT = 8.0, 11.0
_SMALL_PT, _TICK_PT = 8.0, 7.5
_OVER_PT = 7.0
_TICKS_RPM = (100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
_MOST_TICKS = 12
PENS: dict[tuple[str, bool], Pen] = {
    ("dry", True): DRY,
    ("wet", True): WET,
    ("design", True): DESIGN,
    ("dry", False): OTHER_DRY,
    ("wet", False): OTHER_WET,
}
"""By condition, and whether the curve is the worst of all duties."""


@dataclass(frozen=True)
class Charts:
    """Where the panels stand: their axes in reading order, the items drawn, and the lower edge of it all."""

    axes: tuple[Axes, ...]
    items: tuple[Item, ...]
    bottom: float


def slip_charts(
    operation: Operation, panels: tuple[SlipPanel, ...], marks: tuple[Mark, ...], left: float, top: float,
    width_pt: float, unit_pt: float,
) -> Charts:  # fmt: skip
    """Every panel, row by row, from a top left corner."""
    columns = 4 if len(panels) % 3 == 1 and len(panels) > 1 else 3
    plot_pt = (width_pt - _LEFT_PT - _RIGHT_PT - (columns - 1) * _GAP_PT) / columns
    high, pt = top_of(panels), 1.0 / unit_pt
    low, most = float(operation.driver_rpm[0]), float(operation.driver_rpm[-1])
    speeds = (low, max(most, low + 1.0))
    found: list[Axes] = []
    items: list[Item] = []
    for first in range(0, len(panels), columns):
        row = panels[first : first + columns]
        upper = top - max(height_pt(_header(panel, operation, high), plot_pt) for panel in row) * pt - 4.0 * pt
        for i, panel in enumerate(row):
            x = left + (_LEFT_PT + i * (plot_pt + _GAP_PT)) * pt
            axes = Axes((x, upper - _PLOT_PT * pt, x + plot_pt * pt, upper), speeds, (0.0, high))
            head = column(_header(panel, operation, high), x, top, plot_pt, unit_pt)
            items += [*head, *_marks(panel, marks, head[0], unit_pt), *_panel(panel, axes, operation, unit_pt)]
            found.append(axes)
        items += [*_y_labels(found[first], unit_pt), *_zone_words(found[-1], unit_pt)]
        top = min(item.box(unit_pt)[1] for item in items if isinstance(item, Label)) - _FOOT_PT * pt
    return Charts(tuple(found), tuple(items), top)


def _header(panel: SlipPanel, operation: Operation, top: float) -> tuple[Paragraph, ...]:
    dry, wet, design = panel.worst
    lines = [Paragraph(panel.pulley, 10.5, INK, True, name=f"panel {panel.pulley}")]
    if np.isfinite(wet.utilisation):
        over = {point.condition: " (over the top)" for point in beyond(panel, top)}
        first = f"wet {wet.utilisation:.2f} at {wet.rpm:.0f} rpm{over.get('wet', '')}"
        rest = ", ".join(
            f"{point.condition} {point.utilisation:.2f}{over.get(point.condition, '')}" for point in (dry, design)
        )
        lines += [_worst_line(first, panel), Paragraph(rest, _SMALL_PT, SOFT_INK, name=f"others {panel.pulley}")]
    else:
        lines.append(_worst_line(f"a span is slack from {wet.rpm:.0f} rpm", panel))
    if panel.revving is not None:
        used = f"{panel.revving.utilisation:.2f}" if np.isfinite(panel.revving.utilisation) else "slack"
        words = f"revving: wet {used} at {panel.revving.rpm:.0f} rpm"
        lines.append(Paragraph(words, _SMALL_PT, WRAP, True, name=f"revving {panel.pulley}"))
    if len(operation.duties) > 1:
        lines.append(Paragraph(f"worst: {operation.duties[wet.duty]}", _SMALL_PT, SOFT_INK))
    return tuple(lines)


def _worst_line(words: str, panel: SlipPanel) -> Paragraph:
    return Paragraph(words, _SMALL_PT, WRAP, True, name=f"worst {panel.pulley}")


def _marks(panel: SlipPanel, marks: tuple[Mark, ...], name: Label, unit_pt: float) -> list[Item]:
    slips = tuple(mark for mark in marks_at(marks, panel.pulley) if mark.finding.check.startswith("slip"))
    return marks_after(name, slips, unit_pt, f"mark {panel.pulley}")


def _panel(panel: SlipPanel, axes: Axes, operation: Operation, unit_pt: float) -> list[Item]:
    curves = sorted(panel.curves, key=lambda curve: (curve.duty == "", CONDITIONS.index(curve.condition) != 2))
    return [
        *_ground_items(axes, operation, unit_pt),
        *(stroke for curve in curves for stroke in _curve_strokes(curve, panel.pulley, axes)),
        *_worst_items(panel, axes, unit_pt),
        Stroke(axes.at(np.array([(axes.x[0], axes.y[1]), (axes.x[0], 0.0), (axes.x[1], 0.0)])), AXIS, "axes"),
    ]


def _curve_strokes(curve: _Curve, pulley: str, axes: Axes) -> list[Stroke]:
    """A curve in its panel, in as many pieces as the top edge cuts it into."""
    pen = PENS[curve.condition, curve.duty == ""]
    name = f"{curve.condition} {pulley}" + (f", {curve.duty}" if curve.duty else "")
    return [Stroke(axes.at(piece), pen, name) for piece in cut_at(curve.points, axes.y[1])]


def _ground_items(axes: Axes, operation: Operation, unit_pt: float) -> list[Item]:
    (x0, y0, x1, y1), pt = axes.box, 1.0 / unit_pt
    one, hand = float(axes.across(1.0)[0, 1]), float(axes.across(WANTED_USE)[0, 1])
    speeds = {word: rpm for word, rpm in engine_speeds_rpm(operation.route).items() if rpm is not None}
    ticks = [axes.at(np.array((rpm, 0.0))) for rpm in _ticks(axes)]
    return [
        Shape((rectangle((x0, y0, x1, y1)),), PAPER),
        Shape((rectangle((x0, one, x1, y1)),), SLIPS),
        Shape((rectangle((x0, hand, x1, one)),), LITTLE_IN_HAND),
        *(Stroke(axes.upright(rpm), SPEED_LINE, f"speed {word}") for word, rpm in speeds.items()),
        *(Stroke(np.stack((at, at + np.array((0.0, 3.0 * pt)))), AXIS, "tick") for at in ticks),
        Stroke(axes.across(WANTED_USE), LOW_LIMIT, "limit 0.8"),
        Stroke(axes.across(1.0), LIMIT, "limit 1"),
        *_speed_words(axes, speeds, unit_pt),
    ]


def tick_step_rpm(low: float, high: float) -> float:
    """Distance of the short ticks on the axis of speed."""
    return next((step for step in _TICKS_RPM if (high - low) / step <= _MOST_TICKS), _TICKS_RPM[-1])


def _ticks(axes: Axes) -> list[float]:
    step = tick_step_rpm(*axes.x)
    return [step * k for k in range(int(np.ceil(axes.x[0] / step)), int(axes.x[1] / step) + 1)]


def _speed_words(axes: Axes, speeds: dict[str, float], unit_pt: float) -> list[Label]:
    pt, y = 1.0 / unit_pt, axes.box[1] - 10.0 / unit_pt
    aligns: dict[str, Align] = {"idle": "left", "cruise": "center", "max": "right"}
    made = {
        word: Label(f"{word} {rpm:.0f}", (float(axes.upright(rpm)[0, 0]), y), _SMALL_PT, SOFT_INK, align=aligns[word])
        for word, rpm in speeds.items()
    }
    if "cruise" in made:
        half = 0.5 * text_width_pt(made["cruise"].text, _SMALL_PT) * pt
        x = min(max(made["cruise"].at[0], axes.box[0] + half), axes.box[2] - half)
        free = made["idle"].box(unit_pt)[2] + 5.0 * pt < x - half and x + half < made["max"].box(unit_pt)[0] - 5.0 * pt
        made["cruise"] = replace(made["cruise"], at=(x, y if free else y - _FOOT_ROW_PT * pt))
    return list(made.values())


def _worst_items(panel: SlipPanel, axes: Axes, unit_pt: float) -> list[Item]:
    """The dot at the worst when wet; a triangle for each condition whose worst lies over the chart's top."""
    wet, pt, over = panel.worst[CONDITIONS.index("wet")], 1.0 / unit_pt, beyond(panel, axes.y[1])
    items: list[Item] = []
    for point in over:
        tip = axes.at(np.array((point.rpm, axes.y[1])))
        head = arrow_head(tip, np.array((0.0, 1.0)), _OVER_PT * pt)
        items.append(Shape((head,), PENS[point.condition, True].colour, name=f"over {panel.pulley}"))
    if wet.utilisation > 0.0 and wet not in over:
        spot = axes.at(np.array((wet.rpm, min(wet.utilisation, axes.y[1]))))
        items.append(Shape((circle(spot, 3.0 * pt),), WRAP, Pen(PAPER, 1.0), name=f"worst {panel.pulley}"))
    return items


def _y_labels(axes: Axes, unit_pt: float) -> list[Label]:
    values = [0.0, 0.5, WANTED_USE, *np.arange(1.0, axes.y[1] + 1e-9, 0.5)]
    labels = []
    for value in values:
        y = float(axes.across(value)[0, 1]) - 0.36 * _TICK_PT / unit_pt
        at = (axes.box[0] - 4.0 / unit_pt, y)
        labels.append(Label(f"{value:g}", at, _TICK_PT, SOFT_INK, align="right", name="use"))
    return labels


def _zone_words(axes: Axes, unit_pt: float) -> list[Label]:
    x, up = axes.box[2] + 5.0 / unit_pt, 1.6 / unit_pt
    return [
        Label("slips", (x, float(axes.across(1.0)[0, 1]) + up), _SMALL_PT, INK, True, name="zone"),
        Label("little reserve", (x, float(axes.across(WANTED_USE)[0, 1]) + up), _SMALL_PT, SOFT_INK, name="zone"),
    ]
