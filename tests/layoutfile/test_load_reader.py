"""The load of a pulley: every form as it is read, and each wrong thing as one fault at its line and key.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text. Torques are
worked by hand from power = torque x speed, and for a pump from work of a turn = pressure x volume (1 bar cm3 = 0.1 J).
"""

import math
from pathlib import Path

import numpy as np
import pytest

from beltplan.drive.loads import AlternatorLoad, Load, PowerLoad, PumpLoad, TableLoad, TorqueLoad, usual_loads
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written

AMPERES = "current_A: 60, voltage_V: 14"
RPM = "output: {rpm: [1500, 3000, 6000], "


def load_of(folder: Path, load: str, more: str = "") -> Load | None:
    """The load read from that text."""
    text = PLAIN.replace("diameter: 130", f"diameter: 130{more}, load: {load}")
    return read_layout(written(folder, text)).layout.pulleys["pump"].load


def torque_Nm(load: Load | None, rpm: float) -> float:
    """Its torque at a shaft speed."""
    assert load is not None
    return float(load.torque_Nm(np.array(rpm)))


@for_each(
    ("{torque_Nm: 4.5}", TorqueLoad(4.5)),
    ("{torque_Nm: 0}", TorqueLoad(0.0)),
    ("{power_kW: 3}", PowerLoad(3.0, 1.0, "constant")),
    ("{power_kW: 3, grows: constant}", PowerLoad(3.0, 1.0, "constant")),
    ("{power_kW: 3, at_rpm: 1500, grows: constant}", PowerLoad(3.0, 1500.0, "constant")),
    ("{power_kW: 3, at_rpm: 1500, grows: linear}", PowerLoad(3.0, 1500.0, "linear")),
    ("{power_kW: 3, at_rpm: 1500, grows: square}", PowerLoad(3.0, 1500.0, "square")),
    ("{power_kW: 3, at_rpm: 1500, grows: cube}", PowerLoad(3.0, 1500.0, "cube")),
    ("{pressure_bar: 80, displacement_cm3: 6, efficiency: 0.9}", PumpLoad(80.0, 6.0, 0.9)),
    ("{pressure_bar: 80, displacement_cm3: 6, efficiency: 1}", PumpLoad(80.0, 6.0, 1.0)),
    ("{table: {rpm: [0, 1000], torque_Nm: [1, 2]}}", TableLoad((0.0, 1000.0), (1.0, 2.0))),
    ("{" + AMPERES + ", efficiency: 0.5, " + RPM + "A: [30, 60, 90]}}",
     AlternatorLoad(60.0, 14.0, 0.5, (1500.0, 3000.0, 6000.0), (30.0, 60.0, 90.0))),
    ("{torque_Nm: 4.5, power_kW: null}", TorqueLoad(4.5)),
    ("null", None),
)  # fmt: skip
def test_every_form(tmp_path: Path, load: str, expected: Load | None) -> None:
    assert load_of(tmp_path, load) == expected


@for_each(
    # 60 A x 14 V = 840 W; with an efficiency of 0.5 the shaft takes 1680 W.
    ("{" + AMPERES + ", efficiency: 0.5, " + RPM + "A: [30, 60, 90]}}", 6000.0, 1680.0 / (200.0 * math.pi)),
    ("{" + AMPERES + ", efficiency: 0.5, " + RPM + "A: [30, 60, 90]}}", 1500.0, 840.0 / (50.0 * math.pi)),
    ("{power_kW: 3}", 1500.0, 3000.0 / (50.0 * math.pi)),
    ("{power_kW: 3}", 3000.0, 3000.0 / (100.0 * math.pi)),
    ("{power_kW: 3, at_rpm: 1500, grows: cube}", 3000.0, 24000.0 / (100.0 * math.pi)),
    ("{pressure_bar: 80, displacement_cm3: 6, efficiency: 0.5}", 900.0, 48.0 / math.pi),
    ("{table: {rpm: [1000, 2000], torque_Nm: [1, 2]}}", 1500.0, 1.5),
)
def test_torque_of_what_was_read(tmp_path: Path, load: str, rpm: float, expected: float) -> None:
    assert torque_Nm(load_of(tmp_path, load), rpm) == pytest.approx(expected, rel=1e-12)


def test_efficiencies_left_out(tmp_path: Path) -> None:
    """Doi 10.1201/9781003053231-3, abstract: 2 W of shaft for 1 W of current.

    A hydraulic pump 0.8 to 0.9: common practice, no source.
    """
    alternator = load_of(tmp_path, "{" + AMPERES + "}")
    pump = load_of(tmp_path, "{pressure_bar: 80, displacement_cm3: 6}")
    assert isinstance(alternator, AlternatorLoad) and alternator.efficiency == 0.5
    assert isinstance(pump, PumpLoad) and 0.8 <= pump.efficiency <= 0.9
    assert alternator.assumed == pump.assumed == ("efficiency",)


def test_a_current_without_a_rating_is_what_a_clamp_meter_read(tmp_path: Path) -> None:
    """60 A x 14 V is 840 W, and twice that at the shaft (doi 10.1201/9781003053231-3), whatever its speed."""
    load = load_of(tmp_path, "{" + AMPERES + "}")
    for rpm in (700.0, 1700.0, 7000.0):
        assert torque_Nm(load, rpm) == pytest.approx(1680.0 / (rpm * math.pi / 30.0))


def test_an_output_left_out_follows_the_rating_and_says_so(tmp_path: Path) -> None:
    """From memory, medium confidence: 0.62 of the rating at 2000 rpm of its own shaft, all of it at 6000."""
    load = load_of(tmp_path, "{" + AMPERES + ", efficiency: 0.6}", ", rated_A: 75")
    assert isinstance(load, AlternatorLoad) and load.assumed == ("output",)
    assert torque_Nm(load, 2000.0) == pytest.approx(0.62 * 75.0 * 14.0 / 0.6 / (2000.0 * math.pi / 30.0))
    assert torque_Nm(load, 6000.0) == pytest.approx(60.0 * 14.0 / 0.6 / (200.0 * math.pi))


def test_a_given_output_is_not_assumed_whatever_the_rating(tmp_path: Path) -> None:
    load = load_of(tmp_path, "{" + AMPERES + ", efficiency: 0.5, " + RPM + "A: [30, 60, 90]}}", ", rated_A: 120")
    assert load == AlternatorLoad(60.0, 14.0, 0.5, (1500.0, 3000.0, 6000.0), (30.0, 60.0, 90.0))


ROLES_WITHOUT = ["hydraulic_pump", "air_compressor", "supercharger", "idler", "other"]


@for_each("steering_pump", "air_conditioning", "water_pump", "fan", "vacuum_pump")
def test_a_usual_load_is_that_of_the_role(tmp_path: Path, role: str) -> None:
    text = PLAIN.replace("role: water_pump", f"role: {role}").replace("diameter: 130", "diameter: 130, load: usual")
    pump = read_layout(written(tmp_path, text)).layout.pulleys["pump"]
    assert pump.usual_load == usual_loads()[role]
    assert pump.load == usual_loads()[role].load


def test_a_usual_alternator_gives_all_of_its_rating(tmp_path: Path) -> None:
    text = PLAIN.replace("role: water_pump", "role: alternator")
    given = text.replace("diameter: 130", "diameter: 130, rated_A: 75, load: usual")
    pump = read_layout(written(tmp_path, given)).layout.pulleys["pump"]
    assert pump.usual_load == usual_loads(75.0)["alternator"]
    (fault,) = faults_of(tmp_path, text.replace("diameter: 130", "diameter: 130, load: usual"))
    assert (fault.line, fault.key) == (4, "pulleys.pump.load")
    assert "rated_A" in fault.got and "rated_A" in fault.allowed


def test_a_stated_load_is_not_assumed(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "diameter: 130, load: {torque_Nm: 4}")
    assert read_layout(written(tmp_path, text)).layout.pulleys["pump"].usual_load is None


@for_each(*ROLES_WITHOUT)
def test_a_role_without_a_usual_load(tmp_path: Path, role: str) -> None:
    text = PLAIN.replace("role: water_pump", f"role: {role}").replace("diameter: 130", "diameter: 130, load: usual")
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key) == (4, "pulleys.pump.load")
    assert f"the role {role} has no usual load" in fault.got
    assert "steering_pump" in fault.allowed and "torque_Nm" in fault.allowed


def test_a_misspelt_role_is_the_only_fault_of_a_usual_load(tmp_path: Path) -> None:
    text = PLAIN.replace("role: water_pump", "role: water_pmp").replace("diameter: 130", "diameter: 130, load: usual")
    assert [fault.key for fault in faults_of(tmp_path, text)] == ["pulleys.pump.role"]


def test_the_driver_takes_no_usual_load(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, PLAIN.replace("diameter: 190", "diameter: 190, load: usual"))
    assert "a load on the driver" in [fault.got for fault in faults]


def test_a_fan_by_its_diameter(tmp_path: Path) -> None:
    """Fan laws: twice the diameter takes 2 ** 5 the power at the same speed; 450 mm 2 kW at 2500 rpm, common practice,
    no source.
    """
    load = load_of(tmp_path, "{fan_diameter: 900}")
    assert torque_Nm(load, 2500.0) * 2500.0 * math.pi / 30.0 == pytest.approx(64_000.0)
    assert torque_Nm(load, 1250.0) * 1250.0 * math.pi / 30.0 == pytest.approx(8_000.0)


def test_a_fan_in_inches(tmp_path: Path) -> None:
    text = f"units: in\n{PLAIN}"
    for mm, inches in (("190", "7.5"), ("130", "5"), ("76", "3")):
        text = text.replace(f"diameter: {mm}", f"diameter: {inches}")
    text = text.replace("diameter: 5", "diameter: 5, load: {fan_diameter: 18}")
    load = read_layout(written(tmp_path, text)).layout.pulleys["pump"].load
    assert torque_Nm(load, 2500.0) * 2500.0 * math.pi / 30.0 == pytest.approx(2000.0 * (457.2 / 450.0) ** 5)


WRONG = [
    ("5", "", "'5'"),
    ("Usual", "", "'Usual' (did you mean usual?)"),
    ("{usual: true}", ".usual", "an unknown key"),
    ("{fan_diameter: 400, power_kW: 2}", ".fan_diameter", "both power_kW and fan_diameter"),
    ("{fan_diameter: 0}", ".fan_diameter", "0"),
    ("[1]", "", "a list"),
    ("{}", "", "a load without any of current_A"),
    ("{displacement_cm3: 6}", ".displacement_cm3", "displacement_cm3 without `pressure_bar`"),
    ("{torque_Nm: null}", "", "a load without any of"),
    ("{power_W: 800}", ".power_W", "write power_kW: 800 W"),
    ("{torque_nm: 8}", ".torque_nm", "write torque_Nm"),
    ("{colour: red}", ".colour", "an unknown key"),
    ("{torque_Nm: 8, colour: red}", ".colour", "an unknown key"),
    ("{torque_Nm: 8, power_kW: 1}", ".power_kW", "both torque_Nm and power_kW"),
    ("{table: {rpm: [1, 2], torque_Nm: [1, 2]}, pressure_bar: 5}", ".table", "both pressure_bar and table"),
    ("{torque_Nm: 8, efficiency: 0.5}", ".efficiency", "efficiency without `current_A` or `pressure_bar`"),
    ("{power_kW: 8, output: {}}", ".output", "output without `current_A`"),
    ("{pressure_bar: 8, displacement_cm3: 6, grows: cube}", ".grows", "grows without `power_kW`"),
    ("{" + AMPERES + ", at_rpm: 5}", ".at_rpm", "at_rpm without `power_kW`"),
    ("{torque_Nm: -1}", ".torque_Nm", "-1"),
    ("{torque_Nm: 1e7}", ".torque_Nm", "1e7"),
    ("{torque_Nm: .nan}", ".torque_Nm", "'.nan'"),
    ("{torque_Nm: 1:30}", ".torque_Nm", "'1:30'"),
    ("{torque_Nm: '8'}", ".torque_Nm", "in quotes"),
    ("{torque_Nm: [8]}", ".torque_Nm", "a list"),
    ("{current_A: 60}", ".current_A", "does it belong under the alternator?"),
    ("{current_A: 60, voltage: 14}", ".voltage", "write voltage_V"),
    ("{current_A: 60, efficiency: 0.6}", ".voltage_V", "nothing"),
    ("{current_A: -60, voltage_V: 14}", ".current_A", "-60"),
    ("{current_A: 60, voltage_V: 0}", ".voltage_V", "0"),
    ("{current_A: 60, voltage_V: 1e5}", ".voltage_V", "1e5"),
    ("{" + AMPERES + ", efficiency: 0}", ".efficiency", "0"),
    ("{" + AMPERES + ", efficiency: 60}", ".efficiency", "60"),
    ("{" + AMPERES + ", efficiency: 1e-320}", ".efficiency", "1e-320"),
    ("{" + AMPERES + ", output: 90}", ".output", "'90'"),
    ("{" + AMPERES + ", output: {rpm: [1, 2]}}", ".output.A", "nothing"),
    ("{" + AMPERES + ", output: {A: [1, 2]}}", ".output.rpm", "nothing"),
    ("{" + AMPERES + ", output: {rpm: [1, 2], a: [1, 2]}}", ".output.a", "an unknown key"),
    ("{" + AMPERES + ", " + RPM + "A: [30, 60]}}", ".output.A", "2 values for 3 speeds"),
    ("{" + AMPERES + ", " + RPM + "A: [30, 60, 2e4]}}", ".output.A.3", "2e4"),
    ("{" + AMPERES + ", " + RPM + "A: [30, -1, 90]}}", ".output.A.2", "-1"),
    ("{pressure_bar: 80}", ".displacement_cm3", "nothing"),
    ("{pressure_bar: -80, displacement_cm3: 6}", ".pressure_bar", "-80"),
    ("{pressure_bar: 80, displacement_cm3: 0}", ".displacement_cm3", "0"),
    ("{pressure_bar: 80, displacement_cm3: 6, efficiency: 1.01}", ".efficiency", "1.01"),
    ("{power_kW: 3, grows: cube}", ".at_rpm", "nothing"),
    ("{power_kW: 3, at_rpm: 1500}", ".at_rpm", "at_rpm without `grows`"),
    ("{power_kW: 3, at_rpm: 1500, grow: cube}", ".grow", "an unknown key (did you mean grows?)"),
    ("{power: 3, at_rpm: 1500, grows: cube}", ".power", "an unknown key (write power_kW"),
    ("{power_kW: 3, grows: cube, at: 5}", ".at", "an unknown key"),
    ("{power_kW: 3, at_rpm: 0, grows: cube}", ".at_rpm", "0"),
    ("{power_kW: 3, at_rpm: 1e7, grows: cube}", ".at_rpm", "1e7"),
    ("{power_kW: 3, at_rpm: 500, grows: cubic}", ".grows", "(did you mean cube?)"),
    ("{power_kW: 3, at_rpm: 500, grows: 3}", ".grows", "'3'"),
    ("{power_kW: -3}", ".power_kW", "-3"),
    ("{power_kW: 1e300}", ".power_kW", "1e300"),
    ("{table: [[1, 2], [3, 4]]}", ".table", "a list"),
    ("{table: {rpm: [1, 2], torque_Nm: [1]}}", ".table.torque_Nm", "a list of 1"),
    ("{table: {rpm: [1], torque_Nm: [1, 2]}}", ".table.rpm", "a list of 1"),
    ("{table: {rpm: [1, 2], torque_Nm: 5}}", ".table.torque_Nm", "'5'"),
    ("{table: {rpm: [1, 2, 3], torque_Nm: [1, 2]}}", ".table.torque_Nm", "2 values for 3 speeds"),
    ("{table: {rpm: [2, 1], torque_Nm: [1, 2]}}", ".table.rpm", "1 after 2 (entry 2)"),
    ("{table: {rpm: [1, 2, 2], torque_Nm: [1, 2, 3]}}", ".table.rpm", "2 after 2 (entry 3)"),
    ("{table: {rpm: [1, .inf], torque_Nm: [1, 2]}}", ".table.rpm.2", "'.inf'"),
    ("{table: {rpm: [-1, 2], torque_Nm: [1, 2]}}", ".table.rpm.1", "-1"),
    ("{table: {rpm: [1, [2]], torque_Nm: [1, 2]}}", ".table.rpm.2", "a list"),
    ("{table: {rpm: [1, 2], torque_Nm: [1, ]}}", ".table.torque_Nm", "a list of 1"),
    ("{table: {rpm: [1, 2], torque_Nm: [1, null]}}", ".table.torque_Nm.2", "nothing"),
    ("{table: {rpm: [1, 2], Nm: [1, 2]}}", ".table.Nm", "an unknown key"),
    ("{table: {rpm: [" + "1, " * 201 + "], torque_Nm: [1, 2]}}", ".table.rpm", "a list of 201"),
]


@for_each(*WRONG)
def test_one_wrong_thing_one_fault(tmp_path: Path, load: str, key: str, words: str) -> None:
    text = PLAIN.replace("diameter: 130", f"diameter: 130, load: {load}")
    fault, *more = faults_of(tmp_path, text)
    assert (fault.line, fault.key) == (4, f"pulleys.pump.load{key}")
    assert words in fault.got
    assert fault.allowed
    # A misspelt key of two that must be given leaves the other missing; nothing else comes with a companion.
    assert [each.got for each in more] in ([], ["nothing"])


def test_a_speed_of_a_power_that_does_not_grow_says_what_to_write(tmp_path: Path) -> None:
    load = "load: {power_kW: 4 hp, at_rpm: 3000}"
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {load}"))
    assert fault.allowed.startswith("`grows` beside it (constant, linear, square, cube; how the power grows")
    assert fault.allowed.endswith("), or no at_rpm")


@for_each(
    ("tension_N: 500", "`arm` or `slide` in place of `at`, or no tension_N"),
    ("load: {torque_Nm: 8, grows: cube}", "`power_kW` in place of `torque_Nm` (power, at `at_rpm` where it grows)"),
    ("load: {voltage_V: 14}", "`current_A` beside it (alternator: current asked of it), or no voltage_V"),
)
def test_what_may_not_stand_beside_a_key_is_to_give_way(tmp_path: Path, more: str, allowed: str) -> None:
    """Two of which just one may stand would be the next fault."""
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {more}"))
    assert fault.allowed.startswith(allowed)


def test_every_fault_of_a_load_at_once(tmp_path: Path) -> None:
    load = "load: {current_A: x, voltage_V: 0, efficiency: 2, output: {rpm: [2, 1], A: [1, 2]}}"
    faults = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {load}"))
    assert {fault.key.rpartition("load.")[2] for fault in faults} == {
        "current_A", "voltage_V", "efficiency", "output.rpm",
    }  # fmt: skip


def test_the_driver_takes_no_load(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 190", "diameter: 190, load: {torque_Nm: 5}"))
    assert (fault.line, fault.key, fault.got) == (3, "pulleys.crank.load", "a load on the driver")
    text = PLAIN.replace("diameter: 130", "diameter: 130, drives: true, load: {torque_Nm: 5}")
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key, fault.got) == (4, "pulleys.pump.load", "a load on the driver")


def test_an_idler_may_drag(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 76", "diameter: 76, load: {torque_Nm: 0.1}")
    assert read_layout(written(tmp_path, text)).layout.pulleys["idler"].load == TorqueLoad(0.1)


def test_a_variant_changes_the_form_of_a_load(tmp_path: Path) -> None:
    base = RAILCAR.replace("turns: clockwise", "turns: clockwise, load: {torque_Nm: 5}")
    changed = base.replace("generator: {at", "pump: {load: {torque_Nm: null, power_kW: 2}}, generator: {at")
    load = read_layout(written(tmp_path, changed), "high mount").layout.pulleys["pump"].load
    assert load == PowerLoad(2.0, 1.0, "constant")
    (fault,) = faults_of(tmp_path, base.replace("generator: {at", "pump: {load: {power_kW: 2}}, generator: {at"))
    assert fault.key == "variants.high mount.pulleys.pump.load.power_kW"


EXTREME = [
    "{current_A: 10000, voltage_V: 2000, efficiency: 0.01, output: {rpm: [0, 1e-300], A: [10000, 10000]}}",
    "{pressure_bar: 10000, displacement_cm3: 1e6, efficiency: 0.01}",
    "{power_kW: 1e5}",
    "{power_kW: 1e5, at_rpm: 1, grows: cube}",
    "{power_kW: 1e-300, at_rpm: 1e6, grows: cube}",
    "{table: {rpm: [0, 1e-300], torque_Nm: [0, 1e6]}}",
]


@pytest.mark.filterwarnings("error")
@for_each(*EXTREME)
@for_each(0.0, 1e-300, 1.0, 1e10)
def test_the_ends_of_what_is_allowed_give_finite_torques(tmp_path: Path, load: str, rpm: float) -> None:
    assert 0.0 <= torque_Nm(load_of(tmp_path, load), rpm) < math.inf
