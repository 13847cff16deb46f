"""What the engine's uneven turning does to the belt: a mode that it meets, tension, grip and the arm at their worst."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, inf
from typing import NamedTuple

import numpy as np

from beltplan.checks.limits import NONE, Bound, Check, Finding, all_of, demanded
from beltplan.checks.slip import grip_bound
from beltplan.checks.tension import at_an_end
from beltplan.drive.forced import SWING_SOURCE, crank_swing_rad, firing_rad_per_s
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.mechanics import CONDITIONS, REAL, frictions
from beltplan.drive.modes import modes_of
from beltplan.drive.operation import Operation, WorstPoint, worst_point
from beltplan.drive.route import Route
from beltplan.drive.shaking import Shaken, assumed_inertias, drive_chain, why_not_shaken
from beltplan.geometry.vectors import TURN, Floats

WHAT_WOULD_HELP = "`beltplan vibration` tries what would help"
GIVE_THE_SWING = "before you believe it see if a span flaps, guards on, or measure: `beltplan words swing_deg`"
_MODEL = "rotors on springs, answered at the firing and twice it, as if all cylinders fire evenly"
_ASSUMED = f"{_MODEL}; swing {SWING_SOURCE}"


def _judged(
    check: Check, operation: Operation, subject: str, value: float, bound: Bound, wrong: str, *others: str
) -> list[Finding]:
    """What a value deserves as far as it is known: a note where the swing of the crank is assumed. others: parts that
    it goes for too.
    """
    engine, parts = operation.route.layout.engine, (subject, *others)
    found = check.judge(subject, value, _as_known(operation, bound), wrong, WHAT_WOULD_HELP, parts=parts)
    if engine.swing_deg is not None:
        return found
    words = f"{wrong}, if {assumed_swing_words(engine, float(operation.driver_rpm[0]))}"
    return [replace(each, severity="note", wrong=words, advised=(GIVE_THE_SWING,), source=_ASSUMED) for each in found]


def _as_known(operation: Operation, bound: Bound) -> Bound:
    """A caution at most where all inertias are assumed."""
    route, assumed = operation.route, assumed_inertias(operation.route)
    known = any(pulley.name not in assumed and not pulley.guides_only for pulley in route.pulleys[1:])
    return bound if known else at_an_end(bound)


def swung_severity(operation: Operation, value: float, bound: Bound) -> int:
    """How bad a check finds a value that goes by the crank's swing; nothing where that is assumed."""
    given = operation.route.layout.engine.swing_deg is not None
    return int(_as_known(operation, bound).severity(value)) if given else NONE


def assumed_swing_words(engine: Engine, idle_rpm: float) -> str:
    """On what swing of the crank all else rests where the layout gives none."""
    swing_deg = float(np.degrees(crank_swing_rad(engine, np.asarray(idle_rpm))[0]))
    return f"the crank swings {swing_deg:.2g} deg either way at idle, which is only assumed"


class MetMode(NamedTuple):
    """The first mode, Hz, where the firing meets it, and how far off, %, each speed at which the engine dwells is."""

    hertz: float
    at_rpm: float
    off_percent: dict[str, float]

    @property
    def words(self) -> str:
        return f"the firing meets the drive's first mode, {self.hertz:.0f} Hz"

    def beside(self, layout: Layout, speed: str) -> str:
        idle_rpm = clear_of_rpm(layout, self.at_rpm)
        clear = f"; it is clear of it from {idle_rpm:.0f} rpm" * (speed == "idle" and idle_rpm < inf)
        at = f"{speed}, {layout.engine.speeds_rpm[speed]:.0f} rpm, is near {self.at_rpm:.0f} rpm"
        return f"{at}, where {self.words}{clear}"


def met_mode(operation: Operation) -> MetMode | None:
    """None where it cannot be told what the engine shakes."""
    route = operation.route
    if why_not_shaken(route) is not None:
        return None
    first = float(modes_of(drive_chain(route, operation.mechanics, operation.stopped)).frequency_Hz[0])
    met = first * TURN / float(firing_rad_per_s(route.layout.engine, np.ones(())))
    dwelt = {name: own for name, own in route.layout.engine.speeds_rpm.items() if name != "max"}
    return MetMode(first, met, {name: 100.0 * abs(met / own - 1.0) for name, own in dwelt.items()})


def _drive_resonance_findings(operation: Operation) -> list[Finding]:
    """The first mode where the engine idles or cruises on it; a note where it only passes through."""
    met, layout, rpm = met_mode(operation), operation.route.layout, operation.driver_rpm
    if met is None:
        return []
    bound, found = demanded(layout, "drive_resonance_percent"), list[Finding]()
    for name, off in met.off_percent.items():
        found += DRIVE_RESONANCE.judge("belt", off, bound, met.beside(layout, name), WHAT_WOULD_HELP, parts=())
    if found or not rpm[0] <= met.at_rpm <= rpm[-1]:
        return sorted(found, key=lambda each: each.margin)[:1]
    words = f"at {met.at_rpm:.0f} rpm {met.words}: do not let the engine dwell there"
    return [DRIVE_RESONANCE.find("note", "belt", words, WHAT_WOULD_HELP)]


def clear_of_rpm(layout: Layout, met_rpm: float) -> float:
    """The idle that is clear of a mode met at that speed, and above it, to ten rpm; inf where none is."""
    share = 1.0 - demanded(layout, "drive_resonance_percent").limit / 100.0
    return 10.0 * ceil(met_rpm / share / 10.0) if share > 0.0 else inf


def _swing_findings(operation: Operation) -> list[Finding]:
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
    return _judged(TENSION_SWING, operation, names[0], value, bound, wrong, *names[1:])


def slack_rpm(rpm: Floats, least_N: Floats) -> tuple[tuple[float, float], ...]:
    """Between which engine speeds a span falls slack, slowest first; least_N: (duty, speed, span)."""
    at = np.flatnonzero((least_N <= 0.0).any(axis=(0, 2)))
    runs = (rpm[run] for run in np.split(at, np.flatnonzero(np.diff(at) > 1) + 1) if len(run))
    return tuple((float(run[0]), float(run[-1])) for run in runs)


def slack_words(ranges_rpm: tuple[tuple[float, float], ...]) -> str:
    """The same in words; empty where none does."""
    return f"{all_of(range_words(*each) for each in ranges_rpm)} rpm" if ranges_rpm else ""


def range_words(low: float, high: float) -> str:
    """From one engine speed to another, or the one where they are the same."""
    return f"{low:.0f} to {high:.0f}" if low < high else f"{low:.0f}"


def tension_left(shaken: Shaken) -> Floats:
    """What is left of every span's tension at its least, as a share of its mean, (duty, speed, span)."""
    return np.where(shaken.mean_N > 0.0, shaken.least_N / np.maximum(shaken.mean_N, 1.0), 1.0)


def _slack(shaken: Shaken) -> bool:
    return bool((shaken.least_N <= 0.0).any())


def where_most(values: Floats) -> tuple[int, ...]:
    """The first place of the largest value."""
    return tuple(int(i) for i in np.unravel_index(int(values.argmax()), values.shape))


def when_words(operation: Operation, duty: int, speed: int) -> str:
    """At which speed and in which duty, by their numbers."""
    return f"{operation.driver_rpm[speed]:.0f} rpm, duty '{operation.duties[duty]}'"


class SwungGrip(NamedTuple):
    """Where a pulley uses most of its grip for a moment as the engine fires; steady: what it uses there otherwise."""

    swung: WorstPoint
    steady: float
    bound: Bound

    @property
    def slips(self) -> bool:
        return self.swung.utilisation >= self.bound.limit


def swung_use(route: Route, shaken: Shaken) -> Floats:
    """Grip used at the worst instant of a firing, (c, d, s, n); infinite where a span hangs slack for a moment."""
    return np.asarray(shaken.grip_needed / frictions(route.layout.belt, route.pulleys)[:, None, None])


def swung_grips(operation: Operation, speeds: slice = slice(None)) -> Iterator[SwungGrip]:
    """Of every pulley that does not slip in steady running: dry where it slips dry, else wet.

    None where a span falls slack: that says more, and is told instead.
    """
    shaken, route = operation.shaken, operation.route
    if shaken is None or _slack(shaken):
        return
    used, steadily = swung_use(route, shaken)[:, :, speeds], operation.utilisation
    for i, pulley in enumerate(route.pulleys):
        bound = grip_bound(route.layout, pulley)
        for condition, judged in zip(REAL, (bound, at_an_end(bound)), strict=True):
            swung, steady = worst_point(operation, used, i, condition), steadily[CONDITIONS.index(condition), ..., i]
            grip = SwungGrip(swung, float(steady[swung.duty, swung.speed]), judged)
            if steady.max() < 1.0 and (grip.slips or condition == REAL[-1]):
                yield grip
                break


def _swing_slip_findings(operation: Operation) -> list[Finding]:
    """The pulley that slips most for a moment as the engine fires, and would not in steady running; dry before wet."""
    slips = (each for each in swung_grips(operation) if each.slips)
    worst = max(slips, key=lambda each: (each.swung.condition == "dry", each.swung.utilisation), default=None)
    if worst is None:
        return []
    swung, steady, bound = worst
    when = f"{swung.condition} at {when_words(operation, swung.duty, swung.speed)}"
    uses = f"It then uses {swung.utilisation:.2f} of its grip ({steady:.2f} in steady running)"
    wrong = f"slips for a moment as the engine fires, {when}. {uses}"
    return _judged(SWING_SLIP, operation, swung.pulley, swung.utilisation, bound, wrong)


class ArmSwing(NamedTuple):
    """How far the firing swings a sprung adjuster at the speed where that is most of the way to its nearest stop."""

    name: str
    swung: float
    bound: Bound
    words: str


def arm_swing(operation: Operation, speeds: slice = slice(None)) -> ArmSwing | None:
    """None where nothing springs it, or where it stands at a stop already."""
    shaken, travel, moving = operation.shaken, operation.route.travel, operation.route.moving
    if shaken is None or shaken.adjuster is None or travel is None or moving is None or moving.adjuster is None:
        return None
    held, setting, at_stop = moving.adjuster, operation.running.setting[:, speeds], operation.running.at_stop[:, speeds]
    scale, unit, swing = held.own, held.unit, shaken.adjuster[:, speeds] * (1.0 if held.kind == "arm" else 1e3)
    room = np.minimum(setting - travel.low, travel.high - setting)
    duty, speed = where_most(np.where(at_stop, 0.0, swing / np.maximum(room, 1e-9)))
    left, swung = scale * float(room[duty, speed]), scale * float(swing[duty, speed])
    bound = Bound("upper", left, unit, "swing against the way to its nearest stop")
    words = f"swings {swung:.1f} {unit} either way at {when_words(operation, duty, speed)}, with {left:.1f} {unit}"
    return None if at_stop.all() else ArmSwing(moving.name, swung, bound, f"{words} to its stop")


def _arm_findings(operation: Operation) -> list[Finding]:
    swing = arm_swing(operation)
    if swing is None:
        return []
    return _judged(ARM_TRAVEL, operation, swing.name, swing.swung, swing.bound, swing.words)


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
    of_operation=_swing_findings,
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
