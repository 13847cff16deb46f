"""A search for routes as JSON: fixed keys, unknown values null, every number finite."""

from __future__ import annotations

import math
from typing import Any

from beltplan.checks.finding import SEVERITIES
from beltplan.report.json_lines import json_text
from beltplan.report.json_result import finding_of
from beltplan.report.route_words import own_words, route_verdict, searched_words
from beltplan.report.words import CAUTION
from beltplan.studies.ranking import RULE, Margin
from beltplan.studies.route_search import FoundRoute, RouteSearch

Object = dict[str, Any]


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
            "routes": [_route(route) for route in search.routes[:most]],
            "rule": RULE,
            "caution": CAUTION,
        }
    )


def _route(route: FoundRoute) -> Object:
    judged = route.judged
    return {
        "rank": route.rank,
        "own": route.own,
        "route": [pulley.name for pulley in judged.route.pulleys],
        "back": [pulley.name for pulley in judged.route.pulleys if pulley.on_back],
        "left_out": list(route.left_out),
        "verdict": route_verdict(route),
        "belt": judged.route.designation,
        "margin": _margin(judged.margin),
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in judged.findings],
    }


def _margin(margin: Margin | None) -> Object | None:
    """A share of null with its place named means a slack strand."""
    if margin is None:
        return None
    share = margin.share if math.isfinite(margin.share) else None
    return {"share": share, "of": margin.of, "where": margin.where}
