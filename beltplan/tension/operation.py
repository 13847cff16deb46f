"""The drive in operation: every speed from idle to maximum, every duty, every condition, and the engine stopped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.fit import is_sprung
from beltplan.belts.inertias import inertia_kgm2
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.belts.speeds import ratios, ratios_of
from beltplan.belts.take_up import take_up_percent
from beltplan.belts.travel import End
from beltplan.geometry.vectors import TURN, Bools, Floats
from beltplan.tension.balance import Tensions, tensions_at
from beltplan.tension.mechanics import Mechanics, frictions, mechanics_of, missing_values
from beltplan.tension.strands import is_slack, slip_use

SPEEDS = 101
EVERY_LOAD = "all loads"
LEAST_TAKE_UP_PERCENT = 20.0
"""Below this share of the best take-up the tension computed from a spring runs away; project default."""


@dataclass(frozen=True, eq=False)
class Operation:
    """How a drive runs: c conditions (`CONDITIONS`), d duties, s speeds, n pulleys.

    driver_rpm: (s). running: Tensions over (d, s). stopped: engine at rest, no leading axes.
    use: slip use (c, d, s, n). mechanics: of the belt. push: factor on the spring or set tension.
    """

    route: Route
    mechanics: Mechanics
    duties: tuple[str, ...]
    driver_rpm: Floats
    running: Tensions
    stopped: Tensions
    use: Floats
    push: float = 1.0

    @property
    def carries_load(self) -> bool:
        """Whether any shaft takes torque in any duty."""
        return bool((self.running.torque_Nm[..., 1:] != 0.0).any())

    @property
    def tight(self) -> Bools:
        """Where no strand is slack, (d, s): a slack strand cannot push, so loads count only there; all where none."""
        every = np.asarray(~is_slack(self.running.tractive_N).any(axis=-1))
        return every if every.any() else np.ones_like(every)

    @property
    def hub_size_N(self) -> Floats:
        """Size of the pull on every hub, (d, s, n); zero where a strand is slack."""
        pull = self.running.hub_load_N
        return np.where(self.tight[..., None], np.hypot(pull[..., 0], pull[..., 1]), 0.0)

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
            return travel.ends_by(adjuster, setting), setting
    return None


def why_not_judged(route: Route) -> str | None:
    """Why the tensions of a layout cannot be computed, in words; None where they can."""
    engine, belt = route.layout.engine, route.layout.belt
    missing = missing_values(belt)
    if missing:
        return f"give {' and '.join(missing)} under belt: profile {belt.profile.name} has no default"
    if route.named_outside:
        return "the named belt does not fit"
    if route.travel is None and (belt.stretch_fit is None or belt.stiffness_N is None or route.judged is None):
        return "without an adjuster only a stretch-fit belt that fits, with its stiffness_N, sets a tension"
    percent = take_up_percent(route)
    if is_sprung(route.circuit) and percent is not None and percent < LEAST_TAKE_UP_PERCENT:
        return f"the adjuster takes up only {percent:.0f} % of the best here, so its spring sets no tension to rely on"
    if engine.idle_rpm is None or engine.max_rpm is None:
        return "engine.idle_rpm and engine.max_rpm are not both given"
    return None


def operation_of(route: Route, push: float = 1.0) -> Operation | None:
    """Balance the drive over its speed range, all duties at once; None where `why_not_judged` says why."""
    mechanics, engine = mechanics_of(route.layout.belt), route.layout.engine
    if why_not_judged(route) is not None or mechanics is None or engine.idle_rpm is None or engine.max_rpm is None:
        return None
    duties = duties_of(route.layout)
    rpm = speeds_rpm(engine.idle_rpm, engine.cruise_rpm, engine.max_rpm)
    torque = torques_Nm(route.layout.belt, route.pulleys, rpm, duties)
    running = tensions_at(route, mechanics, np.broadcast_to(rpm, torque.shape[:-1]), torque, push)
    stopped = tensions_at(route, mechanics, np.zeros(()), np.zeros(len(route.pulleys)), push)
    return Operation(route, mechanics, tuple(duties), rpm, running, stopped, _uses(route, running), push)


def speeds_rpm(idle: float, cruise: float | None, most: float) -> Floats:
    """Speeds that are looked at: evenly from idle to maximum, cruise among them."""
    # Not np.unique: it would load numpy.ma, a tenth of a whole run.
    return np.array(sorted({*np.linspace(idle, most, SPEEDS).tolist(), idle if cruise is None else cruise}))


def duties_of(layout: Layout) -> dict[str, tuple[str, ...]]:
    """Which loads act together, by the duty's name; all of them where the layout says nothing."""
    if layout.duties:
        return dict(layout.duties)
    return {EVERY_LOAD: tuple(pulley.name for pulley in layout.routed if pulley.load is not None)}


def torques_Nm(
    belt: Belt, pulleys: tuple[Pulley, ...], driver_rpm: Floats, duties: dict[str, tuple[str, ...]]
) -> Floats:
    """Torque that every shaft takes in every duty, (d, s, n), in the order of the pulleys, the driver first."""
    shaft = driver_rpm[:, None] * ratios_of(belt, pulleys)
    torque = np.zeros((len(duties), len(driver_rpm), len(pulleys)))
    for i, pulley in enumerate(pulleys):
        if pulley.load is None or i == 0:
            continue
        acts = np.array([pulley.name in names for names in duties.values()])
        torque[..., i] = acts[:, None] * pulley.load.torque_Nm(shaft[:, i])
    return torque


def _uses(route: Route, tensions: Tensions) -> Floats:
    return uses(frictions(route.layout.belt, route.pulleys), tensions)


def uses(friction: Floats, tensions: Tensions) -> Floats:
    """Slip use of every pulley in every condition: friction (c, n) -> (c, ..., n)."""
    shape = (len(friction), *(1,) * (tensions.tractive_N.ndim - 1), friction.shape[-1])
    return slip_use(tensions.entering_N, tensions.tractive_N, friction.reshape(shape), tensions.loop.wrap)


def accelerated(operation: Operation) -> tuple[Tensions, Floats] | None:
    """The drive while the engine speeds up (first) and slows down (second): tensions (2, d, s) and use (c, 2, d, s, n).

    None where no `rev_up_rpm_per_s` is given or nothing is known to turn. Usual inertias stand in for those not given.
    A one-way pulley carries no braking torque.
    Source: torque = M + J alpha at each shaft.
    """
    route, rev_up = operation.route, operation.route.layout.engine.rev_up_rpm_per_s
    inertia = np.array([inertia_kgm2(pulley) or 0.0 for pulley in route.pulleys])
    inertia[0] = 0.0
    if rev_up is None or not inertia.any():
        return None
    extra = inertia * ratios(route) * rev_up * TURN / 60.0
    torque = np.stack((operation.running.torque_Nm + extra, operation.running.torque_Nm - extra))
    one_way = np.array([pulley.one_way for pulley in route.pulleys])
    torque = np.where(one_way, np.maximum(torque, 0.0), torque)
    rpm = np.broadcast_to(operation.running.driver_rpm, torque.shape[:-1])
    tensions = tensions_at(route, operation.mechanics, rpm, torque, operation.push)
    return tensions, _uses(route, tensions)


def spring_band_N(operation: Operation, share: float) -> tuple[float, float] | None:
    """Strand tension beside a sprung adjuster, engine stopped, with the arm's friction against and with the spring.

    None where no spring sets it: without one, and where the adjuster rests on a stop.
    """
    moving = operation.route.circuit.moving
    if moving is None or not is_sprung(operation.route.circuit) or operation.stopped.at_stop:
        return None
    ends = [
        tensions_at(operation.route, operation.mechanics, np.zeros(()), np.zeros(len(operation.route.pulleys)), push)
        for push in (1.0 - share, 1.0 + share)
    ]
    return float(ends[0].tractive_N[moving]), float(ends[1].tractive_N[moving])
