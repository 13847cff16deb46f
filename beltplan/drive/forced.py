"""How the engine's uneven turning shakes the drive: the crank's swing, what answers it, and what that does to the belt.

Complex amplitudes over harmonics of the firing, the last axes (h, k): the firing itself, twice it, and so on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from beltplan.drive.layout import Engine
from beltplan.drive.modes import Chain
from beltplan.drive.profiles import PRACTICE
from beltplan.geometry.vectors import TURN, Complexes, Floats

LOSS_FACTOR = 0.1
LOSS_SOURCE = "from memory, low confidence: belts of 0.05 to 0.15"
_SWING_DEG, _AT_CYLINDERS, _MOST_SWING_DEG = 1.0, 4, 4.0
_DOUBLE = 1.0 / 8.0
SWING_SOURCE = (
    f"{PRACTICE}: {_SWING_DEG:g} deg at idle for four cylinders, falling with the square of their number and, above "
    "idle, of the speed; an eighth of it at twice the firing"
)
"""A bore more fires sooner, and angle falls with the square of frequency: half the torque at twice of it, an eighth."""
_INSTANTS = 32
"""Of one firing at which the belt is looked at."""


def firing_rad_per_s(engine: Engine, rpm: Floats) -> Floats:
    """Circular frequency of the firing, (...) -> (...)."""
    return np.asarray(engine.firings * rpm / 60.0 * TURN)


def crank_swing_rad(engine: Engine, rpm: Floats) -> Floats:
    """Peak swing of the crank at the firing and at twice it, (...) -> (..., 2) rad; see `SWING_SOURCE`.

    >>> engine = Engine(idle_rpm=800.0, max_rpm=4000.0, cylinders=4)
    >>> np.degrees(crank_swing_rad(engine, np.array([800.0, 1600.0]))).round(4).tolist()
    [[1.0, 0.125], [0.25, 0.0312]]
    """
    given, idle = engine.swing_deg, engine.idle_rpm or 0.0
    if given is None or not given.rpm:
        usual = min(_SWING_DEG * (_AT_CYLINDERS / (engine.cylinders or 1)) ** 2, _MOST_SWING_DEG)
        first = (usual if given is None else given.deg[0]) * (idle / np.maximum(rpm, idle)) ** 2
    else:
        first = np.interp(rpm, given.rpm, given.deg)
    return np.asarray(np.radians(first)[..., None] * np.array([1.0, _DOUBLE]))


@dataclass(frozen=True, eq=False)
class Answer:
    """What answers the crank's swing. moved: (..., h, k) complex, rad and m. spans_N: (..., h, n) complex, the change
    of every span's tension. rubbing: (...) N m or N for a unit of the adjuster's speed, what its friction comes to;
    infinite where that holds it still.
    """

    moved: Complexes
    spans_N: Complexes
    rubbing: Floats


@dataclass(frozen=True, eq=False)
class _Compliance:
    """How the pulleys answer causes, c of them: the crank's swing first, then torques.

    pulleys: (..., h, n - 1, c) for each cause, the adjuster still. following: (..., h, n - 1), as they follow the
    adjuster. push: (..., h, c), what each cause does to it. own: (..., h), its dynamic stiffness, pulleys following.
    """

    pulleys: Complexes
    following: Complexes
    push: Complexes
    own: Complexes


def answer_of(
    chain: Chain, rad_per_s: Floats, crank_rad: Floats, friction: Floats, loss: Floats | float = LOSS_FACTOR
) -> Answer:
    """The steady answer to a swing of the crank, by the stiffness of the drive as it runs.

    rad_per_s: (...) of the firing. crank_rad: (..., h) of its harmonics. friction: (...) N m or N, what holds the
    adjuster either way. loss: factor of the belt's damping, (h) or one for all.
    Source: structural damping, K (1 + i loss); friction by harmonic balance, 4 F / (pi velocity) (Den Hartog).
    """
    order = _orders_of(rad_per_s, crank_rad.shape[-1])
    drive, causes = _compliance_of(chain, order, loss), crank_rad[..., None]
    rubbing = _rubbing_of(drive, causes, friction, order)
    return _answered(chain, drive, causes, rubbing, order, loss)


def _orders_of(rad_per_s: Floats, harmonics: int) -> Floats:
    """Circular frequencies of the firing's harmonics, (...) -> (..., h)."""
    return np.asarray(rad_per_s[..., None] * np.arange(1, harmonics + 1))


def _compliance_of(chain: Chain, order: Floats, loss: Floats | float, torques_on: tuple[int, ...] = ()) -> _Compliance:
    """Solve the drive for every cause, order: (..., h) rad/s; torques_on: numbers of pulleys.

    Source: K (1 + i loss) - w^2 M; the engine holds pulley 0.
    """
    count = chain.span_N_per_m.shape[-1]
    belt = chain.belt_stiffness[..., None, :, :] * _damped(loss, order.shape[-1])[:, None, None]
    whole = np.array(np.broadcast_to(belt, (*order.shape, *belt.shape[-2:])))
    diagonal, arm = np.arange(len(chain.mass)), slice(count, None)
    whole[..., diagonal, diagonal] -= order[..., None] ** 2 * chain.mass
    turning = whole[..., 1:count, 1:count]
    unit = np.broadcast_to(np.eye(count)[1:, list(torques_on)], (*order.shape, count - 1, len(torques_on)))
    sides = (-whole[..., 1:count, :1], unit, -whole[..., 1:count, arm])
    solved = np.linalg.solve(turning, np.concatenate(sides, axis=-1))
    pulleys = solved[..., : 1 + len(torques_on)]
    if chain.held is None:
        still = np.zeros((*order.shape, 1 + len(torques_on)), dtype=complex)
        following, own = np.zeros(solved.shape[:-1], dtype=complex), np.ones(order.shape, dtype=complex)
        return _Compliance(pulleys, following, still, own)
    beside = whole[..., arm, 1:count]
    push, following = -(beside @ pulleys)[..., 0, :], solved[..., -1]
    push[..., 0] -= whole[..., count, 0]
    own = whole[..., count, count] + chain.held[..., None] + (beside[..., 0, :] * following).sum(axis=-1)
    return _Compliance(pulleys, following, push, own)


def _damped(loss: Floats | float, harmonics: int) -> Complexes:
    return np.asarray(1.0 + 1j * np.broadcast_to(loss, harmonics))


def _rubbing_of(drive: _Compliance, causes: Floats, friction: Floats, order: Floats) -> Floats:
    """What friction of the adjuster comes to as a damping, (...); infinite where it sticks. causes: (..., h, c).

    The harmonic that alone would move it fastest sets it: |own a + i 4 F / pi| = |push| is a quadratic in |a|.
    """
    push, rubbed = (drive.push * causes).sum(axis=-1), 4.0 / np.pi * friction[..., None]
    lag, size_sq = drive.own.imag * rubbed, np.abs(drive.own) ** 2
    room = lag**2 + size_sq * (np.abs(push) ** 2 - rubbed**2)
    alone = np.maximum(np.sqrt(np.maximum(room, 0.0)) - lag, 0.0) / size_sq
    fastest = (order * alone).max(axis=-1)
    return np.where(fastest > 0.0, rubbed[..., 0] / np.where(fastest > 0.0, fastest, 1.0), np.inf)


def _adjuster_moved(drive: _Compliance, rubbing: Floats, order: Floats) -> Complexes:
    """Movement of the adjuster for each cause, (..., h, c)."""
    free = np.isfinite(rubbing)[..., None]
    opposed = drive.own + 1j * order * np.where(free, rubbing[..., None], 0.0)
    return np.asarray(drive.push * np.where(free, 1.0 / opposed, 0.0)[..., None])


def _answered(
    chain: Chain, drive: _Compliance, causes: Floats, rubbing: Floats, order: Floats, loss: Floats | float
) -> Answer:
    """Movements and tensions for causes that are known, (..., h, c)."""
    arm = (_adjuster_moved(drive, rubbing, order) * causes).sum(axis=-1)[..., None]
    pulleys = (drive.pulleys @ causes[..., None])[..., 0] + arm * drive.following
    parts = (causes[..., :1].astype(complex), pulleys) + ((arm,) if chain.held is not None else ())
    moved = np.concatenate(parts, axis=-1)
    stretched = moved @ np.swapaxes(chain.stretch, -1, -2)
    spans = chain.span_N_per_m[..., None, :] * _damped(loss, order.shape[-1])[:, None] * stretched
    return Answer(moved, spans, rubbing)


def over_a_firing(amplitudes: Complexes) -> Floats:
    """Values at `_INSTANTS` of one firing, (..., h, m) complex -> (..., instants, m).

    >>> over_a_firing(np.array([[2.0], [1.0j]]))[[0, 4, 16], 0].round(3).tolist()
    [2.0, 0.414, -2.0]
    """
    turn = np.exp(1j * TURN / _INSTANTS * np.outer(np.arange(_INSTANTS), np.arange(1, amplitudes.shape[-2] + 1)))
    return np.asarray((turn @ amplitudes).real)


# One-way pulleys: a rotor that runs ahead of its ring where the belt would have to brake it. By harmonic balance a
# rotor that is carried for a part of every firing is one of less inertia, and one that damps.

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
    rings, order = replace(chain, mass=mass), _orders_of(rad_per_s, crank_rad.shape[-1])
    bare = _compliance_of(rings, order, loss, rotors.pulleys)
    causes = crank_rad[..., None] * np.eye(1, 1 + len(rotors.pulleys))[0]
    felt = rotors.kgm2 + 0j * rotors.torque_Nm
    for _ in range(_SWEEPS):
        rubbing = _rubbing_of(_weighed(bare, rotors.pulleys, felt, order), causes, friction, order)
        for i in range(len(rotors.pulleys)):
            others = felt * (np.arange(len(rotors.pulleys)) != i)
            rest = _weighed(bare, rotors.pulleys, others, order) if others.any() else bare
            felt[..., i] = _felt(rest, rotors, rubbing, order, crank_rad, i)
    drive = _weighed(bare, rotors.pulleys, felt, order)
    return _answered(rings, drive, causes, _rubbing_of(drive, causes, friction, order), order, loss)


def _weighed(drive: _Compliance, rings: tuple[int, ...], felt: Complexes, order: Floats) -> _Compliance:
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
    return _Compliance(moved[..., :-1], moved[..., -1], push, stiff)


def _felt(
    drive: _Compliance, rotors: Rotors, rubbing: Floats, order: Floats, crank_rad: Floats, index: int
) -> Complexes:
    """drive: without this rotor, the others as they are."""
    arm, ring, inertia = _adjuster_moved(drive, rubbing, order), rotors.pulleys[index] - 1, rotors.kgm2[index]
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
