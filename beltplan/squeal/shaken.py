"""What the firing and turning pulleys shake: the number of its check at every place, also where the check finds
nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

import numpy as np

from beltplan.checks.limits import CAUTION, NONE, Bound, against, demanded
from beltplan.checks.plan import Plan
from beltplan.checks.resonance import RESONANCE, nearest_orders
from beltplan.checks.shaking import (
    WHAT_WOULD_HELP,
    arm_swing,
    clear_of_rpm,
    met_mode,
    slack_rpm,
    slack_words,
    swung_grips,
    swung_severity,
    tension_left,
    when_words,
    where_most,
)
from beltplan.checks.slip import grip_words, more_wrap, used_words
from beltplan.drive.operation import Operation
from beltplan.squeal.readings import Heard, Reading, Word, reading_by, speeds_heard


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


def first_mode(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """How far from where the firing meets the drive's first mode the engine idles, or cruises."""
    met = None if plan.operation is None else met_mode(plan.operation)
    if met is None:
        return
    bound, off = demanded(plan.layout, "drive_resonance_percent"), met.off_percent
    speed = "idle" if "idle" in heard.when else min(off, key=lambda name: off[name])
    words = f"{met.words}, at {met.at_rpm:.0f} rpm: {against(off[speed], bound.limit)[0]} % from {speed}"
    never: tuple[Word, ...] = () if speed == "idle" else ("idle",)
    idle_rpm = clear_of_rpm(plan.layout, met.at_rpm)
    clear = "" if never or idle_rpm == inf else f"idle at {idle_rpm:.0f} rpm or faster; "
    proof = f"it comes at {met.at_rpm:.0f} rpm and goes where `beltplan vibration` lists no speed to keep away from."
    reading = reading_by(bound, "belt", off[speed], words, f"{clear}{WHAT_WOULD_HELP}")
    yield replace(reading, unit="%", proof=proof, never=never)


def swings(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """What the firing leaves of each span's tension at the worst speed."""
    operation = plan.operation
    if operation is None or operation.shaken is None:
        return
    left, bound = tension_left(operation.shaken)[:, speeds_heard(heard)], demanded(plan.layout, "min_swung_tension")
    for i in range(left.shape[-1]):
        duty, speed = where_most(-left[..., i])
        least = float(left[duty, speed, i])
        deed = f"keeps {100.0 * least:.0f} % of its tension" if least > 0.0 else "falls slack"
        near = f"{50 * round(float(operation.driver_rpm[speed]) / 50.0)} rpm"
        words = f"{deed} as the engine fires near {near}"
        flaps = slack_words(slack_rpm(operation.driver_rpm, operation.shaken.least_N[..., i : i + 1]))
        reading = _swung(operation, plan.route.circuit.span_name(i), least, bound, words)
        proof = f"this span flaps {f'at {flaps}' if flaps else f'near {near}'}, and at no other speeds."
        yield replace(reading, value=100.0 * max(least, 0.0), limit=100.0 * bound.limit, unit="%", proof=proof)


def swung_slips(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """Grip used for a moment as the engine fires, of pulleys that hold in steady running."""
    operation = plan.operation
    if operation is None:
        return
    for each in swung_grips(operation, speeds_heard(heard)):
        swung, used = each.swung, each.swung.utilisation
        words = (
            f"{'slips for a moment' if each.slips else 'holds'} as the engine fires: uses {grip_words(used)}, "
            f"{swung.condition} at {when_words(operation, swung.duty, swung.speed)}; "
            f"{used_words(each.steady)} in steady running"
        )
        wrap = more_wrap(operation, each.bound, swung)
        yield _swung(operation, swung.pulley, used, each.bound, words, f"{wrap}; " if wrap else "")


def arm_swings(plan: Plan, heard: Heard) -> Iterator[Reading]:
    """How far the firing swings a sprung adjuster, against the way to its nearest stop."""
    operation = plan.operation
    swing = None if operation is None else arm_swing(operation, speeds_heard(heard))
    if operation is not None and swing is not None:
        yield _swung(operation, swing.name, swing.swung, swing.bound, swing.words)


def _swung(operation: Operation, where: str, value: float, bound: Bound, words: str, change: str = "") -> Reading:
    severity, given = swung_severity(operation, value, bound), (value, bound.limit, bound.unit, bound.source)
    if operation.route.layout.engine.swing_deg is None:
        words += ", if the crank swings as assumed (measure: `beltplan words swing_deg`)"
    change = f"{change}{WHAT_WOULD_HELP}" if severity else ""
    return Reading(where, *given, float(bound.margin(value)), severity, words, change)
