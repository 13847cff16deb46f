"""How near each pulley is to slipping: steadily, on revs, at the low end of the tension and where grip is poor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

import numpy as np

from beltplan.checks.advice import as_sold
from beltplan.checks.doubts import hand_tension
from beltplan.checks.how_tight import overload_words
from beltplan.checks.limits import CAUTION, NONE, PROBLEM, Bound, Way, all_of
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import room_words
from beltplan.checks.slip import condition_words, grip_bound, grip_words, more_wrap, slackened, used_words
from beltplan.checks.tension import HUB_LOAD, HUB_MOMENT, at_an_end
from beltplan.drive.mechanics import REAL, Condition
from beltplan.drive.operation import REVVING, WANTED_USE, Operation, TensionCure, When, WorstPoint, set_N, worst_point
from beltplan.geometry.vectors import Floats
from beltplan.squeal.readings import Heard, Reading, reading_by, speeds_heard


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
        reading = _slip(plan, operation, point, bound, _beside(point, others), worst)
        yield replace(reading, faster=not reading.severity and bool(bound.severity(worst.utilisation)))


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
        reading = _slip(plan, operation, point, bound, _beside(point, [(still, _STEADILY)]))
        # What slips, or uses more, steadily is told as that, as in `check`, unless it is just then that it is heard.
        only_then = bool({"revving", "letting_off"} & {*heard.when})
        steadily = still.utilisation >= bound.limit or still.utilisation > point.utilisation
        yield replace(reading, rests_on_slip=steadily and not only_then)


def low_spring(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet where a sprung adjuster's friction takes from what its spring gives."""
    if plan.tension is not None and plan.tension.band_N is not None:
        yield from _lowered(plan, heard, "a tensioner that moves freely")


def set_slack(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """What a belt is set to by hand, against the least at which a used one is set again."""
    by_hand = hand_tension(plan.layout)
    if by_hand is None:
        return
    name, given, bound = by_hand
    found = any(each.keys == ("pulleys", name, "tension_N") and each.severity == "caution" for each in plan.findings)
    words = f"set to {given:.4g} N a span; a used belt is usually set again at {bound.limit:.0f} N"
    usual = plan.usual_tension or f"{plan.layout.belt.hand_set_N:.0f} N"
    change = f"set it to the usual {usual}" if found else ""
    # What is as published, but for its rounding, is not short of it.
    margin = float(bound.margin(given)) if found else max(float(bound.margin(given)), 0.0)
    numbers = (given, bound.limit, "N", bound.source, margin, CAUTION if found else NONE)
    yield Reading(name, *numbers, words, change)


def run_in(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet by a belt set by hand, when it is due to be set again; of one that is set to less, none."""
    ends = None if plan.operation is None else plan.operation.ends
    if plan.tension is None or ends is None or not (plan.set_by_hand and ends[0].preload_factor < 1.0):
        return
    again, set_N = plan.again, f"{plan.tension.each_N:.0f} N"
    to = f"the usual {plan.usual_tension}" if again and again.is_usual else f"{set_N} a span"
    way = f"set it to {to}, and again when it has fallen to {again.at_N:.0f} N" if again else f"set it again to {to}"
    for reading in _lowered(plan, heard, way):
        low_N = ends[0].stopped.total_N.mean()
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
    plan: Plan, operation: Operation, point: WorstPoint, bound: Bound, more: str, worst: WorstPoint | None = None
) -> Reading:
    """worst: where the point is only one of those that were heard; the change serves it too."""
    when = "" if point.when == "steady" else f" while the engine {point.when}"
    at = f"{condition_words(point.condition)} at {point.rpm:.0f} rpm{when}, duty '{operation.duties[point.duty]}'"
    deed = f"uses {grip_words(point.utilisation)}" if np.isfinite(point.utilisation) else "a span beside it hangs slack"
    how = PROBLEM if point.utilisation >= bound.limit else int(bound.severity(point.utilisation))
    words = f"{_SLIPS[how]}: {deed}, {at}{more}"
    return reading_by(bound, point.pulley, point.utilisation, words, _more_grip(plan, operation, worst or point, bound))


_SLIPS = {NONE: "does not slip", CAUTION: "comes near slipping", PROBLEM: "slips"}


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
        belt = plan.layout.belt
        own = f"with its {belt.ribs} ribs the belt" if belt.profile.is_ribbed else "a belt of this section"
        few = f"{as_sold(plan.layout, Way.RIBS_FOR_TENSION)}: {own} cannot take enough"
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
    times = (cure.times or 0.0) / operation.preload_factor
    tighter = f"{times:.2f} times the {cure.holds}" if cure.at is None else f"a spring {times:.2f} times as strong"
    if cure.holds == "set tension":
        own_N = set_N(plan.layout, plan.route.circuit)
        wanted_N = ceil((cure.preload_factor or 0.0) / operation.preload_factor * own_N)
        tighter, times = f"{wanted_N} N a span", wanted_N / own_N
    over = overload_words(plan.route, times)
    return f"{tighter} ({over})" if over else tighter
