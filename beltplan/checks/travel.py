"""What limits how far the lengths can be relied on: unusable travel, and readings over the rim."""

from __future__ import annotations

import numpy as np

from beltplan.belts.lengths import rim_reading_spread_mm
from beltplan.belts.route import Route
from beltplan.belts.routing import why_not_at
from beltplan.belts.sources import PRACTICE
from beltplan.checks.belt_fit import NEEDED, interval_words
from beltplan.checks.finding import Finding, plain

CHECK = "travel"
MEANING = "only part of the adjuster's travel can be used"
WIDEST_SWEEP_DEG = 180.0
READING_CHECK = "rim_reading"
READING_MEANING = "how far caliper readings over the rib tips leave the needed length open"


def travel_findings(route: Route) -> list[Finding]:
    """Travel of no use because the path fails or its length turns back, and arms that sweep too far to be true."""
    return _wide_sweep(route) + _unused(route)


def _wide_sweep(route: Route) -> list[Finding]:
    adjuster, pulley = route.circuit.adjuster, route.moving
    if adjuster is None or pulley is None or adjuster.kind != "arm":
        return []
    low, high = sorted(np.degrees(adjuster.travel))
    if high - low <= WIDEST_SWEEP_DEG:
        return []
    message = (
        f"its stops have the arm sweep {high - low:g} deg, from {low:g} to {high:g}: if it is meant to pass 0, write "
        f"[{high - 360.0:g}, {low:g}]"
    )
    return [plain(CHECK, "caution", pulley.name, message, PRACTICE, (pulley.name,))]


def _unused(route: Route) -> list[Finding]:
    travel, pulley = route.travel, route.moving
    if travel is None or pulley is None or travel.whole:
        return []
    adjuster, slackens = route.circuit.adjuster, ""
    if adjuster is not None and travel.ends_by(adjuster, travel.long) == "longest path":
        slackens = " and the belt slackens again"
    words = [f"the path length turns back{slackens}"] * travel.turns_back
    words += [fault.got for setting in travel.fails_at for fault in why_not_at(route.circuit, setting)]
    part = interval_words(travel.shortest_mm, travel.longest_mm)
    message = f"only part of the adjuster's travel is used, path {part}; beyond it {', or '.join(dict.fromkeys(words))}"
    found = [plain(CHECK, "caution", pulley.name, message, NEEDED, (pulley.name,))]
    if not travel.contains_nominal:
        message = (
            "there is no belt path at the adjuster's own setting (its at_deg or at, else mid-travel): look at its "
            "belt_side, pivot and stops, and its place in the route"
        )
        found.append(plain(CHECK, "problem", pulley.name, message, NEEDED, (pulley.name,)))
    return found


def rim_reading_findings(route: Route) -> list[Finding]:
    """How far the needed length is open because grooved pulleys were read over the rib tips."""
    read = np.array([pulley.reading == "rim" and not pulley.on_back for pulley in route.pulleys])
    if not read.any():
        return []
    least, most = rim_reading_spread_mm(route.layout.belt, float(route.loop.wrap[read].sum()))
    names = ", ".join(pulley.name for pulley, over_rim in zip(route.pulleys, read, strict=True) if over_rim)
    message = f"read over the rim: {names}; the needed length may be {least:+.1f} to {most:+.1f} mm off"
    return [plain(READING_CHECK, "note", "belt", message, route.layout.belt.profile.sources["rim_range_mm"])]
