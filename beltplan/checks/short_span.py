"""Is a free span long enough for the belt to come straight between two bends?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.route import Route
from beltplan.checks.clearance import strand_name
from beltplan.checks.finding import Finding, judge
from beltplan.checks.limits import Bound, bound_for
from beltplan.geometry.vectors import Floats
from beltplan.tension.operation import Operation, why_not_judged

CHECK = "short_span"
MEANING = "a free span shorter than the belt is high: the belt cannot come straight there, and has no tone"
HEIGHT = "common practice, no source: a span no shorter than the belt is high"


def short_span_findings(route: Route) -> list[Finding]:
    """Short spans where the chosen belt puts the adjuster; where tensions are known, `tight_span_findings` tells."""
    return _short(route, route.loop.span) if why_not_judged(route) is not None else []


def tight_span_findings(operation: Operation) -> list[Finding]:
    """Short spans of the belt at its measuring tension, stopped and running: the shortest of each."""
    running, stopped = operation.running.loop.span, operation.stopped.loop.span
    least = np.minimum(np.minimum(running.min(axis=(0, 1)), stopped), operation.route.loop.span)
    return _short(operation.route, least)


def least_span(layout: Layout, ends: tuple[str, ...]) -> Bound:
    """The shortest span between two pulleys, by their names, that needs no look: the height of the belt."""
    default = Bound("lower", layout.belt.profile.thickness_mm, "mm", HEIGHT, only_caution=True)
    return bound_for(layout, "min_span_mm", ends, default=default) or default


def _short(route: Route, span_mm: Floats) -> list[Finding]:
    found: list[Finding] = []
    for i, span in enumerate(span_mm):
        name, ends = strand_name(route, i), tuple(pulley.name for pulley in route.strands[i])
        message = f"only {span:.1f} mm of free span, less than the belt is high: move the two apart"
        found += judge(CHECK, name, float(span), least_span(route.layout, ends), message, (name,))
    return found
