"""`beltplan template`: what is written and said, every refusal in words, nothing left half-written."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import product
from pathlib import Path

import pdfplumber
import pytest

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.control import checked_words
from beltplan.drawing.paper import Page, Sheet, Tiling
from beltplan.drawing.picture import Template
from beltplan.drawing.report import template_json, template_report
from beltplan.drawing.strokes import drawing_of
from beltplan.picture.paper import PAPER_NAMES, PAPERS
from beltplan.picture.scene import Scene
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner
from tests.drawing.drawn_drives import shipped
from tests.for_each import for_each

RAILCAR = ROOT / "layouts" / "railcar.yaml"
WORKBOAT = ROOT / "layouts" / "workboat.yaml"
FAR_APART = """\
belt: 6PK
pulleys:
  crank: {{role: crankshaft, at: [0, 0], diameter: 100}}
  far: {{role: alternator, diameter: 100, slide: {{from: [{x}, {y}], to: [{x}, {up}]}}}}
route: [crank, far]
"""


def words_of(drawn: list[Scene]) -> list[str]:
    return [" ".join(label.text for label in scene.labels) for scene in drawn]


def test_writes_the_file_and_says_how_to_print_it(run: Runner, here: Path) -> None:
    """In place of an old one."""
    Path("t.pdf").write_text("old")
    ran = run("template", RAILCAR, "--out", "t.pdf", "--paper", "A2")
    assert (ran.code, ran.err) == (0, "") and list(here.iterdir()) == [here / "t.pdf"]
    said = " ".join(ran.out.split())
    with pdfplumber.open(here / "t.pdf") as pdf:
        pages = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert f"t.pdf: {len(pages)} sheets of A2" in said and "exactly 1:1" in said
    assert 'at 100 %, one-sided, no "fit to page"' in said and "measure the check scales first" in said
    assert "SAFETY" in said and "planning aid" in said and "--paper A0" in said
    assert all(len(line) <= 100 for line in ran.out.splitlines())
    assert all("railcar.yaml of 2001-09-09; beltplan " in page for page in pages)


def test_problems_end_with_1_and_stand_on_screen_and_on_every_page(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    checked = run("check", "layout.yaml", "--json")
    ran = run("template", "layout.yaml", "--out", "t.pdf")
    assert (checked.code, ran.code, ran.err) == (1, 1, "") and "of A4" in ran.out
    count = [finding["severity"] for finding in json.loads(checked.out)["findings"]].count("problem")
    assert count >= 1
    words = f"{count} problem{'s' if count > 1 else ''}"
    assert f"found {words}" in ran.out and "DO NOT PUNCH YET" in ran.out
    assert all(f"DO NOT PUNCH YET: {words}; check the scale too" in page for page in words_of(drawn))


def test_nothing_found_is_said_too(run: Runner, here: Path, drawn: list[Scene]) -> None:
    ran = run("template", WORKBOAT, "--out", "t.pdf", "--paper", "A0")
    assert ran.code == 0 and "CHECK    found nothing against it\n" in ran.out
    assert "Check found nothing against it." in words_of(drawn)[0]


def test_variant_is_drawn_and_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    ran = run("template", WORKBOAT, "--out", "t.pdf", "--paper", "a0", "--variant", "alternator low")
    assert "of A0" in ran.out and "(variant: alternator low)" in ran.out
    assert all("alternator low" in page for page in words_of(drawn))


def test_sheets_with_nothing_on_them_are_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(FAR_APART.format(x=1000, y=1100, up=1200))
    ran = run("template", "layout.yaml", "--out", "t.pdf", "--paper", "A2")
    said = " ".join(ran.out.split())
    rows, columns = (int(said.split(word)[0].split()[-1]) for word in (" rows of", " columns, exactly"))
    found = [re.search(r"row (\d+) of \d+, column (\d+) of", page) for page in words_of(drawn)]
    printed = {(int(place[1]), int(place[2])) for place in found if place is not None}
    told = said.partition("blank and so not printed: ")[2]
    left_out = {(int(row), int(column)) for row, column in re.findall(r"row (\d+), column (\d+)", told)}
    assert left_out and printed == set(product(range(1, rows + 1), range(1, columns + 1))) - left_out


@for_each(
    (("--out", "t.png"), "--out: got 't.png'; allowed: a file name ending in .pdf"),
    (("--out", "t.pdf", "--paper", "B5"), f"--paper: got 'B5'; allowed: {', '.join(PAPER_NAMES)}"),
    (("--out", "t.pdf", "--paper", ""), "--paper: got ''"),
    (
        ("--out", "t.pdf", "--paper", "A3 landscape"),
        "'A3 landscape' (write A3: sheets are turned as the drawing needs)",
    ),
    (("--out", "t.pdf", "--paper", "A3,Portrait"), "'A3,Portrait' (write A3: sheets are turned as the drawing needs)"),
    (("--out", "t.pdf", "--paper", "A3", "landscape"), "'landscape' is not needed: sheets are turned as the drawing"),
    ((), "the following arguments are required: --out"),
)
def test_bad_options(run: Runner, here: Path, words: tuple[str, ...], told: str) -> None:
    ran = run("template", EXAMPLE, *words)
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert told in ran.err and "Traceback" not in ran.err


def test_only_some_on_fewer_sheets_and_told_as_json(run: Runner, here: Path, drawn: list[Scene]) -> None:
    whole = json.loads(run("template", RAILCAR, "--out", "t.pdf", "--json").out)
    drawn.clear()
    ran = run("template", RAILCAR, "--out", "t.pdf", "--only", " guide,alternator,guide", "--json")
    told = json.loads(ran.out)
    assert ran.code == 0 and told["only"] == ["guide", "alternator"] and len(told["control"]) == 2
    assert len(drawn) == len(told["sheets"]) < len(whole["sheets"])
    assert all({"guide", "alternator"} & {each["from"], each["to"]} for each in told["control"])
    assert whole["only"] is None and whole["not_drawn"] == [] and len(whole["control"]) == 3


def test_unknown_names_are_told_at_once_with_what_may_be_meant(run: Runner, here: Path) -> None:
    ran = run("template", RAILCAR, "--out", "t.pdf", "--only", "gide,crank,xyz")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "--only: got 'gide' (did you mean guide?); allowed: crank, " in ran.err and "got 'xyz'; " in ran.err


def test_both_bad_options_are_told_at_once(run: Runner, here: Path) -> None:
    ran = run("template", EXAMPLE, "--out", "t.svg", "--paper", "A9")
    assert ran.code == 2 and "'t.svg'" in ran.err and "'A9'" in ran.err


@pytest.mark.parametrize("out", ["own.pdf", "./own.pdf", "link.pdf", "block.pdf"])
def test_what_is_read_is_not_overwritten(run: Runner, here: Path, out: str) -> None:
    """A layout may be called anything, and a link may lead from a .pdf to the drawing of an obstacle."""
    (here / "block.csv").write_text("0,0\n10,0\n10,10\n")
    text = FAR_APART.format(x=300, y=0, up=40) + "obstacles: {block: {file: block.csv, at: [0, 300]}}\n"
    (here / "own.pdf").write_text(text)
    (here / "link.pdf").symlink_to("own.pdf")
    (here / "block.pdf").symlink_to("block.csv")
    ran = run("template", "own.pdf", "--out", out)
    assert (ran.code, ran.out) == (2, "") and f"--out: got {out!r}; allowed: another file than the " in ran.err
    assert (here / "own.pdf").read_text() == text and (here / "block.pdf").is_symlink()


def test_too_many_sheets_are_refused_and_larger_papers_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(FAR_APART.format(x=1800, y=2600, up=2700))
    ran = run("template", "layout.yaml", "--out", "t.pdf")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [here / "layout.yaml"])
    assert "--paper: A4 takes up to " in ran.err and "allowed: at most 100 sheets" in ran.err
    assert "A0 (" in ran.err and "A4 (" not in ran.err
    named = dict(re.findall(r"(\w+) \((\d+)\)", ran.err))
    assert list(named)[-1] == "A0" and all(int(count) <= 100 for count in named.values())
    assert run("template", "layout.yaml", "--out", "t.pdf", "--paper", "A0").code in (0, 1)
    assert 1 < len(drawn) <= int(named["A0"])


# What is said about a template: sheets, larger papers, findings, how to print and join, the caution.


TOO_LITTLE = Finding("wrap", "problem", "crank", "too little wrap", "test")
LOOK = Finding("stock", "caution", "belt", "little reserve", "test")
NOTE = Finding("plane", "note", "belt", "no plane given", "test")
ROUTE = shipped("railcar", None)
TILING = Tiling(Sheet(PAPERS[0], False, 50.0), 3, 5, 0.0, 0.0)


@for_each(
    ((), "nothing against it."),
    ((NOTE,), "nothing against it."),
    ((LOOK,), "1 caution: read it before you cut metal."),
    ((TOO_LITTLE, NOTE), "1 problem: put it right before you cut metal."),
    ((TOO_LITTLE, TOO_LITTLE), "2 problems: put them right before you cut metal."),
    ((LOOK, TOO_LITTLE), "1 problem and 1 caution: put it right before you cut metal."),
)
def test_findings_in_a_few_words(findings: tuple[Finding, ...], words: str) -> None:
    assert checked_words(findings) == f"Check found {words}"


def printed(*left_out: Page, only: tuple[str, ...] | None = None) -> Template:
    """A template without some sheets, from 1."""
    out = {(row - 1, column - 1) for row, column in left_out}
    return Template(drawing_of(ROUTE, only), TILING, tuple(page for page in TILING.pages if page not in out))


def said(template: Template, one_sheet: tuple[str, ...] = ("A0",), findings: tuple[Finding, ...] = ()) -> str:
    text = shown(template_report(Plan(ROUTE, None, findings), template, "t.pdf", one_sheet), Screen())
    assert all(len(line) <= 100 for line in text.splitlines())
    return " ".join(text.split())


def test_many_sheets() -> None:
    text = said(printed((1, 1)), findings=(TOO_LITTLE,))
    assert "t.pdf: 14 sheets of A4 portrait, 3 rows of 5 columns, exactly 1:1" in text
    assert "blank and so not printed: row 1, column 1 on A0 it is one sheet: --paper A0" in text
    assert "JOIN cut each sheet along its line at left and top; lay it over" in text
    assert "found 1 problem: put it right before you cut metal DO NOT PUNCH YET" in text
    assert SAFETY_IN_SHORT in text


def test_the_paper_is_that_of_the_file_s_units_unless_it_is_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    """A4 and letter: what stands in most printers where mm or inches are used (common practice, no source)."""
    for path, more, paper in ((WORKBOAT, (), "letter"), (RAILCAR, (), "A4"), (WORKBOAT, ("--paper", "A4"), "A4")):
        assert f" sheets of {paper} " in run("template", path, "--out", "t.pdf", *more).out
    assert "of a file in inches letter" in " ".join(run("template", "--help").out.split())


def test_places_in_doubt_are_told_where_it_says_not_to_punch() -> None:
    doubted = replace(ROUTE, layout=replace(ROUTE.layout, in_doubt="crank - guide (line 9) of m.yaml"))
    text = " ".join(shown(template_report(Plan(doubted, None, ()), printed(), "t.pdf", []), Screen()).split())
    assert "DO NOT PUNCH YET: places in doubt, measure again crank - guide (line 9) of m.yaml PRINT" in text


def test_what_to_measure_is_told_by_pythagoras() -> None:
    """Places as in layouts/railcar.yaml: compressor at -238, 232, alternator at 243, 299."""
    assert f"compressor to alternator {(481**2 + 67**2) ** 0.5:.1f} mm; " in said(printed())


def test_sheets_left_out_are_told_and_all_larger_papers_named() -> None:
    template = printed((1, 1), (1, 2), (1, 3), (1, 5), (2, 4), (2, 5))
    text = said(template, ("A2", "A1", "A0"))
    assert "blank and so not printed: row 1, column 1; row 1, column 2; row 1, column 3; row 1, column 5; row 2" in text
    assert "on A2, A1, A0 it is one sheet: --paper A2 CHECK" in text
    assert "on A1, A0 it is one sheet: --paper A1" in said(template, ("A1", "A0"))
    assert "no paper on the list holds it on one sheet" in said(template, ())


def test_one_sheet_is_not_joined() -> None:
    template = printed()
    text = said(replace(template, tiling=replace(TILING, rows=1, columns=1), pages=((0, 0),)))
    assert "1 sheet of A4 portrait, 1 row of 1 column" in text
    assert not any(word in text for word in ("JOIN", "it is one sheet", "blank"))
    assert "measure the check scales first, 100 mm, along" in text and SAFETY_IN_SHORT in text


def test_only_some_are_told_with_what_they_are_laid_on_and_the_rest_as_numbers() -> None:
    """Places as in layouts/railcar.yaml."""
    text = said(printed(only=("compressor",)))
    laid = "ONLY compressor laid on crank x 0, y 0 mm and crane_pump x -117, y 409 mm"
    assert f"{laid}: what is drawn is then right to " in text and " not drawn: water_pump x -12, y 288 mm; " in text
    assert "tensioner x" not in text and "ONLY" not in said(printed())


def test_json_tells_sheets_control_distances_and_what_is_not_drawn() -> None:
    told = json.loads(template_json(Plan(ROUTE, None, ()), printed((1, 2), only=("compressor",)), "t.pdf", ["A0"]))
    assert (told["file"], told["paper"], told["across"], told["rows"], told["columns"]) == ("t.pdf", "A4", False, 3, 5)
    assert told["left_out"] == [{"row": 1, "column": 2}] and len(told["sheets"]) == 14
    assert told["control"][0] == {"from": "compressor", "to": "crank", "length_mm": round((238**2 + 232**2) ** 0.5, 6)}
    assert told["only"] == ["compressor"] and [each["name"] for each in told["datum_points"]] == ["crank", "crane_pump"]
    assert {"name": "water_pump", "x_mm": -12.0, "y_mm": 288.0} in told["not_drawn"]
    assert (told["units"], told["one_sheet"], told["caution"]) == ("mm", ["A0"], SAFETY)
