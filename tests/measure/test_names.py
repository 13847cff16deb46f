"""Names of points: `A - B`, pulleys that move, marks, and words that are near."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.measure.samples import FREE, TAPED, measured_of, measuring_faults


@pytest.mark.parametrize(
    ("pair", "names"),
    [
        ("a - b", ("a", "b")),
        ("a  -  b", ("a", "b")),
        ("left bolt - water-pump", ("left bolt", "water-pump")),
        ("a \N{EN DASH} b", ("a", "b")),
        ("a \N{EM DASH} b", ("a", "b")),
        ("'1 - 2'", ("1", "2")),
    ],
)
def test_a_pair(tmp_path: Path, pair: str, names: tuple[str, str]) -> None:
    measured = measured_of(tmp_path, f"distances:\n  {pair}: 400\n").measured
    assert (measured.distances[0].first, measured.distances[0].second) == names == measured.points


def test_a_name_with_a_hyphen_in_it_where_the_names_are_known(tmp_path: Path) -> None:
    text = TAPED.replace("bolt", "bolt - old")
    measured = measured_of(tmp_path, text).measured
    assert [(d.first, d.second) for d in measured.distances[-2:]] == [("bolt - old", "crank"), ("bolt - old", "fan")]


@pytest.mark.parametrize("key", ["a", "a -", "- b", "a-b", "a- b", "a - b - c"])
def test_what_is_no_pair(tmp_path: Path, key: str) -> None:
    faults = measuring_faults(tmp_path, FREE + f"angles:\n  '{key}': 40\n")
    assert [(fault.line, fault.key) for fault in faults] == [(3, f"angles.{key}")]
    assert faults[0].allowed == "two points with a hyphen between spaces: A - B"


def test_one_point_twice(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + "angles:\n  a - a: 40\n")
    assert (fault.line, fault.got, fault.allowed) == (3, "'a' twice", "two different points")


def test_the_same_pair_the_other_way_round_is_a_second_reading(tmp_path: Path) -> None:
    measured = measured_of(tmp_path, "distances: {a - b: 400, b - a: 401}").measured
    assert [(d.first, d.second, d.value_mm) for d in measured.distances] == [("a", "b", 400.0), ("b", "a", 401.0)]


def test_an_unknown_point_with_the_one_that_is_near(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace("crank - fan: 400", "crank - fam: 400"))
    assert (fault.line, fault.key) == (17, "distances.crank - fam")
    assert fault.got == "an unknown point 'fam' (did you mean fan?)"
    assert fault.allowed == "crank, pump, fan, tight.pivot and bolt; or add it to `marks`"


def test_a_pulley_that_moves_is_no_point(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace("crank - tight.pivot", "crank - tight"))
    there = ", measured there: what was read to the pulley itself tells nothing"
    assert (fault.line, fault.got, fault.allowed) == (20, "'tight', which its arm moves", f"tight.pivot{there}")
    slide = TAPED.replace("arm: {length: 70, stops: [265, 300]}", "slide: {at: 0.4}").replace("tight.pivot", "tight.to")
    (fault,) = measuring_faults(tmp_path, slide.replace("crank - tight.to", "crank - tight"))
    assert (fault.got, fault.allowed) == ("'tight', which its slide moves", f"tight.from or tight.to{there}")


def test_pulleys_that_nothing_names_are_points_all_the_same(tmp_path: Path) -> None:
    text = TAPED.split("distances:")[0] + "distances: {crank - fan: 400}\n"
    assert measured_of(tmp_path, text).measured.points == ("crank", "pump", "fan", "tight.pivot", "bolt")


def test_many_names_are_not_all_listed(tmp_path: Path) -> None:
    pairs = "".join(f"  a - b{i}: 400\n" for i in range(30))
    (fault,) = measuring_faults(tmp_path, f"origin: z\ndistances:\n{pairs}")
    assert (fault.line, fault.key, fault.got) == (1, "origin", "an unknown point 'z'")
    assert fault.allowed.endswith("b10 and 19 more")


@pytest.mark.parametrize(
    ("mark", "got"),
    [("''", "the name ''"), ("x" * 41, "the name"), ("crank", "'crank', a pulley"), ("[a]", "the name ''")],
)
def test_marks_that_are_none(tmp_path: Path, mark: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace("marks: [bolt]", f"marks: [bolt, {mark}]"))
    assert (fault.line, fault.key) == (14, "marks.2") and fault.got.startswith(got)


def test_a_name_that_is_too_long(tmp_path: Path) -> None:
    faults = measuring_faults(tmp_path, f"distances:\n  a - {'x' * 41}: 400\n")
    assert faults[0].allowed == "a name of 1 to 40 printable characters"


def test_a_mark_without_brackets_is_one_name(tmp_path: Path) -> None:
    fault, *_ = measuring_faults(tmp_path, TAPED.replace("marks: [bolt]", "marks: engine mount bolt"))
    assert fault.key == "marks" and fault.allowed.endswith(": [engine mount bolt]")
