"""Does everything turn the way it must?"""

from __future__ import annotations

from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.belts.sources import PRACTICE
from beltplan.belts.speeds import turning_sense
from beltplan.checks.finding import Finding, plain
from beltplan.checks.limits import OWN

CHECK = "turns"
MEANING = "a pulley that turns against its `turns`, or an accessory on the belt's back with none stated"


def turning_findings(route: Route) -> list[Finding]:
    """Pulleys that turn the wrong way, and accessories on the back of which nobody said which way is right."""
    return [finding for pulley in route.pulleys for finding in _of(route, pulley)]


def _of(route: Route, pulley: Pulley) -> list[Finding]:
    turns = turning_sense(route, pulley)
    if pulley.turns not in (None, "either", turns):
        message = f"turns {turns} but must turn {pulley.turns}: run it on the other side of the belt"
        return [plain(CHECK, "problem", pulley.name, message, OWN, (pulley.name,))]
    if pulley.on_back and pulley.turns is None and not (pulley.guides_only or pulley.drives):
        message = (
            f"on the back of the belt it turns {turns}, against the belt's other pulleys: "
            "make sure that it may, and say so with `turns`"
        )
        return [plain(CHECK, "caution", pulley.name, message, PRACTICE, (pulley.name,))]
    return []
