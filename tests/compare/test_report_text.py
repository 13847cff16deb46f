"""A comparison as text: fit for a terminal, the best first, the rule in words, findings by column."""

import math
import re
from dataclasses import replace

from beltplan.checks.comparison import RULE, Comparison, compare
from beltplan.checks.limits import Finding
from beltplan.checks.margin import Margin
from beltplan.compare.report import compare_report
from beltplan.drive.layout import Units
from beltplan.report.rows import compare_rows
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.for_each import for_each
from tests.report.comparisons import SETS, made, named
from tests.report.test_text import assert_fit_for_a_terminal


def text_of(comparison: Comparison, full: bool = True, width: int = 100) -> str:
    return shown(compare_report(comparison, full), Screen(width))


@for_each(*SETS)
def test_fit_for_a_terminal(name: str) -> None:
    assert_fit_for_a_terminal(text_of(made(name)))
    assert max(map(len, text_of(made(name), width=72).splitlines())) <= 72


@for_each(*SETS)
def test_best_then_ranking_then_rule_then_table_then_findings_then_safety(name: str) -> None:
    text = text_of(made(name))
    heads: tuple[str, ...] = ("\nBEST     ", "\nRANKING  ", "Rule: ", "\nrank ", "\nTO DO  ", "\nSAFETY  Rotating")
    heads = heads if len(made(name).columns) > 1 else (heads[0], *heads[2:])
    assert ("RANKING" in text) == (len(made(name).columns) > 1)
    places = [text.index(head) for head in heads]
    assert places == sorted(places)
    told = " ".join(text.split())
    assert f"Rule: {RULE}." in told and told.endswith(SAFETY)


@for_each(*SETS)
def test_every_finding_and_every_refusal_is_told(name: str) -> None:
    told = " ".join(text_of(made(name)).split())
    for column in made(name).columns:
        findings = () if column.plan is None else column.plan.findings
        own = made(name).own(column)
        assert all(finding.about in told and finding.advice in told for finding in own)
        assert all(f in own or f"{f.subject}: " in told for f in findings)
        assert all(fault.got in told and fault.allowed in told for fault in column.refusal)


@for_each(*SETS)
def test_every_cell_stands_in_the_table(name: str) -> None:
    """Words of a cell may go on below; numbers never do."""
    text = text_of(made(name))
    table = re.split(r"\n\(\+1\) against|\nTO DO", text[text.index("\nrank ") :])[0].split()
    for row in compare_rows(made(name)):
        for cell in row.cells:
            assert cell.split()[0][:16] in " ".join(table)


def test_findings_of_all_stand_once() -> None:
    text = text_of(made("refused among"))
    shared = made("refused among").shared
    assert shared and "TO DO  in every column that has a belt path" in text
    assert all(" ".join(text.split()).count(f.about) == 1 for f in shared)


def test_a_finding_of_all_whose_number_differs_stands_once_with_every_number() -> None:
    workboat = made("workboat").columns[0]
    assert workboat.plan is not None
    named_so = Finding("wrap", "caution", "ac", "124.0 deg of wrap, short", "the layout", 124.0, 120.0, "deg")
    plans = [replace(workboat.plan, findings=(replace(named_so, wrong=f"{w} deg of wrap, short", value=w),))
             for w in (124.0, 125.25, 124.0)]  # fmt: skip
    columns = tuple(replace(workboat, name=name, outcome=plan) for name, plan in zip("abc", plans, strict=True))
    comparison = Comparison(columns, (0, 1, 2), (1, 2, 3))
    (only,) = comparison.shared
    assert only.wrong == "124.0 deg of wrap, short; b 125.2 deg" and not any(map(comparison.own, columns))


def test_ties_and_problems_are_said_at_the_top() -> None:
    assert "BEST     a; just as good: b" in text_of(made("ties"))
    assert "though none is without a problem" in text_of(compare(named("too_tight")))
    assert "though none" not in text_of(made("workboat"))


def test_ranking_is_told_in_its_order() -> None:
    told = " ".join(text_of(made("workboat")).split())
    assert "RANKING 1 workboat: base; 2 workboat: alternator low; 3 workboat: sides swapped Rule: fewest" in told


def test_more_columns_than_fit_stand_in_further_blocks() -> None:
    text = text_of(made("all"))
    assert text.count("\nrank ") == 3 and text_of(made("workboat")).count("\nrank ") == 1


def test_only_what_is_asked_stands_without_full() -> None:
    text = text_of(made("workboat"), full=False)
    assert "Rule:" not in text and "\nnotes " not in text and "note  " not in text and "more: --full" in text
    assert text.splitlines()[-1] == f"SAFETY  {SAFETY_IN_SHORT}"
    heads = [line for line in text.splitlines() if line.startswith("TO DO")]
    assert heads == ["TO DO  for workboat: alternator low", "TO DO  for workboat: sides swapped"]


def test_lengths_are_told_in_the_unit_asked_for() -> None:
    """25.1 and 7.4 mm, frozen, are 0.99 and 0.29 in."""
    asked: tuple[tuple[Units, str, str], ...] = (("in", "0.29", "0.99"), ("mm", "7.4", "25.1"))
    for units, reserve, clearance in asked:
        columns = tuple(replace(c, layout=replace(c.layout, units=units)) for c in made("workboat").columns)
        told = " ".join(shown(compare_report(replace(made("workboat"), columns=columns)), Screen()).split())
        assert f"smallest reserve, {units} {reserve} " in told and f"smallest clearance, {units} {clearance} " in told


@for_each(
    ((0, 1, -0.25), (0, 2, -0.1501), ""),  # not by a tenth of the limit
    (
        (0, 1, -0.25),
        (0, 2, -0.02),
        "B has 1 caution more, but its worst is 2.0 % past its limit (wrap, fan), not 25.0 %",
    ),
    (
        (0, 1, -0.25),
        (0, 3, 0.1),
        "B has 2 cautions more, but its worst is 10.0 % inside its limit (wrap, fan), not 25.0 ",
    ),
    ((0, 1, -math.inf), (0, 2, -0.02), "2.0 % past its limit (wrap, fan), not slack (wrap, fan)."),
    ((1, 0, -0.5), (3, 0, -0.1), "B has 2 problems more, but its worst is 10.0 % past"),
    ((0, 1, -0.25), (1, 0, -0.02), ""),  # it does not work
)
def test_another_that_has_more_against_it_but_nothing_as_bad_is_named_beside_the_best(
    best: tuple[int, int, float], other: tuple[int, int, float], words: str
) -> None:
    """The rank stays by the rule; a tenth is our own choice."""
    first = made("workboat").columns[0]
    assert first.plan is not None
    columns = []
    for name, (problems, cautions, share) in (("A", best), ("B", other)):
        found = [Finding("wrap", "problem", "fan", "short", "x")] * problems
        found += [Finding("wrap", "caution", "fan", "short", "x")] * cautions
        plan = replace(first.plan, findings=tuple(found))
        vars(plan)["margin"] = Margin(share, "wrap", "fan", True)
        columns.append(replace(first, name=name, outcome=plan))
    told = " ".join(text_of(Comparison(tuple(columns), (0, 1), (1, 2)), width=400).split())
    assert told.index("BEST A") and (f"{words}" in told) and (" more, but its worst is " in told) == bool(words)
