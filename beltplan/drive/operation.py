"""The drive in operation: every speed, duty and condition, and the engine stopped; where it comes nearest to slipping,
and what would bring it back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np

from beltplan.drive.balance import Tensions, tensions_at
from beltplan.drive.belt import Belt
from beltplan.drive.fit import is_sprung
from beltplan.drive.inertias import inertia_kgm2
from beltplan.drive.layout import Layout, Metal
from beltplan.drive.loads import CRUISING, EVERYTHING_ON
from beltplan.drive.mechanics import (
    CONDITIONS,
    REAL,
    Condition,
    Mechanics,
    frequency_Hz,
    friction_of_arm,
    frictions,
    give_words,
    grip_utilisation,
    is_slack,
    mechanics_of,
    missing_values,
)
from beltplan.drive.pulleys import Pulley, ratios_of
from beltplan.drive.route import Route
from beltplan.drive.shaking import Shaken, shaken_of
from beltplan.drive.travel import Circuit, End
from beltplan.geometry.vectors import TURN, Bools, Floats

SPEEDS = 101
MINIMUM_TAKE_UP_PERCENT = 20.0
"""Below this share of the best take-up the tension computed from a spring runs away; project default."""


@dataclass(frozen=True, eq=False)
class Operation:
    """How a drive runs: c conditions (`CONDITIONS`), d duties, s speeds, n pulleys.

    driver_rpm: (s). running: Tensions over (d, s). stopped: engine at rest, no leading axes. mechanics: of the belt.
    preload_factor: on the spring or set tension. revved: while the engine speeds up (first) and slows down (second),
    (2, d, s); None where `revved_Nm` says so. ends: the same drive at the low and the high end of its tension; None
    where that has no band, and at an end.
    """

    route: Route
    mechanics: Mechanics
    duties: tuple[str, ...]
    driver_rpm: Floats
    running: Tensions
    stopped: Tensions
    revved: Tensions | None
    preload_factor: float
    ends: tuple[Operation, Operation] | None = None

    @property
    def spring_band_N(self) -> tuple[float, float] | None:
        """Span tension beside a sprung adjuster, engine stopped, with the arm's friction against and with the spring.

        None where no spring sets it: without one, and where the adjuster rests on a stop.
        """
        moving = self.route.circuit.moving
        if self.ends is None or moving is None or not is_sprung(self.route.circuit) or self.stopped.at_stop:
            return None
        low, high = (float(end.stopped.tractive_N[moving]) for end in self.ends)
        return low, high

    @property
    def carries_load(self) -> bool:
        return bool((self.running.torque_Nm[..., 1:] != 0.0).any())

    @cached_property
    def shaken(self) -> Shaken | None:
        """What the engine's uneven turning does to it; None where `why_not_shaken` says why."""
        return shaken_of(self.route, self.mechanics, self.running)

    @cached_property
    def utilisation(self) -> Floats:
        """Grip utilisation of every pulley in every condition, (c, d, s, n)."""
        return self._utilisations(self.running)

    @cached_property
    def revving(self) -> tuple[Tensions, Floats] | None:
        """While the engine changes speed: tensions (2, d, s), and utilisation (c, 2, d, s, n)."""
        return None if self.revved is None else (self.revved, self._utilisations(self.revved))

    def _utilisations(self, tensions: Tensions) -> Floats:
        friction = frictions(self.route.layout.belt, self.route.pulleys)
        own = friction.reshape(len(friction), *(1,) * (tensions.tractive_N.ndim - 1), friction.shape[-1])
        return grip_utilisation(tensions.entering_N, tensions.tractive_N, own, tensions.loop.wrap)

    @property
    def judges_grip(self) -> bool:
        """Whether any shaft takes torque, by its load or by its inertia while the engine changes speed."""
        return self.carries_load or self.revved is not None

    @property
    def highest_utilisation(self) -> Floats:
        """Highest utilisation of every pulley in every condition, (c, n): the worse of steady running and revving."""
        steady = self.utilisation.max(axis=(1, 2))
        return np.asarray(steady if self.revving is None else np.maximum(steady, self.revving[1].max(axis=(1, 2, 3))))

    @property
    def tight(self) -> Bools:
        """Where no span is slack, (d, s): a slack span cannot push, so loads count only there; all where none."""
        every = np.asarray(~is_slack(self.running.tractive_N).any(axis=-1))
        return every if every.any() else np.ones_like(every)

    @property
    def hub_size_N(self) -> Floats:
        """Size of the pull on every hub, (d, s, n); zero where a span is slack."""
        pull = self.running.hub_load_N
        return np.where(self.tight[..., None], np.hypot(pull[..., 0], pull[..., 1]), 0.0)

    @property
    def high(self) -> Operation:
        """The same drive at the high end of its tension; itself where that has no band."""
        return self if self.ends is None else self.ends[1]

    @property
    def most_span_N(self) -> Floats:
        """The highest pull of each span, (n), running in any duty at any speed, or stopped."""
        return np.asarray(np.maximum(self.running.total_N.max(axis=(0, 1)), self.stopped.total_N))

    @cached_property
    def most_hub_N(self) -> Floats:
        """The greatest pull on each hub, (n), likewise."""
        stopped = np.hypot(*np.moveaxis(self.stopped.hub_load_N, -1, 0))
        return np.asarray(np.maximum(self.hub_size_N.max(axis=(0, 1)), stopped))

    @property
    def driver_power_kW(self) -> Floats:
        """Power taken from the driving shaft, (d, s)."""
        return -self.running.torque_Nm[..., 0] * self.driver_rpm * TURN / 60.0 / 1000.0


def end_of_travel(operation: Operation) -> tuple[End, float] | None:
    """What a sprung adjuster runs against where the spring cannot be balanced, and at which setting; None: nothing.

    Stopped before running.
    """
    adjuster, travel = operation.route.circuit.adjuster, operation.route.travel
    for state in (operation.stopped, operation.running):
        if adjuster is not None and travel is not None and state.at_stop.any():
            setting = float(state.setting[state.at_stop].flat[0])
            return travel.ends_by(setting), setting
    return None


def why_not_judged(route: Route) -> str | None:
    """Why the tensions of a layout cannot be computed, in words; None where they can."""
    engine, belt = route.layout.engine, route.layout.belt
    missing = missing_values(belt, route.circuit.adjuster)
    if missing:
        return give_words(belt, missing)
    if route.named_outside:
        return "the named belt does not fit"
    if route.travel is None and (belt.stretch_fit is None or belt.stiffness_N is None or route.judged is None):
        return "no adjuster sets the tension, nor a stretch belt that fits and has its stiffness_N"
    if takes_up_too_little(route):
        best = f"{route.take_up_percent:.0f} % of the belt that a well placed one would"
        return f"the tensioner takes up only {best}, so its spring sets no tension to rely on"
    if engine.idle_rpm is None or engine.max_rpm is None:
        return "engine.idle_rpm and engine.max_rpm are not both given"
    return None


def takes_up_too_little(route: Route) -> bool:
    """Whether a spring moves the belt so little that it sets no tension."""
    percent = route.take_up_percent
    return is_sprung(route.circuit) and percent is not None and percent < MINIMUM_TAKE_UP_PERCENT


def operation_of(route: Route, preload_factor: float = 1.0) -> Operation | None:
    """Balance the drive over its speed range, all duties at once; None where `why_not_judged` says why."""
    mechanics = mechanics_of(route.layout.belt, route.circuit.adjuster)
    if why_not_judged(route) is not None or mechanics is None:
        return None
    band = tension_band(route.layout, route.circuit, preload_factor)
    nominal, *ends = _operated(route, mechanics, (preload_factor, *(band or ())))
    return replace(nominal, ends=(ends[0], ends[1]) if ends else None)


def _operated(route: Route, mechanics: Mechanics, preload_factors: tuple[float, ...]) -> list[Operation]:
    """The drive with each of these factors, balanced in all states at once."""
    engine, count = route.layout.engine, len(preload_factors)
    assert engine.idle_rpm is not None and engine.max_rpm is not None
    duties = duties_of(route.layout)
    rpm = speeds_rpm(engine.idle_rpm, engine.cruise_rpm, engine.max_rpm)
    steady = torques_Nm(route.layout.belt, route.pulleys, rpm, duties)
    revved = revved_Nm(route.layout, route.pulleys, steady)
    # The engine at rest is one speed more.
    every = np.zeros((count, 1 if revved is None else 3, len(duties), len(rpm) + 1, len(route.pulleys)))
    every[:, 0, :, :-1] = steady
    if revved is not None:
        every[:, 1:, :, :-1] = revved
    speeds, factor = np.broadcast_to(np.append(rpm, 0.0), every.shape[:-1]), np.array(preload_factors)
    states = tensions_at(route, mechanics, speeds, every, factor[:, None, None, None])
    found, turning = list[Operation](), (slice(None), slice(-1))
    for i, preload_factor in enumerate(preload_factors):
        changing = None if revved is None else states.at(i, slice(1, None), *turning)
        own = (states.at(i, 0, *turning), states.at(i, 0, 0, -1), changing, preload_factor)
        found.append(Operation(route, mechanics, tuple(duties), rpm, *own))
    return found


def tension_band(layout: Layout, circuit: Circuit, preload_factor: float = 1.0) -> tuple[float, float] | None:
    """Low and high end of the tension, as factors on the spring or on what is set; None without an adjuster.

    preload_factor: of its middle. A sprung one by the friction of its arm. What is set by hand is the tension of a
    run-in belt: it falls until it is due to be set again, and a new belt has more, by the profile's values. A block
    that grows hot adds to the high end, one that grows cold takes from the low one.
    """
    if circuit.adjuster is None:
        return None
    if is_sprung(circuit):
        share, _ = friction_of_arm(circuit.adjuster)
        return preload_factor * (1.0 - share), preload_factor * (1.0 + share)
    profile, own_N = layout.belt.profile, set_N(layout, circuit)
    low = min(preload_factor, set_again_N(layout.belt, preload_factor * own_N) / own_N)
    new, heat = profile.hand_new_N / profile.hand_set_N, (heat_N(layout, circuit) or 0.0) / own_N
    return max(0.0, low + min(heat, 0.0)), preload_factor * new + max(heat, 0.0)


def set_again_N(belt: Belt, own_N: float) -> float:
    """Under which a belt set by hand to that tension is set again: in its proportion, and never under the profile's."""
    return belt.profile.hand_again_N * max(belt.ribs, own_N / belt.profile.hand_set_N)


def set_N(layout: Layout, circuit: Circuit) -> float:
    """The tension of a run-in belt to which an adjuster is set by hand: the layout's own, else the usual one."""
    held = circuit.adjuster
    return layout.belt.hand_set_N if held is None or held.tension_N is None else held.tension_N


EXPANSION_PER_K: Mapping[Metal, float] = MappingProxyType({"iron": 11e-6, "aluminium": 23e-6})
_BELT_EXPANSION_PER_K = 0.0
USUAL_RISE_K = 80.0
"""From setting it cold, 20 deg C, to an engine at 100 deg C."""
HEAT_SOURCE = (
    "EA (a_block - a_belt) rise; iron 11e-6, aluminium 23e-6 a kelvin, any handbook; the belt's own growth taken as 0, "
    "common practice, no source"
)


_CLEARLY_UNDER = 0.9
"""Set again at a larger share of its tension, a belt would be set all the time: common practice, no source."""


class Again(NamedTuple):
    """Under which a belt set by hand is to be set again, and to what, N a span; is_usual: to more than it is set to."""

    at_N: float
    set_N: float
    is_usual: bool


def again_wanted(operation: Operation, conditions: Iterable[Condition]) -> Again | None:
    """When a belt is to be set again, so that no use of these conditions comes over `WANTED_USE` before.

    None where that is not well under what it is set to, nor under what it usually is. operation: at the low end.
    """
    layout, circuit = operation.route.layout, operation.route.circuit
    factors = [preload_factor_wanted(operation, condition) for condition in conditions]
    own_N, cold_N = set_N(layout, circuit), min(heat_N(layout, circuit) or 0.0, 0.0)
    at_N = max(np.inf if each is None else each * own_N - cold_N for each in factors)
    to_N = own_N if at_N < _CLEARLY_UNDER * own_N else max(own_N, layout.belt.hand_set_N)
    return Again(at_N, to_N, to_N > own_N) if at_N < _CLEARLY_UNDER * to_N else None


def heat_N(layout: Layout, circuit: Circuit) -> float | None:
    """What a block that grows hotter adds to the tension of a belt set by hand: negative where it grows colder.

    None where no block is given, the belt's stiffness is not known, or nothing is set by hand.
    Source: dT = EA (a_block - a_belt) rise, the belt on centres that grow apart.
    """
    block, stiffness = layout.block, layout.belt.full_stiffness_N
    if block is None or stiffness is None or circuit.adjuster is None or is_sprung(circuit):
        return None
    return stiffness * (EXPANSION_PER_K[block.material] - _BELT_EXPANSION_PER_K) * block.rise_K


def speeds_rpm(idle: float, cruise: float | None, most: float) -> Floats:
    """Speeds that are looked at: evenly from idle to maximum, cruise among them.

    >>> rpm = speeds_rpm(800.0, 1777.0, 5800.0)
    >>> len(rpm), rpm[0].item(), rpm[-1].item(), 1777.0 in rpm
    (102, 800.0, 5800.0, True)
    """
    # Not np.unique: it would load numpy.ma, a tenth of a whole run.
    return np.array(sorted({*np.linspace(idle, most, SPEEDS).tolist(), idle if cruise is None else cruise}))


def duties_of(layout: Layout) -> dict[str, tuple[str, ...]]:
    """Which loads act together, by the duty's name; where the layout names none all do, usual ones in two ways."""
    if layout.duties:
        return dict(layout.duties)
    usual = any(pulley.usual_load is not None for pulley in layout.routed)
    loaded = tuple(pulley.name for pulley in layout.routed if pulley.load is not None)
    return dict.fromkeys((EVERYTHING_ON, CRUISING)[: 1 + usual], loaded)


def torques_Nm(
    belt: Belt, pulleys: tuple[Pulley, ...], driver_rpm: Floats, duties: dict[str, tuple[str, ...]]
) -> Floats:
    """Torque that every shaft takes in every duty, (d, s, n), in the order of the pulleys, the driver first."""
    shaft = driver_rpm[:, None] * ratios_of(belt, pulleys)
    torque = np.zeros((len(duties), len(driver_rpm), len(pulleys)))
    for i, pulley in enumerate(pulleys):
        if pulley.load is None or i == 0:
            continue
        for duty, (name, acting) in enumerate(duties.items()):
            load = pulley.usual_load.cruising if pulley.usual_load and name == CRUISING else pulley.load
            if pulley.name in acting:
                torque[duty, :, i] = load.torque_Nm(shaft[:, i])
    return torque


def revved_Nm(layout: Layout, pulleys: tuple[Pulley, ...], torque_Nm: Floats) -> Floats | None:
    """Torques of steady running, (..., n), while the engine speeds up (first) and slows down: (2, ..., n).

    None where no `rev_up_rpm_per_s` is given or nothing is known to turn. Usual inertias stand in for those not given.
    A one-way pulley carries no braking torque.
    Source: torque = M + J alpha at each shaft.
    """
    rev_up = layout.engine.rev_up_rpm_per_s
    inertia = np.array([inertia_kgm2(pulley) or 0.0 for pulley in pulleys])
    inertia[0] = 0.0
    if rev_up is None or not inertia.any():
        return None
    extra = inertia * ratios_of(layout.belt, pulleys) * rev_up * TURN / 60.0
    torque = np.stack((torque_Nm + extra, torque_Nm - extra))
    return np.where([pulley.one_way for pulley in pulleys], np.maximum(torque, 0.0), torque)


# What every span sounds at when it is plucked, engine stopped.


def tones_Hz(operation: Operation) -> tuple[float | None, ...]:
    """First natural frequency of every span at rest, in the order of the route.

    None for a slack span, and for one shorter than the belt is high: that is no string.
    """
    stopped, height = operation.stopped, operation.route.layout.belt.profile.thickness_mm
    tones = frequency_Hz(stopped.total_N, operation.mechanics.mass_kg_per_m, stopped.loop.span)
    rows = zip(tones.tolist(), stopped.loop.span.tolist(), strict=True)
    return tuple(hertz if span >= height and hertz > 0.0 else None for hertz, span in rows)


# Where a drive comes nearest to slipping, and what would bring it back.

WANTED_USE = 0.8
_CLOSE = 1e-4
_ROUNDS = 12
_MAX_PRELOAD_FACTOR = 20.0
_UNLOADED_N = 1e-9
"""A smaller step of tension over a pulley is no load."""


When = Literal["steady", "speeds up", "slows down"]
"""What the engine does."""
REVVING: tuple[When, ...] = ("speeds up", "slows down")


@dataclass(frozen=True, eq=False)
class WorstPoint:
    """Where a pulley's grip utilisation is highest in one condition, and what would make it `WANTED_USE`.

    index, pulley: which. utilisation: 1 is slip, infinite where a span is slack. wrap_rad: there. when: what the engine
    does there.
    """

    index: int
    pulley: str
    condition: Condition
    duty: int
    speed: int
    rpm: float
    utilisation: float
    wrap_rad: float
    when: When = "steady"

    @property
    def extra_wrap_rad(self) -> float | None:
        return self.wrap_for_rad(WANTED_USE)

    def wrap_for_rad(self, utilisation: float) -> float | None:
        """More wrap that would bring the use down to that; None where a span is slack."""
        return (
            max(0.0, (self.utilisation / utilisation - 1.0) * self.wrap_rad) if np.isfinite(self.utilisation) else None
        )

    def wrap_can_do(self, utilisation: float) -> bool:
        """Whether a pulley can be led round so far that its use comes down to that."""
        extra = self.wrap_for_rad(utilisation)
        return extra is not None and np.degrees(self.wrap_rad + extra) <= _MOST_WRAP_DEG


_MOST_WRAP_DEG = 240.0
"""More no belt can be led round a pulley, with room for its neighbours: common practice, no source."""


def worst_point(
    operation: Operation, utilisation: Floats, index: int, condition: Condition, when: When = "steady"
) -> WorstPoint:
    """The worst point of one pulley; utilisation is (c, d, s, n) of the drive as the engine runs then."""
    own = utilisation[CONDITIONS.index(condition), :, :, index]
    duty, speed = (int(i) for i in np.unravel_index(int(np.argmax(own)), own.shape))
    wraps = operation.running.loop.wrap
    if when != "steady" and operation.revved is not None:
        wraps = operation.revved.loop.wrap[REVVING.index(when)]
    wrap, worst, rpm = float(wraps[duty, speed, index]), float(own[duty, speed]), float(operation.driver_rpm[speed])
    pulley = operation.route.pulleys[index].name
    return WorstPoint(index, pulley, condition, duty, speed, rpm, worst, wrap, when)


def revving_points(operation: Operation, index: int, condition: Condition) -> tuple[WorstPoint, ...]:
    """The worst points of one pulley while the engine speeds up and slows down; none where that is not judged."""
    if operation.revving is None:
        return ()
    utilisations = operation.revving[1]
    return tuple(worst_point(operation, utilisations[:, i], index, condition, when) for i, when in enumerate(REVVING))


def worst_of_all(operation: Operation, index: int, condition: Condition) -> WorstPoint:
    """The worst point of one pulley, in steady running or while the engine changes speed."""
    steady = worst_point(operation, operation.utilisation, index, condition)
    return max((steady, *revving_points(operation, index, condition)), key=lambda point: point.utilisation)


_Holding = Literal["spring torque", "spring force", "set tension", "belt tension"]


@dataclass(frozen=True, eq=False)
class TensionCure:
    """What tension would bring the worst use of a condition down to `WANTED_USE`.

    holds: what sets the tension, and the unit of `now`: an arm's spring (N mm), a slide's spring, a set tension or,
    where nothing adjusts, the belt's own (N).
    now: what the layout gives for a spring, at its own `at` (deg or mm) and falling by `rate` for each of them; else
    the tension, engine stopped. preload_factor: on both, None where none does.
    """

    condition: Condition
    preload_factor: float | None
    holds: _Holding
    now: float
    at: float | None = None
    rate: float | None = None

    @property
    def times(self) -> float | None:
        """The factor as it is told: rounded up, so that what is told is enough."""
        return None if self.preload_factor is None else ceil(round(100.0 * self.preload_factor, 6)) / 100.0


def tension_cures_of(operation: Operation) -> tuple[TensionCure, ...]:
    """The cures by tension of the real conditions in which some pulley is over `WANTED_USE`."""
    if not operation.judges_grip:
        return ()
    worst = operation.highest_utilisation.max(axis=-1)
    over = (condition for condition in REAL if worst[CONDITIONS.index(condition)] > WANTED_USE)
    return tuple(_tension_cure(operation, condition) for condition in over)


def _tension_cure(operation: Operation, condition: Condition) -> TensionCure:
    adjuster, preload_factor = operation.route.circuit.adjuster, preload_factor_wanted(operation, condition)
    if adjuster is None or adjuster.spring is None:
        holds: _Holding = "belt tension" if adjuster is None else "set tension"
        return TensionCure(condition, preload_factor, holds, float(operation.stopped.total_N.mean()))
    (effort, at, rate), scale = adjuster.spring.law, adjuster.spring_scale
    holds = "spring torque" if adjuster.kind == "arm" else "spring force"
    return TensionCure(condition, preload_factor, holds, scale * effort, at, scale * rate)


def preload_factor_wanted(operation: Operation, condition: Condition, use: float = WANTED_USE) -> float | None:
    """Factor on the spring, or on the set tension, that brings the highest use of all pulleys to `use`.

    None where no factor up to 20 does, or the tension is nothing. The worst state, steady or revving, is solved alone,
    then every state is looked at again, since a sprung adjuster settles elsewhere each time.
    Source: least slack-side tension P_low = dP / (exp(use f wrap) - 1), from the slip formula.
    """
    preload_factor, torque = operation.preload_factor, operation.running.torque_Nm[None]
    if not preload_factor > 0.0:
        return None
    if operation.revved is not None:
        torque = np.concatenate((torque, operation.revved.torque_Nm))
    rpm = np.broadcast_to(operation.driver_rpm, torque.shape[:-1])
    for _ in range(_ROUNDS):
        states = tensions_at(operation.route, operation.mechanics, rpm, torque, preload_factor)
        lacking = _lacking_N(operation, states, condition, use)
        if abs(lacking.max()) <= _CLOSE * _held_N(operation, preload_factor):
            return preload_factor
        worst = np.unravel_index(int(np.argmax(lacking)), lacking.shape)[:-1]
        found = _preload_factor_at(operation, condition, use, preload_factor, rpm[worst], torque[worst])
        if found is None:
            return None
        preload_factor = found
    return None


def _preload_factor_at(
    operation: Operation, condition: Condition, use: float, preload_factor: float, driver_rpm: Floats, torque_Nm: Floats
) -> float | None:
    """The factor that does it at one speed and load, starting from `preload_factor`."""
    for _ in range(_ROUNDS):
        state = tensions_at(operation.route, operation.mechanics, driver_rpm, torque_Nm, preload_factor)
        missing, held = float(_lacking_N(operation, state, condition, use).max()), _held_N(operation, preload_factor)
        if not (held > 0.0 and np.isfinite(missing)):
            return None
        preload_factor *= 1.0 + missing / held
        if not 0.0 < preload_factor < _MAX_PRELOAD_FACTOR:
            return None
        if abs(missing) <= 0.1 * _CLOSE * held:
            return preload_factor
    return None


def _lacking_N(operation: Operation, tensions: Tensions, condition: Condition, use: float) -> Floats:
    """What the slack side of every pulley lacks for that use, (..., n) N; infinite where no tension would do."""
    friction = frictions(operation.route.layout.belt, operation.route.pulleys)[CONDITIONS.index(condition)]
    step = np.abs(tensions.tractive_N - tensions.entering_N)
    low = np.minimum(tensions.tractive_N, tensions.entering_N)
    grip = np.expm1(use * friction * tensions.loop.wrap)
    # A loaded pulley that the belt only touches slips at any tension.
    needed = np.where(grip > 0.0, step / np.where(grip > 0.0, grip, 1.0), np.inf)
    return np.where(step > _UNLOADED_N, needed - low, -np.inf)


def _held_N(operation: Operation, preload_factor: float) -> float:
    """About the tension, engine stopped, that the spring or the set tension would give with that factor on it; N."""
    own_N = float(operation.stopped.tractive_N[operation.route.circuit.moving or 0])
    return own_N * preload_factor / operation.preload_factor
