"""What is asked first of a plan with problems: what may be typed otherwise than meant, where trying that helps."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from beltplan.checks.doubts import DOUBT, asked_first, doubtful_file, low_tension_asked
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import FIRST, Finding, Severity, in_order
from beltplan.checks.plan import Plan, plan_of, plan_on
from beltplan.checks.pulleys import TURNED
from beltplan.drive.layout import Layout, Rotation
from beltplan.drive.mends import Mend, mends_text, tries_of
from beltplan.drive.pulleys import Slide
from beltplan.drive.route import NoBeltPath

_TURNS_WRONG = ("turns", "slack_side")
"""Checks of which one speaks where a rotation is typed the wrong way round."""
_FAR_OFF = -0.25
_SEVERAL = 3
"""Where no limit is missed by such a share of it, and fewer problems stand, it is a drive to be mended, no slip of
typing: common practice, no source.
"""
_LEAST_MENDED = 3
"""So many findings must go before the rotation is asked after; fewer, where a tensioner then no longer stands in the
tight span and nothing new is found: common practice, no source.
"""


_COLLISIONS = ("clearance", "strand_gap", "rim_gap")
_OF_PLACE = ("wrap", *_COLLISIONS)
"""Checks whose problems a wrong place makes."""
_PLACES = ("at", "pivot", "from", "to")
_OF_TENSION = ("slip", "strand_tension")
_MOST_LEFT = 1.0 / 3.0
"""A place is asked after where at least two of them go and this share stays at most: common practice, no source."""


def with_questions(plan: Plan) -> Plan:
    """The same, led by the questions whether a place, a set tension or `rotation` is typed as it is meant.

    A guess is a note: commands that do not make it count as many cautions.
    """
    hangs = any(each.severity == "problem" and each.check in _OF_TENSION for each in plan.findings)
    tried, settled = _tries_asked(plan)
    asked, turned = tried + (low_tension_asked(plan.layout) if hangs else []), with_rotation_asked(plan)
    if not asked:
        return turned
    # What is tried and leaves no problem makes other guesses at the same pulley idle.
    idle = [f for f in plan.findings if settled and (f.check, f.subject) == (DOUBT.name, tried[0].subject)]
    others = [f for f in turned.findings if not (f.asks_first and f in idle)]
    return replace(turned, findings=in_order([*(replace(each, severity="note") for each in asked), *others]))


def _tries_asked(plan: Plan) -> tuple[list[Finding], bool]:
    """Whether one value, or the order of two, is typed as meant, where most problems go without it (tried).

    With whether no problem is left then.
    """
    problems, standing = plan.count("problem"), _problems(findings_of(plan.route, None))
    far = min((each.margin for each in standing), default=0.0) <= _FAR_OFF
    if not (far or len(standing) >= _SEVERAL) or doubtful_file(plan.layout):
        return [], False
    named = Counter(name for each in standing for name in each.parts)
    names = sorted(filter(named.__contains__, plan.layout.route), key=lambda name: -named[name])
    mends = tries_of(plan.layout, names, strange=problems > 1)
    found = [_problems(findings_of(mend.route, None)) for mend in mends]
    bad, left = _of_place(plan.findings), [_of_place(each) for each in found]
    most = min(bad - 2, _MOST_LEFT * bad, min(left, default=bad))
    tried = list(zip(mends, found, left, strict=True))
    # Where only all that stands must go, running must be good too.
    good = [
        mend if few <= most and not mend.rare else replace(mend, rare=True)
        for mend, then, few in tried
        if (few <= most and not mend.rare) or (not then and (mend.rare or problems > 1))
    ] or [mend for mend, then, _ in tried if _clears(plan, mend, standing, then)]
    judged = ((mend, plan_on(mend.route).count("problem")) for mend in good)
    best = sorted((each for each in judged if not (each[0].rare and each[1])), key=lambda each: (each[1], each[0].rare))
    told = mends_text(best)
    if not told or best[0][1] >= problems:
        return [], False
    if best[0][1] and not (far and (_collides(plan) or not _is_place(best[0][0]))):
        return [], False
    subject = best[0][0].keys[:2][-1]
    placed = "with its place " * _is_place(best[0][0])
    wrong = f"{problems} problem{'s'[: problems > 1]} {placed}as it is written"
    advice = told[0].lower() + told[1:]
    return [asked_first(subject, wrong, advice)], best[0][1] == 0


def _is_place(mend: Mend) -> bool:
    return mend.keys[-1] in _PLACES


def _collides(plan: Plan) -> bool:
    """Whether anything comes too near: where wrap, slip and travel alone are wrong, all may be meant as typed."""
    return any(each.check in _COLLISIONS for each in _problems(plan.findings))


def _problems(findings: Sequence[Finding]) -> list[Finding]:
    return [each for each in findings if each.severity == "problem"]


def _clears(plan: Plan, mend: Mend, now: Sequence[Finding], then: Sequence[Finding]) -> bool:
    """Whether a sign put back brings nothing new, and leaves no gap or wrap of the pulley that was a problem.

    One problem is enough where the pulley overlaps something, or its slide was twice as long.
    """
    if "sign" not in mend.question:
        return False
    name = mend.keys[1]
    before, after = set(map(_about, now)), set(map(_about, then))
    own = [
        each for each in plan.findings if each.severity == "problem" and each.check in _OF_PLACE and name in each.parts
    ]
    gone = [each for each in own if _about(each) not in after]
    # A roller that runs into another only past its usable travel says nothing of the other's place.
    past = {gap.subject for gap in plan.gaps if gap.past is not None}
    hit = [each for each in gone if each.check in ("rim_gap", "clearance") and each.subject not in past]
    overlaps = any((each.value or 0.0) <= 0.0 for each in hit)
    long = _slide_mm(plan.layout, name) > 1.6 * _slide_mm(mend.route.layout, name)
    return after < before and (len(gone) > 1 or overlaps or long)


def _slide_mm(layout: Layout, name: str) -> float:
    held = layout.pulleys[name].adjuster
    return math.dist(held.start_mm, held.end_mm) if isinstance(held, Slide) else 0.0


def _of_place(findings: Sequence[Finding]) -> int:
    return sum(each.severity == "problem" and each.check in _OF_PLACE for each in findings)


def with_rotation_asked(plan: Plan) -> Plan:
    """The same, led by the question whether `rotation` is right where most findings go the other way round (tried)."""
    against = [finding for finding in plan.findings if finding.severity != "note"]
    if not any(finding.check in _TURNS_WRONG for finding in against):
        return plan
    other: Rotation = "counterclockwise" if plan.layout.rotation == "clockwise" else "clockwise"
    try:
        turned = plan_of(replace(plan.layout, rotation=other)).findings
    except NoBeltPath:
        return plan
    left = {_about(finding) for finding in turned if finding.severity != "note"}
    gone = [finding for finding in against if _about(finding) not in left]
    tight = left <= set(map(_about, against)) and any(finding.check == "slack_side" for finding in gone)
    turning = [finding for finding in against if finding.check == "turns"]
    said = {pulley.name for pulley in plan.layout.routed if pulley.turns not in (None, "either")}
    all_wrong = {finding.subject for finding in turning} == said and len(said) > 1
    if not all_wrong and ((len(gone) < _LEAST_MENDED and not tight) or 2 * len(left) > len(against)):
        return plan
    # Where every pulley that says how it turns would turn wrong, the one question stands for them.
    others = [finding for finding in plan.findings if not (all_wrong and finding in turning)]
    went, count = [finding for finding in gone if finding in others], len(against) - all_wrong * len(turning)
    share = "all of these" if len(went) == count else f"{len(went)} of these {count}"
    goes = f"{share} go (tried): {', '.join(dict.fromkeys(each.subject for each in went))}"
    wrong = f"turned the other way round {goes}"
    if all_wrong:
        none = f"none of {', '.join(each.subject for each in turning)} turns as its `turns` says"
        wrong = f"{none}; turned the other way round they do{f', and {goes}' if went else ' (tried)'}"
    advice = f"is `rotation` right, seen from the front? If not, write `rotation: {other}`"
    numbers = (None, None, "", FIRST)
    # A guess counts only where it stands for what is counted.
    severity: Severity = gone[0].severity if all_wrong else "note"
    question = TURNED.find(severity, "rotation", wrong, advice, parts=(), numbers=numbers)
    return replace(plan, findings=in_order([question, *others]))


def _about(finding: Finding) -> tuple[str, object]:
    # The name of a span is turned about with the belt's travel, its pulleys are not.
    return finding.check, frozenset(finding.parts) or finding.subject
