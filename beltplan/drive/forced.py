"""How the engine's uneven turning shakes the drive: the crank's swing, what answers it, and what that does to the belt.

Complex amplitudes over harmonics of the firing, the last axes (h, k): the firing itself, twice it, and so on.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    """Circular frequency of the firing of a four-stroke, (...) -> (...): half its cylinders fire in a turn."""
    return np.asarray((engine.cylinders or 0) / 2.0 * rpm / 60.0 * TURN)


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
class Compliance:
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
    order = orders_of(rad_per_s, crank_rad.shape[-1])
    drive, causes = compliance_of(chain, order, loss), crank_rad[..., None]
    rubbing = rubbing_of(drive, causes, friction, order)
    return answered(chain, drive, causes, rubbing, order, loss)


def orders_of(rad_per_s: Floats, harmonics: int) -> Floats:
    """Circular frequencies of the firing's harmonics, (...) -> (..., h)."""
    return np.asarray(rad_per_s[..., None] * np.arange(1, harmonics + 1))


def compliance_of(chain: Chain, order: Floats, loss: Floats | float, torques_on: tuple[int, ...] = ()) -> Compliance:
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
        return Compliance(
            pulleys, np.zeros(solved.shape[:-1], dtype=complex), still, np.ones(order.shape, dtype=complex)
        )
    beside = whole[..., arm, 1:count]
    push, following = -(beside @ pulleys)[..., 0, :], solved[..., -1]
    push[..., 0] -= whole[..., count, 0]
    own = whole[..., count, count] + chain.held[..., None] + (beside[..., 0, :] * following).sum(axis=-1)
    return Compliance(pulleys, following, push, own)


def _damped(loss: Floats | float, harmonics: int) -> Complexes:
    return np.asarray(1.0 + 1j * np.broadcast_to(loss, harmonics))


def rubbing_of(drive: Compliance, causes: Floats, friction: Floats, order: Floats) -> Floats:
    """What friction of the adjuster comes to as a damping, (...); infinite where it sticks. causes: (..., h, c).

    The harmonic that alone would move it fastest sets it: |own a + i 4 F / pi| = |push| is a quadratic in |a|.
    """
    push, rubbed = (drive.push * causes).sum(axis=-1), 4.0 / np.pi * friction[..., None]
    lag, size_sq = drive.own.imag * rubbed, np.abs(drive.own) ** 2
    room = lag**2 + size_sq * (np.abs(push) ** 2 - rubbed**2)
    alone = np.maximum(np.sqrt(np.maximum(room, 0.0)) - lag, 0.0) / size_sq
    fastest = (order * alone).max(axis=-1)
    return np.where(fastest > 0.0, rubbed[..., 0] / np.where(fastest > 0.0, fastest, 1.0), np.inf)


def adjuster_moved(drive: Compliance, rubbing: Floats, order: Floats) -> Complexes:
    """Movement of the adjuster for each cause, (..., h, c)."""
    free = np.isfinite(rubbing)[..., None]
    opposed = drive.own + 1j * order * np.where(free, rubbing[..., None], 0.0)
    return np.asarray(drive.push * np.where(free, 1.0 / opposed, 0.0)[..., None])


def answered(
    chain: Chain, drive: Compliance, causes: Floats, rubbing: Floats, order: Floats, loss: Floats | float
) -> Answer:
    """Movements and tensions for causes that are known, (..., h, c)."""
    arm = (adjuster_moved(drive, rubbing, order) * causes).sum(axis=-1)[..., None]
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
