"""Tensions round the loop, slip and hub loads: the plain formulas, over any leading axes."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.loops import Loop, after, before
from beltplan.geometry.vectors import Bools, Floats


def rises_N(torque_Nm: Floats, pitch_radius_mm: Floats) -> Floats:
    """Tractive tension of every strand over that of the strand leaving the driver (pulley 0).

    torque_Nm: (..., n) that each shaft takes, the driver's entry ignored; pitch_radius_mm: (n).
    Returns (..., n) N, entry i for the strand leaving pulley i.
    Source: P_leaving = P_entering + M / r, Beer and Johnston; Khurmi and Gupta, Theory of Machines.
    """
    pull = 1000.0 * np.asarray(torque_Nm) / pitch_radius_mm
    pull[..., 0] = 0.0
    return np.cumsum(pull, axis=-1)


def strand_shares(loop: Loop) -> Floats:
    """Share of the belt's length that stretches with each strand: strand plus half of both arcs; (..., n)."""
    arc = loop.wrap * loop.radius
    length = loop.span + 0.5 * (arc + arc[..., after(arc.shape[-1])])
    return np.asarray(length / length.sum(axis=-1, keepdims=True))


def slip_use(entering_N: Floats, leaving_N: Floats, friction: Floats, wrap_rad: Floats) -> Floats:
    """How much of a pulley's grip is used: 1 is slip; infinite where a loaded strand is slack.

    Tractive tensions of the strands beside the pulley, (...) N; effective friction; wrap in rad.
    Source: ln(P_high / P_low) / (f wrap), Euler; wedge friction of Shigley, eq. 17-7 ff.
    """
    high, low = np.maximum(entering_N, leaving_N), np.minimum(entering_N, leaving_N)
    grip = friction * wrap_rad
    slack, idle = ~(low > 0.0), np.isclose(high, low, rtol=1e-12, atol=1e-9)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        use = np.log(np.where(slack, 1.0, high / np.where(slack, 1.0, low))) / grip
    return np.where(idle, 0.0, np.where(slack | ~(grip > 0.0), np.inf, use))


def hub_load_N(loop: Loop, tractive_N: Floats) -> Floats:
    """Pull of the belt on every hub, (..., n, 2) N: P_i u_i - P_(i-1) u_(i-1).

    m v^2 turns the belt and loads no shaft, so only tractive tension counts.
    Source: Beer and Johnston; moving-belt form Beikmann, Perkins, Ulsoy 1996, from memory, high confidence.
    """
    leaving = tractive_N[..., None] * loop.direction
    return np.asarray(leaving - leaving[..., before(loop.span.shape[-1]), :])


def entering(by_strand: Floats) -> Floats:
    """A value by strand, listed by the pulley that the strand enters; (..., n)."""
    return np.asarray(by_strand[..., before(by_strand.shape[-1])])


def is_slack(tractive_N: Floats) -> Bools:
    """Which strands hang slack, (..., n)."""
    return np.asarray(~(tractive_N > 0.0))
