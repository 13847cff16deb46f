"""Names of points: `A - B`, pulleys that move, marks, and words that are near."""

import math
import re
from pathlib import Path

import pytest

from tests.for_each import for_each
from tests.measure.samples import FREE, TAPED, measured_of, measuring_faults
from tests.told import whole_in


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


@for_each(
    ("crankshaft", "shaft", "crank, whose role is crankshaft"),
    ("coolant_pump", "coolant", "pump, whose role is water_pump"),
    ("adjuster", "adjust", "tight.pivot, whose role is tensioner"),
)
def test_a_role_in_the_place_of_a_name_wins_over_likeness_of_letters(
    tmp_path: Path, said: str, like: str, meant: str
) -> None:
    text = TAPED.replace("bolt", like) + f"origin: {said}\n"
    (fault,) = measuring_faults(tmp_path, text)
    assert fault.got == f"an unknown point {said!r} (write {meant})"


def test_a_role_of_two_pulleys_is_no_name(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace("role: fan", "role: water_pump") + "origin: coolantpump\n")
    assert fault.got == "an unknown point 'coolantpump'"


def test_a_pulley_that_moves_is_no_point(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace("crank - tight.pivot", "crank - tight"))
    there = ", measured there: the pulley itself moves. Or lay a string round the two and give `loops: {string: "
    string = "{pulleys: [crank, tight], length: LENGTH, arm_deg: DEG}"
    told = f"tight.pivot{there}{string}}}`"
    assert (fault.line, fault.got, fault.allowed) == (20, "'tight', which its arm moves", told)
    laid = string.replace("LENGTH", "800").replace("DEG", "280")
    assert measured_of(tmp_path, f"{TAPED}loops: {{string: {laid}}}\n").measured.loops[0].points == (
        "crank",
        "tight.pivot",
    )
    slide = TAPED.replace("arm: {length: 70, stops: [265, 300]}", "slide: {at: 0.4}").replace("tight.pivot", "tight.to")
    (fault,) = measuring_faults(tmp_path, slide.replace("crank - tight.to", "crank - tight"))
    told = f"tight.from or tight.to{there}{string.replace('arm_deg: DEG', 'slide_end: from')}}}`"
    assert (fault.got, fault.allowed) == ("'tight', which its slide moves", told)


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


# Distances and diameters as they are written, and every way in which they make no sense.


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
        ("[300, [301]]", ".2", "a list (write 301, without brackets)"),
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


def test_an_origin_by_its_place_is_asked_for_its_name(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED + "origin: [0, 0]\n")
    assert (fault.got, fault.allowed.endswith(", as origin: crank")) == ("a list", True)


def test_of_a_misspelt_diameter_only_the_misspelling_is_told(tmp_path: Path) -> None:
    text = TAPED.replace(CLOSE, "crank - pump: {value: 440, outside: true}")
    (fault,) = measuring_faults(tmp_path, text.replace(", diameter:", ", diamater:", 1))
    assert fault.got == "an unknown key (did you mean diameter?)"


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


# Angles, offsets, the level line and sides: what they come to, and every way in which they make no sense.


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
        ("fan: {y: [3]}", "fan.y", "a list (write 3, without brackets)"),
        ("fan: {x: 3, z: 4}", "fan.z", "an unknown key"),
        ("fan: {x: 3, from: fan}", "fan.from", "'fan' itself"),
        ("fan: {x: 3, from: fam}", "fan.from", "an unknown point 'fam' (did you mean fan?)"),
        ("fan: {x: 3, from: [a]}", "fan.from", "a list (write a, without brackets)"),
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


@pytest.mark.parametrize(
    "words", ["above", "above right", "right above", "left, below", "'below left'", "[above, left]", "above/left"]
)
def test_sides(tmp_path: Path, words: str) -> None:
    found = measured_of(tmp_path, FREE + f"sides:\n  b: {words}\n").measured.sides["b"]
    assert " ".join(found) == words.strip("'[]").replace(",", "").replace("/", " ")


@pytest.mark.parametrize(
    "words", ["up", "left right", "below above", "above above", "above left below", "''", "[above, 3]", "", "Above"]
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
    ("origin", "got"), [("z", "an unknown point 'z'"), ("[a]", "a list (write a, without brackets)")]
)
def test_faults_of_the_origin(tmp_path: Path, origin: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, FREE + f"origin: {origin}\n")
    assert (fault.line, fault.key, fault.got) == (2, "origin", got)


@for_each(
    ("crank - fan: 400", "crank to fan: 400", "'crank to fan' (write crank - fan)"),
    ("crank - fan: 400", "crank/fan: 400", "'crank/fan' (write crank - fan)"),
    ("crank - fan: 400", "Crank-fan: 400", "'Crank-fan' (write crank - fan)"),
    ("pump - tight.pivot", "PUMP - tight_pivot", "two unknown points (write pump - tight.pivot)"),
    ("crank - fan: 400", "Crank - fan: 400", "an unknown point 'Crank' (write crank)"),
    ("crank - fan: 400", "crank - fan: {gap: 310}", "a number at `gap` (write {value: 310, gap: true})"),
    ("crank - fan: 400", "crank - fan: {value: 400, gap: }", "nothing"),
    ("crank - fan: 400", "crank - fan: {value: 400, gap}", "no value (write gap: true)"),
    ("crank - fan: 400", "crank - fan: {value: 400, outside, true}", "no value (write outside: true)"),
    ("crank - fan: 400", "crank - fan: {length: 400}", "an unknown key (write value)"),
    ("crank - fan: 400", "crank - fan: [value: 550, outside: true]",
     "a list of keys (write {value: 550, outside: true})"),
    ("pump: above, t", "pump=above, t", "no colon (write pump: above, with a colon and a space)"),
    ("marks: [bolt]", "marks: bolt", "'bolt'"),
    ("sides: {", "offsets: {fan: [400, 0]}\nsides: {", "a list (write {x: 400, y: 0})"),
)  # fmt: skip
def test_a_slip_is_one_fault_with_the_text_to_type(tmp_path: Path, right: str, slip: str, got: str) -> None:
    (fault,) = measuring_faults(tmp_path, TAPED.replace(right, slip))
    assert fault.got == got and fault.line == TAPED[: TAPED.index(right)].count("\n") + 1


CALIPERS = "diameters:\n  pump: 120\n"


@for_each(
    ("diameters:\n", "diamters:\n"),
    ("diameters:\n  pump: 120\n", "accuracy:\n  diameters:\n    pump: 120\n"),
    ("diameters:\n  pump: 120\n", "accuracy:\n  diameters:\n  pump: 120\n"),
    ("  pump: 120\n", "pump: 120\n  fan: 100\n"),
    ("  pump: 120\n", "  pumpp: 120\n"),
)
def test_what_hangs_on_a_misplaced_or_misspelt_rim_has_no_fault(tmp_path: Path, right: str, slip: str) -> None:
    sound = TAPED.replace(", rim_diameter: 120", "").replace(
        "crank - pump: 300", "crank - pump: {value: 440, outside: true}"
    )
    measured_of(tmp_path, sound + CALIPERS)
    faults = measuring_faults(tmp_path, sound + CALIPERS.replace(right, slip))
    assert {fault.line for fault in faults} <= {25, 26, 27} and "diameter of pump" not in str(faults)


@for_each(
    ("[{value: [300, 301]}, {outside: true}]", [(300.0, "outside"), (301.0, "outside")]),
    ("{value: [300, 301], gap: true}", [(300.0, "gap"), (301.0, "gap")]),
    ("[300, gap: true]", [(300.0, "gap")]),
    ("300\n  crank - pump: 301", [(300.0, "centres"), (301.0, "centres")]),
    ("[300, 302]\n  crank - pump: {value: 301, gap: true}",
     [(300.0, "centres"), (302.0, "centres"), (301.0, "gap")]),
)  # fmt: skip
def test_several_readings_of_one_distance_with_the_text_that_holds_all(
    tmp_path: Path, slip: str, held: list[tuple[float, str]]
) -> None:
    """What is shown, put in the place of the slip, is read as those readings."""
    (fault,) = measuring_faults(tmp_path, TAPED.replace("crank - pump: 300", f"crank - pump: {slip}"))
    meant = whole_in((fault.got + fault.allowed).partition("write ")[2])
    read = measured_of(tmp_path, TAPED.replace("crank - pump: 300", f"crank - pump: {meant}")).measured.distances
    assert [(each.value_mm, each.between) for each in read if each.points == ("crank", "pump")] == held


def test_two_loops_of_one_name_are_two_readings(tmp_path: Path) -> None:
    """Both lines are told, and what holds both is read."""
    one, two = (f"{{length: {mm}, pulleys: [crank, pump, fan]}}" for mm in (1702, 1704))
    (fault,) = measuring_faults(tmp_path, TAPED.replace("sides:", f"loops:\n  wire: {one}\n  wire: {two}\nsides:"))
    assert (fault.line, fault.key) == (26, "loops.wire")
    assert fault.got == f"the key twice: {one} in line 25, {two} in line 26"
    assert fault.allowed.endswith(f"read twice: write [{one}, {two}]")
    meant = fault.allowed.partition("write ")[2]
    read = measured_of(tmp_path, TAPED.replace("sides:", f"loops: {{wire: {meant}}}\nsides:")).measured.loops
    assert [each.value_mm for each in read] == [1702.0, 1704.0]


@for_each(("pump", "pmup"), ("tight", "tigth"), ("fan", "fna"), ("crank", "carnk"))
def test_a_pulley_misspelt_where_it_is_defined_is_one_fault_without_a_route_too(
    tmp_path: Path, good: str, bad: str
) -> None:
    text = re.sub("route: .*\n", "", TAPED).replace(f"  {good}:", f"  {bad}:")
    (fault,) = measuring_faults(tmp_path, text)
    assert fault.key == f"pulleys.{bad}" and f"(write {good}, as in line " in fault.got


def test_a_mark_that_is_like_a_pulley_which_nothing_measures_is_no_other_name_of_it(tmp_path: Path) -> None:
    text = (
        TAPED.replace("bolt", "pumb")
        .replace("  crank - pump: 300\n  pump - fan: 500\n", "")
        .replace("pump: ab", "fan: ab")
    )
    text = re.sub("route: .*\n", "", text).replace("  pump - tight.pivot: 250\n", "")
    assert measured_of(tmp_path, text).measured.marks == ("pumb",)
