"""Where a drive comes nearest to slipping, and what would bring it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from beltplan.belts.adjusters import ArmSpring, SlideSpring
from beltplan.geometry.vectors import Floats
from beltplan.tension.balance import Tensions, tensions_at
from beltplan.tension.mechanics import CONDITIONS, Condition, frictions
from beltplan.tension.operation import Operation

WANTED_USE = 0.8
CLOSE = 1e-4
ROUNDS = 12
MOST_PUSH = 20.0
UNLOADED_N = 1e-9
"""A smaller step of tension over a pulley is no load."""


@dataclass(frozen=True, eq=False)
class WorstPoint:
    """The point of a pulley's highest slip use in one condition: where it is, and what would make it `WANTED_USE`.

    index, pulley: which. use: 1 is slip, infinite where a strand is slack. wrap_rad: there; extra_wrap_rad: more wrap
    that would do (None where a strand is slack).
    """

    index: int
    pulley: str
    condition: Condition
    duty: int
    speed: int
    rpm: float
    use: float
    wrap_rad: float
    extra_wrap_rad: float | None


def worst_point(operation: Operation, use: Floats, index: int, condition: Condition) -> WorstPoint:
    """The worst point of one pulley; use is (c, d, s, n) of the running or the accelerated drive."""
    own = use[CONDITIONS.index(condition), :, :, index]
    duty, speed = (int(i) for i in np.unravel_index(int(np.argmax(own)), own.shape))
    wrap, worst = float(operation.running.loop.wrap[duty, speed, index]), float(own[duty, speed])
    extra = max(0.0, (worst / WANTED_USE - 1.0) * wrap) if np.isfinite(worst) else None
    pulley = operation.route.pulleys[index].name
    return WorstPoint(index, pulley, condition, duty, speed, float(operation.driver_rpm[speed]), worst, wrap, extra)


Holding = Literal["spring torque", "spring force", "set tension", "belt tension"]


@dataclass(frozen=True, eq=False)
class Cure:
    """What tension would bring the worst use of a condition down to `WANTED_USE`.

    holds: what sets the tension, and the unit of `now`: an arm's spring (N mm), a slide's spring, a set tension or,
    where nothing adjusts, the belt's own (N).
    now: what the layout gives for a spring, at its own `at` (deg or mm) and falling by `rate` for each of them; else
    the tension, engine stopped. push: the factor on both, None where no factor does.
    """

    condition: Condition
    push: float | None
    holds: Holding
    now: float
    at: float | None = None
    rate: float | None = None


def cures_of(operation: Operation) -> tuple[Cure, ...]:
    """The cures by tension of the real conditions in which some pulley is over `WANTED_USE`."""
    if not operation.carries_load:
        return ()
    worst = operation.use.max(axis=(1, 2, 3))
    over = [condition for condition, use in zip(CONDITIONS, worst, strict=True) if use > WANTED_USE]
    real = [condition for condition in over if condition != "design"]
    return tuple(_cure(operation, condition) for condition in real)


def _cure(operation: Operation, condition: Condition) -> Cure:
    adjuster, push = operation.route.circuit.adjuster, push_wanted(operation, condition)
    spring = None if adjuster is None else adjuster.spring
    if isinstance(spring, ArmSpring):
        rate = 1000.0 * spring.rate_Nm_per_deg
        return Cure(condition, push, "spring torque", 1000.0 * spring.torque_Nm, spring.at_deg, rate)
    if isinstance(spring, SlideSpring):
        return Cure(condition, push, "spring force", spring.force_N, spring.at_mm, spring.rate_N_per_mm)
    holds: Holding = "belt tension" if adjuster is None else "set tension"
    return Cure(condition, push, holds, float(operation.stopped.total_N.mean()))


def push_wanted(operation: Operation, condition: Condition) -> float | None:
    """Factor on the spring, or on the set tension, that brings the highest use of all pulleys to `WANTED_USE`.

    None where no factor up to 20 does. The worst state is solved alone, then every state is looked at again, since a
    sprung adjuster settles elsewhere each time.
    Source: least slack-side tension P_low = dP / (exp(use f wrap) - 1), from the slip formula.
    """
    push, running, torque = operation.push, operation.running, operation.running.torque_Nm
    for _ in range(ROUNDS):
        lacking = _lacking_N(operation, running, condition)
        duty, speed, _ = np.unravel_index(int(np.argmax(lacking)), lacking.shape)
        if abs(lacking.max()) <= CLOSE * _held_N(operation, push):
            return push
        found = _push_at(operation, condition, push, running.driver_rpm[duty, speed], torque[duty, speed])
        if found is None:
            return None
        push = found
        running = tensions_at(operation.route, operation.mechanics, running.driver_rpm, torque, push)
    return None


def _push_at(
    operation: Operation, condition: Condition, push: float, driver_rpm: Floats, torque_Nm: Floats
) -> float | None:
    """The factor that does it at one speed and load, starting from `push`."""
    for _ in range(ROUNDS):
        state = tensions_at(operation.route, operation.mechanics, driver_rpm, torque_Nm, push)
        missing, held = float(_lacking_N(operation, state, condition).max()), _held_N(operation, push)
        if not (held > 0.0 and np.isfinite(missing)):
            return None
        push *= 1.0 + missing / held
        if not 0.0 < push < MOST_PUSH:
            return None
        if abs(missing) <= 0.1 * CLOSE * held:
            return push
    return None


def _lacking_N(operation: Operation, tensions: Tensions, condition: Condition) -> Floats:
    """What the slack side of every pulley lacks for the wanted use, (..., n) N; infinite where no tension would do."""
    friction = frictions(operation.route.layout.belt, operation.route.pulleys)[CONDITIONS.index(condition)]
    step = np.abs(tensions.tractive_N - tensions.entering_N)
    low = np.minimum(tensions.tractive_N, tensions.entering_N)
    grip = np.expm1(WANTED_USE * friction * tensions.loop.wrap)
    # A loaded pulley that the belt only touches slips at any tension.
    needed = np.where(grip > 0.0, step / np.where(grip > 0.0, grip, 1.0), np.inf)
    return np.where(step > UNLOADED_N, needed - low, -np.inf)


def _held_N(operation: Operation, push: float) -> float:
    """About the tension, engine stopped, that the spring or the set tension would give with that factor on it; N."""
    return float(operation.stopped.tractive_N[operation.route.circuit.moving or 0]) * push / operation.push
