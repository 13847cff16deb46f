"""A search for routes as text and as JSON."""

from __future__ import annotations

import math
from collections.abc import Container
from typing import Any

from beltplan.checks.belt import no_belt_words
from beltplan.checks.comparison import ORDER, RULE, Column, Comparison
from beltplan.checks.limits import SEVERITIES, all_of, begun
from beltplan.checks.margin import Margin
from beltplan.checks.plan import counted
from beltplan.layoutfile.edits import name_text
from beltplan.report.answer import answered, findings_blocks, report_of, title_of
from beltplan.report.check_json import finding_of, margin_of
from beltplan.report.rows import UNKNOWN, SideBySide
from beltplan.report.screen import Block, Columns, Footnotes, Paragraph, Report
from beltplan.report.words import SAFETY, fields_of, json_text, letters
from beltplan.routes.stations import BEAM_WIDTH, SEED
from beltplan.routes.study import FoundRoute, RouteSearch

_HOW = (
    "Each is judged as `beltplan check` would judge it in the file. Pulleys stay where they are; one on an adjuster "
    "stands at its design setting while routes are looked for. A pulley left out is taken off the engine. "
    "Of routes that rank the same the file's own comes first."
)
_BACK_MARK = "*"
_BACK_NOTE = f"{_BACK_MARK} on the belt's back."


def _order_words(route: FoundRoute) -> str:
    pulleys = route.plan.route.pulleys
    return " > ".join(pulley.name + (_BACK_MARK if pulley.on_back else "") for pulley in pulleys)


def belt_words(route: FoundRoute) -> str:
    return route.plan.route.designation or no_belt_words(route.plan.route)


def _left_out_words(route: FoundRoute) -> str:
    return f"without {', '.join(route.left_out)}" if route.left_out else ""


def _own_words(search: RouteSearch) -> str:
    own = search.own
    if own is None:
        return f"the file's own route is not among these: {search.own_missing}"
    if len(search.routes) == search.found == 1:
        return "the file's own route is the only one"
    others = search.alike(own.rank) - 1
    alike = f", as {'does 1 other' if others == 1 else f'do {others} others'}" if others else ""
    return f"the file's own route ranks {'first' if own.rank == 1 else own.rank} of {len(search.routes)}{alike}"


def _to_do(search: RouteSearch) -> str:
    """What makes the best route that of the file."""
    best, given = search.best.plan.route, search.given.pulleys
    sides = [f"`belt_side: {pulley.belt_side}` on {pulley.name}" for pulley in best.pulleys
             if given[pulley.name].side_open or given[pulley.name].belt_side != pulley.belt_side]  # fmt: skip
    listed = f"`route: [{', '.join(name_text(pulley.name) for pulley in best.pulleys)}]`"
    return f"write {all_of([listed, *sides])} in the file"


def _number(search: RouteSearch, place: int) -> str:
    """By which a route is called in lists and drawings: its rank, with a letter where others share it."""
    rank = search.routes[place].rank
    return str(rank) if search.alike(rank) == 1 else f"{rank}{letters(place + 1 - rank).lower()}"


def _none_works(search: RouteSearch) -> str:
    if not search.best.plan.count("problem"):
        return ""
    judged = len(search.routes)
    return f"none of the {judged} routes judged works" if judged > 1 else "the only route there is does not work"


def margin_words(margin: Margin | None, is_caution: bool = False, spans: Container[str] = ()) -> str:
    """What comes nearest to its limit, and how near; of what is far beyond it no percents. spans: their names."""
    if margin is None:
        return "nothing to measure it by"
    side = "inside" if margin.share >= 0.0 else "short of" if margin.of_least else "beyond"
    told = f"{abs(100.0 * margin.share):.1f} % {side} its limit"
    if margin.share <= -1.0:
        told = "no gap at all" if margin.of in ("clearance", "span gap", "rim gap") else f"far {side} its limit"
    if margin.share == -math.inf:
        told = "a span hangs slack"
    of = margin.of if margin.where == "belt" else f"{margin.of} of {margin.where}"
    if " / " in margin.where:
        of = " against ".join(f"{'span ' * (part in spans)}{part}" for part in margin.where.split(" / "))
    return f"{of}, {told}{', a caution' * is_caution}"


def _tightest(route: FoundRoute) -> str:
    plan, circuit = route.plan, route.plan.route.circuit
    spans = [*map(circuit.span_name, range(len(circuit.pulleys)))]
    return margin_words(plan.margin, plan.short_is_caution, spans)


def _searched_words(search: RouteSearch) -> str:
    loops = f"{search.found:,} route{'' if search.found == 1 else 's'} can be laid"
    if search.exhaustive:
        every = "the only order" if search.orders == 1 else f"all {search.orders:,} orders and sides"
        words = f"looked at {every}: {loops}"
    else:
        words = (
            f"NOT EXHAUSTIVE: of about {search.orders:.1e} orders and sides a beam of {BEAM_WIDTH:,} part routes was "
            f"followed (seed {SEED}): {loops}; there may be better ones"
        )
    if len(search.routes) < search.found:
        words += f"; the {len(search.routes)} with the best wraps were judged"
    return words


# A search for routes as text: the best first, where the file's own stands, then the list.


def route_report(search: RouteSearch, most: int, full: bool = False) -> Report:
    notes, best, none = Footnotes(), search.best, _none_works(search)
    found = [finding for finding in best.plan.findings if full or finding.severity != "note"]
    verdict = counted(best.plan.findings, "problem", "caution") if none else best.plan.verdict
    told = [
        *([("NONE", f"{none}; nearest{', your own' * best.own}:")] if none else []),
        ("" if none else "BEST", "keep your route: " * (best.own and not none) + _order_words(best)),
        ("", "; ".join(filter(None, (verdict, best.plan.route.designation)))),
        *([] if none or best.own else [("DO", _to_do(search))]),
        ("OWN", _own_words(search)),
        ("LOOKED", _searched_words(search).removeprefix("looked ")),
        *([("", _HOW), ("", f"Rule: {RULE}.")] if full else []),
    ]
    more = len(search.routes) - most
    parts: list[list[Block]] = [
        [title_of(search.given), *answered(told)],
        [
            *answered([("ROUTES", f"in the order of belt travel; {_BACK_NOTE}")]),
            *(block for place in range(len(search.routes))[:most] for block in _route(search, place)),
            *([f"and {more} more judged (--most)"] if more > 0 else []),
        ],
        findings_blocks(found, notes, f"TO DO  for the {'nearest' if none else 'best'}"),
    ]
    return report_of(search.given.units, parts, notes, full)


def _route(search: RouteSearch, place: int) -> list[Block]:
    route = search.routes[place]
    own = "the file's own" if route.own else ""
    words = (route.plan.verdict, belt_words(route), f"tightest: {_tightest(route)}", _left_out_words(route), own)
    lead = f"{_number(search, place):>3}  "
    return [Paragraph(_order_words(route), lead), Paragraph("; ".join(filter(None, words)), " " * len(lead))]


def side_by_side(search: RouteSearch, most: int) -> SideBySide:
    shown = search.routes[:most]
    numbers = tuple(_number(search, place) for place in range(len(shown)))
    named = zip(numbers, shown, strict=True)
    columns = tuple(Column(f"order {number}", each.plan.route.layout, each.plan) for number, each in named)
    comparison = Comparison(columns, tuple(range(len(shown))), tuple(route.rank for route in shown))
    rows = (
        ("belt", tuple(map(belt_words, shown))),
        ("tightest", tuple(map(_tightest, shown))),
        ("left out", tuple(_left_out_words(route) or UNKNOWN for route in shown)),
    )
    searched = _sentence(_searched_words(search))
    note = f"{_BACK_NOTE} {searched} {_sentence(_own_words(search))} Ranked by {ORDER}."
    verdicts = tuple(route.plan.verdict + ("; the file's own route" if route.own else "") for route in shown)
    none = _none_works(search)
    own = ", the file's own route" * search.best.own
    best = f"Best: order {numbers[0]}{own}. It {search.best.plan.verdict}"
    head = f"{_sentence(none)} Order {numbers[0]} comes nearest" if none else best
    table = Columns(numbers, rows)
    left = len(search.routes) - most
    head += f"; the best {most} of {len(search.routes)} are drawn, --most draws more" if left > 0 else ""
    return SideBySide(comparison, tuple(map(_order_words, shown)), verdicts, table, head, note, badges=numbers)


def _sentence(words: str) -> str:
    return f"{begun(words)}."


# A search for routes as JSON: fixed keys, unknown values null, every number finite.


def route_json(search: RouteSearch, most: int) -> str:
    own = search.own
    return json_text(
        {
            **fields_of(search.given, "title", "variant"),
            "verdict": search.best.plan.verdict,
            "orders": search.orders,
            "found": search.found,
            "judged": len(search.routes),
            "exhaustive": search.exhaustive,
            "beam": None if search.exhaustive else BEAM_WIDTH,
            "seed": None if search.exhaustive else SEED,
            "own": {"rank": None if own is None else own.rank, "not_found": search.own_missing},
            "notes": [_own_words(search), _searched_words(search)],
            "routes": [_route_json(route) for route in search.routes[:most]],
            "rule": RULE,
            "caution": SAFETY,
        }
    )


def _route_json(route: FoundRoute) -> dict[str, Any]:
    plan = route.plan
    return {
        "rank": route.rank,
        "own": route.own,
        "route": [pulley.name for pulley in plan.route.pulleys],
        "back": [pulley.name for pulley in plan.route.pulleys if pulley.on_back],
        "left_out": list(route.left_out),
        "verdict": route.plan.verdict,
        "belt": plan.route.designation,
        "margin": margin_of(plan.margin),
        "counts": {severity: plan.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in plan.findings],
    }
