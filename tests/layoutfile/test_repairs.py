"""Slips of the pen in a file: the very line, and what is missing there, in words that are no parser's.

What is YAML and what not is judged by PyYAML: every repair that is told leads to a text that it reads.
"""

import re
from pathlib import Path

import pytest
import yaml

from beltplan.faults import MOST_TOLD, LayoutFaults
from beltplan.layoutfile import repairs
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.repairs import MOST_CHARACTERS, MOST_ERRORS, UNKNOWN, misfits, repaired
from beltplan.measure.measurements_file import read_measurements
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

GOOD = """\
title: Railcar
units: mm
belt: 6PK
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 190, grooves: 6}
  pump: {role: water_pump, at: [-190, 300], diameter: 130, turns: clockwise}
  tensioner:
    role: tensioner
    diameter: 72
    belt_side: back
    arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}
  guide:
    role: idler
    at: [0, 245]
    diameter: 76
route: [crank, tensioner, pump, guide]
"""
MISSING_COLON = "a colon and a space seem to be missing after"
CASES = [
    ("    role: tensioner", "    role tensioner", f"`role tensioner`: {MISSING_COLON} `role`"),
    ("    diameter: 76", "    diameter 76", f"`diameter 76`: {MISSING_COLON} `diameter`"),
    ("    role: tensioner", "    role:tensioner", "a space seems to be missing after `role:`"),
    ("belt: 6PK", "belt 6PK", f"`belt 6PK`: {MISSING_COLON} `belt`"),
    ("belt: 6PK", "belt = 6PK", "a colon and a space are wanted after `belt`"),
    ("  guide:", "  guide", "a colon seems to be missing after `guide`"),
    ("pulleys:", "pulleys", "a colon seems to be missing after `pulleys`"),
    ("at: [0, 245]", "at: [0, 245", "a closing bracket `]` seems to be missing after `[0, 245`"),
    ("at: [-190, 300]", "at: [-190, 300", "a closing bracket `]` seems to be missing after `[-190, 300`"),
    ("at: [0, 0]", "at: 0, 0]", "an opening bracket `[` seems to be missing before `0, 0`"),
    (", guide]", ", guide", "a closing bracket `]` seems to be missing after `[crank, tensioner, pump, guide`"),
    ("turns: clockwise}", "turns: clockwise", "a closing brace `}` seems to be missing at the end of the line"),
    ("pump: {role", "pump: role", "an opening brace `{` seems to be missing before `role: water_pump"),
    ("190, grooves", "190 grooves", "a comma seems to be missing before `grooves`"),
    ("at: [0, 0], diameter: 190, grooves", "at: 3 diameter: 190 grooves",
     "a comma seems to be missing before `diameter`; so too `grooves` in"),
    ("    belt_side: back", "  - belt_side:", "there is a dash too many: write `belt_side:`"),
    ("at: [0, 0], ", "at: [0, 0]; ", "a comma is wanted in place of `;` after `0]`"),
    ("    diameter: 76", "    diameter: ?", "`?` is no value: write one, or take the key out"),
    ("diameter: 190, ", "diameter: ??, ", "`??` is no value: write one, or take the key out"),
    ("at_deg: 285}", "at_deg: 285}}", "there is one `}` too many"),
    ("Railcar", "Railcar: straight six", "quotes seem to be missing: write 'Railcar: straight six'"),
    ("Railcar", "'Bob's car'", 'write it in double quotes: "Bob\'s car"'),
    ("Railcar", '"Railcar', "a closing quote seems to be missing after `Railcar`"),
    ("    diameter: 72", "   diameter: 72", "the line begins at column 4: indent as line 8, to column 5"),
    ("    role: tensioner", "      role: tensioner", "the line begins at column 7: indent as line 9, to column 5"),
    ("[crank, tensioner, pump, guide]", "[crank, tensioner], [pump, guide]",
     "brackets seem to be missing round all of"),
    ("Railcar", r'"C:\Users\me\car"', "in double quotes a backslash begins a code: write 'C:"),
    ("at: [-190, 300], diameter", 'at: [-190, 300], turns: "either, diameter',
     "a closing quote seems to be missing after `either`"),
    ("role: crankshaft", "role: 'crankshaft", "a closing quote seems to be missing after `crankshaft`"),
    ("    diameter: 72", "\tdiameter: 72", "there is a tab; indent with spaces"),
    ("  guide:", " guide:", "the line begins at column 2: indent as line 7, to column 3"),
    ("route:", " route:", "the line begins at column 2: indent as line 4, to column 1"),
    ("at: [0, 245]", "at: [0, 245)", "`]` is wanted, and no other bracket, after `[0, 245`"),
    ("at: [0, 245]", "at: [0, 245}", "`]` is wanted, and no other bracket, after `[0, 245`"),
    ("units: mm", "obstacles: {rail: {polygon: [[-3, -1], [-1, -1], [-1, -2]}}",
     "a closing bracket `]` seems to be missing before `}`"),
    ("units: mm", "obstacles: {rail: {polygon: [[-3, -1], -1, -1], [-1, -2]]}}",
     "an opening bracket `[` seems to be missing before `-1, -1`"),
    ("at: [0, 0], diameter", "at [0, 0], diameter", "a colon seems to be missing after `at`"),
    ("at: [0, 0], diameter", "at=[0, 0], diameter", "a colon seems to be missing after `at`"),
    ("units: mm", "sides: tensioner: above left, tensioner.pivot: below, guide: above  # from the crank",
     "braces seem to be missing: write {tensioner: above left, tensioner.pivot: below, guide: above}"),
    ("arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}",
     "arm: (pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285)",
     "braces are wanted, and no round brackets: write {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 2"),
    ("Railcar", "Railcar: six, engine: old", "quotes seem to be missing: write 'Railcar: six, engine: old'"),
    ("    at: [0, 245]", "    - at: [0, 245]", "there is a dash too many: write `at: [0, 245]`"),
    ("    role: idler", "    - role: idler", "there is a dash too many: write `role: idler`"),
    ("    diameter: 76", "    diameter. 76", "a colon and a space are wanted after `diameter`"),
    ("belt: 6PK", "belt, 6PK", "a colon and a space are wanted after `belt`"),
    ("  tensioner:", "  tensioner,", "a colon and a space are wanted after `tensioner`"),
    ("pulleys:", "pulleys.", "a colon and a space are wanted after `pulleys`"),
    ("[-190, 300]", "[- 190, 300]", "there is a blank after the minus: write -190"),
    ("[-190, 300]", "[- 7 1/2, 300]", "there is a blank after the minus: write -7 1/2"),
    ("[-190, 300]", "[- 7-1/2 in, 300]", "there is a blank after the minus: write -7-1/2 in"),
    ("[crank, tensioner", "[crank,, tensioner", "there is one `,` too many"),
    ("pump: {role", "pump: {{role", "there is one `{` too many"),
    ("at: [0, 0]", "at: [[0, 0]", "there is one `[` too many"),
    ("pump: {role", "pump: [role", "`{` is wanted in place of `[`"),
    ("pump: {role", "pump: (role", "`{` is wanted in place of `(`"),
    ("grooves: 6}", "grooves: 6]", "`}` is wanted in place of `]` after `grooves: 6`"),
    ("route: [crank", "route: {crank", "`[` is wanted in place of `{`"),
    ("at: [0, 0]", "at: {0, 0]", "`[` is wanted in place of `{`"),
    ("role: tensioner", "role: 'tensioner", "a closing quote seems to be missing after `tensioner`"),
    ("  crank: {role", "    crank: {role", "the line begins at column 5: indent as line 6, to column 3"),
]  # fmt: skip


HOSES = """\
obstacles:
  hose:
    polygon: [[59, 330], [109, 331], [110, 400], [60, 400]]  # as seen
  pipe:
    polygon: [[19, 330], [29, 331],
              [30, 400], [20, 400]]
marks: [shaft, hose 1, hose 2]
points:
  photo:
    places:
      hose 2: [900, 1707]
      hose 1: [830, 1707]
    known: {bar left: [0, 0], bar right: [300, 0]}
    y_runs: down
"""


@pytest.mark.usefixtures("loader")
@for_each(
    ("[60, 400]]  #", "[60, 400]  #", "a closing bracket `]` seems to be missing after `[60, 400]`, at the end of the"),
    ("[60, 400]]  #", "[60, 400  #", "closing brackets `]]` seem to be missing at the end of the line, after `400`"),
    ("[20, 400]]", "[20, 400]", "a closing bracket `]` seems to be missing after `[20, 400]`, at the end of the list"),
    ("[[59, 330], ", "[59, 330], ", "an opening bracket `[` seems to be missing before `[59, 330]`"),
    ("[59, 330], ", "[59, 330] ", "a comma seems to be missing after `[59, 330]`"),
    ("[110, 400], ", "[110, 400] ", "a comma seems to be missing after `[110, 400]`"),
    ("331], [110, 400], ", "331] [110, 400] ",
     "a comma seems to be missing after `[109, 331]`; so too `[110, 400]` in this line"),
    ("[29, 331],", "[29, 331]", "a comma seems to be missing after `[29, 331]`"),
    ("{bar left: [0, 0],", "{bar left: [0, 0]", "a comma seems to be missing after `[0, 0]`"),
    ("{bar left:", "bar left:", "an opening brace `{` seems to be missing before `bar left: "),
    ("bar right:", "bar right", "a colon seems to be missing after `bar right`"),
    ("left: [0, 0], bar right:", "left [0, 0], bar right", "a colon seems to be missing after `bar left`; so too `bar"),
    ("shaft, hose 1", "shaft, hose #1", "` #` begins a comment: write 'hose #1' in quotes"),
    ("shaft, hose 1, hose 2", "pin #0, hose #1, hose #2",
     "` #` begins a comment: write 'pin #0' in quotes, or another name; so too `hose #1`, `hose #2` in this line"),
    ("      hose 1:", "      hose #1:", "` #` begins a comment: write 'hose #1' in quotes"),
    ("  pipe:", "   pipe:", "the line begins at column 4: indent as line 2, to column 3"),
    ("  hose:", "   hose:", "the line begins at column 4: indent as line 4, to column 3"),
)  # fmt: skip
def test_a_slip_in_a_list_of_corners_or_known_places_is_told_by_its_own_line(good: str, bad: str, words: str) -> None:
    text = HOSES.replace(good, bad, 1)
    ((line, said),) = errors_in(text)
    assert (line, said[: len(words)]) == (text[: text.index(bad)].count("\n") + 1, words)


@for_each(
    ("marks: [[1, [2, 3]]]  # three", "]]]"),
    ("readings: [[-30, 53, 45], [6, 39.5, 33]]", "]]"),
    ("arm: {length: 118, stops: [-30, 6]}", "]}"),
    ("variants: {low: {pulleys: {pump: {at: [0, 1]}}}}  # two", "]}}}}"),
)
def test_all_brackets_lost_at_once_at_the_end_of_a_line_are_told_and_typing_them_there_mends_it(
    line: str, lost: str
) -> None:
    ((at, words),) = errors_in(f"title: one\n{line.replace(lost, '')}\nunits: mm\n")
    assert (at, words) == (
        2,
        f"closing brackets `{lost}` seem to be missing at the end of the line, "
        f"after `{line.partition(lost)[0].rpartition(' ')[2].lstrip('[')}`",
    )


def errors_in(text: str) -> list[tuple[int, str]]:
    return repaired(text)[0]


@pytest.fixture(params=["compiled", "pure Python"])
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of PyYAML's parsers, for a machine without the compiled one."""
    compiled = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    monkeypatch.setattr(repairs, "LOADER", compiled if request.param == "compiled" else yaml.SafeLoader)


@pytest.mark.usefixtures("loader")
@for_each(*CASES)
def test_the_line_and_what_is_missing(good: str, bad: str, words: str) -> None:
    text = GOOD.replace(good, bad, 1)
    with pytest.raises(yaml.YAMLError):
        yaml.compose(text, Loader=yaml.SafeLoader)
    ((line, said),) = errors_in(text)
    assert line == text[: text.index(bad)].count("\n") + bad.count("\n") + 1
    assert said.startswith(words)
    assert not re.search(r"mapping|scalar|token|block|flow|context|parser", said)


@for_each(
    ("  tensioner:", "tensioner:", 7, "the line begins at column 1: indent as line 6, to column 3"),
    ("    role: tensioner\n    diameter: 72\n    belt_side: back\n    arm",
     "role: tensioner\ndiameter: 72\nbelt_side: back\narm", 8,
     "this and the next 3 begin at column 1: indent as line 13, to column 5"),
)  # fmt: skip
def test_several_lines_with_one_slip_are_one_fault(good: str, bad: str, line: int, words: str) -> None:
    more = GOOD.replace("route", "  far:\n    role: idler\n    at: [0, 345]\n    diameter: 76\nroute")
    assert errors_in(more.replace(good, bad, 1)) == [(line, words)]


def test_every_slip_is_told_in_one_run() -> None:
    text = GOOD.replace("at: [0, 245]", "at: [0, 245").replace("role: tensioner", "role tensioner")
    assert sorted(line for line, _ in errors_in(text)) == [8, 14]


def test_beside_what_is_no_yaml_other_lines_are_told_in_the_same_run(tmp_path: Path) -> None:
    text = GOOD.replace("diameter: 130", "diameter: 13O").replace("    diameter: 76", "    diameter 76")
    assert [fault.line for fault in faults_of(tmp_path, text)] == [6, 15]


def test_what_nothing_mends_is_told_by_its_line() -> None:
    assert errors_in("a: 1\nb: [}{]]}\n") == [(2, UNKNOWN)]


def test_of_many_errors_only_some_are_told() -> None:
    assert len(errors_in("a: {b: [1, 2}\n" * 50)) == MOST_ERRORS


def test_the_work_for_a_long_line_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    read, real = list[int](), repairs.first_error

    def counted(text: str) -> tuple[int, int] | None:
        read.append(len(text))
        return real(text)

    monkeypatch.setattr(repairs, "first_error", counted)
    text = "a: {" + "b c: 1 d: [2, 3 " * 4000
    errors_in(text)
    assert sum(read) <= MOST_ERRORS * (MOST_CHARACTERS + len(text))


def test_the_message_is_one_line_without_got_and_allowed(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD.replace("    role: tensioner", "    role tensioner"))
    with pytest.raises(LayoutFaults) as caught:
        read_layout(path)
    assert str(caught.value) == f"{path}:8: `role tensioner`: {MISSING_COLON} `role`"


def test_a_flood_of_faults_is_cut_and_counted(tmp_path: Path) -> None:
    keys = "\n".join(f"    wrong_{place}: x" for place in range(5))
    pulleys = "\n".join(f"  p{place}:\n{keys}" for place in range(20))
    variants = "\n".join(f"  v{place}: {{pulleys: {{p1: {{rolle: x}}}}, extra_{place}: 1}}" for place in range(6))
    path = written(tmp_path, f"belt: 6PK\npulleys:\n{pulleys}\nroute: [p1, p2]\nvariants:\n{variants}\n")
    with pytest.raises(LayoutFaults) as caught:
        read_layout(path)
    told = str(caught.value).splitlines()
    assert len(told) == MOST_TOLD + 1
    assert told[-1] == f"{path}: {len(set(caught.value.faults)) - MOST_TOLD} more, not shown"


@for_each(
    ("crank - pump: 17", "- crank - pump: 17", "there is a dash too many: write `crank - pump: 17`"),
    ("pump - guide: 6 1/2", "- pump - guide: 6 1/2", "there is a dash too many: write `pump - guide: 6 1/2`"),
    ("crank - guide:", "'crank' - guide:", "no quotes are wanted round one name of two: write crank"),
    ("{value: 2 1/8, outside: true}", "value: 2 1/8, outside: true", "{value: 2 1/8, outside: true}"),
    ("{value: 2 1/8, outside: true}", "2 1/8, outside: true", "{value: 2 1/8, outside: true}"),
    ("{value: 2 1/8, outside: true}", "(value: 2 1/8, outside: true)", "{value: 2 1/8, outside: true}"),
)
def test_a_slip_among_readings_is_told_with_the_whole_of_what_to_write(good: str, bad: str, words: str) -> None:
    readings = ["crank - pump: 17", "crank - guide: {value: 2 1/8, outside: true}", "pump - guide: 6 1/2"]
    text = "\n".join(["distances:", *(f"  {each}" for each in readings), "angles:", "  crank - pump: 7"])
    ((line, said),) = errors_in(text.replace(good, bad))
    assert line == text[: text.index(good)].count("\n") + 1
    assert said.endswith(words if words.startswith(("there", "no")) else f"write {words}")


FLOW = re.sub(r"(:|,?)\n    (\w)", lambda each: f"{each[1] + ' {' if each[1] else ', '}{each[2]}", PLAIN)
FLOW = FLOW.replace("\nroute", "}\nroute")
"""The same with every pulley in braces, on a line of its own."""


@pytest.mark.parametrize("comment", ["", "  # as measured"])
def test_a_block_that_goes_on_behind_its_brace_is_told_and_writing_it_in_lines_mends_it(
    tmp_path: Path, comment: str
) -> None:
    first = "crank: {role: crankshaft, at: [0, 0], diameter: 190}"
    bad = FLOW.replace(f"pulleys:\n  {first}", f"pulleys: {{{first}}}{comment}")
    (fault,) = faults_of(tmp_path, bad)
    assert fault.line == 2
    assert fault.got.startswith(
        "`pulleys` ends with the last `}` of this line, and line 3 is outside it: write `pulleys:`"
    )
    mended = bad.replace(f"pulleys: {{{first}}}", f"pulleys:\n  {first}")
    right = read_layout(written(tmp_path, FLOW)).layout
    assert read_layout(written(tmp_path, mended)).layout == right


@for_each("uncertainty", "load", "rated_A")
def test_nothing_behind_a_key_before_its_brace_is_told_there(tmp_path: Path, key: str) -> None:
    bad = PLAIN.replace("diameter: 130}", f"diameter: 130, {key}:}}")
    (fault,) = faults_of(tmp_path, bad)
    assert fault.line == 4 and fault.got.startswith(f"nothing stands behind `{key}:`: write what belongs there, or ")
    assert fault.got.endswith("`uncertainty: {}`" if key == "uncertainty" else "take it out")


@for_each(
    ("diameter: 130}", "diameter: 130, load: [{fan_diameter: 420}, {power_kW: 0.5}]}"),
    ("diameter: 130}", "diameter: 130, load: {fan_diameter: 420}, {power_kW: 0.5}}"),
    ("    diameter: 72", "    load: {fan_diameter: 420}, {power_kW: 0.5}\n    diameter: 72"),
    ("    diameter: 72",
     "    load:\n      - power_kW: 3\n        at_rpm: 2000\n      - torque_Nm: 2\n    diameter: 72"),
)  # fmt: skip
def test_two_loads_on_one_pulley_are_told_as_such(tmp_path: Path, good: str, bad: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(good, bad))
    assert "one load a pulley: add " in fault.text("") and "in one `power_kW` or `table`" in fault.text("")


@for_each(*range(3))
def test_a_colon_missing_after_two_names_is_found_on_every_line_of_a_list(bare: int) -> None:
    """The line with the two names, not its good neighbours, is what is told; PyYAML alone names the next line."""
    readings = ["crank - pump: 17 1/8", "crank - tensioner.pivot: [9 1/2, 9 7/16]", "pump - guide: 61.5"]
    lines = ["distances:", *(f"  {each}" for each in readings), "angles:", "  crank - pump: 7"]
    lines[1 + bare] = lines[1 + bare].replace(":", "")
    names = readings[bare].partition(":")[0]
    assert errors_in("\n".join(lines)) == [(2 + bare, f"a colon seems to be missing after `{names}`")]


# Slips of typing: the message shows what to write, with the user's own words in it, so that one try mends them.
# What is meant is the project's own reading of each slip; every text shown is put in place of the slip and must be
# read.


SHOWN = [
    ("at: [0, 245]", "at: {}", "0 245", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "(0 245)", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "[0; 245]", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "(0, 245)", "[0, 245]"),
    ("at: [0, 245]", "at: {}", "{0, 245}", "[0, 245]"),
    ("at: [0, 0]", "at: {}", "{0, 0}", "[0, 0]"),
    ("at: [0, 245]", "at: {}", "10 1/2, 9", "[10 1/2 in, 9 in]"),
    ("diameter: 76", "diameter: {}", "[76]", "76"),
    ("role: idler", "{}", "role. idler", "role: idler"),
    ("[crank, tight, pump, idler]", "{}", "{crank, tight, pump, idler}", "[crank, tight, pump, idler]"),
    ("stops: [265, 300]", "stops: {}", "265 to 300", "[265, 300]"),
    ("stops: [265, 300]", "stops: {}", "265 - 300", "[265, 300]"),
    ("at: [0, 245]", "at: {}", "-3 / 245", "[-3, 245]"),
    ("diameter: 130", "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}", "85 %", "0.85"),
    ("diameter: 130", "diameter: 130, load: {{{}}}", "power_PS: 0.8", "power_kW: 0.8 PS"),
    ("diameter: 130", "diameter: 130, load: {{pressure_bar: 9, displacement_cm3: 6, efficiency: {}}}", "85", "0.85"),
    ("diameter: 130", "diameter: 130, load: {{{}}}", "power: 1.2 hp", "power_kW: 1.2 hp"),
    ("diameter: 130", "diameter: 130, {}: 38", "movable", "movable_mm"),
    ("{pivot: [-150, 215], length", "{{{}: [-150, 215], length", "at", "pivot"),
    ("role: idler", "{}", "role idler", "role: idler"),
    ("diameter: 130", "diameter: 130, {}", "load usual", "load: usual"),
    ("diameter: 130", "diameter: 130, {}", "turns = either", "turns: either"),
    ("diameter: 130", "diameter: {}", "13O.5", "130.5"),
    ("diameter: 130", "diameter: {}", "l30 mm", "130 mm"),
    ("diameter: 130", "diameter: 130, plane: {}", "O", "0"),
    ("diameter: 130", "diameter: 130, grooves: {}", "O6", "06"),
    ("[crank, tight, pump, idler]", "{}", "crank, tight, pump, idler]", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "crank tight pump idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "crank > tight > pump > idler", "[crank, tight, pump, idler]"),
    ("[crank, tight, pump, idler]", "{}", "[crank; tight; pump; idler]", "[crank, tight, pump, idler]"),
]
"""What stands in the layout, what in its place with the slip at {}, the slip, and what is shown to write."""


@for_each(*SHOWN)
def test_what_to_write_is_shown_and_can_be_read(tmp_path: Path, good: str, bad: str, slip: str, meant: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(good, bad.format(slip)))
    told = f"{fault.got}; {fault.allowed}"
    assert any(f"{before}{meant}" in told for before in ("write ", "Write ", "entries: "))
    assert read_layout(written(tmp_path, PLAIN.replace(good, bad.format(meant)))).layout.route


@for_each(
    ("pump, idler]", "pump idler]", "'pump idler': a comma is missing between pump and idler"),
    ("pump, idler]", "pump. idler]", "'pump. idler': a comma is missing between pump and idler"),
    ("belt: 6PK", "belt: 6PK\nstock: [6PK900 6PK950, 6PK990]", ": a comma is missing between 6PK900 and 6PK950"),
    ("stops: [265, 300]", "stops: [65, 100]", "285, and `stops` 65 to 100 deg: one is wrong"),
    ("tight, pump, idler]", "tight pump idler]", "a comma is missing between tight and pump and idler"),
    ("belt: 6PK", "belt: 6PK\nidle_rpm: 900", "an unknown key here: under `engine`"),
    ("diameter: 130", "diameter: 130, efficiency: 0.8", "an unknown key here: under `load`"),
    ("diameter: 130", "diameter: 130, at_deg: 8", "an unknown key here: under `arm` or `spring`"),
    ("pump, idler]", "\n  pump, idler\nduty: {all: []}", "a closing bracket `]` seems to be missing after"),
    ("route:", "marks: pin: [1, 2]\nroute:", "braces seem to be missing: write {pin: [1, 2]}"),
    ("    diameter: 72", "    diameter:\u00a072", "there is a no-break space"),
    ("diameter: 130", "diameter: 130, turns: [left], [right]", "lists one after the other"),
    ("belt: 6PK", "engine: {1000: 5, cylinders: 4}\nbelt: 6PK", "an unknown key"),
    ("  pump:", "  pump::", "two colons: write one"),
    ("route:", "obstacles:\n  rail:\n    POLYGON: [[0, 900], [9, 900], [5, 950]]\nroute:", "(write polygon)"),
    ("route:", "obstacles:\n  rail:\n    file:rail.csv\nroute:", "(a colon and a space are wanted after file)"),
    ("diameter: 130}", "diameter: 130, loadd: usual}", "an unknown key (did you mean load?)"),
    ("belt: 6PK", "belt: {profile: PK, ribs: 6 mm}\nstock: [6PK900]", "'6 mm'"),
    ("diameter: 130", "diameter: 130, load: {power_kW: , at_rpm: 900, grows: cube}", "is empty; write what belongs"),
    ("diameter: 130", "diameter: 130, load: {power_kW: 1, at_rpm: 900, grows, cube}", "(write grows: cube)"),
)
def test_what_is_missing_is_told(tmp_path: Path, good: str, bad: str, words: str) -> None:
    text = PLAIN if "duty" in bad else f"{PLAIN}duty: {{all: [{'pump' * ('load' in bad)}]}}\n"
    (fault,) = faults_of(tmp_path, text.replace(good, bad))
    assert words in f"{fault.got}: {fault.allowed}"


@for_each(
    ("  idler:", "  idlr:", "'idlr'", "write idler, as in line 12"),
    ("  idler:", "  Idler:", "'Idler'", "write idler, as in line 12"),
    ("  tight:", "  tigth:", "'tigth'", "write tight, as in line 12"),
    ("  tight:", "  tihg:", "'tihg'", "write tight, as in line 12"),  # so unlike only where the other stands oftener
    ("  tight:", "  arm1:", "'arm1'", "is this tight of line 12? No pulley has that name"),
)
def test_a_name_misspelt_where_the_pulley_begins_is_told_there_alone(
    tmp_path: Path, good: str, bad: str, got: str, meant: str
) -> None:
    """And read as meant, so that nothing else that has the name is told: a limit and a variant of it here."""
    own = "limits: {min_wrap_deg: {tight: 60, idler: 20}}\nvariants: {far: {pulleys: {tight: {diameter: 70}}}}\n"
    text = PLAIN + own
    (fault,) = faults_of(tmp_path, text.replace(good, bad))
    assert fault.line == text[: text.index(good)].count("\n") + 1
    assert fault.got.startswith(got) and meant in fault.got


@pytest.mark.usefixtures("loader")
@for_each(
    ("    role: idler\n    at: [0, 245]\n", "role: idler"),
    ("    at: [0, 245]\n    diameter: 76\n", "at: [0, 245]"),
    ("    role: idler\n    at: [0, 245]\n    diameter: 76\n", "role: idler"),
    ("    diameter: 72\n    belt_side: back\n", "diameter: 72"),
)
def test_keys_of_a_block_on_one_line_go_on_lines_of_their_own(tmp_path: Path, good: str, first: str) -> None:
    """Told where the first of them ends; each on its own line is the file as it was."""
    slip = "    " + ", ".join(map(str.strip, good.splitlines())) + "\n"
    (fault,) = faults_of(tmp_path, GOOD.replace(good, slip))
    assert fault.line == GOOD[: GOOD.index(good)].count("\n") + 1
    assert fault.got.startswith(f"the line ends after `{first}`: write each key behind it on a line of its own")


def test_capitals_on_the_route_do_not_make_a_spare_pulley_the_one_that_is_meant(tmp_path: Path) -> None:
    text = PLAIN.replace("  idler:", "  vidler: {role: idler, at: [900, 0], diameter: 76, optional: true}\n  idler:")
    text = text.replace(", idler]", ", IDLER]") + "limits: {min_wrap_deg: {idler: 20}}\n"
    faults = faults_of(tmp_path, text)
    assert [fault.key.partition(".")[0] for fault in faults] == ["route"] and "idler" in faults[0].got
    (fault,) = faults_of(tmp_path, text.rpartition("limits:")[0])
    assert fault.key.startswith("route") and fault.got == "'IDLER' (did you mean idler?)"


def test_corners_without_brackets_or_in_round_ones_are_one_fault_each(tmp_path: Path) -> None:
    for corner in ("9, 8", "(9, 8)", "{9, 8}"):
        polygon = f"obstacles: {{rail: {{polygon: [[0, 900], {corner}, [5, 950], [0, 940]]}}}}\n"
        (fault,) = faults_of(tmp_path, PLAIN + polygon)
        assert fault.key == "obstacles.rail.polygon.2" and "(write [9, 8])" in fault.got


NOT_TWO = "a list of 3 (two are wanted; decimal commas? Write [1, 2.3] or [1.2, 3])"


@for_each(
    ("role: water_pump", "Role: Water_Pump", ["an unknown key (write role)", "'Water_Pump' (write water_pump)"]),
    ("diameter: 130", "DIAMETER: 130 m", ["an unknown key (write diameter)", "'130 m' (its unit may be mm, cm, in)"]),
    ("pulleys:", "Pulleys:", ["an unknown key (write pulleys)"]),
    ("arm: {pivot: [-150, 215], length: 85", "Arm: {Pivot: [-150, 215], length: 8,5",
     ["an unknown key (write arm)", "an unknown key (write pivot)", "'8, 5' (write 8.5, with a decimal point)"]),
    ("at: [-190, 300]", "AT: [1, 2, 3], TURNS: left",
     ["an unknown key (write at)", "an unknown key (write turns)", NOT_TWO, "'left'"]),
    ("belt: 6PK", "Units: IN\nbelt: 6PK", ["an unknown key (write units)", "'IN' (write in)"]),
    ("diameter: 130", "diameter_rim: 130 m",
     ["an unknown key (write rim_diameter)", "'130 m' (its unit may be mm, cm, in)"]),
    ("belt: 6PK", "engine: {rpm-idle: x}\nbelt: 6PK", ["an unknown key (write idle_rpm)", "'x'"]),
)  # fmt: skip
def test_below_a_key_in_capitals_or_its_parts_in_another_order_all_is_read(
    tmp_path: Path, good: str, bad: str, got: list[str]
) -> None:
    assert [fault.got for fault in faults_of(tmp_path, PLAIN.replace(good, bad))] == got


@for_each(
    ("limits: {min_wrap: 100}", "min_wrap_deg and 40 others"),
    ("limits: {min_wrap_degs: 100}", "min_wrap_deg and 40 others"),
    ("limits: {colour: 1}", "those of `beltplan words limits`"),
    ("limits: {clearance: 1}", "those of `beltplan words limits`"),
    ("Engine: {idle_rpm: 900}", "engine and 16 others"),
)
def test_beside_a_guess_that_is_sure_stand_only_the_nearest(tmp_path: Path, line: str, allowed: str) -> None:
    (fault,) = faults_of(tmp_path, f"{line}\n{PLAIN}")
    assert fault.allowed.startswith(allowed)
    assert len(fault.allowed) < 40


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


@for_each(
    ("diameter-rim", "write"), ("diameterRim", "write"), ("dia_rim", "write"), ("diameter over rim", "write"),
    ("diamter_rim", "did you mean"), ("rim_dia", "write"),
)  # fmt: skip
def test_a_rim_s_diameter_in_other_words_is_never_offered_as_an_effective_one(
    tmp_path: Path, key: str, lead: str
) -> None:
    """0.4 mm apart on a PK rib, and nothing would tell."""
    faults = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"{key}: 130"))
    assert f"an unknown key ({lead} rim_diameter)" in [fault.got.replace("?", "") for fault in faults]


def test_a_variant_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}variants: {{low idler: {{}}}}\n", "low idlr")
    assert fault.got == "there is no variant 'low idlr' (did you mean low idler?); there is low idler"
    (fault,) = faults_of(tmp_path, PLAIN, "low")
    assert fault.got == "there is no variant 'low'; the file has none"
    (fault,) = faults_of(tmp_path, PLAIN, "none")
    assert fault.got == "there is no variant 'none' (the file as it stands? That is base); the file has none"
    path = tmp_path / "named.yaml"
    path.write_text(f"{PLAIN}variants: {{low idler: {{}}}}\n")
    assert read_layout(str(path), "base").layout.variant is None
    path.write_text(f"{PLAIN}variants: {{base: {{}}}}\n")
    assert read_layout(str(path), "base").layout.variant == "base"


def test_a_key_without_its_unit_is_told_with_the_value_in_the_file_s_inches(tmp_path: Path) -> None:
    text = PLAIN.replace("belt: 6PK", "units: in\nbelt: 6PK").replace("diameter: 130", "diameter: 5, movable: 1 1/2")
    assert any("(write movable_mm: 1 1/2 in)" in fault.got for fault in faults_of(tmp_path, text))


# Lists of lists that are written flat, and lists without brackets in braces: one fault, with how it is written.


_CORNERS = "[x, y], each -100000 to 100000 mm, each in brackets of its own"
_LISTS = "a list of 3 to 1000 entries: [first, second, ...]"


@for_each(
    ("[-60, 330, 60, 330, 60, 380]", "a flat list", _CORNERS),
    ("-60, 330, 60, 330, 60, 380", "'-60, 330, 60, 330, 60, 380' without brackets", _LISTS),
    ("[-60, 330], [60, 330], [60, 380]", "lists one after the other without brackets", _LISTS),
)
def test_an_outline(tmp_path: Path, polygon: str, got: str, allowed: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}obstacles: {{head: {{polygon: {polygon}}}}}\n")
    assert (fault.key, fault.got, fault.allowed) == ("obstacles.head.polygon", got, allowed)


@for_each(
    ("diameter: 130", "diameter: 130, mount: {holes: [-38, -45, 10.5]}", "pulleys.pump.mount.holes"),
    ("spring: {torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}", "spring: {readings: [98, 55, 47]}",
     "pulleys.tight.spring.readings"),
)  # fmt: skip
def test_three_numbers_of_one_thing(tmp_path: Path, good: str, flat: str, key: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(good, flat))
    assert (fault.key, fault.got) == (key, "a flat list") and fault.allowed.endswith("each in brackets of its own")


@for_each(
    ("- {role: crankshaft}\n- {role: fan}", "pulleys", "a list (write it without dashes or [ ])"),
    (
        "  crank:\n  - role: crankshaft\n  - diameter: 80",
        "pulleys.crank",
        "a list (write {role: crankshaft, diameter: 80} without dashes or [ ])",
    ),
    (
        '  crank:\n  - role: crankshaft\n  - diameter: "80, 5"',
        "pulleys.crank",
        'a list (write {role: crankshaft, diameter: "80, 5"} without dashes or [ ])',
    ),
)
def test_what_stands_in_a_pulley_with_dashes(tmp_path: Path, pulleys: str, key: str, got: str) -> None:
    found = faults_of(tmp_path, f"belt: 6PK\npulleys:\n{pulleys}\nroute: [crank, pump]\n")
    assert [fault.got for fault in found if fault.key == key] == [got]


@for_each(
    ("[9,5, 11,75]", "a list of 4 (two are wanted; decimal commas? Write [9.5, 11.75])"),
    ("[9,5, 11]", "a list of 3 (two are wanted; decimal commas? Write [9, 5.11] or [9.5, 11])"),
    ("[9,5 11,75]", "a list of 3 (two are wanted; decimal commas? Write [9.5, 11.75])"),
    ("[35,2 cm, 11]", "a list of 3 (two are wanted; decimal commas? Write [35.2 cm, 11])"),
    ("[35,2 cm 8,5 cm]", "a list of 3 (two are wanted; decimal commas? Write [35.2 cm, 8.5 cm])"),
    ("9,5, 11,75", "'9, 5, 11, 75' without brackets (decimal commas? Write [9.5, 11.75])"),
    ("[35 mm 8 mm]", "a list of 1 (two are wanted; write [35 mm, 8 mm])"),
    ("35 mm 8 mm", "'35 mm 8 mm' (write [35 mm, 8 mm])"),
    ("[9.5, 11, 7.5]", "a list of 3 (two are wanted)"),
    ("[-272, 210, 0]", "a list of 3 (two are wanted)"),
    ("[-272,5, 0]", "a list of 3 (two are wanted; decimal commas? Write [-272, 5.0] or [-272.5, 0])"),
    ("[-272, 210, 0.5]", "a list of 3 (two are wanted)"),
    ("[-272, 210, 5]", "a list of 3 (two are wanted; decimal commas? Write [-272, 210.5])"),
    ("[9]", "a list of 1 (two are wanted)"),
)
def test_a_place_with_decimal_commas(tmp_path: Path, place: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("[-190, 300]", place))
    assert fault.got == got


def test_pulleys_with_dashes(tmp_path: Path) -> None:
    (fault,) = faults_of(
        tmp_path, "belt: 6PK\npulleys:\n- crank: {role: crankshaft}\n- pump: {role: fan}\nroute: [a, b]\n"
    )
    assert (fault.key, fault.got) == ("pulleys", "a list (write it without dashes or [ ])")


@for_each(
    ("15,000", "no comma in a number: write 15000"),
    ("15,000 rpm", "no comma in a number: write 15000 rpm"),
    ("15.000", "no point in thousands: write 15000, or 15?"),
    ("1.200 rpm", "no point in thousands: write 1200 rpm, or 1.2 rpm?"),
    ("6200,5", "write 6200.5, with a decimal point"),
    ("0,125", "write 0.125, with a decimal point"),
    ("6200,5 U/min", "with a decimal point: 6200.5 U/min; and its unit may be rpm"),
)
def test_a_comma_or_point_before_three_digits_may_part_thousands(tmp_path: Path, number: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}engine:\n  idle_rpm: {number}\n  max_rpm: 20000\n")
    assert f"({hint})" in fault.got


@for_each(
    ("max_hub_load_N: 2.400", "no point in thousands: write 2400, or 2.4?"),
    ("max_hub_load_N: 120,500", "no comma in a number: write 120500, or 120.500?"),
    ("load: {pressure_bar: 1,100 psi, displacement_cm3: 14}", "no comma in a number: write 1100 psi"),
    ("load: {pressure_bar: 1.100 psi, displacement_cm3: 14}", "no point in thousands: write 1100 psi, or 1.1 psi?"),
)
def test_what_may_be_a_thousand_times_another_is_asked(tmp_path: Path, value: str, hint: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {value}"))
    assert fault.got.endswith(f"({hint})")


def test_a_stiffness_of_next_to_nothing_is_asked_after(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("belt: 6PK", "belt: {profile: PK, ribs: 6, stiffness_N: 168.000}"))
    assert fault.got == "168.000 (no point in thousands: write 168000, or 168?)"


@pytest.mark.parametrize("value", ["max_hub_load_N: 120.125", "max_rpm: 900.500", "plane: 1.125", "grooves: 06"])
def test_likely_numbers_with_three_digits_behind_their_point_are_taken(tmp_path: Path, value: str) -> None:
    assert read_layout(written(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 130, {value}")))


@for_each(
    ("[9 1/2 16 1/2]", "[9 1/2 in, 16 1/2 in]"),
    ("9 1/2, -16 3/4", "[9 1/2 in, -16 3/4 in]"),
    ("1 1/2, 3", "[1 1/2 in, 3 in]"),
    ("[8 -4]", "[8, -4]"),
    ("9, 5]", "[9, 5]"),
)
def test_two_numbers_without_their_comma_may_be_fractions(tmp_path: Path, place: str, write: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}marks:\n  dowel:\n    at: {place}\n")
    assert f"(write {write})" in fault.got
    assert read_layout(written(tmp_path, f"{PLAIN}marks:\n  dowel:\n    at: {write}\n"))


@for_each(
    ("[35,2 cm, 40]", "[35, 2 cm, 40] (decimal commas? Write [35.2 cm, 40])"),
    ("[35,2 cm, 3,5 mm]", "[35, 2 cm, 3, 5 mm] (decimal commas? Write [35.2 cm, 3.5 mm])"),
)
def test_sizes_with_decimal_commas_are_not_read_as_twice_as_many(tmp_path: Path, sizes: str, got: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}idler_sizes: {sizes}\n")
    assert fault.got == got
    assert read_layout(written(tmp_path, f"{PLAIN}idler_sizes: {got.partition('Write ')[2][:-1]}\n"))


@for_each("35,2 cm", "35,2 cm, 36 cm")
def test_sizes_without_brackets_keep_their_decimals(tmp_path: Path, sizes: str) -> None:
    (fault,) = faults_of(tmp_path, f"{PLAIN}idler_sizes: {sizes}\n")
    assert fault.allowed == f"a list of 1 to 50 entries: [{sizes.replace('35,2', '35.2')}]"


@for_each(
    ("35,2 cm", "'35, 2 cm' (write 35.2 cm, with a decimal point)"),
    ("35,2 m", "'35, 2 m' (with a decimal point: 35.2 m; and its unit may be mm, cm, in)"),
    ("35.2 m", "'35.2 m' (its unit may be mm, cm, in)"),
    ("5,5 in", "'5, 5 in' (write 5.5 in, with a decimal point)"),
)
def test_a_comma_and_a_unit_are_one_fault(tmp_path: Path, diameter: str, got: str) -> None:
    """In braces YAML ends a value at a comma."""
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: {diameter}"))
    assert fault.got == got


@for_each("2 cm (rim)", "2 / 2", "2 mm over the ribs")
def test_what_stands_behind_a_comma_is_no_key(tmp_path: Path, rest: str) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace("diameter: 130", f"diameter: 35,{rest}"))
    assert (fault.key, fault.got) == (f"pulleys.pump.{rest}", "a number after a comma")


# A line that begins too far left or right in what is YAML all the same: one fault, with where it should begin.


LOADED = PLAIN.replace(
    "  pump: {role: water_pump, at: [-190, 300], diameter: 130}\n",
    "  pump:\n    role: water_pump\n    at: [-190, 300]\n    diameter: 130\n"
    "    load:\n      power_kW: 1\n      at_rpm: 2000\n      grows: cube\n",
)
SPRING = "    spring: {torque_Nm"
OBSTACLES = (
    LOADED
    + "obstacles:\n  pipe: {circle: {at: [300, 300], diameter: 20}}\n  hose: {circle: {at: [300, 400], diameter: 20}}\n"
)
READ = "belt: 6PK\ndistances:\n  a - b: 300\n  a - c: 400\n  b - c: 500\nangles:\n  a - b: 10\n"
SPREAD = READ.replace("  b - c: 500", "  b - c:\n    value: 500\n    outside: true") + "diameters: {b: 50, c: 60}\n"
LEVELS = [
    (LOADED, SPRING, SPRING[2:], 18, "the line begins at column 3: indent as line 17, to column 5"),
    (LOADED, SPRING, SPRING[4:], 18, "the line begins at column 1: indent as line 17, to column 5"),
    (LOADED, "      grows", "    grows", 11, "the line begins at column 5: indent as line 10, to column 7"),
    (LOADED, "  tight:\n", "tight:\n", 13, "the line begins at column 1: indent as line 12, to column 3"),
    (LOADED, "  idler: {", "idler: {", 12, "the line begins at column 1: indent as line 13, to column 3"),
    (LOADED, "route:", "  route:", 19, "the line begins at column 3: indent as line 2, to column 1"),
    (LOADED, "route:", "    route:", 19, "the line begins at column 5: indent as line 2, to column 1"),
    (LOADED, "  tight:\n", "    tight:\n", 13, "the line begins at column 5: indent as line 12, to column 3"),
    (OBSTACLES, "obstacles:\n", "  obstacles:\n", 20, "the line begins at column 3: indent as line 19, to column 1"),
    (OBSTACLES, "  hose:", "hose:", 22, "the line begins at column 1: indent as line 21, to column 3"),
    (READ, "distances:", "  distances:", 2, "the line begins at column 3: indent as line 1, to column 1"),
    (READ, "angles:", "  angles:", 6, "the line begins at column 3: indent as line 2, to column 1"),
    (READ, "  b - c", "b - c", 5, "the line begins at column 1: indent as line 4, to column 3"),
    (READ, "  a - b: 10", "a - b: 10", 7, "the line begins at column 1: indent as line 5, to column 3"),
    (SPREAD, "  b - c", "b - c", 5, "the line begins at column 1: indent as line 4, to column 3"),
    (SPREAD, "    outside", "  outside", 7, "the line begins at column 3: indent as line 6, to column 5"),
    (SPREAD, "    outside", "outside", 7, "the line begins at column 1: indent as line 6, to column 5"),
]


@pytest.mark.parametrize(("whole", "good", "bad", "line", "words"), LEVELS)
def test_a_line_a_level_off_is_one_fault(
    tmp_path: Path, whole: str, good: str, bad: str, line: int, words: str
) -> None:
    read = read_layout if "pulleys" in whole else read_measurements
    assert read(written(tmp_path, whole))
    lines = whole.replace(good, bad, 1).splitlines()
    with pytest.raises(LayoutFaults) as caught:
        read(written(tmp_path, "\n".join(lines)))
    assert [(each.line, each.got, each.allowed) for each in caught.value.faults] == [(line, words, "")]
    column = int(words.rpartition(" ")[2])
    lines[line - 1] = " " * (column - 1) + lines[line - 1].lstrip()
    assert yaml.safe_load("\n".join(lines)) == yaml.safe_load(whole)


@pytest.mark.parametrize(
    "whole",
    [
        LOADED,
        OBSTACLES.replace(
            "  hose: {circle: {at: [300, 400], diameter: 20}}", "  hose:\n    circle: {at: [0, 9], diameter: 5}"
        ),
        READ.replace("  a - b: 10", "  a - b: 10\n  b - c: 80\naccuracy:\n  distance_mm: 1"),
    ],
)
def test_a_heading_that_was_lost_is_one_fault_with_the_line_to_type(tmp_path: Path, whole: str) -> None:
    """Each line that ends with a colon is taken out; what is told is typed, and the file is as it was."""
    read, lines = read_layout if "pulleys" in whole else read_measurements, whole.splitlines()
    for place in (place for place, line in enumerate(lines) if line.endswith(":")):
        left = [*lines[:place], *lines[place + 1 :]]
        with pytest.raises(LayoutFaults) as caught:
            read(written(tmp_path, "\n".join(left)))
        ((line, words),) = [(each.line, each.got) for each in caught.value.faults]
        told = re.search(r"from column (\d+), `(\w+:)`(?: or `(\w+:)`)?", words)
        meant = lines[place].strip().replace("hose", "NAME")  # a name that stands nowhere else is not known
        assert line == place + 1 and told and meant in told.groups(), (lines[place], words)
        assert int(told[1]) - 1 == len(lines[place]) - len(lines[place].lstrip())


def test_a_line_is_not_moved_to_where_its_key_does_not_belong(tmp_path: Path) -> None:
    slots = "    mount:\n      slots: [{from: [0, 0], to: [9, 0], width: 8, deep: 3, long: 4, round: 2}]\n"
    with pytest.raises(LayoutFaults) as caught:
        read_layout(written(tmp_path, LOADED.replace("    load:", slots + "    load:")))
    slot = "pulleys.pump.mount.slots.1"
    assert [fault.key for fault in caught.value.faults] == [f"{slot}.{key}" for key in ("deep", "long", "round")]


@for_each("stock: *there\n", "&whole\nvariants:\n  other: *whole\n")
def test_a_text_with_an_alias_of_nothing_or_of_what_holds_it_fits_nowhere(text: str) -> None:
    assert misfits(text) == MOST_CHARACTERS


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


_SLOTTED = "a: {slots: [{from: [1, 2], to: [3, 4], width: 5}, {from: [1, 2], to: [3, 4], width: 6}]}\n"


@for_each(
    (f"m:\n  {_SLOTTED}", "width: 5}", "width: 5", "a closing brace `}` seems to be missing after `width: 5`"),
    (f"m:\n  {_SLOTTED}", "width: 6}", "width: 6", "a closing brace `}` seems to be missing after `width: 6`"),
    (f"m:\n  {_SLOTTED}", "6}]", "6}", "a closing bracket `]` seems to be missing after `width: 6}`"),
    ("distances:\n  a - b: [{value: 3, outside: true}, {value: 2}]\n", "true}", "true",
     "}` seems to be missing after `o"),
    ("distances:\n  a - b: [{value: 3, outside: true}, {value: 2}]\n", "2}]", "2}",
     "]` seems to be missing at the end"),
)  # fmt: skip
def test_a_bracket_that_the_other_kind_closes_is_told_where_it_is_missing(
    whole: str, closed: str, lost: str, words: str
) -> None:
    text = f"{whole.replace('m:', 'obstacles:')}route: [a, b]\n"
    ((line, told),) = errors_in(text.replace(closed, lost))
    assert words in told and line == text[: text.index(closed)].count("\n") + 1


@for_each(
    ("fan: {at: [1, 2]},", "fan: {at: [1, 2]}", "take the `,` at the end of this line out"),
    ("fan: {at: [1, 2]};", "fan: {at: [1, 2]}", "take the `;` at the end of this line out"),
    ("route: [a, b],  # all", "route: [a, b]  # all", "take the `,` at the end of this line out"),
    ("fan: {at: [1, 2]}, plane: 4", "fan: {at: [1, 2], plane: 4}",
     "the closing brace `}` stands too early: it belongs at the end of this line"),
    ("fan: {x: 3; y: 4, z: 5}", "fan: {x: 3, y: 4, z: 5}", "a comma is wanted in place of `;` after `x: 3`"),
    ("fan: {x: 3; y: 4; z: 5}", "fan: {x: 3, y: 4, z: 5}",
     "a comma is wanted in place of `;` after `x: 3`; so too `;` in this line"),
    ("fan: {role: fan. at: [1, 2]}", "fan: {role: fan, at: [1, 2]}",
     "a comma is wanted in place of `.` after `role: fan`"),
    ("fan: {at. [1, 2]}", "fan: {at: [1, 2]}", "a colon seems to be missing after `at`"),
    ("crank - fan. {value: 3, gap: true}", "crank - fan: {value: 3, gap: true}",
     "a colon seems to be missing after `crank - fan`"),
)  # fmt: skip
def test_a_mark_in_the_wrong_place_is_told_once_and_mended_so(bad: str, good: str, told: str) -> None:
    assert repaired(f"belt: 6PK\n{bad}\n") == ([(2, told)], f"belt: 6PK\n{good}\n")


@for_each("no", "false", "none")
def test_a_spring_that_is_none(tmp_path: Path, word: str) -> None:
    text = PLAIN.replace("at_deg: 285}", f"at_deg: 285}}\n    tension_N: 400\n    spring: {word}")
    own = [line for line in text.splitlines() if not line.startswith("    spring: {torque")]
    layout = read_layout(written(tmp_path, "\n".join(own) + "\n")).layout
    held = layout.pulleys["tight"].adjuster
    assert held is not None and held.spring is None and held.tension_N == 400.0
