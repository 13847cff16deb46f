"""`uncertainty` of a layout and of a pulley: what is read, and what is refused."""

from __future__ import annotations

from dataclasses import astuple
from pathlib import Path

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

OF_PUMP = "pump: {role: water_pump, "


def test_read_of_the_layout_and_of_one_pulley(tmp_path: Path) -> None:
    text = PLAIN.replace(OF_PUMP, OF_PUMP + "uncertainty: {position_mm: 0, angle_deg: 2}, ")
    layout = read_layout(written(tmp_path, "uncertainty: {position_mm: 1.5, diameter_mm: 0.3}\n" + text)).layout
    assert astuple(layout.uncertainty) == (1.5, 0.3, None)
    assert astuple(layout.pulleys["pump"].uncertainty) == (0.0, None, 2.0)
    assert not layout.pulleys["idler"].uncertainty.says_anything


def test_millimetres_stay_millimetres_in_a_file_in_inches(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, "units: in\nuncertainty: {position_mm: 1.5}\n" + PLAIN)).layout
    assert layout.uncertainty.position_mm == 1.5


def test_a_deviation_may_carry_its_own_unit(tmp_path: Path) -> None:
    """An inch is 25.4 mm (ISO 80000-3), whatever the file is in."""
    for units in ("mm", "in"):
        given = f"units: {units}\nuncertainty: {{position_mm: 1/32 in, diameter_mm: 0.005 in}}\n"
        assert astuple(read_layout(written(tmp_path, given + PLAIN)).layout.uncertainty) == (25.4 / 32, 0.127, None)


@for_each(
    ("{position_mm: -1}", "uncertainty.position_mm", "-1", "a number 0 to 100 mm"),
    ("{position_mm: 101}", "uncertainty.position_mm", "101", "a number 0 to 100 mm"),
    ("{position_mm: 5 in}", "uncertainty.position_mm", "5 in", "a number 0 to 100 mm"),
    ("{position_mm: 1/32}", "uncertainty.position_mm", "1/32", "a number 0 to 100 mm"),
    ("{diameter_mm: 51}", "uncertainty.diameter_mm", "51", "a number 0 to 50 mm"),
    ("{angle_deg: 46}", "uncertainty.angle_deg", "46", "a number 0 to 45 deg"),
    ("{angle_deg: .nan}", "uncertainty.angle_deg", "'.nan'", "a number 0 to 45 deg"),
    ('{angle_deg: "1"}', "uncertainty.angle_deg", "in quotes", "a number 0 to 45 deg"),
    ("{position: 1}", "uncertainty.position", "position_mm", "position_mm, diameter_mm, angle_deg"),
    ("1.0", "uncertainty", "1.0", "a mapping"),
    ("[1, 2]", "uncertainty", "list", "a mapping"),
)
@for_each(False, True)
def test_bad_values(tmp_path: Path, value: str, key: str, got: str, allowed: str, pulley: bool) -> None:
    line = f"uncertainty: {value}"
    text = PLAIN.replace(OF_PUMP, f"{OF_PUMP}{line}, ") if pulley else f"{line}\n{PLAIN}"
    (fault,) = faults_of(tmp_path, text)
    assert fault.key == ("pulleys.pump." if pulley else "") + key
    assert fault.line == (4 if pulley else 1)
    assert got in fault.got and allowed in fault.allowed


def test_every_fault_is_told(tmp_path: Path) -> None:
    faults = faults_of(tmp_path, "uncertainty: {position_mm: -1, diameter_mm: x, angle_deg: 99}\n" + PLAIN)
    assert len(faults) == 3
