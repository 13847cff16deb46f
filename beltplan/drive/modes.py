"""The drive as rotors on springy spans: its stretch, stiffness and inertia, its natural frequencies and their shapes.

Coordinates are the turning of every pulley along the belt's travel, rad, and last, where an adjuster is sprung, its own
movement: rad of an arm, m of a slide. All over any leading axes, in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.drive.balance import Tensions
from beltplan.drive.pulleys import Adjuster
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import Loop, after, before
from beltplan.geometry.vectors import TURN, Floats, dot, left_normal

_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Chain:
    """n rotors on n spans, and the adjuster where it can swing; k coordinates.

    mass: (k) kg m2, and kg of a slide. stretch: (..., n, k), m of each span for a unit of each coordinate.
    span_N_per_m: (..., n), what stretches it by a metre. held: (...) N m per rad or N per m, what the spring and the
    tensions beside an adjuster oppose to its movement; None without one.
    """

    mass: Floats
    stretch: Floats
    span_N_per_m: Floats
    held: Floats | None

    @property
    def belt_stiffness(self) -> Floats:
        """What the spans oppose, (..., k, k)."""
        whole: Floats = np.einsum("...ij,...i,...ik->...jk", self.stretch, self.span_N_per_m, self.stretch)
        return whole

    @property
    def stiffness(self) -> Floats:
        """The same with what holds the adjuster."""
        whole = self.belt_stiffness
        if self.held is not None:
            whole[..., -1, -1] += self.held
        return whole


def turning_m(pitch_radius_mm: Floats) -> Floats:
    """Stretch of every span as the pulleys turn, (n) -> (n, n) m per rad: span i between pulleys i and i + 1.

    >>> turning_m(np.array([100.0, 50.0, 30.0])).round(3).tolist()
    [[-0.1, 0.05, 0.0], [0.0, -0.05, 0.03], [0.1, 0.0, -0.03]]
    """
    ends, count = np.diag(_MM * pitch_radius_mm), len(pitch_radius_mm)
    return np.asarray(ends[after(count)] - ends)


def spans_N_per_m(loop: Loop, stiffness_N: float, arcs: float = 0.0) -> Floats:
    """What stretches each span by a metre, (..., n): EA over the length that stretches.

    arcs: share of the arcs beside it that stretches with a span. With none the belt sticks to its pulleys; with a
    half it slides on them as it does while the drive settles.
    Source: none, as Barker 1991 and Hwang 1994 (from memory, high confidence).
    """
    arc = loop.wrap * loop.radius
    length = loop.span + arcs * (arc + arc[..., after(arc.shape[-1])])
    return np.asarray(stiffness_N / (_MM * np.maximum(length, _MM)))


def chain_of(
    circuit: Circuit, tensions: Tensions, pitch_radius_mm: Floats, inertia_kgm2: Floats, swings: float | None,
    stiffness_N: float,
) -> Chain:  # fmt: skip
    """The drive as it runs with these tensions. inertia_kgm2: (n); swings: what moves with the adjuster, None where
    nothing springs it.
    """
    turning, loop, moving, adjuster = turning_m(pitch_radius_mm), tensions.loop, circuit.moving, circuit.adjuster
    spans = spans_N_per_m(loop, stiffness_N)
    if swings is None or moving is None or adjuster is None:
        return Chain(inertia_kgm2, np.broadcast_to(turning, (*loop.span.shape, len(turning))), spans, None)
    stretch = np.zeros((*loop.span.shape, len(turning) + 1))
    stretch[..., :-1] = turning
    beside, share, bend = _moved(loop, tensions, adjuster, moving)
    stretch[..., beside, -1] = share
    pulled = dot(tensions.tractive_N[..., beside], bend)
    # What the spring loses toward longer path: N m per rad of an arm, N per m of a slide.
    rate = 0.0 if adjuster.spring is None else abs(adjuster.spring.law[2])
    per_unit = adjuster.own if adjuster.kind == "arm" else 1.0 / _MM
    return Chain(np.append(inertia_kgm2, swings), stretch, spans, pulled + per_unit * rate)


def _moved(loop: Loop, tensions: Tensions, adjuster: Adjuster, moving: int) -> tuple[list[int], Floats, Floats]:
    """The spans before and after the adjusted pulley, how each grows with its movement, and how that changes.

    (..., 2) m, and m for another unit of it; rad or m. Source: first and second variation of the path.
    """
    arm, beside = adjuster.kind == "arm", [before(loop.span.shape[-1])[moving], moving]
    unit, sign = 1.0 if arm else 1.0 / _MM, np.array([1.0, -1.0])
    along, motion = loop.direction[..., beside, :], unit * adjuster.track.motion_at(tensions.setting)[..., None, :]
    # As an arm turns, so does the way in which it moves; and each span turns about its other end.
    turned = left_normal(motion) if arm else np.zeros(motion.shape)
    across = dot(left_normal(along), motion) ** 2 / np.maximum(loop.span[..., beside], _MM)
    return beside, _MM * sign * dot(along, motion), _MM * (across + sign * dot(along, turned))


@dataclass(frozen=True, eq=False)
class Modes:
    """Natural frequencies, (..., m) Hz rising, and shapes, (..., k, m), each of unit kinetic energy, the pulleys
    turning with the belt where positive. crank_free: whether the driver takes part; else the engine holds it, and its
    row is zero. energy: (..., k, m), share of the kinetic energy.
    """

    crank_free: bool
    frequency_Hz: Floats
    shape: Floats
    energy: Floats


def modes_of(chain: Chain, crank_free: bool = False) -> Modes:
    """The modes of a drive at rest or running: they do not know its speed.

    Source: K phi = w^2 M phi; two pulleys: w^2 = (K1 + K2)(r1^2 / J1 + r2^2 / J2), Rao, Mechanical Vibrations.

    >>> import math
    >>> span, radius, inertia = np.full(2, 2000.0), np.array([125.0, 500.0]), np.array([0.1, 0.2])
    >>> two = modes_of(Chain(inertia, turning_m(radius), span, None), crank_free=True)
    >>> (TURN * two.frequency_Hz).round(2).tolist(), round(math.sqrt(4000.0 * (0.125**2 / 0.1 + 0.5**2 / 0.2)), 2)
    ([0.0, 75.0], 75.0)
    """
    free = slice(0 if crank_free else 1, None)
    root = np.sqrt(chain.mass[free])
    square, own = np.linalg.eigh(chain.stiffness[..., free, free] / (root[:, None] * root))
    square = np.maximum(square, 0.0)
    shape = np.zeros((*own.shape[:-2], len(chain.mass), own.shape[-1]))
    shape[..., free, :] = own / root[:, None]
    return Modes(crank_free, np.sqrt(square) / TURN, shape, chain.mass[:, None] * shape**2)
