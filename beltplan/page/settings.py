"""Settings of the adjuster, laid beforehand: where the belt is then, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.pulleys import AT_MEASURING
from beltplan.drive.fit import setting_words
from beltplan.drive.route import Route
from beltplan.geometry.loops import Loop

_COUNT = 21


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
