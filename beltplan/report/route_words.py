"""The words in which a search for routes is told, in the report as in the picture."""

from __future__ import annotations

from beltplan.report.words import verdict_of
from beltplan.studies.route_search import FoundRoute, RouteSearch

HOW = (
    "Each is judged as `beltplan check` would judge it in the file. The places of the pulleys are taken as they are; "
    "an adjusted pulley stands at its design setting while routes are looked for. What is left out is taken away."
)
BACK_MARK = "*"
BACK_NOTE = f"{BACK_MARK} on the belt's back."


def order_words(route: FoundRoute) -> str:
    """The pulleys in the order of belt travel, those on the back marked."""
    pulleys = route.judged.route.pulleys
    return " > ".join(pulley.name + (BACK_MARK if pulley.on_back else "") for pulley in pulleys)


def route_verdict(route: FoundRoute) -> str:
    """What a route comes to."""
    return verdict_of(route.judged.findings)


def belt_words(route: FoundRoute) -> str:
    """The belt judged."""
    return route.judged.route.designation or "no stock belt fits"


def margin_words(route: FoundRoute) -> str:
    """The worst margin and where it is."""
    margin = route.judged.margin
    if margin is None:
        return "not known"
    share = f"{100.0 * margin.share:.1f} %" if abs(margin.share) < float("inf") else "a slack strand"
    return f"{share} ({margin.of}, {margin.where})"


def left_out_words(route: FoundRoute) -> str:
    """What is left out, else nothing."""
    return f"without {', '.join(route.left_out)}" if route.left_out else ""


def own_words(search: RouteSearch) -> str:
    """Where the file's own route stands."""
    own = search.own
    if own is None:
        return f"the file's own route is not among these: {search.own_missing}"
    if own.rank > 1:
        return f"the file's own route has rank {own.rank} of {len(search.routes)}: another is better by the rule"
    return "the file's own route ranks first: none that was judged is better"


def searched_words(search: RouteSearch) -> str:
    """What was looked at, and what not."""
    loops = f"{search.found:,} route{'' if search.found == 1 else 's'} that can be laid"
    if search.exhaustive:
        words = f"every one of {search.orders:,} orders and sides was looked at: {loops}"
    else:
        words = (
            f"NOT EXHAUSTIVE: of about {search.orders:.1e} orders and sides a beam of {search.beam:,} part routes was "
            f"followed (seed {search.seed}): {loops}; there may be better ones"
        )
    if len(search.routes) < search.found:
        words += f"; the {len(search.routes)} with the best wraps were judged"
    return words
