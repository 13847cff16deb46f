"""Does the belt go far enough round every pulley?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.checks.finding import Finding, judge
from beltplan.checks.limits import Bound, bound_for, is_overridden

CHECK = "wrap"
MEANING = "too little wrap for what the pulley drives: the first thing that squeals"


def wrap_findings(route: Route) -> list[Finding]:
    """Wraps below the least for the pulley's role, or close to it."""
    found: list[Finding] = []
    for pulley, wrap in zip(route.pulleys, np.degrees(route.loop.wrap), strict=True):
        bound = least_wrap(route.layout, pulley)
        if bound is not None:
            message = _advice(route.layout, pulley, float(wrap), bound)
            found += judge(CHECK, pulley.name, float(wrap), bound, message, (pulley.name,))
    return found


def least_wrap(layout: Layout, pulley: Pulley) -> Bound | None:
    """The wrap that a pulley needs: the layout's own number, else by rating, belt side and role."""
    key = "min_wrap_deg"
    if not is_overridden(layout, key, pulley):
        if _is_big_alternator(layout, pulley):
            key = "min_wrap_big_alternator_deg"
        elif pulley.on_back and pulley.role in ("water_pump", "fan"):
            key = "min_wrap_on_back_deg"
    return bound_for(layout, key, (pulley.name,), pulley.role)


def _is_big_alternator(layout: Layout, pulley: Pulley) -> bool:
    bound = bound_for(layout, "big_alternator_A", (pulley.name,), pulley.role)
    return (
        pulley.role == "alternator"
        and pulley.rated_A is not None
        and bound is not None
        and pulley.rated_A > bound.limit
    )


def _advice(layout: Layout, pulley: Pulley, wrap: float, bound: Bound) -> str:
    why = f" for {pulley.rated_A:g} A" if _is_big_alternator(layout, pulley) and pulley.rated_A is not None else ""
    wanted = bound.limit if wrap < bound.limit or bound.caution is None else bound.caution
    short = wanted - wrap
    if short <= 0.0:
        return f"{wrap:.1f} deg of wrap{why}, little over the {wanted:g} wanted: more would be safer"
    cure = (
        "set it further into the belt, or move a neighbour away"
        if pulley.adjuster is not None and pulley.guides_only
        else "lead the belt further round it with an idler beside it, by moving a neighbour, or by another order"
    )
    return f"{wrap:.1f} deg of wrap{why}, {short:.1f} short of {wanted:g}: {cure}"
