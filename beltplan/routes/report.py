"""A search for routes as text and as JSON."""

from __future__ import annotations

from typing import Any

from beltplan.checks.belt import ask_words
from beltplan.checks.comparison import RULE
from beltplan.checks.limits import SEVERITIES
from beltplan.report.check_json import finding_of, margin_of
from beltplan.report.findings_text import findings_lines
from beltplan.report.words import SAFETY, json_text, paragraph
from beltplan.routes.study import FoundRoute, RouteSearch

_HOW = (
    "Each is judged as `beltplan check` would judge it in the file. The places of the pulleys are taken as they are; "
    "an adjusted pulley stands at its design setting while routes are looked for. What is left out is taken away."
)
_BACK_MARK = "*"
BACK_NOTE = f"{_BACK_MARK} on the belt's back."


def order_words(route: FoundRoute) -> str:
    """The pulleys in the order of belt travel, those on the back marked."""
    pulleys = route.judged.route.pulleys
    return " > ".join(pulley.name + (_BACK_MARK if pulley.on_back else "") for pulley in pulleys)


def route_verdict(route: FoundRoute) -> str:
    """What a route comes to."""
    return route.judged.verdict


def belt_words(route: FoundRoute) -> str:
    """The belt judged, or what to ask for where the built-in list has none."""
    laid = route.judged.route
    if laid.designation is None and laid.to_ask_for_mm is not None:
        return ask_words(laid, laid.to_ask_for_mm)
    return laid.designation or "no stock belt fits"


def margin_words(route: FoundRoute) -> str:
    """The worst margin and where it is."""
    margin = route.judged.margin
    if margin is None:
        return "not known"
    share = f"{100.0 * margin.share:.1f} %" if abs(margin.share) < float("inf") else "a slack span"
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


# A search for routes as text: the best first, where the file's own stands, then the list.


def route_text(search: RouteSearch, most: int) -> str:
    """The search as plain text, the best `most` routes listed, no line over 100 columns."""
    parts = (
        _head(search),
        _routes(search, most),
        [*paragraph(f"Rule: {RULE}.", "  ")],
        findings_lines(search.best.judged.findings, "FINDINGS  of the best"),
    )
    lines = [line for part in parts for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _head(search: RouteSearch) -> list[str]:
    variant = f" (variant: {search.given.variant})" if search.given.variant else ""
    return [
        *paragraph(search.given.title + variant),
        *paragraph(order_words(search.best), "BEST     "),
        *paragraph(route_verdict(search.best), "VERDICT  "),
        *paragraph(own_words(search), "OWN      "),
        *paragraph(searched_words(search), "LOOKED   "),
    ]


def _routes(search: RouteSearch, most: int) -> list[str]:
    shown = search.routes[:most]
    left = len(search.routes) - len(shown)
    more = [f"and {left} more judged (--most)"] if left else []
    head = paragraph(f"in the order of belt travel; {BACK_NOTE} {_HOW}", "ROUTES   ", "  ")
    return [*head, *(line for route in shown for line in _route(route)), *more]


def _route(route: FoundRoute) -> list[str]:
    own = "the file's own" if route.own else ""
    words = (route_verdict(route), belt_words(route), f"worst margin {margin_words(route)}", left_out_words(route), own)
    lead = f"{route.rank:>3}  "
    return [
        *paragraph(order_words(route), lead),
        *paragraph("; ".join(word for word in words if word), " " * len(lead)),
    ]


# A search for routes as JSON: fixed keys, unknown values null, every number finite.

_Object = dict[str, Any]


def route_json(search: RouteSearch, most: int) -> str:
    """The search as one JSON object in plain ASCII, the best `most` routes listed."""
    own = search.own
    return json_text(
        {
            "title": search.given.title,
            "variant": search.given.variant,
            "verdict": route_verdict(search.best),
            "orders": search.orders,
            "found": search.found,
            "judged": len(search.routes),
            "exhaustive": search.exhaustive,
            "beam": None if search.exhaustive else search.beam,
            "seed": None if search.exhaustive else search.seed,
            "own": {"rank": None if own is None else own.rank, "not_found": search.own_missing},
            "notes": [own_words(search), searched_words(search)],
            "routes": [_route_json(route) for route in search.routes[:most]],
            "rule": RULE,
            "caution": SAFETY,
        }
    )


def _route_json(route: FoundRoute) -> _Object:
    judged = route.judged
    return {
        "rank": route.rank,
        "own": route.own,
        "route": [pulley.name for pulley in judged.route.pulleys],
        "back": [pulley.name for pulley in judged.route.pulleys if pulley.on_back],
        "left_out": list(route.left_out),
        "verdict": route_verdict(route),
        "belt": judged.route.designation,
        "margin": margin_of(judged.margin),
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in judged.findings],
    }
