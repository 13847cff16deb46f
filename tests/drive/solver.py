"""An answer of our own to the whole drive, for comparison: all span tensions and the adjuster by scipy's root.

Written from the formulas and nothing of the package: tangents by their angles, moments by contact points and levers.
Circles are signed: a belt that turns a pulley with sense s has the centre on the side s of its left normal, so that
its contact lies at c - s r n. A tangent from i to j with direction angle a: (c_j - c_i) . n(a) = s_j r_j - s_i r_i.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import root

from beltplan.geometry.vectors import Floats

Place = Callable[[float], Floats]
Balance = Callable[["Drive", "Lay", Floats, float], float]


@dataclass(frozen=True)
class Drive:
    """line, pitch: radii in mm at which length and torque count; sense +1 counter-clockwise. moved: index, or None.

    place: centre of the moved pulley for a setting. torque: N mm by pulley, the driver's not used.
    length: of the belt under `measuring` N; stiffness in N; mv2 in N.
    """

    centre: Floats
    line: Floats
    pitch: Floats
    sense: Floats
    moved: int
    place: Place
    torque: Floats
    length: float
    measuring: float
    stiffness: float
    mv2: float


@dataclass(frozen=True)
class Lay:
    """Centres, direction angles, spans and wraps of a loop."""

    centre: Floats
    angle: Floats
    span: Floats
    wrap: Floats

    def unit(self, i: int) -> Floats:
        """Direction of span i."""
        return np.array([np.cos(self.angle[i]), np.sin(self.angle[i])])


def lay(drive: Drive, setting: float) -> Lay:
    """The loop, with the moved pulley at a setting."""
    n, centre = len(drive.line), drive.centre.copy()
    centre[drive.moved] = drive.place(setting)
    angle, span = np.zeros(n), np.zeros(n)
    for i in range(n):
        j = (i + 1) % n
        apart = centre[j] - centre[i]
        offset = drive.sense[j] * drive.line[j] - drive.sense[i] * drive.line[i]
        tilt = np.arcsin(offset / np.hypot(*apart))
        angle[i] = np.arctan2(apart[1], apart[0]) - tilt
        span[i] = np.hypot(*apart) * np.cos(tilt)
    wrap = (drive.sense * (angle - np.roll(angle, 1))) % (2.0 * np.pi)
    return Lay(centre, angle, span, wrap)


def mean_total_N(drive: Drive, laid: Lay, tractive: Floats) -> float:
    """Total tension, weighed by the spans with half of both arcs."""
    arc = laid.wrap * drive.line
    weight = laid.span + 0.5 * (arc + np.roll(arc, -1))
    return float(np.average(tractive + drive.mv2, weights=weight))


def stretch(drive: Drive, laid: Lay, tractive: Floats) -> float:
    """Path less the stretched belt, as a strain."""
    path = float(laid.span.sum() + (laid.wrap * drive.line).sum())
    strain = (mean_total_N(drive, laid, tractive) - drive.measuring) / drive.stiffness
    return path / drive.length - 1.0 - strain


def shaft_balance(drive: Drive, tractive: Floats) -> Floats:
    """Moment about every shaft but the driver's: P_leaving r - P_entering r - M, N mm."""
    return np.asarray(((tractive - np.roll(tractive, 1)) * drive.pitch - drive.torque)[1:])


def pulls(drive: Drive, laid: Lay, tractive: Floats) -> tuple[tuple[Floats, Floats], ...]:
    """Contact point at the cord, and force, of the arriving and of the leaving span on the moved pulley."""
    i, centre = drive.moved, laid.centre[drive.moved]
    ends = []
    for span, sign in (((i - 1) % len(drive.line), -1.0), (i, 1.0)):
        unit = laid.unit(span)
        point = centre - drive.sense[i] * drive.pitch[i] * np.array([-unit[1], unit[0]])
        ends.append((point, sign * tractive[span] * unit))
    return tuple(ends)


def arm_balance(pivot: Floats, torque_Nmm: Callable[[float], float]) -> Balance:
    """Moment about the pivot of an arm: contact forces times levers, and the spring (counter-clockwise positive)."""

    def balance(drive: Drive, laid: Lay, tractive: Floats, setting: float) -> float:
        levers = [(point - pivot, force) for point, force in pulls(drive, laid, tractive)]
        return sum(float(a[0] * f[1] - a[1] * f[0]) for a, f in levers) + torque_Nmm(setting)

    return balance


def slide_balance(along: Floats, force_N: Callable[[float], float]) -> Balance:
    """Force along a slide: the spans', and the spring's."""

    def balance(drive: Drive, laid: Lay, tractive: Floats, setting: float) -> float:
        return sum(float(force @ along) for _, force in pulls(drive, laid, tractive)) + force_N(setting)

    return balance


def solve_sprung(drive: Drive, balance: Balance, tension: float, setting: float) -> tuple[Floats, float]:
    """Tractive tensions by span, and the setting, of a sprung drive; from a first guess of both."""
    n = len(drive.line)

    def equations(x: Floats) -> Floats:
        laid = lay(drive, x[n])
        rest = [balance(drive, laid, x[:n], x[n]) / 1e4, 1e3 * stretch(drive, laid, x[:n])]
        return np.append(shaft_balance(drive, x[:n]) / 1e4, rest)

    found = root(equations, np.append(np.full(n, tension), setting), tol=1e-14)
    assert np.abs(found.fun).max() < 1e-9, found
    return found.x[:n], float(found.x[n])


def solve_locked(drive: Drive, set_N: float, setting: float) -> Floats:
    """Tractive tensions by span of a drive that is locked at a setting: the mean total stays as set."""
    laid = lay(drive, setting)

    def equations(x: Floats) -> Floats:
        return np.append(shaft_balance(drive, x) / 1e4, (mean_total_N(drive, laid, x) - set_N) / 1e2)

    found = root(equations, np.full(len(drive.line), set_N), tol=1e-14)
    assert np.abs(found.fun).max() < 1e-9, found
    return np.asarray(found.x)
