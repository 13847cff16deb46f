"""Slips of typing: the message shows what to write, with the user's own words in it, so that one try mends them.

What is meant is the project's own reading of each slip; every text shown is put in place of the slip and must be read.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

SHOWN = [
    ("at: [0, 245]", "at: {}", "0 245", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "(0 245)", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "[0; 245]", "[0, 245]"),
    ("stops: [265, 300]", "stops: {}", "265 to 300", "[265, 300]"),
    ("diameter: 130", "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}", "85 %", "0.85"),
    ("diameter: 130", "diameter: 130, load: {{{}}}", "power_PS: 0.8", "power_kW: 0.8 PS"),
    ("diameter: 130", "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}", "85", "0.85"),
    ("diameter: 130", "diameter: 130, {}: 38", "movable", "movable_mm"),
    ("{pivot: [-150, 215], length", "{{{}: [-150, 215], length", "at", "pivot"),
    ("[crank, tight, pump, idler]", "{}", "crank, tight, pump, idler]", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "crank tight pump idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "crank > tight > pump > idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "[crank; tight; pump; idler]", "[crank, tight, pump, idler]"),
]
"""What stands in the layout, what in its place with the slip at {}, the slip, and what is shown to write."""


@for_each(*SHOWN)
def test_what_to_write_is_shown_and_can_be_read(tmp_path: Path, good: str, bad: str, slip: str, meant: str) -> None:
    fault, *_ = faults_of(tmp_path, PLAIN.replace(good, bad.format(slip)))
    told = f"{fault.got}; {fault.allowed}"
    assert any(f"{before}{meant}" in told for before in ("write ", "Write ", "entries: "))
    assert read_layout(written(tmp_path, PLAIN.replace(good, bad.format(meant)))).layout.route


@for_each(
    ("pump, idler]", "pump idler]", "'pump idler': a comma is missing between pump and idler"),
    ("pump, idler]", "pump. idler]", "'pump. idler': a comma is missing between pump and idler"),
    ("stops: [265, 300]", "stops: [65, 100]", "285, and `stops` 65 to 100 deg: one is wrong"),
    ("tight, pump, idler]", "tight pump idler]", "a comma is missing between tight and pump and idler"),
    ("belt: 6PK", "belt: 6PK\nidle_rpm: 900", "an unknown key here: it belongs under `engine`"),
    ("diameter: 130", "diameter: 130, efficiency: 0.8", "an unknown key here: it belongs under `load`"),
    ("pump, idler]", "\n  pump, idler\nduty: {all: [pump]}", "a closing bracket `]` seems to be missing after"),
    ("route:", "marks: pin: [1, 2]\nroute:", "braces seem to be missing: write {pin: [1, 2]}"),
    ("    diameter: 72", "    diameter:\u00a072", "there is a no-break space"),
)
def test_what_is_missing_is_told(tmp_path: Path, good: str, bad: str, words: str) -> None:
    assert words in faults_of(tmp_path, PLAIN.replace(good, bad))[0].got


@for_each(
    ("role: water_pump", "Role: Water_Pump", ["an unknown key (write role)", "'Water_Pump' (write water_pump)"]),
    ("diameter: 130", "DIAMETER: 130 m", ["an unknown key (write diameter)", "'130 m' (its unit may be mm, cm, in)"]),
    ("pulleys:", "Pulleys:", ["an unknown key (write pulleys)"]),
    (
        "arm: {pivot: [-150, 215], length: 85",
        "Arm: {Pivot: [-150, 215], length: 8,5",
        ["an unknown key (write arm)", "an unknown key (write pivot)", "'8, 5' (write 8.5, with a decimal point)"],
    ),
    ("at: [-190, 300]", "AT: [1, 2, 3], TURNS: left", ["an unknown key (write at)", "an unknown key (write turns)"]),
    ("belt: 6PK", "Units: IN\nbelt: 6PK", ["an unknown key (write units)", "'IN' (write in)"]),
)
def test_below_a_key_in_capitals_all_is_read(tmp_path: Path, good: str, bad: str, got: list[str]) -> None:
    assert [fault.got for fault in faults_of(tmp_path, PLAIN.replace(good, bad))][: len(got)] == got


@for_each(
    ("limits: {min_wrap: 100}", "min_wrap_deg, min_rim_gap_mm and 39 others"),
    ("limits: {colour: 1}", "min_wrap_deg, min_wrap_on_back_deg, "),
    ("Engine: {idle_rpm: 900}", "engine and 15 others"),
)
def test_beside_a_guess_at_a_key_stand_only_the_nearest(tmp_path: Path, line: str, allowed: str) -> None:
    (fault,) = faults_of(tmp_path, f"{line}\n{PLAIN}")
    assert fault.allowed.startswith(allowed)
    assert len(fault.allowed) < 80 or "write" not in fault.got


@pytest.mark.parametrize("text", ["130 m", "76 lb", "about", "R", "7 6 5"])
def test_no_number_is_made_of_what_may_mean_another(tmp_path: Path, text: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 76", f"diameter: {text}"))
    assert "rite" not in fault.got


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("at_deg: 285, rate", "at_deg: 285 deg, rate"),
        ("torque_Nm: 26", "torque_Nm: 26 N·m"),
        ("belt: 6PK", "engine: {idle_rpm: 900 rpm}\nbelt: 6PK"),
        ("torque_Nm: 26", "torque_Nm: 26 NM"),
        ("torque_Nm: 26", "torque_Nm: 19 FT-LB"),
        ("diameter: 130", "diameter: 130, load: {power_kW: 0.8kw}"),
        ("diameter: 130", "diameter: 130, max_hub_load_N: 90 LBF"),
        ("diameter: 130", "diameter: 130 MM"),
        ("diameter: 130", "diameter: 5 1/8 IN"),
    ],
)
def test_a_value_may_carry_the_unit_of_its_key(tmp_path: Path, good: str, bad: str) -> None:
    assert read_layout(written(tmp_path, PLAIN.replace(good, bad))).layout.route


@pytest.mark.parametrize(("limit", "obstacles"), [("min_wrap_deg", ()), ("min_clearance_mm", ("hose",))])
def test_a_limit_offers_only_what_it_can_be_for(tmp_path: Path, limit: str, obstacles: tuple[str, ...]) -> None:
    own = f"obstacles: {{hose: {{circle: {{at: [300, 0], diameter: 30}}}}}}\nlimits: {{{limit}: {{pumpe: 5}}}}\n"
    (fault,) = faults_of(tmp_path, PLAIN + own)
    offered = fault.allowed.split(", ")
    assert fault.got == "an unknown name (did you mean pump?)"
    assert offered[: 4 + len(obstacles)] == ["crank", "pump", "idler", "tight", *obstacles] and "fan" in offered


_INCHES = PLAIN.replace("belt:", "units: in\nbelt:").replace("route:", "limits: {min_clearance_mm: 3/8 in}\nroute:")


@for_each(
    ("3/8 in", "0.375", "0.375 (a key in mm: is it in inches? Write 0.375 in, or 0.375 mm)"),
    ("3/8 in", "3/8", "'3/8' (a fraction goes with inches: 3/8 in; else a decimal: 0.375)"),
    ("3/8 in", "{pump: 0.375}", "0.375 (a key in mm: is it in inches? Write 0.375 in, or 0.375 mm)"),
    ("route:", "uncertainty: {position_mm: 0.03}\nroute:", "0.03 (a key in mm: is it in inches? Write 0.03 in, or 0"),
)
def test_numbers_of_a_file_in_inches(tmp_path: Path, good: str, bad: str, got: str) -> None:
    """What mends each is in its message, and can be read; 3/8 in is 9.525 mm."""
    (fault,) = faults_of(tmp_path, _INCHES.replace(good, bad))
    assert fault.got.startswith(got)
    for limit in ("3/8 in", "9.525", "9.525 mm", "{pump: 3/8 in}"):
        (value,) = (
            read_layout(written(tmp_path, _INCHES.replace("3/8 in", limit))).layout.limits["min_clearance_mm"].values()
        )
        assert value == pytest.approx(9.525)


def test_a_variant_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}variants: {{low idler: {{}}}}\n", "low idlr")
    assert fault.got == "there is no variant 'low idlr' (did you mean low idler?); there is low idler"
    (fault,) = faults_of(tmp_path, PLAIN, "low")
    assert fault.got == "there is no variant 'low'; the file has none"


def test_a_key_without_its_unit_is_told_with_the_value_in_the_file_s_inches(tmp_path: Path) -> None:
    text = PLAIN.replace("belt: 6PK", "units: in\nbelt: 6PK").replace("diameter: 130", "diameter: 5, movable: 1 1/2")
    assert any("(write movable_mm: 1 1/2 in)" in fault.got for fault in faults_of(tmp_path, text))
