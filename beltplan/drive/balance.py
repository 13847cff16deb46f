"""Where the adjuster settles and how tight the belt is: spring, lock or stretch, belt length and loads in balance."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from beltplan.drive.fit import is_sprung
from beltplan.drive.mechanics import Mechanics, entering, hub_load_N, rises_N, stretching_mm
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import Loop
from beltplan.geometry.pieces import Pieces, total
from beltplan.geometry.vectors import TURN, Bools, Floats, dot

_ROUNDS = 40
_CLOSED_MM = 1e-6
"""Path and belt closer than this are in balance."""
SCAN, COARSE_SCAN = 33, 9
"""Settings over the travel that are looked at for the first balance; fewer where a missed one is found elsewhere."""
_UNIT_N = 1000.0
"""Size of the unit states that a balance is taken apart by: it is linear in loads and in m v^2."""
_LEAST_LEVER = 1e-9
"""Change of path with the setting under which the arm counts as pointing along the pull, share of its lever."""
_SETTLED = 1e-9
"""Last step of the adjuster that counts, as a share of its travel: secant steps leave far less than the last one."""


@dataclass(frozen=True, eq=False)
class Tensions:
    """Tensions round the loop in steady running, for any leading axes.

    driver_rpm, centrifugal_N (m v^2): (...). torque_Nm: (..., n) taken by each shaft, the driver's negative.
    tractive_N: (..., n) by span, in the order of the route. setting: (...) of the adjuster (zero without one).
    loop: the geometry there. at_stop: (...) whether the adjuster has run against the end of its travel.
    """

    driver_rpm: Floats
    torque_Nm: Floats
    tractive_N: Floats
    centrifugal_N: Floats
    setting: Floats
    loop: Loop
    at_stop: Bools

    @property
    def total_N(self) -> Floats:
        """Whole tension of every span, (..., n): tractive and m v^2."""
        return np.asarray(self.tractive_N + self.centrifugal_N[..., None])

    def at(self, *index: int | slice) -> Tensions:
        """Some of the states, by the first of their leading axes."""
        own = {part.name: getattr(self, part.name)[index] for part in fields(self) if part.name != "loop"}
        return Tensions(loop=self.loop.picked(index), **own)

    @property
    def entering_N(self) -> Floats:
        """Tractive tension of the span that enters each pulley, (..., n)."""
        return entering(self.tractive_N)

    @property
    def hub_load_N(self) -> Floats:
        """Pull on every hub, (..., n, 2)."""
        return hub_load_N(self.loop, self.tractive_N)


@dataclass(frozen=True, eq=False)
class Seat:
    """The belt on its pulleys, for one layout or for many: what a balance is struck for.

    circuit: its centres may carry the leading axes of many places. pitch_radius_mm: (n). length_mm: of the belt at its
    measuring tension. setting: where that puts the adjuster. short, long: ends of the usable travel, None without an
    adjuster. All but the radii broadcast against the speeds and loads, whose axes come first: many layouts are (1, N).
    """

    circuit: Circuit
    pitch_radius_mm: Floats
    length_mm: Floats
    setting: Floats
    short: Floats | None
    long: Floats | None


def seat_of(route: Route) -> Seat:
    """The seat of the belt that is judged."""
    radius = np.array([pulley.pitch_radius_mm(route.layout.belt) for pulley in route.pulleys])
    travel, setting = route.travel, np.asarray(route.setting or 0.0)
    short, long = (None, None) if travel is None else (np.asarray(travel.short), np.asarray(travel.long))
    return Seat(route.circuit, radius, np.asarray(route.length_mm), setting, short, long)


def tensions_at(
    route: Route, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: Floats | float = 1.0
) -> Tensions:
    """Balance the drive of a route at speeds and loads; see `balance`."""
    return balance(seat_of(route), mechanics, driver_rpm, torque_Nm, preload_factor)


def balance(
    seat: Seat, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: Floats | float = 1.0
) -> Tensions:
    """Balance a drive, or many, at speeds and loads.

    driver_rpm: (...); torque_Nm: (..., n) taken by each shaft, the same in every layout. preload_factor: on the spring
    (for its friction band) or on the set tension of a locked drive; one, or of as many axes as the speeds.
    Source: sprung, virtual work with the belt's stretch; locked, the stretch-weighted mean of the total tensions
    stays as set (Khurmi and Gupta, Theory of Machines, ex. 11.13; Bevan, Theory of Machines, ch. 7).
    """
    driver_rpm = np.asarray(driver_rpm, dtype=float)
    drive = equilibrium_of(seat, mechanics, driver_rpm, torque_Nm, preload_factor)
    setting, at_stop = drive.settled()
    path = seat.circuit.path_at(setting)
    tractive = drive.least(setting, path, at_stop)[..., None] + drive.rise
    # Without an adjuster the pieces carry no axes of the speeds.
    loop = seat.circuit.loop_at(setting) if seat.short is None else path.whole
    return Tensions(driver_rpm, drive.torque, tractive, drive.centrifugal, setting, loop, at_stop)


def equilibrium_of(
    seat: Seat, mechanics: Mechanics, driver_rpm: Floats, torque_Nm: Floats, preload_factor: Floats | float = 1.0
) -> Equilibrium:
    """What `balance` strikes it between."""
    radius = seat.pitch_radius_mm
    centrifugal = mechanics.mass_kg_per_m * (driver_rpm / 60.0 * TURN * radius[0] / 1000.0) ** 2
    torque = np.array(torque_Nm, dtype=float)
    rise = rises_N(torque, radius)
    torque[..., 0] = -rise[..., -1] * radius[0] / 1000.0
    return Equilibrium(seat, mechanics, rise, torque, centrifugal, preload_factor)


@dataclass(frozen=True, eq=False)
class Equilibrium:
    """What a balance is struck between: rise (..., n) N over the span leaving the driver, torque (..., n) N m, m v^2
    (...) N. Its error and its tension by the spring are linear in all three.
    """

    seat: Seat
    mechanics: Mechanics
    rise: Floats
    torque: Floats
    centrifugal: Floats
    preload_factor: Floats | float

    @property
    def circuit(self) -> Circuit:
        return self.seat.circuit

    def settled(self, scan: int = SCAN) -> tuple[Floats, Bools]:
        """Setting of the adjuster, and whether it is at a stop."""
        short, long = self.seat.short, self.seat.long
        if short is None or long is None or not is_sprung(self.circuit):
            shape = np.broadcast_shapes(self.seat.setting.shape, self.centrifugal.shape)
            setting = np.broadcast_to(self.seat.setting, shape)
            return setting, np.zeros(setting.shape, dtype=bool)
        return self._balanced(short, long, scan)

    def _balanced(self, short: Floats, long: Floats, scan: int) -> tuple[Floats, Bools]:
        """The first place from the short end on where the belt holds the spring; the end where none does.

        Nearer the place where the arm points along the pull there may be another balance, but one that is not stable.
        """
        near, far, error, slope = self._bracket(short, long, scan)
        setting, stopped, smallest = far, near == far, _SETTLED * np.abs(long - short)
        slow = np.zeros(far.shape, dtype=bool)
        with np.errstate(divide="ignore", invalid="ignore"):
            for _ in range(_ROUNDS):
                new = setting - error / slope
                stuck = (np.abs(new - setting) <= smallest) & (np.abs(error) > _CLOSED_MM)
                inside = ((new - near) * (new - far) <= 0.0) & ~(slow | stuck)
                new = np.where(inside, new, 0.5 * (near + far))
                step = new - setting
                moved = np.abs(step) > smallest
                if not moved.any():
                    setting = new
                    break
                new_error = self.error(new, self.circuit.path_at(new))
                slope = np.where(moved, (new_error - error) / step, slope)
                slow = moved & (np.abs(new_error) > 0.5 * np.abs(error))
                setting, error = new, new_error
                near, far = np.where(error < 0.0, setting, near), np.where(error < 0.0, far, setting)
        return setting, np.asarray(stopped & (np.abs(error) > _CLOSED_MM))

    def _bracket(self, short: Floats, long: Floats, scan: int) -> tuple[Floats, Floats, Floats, Floats]:
        """Settings to either side of the balance (the same twice at a stop), the error at the second and its slope."""
        # The same settings serve every speed and load: the path is laid once for all, and its error is linear in them.
        at, (units, states) = np.linspace(short, long, scan), self.parts()
        shape = np.broadcast_shapes(short.shape, self.seat.length_mm.shape, states.shape[1:])
        at, spread = at.reshape(scan, *(1,) * (len(shape) - short.ndim), *short.shape), at.reshape(scan, 1, -1)
        # Fewer states than units are quicker computed each by itself.
        if states.size < len(states) ** 2:
            error = self.error(at, self.circuit.path_at(at))
        else:
            parts = by_parts(units.error(spread, self.circuit.path_at(spread)))
            states = states.reshape(len(states), -1)
            rows = _sign_change(parts, states)
            at, error = at[rows], (states.T @ parts[rows]).reshape(-1, *shape)
        held = error >= 0.0
        index = np.where(held.any(axis=0), held.argmax(axis=0), len(held) - 1)
        stopped = (index == 0) | ~held.any(axis=0)
        previous = np.where(stopped, index, index - 1)
        both = np.stack((previous, index))
        ends = np.take_along_axis(error, both, axis=0)
        near, far = np.take_along_axis(np.broadcast_to(at, error.shape), both, axis=0)
        slope = np.where(stopped, 1.0, (ends[1] - ends[0]) / np.where(stopped, 1.0, far - near))
        return near, far, ends[1], slope

    def parts(self) -> tuple[Equilibrium, Floats]:
        """The balance of nothing and of every unit load, (m, 1), and what every state is made of them, (m, ...)."""
        moving, n, factor = self.circuit.moving or 0, self.rise.shape[-1], self.preload_factor
        loads = [np.array(_UNIT_N), *np.moveaxis(self.rise, -1, 0), self.torque[..., moving], self.centrifugal]
        if np.ndim(factor):
            loads.append(np.asarray(factor))
        states = np.stack(np.broadcast_arrays(*loads))
        states /= _UNIT_N
        unit = _UNIT_N * np.eye(len(states), len(states) - 1, -1)[:, None]
        torque = np.zeros((len(unit), 1, n))
        torque[..., moving] = unit[..., n]
        factors = unit[..., n + 2] if np.ndim(factor) else factor
        units = replace(self, rise=unit[..., :n], torque=torque, centrifugal=unit[..., n + 1], preload_factor=factors)
        return units, states

    def error(self, setting: Floats, path: Pieces) -> Floats:
        """Path length less the stretched belt's, mm; path: at that setting."""
        mean = self.by_spring(setting, path) + self._mean_rise(path) + self.centrifugal
        belt = self.seat.length_mm * (1.0 + (mean - self.mechanics.measuring_N) / self.mechanics.stiffness_N)
        return np.asarray(path.length - belt)

    def least(self, setting: Floats, path: Pieces, at_stop: Bools) -> Floats:
        """Tractive tension of the span leaving the driver: by spring, by stretch at a stop, or as set and locked."""
        if self.seat.short is None or not is_sprung(self.circuit):
            return np.asarray(self.preload_factor * self._set_tension(path) - self.centrifugal - self._mean_rise(path))
        by_spring = self.by_spring(setting, path)
        if not at_stop.any():
            return by_spring
        stretched = self._stretched(path.length) - self._mean_rise(path) - self.centrifugal
        return np.where(at_stop, stretched, by_spring)

    def _set_tension(self, path: Pieces) -> Floats:
        adjuster = self.circuit.adjuster
        if adjuster is None:
            # Nothing holds the belt tight but its own stretch over its length at the measuring tension.
            return self._stretched(path.length)
        return np.asarray(self.mechanics.hand_set_N if adjuster.tension_N is None else adjuster.tension_N)

    def _stretched(self, path_mm: Floats) -> Floats:
        strain = path_mm / self.seat.length_mm - 1.0
        return np.asarray(self.mechanics.measuring_N + self.mechanics.stiffness_N * strain)

    def _mean_rise(self, path: Pieces) -> Floats:
        parts = [rise * part for rise, part in zip(np.moveaxis(self.rise, -1, 0), stretching_mm(path), strict=True)]
        return np.asarray(total(parts) / path.length)

    def by_spring(self, setting: Floats, path: Pieces) -> Floats:
        """Tension of the span leaving the driver from the balance of spring and spans on the adjuster.

        The spans beside an unloaded pulley are equal; a loaded one adds their difference, and on an arm the reaction
        of its shaft's torque.
        """
        moving, adjuster = self.circuit.moving, self.circuit.adjuster
        if moving is None or adjuster is None or self.seat.short is None or self.seat.long is None:
            return np.zeros(setting.shape)
        motion = adjuster.track.motion_at(setting)
        longer = np.where(self.seat.long > self.seat.short, 1.0, -1.0)
        into, out = dot(path.direction[moving - 1], motion), dot(path.direction[moving], motion)
        reaction = self.rise[..., moving] * out - self.rise[..., moving - 1] * into
        if adjuster.kind == "arm":
            reaction = reaction + 1000.0 * self.circuit.sense[moving] * self.torque[..., moving]
        take_up = np.maximum(longer * (into - out), _LEAST_LEVER * adjuster.lever_mm)
        return np.asarray(
            (self.preload_factor * adjuster.spring_force_at(setting, longer) + longer * reaction) / take_up
        )


def _sign_change(parts: Floats, states: Floats) -> slice:
    """Rows of errors by parts, (rows, m, N), between which that of every state, (m, s), comes to nothing for the first
    time: from one that is under it in all states, or the first, to one that is over it in all, or the last.
    """
    least, most = states.min(axis=1), states.max(axis=1)
    middle = np.tensordot(0.5 * (least + most), parts, axes=(0, 1))
    off = np.tensordot(0.5 * (most - least), np.abs(parts), axes=(0, 1)) + _CLOSED_MM
    over, under = (middle - off >= 0.0).all(axis=-1), ~(middle + off >= 0.0).any(axis=-1)
    last = int(over.argmax()) if over.any() else len(parts) - 1
    return slice(max(int(under.argmin()) - 1, 0), last + 1)


def by_parts(values: Floats) -> Floats:
    """What nothing gives and what each unit adds, from values of nothing and of every unit load, (..., m, N)."""
    own = np.array(values)
    own[..., 1:, :] -= own[..., :1, :]
    return own
