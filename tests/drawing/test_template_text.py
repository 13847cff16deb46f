"""What is said about a template: sheets, larger papers, findings, how to print and join, the caution."""

from __future__ import annotations

from dataclasses import replace

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.report import Printed, checked_words, template_report
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY_IN_SHORT
from tests.for_each import for_each
from tests.picture.drives import railcar

PROBLEM = Finding("wrap", "problem", "crank", "too little wrap", "test")
LOOK = Finding("stock", "caution", "belt", "little reserve", "test")
NOTE = Finding("plane", "note", "belt", "no plane given", "test")
STOP = "DO NOT PUNCH YET: check found"
MANY = Printed("t.pdf", "A4 portrait", 3, 4, 11, ((1, 1),), ("A0",))


@for_each(
    ("findings", "words"),
    [
        ((), "Check found nothing against it."),
        ((NOTE,), "Check found nothing against it."),
        ((LOOK,), "Check found 1 caution: read it before you cut metal."),
        ((PROBLEM, NOTE), f"{STOP} 1 problem."),
        ((PROBLEM, PROBLEM), f"{STOP} 2 problems."),
        ((LOOK, PROBLEM), f"{STOP} 1 problem and 1 caution."),
    ],
)
def test_findings_in_a_few_words(findings: tuple[Finding, ...], words: str) -> None:
    assert checked_words(findings) == words


def said(printed: Printed, findings: tuple[Finding, ...] = ()) -> str:
    text = shown(template_report(Plan(railcar(), None, findings), printed), Screen())
    assert all(len(line) <= 100 for line in text.splitlines())
    return " ".join(text.split())


def test_many_sheets() -> None:
    text = said(MANY, (PROBLEM,))
    assert "t.pdf: 11 sheets of A4 portrait, 3 rows of 4 columns, exactly 1:1" in text
    assert "blank sheets not printed: row 1, column 1 on A0 it is one sheet: --paper A0" in text
    assert "JOIN cut each sheet along its line at left and top; lay it over" in text and f"{STOP} 1 problem." in text
    assert SAFETY_IN_SHORT in text


def test_sheets_left_out_are_told_row_by_row_and_all_larger_papers_named() -> None:
    out = ((1, 1), (1, 2), (1, 3), (1, 5), (2, 4), (2, 5))
    text = said(replace(MANY, left_out=out, one_sheet=("A2", "A1", "A0")))
    assert "blank sheets not printed: row 1, columns 1 to 3 and 5; row 2, columns 4 and 5 on A2" in text
    assert "on A2, A1 or A0 it is one sheet: --paper A2 CHECK" in text
    assert "on A1 or A0 it is one sheet: --paper A1" in said(replace(MANY, one_sheet=("A1", "A0")))


def test_one_sheet_is_not_joined() -> None:
    text = said(Printed("t.pdf", "A0 portrait", 1, 1, 1, (), ("A0",)))
    assert "1 sheet of A0 portrait, 1 row of 1 column" in text
    assert not any(word in text for word in ("JOIN", "it is one sheet", "blank"))
    assert "measure the check scales first" in text and SAFETY_IN_SHORT in text


def test_no_paper_large_enough() -> None:
    assert "no paper on the list holds it on one sheet" in said(replace(MANY, one_sheet=()))
