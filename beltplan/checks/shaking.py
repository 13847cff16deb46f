"""What the engine's uneven turning does to the belt: a mode that it meets, tension, grip and the arm at their worst."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from beltplan.checks.limits import Bound, Check, Finding, demanded
from beltplan.checks.tension import at_an_end, grip_bound
from beltplan.drive.forced import SWING_SOURCE, crank_swing_rad, firing_rad_per_s
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.mechanics import CONDITIONS, REAL, frictions
from beltplan.drive.modes import modes_of
from beltplan.drive.operation import Operation
from beltplan.drive.shaking import Shaken, assumed_inertias, drive_chain, why_not_shaken
from beltplan.geometry.vectors import TURN, Floats

WHAT_WOULD_HELP = "`beltplan vibration` tries what would help"
GIVE_THE_SWING = "before you believe it see if a span flaps, guards on, or measure: `beltplan words swing_deg`"
_MODEL = "rotors on springs, answered at the firing and twice it, as if all cylinders fire evenly"
_ASSUMED = f"{_MODEL}; swing {SWING_SOURCE}"


def _judged(
    check: Check, operation: Operation, subject: str, value: float, bound: Bound, wrong: str, parts: tuple[str, ...]
) -> list[Finding]:
    """What a value deserves as far as it is known: a note where the swing of the crank is assumed, a caution where all
    inertias are.
    """
    route = operation.route
    assumed = assumed_inertias(route)
    known = any(pulley.name not in assumed and not pulley.guides_only for pulley in route.pulleys[1:])
    found = check.judge(subject, value, bound if known else at_an_end(bound), wrong, WHAT_WOULD_HELP, parts=parts)
    if route.layout.engine.swing_deg is not None:
        return found
    swing = assumed_swing_words(route.layout.engine, float(operation.driver_rpm[0]))
    words = f"{wrong}, if {swing}"
    return [replace(each, severity="note", wrong=words, advised=(GIVE_THE_SWING,), source=_ASSUMED) for each in found]


def assumed_swing_words(engine: Engine, idle_rpm: float) -> str:
    """On what swing of the crank all else rests where the layout gives none."""
    swing_deg = float(np.degrees(crank_swing_rad(engine, np.asarray(idle_rpm))[0]))
    return f"the crank swings {swing_deg:.2g} deg either way at idle, which is only assumed"


def _drive_resonance_findings(operation: Operation) -> list[Finding]:
    """The first mode where the engine idles or cruises on it; a note where it only passes through."""
    route, rpm = operation.route, operation.driver_rpm
    if why_not_shaken(route) is not None:
        return []
    first = float(modes_of(drive_chain(route, operation.mechanics, operation.stopped)).frequency_Hz[0])
    met = first * TURN / float(firing_rad_per_s(route.layout.engine, np.ones(())))
    bound, found = demanded(route.layout, "drive_resonance_percent"), list[Finding]()
    meets = f"the firing meets the drive's first mode, {first:.0f} Hz"
    for name, own in route.layout.engine.speeds_rpm.items():
        if name != "max":
            words = f"{name}, {own:.0f} rpm, is near {met:.0f} rpm, where {meets}"
            words += f"; it is clear of it from {clear_of_rpm(route.layout, met):.0f} rpm" * (name == "idle")
            off = 100.0 * abs(met / own - 1.0)
            found += DRIVE_RESONANCE.judge("belt", off, bound, words, WHAT_WOULD_HELP, parts=())
    if found or not rpm[0] <= met <= rpm[-1]:
        return found[:1]
    words = f"at {met:.0f} rpm {meets}: do not let the engine dwell there"
    return [DRIVE_RESONANCE.find("note", "belt", words, WHAT_WOULD_HELP)]


def clear_of_rpm(layout: Layout, met_rpm: float) -> float:
    """The idle that is clear of a mode met at that speed, and above it, to ten rpm."""
    return 10.0 * ceil(met_rpm / (1.0 - demanded(layout, "drive_resonance_percent").limit / 100.0) / 10.0)


def swing_findings(operation: Operation) -> list[Finding]:
    """The span whose tension falls nearest to nothing while the engine fires, naming the others."""
    shaken = operation.shaken
    if shaken is None:
        return []
    left = tension_left(shaken)
    duty, speed, span = where_most(-left)
    bound, names = demanded(operation.route.layout, "min_swung_tension"), [operation.route.circuit.span_name(span)]
    least = left.min(axis=(0, 1))
    low = np.flatnonzero(least <= 0.0 if _slack(shaken) else bound.severity(least))
    names += [operation.route.circuit.span_name(i) for i in low.tolist() if i != span]
    others = f" (and {len(names) - 1} more span{'s' * (len(names) > 2)})" if names[1:] else ""
    to = f"falls to {shaken.least_N[duty, speed, span]:.0f} N of {shaken.mean_N[duty, speed, span]:.0f} N"
    falls = "falls slack" if _slack(shaken) else to
    wrong = f"{falls} as the engine fires{others}"
    value = float(left[duty, speed, span])
    return _judged(TENSION_SWING, operation, names[0], value, bound, wrong, tuple(names))


def tension_left(shaken: Shaken) -> Floats:
    """What is left of every span's tension at its least, as a share of its mean, (duty, speed, span)."""
    return np.where(shaken.mean_N > 0.0, shaken.least_N / np.maximum(shaken.mean_N, 1.0), 1.0)


def _slack(shaken: Shaken) -> bool:
    return bool((shaken.least_N <= 0.0).any())


def where_most(values: Floats) -> tuple[int, ...]:
    """The first place of the largest value."""
    return tuple(int(i) for i in np.unravel_index(int(values.argmax()), values.shape))


def _when(operation: Operation, duty: int, speed: int) -> str:
    return f"{operation.driver_rpm[speed]:.0f} rpm, duty '{operation.duties[duty]}'"


def _swing_slip_findings(operation: Operation) -> list[Finding]:
    """The pulley that slips most for a moment as the engine fires, and would not in steady running; dry before wet.

    A span that falls slack says more, and is told instead.
    """
    shaken, route = operation.shaken, operation.route
    if shaken is None or _slack(shaken):
        return []
    friction = frictions(route.layout.belt, route.pulleys)
    for condition in REAL:
        number = CONDITIONS.index(condition)
        used, steady = shaken.grip_needed / friction[number], operation.utilisation[number]
        lone = np.where(steady.max(axis=(0, 1)) < 1.0, used, 0.0)
        duty, speed, i = where_most(lone)
        bound = grip_bound(route.layout, route.pulleys[i])
        if lone[duty, speed, i] >= bound.limit:
            wrong = (
                f"slips for a moment as the engine fires, {condition} at {_when(operation, duty, speed)}. It then uses "
                f"{used[duty, speed, i]:.2f} of its grip ({steady[duty, speed, i]:.2f} in steady running)"
            )
            bound, name = bound if condition == "dry" else at_an_end(bound), route.pulleys[i].name
            return _judged(SWING_SLIP, operation, name, float(used[duty, speed, i]), bound, wrong, (name,))
    return []


def _arm_findings(operation: Operation) -> list[Finding]:
    shaken, travel, moving = operation.shaken, operation.route.travel, operation.route.moving
    if shaken is None or shaken.adjuster is None or travel is None or moving is None or moving.adjuster is None:
        return []
    held, setting = moving.adjuster, operation.running.setting
    scale, unit, swing = held.own, held.unit, shaken.adjuster * (1.0 if held.kind == "arm" else 1e3)
    room = np.minimum(setting - travel.low, travel.high - setting)
    duty, speed = where_most(np.where(operation.running.at_stop, 0.0, swing / np.maximum(room, 1e-9)))
    left, swung = scale * float(room[duty, speed]), scale * float(swing[duty, speed])
    bound = Bound("upper", left, unit, "swing against the way to its nearest stop")
    way = f"swings {swung:.1f} {unit} either way at {_when(operation, duty, speed)}"
    wrong = f"{way}, with {left:.1f} {unit} to its stop"
    return _judged(ARM_TRAVEL, operation, moving.name, swung, bound, wrong, (moving.name,))


DRIVE_RESONANCE = Check(
    "drive_resonance",
    "the firing meets the first mode of turning where the engine idles or cruises",
    of_operation=_drive_resonance_findings,
    limits=("drive_resonance_percent",),
    source=_MODEL,
)
TENSION_SWING = Check(
    "tension_swing",
    "a span whose tension falls near nothing as the engine fires: the belt flaps or jumps",
    of_operation=swing_findings,
    limits=("min_swung_tension",),
    called="slack as the engine fires",
    by_swing=True,
)
SWING_SLIP = Check(
    "swing_slip",
    "a pulley that slips for a moment as the engine fires",
    of_operation=_swing_slip_findings,
    limits=("max_slip_use",),
    called="slip as the engine fires",
    by_swing=True,
)
ARM_TRAVEL = Check(
    "arm_travel",
    "a tensioner that the engine swings into a stop",
    of_operation=_arm_findings,
    source=_MODEL,
    called="tensioner against its stop",
    by_swing=True,
)
