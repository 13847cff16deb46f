"""Which tension would do, and what is pulled too hard then?"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import ceil, floor

from beltplan.checks.every_check import CALLED, findings_of, new_words
from beltplan.checks.limits import Finding, Way, against, all_of, new_in
from beltplan.checks.slip import grip_bound, slips_of
from beltplan.checks.tension import SPAN_TENSION, pulled_too_hard, tightest, too_tight
from beltplan.drive.fit import is_sprung
from beltplan.drive.operation import WANTED_USE, Operation, WorstPoint, operation_of, preload_factor_wanted, set_N
from beltplan.drive.route import Route


def belt_stands(route: Route, preload_factor: float) -> bool:
    """Whether no span comes over the belt's limit with that factor on the spring or on the set tension, nor near it
    with the belt at its tightest: what would be a caution there is no tension to advise, but for the usual one, which
    is set where the layout gives none.
    """
    tighter, belt, circuit = operation_of(route, preload_factor), route.layout.belt, route.circuit
    by_hand = circuit.adjuster is not None and not is_sprung(circuit)
    usual = by_hand and preload_factor * set_N(route.layout, circuit) <= belt.hand_set_N * (1.0 + _ROUNDED)
    return tighter is None or not (tightest(tighter) if usual else too_tight(tighter))


_ROUNDED = 1e-9


def usual_words(route: Route) -> str:
    """The usual tension where a belt is set by hand to less, and what is pulled too hard then: `_over_by_hand`."""
    usual_N = route.layout.belt.hand_set_N
    if set_N(route.layout, route.circuit) >= usual_N:
        return ""
    over = _over_by_hand(route, usual_N)
    return f"{usual_N:.0f} N" + f" ({over})" * bool(over)


def _over_by_hand(route: Route, wanted_N: float) -> str:
    """How far over its limit a span or a hub is pulled with the belt set to that tension; '' where none is."""
    return overload_words(route, wanted_N / set_N(route.layout, route.circuit))


def overload_words(route: Route, preload_factor: float) -> str:
    """The same with that factor on the spring or on the set tension."""
    return all_of(_over_words(f) for f in pulled_too_hard(operation_of(route, preload_factor)) if f.margin < 0.0)


def enough_words(operation: Operation | None, findings: Sequence[Finding], usual: str) -> str:
    """What of a tension set by hand leaves no slip where more is asked for; else the usual one.

    operation: None where nothing is set by hand.
    """
    asked = {each.subject for each in findings if Way.TIGHTER in each.advised}
    enough_N = _tighter_N(operation, asked) if operation is not None and asked else None
    if operation is None or enough_N is None:
        return usual and f"the usual tension is {usual}"
    own_N, over = set_N(operation.route.layout, operation.route.circuit), _over_by_hand(operation.route, enough_N)
    return f"{enough_N} N would do (now {own_N:.0f} N)" + (f", but {over}" if over else "")


def slacker_words(operation: Operation | None, findings: Sequence[Finding]) -> str:
    """How much less tension set by hand is enough where less is asked for, and what is found then; likewise."""
    asked = any(Way.SLACKER in each.advised for each in findings)
    lower = _slacker(operation) if operation is not None and asked else None
    if lower is None:
        return ""
    own_N = set_N(lower.route.layout, lower.route.circuit)
    new = [each for each in new_in(findings_of(lower.route, lower), findings) if each.severity != "note"]
    but = f", but then {new_words(new)}" * bool(new)
    return f"{floor(lower.preload_factor * own_N)} N would do (now {own_N:.0f} N){but}"


_ROUNDS, _CLOSE = 8, 0.999


def _slacker(operation: Operation) -> Operation | None:
    """The same drive with as much tension as asks for no less; None where none does.

    What a load adds to a pull falls not with the tension, so that each step goes not far enough, and the next goes on.
    """
    for _ in range(_ROUNDS):
        over = [f.limit / f.value for f in pulled_too_hard(operation) if f.value and f.limit]
        if not over:
            return operation
        lower = operation_of(operation.route, operation.preload_factor * min(_CLOSE, *over) * _CLOSE)
        if lower is None:
            return None
        operation = lower
    return None


def _tighter_N(operation: Operation, names: Collection[str]) -> int | None:
    """The tension to set by hand, in whole N, at which no slip of these pulleys is found; None where none does,
    or where none slips.

    Of a pulley's slips the worst is told: what hides behind it is found, and asked for, by the next step.
    """
    own_N, at = set_N(operation.route.layout, operation.route.circuit), operation
    reached_N = floor(operation.preload_factor * own_N)
    for _ in range(_ROUNDS):
        slips = [point for point, finding in slips_of(at) if finding.subject in names]
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
    ample = grip_bound(operation.route.layout, operation.route.pulleys[slip.index], slip.condition).ample
    return ample if slip.condition == "design" else min(WANTED_USE, ample)


def _over_words(finding: Finding) -> str:
    _, off, beside = against(finding.value or 0.0, finding.limit or 0.0, decimals=0)
    of_span = finding.check == SPAN_TENSION.name
    what = "the pull" if of_span else f"the {CALLED[finding.check]} of {finding.subject}"
    return f"{what} is then {off} {finding.unit} over {'the recommended' if of_span else 'its'} {beside} {finding.unit}"
