"""A measurements file as a whole: what stands in it comes out, and every fault is told at once with its line."""

import re
from pathlib import Path

import pytest

from beltplan.drive.profiles import PROFILES
from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import MEASURED_BY, read_every_layout, read_layout
from beltplan.measure.measurements_file import read_measurements
from beltplan.measure.study import measuring_of
from tests.for_each import for_each
from tests.measure.samples import FREE, TAPED, measured_of, measuring_faults, written


def test_what_stands_in_it(tmp_path: Path) -> None:
    file = measured_of(tmp_path, TAPED)
    measured = file.measured
    assert measured.points == ("crank", "pump", "fan", "tight.pivot", "bolt") and measured.marks == ("bolt",)
    assert (measured.title, measured.origin, measured.level) == ("Bench", "crank", ("crank", "fan"))
    assert [(d.first, d.second, d.value_mm, d.line) for d in measured.distances][:2] == [
        ("crank", "fan", 400.0, 17),
        ("crank", "pump", 300.0, 18),
    ]
    assert {d.between for d in measured.distances} == {"centres"}
    assert [size.pulley for size in measured.diameters] == ["crank", "pump", "fan"], "the tensioner's own centre moves"
    assert measured.sides == {"pump": ("above",), "tight.pivot": ("above", "left"), "bolt": ("below",)}
    assert file.layout is not None and file.missing == () and not measured.in_inches


def test_without_pulleys_any_name_is_a_point(tmp_path: Path) -> None:
    file = measured_of(tmp_path, FREE)
    assert file.measured.points == ("a", "b", "c") and file.measured.origin == "a" and file.measured.marks == ()
    assert file.layout is None and file.missing == ("belt", "pulleys", "route")
    assert file.measured.title == "measured"


def test_pulleys_without_belt_and_route(tmp_path: Path) -> None:
    text = TAPED.replace("belt: 6PK\n", "").replace("route: [crank, tight, pump, fan]\n", "")
    file = measured_of(tmp_path, text)
    assert file.layout is None and file.missing == ("belt", "route")
    assert len(file.measured.distances) == 7


@pytest.mark.parametrize(
    ("head", "origin"),
    [("", "crank"), ("origin: fan\n", "fan"), ("origin: tight.pivot\n", "tight.pivot"), ("origin: bolt\n", "bolt")],
)
def test_the_origin(tmp_path: Path, head: str, origin: str) -> None:
    text = TAPED.replace("sides: {pump: above, tight.pivot: above left, bolt: below}\n", "")
    assert measured_of(tmp_path, head + text).measured.origin == origin


def test_the_crankshaft_is_the_origin_wherever_it_stands(tmp_path: Path) -> None:
    lines = TAPED.splitlines(keepends=True)
    text = "".join([*lines[:4], lines[5], lines[4], *lines[6:]])
    assert measured_of(tmp_path, text).measured.points[0] == "pump"
    assert measured_of(tmp_path, text).measured.origin == "crank"


def test_the_first_name_is_the_origin_without_a_crankshaft(tmp_path: Path) -> None:
    text = TAPED.replace("role: crankshaft", "drives: true, role: other").split("sides:")[0]
    assert measured_of(tmp_path, text).measured.origin == "crank"


def test_the_origin_may_say_where_it_stands(tmp_path: Path) -> None:
    file = measured_of(tmp_path, TAPED.replace("{role: crankshaft,", "{role: crankshaft, at: [0, 0],"))
    assert file.layout is not None and file.layout.pulleys["crank"].at_mm == (0.0, 0.0)


def test_rims_from_calipers_else_from_the_pulley(tmp_path: Path) -> None:
    """Sizes by the belt's profile: effective diameter and rim differ by its own amount (belts.profile_data)."""
    text = TAPED.replace("crank - pump: 300", "crank - pump: {value: 440, outside: true}").replace(
        "pump - fan: 500", "pump - fan: {value: 390, gap: true}"
    )
    sizes = {size.pulley: size for size in measured_of(tmp_path, text).measured.diameters}
    rim_over_line = PROFILES["PK"].rim_minus_line_mm
    assert {name: size.value_mm for name, size in sizes.items()} == pytest.approx(
        {"crank": 160.0 + rim_over_line, "pump": 120.0, "fan": 100.0}
    )
    assert {size.sd_mm for size in sizes.values()} == {0.2}
    assert (sizes["pump"].written, sizes["pump"].line) == ("120", 6)
    more = text + "diameters: {pump: [119, {value: 121, accuracy_mm: 0.5}], tight: 72}\n"
    every = measured_of(tmp_path, more)
    assert [(size.pulley, size.value_mm, size.sd_mm) for size in every.measured.diameters[:2]] == [
        ("pump", 119.0, 0.2),
        ("pump", 121.0, 0.5),
    ]
    assert [size.pulley for size in every.diameters] == ["pump", "pump", "tight"]
    assert "tight" not in {size.pulley for size in every.measured.diameters}, "it moves: it is no point"


_RIMS = "above {} mm, which its rims alone need: {}"


@pytest.mark.parametrize(
    ("old", "new", "line", "allowed"),
    [
        ("value: 440", "value: 140", 18,
         _RIMS.format("140.0", "crank 160 (line 5) and pump 120 (line 6)")),
        ("rim_diameter: 120", "rim_diameter: 1200", 18,
         _RIMS.format("680.0", "crank 160 (line 5) and pump 1200 (line 6, over 4 times any other: look there "
                          "first)")),
        ("sides:", "loops: {wire: {length: 559, pulleys: [crank, pump, tight], arm_deg: 280}}\nsides:", 24,
         _RIMS.format("560.0", "pump 120 (line 6) and crank 160 (line 5)")),
        ("value: 440", "value: 44", 18,
         _RIMS.format("140.0", "crank 160 (line 5) and pump 120 (line 6)")),
    ],
)  # fmt: skip
def test_a_length_too_short_for_its_rims_is_told_with_all_that_do_not_go_together(
    tmp_path: Path, old: str, new: str, line: int, allowed: str
) -> None:
    """By hand: half of 160 and 120 is 140, half of 160 and 1200 is 680; twice 160 and 120 is 560."""
    text = TAPED.replace("diameter: 160", "rim_diameter: 160").replace(
        "crank - pump: 300", "crank - pump: {value: 440, outside: true}"
    )
    (fault,) = measuring_faults(tmp_path, text.replace(old, new))
    assert (fault.line, fault.allowed) == (line, allowed)
    in_cm = new == "value: 44"
    assert fault.got.endswith(" (in cm? Then write 44 cm)") is in_cm
    if in_cm:
        measured_of(tmp_path, text.replace(old, "value: 44 cm"))


def test_a_pulleys_own_accuracy_holds_for_its_own_rim(tmp_path: Path) -> None:
    text = TAPED.replace("rim_diameter: 120", "rim_diameter: 120, uncertainty: {diameter_mm: 0.7}").replace(
        "crank - pump: 300", "crank - pump: {value: 440, outside: true}"
    )
    sizes = {size.pulley: size.sd_mm for size in measured_of(tmp_path, text).measured.diameters}
    assert sizes == {"crank": 0.2, "pump": 0.7, "fan": 0.2}


def test_variants_and_obstacles_are_read_as_in_a_layout(tmp_path: Path) -> None:
    more = "variants: {low fan: {pulleys: {fan: {at: [390, -20]}}}}\n"
    more += "obstacles: {hose: {circle: {at: [9, 9], diameter: 3}}}\n"
    file = measured_of(tmp_path, TAPED + more)
    assert file.layout is not None and len(file.layout.obstacles) == 1
    wrong = more.replace("390, -20", "390").replace("diameter: 3", "diameter: -3")
    assert [(fault.line, fault.key) for fault in measuring_faults(tmp_path, TAPED + wrong)] == [
        (25, "variants.low fan.pulleys.fan.at"),
        (26, "obstacles.hose.circle.diameter"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "got"),
    [
        ("6PK", "6QK", 3, "belt", "'6QK' (not a belt designation)"),
        ("diameter: 72", "diameter: seventy", 10, "pulleys.tight.diameter", "'seventy'"),
        ("role: fan,", "role: fun,", 7, "pulleys.fan.role", "'fun' (did you mean fan?)"),
        ("route: [crank, tight, pump, fan]", "route: [crank, pump, fan]", 13, "route", "a route without 'tight', with"),
        ("title: Bench", "title: Bench\ndistnaces: {}", 2, "distnaces", "an unknown key (`distances` is there too"),
        ("rim_diameter: 120", "grooves: 5", 6, "pulleys.pump.diameter", "nothing"),
        ("units: mm", "units: cm", 2, "units", "'cm'"),
        ("length: 70,", "", 12, "pulleys.tight.arm.length", "nothing"),
        ("tight.pivot: above left", "tight.pivot: top left", 24, "sides.tight.pivot", "'top left' (write above left)"),
    ],
)
def test_faults_of_the_layout(tmp_path: Path, old: str, new: str, line: int, key: str, got: str) -> None:
    assert TAPED.count(old) == 1
    faults = measuring_faults(tmp_path, TAPED.replace(old, new))
    assert [(fault.line, fault.key) for fault in faults] == [(line, key)] and faults[0].got.startswith(got)


@pytest.mark.parametrize(
    ("old", "new", "line", "key"),
    [
        ("role: fan,", "role: fan, at: [400, 0],", 7, "pulleys.fan.at"),
        ("role: crankshaft,", "role: crankshaft, at: [5, 0],", 5, "pulleys.crank.at"),
        ("arm: {length", "arm: {pivot: [1, 2], length", 12, "pulleys.tight.arm.pivot"),
    ],
)
def test_places_that_are_given(tmp_path: Path, old: str, new: str, line: int, key: str) -> None:
    faults = measuring_faults(tmp_path, TAPED.replace(old, new))
    assert [(fault.line, fault.key) for fault in faults] == [(line, key)]
    assert faults[0].got.startswith("a place, ") and "nothing" in faults[0].allowed


def test_a_planned_place_is_told_as_offsets_that_can_be_read(tmp_path: Path) -> None:
    new = "  new: {role: idler, belt_side: back, diameter: 70, movable_mm: 20"
    text = TAPED.replace("  tight:\n", f"{new}, at: [60, -80.5]}}\n  tight:\n").replace(
        "[crank, tight", "[crank, new, tight"
    )
    (fault,) = measuring_faults(tmp_path, text)
    shown = re.search(r"; a planned place: give it under `offsets`, `(.*)`$", fault.allowed)
    assert shown is not None and shown[1] == "new: {x: 60, y: -80.5}"
    mended = text.replace(", at: [60, -80.5]", "") + f"offsets:\n  {shown[1]}\n"
    found = measuring_of(measured_of(tmp_path, mended).measured)
    assert found.centre("new").at_mm == pytest.approx((60.0, -80.5), abs=0.01)
    # Nothing is there yet that could be measured.
    assert found.further and not any("new" in (each.first, each.second) for each in found.further)


def test_ends_of_a_slide_that_are_given(tmp_path: Path) -> None:
    text = TAPED.replace("arm: {length: 70, stops: [265, 300]}", "slide: {from: [1, 2], at: 0.4}").replace(
        "tight.pivot", "tight.from"
    )
    faults = measuring_faults(tmp_path, text)
    assert [(fault.line, fault.key) for fault in faults] == [(12, "pulleys.tight.slide.from")]
    assert measured_of(tmp_path, text.replace("from: [1, 2], ", "")).measured.points[3:5] == ("tight.from", "tight.to")
    # An empty one is meant as `slide: {}`: its ends are what is measured.
    bare = text.replace("slide: {from: [1, 2], at: 0.4}", "slide:")
    assert measured_of(tmp_path, bare).measured.points[3:5] == ("tight.from", "tight.to")
    for said in (" yes", " true", " {from, to}", " [from, to]"):
        (fault,) = measuring_faults(tmp_path, bare.replace("slide:", f"slide:{said}"))
        assert fault.key == "pulleys.tight.slide" and "`slide: {}`" in fault.allowed


def test_every_fault_at_once_by_line(tmp_path: Path) -> None:
    text = TAPED.replace("6PK", "6QK").replace("pump - fan: 500", "pump - fam: 14 9/8")
    text = text.replace("bolt: below", "bolt: below above").replace("role: fan,", "role: fan, at: [1, 1],")
    assert [(fault.line, fault.key) for fault in measuring_faults(tmp_path, text)] == [
        (3, "belt"),
        (7, "pulleys.fan.at"),
        (19, "distances.pump - fam"),
        (19, "distances.pump - fam"),
        (24, "sides.bolt"),
    ]


@pytest.mark.parametrize("text", ["belt: 6PK\n", "title: x\nlevel: [a, b]\n"])
def test_a_file_without_measurements(tmp_path: Path, text: str) -> None:
    (fault,) = measuring_faults(tmp_path, text)
    assert (fault.line, fault.got) == (1, "a file without measurements") and "--measurements" in fault.allowed


@for_each("Distances", "DISTANCES", "distance")
def test_a_misspelt_key_is_all_that_is_wrong_with_the_measurements_under_it(tmp_path: Path, key: str) -> None:
    (fault,) = measuring_faults(tmp_path, f"{key}: {{a - b: 400}}\n")
    assert fault.key == key and re.search(r"\((write|did you mean) distances\b", fault.got)


@pytest.mark.parametrize("text", [b"", b"\xff", b"a: [", b"[1]", b"- a", b"distances: {a - b: 3", b"distances:\n"])
def test_what_is_no_measurements_file(tmp_path: Path, text: bytes) -> None:
    assert all(fault.got and (fault.allowed or fault.key == "file") for fault in measuring_faults(tmp_path, text))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LayoutFaults, match="there is no file"):
        read_measurements(str(tmp_path / "gone.yaml"))


@pytest.mark.parametrize("key", [*MEASURED_BY, "Distances"])
def test_a_layout_command_says_what_to_do_with_it(tmp_path: Path, key: str) -> None:
    text = f"title: x\nbelt: 6QK\n{key}: 3\nlevels: 4\n"
    for read in (read_layout, read_every_layout):
        with pytest.raises(LayoutFaults) as caught:
            read(written(tmp_path, text))
        (fault,) = caught.value.faults
        assert (fault.line, fault.key, fault.got) == (3, key, "a file of measurements")
        assert f"`beltplan measure {tmp_path}/measured.yaml --write layout.yaml`" in fault.allowed


def test_too_many_points(tmp_path: Path) -> None:
    pairs = "".join(f"  a - b{i}: 400\n" for i in range(100))
    (fault,) = measuring_faults(tmp_path, "distances:\n" + pairs)
    assert (fault.got, fault.allowed) == ("101 points", "at most 100")
    assert len(measured_of(tmp_path, "distances:\n" + pairs.partition("  a - b99")[0]).measured.points) == 100


def test_an_accuracy_may_carry_its_own_unit(tmp_path: Path) -> None:
    """An inch is 25.4 mm (ISO 80000-3)."""
    text = f"accuracy: {{distance_mm: 1/16 in, offset_mm: 2, diameter_mm: 0.01 in}}\n{TAPED}"
    text += "offsets: {pump: {x: 0}}\ndiameters: {crank: 160}\n"
    read = measured_of(tmp_path, text).measured
    sds = (read.distances[0].sd_mm, read.offsets[0].sd_mm, read.diameters[0].sd_mm)
    assert sds == (25.4 / 16, 2.0, 0.254)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("crank - pump: 300", "crank - pump:300", "a space seems to be missing after `crank - pump:`"),
        ("crank - pump: 300", "crank - pump: 11 5/8 in + 1/32 in", "a length above 0 to"),
        ("sides:", "loops: {length: 1898}\nsides:", "{NAME: {length: ...} or {belt: ...}}, each by a"),
        ("sides:", "diameters: above right\nsides:", "a mapping: {NAME: ...}, each by the name of a point"),
        ("crank - pump: 300", "crank - tight: 300", "tight.pivot, measured there: the pulley itself moves"),
        ("crank - pump: 300", "crank - tight.to: 300", "'tight.to' (did you mean tight.pivot?)"),
        ("sides:", "origin: [0, 0]\nsides:", "the name of the point that stands at [0, 0], as origin: crank"),
    ],
)
def test_slips_of_a_reading_are_told_with_what_to_write(tmp_path: Path, old: str, new: str, told: str) -> None:
    fault = next(iter(measuring_faults(tmp_path, TAPED.replace(old, new, 1))))
    assert told in f"{fault.got}; {fault.allowed}"


@for_each(
    ("crank - pump: 300", "crank - pump: {11 5/8 in, gap: true}", "distances.crank - pump.11 5/8 in",
     "(write value: 11 5/8 in"),
    ("level: [crank, fan]", "level: crank - fan", "level", "a list of 2 entries: [crank, fan]"),
    ("level: [crank, fan]", "level: fan", "level", "a list of 2 entries: [fan, ...]"),
    ("marks: [bolt]", "marks:\n  - bolt\n  - hose #1\n  - hose #2", "marks", "'hose' twice; each once"),
    ("pump: above", "pump: top, left", "sides.pump", "'top, left' (write above left)"),
)  # fmt: skip
def test_a_slip_is_one_fault_with_what_to_write(tmp_path: Path, old: str, new: str, key: str, told: str) -> None:
    assert old in TAPED
    (fault,) = measuring_faults(tmp_path, TAPED.replace(old, new, 1))
    assert fault.key == key and told in f"{fault.got}; {fault.allowed}"


def test_a_file_in_mm_that_says_inches_is_one_fault(tmp_path: Path) -> None:
    """Who tapes in mm and leaves the inches of a starter is told once, and of nothing that follows."""
    text = TAPED + "loops: {string: {length: 1898, thickness: 2, pulleys: [crank, pump, fan]}}\n"
    (fault,) = measuring_faults(tmp_path, text.replace("units: mm", "units: in"))
    assert (fault.line, fault.key) == (2, "units")
    assert fault.got == "'in', but most distances are over 100 in: are they in mm?"
    assert measured_of(tmp_path, text).measured.distances


@for_each(
    ("293mm outside", "{value: 293mm, outside: true}", [(293.0, "outside")]),
    ("outside 293", "{value: 293, outside: true}", [(293.0, "outside")]),
    ("11 1/2 in over both rims", "{value: 11 1/2 in, outside: true}", [(292.1, "outside")]),
    ("293 (between the rims)", "{value: 293, gap: true}", [(293.0, "gap")]),
    ("293 Gap", "{value: 293, gap: true}", [(293.0, "gap")]),
    ("{value: 293 outside}", "{value: 293, outside: true}", [(293.0, "outside")]),
    ("293 between centres", "293", [(293.0, "centres")]),
    ("293mm, 294mm", "[293mm, 294mm]", [(293.0, "centres"), (294.0, "centres")]),
    ("293 294", "[293, 294]", [(293.0, "centres"), (294.0, "centres")]),
    ("293 / 294", "[293, 294]", [(293.0, "centres"), (294.0, "centres")]),
    ("293 and 294 mm", "[293, 294 mm]", [(293.0, "centres"), (294.0, "centres")]),
    (
        "293; 294 outside",
        "[{value: 293, outside: true}, {value: 294, outside: true}]",
        [(293.0, "outside"), (294.0, "outside")],
    ),
    ("[293 outside, 294]", "{value: 293, outside: true}", [(293.0, "outside"), (294.0, "centres")]),
    ("293\n  a - b: 294", "[293, 294]", [(293.0, "centres"), (294.0, "centres")]),
)
def test_what_to_write_for_a_word_beside_a_number_or_for_two_is_shown(
    tmp_path: Path, slip: str, meant: str, read: list[tuple[float, str]]
) -> None:
    """Put in place of the slip, what is shown says what was meant."""
    rims = "diameters: {{a: 100, b: 100}}\n"
    text = "distances:\n  a - b: {}\n  a - c: 300\n  b - c: 350\n" + rims
    (fault,) = measuring_faults(tmp_path, text.format(slip))
    assert f"write {meant}" in f"{fault.got} {fault.allowed}"
    value = slip.replace("293 outside", meant) if slip.startswith("[") else meant
    own = [each for each in measured_of(tmp_path, text.format(value)).measured.distances if each.points == ("a", "b")]
    assert [each.between for each in own] == [between for _, between in read]
    assert [each.value_mm for each in own] == pytest.approx([value_mm for value_mm, _ in read])


def test_below_measuring_keys_in_capitals_all_is_read(tmp_path: Path) -> None:
    text = FREE + "Angles:\n  a - b: 3O\n"
    found = measuring_faults(tmp_path, text)
    assert [fault.key for fault in found] == ["Angles", "angles.a - b"]


def test_over_the_rims_is_outside(tmp_path: Path) -> None:
    (fault,) = measuring_faults(tmp_path, FREE.replace("a - c: 300", "a - c: {value: 300, over: true}"))
    assert fault.got == "an unknown key (write outside)"


def test_a_key_twice_with_a_decimal_comma_is_no_list_of_three(tmp_path: Path) -> None:
    """[12,5, 13] would hold 12, 5 and 13, and of an angle nobody would notice."""
    found = measuring_faults(tmp_path, FREE + "angles:\n  a - b: 12,5\n  a - b: 13\n")
    assert [fault.allowed for fault in found if "twice" in fault.got] == ["each key once"]


@for_each(
    ("angles", "12 from plumb", "{value: 12, from: plumb} or, right of plumb, {value: -12, from: plumb}"),
    ("angles", "-12 from plumb", "{value: -12, from: plumb}"),
    ("angles", "12 right of plumb", "{value: -12, from: plumb}"),
    ("angles", "12 deg to the left of plumb", "{value: 12 deg, from: plumb}"),
    ("angles", "-12 right of plumb", None),
    ("angles", "120,", "120"),
    ("distances", "10 1/4 in 10 5/16 in", "[10 1/4 in, 10 5/16 in]"),
    ("distances", "9 in 3/16", "9 3/16 in"),
    ("distances", "9 mm 3/16", None),
    ("diameters", "{radius: 40}", "value: 80"),
    ("diameters", "{circumference: 100.53096}", "value: 32"),
    ("diameters", "{d: 80}", "value"),
    ("angles", "12, 12.5", "[12, 12.5]"),
    ("angles", "-30; -31", "[-30, -31]"),
    ("angles", "-30; 31", None),
    ("diameters", "80 / 80.2", "[80, 80.2]"),
    ("diameters", "80 outside", None),
    ("distances", "300 thick", None),
    ("distances", "300, 12", None),
    ("distances", "300 plumb", None),
)
def test_only_what_is_sure_is_shown(tmp_path: Path, key: str, slip: str, meant: str | None) -> None:
    """A number of another size is hardly a second reading; a diameter has no `outside`."""
    name = "a" if key == "diameters" else "a - b"
    others = "" if key == "distances" else FREE
    (fault,) = measuring_faults(tmp_path, f"{others}{key}:\n  {name}: {slip}\n")
    assert (f"(write {meant})" in fault.got) if meant else ("write" not in fault.got)


@for_each(
    ("arm: {length", "Arm: {length", "pulleys.tight.Arm"),
    ("rim_diameter: 120", "Rim_Diameter: 120", "pulleys.pump.Rim_Diameter"),
)
def test_a_key_of_a_pulley_in_other_letters_is_told_once(tmp_path: Path, good: str, bad: str, key: str) -> None:
    """It is read on: no place and no size that the measurements find is put beside it."""
    (fault,) = measuring_faults(tmp_path, TAPED.replace(good, bad) + "diameters: {pump: 120}\n")
    assert fault.key == key and "(write " in fault.got


@for_each(
    ("72", "71.5", None, ""),
    ("77", "71.5", "pulleys.tight.diameter", "measure it again"),
    ("725", "71.5", "pulleys.tight.diameter", "it would fit if it was 72.5"),
    ("2.83", "71.5", "pulleys.tight.diameter", "read in inches"),
    ("36", "71.5", "pulleys.tight.diameter", "its radius"),
    ("72", "715", "diameters.tight", "it would fit if it was 71.5"),
    ("72", "35.75", "diameters.tight", "its radius"),
)
def test_two_diameters_of_one_pulley_that_contradict(
    tmp_path: Path, own: str, calipers: str, key: str | None, words: str
) -> None:
    """The likelier wrong one is told alone, with the number and the line of the other."""
    text = TAPED.replace("diameter: 72", f"diameter: {own}") + f"diameters: {{tight: {calipers}}}\n"
    if key is None:
        assert measured_of(tmp_path, text)
        return
    (found,) = measuring_faults(tmp_path, text)
    lines = {"pulleys.tight.diameter": text[: text.index(f"diameter: {own}")], "diameters.tight": text[:-1]}
    at = {name: before.count("\n") + 1 for name, before in lines.items()}
    (other,) = (line for name, line in at.items() if name != found.key)
    assert (found.key, found.line) == (key, at[key])
    assert f"line {other} says" in found.got and words in found.allowed


def test_readings_in_two_units_are_no_decimal_commas(tmp_path: Path) -> None:
    """229 mm and 23 cm are one distance read twice; 22 mm and 9 cm are not."""
    own = measured_of(tmp_path, FREE.replace("a - c: 300", "a - c: [229, 23 cm]")).measured.distances
    assert [each.value_mm for each in own if each.points == ("a", "c")] == pytest.approx([229.0, 230.0])
    (fault,) = measuring_faults(tmp_path, FREE.replace("a - c: 300", "a - c: [22, 9 cm]"))
    assert "decimal commas? Write [22.9 cm]" in fault.got


def test_inches_in_a_file_without_units_are_told_once(tmp_path: Path) -> None:
    text = TAPED.replace("units: mm\n", "").replace("crank - pump: 300", "crank - pump: 11 3/4")
    text = text.replace("diameter: 72", "diameter: 2 7/8").replace("rim_diameter: 120", "rim_diameter: 4 3/4")
    (fault,) = [each for each in measuring_faults(tmp_path, text) if each.key == "units"]
    assert "3 lengths are fractions of an inch" in fault.got


@for_each("gap", "outside")
def test_a_gap_over_an_old_pulley_is_written_from_centre_to_centre(tmp_path: Path, over: str) -> None:
    """Rims of 120 mm and, when it was read, 90: their radii add 105 mm to a gap of 395, and are too much of 605."""
    value = {"gap": 395, "outside": 605}[over]
    text = TAPED.replace("pump - fan: 500", f"pump - fan: {{value: {value}, {over}: true}}") + "diameters: {fan: 90}\n"
    (fault,) = measuring_faults(tmp_path, text)
    line = 1 + next(i for i, each in enumerate(text.splitlines()) if "pump - fan" in each)
    last = len(text.splitlines())
    told = f"delete line {last} and write, from centre to centre, `pump - fan: 500` (line {line})"
    assert f"if an old pulley was on then, {told}" in fault.allowed
    typed = [*text.splitlines()[: line - 1], "  pump - fan: 500", *text.splitlines()[line : last - 1]]
    assert measured_of(tmp_path, "\n".join(typed) + "\n")


@for_each(("diameters: {a: 100, b: 80}\ndistances:\n",), ("origin: a\noffsets:\n  b: {x: 300}\ndistances:\n",))
def test_pairs_whose_heading_was_lost_are_one_fault_that_says_where_it_goes(tmp_path: Path, head: str) -> None:
    head = head.replace("{a: 100, b: 80}", "\n  a: 100\n  b: 80")
    right = f"{head}  a - b: 300\n  b - c: 200\n  a - c: [400, 401]\nlevel: [a, b]\n"
    assert measured_of(tmp_path, right)
    (fault,) = measuring_faults(tmp_path, right.replace("distances:\n", ""))
    line = right.splitlines().index("distances:") + 1
    assert fault.line == line and fault.got.endswith("write above this one, from column 1, `distances:` or `angles:`")


def test_one_tape_in_mm_among_fractions_does_not_make_the_file_one_in_mm(tmp_path: Path) -> None:
    """Most distances are what is asked: the one that cannot be meant is left to the other readings."""
    text = "units: in\ndistances:\n  a - b: 10 1/2\n  b - c: 8 3/4\n  a - c: 186\n"
    assert measured_of(tmp_path, text).measured.in_inches
