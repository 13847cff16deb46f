"""The pulleys in the order of belt travel, and the belt's path over the travel of the adjuster: where it exists, how
long it is, how fast it grows, and the setting that a length asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Pulley
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import Loop, close_loop, length_by_motion, overlap
from beltplan.geometry.vectors import Bools, Floats

TOUCHING_MM = 1e-9
"""Rims that share less than this only touch."""


@dataclass(frozen=True, eq=False)
class Circuit:
    """Pulleys in the order that the belt passes them, as arrays: what is needed to lay the loop for any setting.

    centre: (n, 2) mm, the adjusted pulley's at its nominal place, or (..., n, 2) for many places; radius, rim: (n) mm;
    sense: (n).
    moving: index of the adjusted pulley, or None.
    """

    pulleys: tuple[Pulley, ...]
    centre: Floats
    radius: Floats
    rim: Floats
    sense: Floats
    turning: int
    moving: int | None

    @property
    def adjuster(self) -> Adjuster | None:
        """What moves the adjusted pulley."""
        return None if self.moving is None else self.pulleys[self.moving].adjuster

    def centre_at(self, setting: Floats) -> Floats:
        """Centres for settings of the adjuster, (...) -> (..., n, 2) mm; broadcast with leading axes of the centres."""
        leading = np.broadcast_shapes(np.shape(setting), self.centre.shape[:-2])
        centre = np.broadcast_to(self.centre, (*leading, *self.centre.shape[-2:]))
        if self.adjuster is None:
            return centre
        centre = np.array(centre)
        centre[..., self.moving, :] = self.adjuster.centre_at(setting)
        return centre

    def loop_at(self, setting: Floats | float) -> Loop:
        """The loop for settings of the adjuster (any number without one), leading axes as the setting's."""
        return close_loop(self.centre_at(np.asarray(setting, dtype=float)), self.radius, self.sense)

    def sound_at(self, setting: Floats) -> Bools:
        """Whether there is a simple loop with every pulley on its side and no rims overlapping, (...)."""
        centre = self.centre_at(setting)
        depth, _ = overlap(centre, self.rim)
        loop = close_loop(centre, self.radius, self.sense)
        return np.asarray(is_sound(loop, float(self.turning)) & ~(depth > TOUCHING_MM).any(axis=-1))

    def slope_at(self, setting: Floats) -> Floats:
        """Change of path length for one unit of the setting, (...) mm per rad or per mm; zero without an adjuster."""
        setting = np.asarray(setting, dtype=float)
        if self.adjuster is None or self.moving is None:
            return np.zeros(setting.shape)
        return length_by_motion(self.loop_at(setting), self.moving, self.adjuster.motion_at(setting))


def circuit_of(layout: Layout, reverse: bool = False) -> Circuit:
    """Lay out the pulleys from the driver on, in the listed order or the other way round."""
    routed = layout.routed[::-1] if reverse else layout.routed
    first = routed.index(layout.driver)
    pulleys = routed[first:] + routed[:first]
    moving = next((i for i, pulley in enumerate(pulleys) if pulley.adjuster is not None), None)
    return Circuit(
        pulleys,
        np.array([place_of(pulley) for pulley in pulleys], dtype=float),
        np.array([pulley.line_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([pulley.rim_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([layout.sense_of(pulley) for pulley in pulleys], dtype=float),
        layout.loop_sense,
        moving,
    )


def place_of(pulley: Pulley) -> tuple[float, float]:
    """Centre of a pulley, mm; an adjusted one at its nominal place."""
    if pulley.adjuster is not None:
        x, y = pulley.adjuster.centre_at(np.asarray(pulley.adjuster.nominal))
        return float(x), float(y)
    if pulley.at_mm is None:
        raise ValueError(f"pulley {pulley.name} has no place")
    return pulley.at_mm


# The belt's path over the travel of the adjuster: where it exists, how long it is, how fast it grows.

SAMPLES = 121
REFINE_SAMPLES = 33
REFINE_ROUNDS = 8
SOLVE_ROUNDS = 60
JUST_BEYOND = 1e-6
"""How far past an end of the usable travel, as a share of it, to look for what ends it."""
End = Literal["stop", "shortest path", "longest path", "no path"]
"""What ends the usable travel: a stop, the path turning back at either end, or the belt having no path any more."""
END_WORDS: Mapping[End, str] = MappingProxyType(
    {
        "stop": "rests on its stop",
        "shortest path": "rests where the path is shortest",
        "longest path": "runs to where the path is longest and turns back",
        "no path": "runs to where the belt has no path any more",
    }
)
"""What an adjuster does there."""
SHORTEST_WINDOW_MM = 1e-9
"""A window narrower than this is a point: no division by its width."""


@dataclass(frozen=True, eq=False)
class Travel:
    """The usable part of the adjuster's travel: sound, and length going one way.

    short, long: settings of the shortest and the longest path; shortest_mm, longest_mm: the lengths there.
    turns_back: whether it ends where the length turns back. fails_at: settings just past an end where there is no path.
    contains_nominal: whether the design's own setting lies in it.
    """

    short: float
    long: float
    shortest_mm: float
    longest_mm: float
    turns_back: bool
    fails_at: tuple[float, ...]
    contains_nominal: bool

    @property
    def whole(self) -> bool:
        """Whether this is the whole travel of the adjuster."""
        return not (self.turns_back or self.fails_at)

    def position(self, setting: float) -> float:
        """0 at the short-path stop, 1 at the long-path stop."""
        span = self.long - self.short
        return (setting - self.short) / span if span else 0.0

    def ends_by(self, adjuster: Adjuster, setting: float) -> End:
        """What ends the usable travel at one of its ends."""
        near = 2.0 * JUST_BEYOND * abs(self.long - self.short)
        if any(abs(setting - stop) <= near for stop in adjuster.travel):
            return "stop"
        if any(abs(setting - failing) <= near for failing in self.fails_at):
            return "no path"
        return "shortest path" if abs(setting - self.short) <= near else "longest path"


def travel_of(circuit: Circuit) -> Travel | None:
    """The part of the travel that holds the nominal setting, where the path is sound and its length monotonic.

    None where no setting gives a sound path, or there is no adjuster. Where the nominal setting itself has none, the
    nearest sound part is taken. Ends inside the travel are found to about 1e-10 of it.
    """
    adjuster = circuit.adjuster
    if adjuster is None:
        return None
    setting = _samples(adjuster)
    part, direction = _parts(circuit, setting)
    if not part.any():
        return None
    home = int(np.argmin(np.where(part, np.abs(setting - adjuster.nominal), np.inf)))
    low, high = _run(part & (direction == direction[home]), home)
    first = setting[low] if low == 0 else _edge(circuit, setting[low], setting[low - 1], direction[home])
    last = (
        setting[high] if high == len(setting) - 1 else _edge(circuit, setting[high], setting[high + 1], direction[home])
    )
    at_nominal = bool(setting[home] == adjuster.nominal)
    return _ordered(circuit, (first, last), (low > 0, high < len(setting) - 1), at_nominal)


def _samples(adjuster: Adjuster) -> Floats:
    # The nominal setting is made one of the samples, so that its own part is found however short it is.
    # Not np.unique: it would load numpy.ma, a tenth of a whole run.
    even = np.linspace(min(adjuster.travel), max(adjuster.travel), SAMPLES)
    return np.array(sorted({*even.tolist(), adjuster.nominal}))


def _parts(circuit: Circuit, setting: Floats) -> tuple[Bools, Floats]:
    direction = np.sign(np.nan_to_num(circuit.slope_at(setting)))
    # A sample that falls just on the turning point belongs to the part after it.
    following = np.append(direction[1:], direction[-2])
    return circuit.sound_at(setting), np.where(direction == 0.0, following, direction)


def _run(member: Bools, home: int) -> tuple[int, int]:
    low = home
    while low > 0 and member[low - 1]:
        low -= 1
    high = home
    while high < len(member) - 1 and member[high + 1]:
        high += 1
    return low, high


def _edge(circuit: Circuit, inside: float, outside: float, direction: float) -> float:
    for _ in range(REFINE_ROUNDS):
        setting = np.linspace(inside, outside, REFINE_SAMPLES)
        part, sign = _parts(circuit, setting)
        last = _run(part & (sign == direction), 0)[1]
        inside, outside = setting[last], setting[min(last + 1, REFINE_SAMPLES - 1)]
    return float(inside)


def _ordered(circuit: Circuit, ends: tuple[float, float], inner: tuple[bool, bool], nominal: bool) -> Travel:
    lengths = circuit.loop_at(np.array(ends)).length
    short, long = (0, 1) if lengths[0] <= lengths[1] else (1, 0)
    beyond = [ends[i] + JUST_BEYOND * (ends[i] - ends[1 - i]) for i in (0, 1) if inner[i]]
    fails_at = tuple(float(setting) for setting in beyond if not circuit.sound_at(np.array(setting)))
    return Travel(
        float(ends[short]),
        float(ends[long]),
        float(lengths[short]),
        float(lengths[long]),
        len(fails_at) < len(beyond),
        fails_at,
        nominal,
    )


def setting_for(circuit: Circuit, travel: Travel, length_mm: Floats) -> Floats:
    """Settings at which the path has given lengths inside the travel's window, (k) mm -> (k).

    Bisection with Newton steps from the closed-form slope; lengths outside the window give the nearer end.
    """
    wanted = np.clip(np.asarray(length_mm, dtype=float), travel.shortest_mm, travel.longest_mm)
    low, high = np.full(wanted.shape, travel.short), np.full(wanted.shape, travel.long)
    width = max(travel.longest_mm - travel.shortest_mm, SHORTEST_WINDOW_MM)
    setting = low + (high - low) * (wanted - travel.shortest_mm) / width
    for _ in range(SOLVE_ROUNDS):
        short_of = circuit.loop_at(setting).length - wanted
        low, high = np.where(short_of < 0.0, setting, low), np.where(short_of < 0.0, high, setting)
        new = _newton_inside(circuit, setting, short_of, low, high)
        if np.all(np.abs(new - setting) <= 1e-13 * (1.0 + np.abs(setting))):
            break
        setting = new
    return np.asarray(setting)


def _newton_inside(circuit: Circuit, setting: Floats, error: Floats, low: Floats, high: Floats) -> Floats:
    return newton_inside(circuit.slope_at(setting), setting, error, low, high)


def newton_inside(slope: Floats, setting: Floats, error: Floats, low: Floats, high: Floats) -> Floats:
    """The next setting for a wanted length: a Newton step where it stays between `low` and `high`, else the middle."""
    step = setting - error / np.where(slope == 0.0, np.inf, slope)
    inside = (step - low) * (step - high) <= 0.0
    return np.where(inside, step, 0.5 * (low + high))
