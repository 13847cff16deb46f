"""How near a layout is to each cause of noise: the number of its check at every place, also where the check finds
nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
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
from beltplan.checks.clearance import CLEARANCE, RIM_GAP, SPAN_GAP, running_gaps_mm
from beltplan.checks.limits import (
    CAUTION,
    NONE,
    NOT_MEASURED,
    OWN,
    PROBLEM,
    Bound,
    Severity,
    Way,
    against,
    demanded,
)
from beltplan.checks.plan import Plan
from beltplan.checks.pulleys import AT_MEASURING, SMALL_PULLEY, minimum_diameter, minimum_wrap, way_to_wrap
from beltplan.checks.slip import used_words
from beltplan.checks.tension import SPRING
from beltplan.drive.operation import Operation, end_of_travel
from beltplan.drive.travel import END_WORDS

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
    a first screen only, because the pulley's own slip, or its slip in steady running, says more. by_design: whether by
    the design friction, so by less than a clean belt has. proof: what the test of its cause must show here. never: of
    what its cause fits, when it is not so here. faster: whether its check finds something at a faster speed
    than that heard.
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
    faster: bool = False


Read = Callable[[Plan, Heard], Iterator[Reading]]


def reading_by(bound: Bound, where: str, value: float, words: str, change: str) -> Reading:
    severity, margin, verdict = int(bound.severity(value)), float(bound.margin(value)), bound.verdict(value)
    told = (bound.limit, bound.unit, bound.source if verdict is None else verdict[2])
    return Reading(where, value, *told, margin, severity, words, change if severity else "")


def speeds_heard(heard: Heard) -> slice:
    """Which of the speeds it may be heard at."""
    return slice(0, 1) if "idle" in heard.when else slice(None)


# The pulleys: wrap, size, grooves.


def wraps(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Wrap against its minimum: a first screen where the pulley's own slip is known."""
    used = {row.pulley: row.wet.utilisation for row in plan.slip}
    for row in plan.pulleys:
        bound = minimum_wrap(plan.layout, row.pulley)
        is_short = row.wrap_deg < bound.limit
        wrap, short, wanted = against(row.wrap_deg, bound.limit if is_short else bound.ample)
        known = f"; its slip says more: grip used {used_words(used[row.name])}, wet" if row.name in used else ""
        words = f"{wrap} deg of wrap, {bound.limit:g} is its minimum, {AT_MEASURING}{known}"
        to = f"{'its minimum of' if is_short else 'the recommended'} {wanted}"
        more = f"{short} deg more wrap, to {to}: {way_to_wrap(row.pulley)}"
        reading = reading_by(bound, row.name, row.wrap_deg, words, more)
        # What drives nothing has nothing to slip for, once it is led round far enough to keep turning.
        never = WORDS if row.pulley.guides_only and not is_short else ()
        yield replace(reading, rests_on_slip=row.name in used, never=never)


def sizes(plan: Plan, heard: Heard) -> Iterator[Reading]:
    belt = plan.layout.belt
    advised = {each.subject: each.advised for each in plan.findings if each.check == SMALL_PULLEY.name}
    for pulley in plan.route.pulleys:
        bound, diameter = minimum_diameter(plan.layout, pulley), pulley.line_diameter_mm(belt)
        words = f"{bound.words(diameter, 'mm')} for {belt.profile.name} on this side"
        own, larger = advised.get(pulley.name, ()), f"a pulley of {bound.ample:.1f} mm or more"
        change = larger if Way.LARGER in own else "".join(own)  # where no diameter serves all
        yield reading_by(bound, pulley.name, diameter, words, change)


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
        yield reading_by(bound, route.circuit.span_name(i), angle, words, change)


# What stands too near to the belt.

_GAPS = tuple(check.name for check in (CLEARANCE, SPAN_GAP, RIM_GAP))


def gaps(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Gaps that are too small somewhere on the travel; where none is, the smallest of all.

    Its margin is what is left of the minimum as the belt runs, none where they touch then.
    """
    found, running = [f for f in plan.findings if f.check in _GAPS], running_gaps_mm(plan.route, plan.operation)
    for each in found:
        assert each.value is not None and each.limit is not None
        runs = running.get((each.check, each.subject), each.value)
        also = f"; {runs:.1f} mm as it runs" if runs > each.value + 0.05 else ""
        given = (each.value, each.limit, "mm", each.source, _left(runs, each.limit))
        yield Reading(each.subject, *given, WEIGHTS[each.severity], each.wrong + also, each.advice)
    if not found and plan.gap is not None:
        bound, value = plan.gap.bound, plan.gap.value_mm
        given = (value, bound.limit, "mm", bound.source, _left(value, bound.limit))
        yield Reading(plan.gap.subject, *given, NONE, f"the smallest gap: {bound.words(value, 'mm')}")


def _left(gap_mm: float, least_mm: float) -> float:
    """What is left of a minimum as a share of it; of none that is asked for, as `Bound.margin` has it, the gap."""
    return gap_mm / (least_mm or 1.0) if gap_mm > 0.0 else NOT_MEASURED


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
    yield reading_by(bound, name, percent, words, "mount it so that it moves square to the pull of its spans")
