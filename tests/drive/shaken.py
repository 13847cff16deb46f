"""A drive marched through time, with all that is not linear in it: for the tests of its answer to the engine.

Every pulley turns by Newton's law, the arm swings as far as it will, each span's belt is as long as the path between
two marks on its pulleys, and a rotor behind a one-way ring is carried by as much as the ring is faster. Nothing here is
taken from the package but the drive's own numbers.
"""

from dataclasses import dataclass, field
from math import atan2, cos, hypot, remainder, sin, sqrt, tanh

import numpy as np
from scipy.integrate import solve_ivp

from beltplan.drive.balance import Tensions
from beltplan.drive.forced import Answer
from beltplan.drive.modes import Chain, chain_of
from beltplan.drive.operation import Operation
from beltplan.geometry.vectors import Complexes, Floats

EA_N, ARM_KGM2 = 170e3, 0.002


def line_radius_mm(run: Operation) -> Floats:
    """Turning on the line that the path follows, so that belt is neither won nor lost."""
    return np.array([pulley.line_radius_mm(run.route.layout.belt) for pulley in run.route.pulleys])


def chain(run: Operation, state: Tensions, inertia_kgm2: Floats) -> Chain:
    """The same drive as the package sees it."""
    return chain_of(run.route.circuit, state, line_radius_mm(run), inertia_kgm2, ARM_KGM2, EA_N)


def locked(given: Chain) -> Chain:
    """The same with its adjuster standing still."""
    count = given.stretch.shape[-2]
    return Chain(given.mass[:count], given.stretch[..., :count], given.span_N_per_m, None)


@dataclass
class March:
    """The drive round one steady state of running, its pulleys' turning with the belt, then the arm, then their speeds,
    then that of a rotor. loss: of the belt at the firing, as a dashpot beside its stretch.
    """

    run: Operation
    state: Tensions
    inertia_kgm2: Floats
    rad_per_s: float
    crank_rad: tuple[float, ...]
    loss: float
    friction_Nm: float = 0.0
    rotor: int | None = None
    rotor_kgm2: float = 0.0
    rotor_Nm: float = 0.0
    steepness: float = field(default=1e-3)

    def __post_init__(self) -> None:
        loop, circuit = self.state.loop, self.run.route.circuit
        assert circuit.moving is not None
        self.count, self.moving = len(loop.span), circuit.moving
        self.next = [*range(1, self.count), 0]
        self.before = [self.count - 1, *range(self.count - 1)]
        self.radius = 1e-3 * line_radius_mm(self.run)
        self.signed = np.asarray(circuit.sense) * self.radius
        self.centre = 1e-3 * loop.centre
        adjuster = circuit.adjuster
        assert adjuster is not None and adjuster.kind == "arm" and adjuster.spring is not None
        self.pivot, self.reach = [1e-3 * each for each in adjuster.pivot_mm], 1e-3 * adjuster.length_mm
        self.at = float(self.state.setting)
        self.rate = float(np.degrees(adjuster.spring.rate_Nm_per_deg))
        self.stretch_N_per_m = EA_N / (1e-3 * loop.span)
        self.dashpot = self.stretch_N_per_m * self.loss / self.rad_per_s
        self.beside = [self.moving - 1, self.moving]
        self.heading = [0.0, 0.0]
        self.heading = [turned for _, turned in self.laid(self.at)]
        self.rest = self.paths(self.at)
        self.pulled = self.state.tractive_N[self.beside]
        self.spring_Nm = float(self.pulled @ self.slopes(self.at))
        self.drag = 300.0 * max(self.rotor_kgm2, 1e-4) * self.rad_per_s

    def laid(self, angle: float) -> list[tuple[float, float]]:
        """Length of the spans before and after the arm's pulley, m, and how far they have turned."""
        own = (self.pivot[0] + self.reach * cos(angle), self.pivot[1] + self.reach * sin(angle))
        found = []
        for i, heading in zip(self.beside, self.heading, strict=True):
            start = own if i == self.moving else self.centre[i]
            end = own if i != self.moving else self.centre[self.next[i]]
            x, y, signed = end[0] - start[0], end[1] - start[1], self.signed[i] - self.signed[self.next[i]]
            span = sqrt(x * x + y * y - signed * signed)
            found.append((span, remainder(atan2(y, x) + atan2(signed, span) - heading, 2.0 * np.pi)))
        assert hypot(*own) < 10.0
        return found

    def paths(self, angle: float) -> Floats:
        """Belt of both from a mark on each pulley to one on the next, less a constant, m."""
        signed = [self.signed[i] - self.signed[self.next[i]] for i in self.beside]
        return np.array([span + s * turned for s, (span, turned) in zip(signed, self.laid(angle), strict=True)])

    def slopes(self, angle: float, step: float = 1e-5) -> Floats:
        return (self.paths(angle + step) - self.paths(angle - step)) / (2.0 * step)

    def spans_N(self, t: float, state: Floats) -> Floats:
        """Tension of every span over its mean."""
        n, turned, turning = self.count, np.empty(self.count), np.empty(self.count)
        turned[1:], turning[1:] = state[: n - 1], state[n : 2 * n - 1]
        turns = [(h * self.rad_per_s, size) for h, size in enumerate(self.crank_rad, 1)]
        turned[0] = sum(size * cos(w * t) for w, size in turns)
        turning[0] = sum(-w * size * sin(w * t) for w, size in turns)
        belt, speed = self.radius * turned, self.radius * turning
        stretch, rate = belt[self.next] - belt, speed[self.next] - speed
        arm = self.at + state[n - 1]
        stretch[self.beside] += self.paths(arm) - self.rest
        rate[self.beside] += self.slopes(arm) * state[2 * n - 1]
        return self.stretch_N_per_m * stretch + self.dashpot * rate

    def __call__(self, t: float, state: Floats) -> Floats:
        n, spans = self.count, self.spans_N(t, state)
        torque, change = self.radius * (spans - spans[self.before]), np.empty_like(state)
        arm, arm_speed = state[n - 1], state[2 * n - 1]
        pull = self.spring_Nm - self.rate * arm - (self.pulled + spans[self.beside]) @ self.slopes(self.at + arm)
        change[:n] = state[n : 2 * n]
        change[n : 2 * n - 1] = torque[1:] / self.inertia_kgm2[1:]
        change[2 * n - 1] = (pull - self.friction_Nm * tanh(arm_speed / self.steepness)) / ARM_KGM2
        if self.rotor is not None:
            own, ring = self.rotor, n + self.rotor - 1
            passed = self.drag * max(state[ring] - state[-1], 0.0)
            change[ring] = (torque[own] - passed + self.rotor_Nm) / (self.inertia_kgm2[own] - self.rotor_kgm2)
            change[-1] = (passed - self.rotor_Nm) / self.rotor_kgm2
        return change

    def steady(self, near: Answer, firings: int = 12, instants: int = 32) -> tuple[Complexes, Complexes]:
        """Complex amplitudes of the first harmonics of every movement, and of every span, once one firing is like the
        one before. near: from where to start.
        """
        period, turns = 2.0 * np.pi / self.rad_per_s, 1j * self.rad_per_s * np.arange(1, len(near.moved) + 1)
        start = np.concatenate(((near.moved[:, 1:]).sum(axis=0), (turns[:, None] * near.moved[:, 1:]).sum(axis=0))).real
        if self.rotor is not None:
            start = np.append(start, start[self.count + self.rotor - 1])
        times = (firings - 2) * period + period * np.arange(2 * instants) / instants
        found = solve_ivp(self, (0.0, times[-1]), start, "LSODA", times, rtol=1e-6, atol=1e-9)
        assert found.success
        spans = np.array([self.spans_N(t, state) for t, state in zip(found.t, found.y.T, strict=True)])
        moved = found.y[: self.count].T
        before, last = ([_harmonics(each[part]) for each in (moved, spans)] for part in np.s_[:instants, instants:])
        np.testing.assert_allclose(before[1], last[1], atol=0.01 * np.abs(last[1]).max())
        return last[0], last[1]


def _harmonics(values: Floats) -> Complexes:
    return np.fft.rfft(values, axis=0)[1:4] * 2.0 / len(values)
