"""What the loads do: slip, span tension and hub loads, and the spring."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from math import ceil, floor

import numpy as np

from beltplan.checks.limits import (
    OWN,
    PROBLEM,
    SEVERITIES,
    Bound,
    Check,
    Finding,
    Way,
    against,
    all_of,
    bound_for,
    demanded,
    makers_bound,
    problems_of,
)
from beltplan.checks.pulleys import room_words, with_one_size
from beltplan.drive.fit import adjuster_word, growth_of, is_arm, is_sprung, setting_words
from beltplan.drive.inertias import USUAL_KGM2, USUAL_SOURCE
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import (
    CONDITIONS,
    REAL,
    Condition,
    Mechanics,
    friction_of_arm,
    frictions,
    give_words,
    source_of,
)
from beltplan.drive.operation import (
    HEAT_SOURCE,
    REVVING,
    WANTED_USE,
    Again,
    Operation,
    When,
    WorstPoint,
    end_of_travel,
    heat_N,
    operation_of,
    preload_factor_wanted,
    revving_points,
    set_N,
    takes_up_too_little,
    why_not_judged,
    worst_point,
)
from beltplan.drive.profiles import PRACTICE
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.drive.travel import END_WORDS
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


def _unstretched_findings(route: Route) -> list[Finding]:
    """A note of what goes by the stiffness of a belt that is set by hand, where that is not known."""
    belt = route.layout.belt
    if growth_of(belt, route.circuit).set is not None:
        return []
    heat = " and the heat of the block are" if route.layout.block is not None else " is"
    wrong = f"its stretch to the set tension{heat} not counted, nor is shaking judged"
    return [SPAN_TENSION.find("note", "belt", wrong, give_words(belt, ("stiffness_N",)))]


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

    for point, finding in sorted(_slips(operation) + _slips_at_the_low_end(operation), key=rank):
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


def _slips(operation: Operation) -> list[_Slip]:
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
            wrong, advice = f"{end}, it {_wrong(low, point)}", _more_grip(low, point)
            (finding,) = check.judge(point.pulley, point.utilisation, bound, wrong, *advice)
        else:
            wrong, advice = f"{end}, it {_slips_slack(low, point)}", _tighter(low.route)
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


def at_an_end(bound: Bound) -> Bound:
    """What is beyond its limit only at an end of the tension's band is a caution."""
    return replace(bound, only_caution=True)


def _slip_of(operation: Operation, check: Check, points: list[WorstPoint]) -> _Slip:
    # Slipping dry says more than slipping wet, and any real slip more than being near it.
    real = [point for point in points if point.condition != "design"]
    slips = [p for p in real if not p.utilisation < _bound(operation, p.index, p.condition).limit]
    ranked = ((p, _bound(operation, p.index, p.condition)) for p in (*slips, *sorted(points, key=_order)))
    point, bound = next((p, bound) for p, bound in ranked if bound.severity(p.utilisation))
    if not np.isfinite(point.utilisation):
        source = source_of(operation.route.layout.belt, point.condition)
        wrong, advice = _slips_slack(operation, point), _tighter(operation.route)
        return point, check.find("problem", point.pulley, wrong, *advice, source=source)
    wrong, advice = _wrong(operation, point), _more_grip(operation, point)
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


_Advice = tuple[str, ...]


def _tighter(route: Route) -> _Advice:
    if route.travel is None:
        return "a shorter belt, or ", Way.LESS_LOAD
    return Way.TIGHTER, f", or the {adjuster_word(route.circuit)} elsewhere"


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


def _more_grip(operation: Operation, point: WorstPoint) -> _Advice:
    if more_wrap(operation, _bound(operation, point.index, point.condition), point):
        return "more wrap, or ", Way.TIGHTER
    return Way.TIGHTER, ", or ", Way.LESS_LOAD, "; more wrap alone will not do"


def condition_words(condition: Condition) -> str:
    """How a pulley slips in a condition: dry, wet, or by the design friction."""
    return "by the design friction" if condition == "design" else condition


def _wrong(operation: Operation, point: WorstPoint) -> str:
    lacks = more_wrap(operation, _bound(operation, point.index, point.condition), point)
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
    return "; ".join(filter(None, [f"{deed} {how}. It uses {grip_words(point.utilisation)}{told}", lacks]))


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


# Are the spans and the hubs loaded within what they stand, and does the spring hold?

_BALANCE = "computed balance of spring, belt stretch and loads"


def _span_tension_findings(operation: Operation) -> list[Finding]:
    """Spans over the belt's limit, and spans that go slack: the worst of each kind, naming the others.

    Over it at the high end of the tension alone is a caution. Slack by which a pulley slips is told with that.
    """
    tight, slips = _too_tight(operation), operation.carries_load and np.isinf(operation.utilisation).any()
    return tight if slips else tight + _slackest(operation)


def _too_tight(operation: Operation) -> list[Finding]:
    tight = _tightest(operation)
    if operation.ends is not None and not problems_of(tight):
        tight = _tightest(operation.ends[1], operation) or tight
    return tight


def _high_end(operation: Operation) -> str:
    circuit = operation.route.circuit
    heat = heat_N(operation.route.layout, circuit) or 0.0
    states = ["new"] * (circuit.adjuster is not None and not is_sprung(circuit)) + ["hot"] * (heat > 0.0)
    when = f" ({', '.join(states)})" if states else ""
    return f"with the belt at its tightest{when}"


def _tightest(operation: Operation, usual: Operation | None = None) -> list[Finding]:
    """usual: the operation of which this one is the high end of the tension; then it is a caution at most."""
    route, most = operation.route, operation.most_span_N
    bounds = [maximum_tension(route.layout, operation.mechanics, (a.name, b.name)) for a, b in route.spans]
    over = sorted((i for i in range(len(most)) if bounds[i].verdict(most[i])), key=lambda i: bounds[i].limit - most[i])
    if not over:
        return []
    worst, bound = float(most[over[0]]), bounds[over[0]] if usual is None else at_an_end(bounds[over[0]])
    if usual is None:
        # Its value is told, not that of the high end: a finding is of what is usual where that is too much.
        beside = _at_most(worst, float(operation.high.most_span_N[over[0]]), "N")
    else:
        beside = f"; {usual.most_span_N[over[0]]:.0f} N {'usually' if is_sprung(route.circuit) else 'run in'}"
    when = "" if operation.ends is None else " usually" if is_sprung(route.circuit) else " run in"
    when = when if usual is None else f" {_high_end(usual)}"
    # So near its maximum it is a caution: what would be well under it is told.
    told = replace(bound, caution=floor(bound.ample)) if usual is None and bound.caution is None else bound
    wrong = f"{told.words(worst, f'N of pull{when}', decimals=0)}{beside}{_others(operation, over)}"
    names = tuple(operation.route.circuit.span_name(i) for i in over)
    advice = (Way.SLACKER, ", ", Way.MORE_RIBS, ", or ", Way.LESS_LOAD)
    return SPAN_TENSION.judge(names[0], worst, bound, wrong, *advice, parts=names)


def _at_most(usual: float, highest: float, unit: str) -> str:
    """What comes of a pull at the high end of the tension, as tables tell it; nothing where it is the usual one."""
    shown = f"{highest:.{0 if unit == 'N' else 1}f} {unit}"
    return f"; up to {shown} with the belt at its tightest" if highest > 1.005 * usual else ""


def belt_stands(route: Route, preload_factor: float) -> bool:
    """Whether no span comes over the belt's limit with that factor on the spring or on the set tension, nor near it
    with the belt at its tightest: what would be a caution there is no tension to advise, but for the usual one, which
    is set where the layout gives none.
    """
    tighter, belt, circuit = operation_of(route, preload_factor), route.layout.belt, route.circuit
    by_hand = circuit.adjuster is not None and not is_sprung(circuit)
    usual = by_hand and preload_factor * set_N(route.layout, circuit) <= belt.hand_set_N * (1.0 + _ROUNDED)
    return tighter is None or not (_tightest(tighter) if usual else _too_tight(tighter))


_ROUNDED = 1e-9


def usual_words(route: Route) -> str:
    """The usual tension where a belt is set by hand to less, and what is pulled too hard then: `over_words`."""
    usual_N = route.layout.belt.hand_set_N
    if set_N(route.layout, route.circuit) >= usual_N:
        return ""
    over = over_words(route, usual_N)
    return f"{usual_N:.0f} N" + f" ({over})" * bool(over)


def over_words(route: Route, wanted_N: float) -> str:
    """How far over its limit a span or a hub is pulled with the belt set to that tension; '' where none is."""
    return overload_words(route, wanted_N / set_N(route.layout, route.circuit))


def overload_words(route: Route, preload_factor: float) -> str:
    """The same with that factor on the spring or on the set tension."""
    return all_of(_over_words(f) for f in _pulled_too_hard(operation_of(route, preload_factor)) if f.margin < 0.0)


def _pulled_too_hard(operation: Operation | None) -> list[Finding]:
    if operation is None:
        return []
    return [*_too_tight(operation), *_hub_load_findings(operation), *_hub_moment_findings(operation)]


_ROUNDS, _CLOSE = 8, 0.999


def slacker(operation: Operation) -> Operation | None:
    """The same drive with as much tension as asks for no less; None where none does.

    What a load adds to a pull falls not with the tension, so that each step goes not far enough, and the next goes on.
    """
    for _ in range(_ROUNDS):
        over = [f.limit / f.value for f in _pulled_too_hard(operation) if f.value and f.limit]
        if not over:
            return operation
        lower = operation_of(operation.route, operation.preload_factor * min(_CLOSE, *over) * _CLOSE)
        if lower is None:
            return None
        operation = lower
    return None


def tighter_N(operation: Operation, names: Collection[str]) -> int | None:
    """The tension to set by hand, in whole N, at which no slip of these pulleys is found; None where none does,
    or where none slips.

    Of a pulley's slips the worst is told: what hides behind it is found, and asked for, by the next step.
    """
    own_N, at = set_N(operation.route.layout, operation.route.circuit), operation
    reached_N = floor(operation.preload_factor * own_N)
    for _ in range(_ROUNDS):
        slips = [point for point, finding in _slips(at) if finding.subject in names]
        if not slips:
            return None if at is operation else reached_N
        factors = [preload_factor_wanted(at, each.condition, _use_wanted(at, each)) for each in slips]
        if None in factors:
            return None
        reached_N = max(reached_N + 1, *(ceil((factor or 0.0) * own_N) for factor in factors))
        tighter = operation_of(at.route, reached_N / own_N)
        if tighter is None:
            return None
        at = tighter
    return None


def _use_wanted(operation: Operation, slip: WorstPoint) -> float:
    ample = _bound(operation, slip.index, slip.condition).ample
    return ample if slip.condition == "design" else min(WANTED_USE, ample)


def _over_words(finding: Finding) -> str:
    _, off, beside = against(finding.value or 0.0, finding.limit or 0.0, decimals=0)
    of_span = finding.check == SPAN_TENSION.name
    what = "the pull" if of_span else f"the {finding.check.replace('_', ' ')} of {finding.subject}"
    return f"{what} is then {off} {finding.unit} over {'the recommended' if of_span else 'its'} {beside} {finding.unit}"


def maximum_tension(layout: Layout, mechanics: Mechanics, ends: tuple[str, ...]) -> Bound:
    """The most tension of the span between two pulleys, by their names."""
    source = f"{source_of(layout.belt, 'span_limit_N')}; your own: `limits.max_strand_N`"
    default = Bound("upper", mechanics.span_limit_N, "N", source)
    return bound_for(layout, "max_strand_N", ends, default=default) or default


def _slackest(operation: Operation) -> list[Finding]:
    tractive = operation.running.tractive_N
    least = tractive.min(axis=(0, 1))
    slack = [int(i) for i in np.argsort(least.round(3), kind="stable") if not least[i] > 0.0]
    if not slack:
        return []
    first = tractive[..., slack[0]]
    duty, speed = np.unravel_index(int(np.argmin(first)), first.shape)
    wrong = (
        f"hangs slack at {operation.driver_rpm[speed]:.0f} rpm, duty '{operation.duties[duty]}', with no tension left "
        f"to grip with{_others(operation, slack)}"
    )
    names = tuple(operation.route.circuit.span_name(i) for i in slack)
    numbers = (float(first.min()), 0.0, "N", -1.0)
    advice = _tighter(operation.route)
    return [SPAN_TENSION.find("problem", names[0], wrong, *advice, parts=names, numbers=numbers)]


def _others(operation: Operation, spans: list[int]) -> str:
    names = [operation.route.circuit.span_name(i) for i in spans[1:]]
    every = len(spans) == len(operation.route.pulleys) > 2
    return f"; the same goes for {'every other span' if every else all_of(names)}" if names else ""


SPAN_TENSION = Check(
    "strand_tension",
    "a span pulled harder than the belt stands, or hanging slack",
    _unstretched_findings,
    of_operation=_span_tension_findings,
    limits=("max_strand_N",),
    source=_BALANCE,
    called="span tension",
)


def hub_moment_Nm(pulley: Pulley, pull_N: Floats) -> Floats:
    """Bending moment of a pull at a pulley's bearing or nose, (...): at its overhang; nothing where none is given."""
    return np.asarray(pull_N * (pulley.overhang_mm or 0.0) / 1000.0)


def _hub_load_findings(operation: Operation) -> list[Finding]:
    """Hubs pulled harder than their makers allow; at the high end of the tension alone it is a caution."""
    found: list[Finding] = []
    for pulley, bound, pulls_N in _pulls_N(operation, "max_hub_load_N"):
        told = [(pull, bound.words(pull, "N of hub load", decimals=0)) for pull in pulls_N]
        found += _at_both(operation, HUB_LOAD, pulley, bound, told, _NO_HARDER)
    return found


def _hub_moment_findings(operation: Operation) -> list[Finding]:
    """Bearings and noses bent harder than their makers allow, by the belt's pull at its overhang; likewise."""
    found: list[Finding] = []
    advice = ("bring the belt nearer to the bearing, or ", *_NO_HARDER)
    for pulley, bound, pulls_N in _pulls_N(operation, "max_moment_Nm"):
        moments = [(pull, float(hub_moment_Nm(pulley, np.array(pull)))) for pull in pulls_N]
        at = f"at {pulley.overhang_mm or 0.0:.1f} mm of overhang bend it with"
        told = [(moment, f"{pull:.0f} N {at} {bound.words(moment, 'Nm')}") for pull, moment in moments]
        found += _at_both(operation, HUB_MOMENT, pulley, bound, told, advice)
    return found


_Told = list[tuple[float, str]]
_NO_HARDER = (Way.SLACKER, " or less wrap")


def _at_both(
    operation: Operation, check: Check, pulley: Pulley, bound: Bound, told: _Told, advice: _Advice
) -> list[Finding]:
    """A value judged as it is set, and where that is no problem, at the high end. told: both, in words."""
    (middle, wrong), (high, wrong_high) = told
    found = check.judge(pulley.name, middle, bound, f"{wrong}{_at_most(middle, high, bound.unit)}", *advice)
    if problems_of(found):
        return found
    return check.judge(pulley.name, high, at_an_end(bound), f"{_high_end(operation)}: {wrong_high}", *advice) or found


def _pulls_N(operation: Operation, key: str) -> Iterator[tuple[Pulley, Bound, list[float]]]:
    """The pulls on every hub whose maker gives a bound: as it is set, and at the high end of the tension."""
    every = enumerate(operation.route.pulleys)
    bounded = [(i, pulley, bound) for i, pulley in every if (bound := makers_bound(pulley, key))]
    if bounded:
        pulls_N = np.stack([operation.most_hub_N, operation.high.most_hub_N], axis=-1).tolist()
        yield from ((pulley, bound, pulls_N[i]) for i, pulley, bound in bounded)


HUB_LOAD = Check("hub_load", "a pull on a pulley's hub over its max_hub_load_N", of_operation=_hub_load_findings)
HUB_MOMENT = Check(
    "hub_moment",
    "a bending moment at a bearing or nose, hub load times overhang_mm, over its max_moment_Nm",
    of_operation=_hub_moment_findings,
)


def _spring_findings(operation: Operation) -> list[Finding]:
    """A sprung adjuster that cannot follow: against a stop, running or stopped."""
    moving = operation.route.moving
    if moving is None or not is_sprung(operation.route.circuit):
        return []
    if not (operation.stopped.tractive_N > 0.0).all():
        wrong, advice = (
            "no spring force is left where the belt puts it",
            "check the spring's torque or force, and its rate",
        )
        return [SPRING.find("problem", moving.name, wrong, advice)]
    end = end_of_travel(operation)
    if end is None:
        return []
    at = setting_words(operation.route.circuit, end[1])
    wrong = f"{END_WORDS[end[0]]}, at {at}: there the spring no longer sets the tension"
    advice = f"another spring, belt or position of the {'arm' if is_arm(operation.route.circuit) else 'slide'}"
    return [SPRING.find("problem", moving.name, wrong, advice)]


SPRING = Check("spring", "a sprung adjuster that runs against a stop", of_operation=_spring_findings, source=_BALANCE)


# What is to be done where one finding asks for more tension, and another for less?


def with_agreeing_advice(findings: list[Finding]) -> list[Finding]:
    """Findings with advice that serves all of them: never more tension for one and less for another.

    Nor a pulley that is larger for one and smaller for another.
    Where the belt alone is at its limit, more ribs bear more tension; a hub does not, but a smaller load serves both.
    A belt that is tightened sooner is set to no more than before.
    """
    findings = with_one_size(findings)
    tighter, sooner, less = (
        [each for each in findings if way in each.advised] for way in (Way.TIGHTER, Way.SOONER, Way.SLACKER)
    )
    more = tighter + sooner
    if not more or not less:
        return findings
    over = dict.fromkeys("the belt" if each.check == SPAN_TENSION.name else each.subject for each in less)
    instead = Way.RIBS_FOR_TENSION if list(over) == ["the belt"] else Way.SMALLER_LOAD
    stands = f"; {all_of(over)} {'stands' if len(over) == 1 else 'stand'} no more tension as it is"
    # A span does not slip: it hangs slack, and the pulleys beside it slip then.
    pulleys = dict.fromkeys(name for each in more if each.check != SPAN_TENSION.name for name in each.parts)
    hang = dict.fromkeys(each.subject for each in more)
    so = f"{'slip' if pulleys else 'hang slack'}{' sooner' * (not tighter)}"
    slips = f". Less tension is no help: {all_of(pulleys or hang)} would {so}"
    new = {each: each.by(instead, Way.TIGHTER, stands) for each in tighter}
    ribs = (Way.MORE_RIBS, ", or ", Way.SMALLER_LOAD, slips)
    for each in less:
        of_span = each.check == SPAN_TENSION.name
        new[each] = replace(each, advised=ribs) if of_span else each.by(Way.SMALLER_LOAD, Way.SLACKER, slips)
    return [new.get(each, each) for each in findings]


_WIDER: Mapping[str, Way] = {Way.MORE_RIBS: Way.WIDER, Way.RIBS_FOR_TENSION: Way.WIDER_FOR_TENSION}


def as_sold(layout: Layout, part: str) -> str:
    """A part of an advice as the belt has it: a V-belt has no ribs, but wider sections."""
    return part if layout.belt.profile.is_ribbed else _WIDER.get(part, part)


def with_what_is_known(
    layout: Layout, findings: Sequence[Finding], again: Again | None, usual_tension: str, tighter: str, looser: str
) -> tuple[Finding, ...]:
    """The first advice of more ribs with how many the pulleys take, of less load with whose is assumed, of more or less
    tension with how much; every advice of setting a belt again sooner with when, of more ribs as a V-belt has it.
    """
    findings = [replace(f, advised=tuple(as_sold(layout, part) for part in f.advised)) for f in findings]
    usual = [pulley.name for pulley in layout.routed if pulley.usual_load is not None]
    whose = f"the load of {all_of(usual)} is the usual one: its maker's may be less" if usual else ""
    ribs, load = {Way.MORE_RIBS, Way.RIBS_FOR_TENSION}, {Way.LESS_LOAD, Way.SMALLER_LOAD}
    told = ((ribs, room_words(layout)), (load, whose), ({Way.TIGHTER}, tighter), ({Way.SLACKER}, looser))
    for ways, known in told:
        first = next((each.advised for each in findings if known and not ways.isdisjoint(each.advised)), None)
        findings = [replace(f, amount=f"{f.amount}; {known}") if f.advised == first else f for f in findings]
    if again is None:
        return tuple(findings)
    to = f": now, to the usual {usual_tension}, and then" if again.is_usual else ","
    sooner = (Way.SOONER, f"{to} when it has fallen to {again.at_N:.0f} N a span")
    told_when = ([part for way in f.advised for part in (sooner if way == Way.SOONER else (way,))] for f in findings)
    return tuple(replace(f, advised=tuple(advised)) for f, advised in zip(findings, told_when, strict=True))
