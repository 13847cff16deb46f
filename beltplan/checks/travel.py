"""What limits how far the lengths can be relied on: unusable travel, and readings over the rim."""

from __future__ import annotations

import numpy as np

from beltplan.belts.lengths import rim_reading_spread_mm
from beltplan.belts.route import Route
from beltplan.checks.belt_fit import NEEDED, interval_words
from beltplan.checks.finding import Finding, plain

CHECK = "travel"
MEANING = "only part of the adjuster's travel can be used"
READING_CHECK = "rim_reading"
READING_MEANING = "how far caliper readings over the rib tips leave the needed length open"


def travel_findings(route: Route) -> list[Finding]:
    """Travel that is of no use because the path fails or its length turns back."""
    travel, pulley = route.travel, route.moving
    if travel is None or pulley is None or travel.whole:
        return []
    part, words = interval_words(travel.shortest_mm, travel.longest_mm), "; ".join(dict.fromkeys(travel.stopped_by))
    message = f"only part of the adjuster's travel is used, path {part}: {words}"
    found = [plain(CHECK, "caution", pulley.name, message, NEEDED, (pulley.name,))]
    if not travel.contains_nominal:
        message = "there is no belt path at the adjuster's own setting (`at_deg`, `at`, or the middle of the travel)"
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
