"""Settings of the adjuster, laid beforehand: where the belt is then, what comes of it, and what a slider moves."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drive.fit import setting_words
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop, arc_points
from beltplan.page.svg import Canvas
from beltplan.picture.strokes import Drawn, on_paper
from beltplan.report.screen import in_units

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


def settings_json(drawn: Drawn, settings: Sequence[Setting], sheet: Canvas) -> str:
    return json.dumps([_moved(drawn, each, sheet) for each in settings]).replace("<", "\\u003c")


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
