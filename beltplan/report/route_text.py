"""A search for routes as text: the best first, where the file's own stands, then the list."""

from __future__ import annotations

from beltplan.report.route_words import (
    BACK_NOTE,
    HOW,
    belt_words,
    left_out_words,
    margin_words,
    order_words,
    own_words,
    route_verdict,
    searched_words,
)
from beltplan.report.tables import paragraph
from beltplan.report.text import findings_lines
from beltplan.report.words import CAUTION
from beltplan.studies.ranking import RULE
from beltplan.studies.route_search import FoundRoute, RouteSearch


def route_text(search: RouteSearch, most: int) -> str:
    """The search as plain text, the best `most` routes listed, no line over 100 columns."""
    parts = (
        _head(search),
        _routes(search, most),
        [*paragraph(f"Rule: {RULE}.", "  ")],
        findings_lines(search.best.judged.findings, "FINDINGS  of the best"),
    )
    lines = [line for part in parts for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(CAUTION, "CAUTION  ")])


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
    head = paragraph(f"in the order of belt travel; {BACK_NOTE} {HOW}", "ROUTES   ", "  ")
    return [*head, *(line for route in shown for line in _route(route)), *more]


def _route(route: FoundRoute) -> list[str]:
    own = "the file's own" if route.own else ""
    words = (route_verdict(route), belt_words(route), f"worst margin {margin_words(route)}", left_out_words(route), own)
    lead = f"{route.rank:>3}  "
    return [
        *paragraph(order_words(route), lead),
        *paragraph("; ".join(word for word in words if word), " " * len(lead)),
    ]
