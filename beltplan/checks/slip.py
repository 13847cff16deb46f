"""Does a pulley slip?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.inertias import USUAL_KGM2, USUAL_SOURCE
from beltplan.belts.route import Route
from beltplan.checks.finding import SEVERITIES, Finding, judge, plain
from beltplan.checks.limits import OWN, Bound, demanded
from beltplan.geometry.vectors import Floats
from beltplan.tension.mechanics import CONDITIONS, Condition, source_of
from beltplan.tension.operation import Operation, accelerated, why_not_judged
from beltplan.tension.worst import WorstPoint, worst_point

CHECK = "slip"
MEANING = "a pulley that asks more than its tension and wrap can carry: it slips and squeals"
REV_CHECK = "slip_on_revs"
REV_MEANING = "a pulley that slips while the engine speeds up or slows down: the chirp at gear change"


def not_judged_findings(route: Route) -> list[Finding]:
    """A note where slip cannot be judged, and why."""
    reason = why_not_judged(route)
    if reason is None and all(pulley.load is None for pulley in route.pulleys):
        reason = "no pulley has a load"
    return [] if reason is None else [plain(CHECK, "note", "belt", f"slip not judged: {reason}", OWN)]


def revving_findings(operation: Operation) -> list[Finding]:
    """A note where changes of speed cannot be judged, or only with inertias that stand in.

    Idlers and tensioners are not named: what stands in for them asks a tenth of a newton metre.
    """
    if operation.route.layout.engine.rev_up_rpm_per_s is None:
        message = "slip on revs not judged: give engine.rev_up_rpm_per_s, and inertia_kgm2 where you know it"
        return [plain(REV_CHECK, "note", "belt", message, OWN)] if operation.carries_load else []
    driven = [pulley for pulley in operation.route.pulleys[1:] if not pulley.guides_only]
    unknown = [pulley for pulley in driven if pulley.inertia_kgm2 is None]
    if not unknown:
        return []
    usual = [f"{pulley.name} {USUAL_KGM2[pulley.role]:g}" for pulley in unknown if pulley.role in USUAL_KGM2]
    others = [pulley.name for pulley in unknown if pulley.role not in USUAL_KGM2]
    words = [f"usual inertias assumed, kg m2: {', '.join(usual)}"] if usual else []
    words += [f"not counted, no usual inertia: {', '.join(others)}"] if others else []
    message = f"slip on revs: {'; '.join(words)}; give inertia_kgm2"
    return [plain(REV_CHECK, "note", "belt", message, USUAL_SOURCE if usual else OWN)]


def slip_findings(operation: Operation) -> list[Finding]:
    """Pulleys that slip or come near it, steadily or while the engine changes speed: the worse of each pulley.

    Of two as severe, steady slip is named: it stays. In each, the driest condition that does it.
    """
    worse: dict[str, Finding] = {}
    for finding in sorted(_steady(operation) + _revving(operation), key=_rank):
        worse.setdefault(finding.subject, finding)
    return list(worse.values())


def _rank(finding: Finding) -> tuple[int, bool, bool, float]:
    return SEVERITIES.index(finding.severity), finding.check != CHECK, finding.value is not None, finding.margin


def _steady(operation: Operation) -> list[Finding]:
    if not operation.carries_load:
        return []
    return [
        finding for i in range(len(operation.route.pulleys)) for finding in _of(operation, operation.use, i, CHECK, "")
    ]


def _revving(operation: Operation) -> list[Finding]:
    changed = accelerated(operation)
    if changed is None:
        return []
    return [
        finding
        for way, words in enumerate((" while the engine speeds up", " while the engine slows down"))
        for i in range(len(operation.route.pulleys))
        for finding in _of(operation, changed[1][:, way], i, REV_CHECK, words)
    ]


def _of(operation: Operation, use: Floats, index: int, check: str, when: str) -> list[Finding]:
    points = [worst_point(operation, use, index, condition) for condition in CONDITIONS]
    for point in _by_severity(operation, points):
        bound = _bound(operation, point)
        message = _message(operation, point, when)
        if not np.isfinite(point.use):
            return [
                plain(
                    check,
                    "problem",
                    point.pulley,
                    message,
                    source_of(operation.route.layout.belt, point.condition),
                    (point.pulley,),
                )
            ]
        found = judge(check, point.pulley, point.use, bound, message, (point.pulley,))
        if found:
            return found
    return []


def _by_severity(operation: Operation, points: list[WorstPoint]) -> list[WorstPoint]:
    # Slipping dry says more than slipping wet, and any real slip more than being near it.
    slips = [p for p in points if p.condition != "design" and not p.use < _bound(operation, p).limit]
    return slips or sorted(points, key=lambda p: (p.condition == "design", -p.use))


def _bound(operation: Operation, point: WorstPoint) -> Bound:
    key = "max_slip_use_design" if point.condition == "design" else "max_slip_use"
    pulley = operation.route.pulleys[point.index]
    return demanded(operation.route.layout, key, (pulley.name, pulley.role))


def _message(operation: Operation, point: WorstPoint, when: str) -> str:
    condition = _condition_words(point.condition)
    at = f"at {point.rpm:.0f} rpm{when}, duty '{operation.duties[point.duty]}'"
    where = f"{condition} {at}"
    if point.extra_wrap_rad is None:
        fixed = operation.route.travel is None
        tighter = "a shorter belt" if fixed else "more tension, or the adjuster elsewhere"
        return f"slips at any friction: a strand beside it hangs slack {at}; {tighter}"
    cure = f"{np.degrees(point.extra_wrap_rad):.0f} deg more wrap, or more tension, would do"
    deed = "slips" if point.use >= 1.0 else "comes near slipping"
    return f"{deed} {where}: it uses {point.use:.2f} of its grip; {cure}"


def _condition_words(condition: Condition) -> str:
    return "by the cautious design friction" if condition == "design" else condition
