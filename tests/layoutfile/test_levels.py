"""A line that begins too far left or right in what is YAML all the same: one fault, at that line, with its place.

Every case is a sound text in which one line, or one run of lines, begins elsewhere; what is told is undone by hand.
"""

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
    (
        SPRING,
        SPRING[2:],
        18,
        "pulleys.spring",
        "`spring`, which belongs to pulleys.tight; only there, indented as line 14",
    ),
    (SPRING, SPRING[4:], 18, "spring", "`spring`, which belongs to pulleys.tight; only there, indented as line 14"),
    (
        "      grows",
        "    grows",
        11,
        "pulleys.pump.grows",
        "`grows`, which belongs to pulleys.pump.load; only there, indented as line 9",
    ),
    (
        "      power_kW: 1\n      at_rpm: 2000\n      grows: cube",
        "    power_kW: 1\n    at_rpm: 2000\n    grows: cube",
        9,
        "pulleys.pump.power_kW",
        "`power_kW`, which belongs to pulleys.pump.load; only there, indented further than line 8",
    ),
    ("  tight:\n", "tight:\n", 13, "tight", "`tight`, which belongs to pulleys; only there, indented as line 3"),
    (
        "route:",
        "  route:",
        19,
        "pulleys.route",
        "`route`, which belongs to the top of the file; only there, at the left edge",
    ),
    (
        "route:",
        "    route:",
        19,
        "pulleys.tight.route",
        "`route`, which belongs to the top of the file; only there, at the left edge",
    ),
]


@pytest.mark.parametrize(("good", "bad", "line", "key", "words"), CASES)
def test_the_line_is_told_with_its_place_and_nothing_else(
    tmp_path: Path, good: str, bad: str, line: int, key: str, words: str
) -> None:
    assert read_layout(written(tmp_path, LOADED)).layout.route == ("crank", "tight", "pump", "idler")
    fault, *more = faults_of(tmp_path, LOADED.replace(good, bad))
    assert (fault.line, fault.key, f"{fault.got}; {fault.allowed}") == (line, key, words)
    assert len(more) == bad.strip().count("\n")
    assert all("which belongs to pulleys.pump.load" in each.got for each in more)


def test_a_limit_at_the_left_edge_belongs_under_limits(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"{LOADED}limits:\nmin_wrap_deg: {{pump: 80}}\n")
    assert fault.got == "`min_wrap_deg`, which belongs to limits"


@pytest.mark.parametrize("indent", ["", "  "])
def test_a_reading_that_begins_too_far_left(tmp_path: Path, indent: str) -> None:
    text = "distances:\n  a - b: 300\n  a - c: 400\n  b - c:\n    value: 500\n    outside: true\n"
    path = written(tmp_path, text.replace("    outside", f"{indent}outside"))
    with pytest.raises(LayoutFaults) as caught:
        read_measurements(path)
    (fault,) = (fault for fault in caught.value.faults if "belongs" in fault.got)
    assert (fault.line, fault.got) == (6, "`outside`, which belongs to distances.b - c")


def test_beside_braces_it_is_put_into_them(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("  idler:", "  max_rpm: 9000\n  idler:"))
    assert (fault.line, f"{fault.got}; {fault.allowed}") == (
        5,
        "`max_rpm`, which belongs to pulleys.pump; only there, in the braces of line 4",
    )


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
