"""One pulley: each wrong thing gives one fault, at its line and key.

What is allowed is the project's own definition of the layout file; line numbers are counted in the text.
"""

from dataclasses import astuple
from pathlib import Path

import pytest

from beltplan.cure.changes import belt_of_ribs
from beltplan.drive.pulleys import Arm, Pulley, Slide
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
    ("diameter: 130", "diameter: 130, pointer_radius_mm: 39", 4, "pulleys.pump.pointer_radius_mm", "without `arm`"),
    ("diameter: 72", "diameter: 72\n    pointer_radius_mm: 0", 9, "pulleys.tight.pointer_radius_mm", "0"),
    ("diameter: 130", "diameter: 130, tension_N: 500", 4, "pulleys.pump.tension_N", "without `arm` or `slide`"),
    ("diameter: 130", "diameter: 130, spring: {}", 4, "pulleys.pump.spring", "without `arm` or `slide`"),
    ("diameter: 130", "diameter: 130, colour: red", 4, "pulleys.pump.colour", "an unknown key"),
    ("diameter: 130", "diameter: 130, '': 4", 4, "pulleys.pump.", "an unknown key"),
]


@for_each(("compressor", "air_conditioning or air_compressor"), ("vacuum", "vacuum_pump"),
          ("pump", "steering_pump or hydraulic_pump or water_pump or vacuum_pump"))  # fmt: skip
def test_a_role_that_may_be_several_names_them_all(tmp_path: Path, said: str, meant: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("role: water_pump", f"role: {said}"))
    assert fault.got == f"'{said}' (write {meant})"


@for_each("outside_diameter", "od", "rim")
def test_a_size_in_other_words_is_not_missing_as_well(tmp_path: Path, key: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"{key}: 130"))
    assert fault.key == f"pulleys.pump.{key}" and "rim_diameter" in fault.got


@for_each("spring", "load", "mount", "turns", "max_rpm")
def test_none_leaves_out_a_key_whose_default_is_none(tmp_path: Path, key: str) -> None:
    said = PLAIN.replace("role: water_pump", f"role: water_pump, {key}: none")
    assert read_layout(written(tmp_path, said)).layout == read_layout(written(tmp_path, PLAIN)).layout


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


# Planes from a stack of parts, added up by hand; one wrong thing gives one fault, and all of them come at once.
# Groove pitch of PK 3.56 mm: ISO 9982:2021, table 2. The middle of a belt of n ribs lies (n - 1) / 2 pitches past its
# first groove.


STACK = "plane: {stack: {bracket: 19, spacer: 31.5}, to: first_groove}"


def pump(folder: Path, given: str, belt: str = "6PK") -> Pulley:
    text = PLAIN.replace("diameter: 130", f"diameter: 130, {given}").replace("belt: 6PK", f"belt: {belt}")
    return read_layout(written(folder, text)).layout.pulleys["pump"]


@for_each(
    (STACK, "6PK", 50.5 + 2.5 * 3.56),
    (STACK, "7PK", 50.5 + 3.0 * 3.56),
    (f"{STACK}, grooves: 8, first_groove_used: 2", "6PK", 50.5 + 3.5 * 3.56),
    ("plane: {stack: {bracket: 19, spacer: 31.5}, to: face, face_to_first_groove: 4}", "6PK", 54.5 + 2.5 * 3.56),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 6", "6PK", 19.0),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 8", "6PK", 19.0 - 3.56),
    ("plane: {stack: {bracket: 19}, to: middle}, grooves: 8, first_groove_used: 3", "6PK", 19.0 + 3.56),
    ("plane: {stack: {washer: 1/8 in, hub: 2 cm}, to: middle}, grooves: 6", "6PK", 3.175 + 20.0),
)  # fmt: skip
def test_added_up_to_the_middle_of_the_belt(tmp_path: Path, given: str, belt: str, plane: float) -> None:
    assert pump(tmp_path, given, belt).plane_mm == pytest.approx(plane)


def test_in_a_file_in_inches(tmp_path: Path) -> None:
    read = pump(tmp_path, "plane: {stack: {bracket: 3/4, spacer: 1.25}, to: first_groove}", "6PK\nunits: in")
    assert read.plane_mm == pytest.approx(2.0 * 25.4 + 2.5 * 3.56)


def test_a_smooth_pulley_and_a_v_belt_have_their_middle(tmp_path: Path) -> None:
    """One groove of a V-belt: its middle is the belt's."""
    text = PLAIN.replace("diameter: 76", "diameter: 76, plane: {stack: {post: 40}, to: middle}")
    assert read_layout(written(tmp_path, text)).layout.pulleys["idler"].plane_mm == 40.0
    text = PLAIN.replace("belt: 6PK", "belt: {profile: AV13, back_over_rim_mm: 1}").replace(
        "diameter: 130", f"diameter: 130, {STACK}"
    )
    assert read_layout(written(tmp_path, text)).layout.pulleys["pump"].plane_mm == 50.5


def test_a_plane_of_its_own_is_that_of_the_belt_in_whatever_grooves(tmp_path: Path) -> None:
    read = pump(tmp_path, "plane: 12, grooves: 8, first_groove_used: 3")
    assert (read.plane_mm, read.first_groove_used, read.usable_grooves) == (12.0, 3, 6)


@for_each(
    ("plane: {stack: {a: 3}}", "plane.to", "nothing"),
    ("plane: {stack: {a: 3}, to: front}", "plane.to", "'front'"),
    ("plane: {stack: {a: 3}, to: face}", "plane.face_to_first_groove", "nothing"),
    ("plane: {stack: {a: 3}, to: middle}", "plane.to", "middle without `grooves`"),
    ("plane: {stack: {a: 3}, to: first_groove, face_to_first_groove: 4}", "plane.face_to_first_groove", "beside"),
    ("plane: {stack: {a: 3}, to: face, face_to_first_groove: -4}", "plane.face_to_first_groove", "-4"),
    ("plane: {stack: {a: -3}, to: first_groove}", "plane.stack.a", "-3"),
    ("plane: {stack: {a: wide}, to: first_groove}", "plane.stack.a", "'wide'"),
    ("plane: {stack: {a: [3]}, to: first_groove}", "plane.stack.a", "a list"),
    ("plane: {stack: {a: }, to: first_groove}", "plane.stack", "an empty mapping"),
    ("plane: {stack: {}, to: first_groove}", "plane.stack", "an empty mapping"),
    ("plane: {stack: 3, to: first_groove}", "plane.stack", "'3'"),
    ("plane: {to: first_groove}", "plane.stack", "nothing"),
    ("plane: {stak: {a: 3}, to: first_groove}", "plane.stak", "did you mean stack?"),
    ("plane: [3]", "plane", "a list"),
    ("first_groove_used: 2", "first_groove_used", "2 without `grooves`"),
    ("grooves: 6, first_groove_used: 0", "first_groove_used", "0"),
    ("grooves: 6, first_groove_used: 7", "first_groove_used", "7 of 6 grooves"),
    ("tilt_deg: [1]", "tilt_deg", "a list of 1"),
    ("tilt_deg: [0.5, 11]", "tilt_deg", "11"),
    ("tilt_deg: 0.5", "tilt_deg", "'0.5'"),
)  # fmt: skip
def test_one_wrong_plane_one_fault(tmp_path: Path, given: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {given}"))
    assert (fault.line, fault.key) == (4, f"pulleys.pump.{key}") and got in fault.got and fault.allowed


@for_each(
    ("first_groove_used: 2", "first_groove_used", "2 on the back of the belt"),
    ("plane: {stack: {a: 3}, to: first_groove}", "plane.to", "first_groove on the back of the belt"),
    ("plane: {stack: {a: 3}, to: face, face_to_first_groove: 3}", "plane.to", "face on the back of the belt"),
)  # fmt: skip
def test_a_smooth_face_has_no_grooves(tmp_path: Path, given: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 76", f"diameter: 76, {given}"))
    assert (fault.line, fault.key, fault.got) == (5, f"pulleys.idler.{key}", got)


def test_v_grooves_have_no_known_pitch(tmp_path: Path) -> None:
    wide = "diameter: 130, grooves: 2, plane: {stack: {a: 3}, to: middle}, first_groove_used: 2"
    text = PLAIN.replace("belt: 6PK", "belt: {profile: AV13, back_over_rim_mm: 1}").replace("diameter: 130", wide)
    assert [fault.key for fault in faults_of(tmp_path, text)] == [
        "pulleys.pump.first_groove_used",
        "pulleys.pump.plane.to",
    ]


def test_of_a_belt_that_cannot_be_read_nothing_is_asked(tmp_path: Path) -> None:
    """A V-belt's one groove needs no number of grooves."""
    given = PLAIN.replace("diameter: 130", "diameter: 130, plane: {stack: {a: 3}, to: middle}")
    (fault,) = faults_of(tmp_path, given.replace("belt: 6PK", "belt: 6QK"))
    assert fault.key == "belt"


def test_everything_wrong_in_a_stack_at_once(tmp_path: Path) -> None:
    given = "diameter: 130, plane: {stack: {a: -3, b: x}, to: front, on: 3}, first_groove_used: 2, tilt_deg: [x, 0]"
    found = {fault.key for fault in faults_of(tmp_path, PLAIN.replace("diameter: 130", given))}
    below = ("plane.stack.a", "plane.stack.b", "plane.to", "plane.on", "first_groove_used", "tilt_deg")
    assert found == {f"pulleys.pump.{key}" for key in below}


def test_one_rib_more_moves_the_belt_as_the_file_would(tmp_path: Path) -> None:
    """Half a pitch: the first groove stays where it is."""
    text = PLAIN.replace("diameter: 130", f"diameter: 130, {STACK}").replace("diameter: 190", "diameter: 190, plane: 1")
    wider = belt_of_ribs(7, "PK").applied(read_layout(written(tmp_path, text)).layout)
    read = read_layout(written(tmp_path, text.replace("belt: 6PK", "belt: 7PK"))).layout
    planes = [{name: p.plane_mm for name, p in each.pulleys.items()} for each in (wider, read)]
    assert planes[0] == pytest.approx(planes[1]) and planes[0]["crank"] == 1.0


# `diameters`, `idler_sizes` and `movable_mm`: what is read, and what is refused.


OF_PUMP = "pump: {role: water_pump, "


def with_pump(keys: str) -> str:
    return PLAIN.replace(OF_PUMP, f"{OF_PUMP}{keys}, ")


def test_read_rising_and_each_once(tmp_path: Path) -> None:
    text = "idler_sizes: [90, 65, 90]\n" + with_pump("diameters: [140, 120], movable_mm: 30")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.idler_sizes_mm == (65.0, 90.0)
    assert (layout.pulleys["pump"].diameters_mm, layout.pulleys["pump"].movable_mm) == ((120.0, 140.0), 30.0)


def test_nothing_said(tmp_path: Path) -> None:
    layout = read_layout(written(tmp_path, PLAIN)).layout
    assert layout.idler_sizes_mm == ()
    assert (layout.pulleys["pump"].diameters_mm, layout.pulleys["pump"].movable_mm) == ((), 0.0)


def test_sizes_in_inches_but_movable_in_millimetres(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (ISO 31-1)."""
    text = "units: in\nidler_sizes: [3]\n" + with_pump("diameters: [5], movable_mm: 30")
    layout = read_layout(written(tmp_path, text)).layout
    assert layout.idler_sizes_mm == pytest.approx((76.2,))
    assert layout.pulleys["pump"].diameters_mm == pytest.approx((127.0,))
    assert layout.pulleys["pump"].movable_mm == 30.0


@for_each(
    ("idler_sizes: 90\n" + PLAIN, "idler_sizes", "'90'"),
    ("idler_sizes: []\n" + PLAIN, "idler_sizes", "a list of 0"),
    ("idler_sizes: [0.5]\n" + PLAIN, "idler_sizes.1", "0.5"),
    ("idler_sizes: [90, big]\n" + PLAIN, "idler_sizes.2", "'big'"),
    (with_pump("diameters: [120, .nan]"), "pulleys.pump.diameters.2", "'.nan'"),
    (with_pump("diameters: {a: 1}"), "pulleys.pump.diameters", "a mapping"),
    (with_pump("movable_mm: -1"), "pulleys.pump.movable_mm", "-1"),
    (with_pump("movable_mm: far"), "pulleys.pump.movable_mm", "'far'"),
)
def test_refused_with_the_line(tmp_path: Path, text: str, key: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, text)
    assert (fault.key, got in fault.got) == (key, True), fault
    assert fault.line >= 1 and fault.allowed


# `uncertainty` of a layout and of a pulley: what is read, and what is refused.


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
