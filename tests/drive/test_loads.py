"""Torque that a shaft takes, against power balances worked by hand: power in x efficiency = power out."""

from __future__ import annotations

import numpy as np

from beltplan.drive.loads import (
    AlternatorLoad,
    Growth,
    Load,
    PowerLoad,
    PumpLoad,
    TableLoad,
    TorqueLoad,
    default_output,
    usual_loads,
)
from tests.for_each import for_each

RPM = np.array([1500.0, 3000.0, 6000.0])
SPEED = RPM * 2.0 * np.pi / 60.0


def test_alternator_shaft_power_is_its_output_over_its_efficiency() -> None:
    load = AlternatorLoad(100.0, 14.0, 0.6, (0.0, 10_000.0), (200.0, 200.0))
    np.testing.assert_allclose(load.torque_Nm(RPM) * SPEED, 100.0 * 14.0 / 0.6)


def test_alternator_gives_no_more_than_its_curve() -> None:
    load = AlternatorLoad(100.0, 14.0, 0.6, (1000.0, 2000.0, 6000.0), (0.0, 80.0, 120.0))
    np.testing.assert_allclose(load.torque_Nm(RPM) * SPEED, np.array([40.0, 90.0, 100.0]) * 14.0 / 0.6)


def test_a_current_without_a_curve_is_taken_as_it_stands_at_every_speed() -> None:
    load = AlternatorLoad(100.0, 14.0, 0.6)
    np.testing.assert_allclose(load.torque_Nm(np.array([300.0, 900.0])) * np.array([10.0, 30.0]) * np.pi, 1400.0 / 0.6)


def test_default_output_curve_of_an_alternator() -> None:
    """From memory, medium confidence: shares of the rating at speeds of its own shaft, and nothing under 1000 rpm."""
    rpm, current = default_output(200.0)
    at = [0.0, 1000.0, 1500.0, 2000.0, 3000.0, 6000.0, 9000.0]
    np.testing.assert_allclose(np.interp(at, rpm, current), [0.0, 0.0, 80.0, 124.0, 164.0, 200.0, 200.0])


def test_pump_work_of_a_turn_is_pressure_times_volume() -> None:
    """100 bar on 6 cm3 is 60 J a turn; at 85 % that takes 70.6 J = 2 pi M."""
    torque = PumpLoad(100.0, 6.0, 0.85).torque_Nm(RPM)
    np.testing.assert_allclose(2.0 * np.pi * torque, 60.0 / 0.85)


@for_each(("constant", 0), ("linear", 1), ("square", 2), ("cube", 3))
def test_power_grows_with_a_power_of_the_speed(grows: Growth, exponent: int) -> None:
    torque = PowerLoad(5.0, 3000.0, grows).torque_Nm(RPM)
    np.testing.assert_allclose(torque * SPEED, 5000.0 * np.array([0.5, 1.0, 2.0]) ** exponent)


def test_constant_torque_and_table() -> None:
    assert TorqueLoad(7.0).torque_Nm(RPM).tolist() == [7.0, 7.0, 7.0]
    table = TableLoad((2000.0, 4000.0), (10.0, 20.0))
    np.testing.assert_allclose(table.torque_Nm(RPM), [10.0, 15.0, 20.0])


@for_each(
    AlternatorLoad(100.0, 14.0, 0.6, *default_output(140.0)),
    PumpLoad(100.0, 6.0, 0.85),
    TorqueLoad(7.0),
    PowerLoad(5.0, 3000.0, "cube"),
    PowerLoad(5.0, 3000.0, "constant"),
    TableLoad((2000.0, 4000.0), (10.0, 20.0)),
    ids=lambda load: type(load).__name__,
)
def test_a_shaft_at_rest_has_a_finite_torque(load: Load) -> None:
    torque = load.torque_Nm(np.array([0.0, 1000.0]))
    assert torque.shape == (2,)
    assert np.isfinite(torque).all()


# Usual loads: common practice, no source, but that service texts have steering pumps at about 6 cm3 a turn with relief
# at 80 to 105 bar, and air conditioning at 0.5 to 8 kW.


@for_each(
    # 6 cm3 at 90 bar is 54 J a turn, 1000 rpm 16.67 turns a second; 0.85 as all pumps here.
    ("steering_pump", 1000.0, 0.054 * 1000.0 / 60.0 / 0.85, 0.006 * 1000.0 / 60.0 / 0.85),
    ("air_conditioning", 3000.0, 4.0, 4.0),
    ("air_conditioning", 1500.0, 2.0, 2.0),
    ("air_conditioning", 6000.0, 4.0, 4.0),
    ("water_pump", 6000.0, 5.6, 5.6),
    ("fan", 1250.0, 0.25, 0.25),
    ("vacuum_pump", 900.0, 0.3, 0.3),
    # 100 A x 14.2 V at half efficiency, and half of the current.
    ("alternator", 6000.0, 2.84, 1.42),
    # At 2000 rpm the assumed curve gives 62 A, so all of the 50 A asked for in cruising.
    ("alternator", 2000.0, 0.62 * 2.84, 1.42),
)
def test_usual_loads(role: str, rpm: float, kW: float, cruising_kW: float) -> None:
    usual, speed = usual_loads(100.0)[role], rpm * np.pi / 30_000.0
    told = [float(load.torque_Nm(np.array(rpm))) * speed for load in (usual.load, usual.cruising)]
    np.testing.assert_allclose(told, [kW, cruising_kW], rtol=3e-3)


def test_usual_loads_lie_in_the_ranges_of_service_texts() -> None:
    cooling = usual_loads()["air_conditioning"].load.torque_Nm(RPM) * SPEED
    assert (cooling >= 500.0).all() and (cooling <= 8000.0).all()
    steering = usual_loads()["steering_pump"].load
    assert isinstance(steering, PumpLoad) and 80.0 <= steering.pressure_bar <= 105.0
