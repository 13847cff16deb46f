"""How near a layout is to each cause of noise: the number of its check at every place, also where the check finds
nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil
from typing import Literal, get_args

import numpy as np

from beltplan.checks.alignment import (
    entry_angles_deg,
    is_measured,
    leaning_words,
    maximum_misalignment,
    shims,
    squaring_words,
    tilted,
    way_words,
)
from beltplan.checks.clearance import CLEARANCE, RIM_GAP, SPAN_GAP, running_gaps_mm
from beltplan.checks.limits import (
    CAUTION,
    NONE,
    NOT_MEASURED,
    OWN,
    PROBLEM,
    Bound,
    Check,
    Severity,
    Way,
    against,
    all_of,
    demanded,
)
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import AT_MEASURING, SMALL_PULLEY, WRAP, minimum_diameter, minimum_wrap, room_words
from beltplan.checks.tension import (
    HUB_LOAD,
    HUB_MOMENT,
    SPRING,
    at_an_end,
    condition_words,
    grip_bound,
    grip_words,
    more_wrap,
    overload_words,
    slackened,
    used_words,
)
from beltplan.drive.mechanics import REAL, Condition
from beltplan.drive.operation import (
    REVVING,
    WANTED_USE,
    Operation,
    TensionCure,
    When,
    WorstPoint,
    end_of_travel,
    set_N,
    worst_point,
)
from beltplan.drive.travel import END_WORDS
from beltplan.geometry.vectors import Floats

Word = Literal["cold", "wet", "hot", "idle", "revving", "letting_off", "full_load", "always"]
WORDS: tuple[Word, ...] = get_args(Word)
WEIGHTS: Mapping[Severity, int] = {"note": NONE, "caution": CAUTION, "problem": PROBLEM}
Water = Literal["louder", "quieter", "same"]


@dataclass(frozen=True)
class Heard:
    """When the noise is heard, and what plain water on its running side does to it; nothing where nothing is said."""

    when: tuple[Word, ...] = ()
    water: Water | None = None


@dataclass(frozen=True, eq=False)
class Reading:
    """The number behind a cause at one place.

    where: pulley or span. value: infinite where a span hangs slack, None where the number is yes or no. margin:
    distance to the limit on the good side, as a share of it. severity: what its check makes of it. words: the number in
    a sentence. change: the smallest change that takes it away, empty where none is needed. rests_on_slip: whether it is
    a first screen only, because the pulley's own slip is known. by_design: whether by the design friction, so by less
    than a clean belt has. proof: what the test of its cause must show here. never: of what its cause fits, when it is
    not so here.
    """

    where: str
    value: float | None
    limit: float
    unit: str
    source: str
    margin: float
    severity: int
    words: str
    change: str = ""
    rests_on_slip: bool = False
    by_design: bool = False
    proof: str = ""
    never: tuple[Word, ...] = ()


Read = Callable[[Plan, Heard], Iterator[Reading]]


def _against(bound: Bound, where: str, value: float, words: str, change: str) -> Reading:
    severity, margin, verdict = int(bound.severity(value)), float(bound.margin(value)), bound.verdict(value)
    told = (bound.limit, bound.unit, bound.source if verdict is None else verdict[2])
    return Reading(where, value, *told, margin, severity, words, change if severity else "")


# Slip.


def speeds_heard(heard: Heard) -> slice:
    """Which of the speeds it may be heard at."""
    return slice(0, 1) if "idle" in heard.when else slice(None)


def steady(plan: Plan, heard: Heard, condition: Condition) -> Iterator[Reading]:
    """Grip used in steady running; at idle where it is heard there."""
    operation = plan.operation
    if operation is None:
        return
    for row in plan.slip:
        point = worst_point(operation, operation.utilisation[:, :, speeds_heard(heard)], row.index, condition)
        worst = worst_point(operation, operation.utilisation, row.index, condition)
        revving = row.revving if condition == "wet" else None
        others = [(worst, f"at {worst.rpm:.0f} rpm")] if worst.rpm != point.rpm else []
        others += [] if revving is None else [(revving, f"while the engine {revving.when}")]
        bound = grip_bound(plan.layout, plan.route.pulleys[row.index])
        yield _slip(plan, operation, point, bound, _beside(point, others), worst)


def on_revs(plan: Plan, heard: Heard, when: When) -> Iterator[Reading]:
    """Grip used while the engine changes speed: dry where it slips dry, else wet."""
    operation = plan.operation
    if operation is None or operation.revving is None:
        return
    utilisation = operation.revving[1][:, REVVING.index(when)]
    for i, pulley in enumerate(plan.route.pulleys):
        bound = grip_bound(plan.layout, pulley)
        dry, wet = (worst_point(operation, utilisation, i, each, when) for each in REAL)
        point = wet if bound.severity(dry.utilisation) < PROBLEM else dry
        still = worst_point(operation, operation.utilisation, i, point.condition)
        yield _slip(plan, operation, point, bound, _beside(point, [(still, _STEADILY)]))


def low_spring(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet where a sprung adjuster's friction takes from what its spring gives."""
    if plan.tension is not None and plan.tension.band_N is not None:
        yield from _lowered(plan, heard, "a tensioner that moves freely")


def run_in(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet by a belt set by hand, when it is due to be set again."""
    if plan.tension is None or plan.adjuster is None or plan.adjuster.sprung:
        return
    again, set_N = plan.again, f"{plan.tension.each_N:.0f} N"
    to = f"the usual {plan.usual_tension}" if again and again.is_usual else f"{set_N} a span"
    way = f"set it to {to}, and again when it has fallen to {again.at_N:.0f} N" if again else f"set it again to {to}"
    for reading in _lowered(plan, heard, way):
        low_N = (
            0.0
            if plan.operation is None or plan.operation.ends is None
            else float(plan.operation.ends[0].stopped.total_N.mean())
        )
        proof = f"Near {low_N:.0f} N a span proves it; near {set_N}, it is another cause."
        yield replace(reading, proof=proof if reading.severity else "")


def _lowered(plan: Plan, heard: Heard, way: str) -> Iterator[Reading]:
    """Slip at the low end of the tension, where at its nominal one a pulley holds: so a caution at most."""
    if plan.operation is None or plan.operation.ends is None:
        return
    low, (how, source) = plan.operation.ends[0], slackened(plan.operation.ends[0])
    lowered, way = replace(plan, operation=low), way + _slips_still(plan, plan.operation, heard)
    for i, pulley in enumerate(plan.route.pulleys):
        bound = grip_bound(plan.layout, pulley)
        full = {each.when: each for each in _points(plan, plan.operation, Heard(), i, "wet")}
        own = {each.when: each for each in _points(plan, plan.operation, heard, i, "wet")}
        asked = [each for when, each in (full | own).items() if when == "steady" or when in own]
        if not own or any(bound.severity(each.utilisation) == PROBLEM for each in asked):
            continue
        point, every = _worst_of(_points(plan, low, heard, i, "wet")), _points(plan, low, Heard(), i, "wet")
        steadily = [(each, _STEADILY) for each in every if each.when == "steady" != point.when]
        beside = f"{_beside(point, steadily)}; {used_words(own[point.when].utilisation)} at full tension"
        reading = _slip(lowered, low, point, at_an_end(bound), beside, _worst_of(every))
        # Of a belt that hangs slack no more tension can be told in times.
        change = reading.change and (way if not low.preload_factor > 0.0 else f"{way}; else {reading.change}")
        words = f"{how}, {reading.where} {reading.words}"
        yield replace(reading, words=words, change=change, source=f"{reading.source}; {source}")


def _slips_still(plan: Plan, operation: Operation, heard: Heard) -> str:
    """What slips at the nominal tension too, when it was heard."""
    every = [point for i in range(len(plan.route.pulleys)) for point in _points(plan, operation, heard, i, "wet")]
    slips = sorted((point for point in every if point.utilisation >= 1.0), key=lambda point: point.utilisation)
    still = {point.pulley: used_words(point.utilisation) for point in slips}
    names = all_of(f"{name} ({used})" for name, used in still.items())
    return f", though then {names} still slip{'s' * (len(still) == 1)}" if still else ""


def poor_grip(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used by the design friction, where with a clean belt, wet or dry, nothing is to be said of a pulley."""
    operation = plan.operation
    if operation is None:
        return
    for i, pulley in enumerate(plan.route.pulleys):
        bound = grip_bound(plan.layout, pulley)
        points, every = (_points(plan, operation, each, i, "design") for each in (heard, Heard()))
        wet = _points(plan, operation, Heard(), i, "wet")
        if points and not any(bound.severity(point.utilisation) for point in wet):
            clean, point = _worst_of(wet), _worst_of(points)
            beside = f"; a clean belt uses {used_words(clean.utilisation)}, wet"
            own = grip_bound(plan.layout, pulley, "design")
            reading = _slip(plan, operation, point, own, beside, _worst_of(every))
            yield replace(reading, by_design=True, rests_on_slip=not reading.severity)


_STEADILY = "in steady running"
_Beside = list[tuple[WorstPoint, str]]


def _points(plan: Plan, operation: Operation, heard: Heard, index: int, condition: Condition) -> list[WorstPoint]:
    """Where a pulley uses most of its grip in every way of running in which it was heard; in each where none was said.

    Of one that takes no torque only while the engine changes speed.
    """
    ways: dict[str, tuple[When, Floats]] = {}
    if any(row.index == index for row in plan.slip):
        ways["idle"] = "steady", operation.utilisation[:, :, speeds_heard(heard)]
    if operation.revving is not None:
        words = zip(("revving", "letting_off"), REVVING, strict=True)
        ways |= {word: (when, operation.revving[1][:, i]) for i, (word, when) in enumerate(words)}
    said = [way for word, way in ways.items() if word in heard.when] or [*ways.values()]
    return [worst_point(operation, utilisation, index, condition, when) for when, utilisation in said]


def _worst_of(points: list[WorstPoint]) -> WorstPoint:
    return max(points, key=lambda point: point.utilisation)


def _beside(point: WorstPoint, others: _Beside) -> str:
    """What else it uses, as far as that reads otherwise."""
    told, own = [(used_words(other.utilisation), when) for other, when in others], used_words(point.utilisation)
    return "".join(f"; {used} {when}" for used, when in told if used != own)


def _slip(
    plan: Plan,
    operation: Operation,
    point: WorstPoint,
    bound: Bound,
    more: str,
    worst: WorstPoint | None = None,
) -> Reading:
    """worst: where the point is only one of those that were heard; the change serves it too."""
    when = "" if point.when == "steady" else f" while the engine {point.when}"
    at = f"{condition_words(point.condition)} at {point.rpm:.0f} rpm{when}, duty '{operation.duties[point.duty]}'"
    deed = f"uses {grip_words(point.utilisation)}" if np.isfinite(point.utilisation) else "a span beside it hangs slack"
    how = PROBLEM if point.utilisation >= bound.limit else int(bound.severity(point.utilisation))
    words = f"{_SLIPS[how]}: {deed}, {at}{more}"
    return _against(bound, point.pulley, point.utilisation, words, _more_grip(plan, operation, worst or point, bound))


_SLIPS = {
    NONE: "does not slip",
    CAUTION: "comes near slipping",
    PROBLEM: "slips",
}


def _more_grip(plan: Plan, operation: Operation, point: WorstPoint, bound: Bound) -> str:
    ways = list(filter(None, [more_wrap(operation, bound, point)]))
    if operation.preload_factor < 1.0 and plan.again:
        # When it is due to be set again its tension is the same, however it is set.
        return ways[0] if ways else Way.LESS_LOAD
    hubs = dict.fromkeys(each.subject for each in plan.findings if each.check in (HUB_LOAD.name, HUB_MOMENT.name))
    if hubs:
        few = f"{Way.SMALLER_LOAD}: {all_of(hubs)} {'stands' if len(hubs) == 1 else 'stand'} no more tension"
        return ", or ".join([*ways, few])
    if not all(stood for _, stood in plan.cures):
        few = f"{Way.RIBS_FOR_TENSION}: the belt stands no tension that is enough"
        return "; ".join(filter(None, [", or ".join([*ways, few]), room_words(plan.layout)]))
    for cure, _ in plan.cures:
        if cure.condition == point.condition and cure.preload_factor is not None and cure.times is not None:
            ways.append(
                f"{_tighter(plan, cure, operation)}, which brings every pulley to {WANTED_USE:g} {cure.condition}"
            )
    none = (
        "no tension does it: more wrap, or less load"
        if not np.isfinite(point.utilisation)
        else "neither tension nor wrap does it: less load"
    )
    return ", or ".join(ways) or none


def _tighter(plan: Plan, cure: TensionCure, operation: Operation) -> str:
    usual, own_N = operation.preload_factor, set_N(plan.layout, plan.route.circuit)
    if cure.holds == "set tension":
        wanted_N = ceil((cure.preload_factor or 0.0) / usual * own_N)
        tighter, over = f"{wanted_N} N a span", overload_words(plan.route, wanted_N / own_N)
    else:
        times = (cure.times or 0.0) / usual
        tighter = f"{times:.2f} times the {cure.holds}" if cure.at is None else f"a spring {times:.2f} times as strong"
        over = overload_words(plan.route, times)
    return f"{tighter} ({over})" if over else tighter


# The pulleys: wrap, size, grooves.


def _advice(plan: Plan, check: Check, where: str) -> tuple[str, ...]:
    """What its check advises there; nothing where it finds nothing."""
    return next((each.advised for each in plan.findings if each.issue == (check.name, where)), ())


def wraps(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Wrap against its minimum: a first screen where the pulley's own slip is known."""
    used = {row.pulley: row.wet.utilisation for row in plan.slip}
    for row in plan.pulleys:
        bound = minimum_wrap(plan.layout, row.pulley)
        if bound is None:
            continue
        is_short = row.wrap_deg < bound.limit
        wrap, short, wanted = against(row.wrap_deg, bound.limit if is_short else bound.ample)
        known = f"; its slip says more: grip used {used_words(used[row.name])}, wet" if row.name in used else ""
        words = f"{wrap} deg of wrap, {bound.limit:g} is its minimum, {AT_MEASURING}{known}"
        how = "".join(_advice(plan, WRAP, row.name)).rpartition(": ")[2]
        more = f"{short} deg more wrap, to {'its minimum of' if is_short else 'the recommended'} {wanted}: {how}"
        reading = _against(bound, row.name, row.wrap_deg, words, more)
        # What drives nothing has nothing to slip for, once it is led round far enough to keep turning.
        never = WORDS if row.pulley.guides_only and not is_short else ()
        yield replace(reading, rests_on_slip=row.name in used, never=never)


def sizes(plan: Plan, heard: Heard) -> Iterator[Reading]:
    belt = plan.layout.belt
    for pulley in plan.route.pulleys:
        bound, diameter = minimum_diameter(plan.layout, pulley), pulley.line_diameter_mm(belt)
        if bound is not None:
            words = f"{bound.words(diameter, 'mm')} for {belt.profile.name} on this side"
            advised = _advice(plan, SMALL_PULLEY, pulley.name)
            larger = f"a pulley of {bound.ample:.1f} mm or more"
            change = larger if Way.LARGER in advised else "".join(advised)  # where no diameter serves all
            yield _against(bound, pulley.name, diameter, words, change)


def grooves(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grooves against the belt's ribs: enough is enough, so that there is a margin only where some are missing."""
    ribs = plan.layout.belt.ribs
    for pulley in plan.route.pulleys:
        has = pulley.usable_grooves
        if has is None or pulley.on_back:
            continue
        short = has < ribs
        words = f"{has} grooves for {ribs} ribs{'' if short else ': enough'}"
        margin = has / ribs - 1.0 if short else np.inf
        change = f"a pulley of {ribs} grooves, or a belt of {has} ribs" if short else ""
        severity = PROBLEM if short else NONE
        yield Reading(*(pulley.name, float(has), float(ribs), "grooves", OWN, margin, severity, words), change)


# The spans: alignment and resonance.


def misalignments(plan: Plan, heard: Heard) -> Iterator[Reading]:
    route = plan.route
    if not is_measured(route):
        return
    changes = {name: f"move {name} {abs(by):.1f} mm {way_words(by)}" for name, by in shims(route).items()}
    for pulley in tilted(route):
        changes[pulley.name] = ", and ".join([squaring_words(pulley), *filter(None, [changes.get(pulley.name)])])
    angles = entry_angles_deg(route)
    for i, (start, end) in enumerate(route.spans):
        bound, angle = maximum_misalignment(plan.layout, start, end), float(angles[i])
        guessed = [pulley.name for pulley in (start, end) if pulley.plane_mm is None]
        taken = f"; plane of {' and '.join(guessed)} taken as 0" if guessed else ""
        leaning = leaning_words(route, i)
        words = f"{angle:.2f} deg askew over {route.loop.span[i]:.0f} mm of span{', ' * bool(leaning)}{leaning}"
        words += f"; {bound.limit:g} deg is the maximum{taken}"
        change = ", and ".join(changes[name] for name in dict.fromkeys((start.name, end.name)) if name in changes)
        yield _against(bound, route.circuit.span_name(i), angle, words, change)


# What stands too near to the belt.

_GAPS = tuple(check.name for check in (CLEARANCE, SPAN_GAP, RIM_GAP))


def gaps(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Gaps that are too small somewhere on the travel; where none is, the smallest of all.

    Its margin is what is left of the minimum as the belt runs, none where they touch then.
    """
    found, running = (
        [each for each in plan.findings if each.check in _GAPS],
        running_gaps_mm(plan.route, plan.operation),
    )
    for each in found:
        assert each.value is not None and each.limit is not None
        runs = running.get((each.check, each.subject), each.value)
        also = f"; {runs:.1f} mm as it runs" if runs > each.value + 0.05 else ""
        given = (each.value, each.limit, "mm", each.source, runs / each.limit if runs > 0.0 else NOT_MEASURED)
        yield Reading(each.subject, *given, WEIGHTS[each.severity], each.wrong + also, each.advice)
    if not found and plan.gap is not None:
        bound, value = plan.gap.bound, plan.gap.value_mm
        given = (value, bound.limit, "mm", bound.source, value / bound.limit)
        yield Reading(plan.gap.subject, *given, NONE, f"the smallest gap: {bound.words(value, 'mm')}")


# The adjuster.


def stops(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """How much travel a sprung adjuster has left in running; at a stop it lacks all."""
    operation, travel, moving, held = plan.operation, plan.route.travel, plan.route.moving, plan.route.circuit.adjuster
    if operation is None or travel is None or moving is None or held is None or held.spring is None:
        return
    end = end_of_travel(operation)
    at = np.append(travel.position(operation.running.setting), travel.position(operation.stopped.setting))
    left, stop = min((float(at.min()), "short"), (float(1.0 - at.max()), "long"))
    whole = "stop" if travel.whole else "end of its usable travel"
    amount = f"{held.own * left * abs(float(travel.long - travel.short)):.1f} {held.unit}"
    words = f"under tension, running or stopped, {amount} of its travel is left to the {stop} {whole}"
    if end is not None:
        words = f"{END_WORDS[end[0]]}, and its spring no longer sets the tension"
    yield Reading(
        *(moving.name, None if end else 100.0 * left, 0.0, "% of travel", SPRING.source),
        *(NOT_MEASURED if end else left, PROBLEM if end else NONE, words),
        f"another spring, belt length or position of the {held.kind}" if end else "",
        never=_off_the_stop(operation, slack=bool(at.max() >= 1.0 - at.min())),
    )


def _off_the_stop(operation: Operation, slack: bool) -> tuple[Word, ...]:
    """When a sprung adjuster stands at no stop. slack: whether it comes to the long one, where the belt slackens: wet,
    cold and with a belt made longer by heat it is heard then.
    """
    running = operation.running.at_stop
    up, down = (running, running) if operation.revved is None else operation.revved.at_stop
    slackens = slack and bool(running.any() or operation.stopped.at_stop)
    at: dict[Word, bool] = {
        **dict.fromkeys(("cold", "wet", "hot"), slackens),
        "idle": bool(running[:, 0].any()),
        "revving": bool(up.any()),
        "letting_off": bool(down.any()),
        "full_load": bool(running.any()),
        "always": bool(running.all()),
    }
    return tuple(word for word, there in at.items() if not there)


def take_up(plan: Plan, heard: Heard) -> Iterator[Reading]:
    if plan.adjuster is None:
        return
    name, percent = plan.adjuster.pulley.name, plan.adjuster.take_up_percent
    bound = demanded(plan.layout, "min_take_up_percent", (name,))
    words = f"takes up {percent:.0f} % of the belt that a well placed one would; {bound.limit:g} is the minimum"
    yield _against(bound, name, percent, words, "mount it so that it moves square to the pull of its spans")
