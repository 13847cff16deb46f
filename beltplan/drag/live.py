"""What the layout in hand comes to, what has changed against the start, and the map of one pulley."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_on
from beltplan.drag.hand import Spot
from beltplan.drive.layout import Layout
from beltplan.drive.route import route_of
from beltplan.drive.travel import place_of
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.picture.pens import MARGINS
from beltplan.picture.scene import Raster
from beltplan.place.study import bounds_of, grid_of, place_map


@dataclass(frozen=True, eq=False)
class Live:
    """What a layout comes to: its plan, or why there is no belt path.

    at_rest: whether the drive was run as well; while a hand moves, tensions are not known yet.
    """

    layout: Layout
    plan: Plan | None
    faults: tuple[PathFault, ...]
    at_rest: bool

    @property
    def centres(self) -> Mapping[str, Spot]:
        """Where the pulleys are, mm: the adjusted one where the belt puts it, by its design where there is no belt."""
        found = {pulley.name: place_of(pulley) for pulley in self.layout.placed}
        return found if self.plan is None else found | {row.name: row.at_mm for row in self.plan.pulleys}

    @property
    def findings(self) -> tuple[Finding, ...]:
        return () if self.plan is None else self.plan.findings


def live_of(layout: Layout, at_rest: bool = True) -> Live:
    """What a layout comes to. at_rest: False leaves the running drive out, which is most of the time."""
    try:
        route = route_of(layout)
    except NoBeltPath as refusal:
        return Live(layout, None, refusal.faults, at_rest)
    plan = plan_on(route) if at_rest else Plan(route, None, findings_of(route, None))
    return Live(layout, plan, (), at_rest)


def cured_in(live: Live, start: Live) -> tuple[Finding, ...]:
    """Problems and cautions of the start that are gone; known only where the same checks were asked."""
    if live.plan is None or not live.at_rest:
        return ()
    left = {finding.issue for finding in live.findings if finding.severity != "note"}
    return tuple(each for each in start.findings if each.severity != "note" and each.issue not in left)


_MAP_PLACES = 4_000
"""As many are judged in well under a second."""


def map_of(layout: Layout, name: str) -> Raster:
    """Where a pulley with a place of its own could sit, the darker the larger the margin; empty where a place has a
    problem.
    """
    low, high = bounds_of(layout)
    step_mm = float(np.ceil(np.sqrt((high[0] - low[0]) * (high[1] - low[1]) / _MAP_PLACES)))
    shaded = place_map(layout, name, grid_of(low, high, step_mm, layout.pulleys[name].at_mm)).shaded
    return Raster(shaded.box, shaded.classes, MARGINS, "map")
