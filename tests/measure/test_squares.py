"""Angles, offsets, the level line and sides: what they come to, and every way in which they make no sense."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.for_each import for_each
from tests.measure.samples import FREE, TAPED, measured_of, measuring_faults


def test_angles(tmp_path: Path) -> None:
    text = "angles:\n  a - b: [71.5, {value: 12, from: plumb, accuracy_deg: 1}]\n  b - a: {value: -90, from: level}\n"
    found = measured_of(tmp_path, text).measured.directions
    assert [(d.first, d.second, round(math.degrees(d.value_rad), 9), d.written, d.line) for d in found] == [
        ("a", "b", 71.5, "71.5", 2),
        ("a", "b", 102.0, "12", 2),
        ("b", "a", -90.0, "-90", 3),
    ]
    assert [math.degrees(d.sd_rad) for d in found] == pytest.approx([0.5, 1.0, 0.5])


@pytest.mark.parametrize(
    ("written", "key", "got"),
    [
        ("361", "", "361"),
        (".nan", "", "'.nan'"),
        ("14 7/8", "", "'14 7/8'"),
        ("12,5", "", "'12,5' (write 12.5, with a decimal point)"),
        ("", "", "nothing"),
        ("{value: 3, from: up}", ".from", "'up' (write plumb)"),
        ("{value: 3, accuracy_deg: 46}", ".accuracy_deg", "46"),
        ("{from: plumb}", ".value", "nothing"),
    ],
)
def test_faults_of_an_angle(tmp_path: Path, written: str, key: str, got: str) -> None:
    faults = measuring_faults(tmp_path, TAPED + f"angles:\n  crank - fan: {written}\n")
    assert [(fault.line, fault.key, fault.got) for fault in faults] == [(26, f"angles.crank - fan{key}", got)]


def test_offsets(tmp_path: Path) -> None:
    text = (
        "units: in\norigin: b\noffsets:\n  a: {x: -9 1/2, y: 30 mm, accuracy_mm: 2}\n  c: [{y: 0, from: a}, {x: 1}]\n"
    )
    found = measured_of(tmp_path, text + "distances: {a - b: 14}\n").measured
    assert [(o.point, o.datum, o.axis, round(o.value_mm, 6), o.sd_mm, o.written, o.line) for o in found.offsets] == [
        ("a", "b", "x", -241.3, 2.0, "-9 1/2", 4),
        ("a", "b", "y", 30.0, 2.0, "30 mm", 4),
        ("c", "a", "y", 0.0, 1.0, "0", 5),
        ("c", "b", "x", 25.4, 1.0, "1", 5),
    ]
    assert found.points == ("a", "c", "b")


@pytest.mark.parametrize(
    ("entry", "key", "got"),
    [
        ("fan: 5", "fan", "'5'"),
        ("fan:", "fan", "nothing"),
        ("fan: {}", "fan.x", "nothing"),
        ("fan: []", "fan", "a list of 0"),
        ("fan: {x: 1/2}", "fan.x", "'1/2' (a fraction goes with inches: 1/2 in; else a decimal: 0.5)"),
        ("fan: {y: [3]}", "fan.y", "a list (write it without brackets)"),
        ("fan: {x: 3, z: 4}", "fan.z", "an unknown key"),
        ("fan: {x: 3, from: fan}", "fan.from", "'fan' itself"),
        ("fan: {x: 3, from: fam}", "fan.from", "an unknown point 'fam' (did you mean fan?)"),
        ("fan: {x: 3, from: [a]}", "fan.from", "a list (write it without brackets)"),
        ("fan: {x: 3, accuracy_mm: -1}", "fan.accuracy_mm", "-1"),
        ("fam: {x: 3}", "fam", "an unknown point 'fam' (did you mean fan?)"),
        ("crank: {x: 3}", "crank.from", "'crank' itself"),
        ("fan: [{x: 3}, 4]", "fan.2", "'4'"),
    ],
)
def test_faults_of_an_offset(tmp_path: Path, entry: str, key: str, got: str) -> None:
    faults = measuring_faults(tmp_path, TAPED + f"offsets:\n  {entry}\n")
    assert [(fault.line, fault.key, fault.got) for fault in faults] == [(26, f"offsets.{key}", got)]


@pytest.mark.parametrize(
    ("level", "got"),
    [
        ("[crank, crank]", "'crank' twice"),
        ("[crank]", "a list of 1"),
        ("[crank, pump, fan]", "a list of 3"),
        ("crank - fan", "'crank - fan'"),
        ("[crank, fam]", "an unknown point 'fam' (did you mean fan?)"),
        ("[crank, tight]", "'tight', which its arm moves"),
        ("{crank: fan}", "a mapping"),
    ],
)
def test_faults_of_the_level_line(tmp_path: Path, level: str, got: str) -> None:
    faults = measuring_faults(tmp_path, TAPED.replace("level: [crank, fan]", f"level: {level}"))
    assert [(fault.line, fault.key, fault.got) for fault in faults] == [(15, "level", got)]


@pytest.mark.parametrize("words", ["above", "above right", "right above", "left, below", "'below left'"])
def test_sides(tmp_path: Path, words: str) -> None:
    found = measured_of(tmp_path, FREE + f"sides:\n  b: {words}\n").measured.sides["b"]
    assert " ".join(found) == words.strip("'").replace(",", "")


@pytest.mark.parametrize(
    "words", ["up", "left right", "below above", "above above", "above left below", "''", "[above, left]", "", "Above"]
)
def test_sides_that_are_none(tmp_path: Path, words: str) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + f"sides:\n  b: {words}\n")
    assert (fault.line, fault.key) == (3, "sides.b") and "above right" in fault.allowed


@for_each(("upper left", "(write above left)"), ("top-right", "(write above right)"), ("bottom", "(write below)"))
def test_a_side_in_other_words_is_told_with_the_one_to_write(tmp_path: Path, words: str, hint: str) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + f"sides:\n  b: {words}\n")
    assert fault.got == f"{words!r} {hint}"


@pytest.mark.parametrize(("name", "got"), [("a", "the origin, from which"), ("z", "an unknown point 'z'")])
def test_sides_of_the_origin_and_of_nobody(tmp_path: Path, name: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + f"sides:\n  {name}: above\n")
    assert (fault.line, fault.key) == (3, f"sides.{name}") and fault.got.startswith(got)


@pytest.mark.parametrize(
    ("origin", "got"), [("z", "an unknown point 'z'"), ("[a]", "a list (write it without brackets)")]
)
def test_faults_of_the_origin(tmp_path: Path, origin: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + f"origin: {origin}\n")
    assert (fault.line, fault.key, fault.got) == (2, "origin", got)
