"""What the slider moves, as data: at every setting of the adjuster the belt, each span and the arm as paths."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from beltplan.geometry.loops import Loop, arc_points
from beltplan.page.settings import Setting
from beltplan.page.svg import Canvas
from beltplan.picture.strokes import Drawn, on_paper
from beltplan.report.screen import in_units

_LARGEST_STEP_RAD = 0.5 * np.pi
"""Of an arc on the page: near half a turn, two ends and a radius no longer tell well which arc is meant."""


def settings_json(drawn: Drawn, settings: Sequence[Setting], sheet: Canvas) -> str:
    """All settings as JSON that can stand in a script of a page."""
    return json.dumps([_moved(drawn, each, sheet) for each in settings]).replace("<", "\\u003c")


def _moved(drawn: Drawn, setting: Setting, sheet: Canvas) -> dict[str, Any]:
    """One setting: paths, how far the adjusted pulley has gone, and the words in both units."""
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
    """A line to where the belt meets a pulley, and round it."""
    first, *others = sheet.laid(arc_points(loop, index, _LARGEST_STEP_RAD)).tolist()
    # With y down on the page, counter-clockwise is a falling angle.
    radius, falling = f"{float(loop.radius[index]) * sheet.scale:.2f}", int(loop.sense[index] < 0.0)
    return f"L{_pair(first)}" + "".join(f"A{radius} {radius} 0 0 {falling} {_pair(at)}" for at in others)


def _pair(at: Sequence[float]) -> str:
    return f"{at[0]:.2f} {at[1]:.2f}"
