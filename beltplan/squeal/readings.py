"""How near a layout is to each cause of noise: the number of its check at every place, also where the check finds
nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
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
from beltplan.checks.limits import CAUTION, NONE, NOT_MEASURED, OWN, PROBLEM, Bound, Way, against, demanded
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import AT_MEASURING, minimum_diameter, minimum_wrap, room_words
from beltplan.checks.resonance import RESONANCE, nearest_orders
from beltplan.checks.shaking import WHAT_WOULD_HELP, swing_findings, tension_left
from beltplan.checks.tension import SPRING, at_an_end, grip_bound, grip_words, more_wrap, slackened, used_words
from beltplan.drive.mechanics import Condition
from beltplan.drive.operation import REVVING, WANTED_USE, Operation, When, WorstPoint, end_of_travel, worst_point
from beltplan.drive.travel import END_WORDS

Word = Literal["cold", "wet", "hot", "idle", "revving", "letting_off", "full_load", "always"]
WORDS: tuple[Word, ...] = get_args(Word)
Water = Literal["louder", "quieter", "same"]


@dataclass(frozen=True)
class Heard:
    """When the noise is heard, and what plain water on the running ribs does to it; nothing where nothing is said."""

    when: tuple[Word, ...] = ()
    water: Water | None = None


@dataclass(frozen=True, eq=False)
class Reading:
    """The number behind a cause at one place.

    where: pulley or span. value: infinite where a span hangs slack, None where the number is yes or no. margin:
    distance to the limit on the good side, as a share of it. severity: what its check makes of it. words: the number in
    a sentence. change: the smallest change that takes it away, empty where none is needed. rests_on_slip: whether it is
    a first screen only, because the pulley's own slip is known. never: of what its cause fits, when it is not so here.
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
    never: tuple[Word, ...] = ()


Read = Callable[[Plan, Heard], Iterator[Reading]]


def _against(bound: Bound, where: str, value: float, words: str, change: str) -> Reading:
    severity, margin, verdict = int(bound.severity(value)), float(bound.margin(value)), bound.verdict(value)
    told = (bound.limit, bound.unit, bound.source if verdict is None else verdict[2])
    return Reading(where, value, *told, margin, severity, words, change if severity else "")


# Slip.


def steady(plan: Plan, heard: Heard, condition: Condition, at_the_end: bool = False) -> Iterator[Reading]:
    """Grip used in steady running; at idle where it is heard there. at_the_end: of the tension, where slip alone counts
    as in `check`.
    """
    operation = plan.operation
    if operation is None:
        return
    speeds = slice(0, 1) if "idle" in heard.when else slice(None)
    for row in plan.slip:
        point = worst_point(operation, operation.utilisation[:, :, speeds], row.index, condition)
        worst = worst_point(operation, operation.utilisation, row.index, condition)
        revving = row.revving if condition == "wet" else None
        others = [(worst, f"at {worst.rpm:.0f} rpm")] if worst.rpm != point.rpm else []
        others += [] if revving is None else [(revving, f"while the engine {revving.when}")]
        told = [(used_words(other.utilisation), when) for other, when in others]
        more = "".join(f"; {used} {when}" for used, when in told if used != used_words(point.utilisation))
        if at_the_end and revving:  # as `check`, which tells the worse; at full tension it is a cause of its own
            worst = max(worst, revving, key=lambda each: each.utilisation)
        yield _slip(plan, operation, point, more, at_the_end, worst)


def low_spring(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet where a sprung adjuster's friction takes from what its spring gives."""
    if plan.tension is not None and plan.tension.band_N is not None:
        yield from _lowered(plan, heard, "a tensioner that moves freely")


def run_in(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used in the wet by a belt set by hand, when it is due to be set again."""
    if plan.tension is not None and plan.adjuster is not None and not plan.adjuster.sprung:
        again = plan.again
        to = f"the usual {plan.usual_tension}" if again and again.is_usual else f"{plan.tension.each_N:.0f} N a span"
        way = (
            f"set it to {to}, and again when it has fallen to {again.at_N:.0f} N" if again else f"set it again to {to}"
        )
        yield from _lowered(plan, heard, way)


def _lowered(plan: Plan, heard: Heard, way: str) -> Iterator[Reading]:
    """Steady slip at the low end of the tension, where at its nominal one a pulley holds: so a caution at most."""
    if plan.operation is None or plan.operation.ends is None:
        return
    low, (how, source) = replace(plan, operation=plan.operation.ends[0]), slackened(plan.operation.ends[0])
    every = zip(steady(plan, heard, "wet"), steady(low, heard, "wet", at_the_end=True), strict=True)
    for nominal, reading in every:
        if nominal.severity == PROBLEM:
            continue
        words = f"{how}, {reading.where} {reading.words}; {used_words(nominal.value or 0.0)} at full tension"
        # Of a belt that hangs slack no more tension can be told in times.
        slack = not plan.operation.ends[0].preload_factor > 0.0
        change = reading.change and (way if slack else f"{way}; else {reading.change}")
        yield replace(reading, words=words, change=change, source=f"{reading.source}; {source}")


def on_revs(plan: Plan, heard: Heard, when: When) -> Iterator[Reading]:
    operation = plan.operation
    if operation is None or operation.revving is None:
        return
    utilisation = operation.revving[1][:, REVVING.index(when)]
    for i in range(len(plan.route.pulleys)):
        point = worst_point(operation, utilisation, i, "wet", when)
        still = worst_point(operation, operation.utilisation, i, "wet")
        yield _slip(plan, operation, point, f"; {used_words(still.utilisation)} in steady running")


def _slip(
    plan: Plan,
    operation: Operation,
    point: WorstPoint,
    more: str,
    at_the_end: bool = False,
    worst: WorstPoint | None = None,
) -> Reading:
    """worst: where the point is only one of those that were heard; the change serves it too."""
    pulley = plan.route.pulleys[point.index]
    bound = grip_bound(plan.layout, pulley)
    bound = at_an_end(bound) if at_the_end else bound
    duty = operation.duties[point.duty]
    at = f"{point.condition} at {point.rpm:.0f} rpm, duty '{duty}'"
    deed = f"uses {grip_words(point.utilisation)}" if np.isfinite(point.utilisation) else "a span beside it hangs slack"
    how = PROBLEM if point.utilisation >= bound.limit else int(bound.severity(point.utilisation))
    words = f"{_SLIPS[how]}: {deed}, {at}{more}"
    return _against(bound, pulley.name, point.utilisation, words, _more_grip(plan, operation, worst or point, bound))


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
    if not all(stood for _, stood in plan.cures):
        few = f"{Way.RIBS_FOR_TENSION}: the belt stands no tension that is enough"
        return "; ".join(filter(None, [", or ".join([*ways, few]), room_words(plan.layout)]))
    for cure, _ in plan.cures:
        if cure.condition == point.condition and cure.times is not None:
            times = f"{cure.times / operation.preload_factor:.2f} times"
            tighter = f"{times} the {cure.holds}" if cure.at is None else f"a spring {times} as strong"
            ways.append(f"{tighter}, which brings every pulley to {WANTED_USE:g} {cure.condition}")
    none = (
        "no tension does it: more wrap, or less load"
        if not np.isfinite(point.utilisation)
        else "neither tension nor wrap does it: less load"
    )
    return ", or ".join(ways) or none


# The pulleys: wrap, size, grooves.


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
        more = f"{short} deg more wrap, to {'its minimum of' if is_short else 'the recommended'} {wanted}"
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
            yield _against(bound, pulley.name, diameter, words, f"a pulley of {bound.ample:.1f} mm or more")


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


def resonances(plan: Plan, heard: Heard) -> Iterator[Reading]:
    for each in () if plan.operation is None else nearest_orders(plan.operation):
        near, band = each.apart < each.band, each.band
        # A string's frequency goes with the root of its tension: to the nearer edge of the band.
        edge = each.order_Hz / (1.0 - band if each.order_Hz < each.own_Hz else 1.0 + band)
        tension = (edge / each.own_Hz) ** 2 - 1.0
        change = f"about {abs(100.0 * tension):.0f} % {'more' if tension > 0.0 else 'less'} tension" if near else ""
        yield Reading(
            *(plan.route.circuit.span_name(each.span), 100.0 * each.apart, 100.0 * band, "%", RESONANCE.source),
            *(each.apart / band - 1.0 if band else np.inf, CAUTION if near else NONE),
            *(f"{each.words}, {100.0 * each.apart:.0f} % apart", change),
        )


def swings(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """What the firing leaves of each span's tension at the worst speed; judged as its check does."""
    operation, severities = plan.operation, {"problem": PROBLEM, "caution": CAUTION, "note": NONE}
    shaken = None if operation is None else operation.shaken
    if operation is None or shaken is None:
        return
    left = tension_left(shaken)
    found = next((severities[each.severity] for each in swing_findings(operation)), NONE)
    usual = ", if the crank swings as assumed" if plan.layout.engine.swing_deg is None else ""
    bound, whole = demanded(plan.layout, "min_swung_tension"), left.reshape(-1, left.shape[-1])
    for i, (worst, least) in enumerate(zip(whole.argmin(axis=0).tolist(), whole.min(axis=0).tolist(), strict=True)):
        rpm = float(operation.driver_rpm[worst % left.shape[1]])
        percent = 100.0 * max(least, 0.0)
        words = f"{percent:.0f} % of its tension is left as the engine fires near {50 * round(rpm / 50.0)} rpm{usual}"
        severity = min(found, int(bound.severity(least)))
        change = WHAT_WOULD_HELP if severity else ""
        given = (percent, 100.0 * bound.limit, "%", bound.source, float(bound.margin(least)))
        yield Reading(plan.route.circuit.span_name(i), *given, severity, words, change)


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
