"""A comparison as text: fit for a terminal, the best first, the rule in words, findings by column."""

from __future__ import annotations

from beltplan.checks.comparison import RULE, compare
from beltplan.compare.report import compare_text
from beltplan.report.rows import compare_rows
from beltplan.report.words import SAFETY
from tests.for_each import for_each
from tests.report.comparisons import SETS, made, named
from tests.report.test_text import assert_fit_for_a_terminal


@for_each("name", list(SETS))
def test_fit_for_a_terminal(name: str) -> None:
    assert_fit_for_a_terminal(compare_text(made(name)))


@for_each("name", list(SETS))
def test_best_then_table_then_rule_then_findings_then_caution(name: str) -> None:
    text = compare_text(made(name))
    heads = ("\nBEST     ", "\nVERDICT  ", "\nrank ", "\nRANKING  ", "\nFINDINGS  ", "\nCAUTION  Rotating")
    places = [text.index(head) for head in heads]
    assert places == sorted(places)
    told = " ".join(text.split())
    assert f"Rule: {RULE}." in told and told.endswith(SAFETY)


@for_each("name", list(SETS))
def test_every_finding_and_every_refusal_is_told(name: str) -> None:
    told = " ".join(compare_text(made(name)).split())
    for column in made(name).columns:
        findings = () if column.judged is None else column.judged.findings
        assert all(f"{finding.subject}: {finding.message}" in told for finding in findings)
        assert all(fault.got in told and fault.allowed in told for fault in column.refusal)


@for_each("name", list(SETS))
def test_every_cell_stands_in_the_table(name: str) -> None:
    """Words of a cell may go on below; numbers never do."""
    text = compare_text(made(name))
    table = text[: text.index("\nRANKING")].split()
    for row in compare_rows(made(name)):
        for cell in row.cells:
            assert cell.split()[0][:16] in " ".join(table)


def test_findings_of_all_stand_once() -> None:
    text = compare_text(made("refused among"))
    shared = made("refused among").shared
    assert shared and "FINDINGS  in every column" in text
    assert all(" ".join(text.split()).count(f"{f.subject}: {f.message}") == 1 for f in shared)


def test_ties_and_problems_are_said_at_the_top() -> None:
    assert "BEST     a; just as good: b" in compare_text(made("ties"))
    assert "though none is without a problem" in compare_text(compare(named("too_tight")))
    assert "though none" not in compare_text(made("workboat"))


def test_ranking_is_told_in_its_order() -> None:
    told = " ".join(compare_text(made("workboat")).split())
    assert "RANKING 1 workboat: base; 2 workboat: alternator low; 3 workboat: sides swapped Rule:" in told


def test_more_columns_than_fit_stand_in_further_blocks() -> None:
    text = compare_text(made("all"))
    assert text.count("\nrank ") == 2 and compare_text(made("workboat")).count("\nrank ") == 1
