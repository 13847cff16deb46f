"""Drives with loads that the tests of this folder share. All invented."""

from dataclasses import replace
from typing import Any

import numpy as np
from scipy.optimize import brentq

from beltplan.drive.balance import Tensions, tensions_at
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.loads import Load, PowerLoad, PumpLoad, TorqueLoad
from beltplan.drive.mechanics import Mechanics, grip_utilisation, mechanics_of
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.pulleys import Adjuster, ArmSpring, Pulley, Slide, SlideSpring
from beltplan.drive.route import Route, route_of
from beltplan.geometry.vectors import Floats
from tests.drive.drives import arm, layout, pulley

SPRING = ArmSpring(torque_Nm=26.0, at_deg=285.0, rate_Nm_per_deg=0.35)
ENGINE = Engine(idle_rpm=750.0, cruise_rpm=2200.0, max_rpm=5500.0, cylinders=4)
SWING = arm((-150.0, 215.0), 85.0, (265.0, 300.0), at_rad=float(np.radians(285.0)), spring=SPRING)
LOADS: dict[str, Load] = {
    "pump": PowerLoad(1.5, 5000.0, "cube"),
    "generator": TorqueLoad(6.0),
    "steering": PumpLoad(60.0, 6.0, 0.85),
    "cooling": TorqueLoad(14.0),
}


def seven(adjuster: Adjuster = SWING, loads: dict[str, Load] | None = None, belt: str = "6PK", **more: Any) -> Layout:
    """Seven pulleys, a tensioner on the back just after the crankshaft, four loads."""
    pulleys = [
        pulley("crank", 0, 0, 170, role="crankshaft"),
        Pulley("tensioner", "tensioner", 72.0, adjuster=adjuster, belt_side="back"),
        pulley("pump", -190, 300, 130, role="water_pump"),
        pulley("guide", 0, 245, 76, role="idler", belt_side="back"),
        pulley("generator", 235, 310, 60, role="alternator"),
        pulley("steering", 310, 130, 140, role="steering_pump"),
        pulley("cooling", 220, -70, 120, role="air_conditioning"),
    ]
    chosen = LOADS if loads is None else loads
    loaded = [replace(p, load=chosen.get(p.name)) for p in pulleys]
    return layout(loaded, belt, **{"engine": ENGINE, **more})


def on_slide(**more: Any) -> Layout:
    """The same drive with the tensioner on a sprung or locked slide; `more` goes to the slide or the drive."""
    own = {key: more.pop(key) for key in ("spring", "tension_N", "at") if key in more}
    return seven(Slide((-190.0, 118.0), (-75.0, 138.0), **{"at": 0.45, **own}), **more)


SLIDE_SPRING = SlideSpring(force_N=420.0, at_mm=50.0, rate_N_per_mm=2.5)


def swung_generator(load: Load | None, **more: Any) -> Layout:
    """Three pulleys; the generator itself hangs on the sprung arm, on the ribs."""
    swing = arm(
        (-60.0, 330.0), 110.0, (135.0, 215.0), at_rad=float(np.radians(175.0)), spring=ArmSpring(75.0, 175.0, 0.2)
    )
    pulleys = [
        pulley("crank", 0, 0, 170, role="crankshaft"),
        Pulley("generator", "alternator", 70.0, adjuster=swing, load=load),
        pulley("pump", 240, 260, 120, role="water_pump", load=TorqueLoad(8.0)),
    ]
    return layout(pulleys, **{"engine": ENGINE, **more})


def two(d1: float, d2: float, distance: float, tension_N: float, load: Load | None = None) -> Layout:
    """Two pulleys, the first driving, the second locked on a slide at that distance; a belt pulled on its own line."""
    slide = Slide((0.9 * distance, 0.0), (1.1 * distance, 0.0), at=0.5, tension_N=tension_N)
    driven = Pulley("driven", "other", d2, adjuster=slide, load=load)
    # A classical belt counts its ratio on the line that is followed, as the textbooks do.
    return layout([pulley("driver", 0, 0, d1, role="crankshaft"), driven], "A")


def plain_belt(mass_kg_per_m: float) -> Mechanics:
    """A textbook's belt: a mass, and nothing else that counts between locked centres."""
    return Mechanics(mass_kg_per_m, 1e6, 0.0, 1e6, 0.0)


def slipping(route: Route, mechanics: Mechanics, friction: float, rpm: float, preload_factor: float = 1.0) -> Tensions:
    """The two-pulley drive with the load on its driven pulley at which the smaller wrap just slips."""

    def state(torque_Nm: float) -> Tensions:
        return tensions_at(route, mechanics, np.array(rpm), np.array([0.0, torque_Nm]), preload_factor)

    def over(torque_Nm: float) -> float:
        now = state(torque_Nm)
        utilisation = grip_utilisation(now.entering_N, now.tractive_N, np.asarray(friction), now.loop.wrap)
        return float(np.minimum(utilisation, 1e9).max()) - 1.0

    pull_N = 2.0 * float(state(0.0).tractive_N[0])
    return state(brentq(over, 0.0, pull_N * route.pulleys[1].diameter_mm / 2000.0, xtol=1e-10))


def power_W(tensions: Tensions) -> Floats:
    """Power that the driver gives."""
    return np.asarray(-tensions.torque_Nm[..., 0] * tensions.driver_rpm * 2.0 * np.pi / 60.0)


def route_and_mechanics(given: Layout) -> tuple[Route, Mechanics]:
    """The route of a layout and its belt's mechanics, which must both be there."""
    mechanics = mechanics_of(given.belt)
    assert mechanics is not None
    return route_of(given), mechanics


def operation(given: Layout, preload_factor: float = 1.0) -> Operation:
    """The operation of a layout, which must be judged."""
    result = operation_of(route_of(given), preload_factor)
    assert result is not None
    return result
