"""A line that begins too far left or right in what is YAML all the same: a fault there, with where it belongs."""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import read_layout
from beltplan.measure.measurements_file import read_measurements
from tests.layoutfile.samples import PLAIN, faults_of, written

LOADED = PLAIN.replace(
    "  pump: {role: water_pump, at: [-190, 300], diameter: 130}\n",
    "  pump:\n    role: water_pump\n    at: [-190, 300]\n    diameter: 130\n"
    "    load:\n      power_kW: 1\n      at_rpm: 2000\n      grows: cube\n",
)
SPRING = "    spring: {torque_Nm"
CASES = [
    (SPRING, SPRING[2:], 18, "pulleys.spring", "further in, as a key of what stands above it"),
    (SPRING, SPRING[4:], 18, "spring", "it belongs under `pulleys.NAME`"),
    ("      grows", "    grows", 11, "pulleys.pump.grows", "it belongs under `load`"),
    ("  tight:\n", "tight:\n", 13, "tight", "it belongs under `pulleys`"),
    ("route:", "  route:", 19, "pulleys.route", "does it belong at the left edge?"),
    ("route:", "    route:", 19, "pulleys.tight.route", "it belongs at the left edge"),
]


@pytest.mark.parametrize(("good", "bad", "line", "key", "words"), CASES)
def test_the_line_is_told_with_its_place(tmp_path: Path, good: str, bad: str, line: int, key: str, words: str) -> None:
    assert read_layout(written(tmp_path, LOADED)).layout.route == ("crank", "tight", "pump", "idler")
    (fault,) = (each for each in faults_of(tmp_path, LOADED.replace(good, bad)) if "belong" in each.got)
    assert (fault.line, fault.key) == (line, key) and fault.got.endswith((words, f"{words}?"))


@pytest.mark.parametrize("outside", ["    outside", "outside"])
def test_a_reading_that_begins_too_far_left(tmp_path: Path, outside: str) -> None:
    text = "distances:\n  a - b: 300\n  a - c: 400\n  b - c:\n      value: 500\n      outside: true\n"
    with pytest.raises(LayoutFaults) as caught:
        read_measurements(written(tmp_path, text.replace("      outside", outside)))
    assert any(fault.line == 6 for fault in caught.value.faults)


@pytest.mark.parametrize("name", ["load", "arm", "spring", "engine", "belt"])
def test_a_pulley_may_have_the_name_of_a_key(tmp_path: Path, name: str) -> None:
    assert (
        name
        in read_layout(
            written(tmp_path, PLAIN.replace("idler", name, 1).replace("pump, idler]", f"pump, {name}]"))
        ).layout.pulleys
    )


def test_a_duty_may_have_the_name_of_a_key(tmp_path: Path) -> None:
    assert "limits" in read_layout(written(tmp_path, PLAIN + "duty: {limits: []}\n")).layout.duties
