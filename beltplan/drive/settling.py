"""Very many layouts, each balanced in very many states: loads move a sprung adjuster so little that all follows from a
few settings, by polynomials through what the balance itself gives there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from beltplan.drive.balance import COARSE_SCAN, Equilibrium, Seat, by_parts, equilibrium_of
from beltplan.drive.fit import is_sprung
from beltplan.drive.mechanics import Mechanics, grip_utilisation
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import TOUCHING_RAD, TURN, Bools, Floats, Ints, norm

NODES = (5, 9)
"""Settings that a polynomial goes through: few do for nearly all layouts, more for those that are bent the most."""
_BEYOND = 1.5
"""How far from the middle of its nodes, in half widths, a polynomial is trusted."""
_STRAIGHT = 1e-5
"""Last coefficient of the balance, as a share of its slope, up to which a polynomial is trusted."""
_REACH = 2.0
"""How far beyond that a polynomial is bounded: farther than what a straight line through it is off."""
_BLOCK, _ALIKE = 256, 0.03
"""Layouts that are bounded together, so many whose tensions are so much alike; and at once where each is by itself."""
_WIDTH, _LEAST_WIDTH = 0.6, 1e-5
"""Half the width of the nodes: a share of the way between two far states, but at least one of the travel."""


@dataclass(frozen=True, eq=False)
class Settled:
    """N layouts, each settled in s states. first_N: (s, N), tractive tension of the span leaving the driver; rise_N:
    (s, 1, n) over it; centrifugal_N: (s, 1). path: over (s, N), or over fewer axes where it is the same; where `share`
    is given, polynomials in it, (nodes, 1, N), for what lies beside the adjusted pulley. at_stop: (s, N) or (1, N).
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
        """Tractive tension of every span, n arrays (s, N)."""
        return tuple(self.first_N + rise for rise in np.moveaxis(self.rise_N, -1, 0))

    def span(self, index: int, states: slice | Ints) -> Floats:
        """Length of a span in some states, mm, (states, N) or fewer axes."""
        return self._over(self.path.span[index], self._beside(index), states)

    def grip_needed(self, index: int) -> Floats:
        """The friction at which a pulley just slips in its worst state, (N): its grip utilisation times its friction.

        At the same wrap that is the state in which the tensions differ most.
        """
        entering, leaving = self.tractive_N[index - 1], self.tractive_N[index]
        wrap = self._over(self.path.wrap[index], self._beside(index) or self._beside(index - 1), slice(None))
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = entering / leaving
            if wrap.ndim < 2 or len(wrap) == 1:
                needed = np.log(np.maximum(ratio.max(axis=0), 1.0 / ratio.min(axis=0))) / wrap.ravel()
            else:
                needed = (np.abs(np.log(ratio, out=ratio), out=ratio) / wrap).max(axis=0)
        slack = ~(np.isfinite(needed) & (entering.min(axis=0) > 0.0) & (leaving.min(axis=0) > 0.0))
        if slack.any():  # there is no ratio
            where = np.broadcast_to(wrap, entering.shape)[:, slack]
            use = grip_utilisation(entering[:, slack], leaving[:, slack], np.ones(()), where)
            needed[slack] = use.max(axis=0)
        return np.asarray(needed)

    def hub_load_N(self, index: int, states: slice) -> Floats:
        """Size of the pull on a hub in some states, (states, N)."""
        pull = [
            self.tractive_N[i][states, :, None] * self._over(self.path.direction[i], self._beside(i), states, 1)
            for i in (index, index - 1)
        ]
        return np.asarray(norm(pull[0] - pull[1]))

    def _beside(self, index: int) -> bool:
        return (self.moving - index) % len(self.path.span) in (0, 1)

    def _over(self, values: Floats, varies: bool, states: slice | Ints, spare: int = 0) -> Floats:
        if varies and self.share is not None:
            share = self.share[states]
            return _valued(values, share[..., None] if spare else share)
        return values if values.ndim < 2 + spare or len(values) == 1 else values[states]


@dataclass(frozen=True, eq=False)
class Response:
    """How N layouts answer to loads. states: (m, s), what each state is made of. error, first: polynomials over the
    nodes, (K, m, N), of the balance's error and of the first tension, by what a state is made of; no error where
    nothing moves. path: as in `Settled`.

    trusted: layouts that this can be relied on for, (N); the others want `settled_singly`. rows: these from the
    slackest to the tightest; starts: where among these each block of neighbours begins, (b). first_N: the least and the
    most first tension of every state in each block, (2, s, b).
    """

    whole: Equilibrium
    states: Floats
    error: Floats | None
    first: Floats
    path: Pieces
    trusted: Bools
    rows: Ints
    starts: Ints
    first_N: Floats

    @staticmethod
    def of(
        whole: Equilibrium, states: Floats, error: Floats | None, first: Floats, path: Pieces, free: Bools
    ) -> Response:
        """Of the layouts that are free to move."""
        return Response(whole, states, error, first, path, *_trusted(error, first, states, free))

    def at_share(self, share: float, wanted: Bools) -> Response:
        """The same of those wanted of the layouts to be relied on, with that share of the spring's force or of what is
        set: it stands in what nothing else gives alone.
        """
        first, error = self.first.copy(), None if self.error is None else self.error.copy()
        first[:, 0] *= share
        if error is not None:
            given = self.whole.seat.length_mm / self.whole.mechanics.stiffness_N
            error[:, 0] -= given * (first[:, 0] - self.first[:, 0])
        return Response.of(self.whole, self.states, error, first, self.path, self.trusted & wanted)

    def settled(self, among: Ints | slice) -> Settled:
        """All layouts in some of the states."""
        whole, states = self.whole, self.states[:, among]
        first, share = states.T @ self.first, None
        if self.error is not None:
            share = _roots(states.T @ self.error)
        free, moving = np.zeros((1, first.shape[-1]), dtype=bool), whole.circuit.moving or 0
        tension = first[0] if share is None else _valued(first, share)
        return Settled(tension, whole.rise[among], whole.centrifugal[among], self.path, free, moving, share)

    def tractive_N(self, index: int) -> Floats:
        """The least and the most tractive tension of a span in every state of each block, (2, s, b)."""
        return np.asarray(self.first_N + self.whole.rise[..., index])

    def span(self, index: int) -> tuple[Floats, Floats]:
        """The least and the most length of a span in any state, mm, of each layout to be relied on or of all."""
        return self._between(self.path.span[index], index, 0)

    def wrap(self, index: int) -> tuple[Floats, Floats]:
        """The same of a pulley's wrap, rad; more than nothing."""
        low, high = self._between(self.path.wrap[index], index, -1)
        return np.maximum(low, TOUCHING_RAD), high

    def hub_load_N(self, index: int) -> tuple[Floats, Floats]:
        """The least and the most pull on a hub in every state of each block, (s, b); the least 0 beside a slack span.

        Source: law of cosines, the spans turned by the wrap from each other, as d^2 + 4 P Q sin^2(wrap / 2).
        """
        beside = np.stack((self.tractive_N(index - 1), self.tractive_N(index)))
        low, high = self.wrap(index)
        ends = np.sin(0.5 * np.stack((low, np.minimum(high, TURN)))) ** 2
        sharpest = np.where((low < np.pi) & (high > np.pi), 1.0, ends.max(axis=0))
        apart = self.whole.rise[..., index] - self.whole.rise[..., index - 1]
        least = np.prod(np.maximum(beside[:, 0], 0.0), axis=0) * -self.most(-ends.min(axis=0))
        most = np.prod(np.abs(beside).max(axis=1), axis=0) * self.most(sharpest)
        held = (beside[:, 0] > 0.0).all(axis=0)
        return held * np.sqrt(apart**2 + 4.0 * least), np.sqrt(apart**2 + 4.0 * most)

    def most(self, values: Floats) -> Floats:
        """The most of each block's layouts, (b), of a value of each or of all."""
        every = np.broadcast_to(values.reshape(-1), (len(self.rows),))
        return np.maximum.reduceat(every, self.starts)

    def _between(self, values: Floats, index: int, first: int) -> tuple[Floats, Floats]:
        n, bend = len(self.path.span), np.zeros(())
        if self.error is not None and ((self.whole.circuit.moving or 0) - index) % n in {first % n, 0, 1}:
            bend = np.tensordot(_REACH ** np.arange(1, len(values)), np.abs(values[1:]), axes=1)
            values = values[0]
        low, high = ((each.ravel()[self.rows] if each.size > 1 else each) for each in (values - bend, values + bend))
        return low, high


def response_of(
    seat: Seat,
    mechanics: Mechanics,
    driver_rpm: Floats,
    torque_Nm: Floats,
    preload_factor: float = 1.0,
    nodes: int = NODES[0],
) -> Response:
    """Find out how layouts answer to loads.

    seat: over (1, N). driver_rpm: (s, 1). torque_Nm: (s, 1, n), as in `balance`; numpy then runs along the layouts.
    """
    whole = equilibrium_of(seat, mechanics, driver_rpm, torque_Nm, preload_factor)
    units, states = whole.parts()
    count, free, states = seat.length_mm.size, np.zeros((), dtype=bool), states[..., 0]
    if seat.short is None or seat.long is None or not is_sprung(seat.circuit):
        path = seat.circuit.path_at(np.broadcast_to(seat.setting, (1, count)))
        first = by_parts(units.least(seat.setting, path, free))[None]
        return Response.of(whole, states, None, first, path, np.ones(count, dtype=bool))
    probes, at_stop = _probed(whole, seat.short[:, 0], seat.long[:, 0])
    half = np.maximum(_WIDTH * np.abs(probes[1] - probes[0]), _LEAST_WIDTH * np.abs(seat.long - seat.short))
    node = np.cos(np.pi * (np.arange(nodes) + 0.5) / nodes)
    setting = probes.mean(axis=0) + node[:, None, None] * half
    fit, path = np.linalg.inv(np.vander(node, increasing=True)), seat.circuit.path_at(setting)
    error, first = (
        by_parts(np.tensordot(fit, each, axes=1))
        for each in (units.error(setting, path), units.least(setting, path, free))
    )
    moving, n = seat.circuit.moving or 0, len(seat.circuit.pulleys)

    def fitted(parts: tuple[Floats, ...], *bent: int) -> tuple[Floats, ...]:
        own = {i % n for i in bent}
        return tuple(np.tensordot(fit, part, axes=1) if i in own else part for i, part in enumerate(parts))

    curves = replace(
        path,
        span=fitted(path.span, moving - 1, moving),
        direction=fitted(path.direction, moving - 1, moving),
        wrap=fitted(path.wrap, moving - 1, moving, moving + 1),
    )
    return Response.of(whole, states, error, first, curves, np.asarray(~at_stop.any(axis=0)))


def settled_singly(
    seat: Seat, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: float = 1.0
) -> Settled:
    """The same by the balance of every state, however far the adjuster moves."""
    whole = equilibrium_of(seat, mechanics, driver_rpm, torque_Nm, preload_factor)
    setting, at_stop = whole.settled()
    path = whole.circuit.path_at(setting)
    first, moving = whole.least(setting, path, at_stop), whole.circuit.moving or 0
    return Settled(first, whole.rise, whole.centrifugal, path, at_stop, moving)


def _probed(whole: Equilibrium, short: Floats, long: Floats) -> tuple[Floats, Bools]:
    """The settings of the two states that pull the adjuster farthest apart, (2, N), and whether they are at a stop.

    Which two is asked of the first layout, at the setting of its design; short, long: of that one. A balance that the
    coarse scan misses counts as a stop, and is left to `settled_singly`.
    """
    seat, setting = whole.seat, whole.seat.setting[:, 0]
    circuit = seat.circuit.picked(np.arange(seat.length_mm.size)[None] == 0)
    first = replace(seat, circuit=circuit, length_mm=seat.length_mm[:, 0], short=short, long=long)
    error = replace(whole, seat=first).error(setting, circuit.path_at(setting))
    two = [int(error.argmin()), int(error.argmax())]
    rise, torque, centrifugal = whole.rise[two], whole.torque[two], whole.centrifugal[two]
    return replace(whole, rise=rise, torque=torque, centrifugal=centrifugal).settled(COARSE_SCAN)


def _trusted(error: Floats | None, first: Floats, states: Floats, free: Bools) -> tuple[Bools, Ints, Ints, Floats]:
    """Which layouts can be relied on, (N), of those that are free; these from the slackest to the tightest; where each
    block of them begins, and the least and the most first tension of every state in it, (2, s, b).
    """
    if error is None:  # as where all settles at nothing
        first, error = np.pad(first, ((0, 2), (0, 0), (0, 0))), np.zeros((3, *first.shape[1:]))
        error[1, 0] = 1.0
    trusted, rows, tension = free.copy(), np.flatnonzero(free), _middle(states) @ first[0]
    rows = rows[np.argsort(tension[rows])]
    sure, first_N = _bounded(error[..., rows], first[..., rows], states, starts := _starts(tension[rows]))
    trusted[rows] = np.repeat(sure, np.diff(starts, append=len(rows)))
    doubted = rows[~trusted[rows]]
    for start in range(0, len(doubted), _BLOCK):
        part = doubted[start : start + _BLOCK]
        trusted[part], _ = _bounded(error[..., part], first[..., part], states, np.arange(len(part)))
    if len(doubted):
        rows = rows[trusted[rows]]
        _, first_N = _bounded(error[..., rows], first[..., rows], states, starts := _starts(tension[rows]))
    return trusted, rows, starts, first_N


def _middle(states: Floats) -> Floats:
    return np.asarray(0.5 * (states.min(axis=1) + states.max(axis=1)))


def _starts(tension_N: Floats) -> Ints:
    """Where each block of layouts of a like tension begins, from the slackest on: wide ones would leave far more states
    open in all.
    """
    step = np.log(np.maximum(tension_N, 1.0)) // np.log1p(_ALIKE)
    return np.union1d(np.arange(0, len(step), _BLOCK), np.flatnonzero(np.diff(step)) + 1)


@dataclass(frozen=True, eq=False)
class _Within:
    """Numbers that lie within `off` of `middle`: interval arithmetic."""

    middle: Floats
    off: Floats

    @staticmethod
    def of_blocks(values: Floats, starts: Ints) -> _Within:
        """What values, (..., N), come to in each block of layouts, (..., b)."""
        least, most = (of.reduceat(values, starts, axis=-1) for of in (np.minimum, np.maximum))
        return _Within(0.5 * (least + most), 0.5 * (most - least))

    def at(self, states: Floats) -> _Within:
        """Their sum, each times what a state has of it, (m, b) -> (s, b)."""
        return _Within(states.T @ self.middle, np.abs(states).T @ self.off)

    def __add__(self, other: _Within) -> _Within:
        return _Within(self.middle + other.middle, self.off + other.off)

    def __mul__(self, other: _Within) -> _Within:
        off = np.abs(self.middle) * other.off + (np.abs(other.middle) + other.off) * self.off
        return _Within(self.middle * other.middle, off)

    def __truediv__(self, other: _Within) -> _Within:
        """By numbers above nothing."""
        middle = self.middle / other.middle
        return _Within(middle, (self.off + np.abs(middle) * other.off) / (other.middle - other.off))


def _bounded(error: Floats, first: Floats, states: Floats, starts: Ints) -> tuple[Bools, Floats]:
    """Which blocks of layouts can be relied on whole, (b), and the least and the most first tension of every state in
    each, (2, s, b); exact in a block of one.

    A straight line through the first two coefficients is struck at the middle of all states: only what a state has
    beyond that does more in one layout than in the next. To it come the sizes of the others as far as `_REACH`.
    """
    size, middle = np.abs(states), _middle(states)
    slope, rise = middle @ error[1], middle @ first[1]
    share = -(middle @ error[0]) / slope
    steep, nearer, there = error[1] / slope, (error[0] + share * error[1]) / slope, first[0] + share * first[1]

    def beyond(values: Floats) -> _Within:
        return _Within.of_blocks(values, starts).at(states - middle[:, None])

    def largest(values: Floats) -> Floats:
        return np.asarray(size.T @ np.maximum.reduceat(np.abs(values), starts, axis=-1))

    def bent(values: Floats) -> Floats:
        power = _REACH ** np.arange(2, 2 + len(values))[:, None, None]
        return np.asarray((largest(values) * power).sum(axis=0))

    slopes = beyond(steep) + _Within(np.ones(()), np.zeros(()))
    back, gentlest = beyond(nearer) / slopes, slopes.middle - slopes.off
    at = _Within.of_blocks(-share, starts) + back
    last = np.maximum.reduceat(size.max(axis=1) @ np.abs(error[-1] / slope), starts)
    sure = (last <= _STRAIGHT * gentlest.min(axis=0)) & ((np.abs(at.middle) + at.off).max(axis=0) <= _BEYOND)
    tension = _Within.of_blocks(middle @ there, starts) + beyond(there - rise * nearer)
    tension += back * beyond(rise * steep - first[1])
    off = bent(error[2:] / slope) / gentlest
    bends = tension.off + largest(first[1]) * off + bent(first[2:])
    off = np.where((off >= 0.0) & (off < _REACH - _BEYOND), bends, np.inf)
    return sure, np.stack((tension.middle - off, tension.middle + off))


def _roots(of: Floats) -> Floats:
    """Where polynomials are zero, near their middle, (K, ...) -> (...): by Newton, longer for those that are bent."""
    at = -of[0] / of[1]
    for _ in range(len(of) // 2 - 1):
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
