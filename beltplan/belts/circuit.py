"""The pulleys in the order that the belt passes them, and the loop for any setting of the adjuster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.adjusters import Adjuster
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import Loop, close_loop, overlap
from beltplan.geometry.sensitivity import length_by_motion
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
