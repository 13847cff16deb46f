"""Values in units of the shop, and keys that name another unit than the file's."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from scipy import constants

from beltplan.drive.loads import PumpLoad, TorqueLoad
from beltplan.drive.own_units import own_unit_value, spellings_of, units_of
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

_FOOT_POUND = constants.foot * constants.pound_force
# What one of each unit is in the key's unit, from the constants of scipy (CODATA and definitions).
_SIZES = [
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
