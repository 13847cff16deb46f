"""Distances and diameters as they are written, and every way in which they make no sense."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.measure.samples import TAPED, measured_of, measuring_faults

CLOSE = "crank - pump: 300"
"""The distance of TAPED, on line 18, that the tests of faults write anew."""
SIZED = TAPED.replace("  pump - fan: 500\n", "") + "diameters:\n  pump: 120\n"


def test_every_form(tmp_path: Path) -> None:
    text = """\
units: in
accuracy: {distance_mm: 0.8}
diameters: {a: 6, b: 4}
distances:
  a - b: [14 7/8, 14.875, 377.8 mm, {value: 15, accuracy_mm: 2}]
  a - c: {value: 12 1/2}
  b - a: [{value: 19 7/8, outside: true}, {value: 0, gap: true}]
"""
    found = measured_of(tmp_path, text).measured
    assert found.in_inches and found.tape_mm == 0.8
    assert [(round(d.value_mm, 4), d.sd_mm, d.between, d.written, d.line) for d in found.distances] == [
        (377.825, 0.8, "centres", "14 7/8", 5),
        (377.825, 0.8, "centres", "14.875", 5),
        (377.8, 0.8, "centres", "377.8 mm", 5),
        (381.0, 2.0, "centres", "15", 5),
        (317.5, 0.8, "centres", "12 1/2", 6),
        (504.825, 0.8, "outside", "19 7/8", 7),
        (0.0, 0.8, "gap", "0", 7),
    ]


@pytest.mark.parametrize(
    ("written", "key", "got"),
    [
        ("0", "", "'0'"),
        ("0 mm", "", "'0 mm'"),
        ("-300", "", "'-300'"),
        ("1e9", "", "'1e9'"),
        ("14 9/8", "", "'14 9/8' (its fraction is one or more)"),
        ("61/2", "", "'61/2' (its fraction is one or more)"),
        ("115/16", "", "'115/16' (its fraction is one or more)"),
        ("14 7/8", "", "'14 7/8' (a fraction goes with inches: 14 7/8 in; else a decimal: 14.875)"),
        ("300,5", "", "'300,5' (write 300.5, with a decimal point)"),
        (".nan", "", "'.nan'"),
        ("far", "", "'far'"),
        ("", "", "nothing"),
        ("[]", "", "a list of 0"),
        ("[300, [301]]", ".2", "a list (write it without brackets)"),
        ("[300, 0 in]", ".2", "'0 in'"),
        ("[300,5, 301]", ".2", "'5' beside '300' for the same two points"),
        ("[85, 186]", ".2", "'186' beside '85' for the same two points"),
        ("{}", ".value", "nothing"),
        ("{value: ~}", ".value", "nothing"),
        ("{value: 0}", ".value", "'0'"),
        ("{value: {}}", ".value", "a mapping"),
        ("{value: 300, outer: true}", ".outer", "an unknown key"),
        ("{value: 300, accuracy_mm: 0}", ".accuracy_mm", "0"),
        ("{value: 300, accuracy_mm: 101}", ".accuracy_mm", "101"),
        ("{value: 300, outside: yes}", ".outside", "'yes' (write true)"),
        ("{value: 300, outside: true, gap: true}", ".gap", "both outside and gap"),
        ("{value: -1, gap: true}", ".value", "'-1'"),
        ("{valu: 300}", ".valu", "an unknown key (did you mean value?)"),
    ],
)
def test_faults_of_a_distance(tmp_path: Path, written: str, key: str, got: str) -> None:
    faults = measuring_faults(tmp_path, TAPED.replace(CLOSE, f"crank - pump: {written}"))
    assert [(fault.line, fault.key) for fault in faults] == [(18, f"distances.crank - pump{key}")]
    assert faults[0].got == got or (got == "an unknown key" and faults[0].got.startswith(got))


def test_a_list_over_several_lines_names_the_line_of_the_reading(tmp_path: Path) -> None:
    faults = measuring_faults(tmp_path, TAPED.replace(CLOSE, "crank - pump:\n    - 300\n    - 12 1/3"))
    assert [(fault.line, fault.key) for fault in faults] == [(20, "distances.crank - pump.2")]


@pytest.mark.parametrize("way", ["outside", "gap"])
def test_over_a_rim_of_which_nothing_is_known(tmp_path: Path, way: str) -> None:
    text = TAPED.replace("bolt - crank: 100", f"bolt - crank: {{value: 300, {way}: true}}")
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.got) == (22, f"{way} without a diameter of bolt")
    assert measured_of(tmp_path, text + "diameters: {bolt: 10}\n").measured.distances[5].between == way


def test_the_profile_of_the_belt_must_be_known_for_a_rim_by_the_effective_diameter(tmp_path: Path) -> None:
    text = TAPED.replace(CLOSE, "crank - pump: {value: 440, outside: true}").replace("belt: 6PK\n", "")
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.got) == (17, "outside without a diameter of crank"), "the pump's is over its rim"


@pytest.mark.parametrize(("factor", "fits"), [(0.99, False), (1.01, True)])
def test_outside_must_be_more_than_both_radii(tmp_path: Path, factor: float, fits: bool) -> None:
    value = 0.5 * (120.0 + 100.0) * factor
    text = TAPED.replace("pump - fan: 500", f"pump - fan: {{value: {value:.3f}, outside: true}}")
    if fits:
        assert measured_of(tmp_path, text).measured.distances[2].value_mm == pytest.approx(value)
    else:
        (fault,) = measuring_faults(tmp_path, text)
        assert (fault.line, fault.key) == (19, "distances.pump - fan") and fault.allowed.startswith("above 110.0 mm")


@pytest.mark.parametrize(
    ("written", "key", "got"),
    [
        ("0", "", "'0'"),
        ("-3", "", "'-3'"),
        ("1/2", "", "'1/2' (a fraction goes with inches: 1/2 in; else a decimal: 0.5)"),
        ("{value: 9, accuracy_mm: 60}", ".accuracy_mm", "60"),
        ("", "", "nothing"),
    ],
)
def test_faults_of_a_diameter(tmp_path: Path, written: str, key: str, got: str) -> None:
    faults = measuring_faults(tmp_path, SIZED.replace("pump: 120\n", f"pump: {written}\n"))
    assert [(fault.line, fault.key, fault.got) for fault in faults] == [(25, f"diameters.pump{key}", got)]


@pytest.mark.parametrize("name", ["tight.pivott", "pum"])
def test_a_diameter_of_nobody(tmp_path: Path, name: str) -> None:
    (fault,) = measuring_faults(tmp_path, SIZED.replace("  pump: 120\n", f"  {name}: 120\n"))
    assert (fault.line, fault.key) == (25, f"diameters.{name}") and "did you mean" in fault.got


@pytest.mark.parametrize("key", ["distances", "diameters"])
@pytest.mark.parametrize(("value", "got"), [("{}", "a mapping of 0"), ("[1]", "a list"), ("5", "'5'")])
def test_what_is_no_mapping(tmp_path: Path, key: str, value: str, got: str) -> None:
    text = TAPED.split("distances:")[0] + "angles: {crank - fan: 3}\n" + f"{key}: {value}\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.key, fault.got) == (17, key, got)


@pytest.mark.parametrize(
    ("key", "value"),
    [("distance_mm", "0"), ("angle_deg", "46"), ("offset_mm", ".inf"), ("diameter_mm", "-1"), ("place_px", "x")],
)
def test_faults_of_the_accuracy(tmp_path: Path, key: str, value: str) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED + f"accuracy: {{{key}: {value}}}\n")
    assert (fault.line, fault.key) == (25, f"accuracy.{key}")
