"""What is said about a template: sheets, larger papers, findings, how to print and join, the caution."""

from __future__ import annotations

import json
from dataclasses import replace

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.control import checked_words
from beltplan.drawing.paper import Page, Sheet, Tiling
from beltplan.drawing.picture import Template
from beltplan.drawing.report import template_json, template_report
from beltplan.drawing.strokes import drawing_of
from beltplan.picture.paper import PAPERS
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.drawing.drawn_drives import shipped
from tests.for_each import for_each

PROBLEM = Finding("wrap", "problem", "crank", "too little wrap", "test")
LOOK = Finding("stock", "caution", "belt", "little reserve", "test")
NOTE = Finding("plane", "note", "belt", "no plane given", "test")
RAILCAR = shipped("railcar", None)
TILING = Tiling(Sheet(PAPERS[0], False, 50.0), 3, 5, 0.0, 0.0)


@for_each(
    ((), "nothing against it."),
    ((NOTE,), "nothing against it."),
    ((LOOK,), "1 caution: read it before you cut metal."),
    ((PROBLEM, NOTE), "1 problem: put it right before you cut metal."),
    ((PROBLEM, PROBLEM), "2 problems: put them right before you cut metal."),
    ((LOOK, PROBLEM), "1 problem and 1 caution: put it right before you cut metal."),
)
def test_findings_in_a_few_words(findings: tuple[Finding, ...], words: str) -> None:
    assert checked_words(findings) == f"Check found {words}"


def printed(*left_out: Page, only: tuple[str, ...] | None = None) -> Template:
    """A template without some sheets, from 1."""
    out = {(row - 1, column - 1) for row, column in left_out}
    return Template(drawing_of(RAILCAR, only), TILING, tuple(page for page in TILING.pages if page not in out))


def said(template: Template, one_sheet: tuple[str, ...] = ("A0",), findings: tuple[Finding, ...] = ()) -> str:
    text = shown(template_report(Plan(RAILCAR, None, findings), template, "t.pdf", one_sheet), Screen())
    assert all(len(line) <= 100 for line in text.splitlines())
    return " ".join(text.split())


def test_many_sheets() -> None:
    text = said(printed((1, 1)), findings=(PROBLEM,))
    assert "t.pdf: 14 sheets of A4 portrait, 3 rows of 5 columns, exactly 1:1" in text
    assert "blank sheets not printed: 1-1 on A0 it is one sheet: --paper A0" in text
    assert "JOIN cut each sheet along its line at left and top; lay it over" in text
    assert "found 1 problem: put it right before you cut metal DO NOT PUNCH YET" in text
    assert SAFETY_IN_SHORT in text


def test_what_to_measure_is_told_by_pythagoras() -> None:
    """Places as in layouts/railcar.yaml: compressor at -238, 232, alternator at 243, 299."""
    assert f"compressor to alternator {(481**2 + 67**2) ** 0.5:.1f} mm; " in said(printed())


def test_sheets_left_out_are_told_and_all_larger_papers_named() -> None:
    template = printed((1, 1), (1, 2), (1, 3), (1, 5), (2, 4), (2, 5))
    text = said(template, ("A2", "A1", "A0"))
    assert "blank sheets not printed: 1-1, 1-2, 1-3, 1-5, 2-4, 2-5 on A2" in text
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
    assert f"{laid}: what is drawn then lies " in text and " not drawn: water_pump x -12, y 288 mm; " in text
    assert "tensioner x" not in text and "ONLY" not in said(printed())


def test_json_tells_sheets_control_distances_and_what_is_not_drawn() -> None:
    told = json.loads(template_json(Plan(RAILCAR, None, ()), printed((1, 2), only=("compressor",)), "t.pdf", ["A0"]))
    assert (told["file"], told["paper"], told["across"], told["rows"], told["columns"]) == ("t.pdf", "A4", False, 3, 5)
    assert told["left_out"] == [{"row": 1, "column": 2}] and len(told["sheets"]) == 14
    assert told["control"][0] == {"from": "compressor", "to": "crank", "length_mm": round((238**2 + 232**2) ** 0.5, 6)}
    assert told["only"] == ["compressor"] and [each["name"] for each in told["datum_points"]] == ["crank", "crane_pump"]
    assert {"name": "water_pump", "x_mm": -12.0, "y_mm": 288.0} in told["not_drawn"]
    assert (told["units"], told["one_sheet"], told["caution"]) == ("mm", ["A0"], SAFETY)
