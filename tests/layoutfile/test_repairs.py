"""Slips of the pen in a file: the very line, and what is missing there, in words that are no parser's.

What is YAML and what not is judged by PyYAML: every repair that is told leads to a text that it reads.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from beltplan.faults import MOST_TOLD, LayoutFaults
from beltplan.layoutfile import repairs
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.repairs import MOST_CHARACTERS, MOST_ERRORS, UNKNOWN, errors_in
from tests.for_each import for_each
from tests.layoutfile.samples import written

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
    ("at_deg: 285}", "at_deg: 285}}", "there is one `}` too many"),
    ("Railcar", "Railcar: straight six", "quotes seem to be missing: write 'Railcar: straight six'"),
    ("Railcar", "'Bob's car'", 'write it in double quotes: "Bob\'s car"'),
    ("Railcar", '"Railcar', "a closing quote seems to be missing after `Railcar`"),
    ("    diameter: 72", "   diameter: 72", "the line begins at column 4: indent as line 8, to column 5"),
    ("    role: tensioner", "      role: tensioner", "the line begins at column 7: indent as line 9, to column 5"),
    (
        "[crank, tensioner, pump, guide]",
        "[crank, tensioner], [pump, guide]",
        "brackets seem to be missing round all of",
    ),
    ("Railcar", r'"C:\Users\me\car"', "in double quotes a backslash begins a code: write 'C:"),
    (
        "at: [-190, 300], diameter",
        'at: [-190, 300], turns: "either, diameter',
        "a closing quote seems to be missing after `either`",
    ),
    ("role: crankshaft", "role: 'crankshaft", "a closing quote seems to be missing after `crankshaft`"),
    ("    diameter: 72", "\tdiameter: 72", "there is a tab; indent with spaces"),
    ("  guide:", " guide:", "the line begins at column 2: indent as line 7, to column 3"),
    ("route:", " route:", "the line begins at column 2: indent as line 4, to column 1"),
    ("at: [0, 245]", "at: [0, 245)", "`]` is wanted, and no other bracket, after `[0, 245`"),
    ("at: [0, 245]", "at: [0, 245}", "`]` is wanted, and no other bracket, after `[0, 245`"),
    (
        "units: mm",
        "obstacles: {rail: {polygon: [[-3, -1], [-1, -1], [-1, -2]}}",
        "a closing bracket `]` seems to be missing before `}`",
    ),
    (
        "units: mm",
        "obstacles: {rail: {polygon: [[-3, -1], -1, -1], [-1, -2]]}}",
        "an opening bracket `[` seems to be missing before `-1, -1`",
    ),
]


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
    (
        "    role: tensioner\n    diameter: 72\n    belt_side: back\n    arm",
        "role: tensioner\ndiameter: 72\nbelt_side: back\narm",
        8,
        "this and the next 3 begin at column 1: indent as line 13, to column 5",
    ),
)
def test_several_lines_with_one_slip_are_one_fault(good: str, bad: str, line: int, words: str) -> None:
    more = GOOD.replace("route", "  far:\n    role: idler\n    at: [0, 345]\n    diameter: 76\nroute")
    assert errors_in(more.replace(good, bad, 1)) == [(line, words)]


def test_every_slip_is_told_in_one_run() -> None:
    text = GOOD.replace("at: [0, 245]", "at: [0, 245").replace("role: tensioner", "role tensioner")
    assert sorted(line for line, _ in errors_in(text)) == [8, 14]


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


@for_each(*range(3))
def test_a_colon_missing_after_two_names_is_found_on_every_line_of_a_list(bare: int) -> None:
    """The line with the two names, not its good neighbours, is what is told; PyYAML alone names the next line."""
    readings = ["crank - pump: 17 1/8", "crank - tensioner.pivot: [9 1/2, 9 7/16]", "pump - guide: 61.5"]
    lines = ["distances:", *(f"  {each}" for each in readings), "angles:", "  crank - pump: 7"]
    lines[1 + bare] = lines[1 + bare].replace(":", "")
    names = readings[bare].partition(":")[0]
    assert errors_in("\n".join(lines)) == [(2 + bare, f"a colon seems to be missing after `{names}`")]
