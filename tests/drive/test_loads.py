"""Torque that a shaft takes, against power balances worked by hand: power in x efficiency = power out."""

import re
from pathlib import Path

import numpy as np
import pytest
from scipy import constants

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
from beltplan.drive.own_units import own_unit_value, spellings_of, units_of
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

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


# Values in units of the shop, and keys that name another unit than the file's.


_FOOT_POUND = constants.foot * constants.pound_force
# What one of each unit is in the key's unit, from the constants of scipy (CODATA and definitions).
_SIZES = [
    (["\u00b0"], "deg", 1.0),
    (["psi", "PSI"], "bar", constants.psi / constants.bar),
    (["kPa"], "bar", constants.kilo / constants.bar),
    (["MPa"], "bar", constants.mega / constants.bar),
    (["ft-lb", "lb-ft", "ft lbf"], "Nm", _FOOT_POUND),
    (["in-lb"], "Nm", constants.inch * constants.pound_force),
    (["ft-lb/deg"], "Nm/deg", _FOOT_POUND),
    (["lbf", "lb", "lbs"], "N", constants.pound_force),
    (["kgf", "kg"], "N", constants.kilogram_force),
    (["lb/in"], "N/mm", constants.pound_force / (constants.inch / constants.milli)),
    (["hp", "HP"], "kW", constants.hp / constants.kilo),
    (["in3", "cu in"], "cm3", (constants.inch / constants.centi) ** 3),
    (["cc", "ml"], "cm3", constants.milli * constants.liter / constants.centi**3),
    (["lb"], "kg", constants.pound),
    (["lb/ft"], "kg/m", constants.pound / constants.foot),
    (["lb-in2", "lb in2"], "kg m2", constants.pound * constants.inch**2),
    (["lb-ft2"], "kg m2", constants.pound * constants.foot**2),
    (["kg-cm2", "kg cm2"], "kg m2", constants.centi**2),
    (["F", "\u00b0F"], "K", constants.degree_Fahrenheit),
    (["C", "\u00b0C"], "K", 1.0),
    (["in", "inch"], "mm", constants.inch / constants.milli),
]


@for_each(*_SIZES)
def test_each_unit_is_converted(words: list[str], unit: str, size: float) -> None:
    for word in words:
        assert own_unit_value(f"-2.5e1 {word}", unit) == pytest.approx(-25.0 * size, rel=1e-12)
        assert re.fullmatch(rf"-2.5e1 ({spellings_of(unit)})", f"-2.5e1 {word}", re.IGNORECASE)
    assert own_unit_value(f"3 {unit}", unit) == 3.0


@for_each(("1 psi", "N"), ("psi", "bar"), ("1 psi", "rpm"), ("1 1/2 hp", "kW"), ("1", "bar"))
def test_what_is_no_value_with_a_unit_of_the_key(text: str, unit: str) -> None:
    assert own_unit_value(text, unit) is None


def _loaded(load: str) -> str:
    return PLAIN.replace("diameter: 130}", f"diameter: 130, load: {load}}}")


def test_a_file_may_be_in_units_of_the_shop(tmp_path: Path) -> None:
    text = _loaded("{torque_Nm: 33 ft-lb}").replace("role: water_pump", "max_hub_load_N: 150 lb, role: water_pump")
    pump = read_layout(written(tmp_path, text)).layout.pulleys["pump"]
    assert isinstance(pump.load, TorqueLoad)
    assert (pump.load.constant_Nm, pump.max_hub_load_N) == pytest.approx(
        (33.0 * _FOOT_POUND, 150.0 * constants.pound_force)
    )
    text = _loaded("{pressure_bar: 1230 psi, displacement_cm3: 0.85 in3}")
    load = read_layout(written(tmp_path, text)).layout.pulleys["pump"].load
    assert isinstance(load, PumpLoad)
    assert (load.pressure_bar, load.displacement_cm3) == pytest.approx(
        (1230.0 * constants.psi / constants.bar, 0.85 * 2.54**3)
    )


@for_each(
    ("{pressure_psi: 1230, displacement_cm3: 6}", "(write pressure_bar: 1230 psi)"),
    ("{pressure_bar: 80, displacement: 0.5 in3}", "(write displacement_cm3: 0.5 in3)"),
    ("{pressure_psi: 80 bar, displacement_cm3: 6}", "(write pressure_bar: 80 bar)"),
    ("{pressure_bar: 80, displacement_in3: 0.85}", "(write displacement_cm3: 0.85 in3)"),
    ("{torque_ftlb: 33}", "(write torque_Nm: 33 ft-lb)"),
    ("{torque_ft_lb: 33}", "(write torque_Nm: 33 ft-lb)"),
    ("{torque_inlb: 33}", "(write torque_Nm: 33 in-lb)"),
    ("{power_hp: 1.5}", "(write power_kW: 1.5 hp)"),
    ("{power_hp: much}", "(write power_kW)"),
)
def test_a_key_in_another_unit_is_refused_with_what_to_write(tmp_path: Path, load: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, _loaded(load))
    assert fault.got == f"an unknown key {hint}"


@for_each(
    ("max_hub_load_lb: 150", "(write max_hub_load_N: 150 lbf)"),
    ("max_hub_load_lbf: 150", "(write max_hub_load_N: 150 lbf)"),
    ("max_hub_load_kg: 68", "(write max_hub_load_N: 68 kgf)"),
    ("overhang_in: 2.5 in", "(write overhang_mm: 2.5 in)"),
    ("overhang_in: 2.5", "(write overhang_mm: 2.5 in)"),
)
def test_a_pulleys_key_in_another_unit(tmp_path: Path, key: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130}", f"diameter: 130, {key}}}"))
    assert fault.got == f"an unknown key {hint}"


def test_a_unit_that_is_not_known_is_told(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, _loaded("{torque_Nm: 33 kpm}"))
    assert fault.got == "'33 kpm' (its unit may be Nm, ft-lb, in-lb)"


def test_the_word_list_names_the_unit() -> None:
    assert units_of("bar")[:2] == ("bar", "psi") and units_of("rpm") == ("rpm",) and units_of("") == ()
