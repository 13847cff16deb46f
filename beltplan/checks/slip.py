"""Does a pulley slip, steadily or on revs, and what would stop it?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.checks.limits import OWN, PROBLEM, SEVERITIES, Bound, Check, Finding, Way, against, all_of, demanded
from beltplan.checks.tension import Advice, at_an_end, tighter_advice
from beltplan.drive.fit import is_sprung
from beltplan.drive.inertias import USUAL_KGM2, USUAL_SOURCE
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import CONDITIONS, REAL, Condition, friction_of_arm, frictions, source_of
from beltplan.drive.operation import (
    HEAT_SOURCE,
    REVVING,
    WANTED_USE,
    Operation,
    When,
    WorstPoint,
    heat_N,
    revving_points,
    takes_up_too_little,
    why_not_judged,
    worst_point,
)
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats, Ints


def _not_judged_findings(route: Route) -> list[Finding]:
    reason = why_not_judged(route)
    if reason is None and all(pulley.load is None for pulley in route.pulleys):
        reason = "no pulley has a load"
    if reason is not None:
        source = demanded(route.layout, "min_take_up_percent").source if takes_up_too_little(route) else ""
        return [SLIP.find("note", "belt", f"slip not judged: {reason}", source=source)]
    usual = ((pulley.name, pulley.usual_load) for pulley in route.pulleys if pulley.usual_load is not None)
    names = ", ".join(f"{name}{load.like and f' ({load.like})'}" for name, load in usual)
    wrong = f"usual loads assumed for {names}"
    advice = "give the power as `load` where you know it"
    return [SLIP.find("note", "belt", wrong, advice, source=PRACTICE)] if names else []


def _revving_findings(operation: Operation) -> list[Finding]:
    """A note where changes of speed cannot be judged, or only with inertias that stand in.

    Idlers and tensioners are not named: what stands in for them asks a tenth of a newton metre.
    """
    if operation.route.layout.engine.rev_up_rpm_per_s is None:
        advice = "give `engine.rev_up_rpm_per_s`, and `inertia_kgm2` where you know it"
        unjudged = SLIP_ON_REVS.find("note", "belt", "slip on revs not judged", advice)
        return [unjudged] if operation.carries_load else []
    driven = [pulley for pulley in operation.route.pulleys[1:] if not pulley.guides_only]
    unknown = [pulley for pulley in driven if pulley.inertia_kgm2 is None]
    if not unknown:
        return []
    usual = [f"{pulley.name} {USUAL_KGM2[pulley.role]:g}" for pulley in unknown if pulley.role in USUAL_KGM2]
    others = [pulley.name for pulley in unknown if pulley.role not in USUAL_KGM2]
    words = [f"for slip on revs, usual inertias (kg m2) are assumed: {', '.join(usual)}"] if usual else []
    words += [f"no usual inertia, so not counted: {', '.join(others)}"] if others else []
    source = USUAL_SOURCE if usual else OWN
    return [SLIP_ON_REVS.find("note", "belt", "; ".join(words), "give `inertia_kgm2`", source=source)]


def _slip_findings(operation: Operation) -> list[Finding]:
    """Pulleys that slip or come near it, steadily or while the engine changes speed: the worse of each pulley.

    Where both slip, steady slip is named: it stays. Of two cautions real friction comes before the design friction, and
    then the larger use. In each, the driest condition that does it. Slack is told once in each severity.
    """
    found: dict[str, Finding] = {}

    def rank(slip: _Slip) -> tuple[int, bool, bool, float]:
        point, finding = slip
        revved = finding.severity == "problem" and point.when != "steady"
        return SEVERITIES.index(finding.severity), revved, *_order(point)

    for point, finding in sorted(slips_of(operation) + _slips_at_the_low_end(operation), key=rank):
        found.setdefault(finding.subject, replace(finding, condition=point.condition))
    told = list(found.values())
    slack = [f for f in told if f.value is None]
    told = [f for f in told if f not in slack]
    return told + [f for each in SEVERITIES for f in _in_one([f for f in slack if f.severity == each])]


_Slip = tuple[WorstPoint, Finding]
"""Where a pulley uses too much of its grip, and what is told of that."""


def _in_one(slack: list[Finding]) -> list[Finding]:
    """One finding for all pulleys beside spans that hang slack: it has one cause."""
    first, *others = names = tuple(finding.subject for finding in slack) or ("",)
    more = f"; {all_of(others)} {'slip' if others[1:] else 'slips'} too" if others else ""
    return [replace(f, wrong=f.wrong + more, parts=names) for f in slack if f.subject == first]


def _order(point: WorstPoint) -> tuple[bool, float]:
    return point.condition == "design", -point.utilisation


def slips_of(operation: Operation) -> list[_Slip]:
    """Of each pulley and way that the engine runs, of all that is too much, what is to be told first."""
    ways, found = _ways(operation), list[_Slip]()
    # Where each pulley uses most is looked for only where that is too much.
    for way, i in np.argwhere(_severities(operation, ways).any(axis=-1)).tolist():
        check, when, utilisation = ways[way]
        points = [worst_point(operation, utilisation, i, each, when) for each in CONDITIONS]
        found.append(_slip_of(operation, check, points))
    return found


def _severities(operation: Operation, ways: list[_Way]) -> Ints:
    """How bad the highest use of each pulley is, (w, n, conditions)."""
    n = len(operation.route.pulleys)
    peaks = np.reshape([utilisation.max(axis=(1, 2)) for *_, utilisation in ways], (len(ways), len(CONDITIONS), n))
    found = np.zeros((len(ways), n, len(CONDITIONS)), dtype=np.int8)
    for k, condition in enumerate(CONDITIONS):
        bounds = [_bound(operation, i, condition) for i in range(n)]
        for bound in dict.fromkeys(bounds):
            own = [i for i in range(n) if bounds[i] == bound]
            found[:, own, k] = bound.severity(peaks[:, k, own])
    return found


_Way = tuple[Check, When, Floats]


def _ways(operation: Operation) -> list[_Way]:
    ways: list[_Way] = [(SLIP, "steady", operation.utilisation)] * operation.carries_load
    if operation.revving is not None:
        ways += [(SLIP_ON_REVS, when, operation.revving[1][:, i]) for i, when in enumerate(REVVING)]
    return ways


def _slips_at_the_low_end(operation: Operation) -> list[_Slip]:
    if operation.ends is None:
        return []
    low, found = operation.ends[0], list[_Slip]()
    ways = _ways(low)
    for way, i, k in np.argwhere(_severities(low, ways)[..., : len(REAL)] == PROBLEM).tolist():
        check, when, utilisation = ways[way]
        bound, point = at_an_end(_bound(low, i, REAL[k])), worst_point(low, utilisation, i, REAL[k], when)
        end, source = slackened(low)
        if np.isfinite(point.utilisation):
            wrong, advice = _told(low, point)
            (finding,) = check.judge(point.pulley, point.utilisation, bound, f"{end}, it {wrong}", *advice)
        else:
            wrong, advice = f"{end}, it {_slips_slack(low, point)}", tighter_advice(low.route)
            finding = check.find("caution", point.pulley, wrong, *advice, source=source)
        # Set by hand, it is set again under the same tension however it is set.
        finding = finding if is_sprung(low.route.circuit) else finding.by(Way.SOONER, Way.TIGHTER)
        found.append((point, replace(finding, low=True)))
    return found


def slackened(low: Operation) -> tuple[str, str]:
    """How much tension is left at its low end, engine stopped, and why, in words; and the source of how far."""
    layout, circuit = low.route.layout, low.route.circuit
    to = f"with the belt slackened to {low.stopped.total_N.mean():.0f} N a span"
    if is_sprung(circuit):
        return f"{to} by the tensioner's friction", friction_of_arm(circuit.adjuster)[1]
    to, again = f"{to}, usual before it is set again", source_of(layout.belt, "hand_again_N")
    is_cold = (heat_N(layout, circuit) or 0.0) < 0.0
    return (f"{to}, and cold", f"{again}; {HEAT_SOURCE}") if is_cold else (to, again)


def _slips_slack(operation: Operation, point: WorstPoint) -> str:
    tractive = operation.running.tractive_N
    if point.when != "steady" and operation.revved is not None:
        tractive = operation.revved.tractive_N[REVVING.index(point.when)]
    least = tractive[point.duty, point.speed]
    order = np.argsort(least.round(3), kind="stable").tolist()
    spans = [operation.route.circuit.span_name(i) for i in order if not least[i] > 0.0]
    why = f"{all_of(spans)} {'hangs' if len(spans) == 1 else 'hang'} slack" if spans else "no wrap is left there"
    return f"slips even dry {_at(operation, point)}: {why}"


def _slip_of(operation: Operation, check: Check, points: list[WorstPoint]) -> _Slip:
    # Slipping dry says more than slipping wet, and any real slip more than being near it.
    real = [point for point in points if point.condition != "design"]
    slips = [p for p in real if not p.utilisation < _bound(operation, p.index, p.condition).limit]
    ranked = ((p, _bound(operation, p.index, p.condition)) for p in (*slips, *sorted(points, key=_order)))
    point, bound = next((p, bound) for p, bound in ranked if bound.severity(p.utilisation))
    if not np.isfinite(point.utilisation):
        source = source_of(operation.route.layout.belt, point.condition)
        wrong, advice = _slips_slack(operation, point), tighter_advice(operation.route)
        return point, check.find("problem", point.pulley, wrong, *advice, source=source)
    wrong, advice = _told(operation, point)
    (finding,) = check.judge(point.pulley, point.utilisation, bound, wrong, *advice)
    return point, finding


def _bound(operation: Operation, index: int, condition: Condition) -> Bound:
    return grip_bound(operation.route.layout, operation.route.pulleys[index], condition)


def grip_bound(layout: Layout, pulley: Pulley, condition: Condition = "dry") -> Bound:
    """How much of its grip a pulley may use."""
    key = "max_slip_use_design" if condition == "design" else "max_slip_use"
    return demanded(layout, key, (pulley.name, pulley.role))


def _at(operation: Operation, point: WorstPoint) -> str:
    at = f"at {point.rpm:.0f} rpm"
    if point.when != "steady":
        at += f" while the engine {point.when}"
    elif operation.revving is not None:
        at = f"at a steady {point.rpm:.0f} rpm"
    return f"{at}, duty '{operation.duties[point.duty]}'"


def _in_the_wet(operation: Operation, point: WorstPoint) -> WorstPoint:
    """A dry point as it is when wet; any other is the same: what is to hold dry is to hold wet too."""
    if point.condition != "dry":
        return point
    friction = frictions(operation.route.layout.belt, operation.route.pulleys)[:, point.index]
    wetter = friction[CONDITIONS.index("dry")] / friction[CONDITIONS.index("wet")]
    return replace(point, condition="wet", utilisation=float(point.utilisation * wetter))


def more_wrap(operation: Operation, bound: Bound, point: WorstPoint) -> str:
    """More wrap that stops a slip, wet and on revs too, or leaves nothing to say of real friction; empty where no belt
    is led so far.
    """
    dry, point = point.condition == "dry", _in_the_wet(operation, point)
    wanted = (min(1.0, bound.limit) if point.utilisation >= 1.0 else min(WANTED_USE, bound.ample)) or WANTED_USE
    revving = revving_points(operation, point.index, point.condition) if point.when == "steady" else ()
    hardest = max((point, *revving), key=lambda each: _extra_rad(each, wanted))
    if not hardest.wrap_can_do(wanted):
        return ""
    extra = max(np.ceil(np.degrees(_extra_rad(hardest, wanted))), 1.0)
    too = " and ".join(["wet"] * dry + ["on revs"] * (hardest is not point))
    deed = "stops it" if wanted == 1.0 else f"brings it to {wanted:.2g}"
    return f"{extra:.0f} deg more wrap {deed}{too and f', {too} too'}"


def _extra_rad(point: WorstPoint, wanted: float) -> float:
    extra = point.wrap_for_rad(wanted)
    return np.inf if extra is None else extra


def _told(operation: Operation, point: WorstPoint) -> tuple[str, Advice]:
    """What is wrong, and what to do."""
    wrong, lacks = (
        _wrong(operation, point),
        more_wrap(operation, _bound(operation, point.index, point.condition), point),
    )
    if lacks:
        return f"{wrong}; {lacks}", ("more wrap, or ", Way.TIGHTER)
    return wrong, (Way.TIGHTER, ", or ", Way.LESS_LOAD, "; more wrap alone will not do")


def condition_words(condition: Condition) -> str:
    """How a pulley slips in a condition: dry, wet, or by the design friction."""
    return "by the design friction" if condition == "design" else condition


def _wrong(operation: Operation, point: WorstPoint) -> str:
    used, under = used_words(point.utilisation), point.utilisation < 1.0
    deed = "slips" if not under else "comes near slipping" if len(used) == 4 else "is just under slipping"
    beside = []
    if point.when != "steady":
        steady = worst_point(operation, operation.utilisation, point.index, point.condition)
        if used_words(steady.utilisation) != used:
            beside.append(f"{used_words(steady.utilisation)} steadily")
    if point.condition == "dry":
        beside.append(f"{used_words(_in_the_wet(operation, point).utilisation)} when wet")
    told = f" ({', '.join(beside)})" if beside else ""
    how = f"{condition_words(point.condition)} {_at(operation, point)}"
    return f"{deed} {how}. It uses {grip_words(point.utilisation)}{told}"


_MEASURED_USE = 10.0


def used_words(utilisation: float) -> str:
    """How much of its grip a pulley uses, 1 being slip: digits only where they mean something.

    >>> [used_words(used) for used in (0.956, 0.9996, 2.5364, 2968.38, np.inf)]
    ['0.96', '0.9996', '2.54', 'over 10', 'slack']
    """
    if not np.isfinite(utilisation):
        return "slack"
    much = utilisation > _MEASURED_USE
    return f"over {_MEASURED_USE:g}" if much else against(utilisation, 1.0, decimals=2)[0]


def grip_words(utilisation: float) -> str:
    """The same in a sentence.

    >>> grip_words(2.5364), grip_words(2968.38)
    ('2.54 of its grip', 'over 10 times its grip')
    """
    return f"{used_words(utilisation)} {'times' if utilisation > _MEASURED_USE else 'of'} its grip"


SLIP = Check(
    "slip",
    "a pulley that asks more than its tension and wrap can carry: it slips and squeals",
    _not_judged_findings,
    _slip_findings,
    limits=("max_slip_use", "max_slip_use_design"),
)


SLIP_ON_REVS = Check(
    "slip_on_revs",
    "a pulley that slips while the engine speeds up or slows down: the chirp at gear change",
    of_operation=_revving_findings,
    limits=("max_slip_use", "max_slip_use_design"),
)
