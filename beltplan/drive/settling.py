"""Very many layouts, each balanced in very many states: loads move a sprung adjuster so little that all follows from a
few settings, by polynomials through what the balance itself gives there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from beltplan.drive.balance import Equilibrium, Seat, equilibrium_of
from beltplan.drive.fit import is_sprung
from beltplan.drive.mechanics import Mechanics, grip_utilisation
from beltplan.geometry.loops import Pieces
from beltplan.geometry.vectors import Bools, Floats, Ints, norm

_NODES = 5
_UNIT_N = 1000.0
"""Size of the unit states that a balance is taken apart by: it is linear in loads and in m v^2."""
_BEYOND = 1.5
"""How far from the middle of its nodes, in half widths, a polynomial is trusted."""
_STRAIGHT = 1e-5
"""Last coefficient of the balance, as a share of its slope, up to which a polynomial is trusted."""
_NEWTON_ROUNDS = 2
_WIDTH, _LEAST_WIDTH = 0.6, 1e-5
"""Half the width of the nodes: a share of the way between two far states, but at least one of the travel."""


@dataclass(frozen=True, eq=False)
class Settled:
    """N layouts, each settled in s states. first_N: (N, s), tractive tension of the span leaving the driver; rise_N:
    (s, n) over it; centrifugal_N: (s). path: over (N, s), or over fewer axes where it is the same; where `share` is
    given, polynomials in it, (nodes, N, 1), for what lies beside the adjusted pulley. at_stop: (N, s) or (N, 1).
    """

    first_N: Floats
    rise_N: Floats
    centrifugal_N: Floats
    path: Pieces
    at_stop: Bools
    moving: int
    share: Floats | None = None

    @cached_property
    def tractive_N(self) -> tuple[Floats, ...]:
        """Tractive tension of every span, n arrays (N, s)."""
        return tuple(self.first_N + rise for rise in self.rise_N.T)

    def span(self, index: int, states: slice | Ints) -> Floats:
        """Length of a span in some states, mm, (N, states) or fewer axes."""
        return self._over(self.path.span[index], self._beside(index), states)

    def grip_needed(self, index: int) -> Floats:
        """The friction at which a pulley just slips in its worst state, (N): its grip utilisation times its friction.

        At the same wrap it grows with the ratio of the tensions, so the worst state is then known by that alone.
        """
        entering, leaving = self.tractive_N[index - 1], self.tractive_N[index]
        wrap = self._over(self.path.wrap[index], self._beside(index) or self._beside(index - 1), slice(None))
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = entering / leaving
            if not wrap.ndim or wrap.shape[-1] == 1:
                worst = [ratio.argmin(axis=1), ratio.argmax(axis=1)]
            else:
                worst = [(np.abs(np.log(ratio, out=ratio), out=ratio) / wrap).argmax(axis=1)]
        # A slack span gives no ratio: where there is one, it is the slackest.
        states = np.stack([*worst, entering.argmin(axis=1), leaving.argmin(axis=1)], axis=1)
        entering, leaving = (np.take_along_axis(each, states, axis=1) for each in (entering, leaving))
        own = np.take_along_axis(wrap, states, axis=1) if wrap.ndim and wrap.shape[-1] > 1 else wrap
        return np.asarray(grip_utilisation(entering, leaving, np.ones(()), own).max(axis=1))

    def hub_load_N(self, index: int, states: slice) -> Floats:
        """Size of the pull on a hub in some states, (N, states)."""
        pull = [
            self.tractive_N[i][:, states, None] * self._over(self.path.direction[i], self._beside(i), states, 1)
            for i in (index, index - 1)
        ]
        return np.asarray(norm(pull[0] - pull[1]))

    def _beside(self, index: int) -> bool:
        return (self.moving - index) % len(self.path.span) in (0, 1)

    def _over(self, values: Floats, varies: bool, states: slice | Ints, spare: int = 0) -> Floats:
        if varies and self.share is not None:
            share = self.share[:, states]
            return _valued(values, share[..., None] if spare else share)
        if values.ndim <= spare or values.shape[-1 - spare] == 1:
            return values
        return values[:, states]


def settled(
    seat: Seat, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: float = 1.0
) -> tuple[Settled, Bools]:
    """Settle layouts in states, and tell which layouts, (N), it can be relied on for: the others want `settled_singly`.

    seat: over (N, 1). driver_rpm: (s). torque_Nm: (s, n), as in `balance`.
    """
    whole = equilibrium_of(seat, mechanics, driver_rpm, torque_Nm, preload_factor)
    count = len(seat.length_mm)
    if seat.short is None or seat.long is None or not is_sprung(seat.circuit):
        setting = np.broadcast_to(seat.setting, (count, 1))
        return _laid(whole, setting, np.zeros((count, 1), dtype=bool)), np.ones(count, dtype=bool)
    probes, at_stop = _probed(whole)
    half = np.maximum(_WIDTH * np.abs(probes[:, 1:] - probes[:, :1]), _LEAST_WIDTH * np.abs(seat.long - seat.short))
    node = np.cos(np.pi * (np.arange(_NODES) + 0.5) / _NODES)
    setting = probes.mean(axis=1, keepdims=True) + node[:, None, None] * half
    fit = np.linalg.inv(np.vander(node, increasing=True))
    error, first = _by_states(whole, setting, fit)
    share = _roots(error)
    straight = np.abs(error[-1]) <= _STRAIGHT * np.abs(error[1])
    trusted = (straight & (np.abs(share) <= _BEYOND)).all(axis=1) & ~at_stop.any(axis=1)
    path, moving, n = seat.circuit.path_at(setting), seat.circuit.moving or 0, len(seat.circuit.pulleys)

    def fitted(parts: tuple[Floats, ...], *bent: int) -> tuple[Floats, ...]:
        own = {i % n for i in bent}
        return tuple(np.tensordot(fit, part, axes=1) if i in own else part for i, part in enumerate(parts))

    curves = replace(
        path,
        span=fitted(path.span, moving - 1, moving),
        direction=fitted(path.direction, moving - 1, moving),
        wrap=fitted(path.wrap, moving - 1, moving, moving + 1),
    )
    free = np.zeros((count, 1), dtype=bool)
    return Settled(_valued(first, share), whole.rise, whole.centrifugal, curves, free, moving, share), trusted


def settled_singly(
    seat: Seat, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: float = 1.0
) -> Settled:
    """The same by the balance of every state, however far the adjuster moves."""
    whole = equilibrium_of(seat, mechanics, driver_rpm, torque_Nm, preload_factor)
    return _laid(whole, *whole.settled())


def _laid(whole: Equilibrium, setting: Floats, at_stop: Bools) -> Settled:
    first, moving = whole.least(setting, whole.circuit.loop_at(setting), at_stop), whole.circuit.moving or 0
    return Settled(first, whole.rise, whole.centrifugal, whole.circuit.path_at(setting), at_stop, moving)


def _probed(whole: Equilibrium) -> tuple[Floats, Bools]:
    """The settings of the two states that pull the adjuster farthest apart, (N, 2), and whether they are at a stop.

    Which two is asked of the first layout.
    """
    error = whole.error(whole.seat.setting, whole.circuit.loop_at(whole.seat.setting))[0]
    two = [int(error.argmin()), int(error.argmax())]
    rise, torque, centrifugal = whole.rise[two], whole.torque[two], whole.centrifugal[two]
    return replace(whole, rise=rise, torque=torque, centrifugal=centrifugal).settled()


def _by_states(whole: Equilibrium, setting: Floats, fit: Floats) -> tuple[Floats, Floats]:
    """Coefficients over the nodes, of every state, of the balance's error and of the tension by the spring; (K, N, s)
    each, from unit states.
    """
    moving, n = whole.circuit.moving or 0, whole.rise.shape[-1]
    unit = _UNIT_N * np.eye(n + 3, n + 2, -1)
    rise, torque = unit[:, :n], np.zeros((n + 3, n))
    torque[:, moving] = unit[:, n]
    units = replace(whole, rise=rise, torque=torque, centrifugal=unit[:, n + 1])
    loads = np.concatenate((whole.rise, whole.torque[:, [moving]], whole.centrifugal[:, None]), axis=-1) / _UNIT_N
    states = np.insert(loads, 0, 1.0, axis=-1).T
    loop = whole.circuit.loop_at(setting)

    def of_states(values: Floats) -> Floats:
        own = np.tensordot(fit, values, axes=1)
        own[..., 1:] -= own[..., :1]
        return np.asarray(own @ states)

    return of_states(units.error(setting, loop)), of_states(units.by_spring(setting, loop))


def _roots(of: Floats) -> Floats:
    """Where polynomials are zero, near their middle, (K, ...) -> (...)."""
    at = -of[0] / of[1]
    for _ in range(_NEWTON_ROUNDS - 1):
        slope, value = np.full(at.shape, 0.0), np.full(at.shape, 0.0)
        for each in of[::-1]:
            slope = slope * at + value
            value = value * at + each
        at = at - value / slope
    return np.asarray(at)


def _valued(of: Floats, at: Floats) -> Floats:
    """Values of polynomials, (K, ...) -> (...)."""
    value = of[-1] * at
    for each in of[-2:0:-1]:
        value += each
        value *= at
    value += of[0]
    return np.asarray(value)
