"""Where a drive comes nearest to slipping, and what would bring it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.tension.mechanics import CONDITIONS, Condition, frictions
from beltplan.tension.operation import Operation, operation_of

WANTED_USE = 0.8
CLOSE = 1e-4
ROUNDS = 12
MOST_PUSH = 20.0


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True, eq=False)
class Cure:
    """What tension would bring the worst use of a condition down to `WANTED_USE`.

    holds: what sets the tension, and the unit of `now`: an arm's spring (N mm), a slide's spring or a set tension (N).
    now: its present value, engine stopped. push: the factor on it, None where no factor does.
    """

    condition: Condition
    holds: Literal["spring torque", "spring force", "set tension"]
    now: float
    push: float | None


def cures_of(operation: Operation) -> tuple[Cure, ...]:
    """The cures by tension of the real conditions in which some pulley is over `WANTED_USE`."""
    if not operation.carries_load:
        return ()
    worst = operation.use.max(axis=(1, 2, 3))
    over = [condition for condition, use in zip(CONDITIONS, worst, strict=True) if use > WANTED_USE]
    real = [condition for condition in over if condition != "design"]
    return tuple(Cure(condition, *_holding(operation), push_wanted(operation, condition)) for condition in real)


def _holding(operation: Operation) -> tuple[Literal["spring torque", "spring force", "set tension"], float]:
    adjuster, travel = operation.route.circuit.adjuster, operation.route.travel
    if adjuster is None or adjuster.spring is None or travel is None:
        return "set tension", float(operation.stopped.total_N.mean())
    longer = 1 if travel.long > travel.short else -1
    now = float(adjuster.push_at(operation.stopped.setting, longer))
    return ("spring torque" if adjuster.kind == "arm" else "spring force"), now


def push_wanted(operation: Operation, condition: Condition) -> float | None:
    """Factor on the spring, or on the set tension, that brings the highest use of all pulleys to `WANTED_USE`.

    None where no factor up to 20 does. Found by raising the tension by what the worst pulley lacks, again and again,
    since a sprung adjuster settles elsewhere each time.
    Source: least slack-side tension P_low = dP / (exp(use f wrap) - 1), from the slip formula.
    """
    push = operation.push
    for _ in range(ROUNDS):
        state = operation if push == operation.push else operation_of(operation.route, push)
        if state is None:
            return None
        missing, present = _missing_N(state, condition)
        if not present > 0.0:
            return None
        factor = 1.0 + missing / present
        push *= factor
        if not 0.0 < push < MOST_PUSH:
            return None
        if abs(factor - 1.0) < CLOSE:
            return push
    return None


def _missing_N(operation: Operation, condition: Condition) -> tuple[float, float]:
    """What the strands lack for the wanted use at the worst pulley, and the tension that the push gives now; N."""
    friction = frictions(operation.route.layout.belt, operation.route.pulleys)[CONDITIONS.index(condition)]
    running = operation.running
    step = np.abs(running.tractive_N - running.entering_N)
    low = np.minimum(running.tractive_N, running.entering_N)
    grip = np.expm1(WANTED_USE * friction * running.loop.wrap)
    loaded = step > 1e-9
    lacking = np.where(loaded, step / np.where(grip > 0.0, grip, np.nan) - low, -np.inf)
    if np.isnan(lacking).any():
        # A loaded pulley that the belt only touches slips at any tension.
        return np.inf, 1.0
    moving = operation.route.circuit.moving
    held = operation.stopped.tractive_N[moving or 0]
    return float(lacking.max()), float(held)
