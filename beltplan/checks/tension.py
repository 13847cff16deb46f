"""Are the spans and the hubs loaded within what they stand, and does the spring hold?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import floor

import numpy as np

from beltplan.checks.limits import Bound, Check, Finding, Way, all_of, bound_for, makers_bound, problems_of
from beltplan.drive.fit import adjuster_word, growth_of, is_arm, is_sprung, setting_words
from beltplan.drive.layout import Layout
from beltplan.drive.mechanics import Mechanics, give_words, source_of
from beltplan.drive.operation import Operation, end_of_travel, heat_N
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import Floats

Advice = tuple[str, ...]


def at_an_end(bound: Bound) -> Bound:
    """What is beyond its limit only at an end of the tension's band is a caution."""
    return replace(bound, only_caution=True)


def tighter_advice(route: Route) -> Advice:
    """What to do where tension lacks: without an adjuster only another belt or less load brings more."""
    if route.travel is None:
        return "a shorter belt, or ", Way.LESS_LOAD
    return Way.TIGHTER, f", or the {adjuster_word(route.circuit)} elsewhere"


_BALANCE = "computed balance of spring, belt stretch and loads"


def _unstretched_findings(route: Route) -> list[Finding]:
    """A note of what goes by the stiffness of a belt that is set by hand, where that is not known."""
    belt = route.layout.belt
    if growth_of(belt, route.circuit).set is not None:
        return []
    heat = " and the heat of the block are" if route.layout.block is not None else " is"
    wrong = f"its stretch to the set tension{heat} not counted, nor is shaking judged"
    return [SPAN_TENSION.find("note", "belt", wrong, give_words(belt, ("stiffness_N",)))]


def _span_tension_findings(operation: Operation) -> list[Finding]:
    """Spans over the belt's limit, and spans that go slack: the worst of each kind, naming the others.

    Over it at the high end of the tension alone is a caution. Slack by which a pulley slips is told with that.
    """
    tight, slips = too_tight(operation), operation.carries_load and np.isinf(operation.utilisation).any()
    return tight if slips else tight + _slackest(operation)


def too_tight(operation: Operation) -> list[Finding]:
    """Spans pulled harder than the belt stands: as it is set, and where that is no problem, at the high end."""
    tight = tightest(operation)
    if operation.ends is not None and not problems_of(tight):
        tight = tightest(operation.ends[1], operation) or tight
    return tight


def _high_end(operation: Operation) -> str:
    circuit = operation.route.circuit
    heat = heat_N(operation.route.layout, circuit) or 0.0
    states = ["new"] * (circuit.adjuster is not None and not is_sprung(circuit)) + ["hot"] * (heat > 0.0)
    when = f" ({', '.join(states)})" if states else ""
    return f"with the belt at its tightest{when}"


def tightest(operation: Operation, usual: Operation | None = None) -> list[Finding]:
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
    advice = tighter_advice(operation.route)
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
    operation: Operation, check: Check, pulley: Pulley, bound: Bound, told: _Told, advice: Advice
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


def pulled_too_hard(operation: Operation | None) -> list[Finding]:
    """Spans and hubs that less tension would help; none where the tension is not known."""
    if operation is None:
        return []
    return [*too_tight(operation), *_hub_load_findings(operation), *_hub_moment_findings(operation)]


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
