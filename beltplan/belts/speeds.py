"""How fast and which way everything turns."""

from __future__ import annotations

import numpy as np

from beltplan.belts.belt import Belt
from beltplan.belts.pulleys import Pulley, Turns
from beltplan.belts.route import Route
from beltplan.geometry.vectors import TURN, Floats


def ratios(route: Route) -> Floats:
    """Speed of each pulley over the driver's, (n), in the direction of travel."""
    return ratios_of(route.layout.belt, route.pulleys)


def ratios_of(belt: Belt, pulleys: tuple[Pulley, ...]) -> Floats:
    """Speed of each pulley over the first one's, (n).

    Source: pitch radii without creep, see `Pulley.pitch_radius_mm`.
    """
    pitch = np.array([pulley.pitch_radius_mm(belt) for pulley in pulleys])
    return np.asarray(pitch[0] / pitch)


def turning_sense(route: Route, pulley: Pulley) -> Turns:
    """The way a pulley turns, seen from the front."""
    return "counterclockwise" if route.layout.sense_of(pulley) > 0 else "clockwise"


def engine_speeds_rpm(route: Route) -> dict[str, float | None]:
    """Speeds of the driver by name: idle, cruise, max; None where the layout does not say."""
    engine = route.layout.engine
    return {"idle": engine.idle_rpm, "cruise": engine.cruise_rpm, "max": engine.max_rpm}


def belt_speed_m_per_s(route: Route, driver_rpm: float) -> float:
    """Speed of the belt at a speed of the driver."""
    radius_mm = route.pulleys[0].pitch_radius_mm(route.layout.belt)
    return driver_rpm / 60.0 * TURN * radius_mm / 1000.0
