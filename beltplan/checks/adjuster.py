"""Does the adjuster work well where it works?"""

from __future__ import annotations

from beltplan.belts.fit import is_sprung
from beltplan.belts.route import Route
from beltplan.belts.sources import PRACTICE
from beltplan.belts.take_up import take_up_percent
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import demanded

CHECK = "take_up"
MEANING = "an adjuster that takes up little belt for its movement where it works"
SIDE_CHECK = "slack_side"
SIDE_MEANING = "a sprung tensioner that is not on the slack strand, just after the driver"


def take_up_findings(route: Route) -> list[Finding]:
    """A weak take-up where the judged belt puts the adjuster."""
    percent, pulley = take_up_percent(route), route.moving
    if percent is None or pulley is None:
        return []
    bound = demanded(route.layout, "min_take_up_percent", (pulley.name,))
    message = (
        f"takes up only {percent:.0f} % of what its movement could here, so a small stretch moves it far and a "
        "spring's tension runs away: turn the arm across the strands' pull, or let it wrap more"
    )
    return judge(CHECK, pulley.name, percent, bound, message, (pulley.name,))


def slack_side_findings(route: Route) -> list[Finding]:
    """A sprung tensioner with a driven accessory between it and the driver, in the direction of belt travel."""
    moving, pulley = route.circuit.moving, route.moving
    if moving is None or pulley is None or not is_sprung(route.circuit):
        return []
    between = [other.name for other in route.pulleys[1:moving] if not other.guides_only]
    if not between:
        return []
    message = (
        f"the belt passes {', '.join(between)} between the driver and this sprung tensioner: it belongs on the slack "
        "strand just after the driver, or load pulls it back and the belt slackens"
    )
    return [plain(SIDE_CHECK, "caution", pulley.name, message, PRACTICE, (pulley.name,))]
