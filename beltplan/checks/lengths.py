"""Which other lengths do as well as the belt that is judged: the adjuster stands elsewhere then, and wraps with it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from math import inf

from beltplan.checks.belt import RESERVE, good_words
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding, new_in, problems_of
from beltplan.checks.plan import Plan
from beltplan.drive.belt import Belt, length_words
from beltplan.drive.fit import FittedBelt
from beltplan.drive.operation import operation_of
from beltplan.drive.route import Route, over

_STEP_MM = 0.1
"""As near as a length is told."""


@dataclass(frozen=True)
class Lengths:
    """Lengths along the followed line that do as well as the judged belt.

    good_mm: least and most that has full reserve and neither a problem nor a caution that the judged belt has not, but
    for a caution that every such belt has; None where none is.
    shorter, longer: a problem of the shortest and of the longest belt with full reserve, None where that does as well.
    sound_mm: least and most that have no problem, where the judged belt has one; else None.
    """

    good_mm: tuple[float, float] | None
    shorter: Finding | None
    longer: Finding | None
    sound_mm: tuple[float, float] | None = None


@lru_cache(maxsize=4)
def lengths_of(plan: Plan) -> Lengths | None:
    """The lengths that do as well as the belt judged, and those that do better; None where none has full reserve.

    Each end of what the travel takes is judged by every check, and where it comes out otherwise than the judged belt,
    the length between them at which that begins is found by halving.
    """
    route, layout = plan.route, plan.layout
    if route.acceptable_mm is None:
        return None

    def found(length_mm: float) -> tuple[Finding, ...]:
        belt = replace(layout.belt, length_mm=length_mm, length_kind=layout.belt.profile.line_name)
        return findings_with(route, belt)

    def problems(length_mm: float) -> list[Finding]:
        return problems_of(found(length_mm))

    def against(length_mm: float) -> Finding | None:
        return next(iter(new_in(problems(length_mm), plan.findings)), None)

    def worse(length_mm: float) -> list[Finding]:
        return worse_with(found(length_mm), plan)

    least, most = route.acceptable_mm
    nearest = min(max(route.length_mm, least), most)
    shorter, longer = against(least), against(most)
    if (shorter or longer) and against(nearest):
        return Lengths(None, shorter, longer)
    ends = _end(nearest, least, against), _end(nearest, most, against)
    if not worse(nearest):
        ends = _end(nearest, ends[0], worse), _end(nearest, ends[1], worse)
    better = next((end for end in (least, most) if plan.count("problem") and not problems(end)), None)
    if better is None:
        return Lengths(ends, shorter, longer)
    # Where no belt is judged, or what is wrong is only that the one named does not fit, all between may be sound.
    other = most if better == least else least
    begins = _end(better, nearest if problems(nearest) else other, problems)
    return Lengths(ends, shorter, longer, (min(begins, better), max(begins, better)))


def worse_with(found: Iterable[Finding], plan: Plan) -> list[Finding]:
    """Problems and cautions that a belt of another length has and the one judged has not; its reserve is told apart,
    and what asks after the file is no matter of lengths.
    """
    new = (each for each in new_in(found, plan.findings) if each.severity != "note" and not each.asks_first)
    return [each for each in new if each.check != RESERVE.name]


def sound_belt(plan: Plan) -> FittedBelt | None:
    """The best of the other belts with which nothing is a problem, where something is with the one judged."""
    others = [each for each in plan.route.stock if each != plan.route.judged] if plan.count("problem") else []
    return next((each for each in others if not problems_of(findings_with(plan.route, each.belt))), None)


@lru_cache(maxsize=64)
def findings_with(route: Route, belt: Belt) -> tuple[Finding, ...]:
    """The findings with another belt over the same path; their advice is told nowhere, so no tension is looked for."""
    other = over(route, replace(route.layout, belt=belt))
    return findings_of(other, operation_of(other))


def _end(good_mm: float, end_mm: float, against: Callable[[float], object]) -> float:
    """How far from a length that is good others are as well, toward an end, mm."""
    if not against(end_mm):
        return end_mm
    while abs(end_mm - good_mm) > _STEP_MM:
        middle = (good_mm + end_mm) / 2.0
        good_mm, end_mm = (good_mm, middle) if against(middle) else (middle, end_mm)
    return good_mm


def lengths_words(plan: Plan) -> str:
    """Which lengths do; where none does, why; where the travel takes more than that, what is wrong with those."""
    lengths, (route, belt) = lengths_of(plan), (plan.route, plan.layout.belt)
    if (lengths is None or lengths.sound_mm is None) and (other := sound_belt(plan)):
        return f"{other.designation} has no problem, but not full reserve: {_to_judge(belt, other)}"
    if lengths is None or route.acceptable_mm is None:
        return good_words(route, belt.kind_words, "will do", inches=True)
    # One interval: that of the belts which are better than the one judged, where there are such.
    good = lengths.sound_mm or lengths.good_mm
    told = partial(good_words, route, belt.kind_words, inches=True)
    kinds, found = ("shorter ones down", "longer ones up"), (lengths.shorter, lengths.longer)
    # Belts are sold by the whole millimetre: less beyond is not worth telling.
    beyond = [
        (end_mm, ones, f"but then {problem.about.partition('. ')[0]}")
        for end_mm, ones, problem, good_mm in zip(route.acceptable_mm, kinds, found, good or (-inf, inf), strict=True)
        if problem and abs(end_mm - good_mm) >= 1.0
    ]
    if good is None:
        _, _, but = min(beyond, key=lambda end: abs(end[0] - route.length_mm))
        return told(does=f"has full reserve, {but}")
    others = [f"; {ones} to {length_words(belt.profile, mm, inches=True)} fit too, {but}" for mm, ones, but in beyond]
    least, most = lengths.sound_mm or (inf, -inf)
    sold = next((each for each in route.stock if least <= each.line_mm <= most), None)
    take = f": take {sold.designation} ({_to_judge(belt, sold)})" if sold else ""
    return told(does=_does(plan, lengths) + take, good=good) + "".join(others)


def _to_judge(belt: Belt, sold: FittedBelt) -> str:
    """What to write to have another belt judged; what the file says of its belt beside a designation stays there."""
    other = sold.belt
    if belt == Belt(belt.profile, belt.ribs, belt.length_mm, belt.length_kind):
        return f"`belt: {sold.designation}` judges it"
    kind = f", length_kind: {other.length_kind}" if other.profile.is_classical else ""
    return f"`length_mm: {other.length_mm:.8g}{kind}` under `belt` judges it"


def _does(plan: Plan, lengths: Lengths) -> str:
    """What the lengths told have, which the belt judged has not; without such a difference that they do."""
    judged = plan.route.judged
    if judged is not None and lengths.sound_mm:
        return "has no problem"
    if judged is not None and judged.verdict == "marginal":
        return "has full reserve"
    return "would do" if plan.count("problem") and not lengths.sound_mm else "will do"
