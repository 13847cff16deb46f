"""What may be typed otherwise than meant, where trying that helps: of a plan with problems, and where no belt runs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Container, Sequence
from dataclasses import replace

from beltplan.checks.doubts import asked_first, doubtful_file, low_tension_asked
from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding, in_order, problems_of
from beltplan.checks.plan import Plan
from beltplan.drive.layout import Layout
from beltplan.drive.mends import Mend, back_tries_of, mends_of, mends_text, tries_of
from beltplan.drive.operation import operation_of
from beltplan.drive.way_round import PathFault

_FAR_OFF = -0.25
_SEVERAL = 3
"""Where no limit is missed by such a share of it, and fewer problems stand, it is a drive to be mended, no slip of
typing but of a side: common practice, no source.
"""
_BY_HALF = -0.5
"""Where a limit is missed by half of it, one is tried that leaves half the problems: common practice, no source."""
_OF_TENSION = ("slip", "strand_tension")


def with_questions(plan: Plan) -> Plan:
    """The same, led by the questions whether a place, a side, the order or a set tension is typed as it is meant.

    A guess is a note: commands that do not make it count as many cautions.
    """
    hangs = any(each.check in _OF_TENSION for each in problems_of(plan.findings))
    tried = _tries_asked(plan)
    asked = tried + (low_tension_asked(plan.layout) if hangs else [])
    # What is asked after first makes all else that is said of the same value idle.
    others = [each for each in plan.findings if not (each.keys and each.keys in [one.keys for one in asked])]
    return replace(plan, findings=in_order([*(replace(each, severity="note") for each in asked), *others]))


def _tries_asked(plan: Plan) -> list[Finding]:
    """Whether one value, or the order of two, is typed as meant, where without it none is left, or half (tried)."""
    problems = plan.count("problem")
    standing = problems_of(findings_of(plan.route, None)) if problems else []
    if not standing or doubtful_file(plan.layout):
        return []
    named = Counter(name for each in standing for name in each.parts)
    names = sorted(filter(named.__contains__, plan.layout.route), key=lambda name: -named[name])
    many = len(standing) >= _SEVERAL or min(each.margin for each in standing) <= _FAR_OFF
    mends = tries_of(plan.layout, names, places=len(standing) > 1) if many else back_tries_of(plan.layout)
    left = [(mend, problems_of(findings_of(mend.route, None))) for mend in mends]
    clean = [mend for mend, found in left if not found]
    works = [mend for mend in map(_judged, clean) if not mend.problems] or _halved(standing, left)
    works = [mend for mend in works if mend.problems < problems] or _eased(standing, left, problems)
    if not works:
        return []
    sizes = {mend.keys for mend in works if mend.is_size}
    beside = (mend for mend, found in left if 0 < 2 * len(found) <= len(standing) and mend.keys in sizes)
    told = mends_text([*works, *map(_judged, beside)], "it has {}")
    wrong = f"{problems} problem{'s'[: problems > 1]} with the file as it is written"
    keys = works[0].keys
    return [asked_first(keys[:2][-1], wrong, told[0].lower() + told[1:], keys)]


def _halved(standing: Sequence[Finding], left: Sequence[tuple[Mend, list[Finding]]]) -> list[Mend]:
    """Where a pulley has little wrap, or the belt runs through something: the other orders, and smooth pulleys taken to
    the back, that take that away and leave the fewest problems, half of them at most. Of smooth guides also those that
    take a problem away and add none.
    """
    known = {each.issue for each in standing}
    worst = {each.issue for each in standing if each.margin <= _BY_HALF}
    plain = [(mend, found) for mend, found in left if mend.keys == ("route",) or _to_the_back(mend)]
    better = [
        mend
        for mend, found in plain
        if (2 * len(found) <= len(standing) and worst - {each.issue for each in found})
        or (_guides(mend) and {each.issue for each in found} < known)
    ]
    tried = [_judged(mend) for mend in better]
    fewest = min((mend.problems for mend in tried), default=0)
    return [mend for mend in tried if mend.problems == fewest]


def _eased(standing: Sequence[Finding], left: Sequence[tuple[Mend, list[Finding]]], problems: int) -> list[Mend]:
    """Smooth guides taken to the back that add no problem, and with which some wrap lacks half as much or less."""
    before, eased = {each.issue: each for each in standing}, list[Mend]()
    for mend, found in left:
        pairs = [(each, before.get(each.issue)) for each in found]
        wraps = [(now, was) for now, was in pairs if was and now.check == "wrap"]
        if _guides(mend) and wraps and None not in [was for _, was in pairs]:
            now, was = min(wraps, key=lambda pair: pair[0].margin / pair[1].margin)
            if 2.0 * now.margin >= was.margin and _judged(mend).problems <= problems:
                told = f"{mend.words}, {now.subject} has {now.value:.1f} deg of wrap, not {was.value:.1f}"
                eased.append(replace(mend, words=told, problems=problems, eases=True))
    return eased


def _judged(mend: Mend) -> Mend:
    """The same with how many problems it leaves."""
    found = findings_of(mend.route, operation_of(mend.route))
    return replace(mend, problems=len(problems_of(found)))


def _to_the_back(mend: Mend) -> bool:
    return mend.keys[-1] == "belt_side" and mend.route.layout.pulleys[mend.keys[1]].on_back


def _guides(mend: Mend) -> bool:
    return _to_the_back(mend) and mend.route.layout.pulleys[mend.keys[1]].guides_only


# Where no belt runs.

_GRAZES = 0.05
"""Rims that share no more of the sum of their radii are set too near, no slip of typing: common practice, no source."""


def mends_told(
    layout: Layout,
    faults: Sequence[PathFault],
    first: Sequence[str],
    line_of: Callable[..., int],
    sure: Container[str] = (),
) -> str:
    """The single changes that give a belt its path, in words; empty where none does.

    first: pulleys that are looked at before all others. line_of: in the file, by keys. sure: last keys of values that
    are not in doubt.
    """
    overlap = max(fault.overlap for fault in faults)
    mends = () if 0.0 < overlap <= _GRAZES else mends_of(layout, first, overlap=overlap > 0.0)
    return mends_text(
        replace(_judged(mend), words=f"{mend.words} (line {line_of(*mend.keys)})")
        for mend in mends
        if mend.keys[-1] not in sure
    )
