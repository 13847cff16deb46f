"""What the user should know of how the route was read."""

from __future__ import annotations

from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, plain
from beltplan.checks.limits import OWN

CHECK = "direction"
MEANING = "both directions of the listed route give a sound loop"
UNROUTED_CHECK = "not_on_belt"
UNROUTED_MEANING = "a pulley of the file that the route leaves out"


SIDE_CHECK = "open_side"
SIDE_MEANING = "a pulley that either side of the belt may touch: it is judged on the back"


def direction_findings(route: Route) -> list[Finding]:
    """A note where the listed order alone decides which way the belt travels."""
    if not route.both_ways:
        return []
    message = "the route is sound either way round: the listed order is taken as the belt's travel"
    return [plain(CHECK, "note", "belt", message, OWN)]


def open_side_findings(route: Route) -> list[Finding]:
    """A note on every pulley whose side the layout leaves open."""
    message = "either side of the belt may touch it: judged here on the back; `beltplan route` tries both"
    return [
        plain(SIDE_CHECK, "note", pulley.name, message, OWN, (pulley.name,))
        for pulley in route.pulleys
        if pulley.side_open
    ]


def unrouted_findings(route: Route) -> list[Finding]:
    """Pulleys that the belt does not go round: forgotten, or meant."""
    return [
        plain(
            UNROUTED_CHECK,
            "note" if pulley.guides_only else "caution",
            pulley.name,
            "not on the route, so nothing drives it: it is only kept clear of",
            OWN,
            (pulley.name,),
        )
        for pulley in route.layout.unrouted
        if pulley.at_mm is not None
    ]
