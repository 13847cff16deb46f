"""Values in units of the shop, and keys that name another unit than the file's."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from beltplan.drive.loads import PumpLoad, TorqueLoad
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.own_units import own_unit_value, spellings_of, units_of
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

# NIST SP 811 (2008), appendix B.8: what one of each unit is in the key's unit, to the digits printed there.
PRINTED = [
    ("1 psi", "bar", 0.06894757),
    ("1 PSI", "bar", 0.06894757),
    ("1 kPa", "bar", 0.01),
    ("1 ft-lb", "Nm", 1.355818),
    ("1 lb-ft", "Nm", 1.355818),
    ("1 ft lbf", "Nm", 1.355818),
    ("1 in-lb", "Nm", 0.1129848),
    ("1 lbf", "N", 4.448222),
    ("1 lb", "N", 4.448222),
    ("1 kgf", "N", 9.80665),
    ("1 lb/in", "N/mm", 0.1751268),
    ("1 hp", "kW", 0.7456999),
    ("1 in3", "cm3", 16.38706),
    ("1 lb", "kg", 0.4535924),
    ("1 lb/ft", "kg/m", 1.488164),
    ("1 ft-lb/deg", "Nm/deg", 1.355818),
    ("-2.5e1 N", "N", -25.0),
]


@for_each(("text", "unit", "value"), PRINTED)
def test_each_unit_is_converted(text: str, unit: str, value: float) -> None:
    assert own_unit_value(text, unit) == pytest.approx(value, rel=1e-6)
    assert re.fullmatch(rf"[-+]?[\de.]+ ({spellings_of(unit)})", text)


@for_each(("text", "unit"), [("1 psi", "N"), ("psi", "bar"), ("1 psi", "rpm"), ("1 1/2 hp", "kW"), ("1", "bar")])
def test_what_is_no_value_with_a_unit_of_the_key(text: str, unit: str) -> None:
    assert own_unit_value(text, unit) is None


def _loaded(load: str) -> str:
    return PLAIN.replace("diameter: 130}", f"diameter: 130, load: {load}}}")


def test_a_file_may_be_in_units_of_the_shop(tmp_path: Path) -> None:
    """33 ft-lb is 44.742 Nm, 1230 psi 84.806 bar, 0.85 in3 13.929 cm3 (by the factors printed above)."""
    text = _loaded("{torque_Nm: 33 ft-lb}").replace("role: water_pump", "max_hub_load_N: 150 lb, role: water_pump")
    pump = read_layout(written(tmp_path, text)).layout.pulleys["pump"]
    assert isinstance(pump.load, TorqueLoad)
    assert (pump.load.constant_Nm, pump.max_hub_load_N) == pytest.approx((44.7420, 667.2333))
    text = _loaded("{pressure_bar: 1230 psi, displacement_cm3: 0.85 in3}")
    load = read_layout(written(tmp_path, text)).layout.pulleys["pump"].load
    assert isinstance(load, PumpLoad)
    assert (load.pressure_bar, load.displacement_cm3) == pytest.approx((84.8055, 13.9290), rel=1e-5)


@for_each(
    ("load", "hint"),
    [
        ("{pressure_psi: 1230, displacement_cm3: 6}", "(write pressure_bar: 84.81, or pressure_bar: 1230 psi)"),
        (
            "{pressure_bar: 80, displacement_in3: 0.85}",
            "(write displacement_cm3: 13.93, or displacement_cm3: 0.85 in3)",
        ),
        ("{torque_ftlb: 33}", "(write torque_Nm: 44.74, or torque_Nm: 33 ft-lb)"),
        ("{torque_ft_lb: 33}", "(write torque_Nm: 44.74, or torque_Nm: 33 ft-lb)"),
        ("{torque_inlb: 33}", "(write torque_Nm: 3.728, or torque_Nm: 33 in-lb)"),
        ("{power_hp: 1.5}", "(write power_kW: 1.119, or power_kW: 1.5 hp)"),
        ("{power_hp: much}", "(write power_kW)"),
    ],
)
def test_a_key_in_another_unit_is_refused_with_what_to_write(tmp_path: Path, load: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, _loaded(load))
    assert fault.got == f"an unknown key {hint}"


@for_each(
    ("key", "hint"),
    [
        ("max_hub_load_lb: 150", "(write max_hub_load_N: 667.2, or max_hub_load_N: 150 lbf)"),
        ("max_hub_load_lbf: 150", "(write max_hub_load_N: 667.2, or max_hub_load_N: 150 lbf)"),
        ("max_hub_load_kg: 68", "(write max_hub_load_N: 666.9, or max_hub_load_N: 68 kgf)"),
        ("overhang_in: 2.5", "(write overhang_mm: 63.5, or overhang_mm: 2.5 in)"),
    ],
)
def test_a_pulleys_key_in_another_unit(tmp_path: Path, key: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130}", f"diameter: 130, {key}}}"))
    assert fault.got == f"an unknown key {hint}"


def test_a_unit_that_is_not_known_is_told(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, _loaded("{torque_Nm: 33 kpm}"))
    assert fault.got == "'33 kpm' (its unit may be Nm, ft-lb, in-lb)"


def test_the_word_list_names_the_unit() -> None:
    assert units_of("bar")[:2] == ("bar", "psi") and units_of("rpm") == ()
