"""Does the belt run clear of everything over the whole travel, is any span too long or too short?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from beltplan.checks.gaps import CLEARANCE_CHECK, GAP_CHECK, MEASURED, RIM_CHECK, bodies_of, gaps_over
from beltplan.checks.limits import OWN, Bound, Check, Finding, bound_for, demanded
from beltplan.checks.overrun import Overrun, overruns
from beltplan.drive.fit import adjuster_word, setting_words
from beltplan.drive.layout import Layout
from beltplan.drive.operation import Operation, why_not_judged
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats

PLACES = 17
"""Settings of the adjuster at which clearances are measured, stops and judged place included."""
_FARTHER = (MEASURED, 2.0 * MEASURED, 4.0 * MEASURED)
"""How far, in times of their limits, to look for the smallest gap before all are measured."""
_SAME_MM = 1e-9
"""A gap that changes less over the travel is the same all over it."""


@dataclass(frozen=True, eq=False)
class Gap:
    """The smallest distance between two parts over the travel, mm; negative where one cuts into the other.

    check: the question it answers (`CLEARANCE_CHECK`, `GAP_CHECK` or `RIM_CHECK`). first, second: names of
    spans, pulleys or obstacles; the belt on a pulley is 'belt on NAME'. second_is: what the second one is, in words
    before its name. own: the span, pulley or obstacle to which each belongs, by their names alone. bound: what is asked
    of it. position: where on the adjuster's travel it is that small, None where it is the same all over. past: where it
    is too small at an end of the usable travel and smaller past that, how: then value_mm is the smallest there, before
    the stop.
    """

    check: str
    value_mm: float
    first: str
    second: str
    second_is: str
    own: tuple[str, str]
    bound: Bound
    position: float | None
    past: Overrun | None = None

    @property
    def subject(self) -> str:
        return f"{self.first} / {self.second}"


def _clearance_findings(route: Route) -> list[Finding]:
    asked, found = {each.name: each for each in (CLEARANCE, SPAN_GAP, RIM_GAP)}, []
    for gap in _gaps(route, near=True):
        check, advice = asked[gap.check], _ADVICE.get(gap.second_is) or _ADVICE[gap.check]
        advice = _if_fitted(route.layout, gap.own) or advice
        wrong, run = _wrong(route, gap), gap.past
        if run is not None:
            at_end = _wrong(route, replace(gap, value_mm=run.end_mm)).replace(f"{gap.first} and {gap.second}", "they")
            wrong = f"{gap.first} and {gap.second} {run.overlap} {run.where}; at the end of the usable travel {at_end}"
            advice = run.advice
        found += check.judge(gap.subject, gap.value_mm, gap.bound, wrong, advice, parts=gap.own)
    return found


def _if_fitted(layout: Layout, names: tuple[str, str]) -> str:
    """What to do about a pulley that the belt leaves out: it may not be on the engine at all; '' of any other."""
    spare = next((pulley.name for pulley in layout.unrouted if pulley.name in names), None)
    take = "take it out of the file" if layout.variant is None else f"write `pulleys: {{{spare}: null}}` in the variant"
    return "" if spare is None else f"if {spare} is not fitted here, {take}; else move one of the two"


def _run_into(gap: Gap, runs: Iterable[Overrun]) -> Gap:
    """The gap, and how the moving pulley runs into the other past the end of the usable travel at which it is."""
    own = (run for run in runs if run.overlap and run.between == {gap.first, gap.second})
    run = next((run for run in own if gap.position is not None and run.end == round(gap.position, 6)), None)
    return gap if run is None else replace(gap, value_mm=run.least_mm, past=run)


def gaps_of(route: Route) -> tuple[Gap, ...]:
    """Every distance that the clearance checks judge, however large, from the same measurement; not what they only ask
    after.
    """
    return tuple(gap for gap in _gaps(route, np.inf) if gap.value_mm < np.inf and not gap.bound.only_caution)


def telling_gaps(route: Route) -> tuple[Gap, ...]:
    """The same, sure to hold the smallest and the one with the least in hand; what is far from both may be inexact.

    Measuring only what may be near is much quicker; whatever is left out is at least `MEASURED` times its limit.
    """
    for times in _FARTHER:
        gaps = tuple(gap for gap in _gaps(route, times) if not gap.bound.only_caution)
        far = min((times * gap.bound.limit for gap in gaps if gap.check != RIM_CHECK), default=0.0)
        least = any(gap.value_mm < times * gap.bound.limit for gap in gaps)
        if least and any(gap.value_mm < far for gap in gaps):
            return gaps
    return gaps_of(route)


def gaps_beside(route: Route, index: int) -> Iterator[Gap]:
    """The distances, with those of its spans, that change where a pulley moves, of what is near enough to matter."""
    return (gap for gap in _gaps(route, near=True, moving=frozenset({index})) if not gap.bound.only_caution)


def _gaps(
    route: Route, times: float = MEASURED, near: bool = False, moving: frozenset[int] | None = None
) -> Iterator[Gap]:
    """The smallest of every distance over the usable travel, the judged place among its settings.

    Of rims too near each other at an end of it the smallest up to the stop past that end.
    """
    setting, travel = _settings(route), route.travel
    path = route.circuit.path_at(setting)
    position = [None] if travel is None else np.abs(travel.position(setting)).tolist()
    for over in gaps_over(bodies_of(route.layout, route.circuit), path, moving, times=times, near=near):
        worst = int(over.gap_mm.argmin())
        least = float(over.gap_mm.flat[worst])
        at = None if (over.gap_mm <= least + _SAME_MM).all() else position[worst]
        gap = Gap(over.check, least, over.first, over.second, over.second_is, over.own, over.bound, at)
        short = over.check == RIM_CHECK and over.bound.severity(least)
        yield _run_into(gap, overruns(route)) if short else gap


def running_gaps_mm(route: Route, operation: Operation | None) -> dict[tuple[str, str], float]:
    """The smallest of every distance where the chosen belt and the loads put the adjuster, by check and subject;
    nothing where it cannot move.
    """
    if route.travel is None or route.setting is None:
        return {}
    ran = () if operation is None else (operation.running.setting, operation.stopped.setting)
    path = route.circuit.path_at(np.unique(np.concatenate([[route.setting], *map(np.ravel, ran)])))
    every = gaps_over(bodies_of(route.layout, route.circuit), path, None, times=MEASURED, near=True)
    return {(over.check, f"{over.first} / {over.second}"): float(over.gap_mm.min()) for over in every}


def _settings(route: Route) -> Floats:
    if route.travel is None or route.setting is None:
        return np.zeros(1)
    return np.append(np.linspace(route.travel.short, route.travel.long, PLACES), route.setting)


def _wrong(route: Route, gap: Gap) -> str:
    where = ""
    if route.travel is not None and gap.position is not None:
        setting = float(route.travel.short + gap.position * (route.travel.long - route.travel.short))
        where = f" ({adjuster_word(route.circuit)} at {setting_words(route.circuit, setting)})"
    apart, touch = f"a gap of {gap.bound.words(gap.value_mm, 'mm')}", gap.value_mm <= 0.0
    # Past the middle of a body its own depth counts no further.
    least = "" if gap.check == RIM_CHECK and gap.second_is == "pulley" else "at least "
    by = f" by {least}{-gap.value_mm:.1f} mm" if gap.value_mm <= -0.05 else ""
    end = f"{by}; the minimum gap is {gap.bound.limit:g} mm{where}" if touch else where
    if gap.check == CLEARANCE_CHECK:
        other = gap.second if gap.second_is == "mount" else f"{gap.second_is} {gap.second}"
        return f"{gap.first} {f'runs through {other}' if touch else f'passes {other} with {apart}'}{end}"
    both = f"{gap.first}{' (its bolt or shaft)' if gap.second_is == 'arm' else ''} and {gap.second}"
    if gap.second_is == "pivot" and touch:
        return f"{gap.first} lies over the {gap.second}{where}"
    if gap.check == GAP_CHECK:
        return f"{both} {'touch' if touch else f'pass with {apart}'}{end}"
    return f"{both} {'overlap' if by else 'touch' if touch else f'have {apart}'}{end}"


_ADVICE = {
    CLEARANCE_CHECK: "move one of them, or lead the belt round with an idler",
    GAP_CHECK: "spread the pulleys: the spans may touch when they flap",
    RIM_CHECK: "leave room for run-out and fingers",
    "mount": "move it with its pulley, turn it or cut it back; or lead the belt round with an idler",
    "arm": "put its bolt or shaft clear of the arm and its pivot, over the whole sweep",
    "pivot": "see that the pivot's bolt and boss end behind that pulley, or keep it clear of them",
}


CLEARANCE = Check(
    CLEARANCE_CHECK,
    "a span through, or too close to, a pulley it does not belong to or an obstacle",
    _clearance_findings,
    limits=("min_clearance_mm",),
)
# The same question finds these two as well.
SPAN_GAP = Check(GAP_CHECK, "two spans too near each other", limits=("min_strand_gap_mm",), called="span gap")
RIM_GAP = Check(
    RIM_CHECK,
    "two rims, a rim and an obstacle or the tensioner's pivot, or what holds a pulley and its arm, too near each other",
    limits=("min_rim_gap_mm",),
)


def _free_span_findings(route: Route) -> list[Finding]:
    found: list[Finding] = []
    for i, span in enumerate(route.loop.span):
        name, bound = route.circuit.span_name(i), demanded(route.layout, "max_free_strand_mm", route.circuit.ends(i))
        wrong = f"{bound.words(float(span), 'mm of free span', decimals=0)}, may flap"
        found += FREE_SPAN.judge(name, float(span), bound, wrong, "an idler or guide half way calms it")
    return found


FREE_SPAN = Check(
    "free_strand",
    "a long free span, which may flap",
    _free_span_findings,
    limits=("max_free_strand_mm",),
    called="free span",
)


# Is a free span long enough for the belt to come straight between two bends?

_HEIGHT = "common practice, no source: a span no shorter than the belt is high"


def _short_span_findings(route: Route) -> list[Finding]:
    """Short spans where the chosen belt puts the adjuster; where tensions are known, `_tight_span_findings` tells."""
    if why_not_judged(route) is None:
        return []
    return [finding for i, span in enumerate(route.loop.span) for finding in _short_at(route, i, float(span), "")]


def _tight_span_findings(operation: Operation) -> list[Finding]:
    """Short spans of the belt at its measuring tension, stopped and running: the shortest of each."""
    chosen, stopped = operation.route.loop.span, operation.stopped.loop.span
    running = operation.running.loop.span.min(axis=(0, 1))
    found = []
    for i, span in enumerate(np.minimum(np.minimum(running, stopped), chosen)):
        when = f" under tension, engine {'stopped' if stopped[i] <= running[i] else 'running'}"
        found += _short_at(operation.route, i, float(span), "" if span == chosen[i] else when)
    return found


def minimum_span(layout: Layout, ends: tuple[str, ...]) -> Bound:
    """The shortest span between two pulleys, by their names, that needs no look: the height of the belt."""
    default = Bound("lower", layout.belt.profile.thickness_mm, "mm", _HEIGHT, only_caution=True)
    return bound_for(layout, "min_span_mm", ends, default=default) or default


def _short_at(route: Route, index: int, span_mm: float, when: str) -> list[Finding]:
    name, bound = route.circuit.span_name(index), minimum_span(route.layout, route.circuit.ends(index))
    wrong = bound.words(span_mm, f"mm of free span{when}")
    wrong += "" if bound.source == OWN else ": less than the belt is high"
    return SHORT_SPAN.judge(name, span_mm, bound, wrong, "move the two apart")


SHORT_SPAN = Check(
    "short_span",
    "a free span shorter than the belt is high: the belt cannot come straight there, and has no tone",
    _short_span_findings,
    _tight_span_findings,
    limits=("min_span_mm",),
)
