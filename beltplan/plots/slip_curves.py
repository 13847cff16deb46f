"""What a slip picture shows in numbers: slip use against engine speed, pulley by pulley, and its worst points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.tension.mechanics import CONDITIONS, Condition
from beltplan.tension.operation import Operation
from beltplan.tension.worst import WorstPoint, worst_point

LOWEST_TOP, HIGHEST_TOP = 1.25, 2.5
"""The charts reach over the limit always, and never so far that what matters is squeezed flat."""
OVER = 1.08


@dataclass(frozen=True)
class Curve:
    """Slip use in one condition, (s, 2): engine rpm and use, infinite where a strand is slack.

    duty: its name; empty for the worst of all duties at each speed.
    """

    condition: Condition
    duty: str
    points: Floats


@dataclass(frozen=True)
class SlipPanel:
    """One pulley's curves, with its worst point in every condition (in the order of `CONDITIONS`)."""

    index: int
    pulley: str
    curves: tuple[Curve, ...]
    worst: tuple[WorstPoint, ...]


def slip_panels(operation: Operation) -> tuple[SlipPanel, ...]:
    """The driver and every loaded pulley, in the order of the route; empty where nothing takes torque."""
    if not operation.carries_load:
        return ()
    shown = [i for i, pulley in enumerate(operation.route.pulleys) if i == 0 or pulley.load is not None]
    return tuple(_panel(operation, i) for i in shown)


def _panel(operation: Operation, index: int) -> SlipPanel:
    curves: list[Curve] = []
    for condition in CONDITIONS:
        own = operation.use[CONDITIONS.index(condition), :, :, index]
        if len(operation.duties) > 1 and condition != "design":
            curves += [_curve(operation, condition, use, duty) for duty, use in zip(operation.duties, own, strict=True)]
        curves.append(_curve(operation, condition, own.max(axis=0), ""))
    worst = tuple(worst_point(operation, operation.use, index, condition) for condition in CONDITIONS)
    return SlipPanel(index, operation.route.pulleys[index].name, tuple(curves), worst)


def _curve(operation: Operation, condition: Condition, use: Floats, duty: str) -> Curve:
    return Curve(condition, duty, np.column_stack((operation.driver_rpm, use)))


def top_of(panels: tuple[SlipPanel, ...]) -> float:
    """Highest use that all charts show: over all finite values, within bounds."""
    every = np.concatenate([curve.points[:, 1] for panel in panels for curve in panel.curves])
    highest = OVER * float(every[np.isfinite(every)].max(initial=0.0))
    top = min(max(highest, LOWEST_TOP), HIGHEST_TOP)
    return HIGHEST_TOP if np.isinf(every).any() else top


def beyond(panel: SlipPanel, top: float) -> tuple[WorstPoint, ...]:
    """The worst points of a panel that lie over the top of its chart; a slack strand has none."""
    return tuple(point for point in panel.worst if top < point.use < np.inf)
