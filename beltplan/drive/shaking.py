"""A drive shaken by its engine at every speed and duty: what swings, how the tensions change, what grip is left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from beltplan.drive.balance import Tensions
from beltplan.drive.fit import is_sprung
from beltplan.drive.forced import (
    LOSS_FACTOR,
    Answer,
    Rotors,
    answer_of,
    crank_swing_rad,
    firing_rad_per_s,
    over_a_firing,
    overrun,
)
from beltplan.drive.inertias import CRANK_KGM2, RING_KGM2, inertia_kgm2, swung
from beltplan.drive.mechanics import Mechanics, asked_of, entering, friction_of_arm, grip_utilisation
from beltplan.drive.modes import Chain, chain_of
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats

_AT_A_STOP = 1e9
"""N m or N: nothing moves an adjuster on from there."""


_OF_A_DISC = "a disc of 2 kg, 80 mm across, has 0.0016: half its kilograms times its radius in metres squared"


def why_not_shaken(route: Route) -> str | None:
    """Why it cannot be told what the engine shakes, in words; None where it can."""
    return "; ".join(": ".join(filter(None, each)) for each in asked_to_shake(route)) or None


def asked_to_shake(route: Route) -> list[tuple[str, str]]:
    """What must be given for it, each with why it is asked or how it is found, '' where that needs no words."""
    lacking, belt = [pulley.name for pulley in route.pulleys[1:] if not inertia_kgm2(pulley)], route.layout.belt
    asked = [asked_of(belt, ("stiffness_N",))] * (belt.full_stiffness_N is None)
    asked += [("give engine.cylinders", "")] * (route.layout.engine.cylinders is None)
    return asked + [(f"give inertia_kgm2 of {', '.join(lacking)}", _OF_A_DISC)] * bool(lacking)


def assumed_inertias(route: Route) -> dict[str, float]:
    """Inertias that usual ones stand in for, by the pulley's name, kg m2; last that of a sprung adjuster, 'NAME: arm'
    or, in kg, 'NAME: slide'.
    """
    found = {p.name: _inertias(route)[i] for i, p in enumerate(route.pulleys) if p.inertia_kgm2 is None}
    held, moving = route.circuit.adjuster, route.moving
    if held is None or moving is None or not is_sprung(route.circuit):
        return found
    given = held.inertia_kgm2 if held.kind == "arm" else held.mass_kg
    return found | ({f"{moving.name}: {held.kind}": swung(held)} if given is None else {})


def _inertias(route: Route) -> list[float]:
    crank, *others = route.pulleys
    return [crank.inertia_kgm2 or CRANK_KGM2, *(inertia_kgm2(pulley) or 0.0 for pulley in others)]


def drive_chain(route: Route, mechanics: Mechanics, state: Tensions) -> Chain:
    """The drive as rotors on springs, with every one-way rotor on its ring."""
    radius = np.array([pulley.pitch_radius_mm(route.layout.belt) for pulley in route.pulleys])
    held = route.circuit.adjuster
    swings = swung(held) if held is not None and is_sprung(route.circuit) else None
    return chain_of(route.circuit, state, radius, np.array(_inertias(route)), swings, mechanics.stiffness_N)


@dataclass(frozen=True, eq=False)
class Shaken:
    """What the engine does to a drive, (d, s) duties and speeds, n pulleys and spans. Peak values of one firing.

    swing: (d, s, n) rad of the pulleys. adjuster: (d, s) rad or m, none where its friction holds it; None where
    nothing springs it. mean_N, span_swing_N: (d, s, n), tractive, and how far it falls from there.
    grip_needed: (d, s, n), the friction at which each pulley just slips at the worst instant.
    """

    swing: Floats
    adjuster: Floats | None
    span_swing_N: Floats
    mean_N: Floats
    grip_needed: Floats

    @property
    def least_N(self) -> Floats:
        return np.asarray(self.mean_N - self.span_swing_N)


def shaken_of(route: Route, mechanics: Mechanics, running: Tensions) -> Shaken | None:
    """Shake a drive at every state that it runs in; None where `why_not_shaken` says why."""
    if why_not_shaken(route) is not None:
        return None
    chain, held = drive_chain(route, mechanics, running), route.circuit.adjuster
    answer = _answer(route, chain, running)
    moved, change = over_a_firing(answer.moved), over_a_firing(answer.spans_N)
    tractive = running.tractive_N[..., None, :] + change
    peak, count = np.abs(moved).max(axis=-2), len(route.pulleys)
    return Shaken(
        peak[..., :count],
        peak[..., count] if held is not None and chain.held is not None else None,
        -change.min(axis=-2),
        running.tractive_N,
        _grip_needed(tractive, running.loop.wrap),
    )


def _answer(route: Route, chain: Chain, running: Tensions) -> Answer:
    engine, rpm = route.layout.engine, np.broadcast_to(running.driver_rpm, running.tractive_N.shape[:-1])
    loss = LOSS_FACTOR if route.layout.belt.loss_factor is None else route.layout.belt.loss_factor
    given = (firing_rad_per_s(engine, rpm), crank_swing_rad(engine, rpm), _friction(route, running))
    behind = list(_behind_rings(route.pulleys))
    if not behind:
        return answer_of(chain, *given, loss)
    numbers, rotors = zip(*behind, strict=True)
    torque = np.maximum(running.torque_Nm[..., list(numbers)], 0.0)
    return overrun(chain, Rotors(numbers, np.array(rotors), torque), *given, loss)


def _behind_rings(pulleys: tuple[Pulley, ...]) -> Iterator[tuple[int, float]]:
    """Numbers of the one-way pulleys, and the inertia behind the ring of each."""
    for i, pulley in enumerate(pulleys[1:], start=1):
        behind = (inertia_kgm2(pulley) or 0.0) - RING_KGM2
        if pulley.one_way and behind > 0.0:
            yield i, behind


def _friction(route: Route, running: Tensions) -> Floats:
    """What holds a sprung adjuster either way, (...) N m or N; all that there is at a stop."""
    held, travel = route.circuit.adjuster, route.travel
    if held is None or travel is None:
        return np.zeros(running.setting.shape)
    force = held.spring_force_at(running.setting, 1 if travel.long > travel.short else -1)
    return np.where(running.at_stop, _AT_A_STOP, friction_of_arm(held)[0] * force / held.spring_scale)


def _grip_needed(tractive_N: Floats, wrap_rad: Floats) -> Floats:
    """The friction that each pulley needs at the worst of some instants, (..., instants, n) -> (..., n)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = entering(tractive_N) / tractive_N
    least = tractive_N.min(axis=-2)
    slack = ~(np.minimum(least, entering(least)) > 0.0)
    worst = np.where(slack, np.inf, np.maximum(ratio.max(axis=-2), 1.0 / np.where(slack, 1.0, ratio.min(axis=-2))))
    return grip_utilisation(np.where(slack, 1.0, worst), np.where(slack, 0.0, 1.0), np.ones(()), wrap_rad)
