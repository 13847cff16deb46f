"""One pulley: each wrong thing gives one fault, at its line and key.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from beltplan.drive.pulleys import Arm, Slide
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, RAILCAR, faults_of, written

PULLEY = [
    ("diameter: 130", "diameter: ", 4, "pulleys.pump.diameter", "nothing"),
    ("diameter: 130", "", 4, "pulleys.pump.diameter", "nothing"),
    ("diameter: 130", "diameter: 130, rim_diameter: 129", 4, "pulleys.pump.rim_diameter", "both"),
    ("at: [-190, 300], ", "", 4, "pulleys.pump.at", "nothing"),
    ("at: [-190, 300]", "at: [-190]", 4, "pulleys.pump.at", "a list of 1"),
    ("at: [-190, 300]", "at: [-190, 3, 0]", 4, "pulleys.pump.at", "a list of 3"),
    ("at: [-190, 300]", "at: [-190, .nan]", 4, "pulleys.pump.at", "'.nan'"),
    ("at: [-190, 300]", "at: [-190, 1e6]", 4, "pulleys.pump.at", "1e6"),
    ("at: [-190, 300]", "at: -190", 4, "pulleys.pump.at", "'-190'"),
    ("diameter: 72", "diameter: 72\n    at: [0, 0]", 11, "pulleys.tight.arm", "both at and arm"),
    ("diameter: 130", "diameter: 12,5", 4, "pulleys.pump.diameter", "decimal point"),
    ("diameter: 72", "diameter: 72,5", 8, "pulleys.tight.diameter", "decimal point"),
    ("role: water_pump, ", "", 4, "pulleys.pump.role", "nothing"),
    ("role: water_pump", "role: waterpump", 4, "pulleys.pump.role", "(write water_pump)"),
    ("role: water_pump", "rol: water_pump", 4, "pulleys.pump.rol", "did you mean role?"),
    ("role: water_pump", "role: [a]", 4, "pulleys.pump.role", "a list"),
    ("diameter: 130", "diameter: 130, belt_side: rib", 4, "pulleys.pump.belt_side", "did you mean ribbed?"),
    ("diameter: 130", "diameter: 130, grooves: 0", 4, "pulleys.pump.grooves", "0"),
    ("diameter: 130", "diameter: 130, grooves: 61", 4, "pulleys.pump.grooves", "61"),
    ("diameter: 130", "diameter: 130, grooves: 5.5", 4, "pulleys.pump.grooves", "'5.5'"),
    ("diameter: 130", "diameter: 130, belt_side: either", 4, "pulleys.pump.belt_side", "either for water_pump"),
    ("belt_side: back}", "belt_side: either, grooves: 6}", 5, "pulleys.idler.grooves", "6 on the back"),
    ("diameter: 130", "diameter: 130, optional: true", 4, "pulleys.pump.optional", "true for water_pump"),
    ("diameter: 72", "diameter: 72\n    optional: true", 9, "pulleys.tight.optional", "true for tensioner"),
    ("diameter: 76", "diameter: 76, optional: maybe", 5, "pulleys.idler.optional", "'maybe'"),
    ("diameter: 76", "diameter: 76, grooves: 6", 5, "pulleys.idler.grooves", "6 on the back"),
    ("diameter: 130", "diameter: 130, turns: left", 4, "pulleys.pump.turns", "'left'"),
    ("diameter: 130", "diameter: 130, plane: far", 4, "pulleys.pump.plane", "'far'"),
    ("diameter: 130", "diameter: 130, flange_height: -1", 4, "pulleys.pump.flange_height", "-1"),
    ("diameter: 130", "diameter: 130, max_rpm: 0", 4, "pulleys.pump.max_rpm", "0"),
    ("diameter: 130", "diameter: 130, max_rpm: 500, min_rpm: 600", 4, "pulleys.pump.min_rpm", "600"),
    ("diameter: 130", "diameter: 130, rated_A: x", 4, "pulleys.pump.rated_A", "'x'"),
    ("diameter: 130", "diameter: 130, inertia_kgm2: -1", 4, "pulleys.pump.inertia_kgm2", "-1"),
    ("diameter: 130", "diameter: 130, drives: yes", 4, "pulleys.pump.drives", "'yes' (write true)"),
    ("diameter: 130", "diameter: 130, drives: 'true'", 4, "pulleys.pump.drives", "'true'"),
    ("diameter: 130", "diameter: 130, one_way: 1", 4, "pulleys.pump.one_way", "'1'"),
    ("diameter: 130", "diameter: 130, max_hub_load_N: 0", 4, "pulleys.pump.max_hub_load_N", "0"),
    ("diameter: 130", "diameter: 130, max_hub_load_N: 1e99", 4, "pulleys.pump.max_hub_load_N", "1e99"),
    ("diameter: 130", "diameter: 130, overhang_mm: -1", 4, "pulleys.pump.overhang_mm", "-1"),
    ("diameter: 130", "diameter: 130, max_moment_Nm: 90", 4, "pulleys.pump.max_moment_Nm", "without `overhang_mm`"),
    ("diameter: 130", "diameter: 130, overhang_mm: 9, max_moment_Nm: 0", 4, "pulleys.pump.max_moment_Nm", "0"),
    ("diameter: 130", "diameter: 130, pointer_radius_mm: 39", 4, "pulleys.pump.pointer_radius_mm", "without an arm"),
    ("diameter: 72", "diameter: 72\n    pointer_radius_mm: 0", 9, "pulleys.tight.pointer_radius_mm", "0"),
    ("diameter: 130", "diameter: 130, tension_N: 500", 4, "pulleys.pump.tension_N", "without an arm or slide"),
    ("diameter: 130", "diameter: 130, spring: {}", 4, "pulleys.pump.spring", "without an arm or slide"),
    ("diameter: 130", "diameter: 130, colour: red", 4, "pulleys.pump.colour", "an unknown key"),
]

OFF = "  spare: {role: idler, at: [900, 900], diameter: 60, overhang_mm: 40}\n"


def test_an_overhang_where_no_belt_runs(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("  pump:", f"{OFF}  pump:", 1))
    assert (fault.line, fault.key, fault.got) == (4, "pulleys.spare.overhang_mm", "an overhang where no belt runs")


def test_what_is_set_up_by(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "diameter: 130, overhang_mm: 62, max_moment_Nm: 90")
    text = text.replace("diameter: 72", "diameter: 72\n    pointer_radius_mm: 39")
    pulleys = read_layout(written(tmp_path, text)).layout.pulleys
    assert (pulleys["pump"].overhang_mm, pulleys["pump"].max_moment_Nm) == (62.0, 90.0)
    assert pulleys["tight"].pointer_radius_mm == 39.0


NAMES = [
    ('"": {', 4, "pulleys.", "the name ''"),
    ("p" * 41 + ": {", 4, "pulleys." + "p" * 41, "the name"),
    ('"p\\e[1m": {', 4, "pulleys.p\\x1b[1m", "the name 'p\\x1b[1m'"),
]


@for_each(*PULLEY)
def test_one_wrong_thing_one_fault(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new, 1))
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got
    assert fault.allowed


@pytest.mark.parametrize(("new", "line", "key", "words"), NAMES)
def test_names_that_are_none(tmp_path: Path, new: str, line: int, key: str, words: str) -> None:
    text = PLAIN.replace("pump: {", new).replace("tight, pump", f"tight, {new[:-3]}")
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key) == (line, key)
    assert words in fault.got


def test_a_side_left_open_and_an_idler_left_to_choice(tmp_path: Path) -> None:
    """Judged on the back, as smooth idlers run (common practice, no source)."""
    text = PLAIN.replace("belt_side: back}", "belt_side: either, optional: true}")
    pulleys = read_layout(written(tmp_path, text)).layout.pulleys
    idler, tight = pulleys["idler"], pulleys["tight"]
    assert (idler.belt_side, idler.side_open, idler.optional) == ("back", True, True)
    assert (tight.belt_side, tight.side_open, tight.optional) == ("back", False, False)
    text = PLAIN.replace("    belt_side: back\n", "    belt_side: either\n")
    assert read_layout(written(tmp_path, text)).layout.pulleys["tight"].side_open


def test_an_open_side_needs_the_height_of_the_back(tmp_path: Path) -> None:
    text = PLAIN.replace("belt: 6PK", "belt: {profile: A}").replace("    belt_side: back\n", "")
    (fault,) = faults_of(tmp_path, text.replace("belt_side: back}", "belt_side: either}"))
    assert fault.key == "belt.back_over_rim_mm" and "needed for idler on the back" in fault.allowed


def test_keys_of_the_tension_study(tmp_path: Path) -> None:
    text = PLAIN.replace("diameter: 130", "diameter: 130, one_way: true, max_hub_load_N: 2500, inertia_kgm2: 0.01")
    layout = read_layout(written(tmp_path, text + "engine: {rev_up_rpm_per_s: 400}\n")).layout
    pump = layout.pulleys["pump"]
    assert (pump.one_way, pump.max_hub_load_N, pump.inertia_kgm2) == (True, 2500.0, 0.01)
    assert layout.engine.rev_up_rpm_per_s == 400.0
    assert not layout.driver.one_way


def test_keys_of_the_vibration_study(tmp_path: Path) -> None:
    text = RAILCAR.replace("stops: [265, 300]", "stops: [265, 300], inertia_kgm2: 0.0015")
    layout = read_layout(
        written(tmp_path, text.replace("belt: 6PK", "belt: {profile: PK, ribs: 6, loss_factor: 0.07}"))
    )
    held = layout.layout.pulleys["tensioner"].adjuster
    assert isinstance(held, Arm) and held.inertia_kgm2 == 0.0015 and layout.layout.belt.loss_factor == 0.07
    slid = text.replace(
        "arm: {pivot: [-150, 215], length: 85, stops: [265, 300], inertia_kgm2: 0.0015, at_deg: 285}",
        "slide: {from: [-150, 120], to: [-110, 140], mass_kg: 0.4}",
    )
    slide = read_layout(written(tmp_path, slid.split("    spring:")[0] + slid.split("0.35}\n")[1])).layout
    held = slide.pulleys["tensioner"].adjuster
    assert isinstance(held, Slide) and held.mass_kg == 0.4


def test_a_caliper_reading_must_leave_something_at_the_datum_line(tmp_path: Path) -> None:
    text = PLAIN.replace("6PK", "{profile: A, back_over_rim_mm: 3}").replace("diameter: 130", "rim_diameter: 6")
    (fault,) = faults_of(tmp_path, text)
    assert (fault.line, fault.key, fault.allowed) == (
        4,
        "pulleys.pump.rim_diameter",
        "above 6.35 mm, the rim over the datum line",
    )
