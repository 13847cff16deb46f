"""Slip and tension at very many places at once, by the same balance as that of a single layout, at fewer speeds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.belts.fit import is_sprung
from beltplan.checks.limits import demanded
from beltplan.checks.strand_tension import most_hub_load, most_tension
from beltplan.geometry.vectors import Bools, Floats
from beltplan.studies.place_limits import Threshold, threshold_of
from beltplan.studies.place_mover import Mover
from beltplan.tension.balance import Seat, balance
from beltplan.tension.mechanics import Mechanics, frictions, mechanics_of
from beltplan.tension.operation import LEAST_TAKE_UP_PERCENT, duties_of, torques_Nm, uses

SPEEDS = 11
"""Speeds from idle to maximum, each also one of those of `check`; the cruising speed besides."""


@dataclass(frozen=True, eq=False)
class Seated:
    """How the belt sits at every place, (N): its length in mm; settings of the adjuster with it and at both ends."""

    length_mm: Floats
    setting: Floats
    short: Floats
    long: Floats


@dataclass(frozen=True, eq=False)
class Worst:
    """The worst of every place: slip use, (conditions, N, n); whole tension of each strand and pull on each hub,
    (N, n) N; shortest span, (N, n) mm; whether a strand hangs slack or the spring's adjuster runs against a stop, (N).
    """

    use: Floats
    strand_N: Floats
    hub_N: Floats
    span_mm: Floats
    lost: Bools


@dataclass(frozen=True, eq=False)
class Drive:
    """What slip and tension are judged by. friction: (conditions, n); torque_Nm: (d, s, n).

    limits, design: of each pulley's use, for real friction and for the cautious one. strands, hubs: of each strand's
    tension, and of the pull on each hub where it has a limit.
    """

    mover: Mover
    mechanics: Mechanics
    friction: Floats
    rpm: Floats
    torque_Nm: Floats
    limits: tuple[Threshold, ...]
    design: tuple[Threshold, ...]
    strands: tuple[Threshold, ...]
    hubs: tuple[Threshold | None, ...]

    def judges(self, take_up_percent: Floats) -> Bools:
        """Where a tension can be relied on, (N): a spring that takes up next to nothing sets none."""
        if not is_sprung(self.mover.circuit):
            return np.ones(take_up_percent.shape, dtype=bool)
        return np.asarray(take_up_percent >= LEAST_TAKE_UP_PERCENT)

    def worst(self, places: Floats, seated: Seated) -> Worst:
        """The worst over duties and speeds. places: (N, k, 2) mm."""
        given = self.mover.circuit
        centre = np.array(np.broadcast_to(given.centre, (len(places), *given.centre.shape)))
        centre[:, list(self.mover.moved)] = places
        circuit = replace(given, centre=centre[:, None, None])
        radius = np.array([pulley.pitch_radius_mm(self.mover.layout.belt) for pulley in given.pulleys])
        length, setting = seated.length_mm[:, None, None], seated.setting[:, None, None]
        ends = (seated.short[:, None, None], seated.long[:, None, None]) if given.adjuster else (None, None)
        rpm = np.broadcast_to(self.rpm, (len(places), *self.torque_Nm.shape[:-1]))
        tensions = balance(Seat(circuit, radius, length, setting, *ends), self.mechanics, rpm, self.torque_Nm)
        pull = tensions.hub_load_N
        at_stop = tensions.at_stop.any(axis=(1, 2)) if is_sprung(given) else np.zeros(len(places), dtype=bool)
        return Worst(
            np.asarray(uses(self.friction, tensions).max(axis=(2, 3))),
            np.asarray(tensions.total_N.max(axis=(1, 2))),
            np.asarray(np.hypot(pull[..., 0], pull[..., 1]).max(axis=(1, 2))),
            np.asarray(np.broadcast_to(tensions.loop.span, tensions.total_N.shape).min(axis=(1, 2))),
            np.asarray(at_stop | ~(tensions.tractive_N > 0.0).all(axis=(1, 2, 3))),
        )


def drive_of(mover: Mover) -> Drive | None:
    """What slip is judged by; None where no pulley has a load, or the layout does not say enough."""
    layout, pulleys = mover.layout, mover.circuit.pulleys
    mechanics, engine = mechanics_of(layout.belt), layout.engine
    if mechanics is None or engine.idle_rpm is None or engine.max_rpm is None or not _tensioned(mover):
        return None
    cruise = engine.idle_rpm if engine.cruise_rpm is None else engine.cruise_rpm
    rpm = np.array(sorted({*np.linspace(engine.idle_rpm, engine.max_rpm, SPEEDS).tolist(), cruise}))
    torque = torques_Nm(layout.belt, pulleys, rpm, duties_of(layout))
    if not (torque[..., 1:] != 0.0).any():
        return None
    limits, design = (_limits(mover, key) for key in ("max_slip_use", "max_slip_use_design"))
    strands = tuple(
        threshold_of(most_tension(layout, mechanics, (start.name, end.name)))
        for start, end in zip(pulleys, pulleys[1:] + pulleys[:1], strict=True)
    )
    hubs = tuple(None if (most := most_hub_load(pulley)) is None else threshold_of(most) for pulley in pulleys)
    return Drive(mover, mechanics, frictions(layout.belt, pulleys), rpm, torque, limits, design, strands, hubs)


def _tensioned(mover: Mover) -> bool:
    belt = mover.layout.belt
    return mover.circuit.adjuster is not None or (belt.stretch_fit is not None and belt.stiffness_N is not None)


def _limits(mover: Mover, key: str) -> tuple[Threshold, ...]:
    pulleys = mover.circuit.pulleys
    return tuple(threshold_of(demanded(mover.layout, key, (pulley.name, pulley.role))) for pulley in pulleys)
