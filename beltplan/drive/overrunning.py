"""One-way pulleys: a rotor that runs ahead of its ring where the belt would have to brake it.

By harmonic balance a rotor that is carried for a part of every firing is one of less inertia, and one that damps.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from beltplan.drive.forced import (
    Answer,
    Compliance,
    adjuster_moved,
    answered,
    compliance_of,
    orders_of,
    rubbing_of,
)
from beltplan.drive.modes import Chain
from beltplan.geometry.vectors import TURN, Complexes, Floats

_SWEEPS = 4
_STEPS, _LEAST = 33, 1e-6
"""Of the ring's speed that are looked at, up to as fast as it could be with any share of its rotor."""
_COARSE = 16


@dataclass(frozen=True, eq=False)
class Rotors:
    """What may run ahead: numbers of the pulleys, inertia behind each ring, kg m2 (r), and the torque that each takes,
    (..., r) N m.
    """

    pulleys: tuple[int, ...]
    kgm2: Floats
    torque_Nm: Floats


def carried_share(load: Floats) -> Complexes:
    """Inertia of a rotor as its ring feels it, complex, as a share of what it has: 1 where it never runs ahead.

    load: (...), its torque over what would brake it as hard as its ring slows: M / (J w v) for a speed v cos(w t).
    Source: first harmonic of what the ring passes on. It lets go where it slows faster than the rotor would alone, and
    carries on where their speeds meet.

    >>> carried_share(np.array([0.0, 1.0, 5.0])).round(9).tolist()
    [0j, (1+0j), (1+0j)]
    """
    at, share = _shares()
    kept = np.clip(load, 0.0, 1.0)
    return np.asarray(np.interp(kept, at, share.real) + 1j * np.interp(kept, at, share.imag))


@cache
def _shares() -> tuple[Floats, Complexes]:
    load = np.linspace(0.0, 1.0, 257)
    leaves = np.arcsin(load)
    # It falls behind no more once its ring slows less than it does, and they meet before the next firing.
    low, high = 0.5 * TURN - leaves, leaves + TURN
    for _ in range(60):
        middle = 0.5 * (low + high)
        ahead = np.cos(middle) < np.cos(leaves) - load * (middle - leaves)
        low, high = np.where(ahead, middle, low), np.where(ahead, high, middle)

    def passed(phase: Floats) -> Complexes:
        """Integral of (load - sin) e^(-i phase)."""
        return np.asarray(1j * load * np.exp(-1j * phase) + 0.5j * phase + 0.25 * np.exp(-2j * phase))

    share = (passed(leaves + TURN) - passed(low)) / (0.5j * TURN)
    share[0], share[-1] = 0.0, 1.0
    return load, share


def overrun(
    chain: Chain, rotors: Rotors, rad_per_s: Floats, crank_rad: Floats, friction: Floats, loss: Floats | float
) -> Answer:
    """The steady answer of `answer_of` where rotors may run ahead of their rings; chain: with every rotor on its ring.

    The firing itself decides how much of a rotor is carried, and its harmonics find it so: tensions come out up to a
    fifth too high, as a march through time shows.
    """
    mass = chain.mass.copy()
    mass[list(rotors.pulleys)] -= rotors.kgm2
    rings, order = Chain(mass, chain.stretch, chain.span_N_per_m, chain.held), orders_of(rad_per_s, crank_rad.shape[-1])
    bare = compliance_of(rings, order, loss, rotors.pulleys)
    causes = crank_rad[..., None] * np.eye(1, 1 + len(rotors.pulleys))[0]
    felt = rotors.kgm2 + 0j * rotors.torque_Nm
    for _ in range(_SWEEPS):
        rubbing = rubbing_of(_weighed(bare, rotors.pulleys, felt, order), causes, friction, order)
        for i in range(len(rotors.pulleys)):
            others = felt * (np.arange(len(rotors.pulleys)) != i)
            rest = _weighed(bare, rotors.pulleys, others, order) if others.any() else bare
            felt[..., i] = _felt(rest, rotors, rubbing, order, crank_rad, i)
    drive = _weighed(bare, rotors.pulleys, felt, order)
    return answered(rings, drive, causes, rubbing_of(drive, causes, friction, order), order, loss)


def _weighed(drive: Compliance, rings: tuple[int, ...], felt: Complexes, order: Floats) -> Compliance:
    """The same drive with inertia on its rings, (..., r) kg m2; its causes are the crank's swing and the torques still.

    Source: each ring's torque is w^2 J times its turning (Woodbury).
    """
    rows = [ring - 1 for ring in rings]
    torque = order[..., None, None] ** 2 * felt[..., None, :, None]
    by_torque, moved = drive.pulleys[..., 1:], np.concatenate((drive.pulleys, drive.following[..., None]), axis=-1)
    own = moved[..., rows, :]
    back = np.eye(len(rings)) - own[..., 1:-1] * np.swapaxes(torque, -1, -2)
    passed = torque * np.linalg.solve(back, own)
    moved = moved + by_torque @ passed
    pushed = (drive.push[..., None, 1:] @ passed)[..., 0, :]
    push, stiff = drive.push + pushed[..., :-1], drive.own - pushed[..., -1]
    return Compliance(moved[..., :-1], moved[..., -1], push, stiff)


def _felt(
    drive: Compliance, rotors: Rotors, rubbing: Floats, order: Floats, crank_rad: Floats, index: int
) -> Complexes:
    """Inertia of a rotor that its ring feels, (...); drive: without it, the others as they are."""
    arm, ring, inertia = adjuster_moved(drive, rubbing, order), rotors.pulleys[index] - 1, rotors.kgm2[index]
    turned = drive.pulleys[..., 0, ring, :] + drive.following[..., 0, ring, None] * arm[..., 0, :]
    first = order[..., 0]
    alone, drag = np.abs(first * turned[..., 0] * crank_rad[..., 0]), inertia * first**2 * turned[..., 1 + index]
    brake, share = rotors.torque_Nm[..., index] / (inertia * first), np.ones(drag.shape, dtype=complex)
    ahead = alone / np.abs(1.0 - drag) > brake
    share[ahead] = carried_share(brake[ahead] / _widest(alone[ahead], drag[ahead], brake[ahead]))
    return np.asarray(inertia * share)


def _widest(alone: Floats, drag: Complexes, brake: Floats) -> Floats:
    """The widest balance between the speed of a ring, (s), and what of its rotor is carried at that speed."""
    most = (alone / np.abs(1.0 - drag * _shares()[1][::_COARSE, None])).max(axis=0)
    at = np.linspace(_LEAST, 1.0, _STEPS)[:, None] * most
    over = alone / np.abs(1.0 - drag * carried_share(brake / at)) - at
    last = _STEPS - 2 - (over[-2::-1] > 0.0).argmax(axis=0)
    columns = np.arange(len(alone))
    above, below = over[last, columns], over[last + 1, columns]
    step = at[last + 1, columns] - at[last, columns]
    return np.asarray(at[last, columns] + step * above / np.where(above > below, above - below, 1.0))
