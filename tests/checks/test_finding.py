"""Findings and their order: severity, margin as a share of the limit, check, subject."""

from __future__ import annotations

import random

import pytest

from beltplan.checks.limits import NOT_MEASURED, Bound, Check, Finding, in_order
from tests.for_each import for_each

ASKED = Check("check", "what it finds")
LOWER = Bound("lower", 100.0, "mm", "somewhere")
UPPER = Bound("upper", 100.0, "mm", "somewhere")


def test_order_by_severity_then_margin_then_check_then_subject() -> None:
    expected = [
        Finding("wrap", "problem", "b", "", "", margin=-0.5),
        Finding("rpm", "problem", "a", "", "", margin=-0.1),
        Finding("rpm", "problem", "b", "", "", margin=-0.1),
        Finding("wrap", "problem", "a", "", "", margin=-0.1),
        Finding("clearance", "caution", "a", "", "", margin=-0.9),
        Finding("clearance", "caution", "a", "", "", margin=0.05),
        Finding("turns", "note", "a", "", ""),
    ]
    shuffled = expected[:]
    random.Random(3).shuffle(shuffled)
    assert list(in_order(shuffled)) == expected


@for_each(
    (LOWER, 99.0, "problem"), (LOWER, 100.0, "caution"), (LOWER, 109.9, "caution"), (LOWER, 110.1, None),
    (UPPER, 101.0, "problem"), (UPPER, 100.0, "caution"), (UPPER, 91.0, "caution"), (UPPER, 90.9, None),
)  # fmt: skip
def test_judge_at_the_limit_and_a_tenth_inside_it(bound: Bound, value: float, expected: str | None) -> None:
    assert [f.severity for f in ASKED.judge("it", value, bound, "words")] == ([expected] if expected else [])


@pytest.mark.parametrize(("bound", "value"), [(LOWER, 80.0), (UPPER, 120.0)])
def test_margin_is_the_distance_as_a_share_of_the_limit(bound: Bound, value: float) -> None:
    (finding,) = ASKED.judge("it", value, bound, "words")
    assert finding.margin == pytest.approx(-0.2)
    assert (finding.value, finding.limit, finding.unit, finding.source) == (value, 100.0, "mm", "somewhere")


@pytest.mark.parametrize("bound", [LOWER, UPPER])
def test_a_value_that_is_no_number_is_never_well_inside(bound: Bound) -> None:
    assert bound.verdict(float("nan")) is not None


def test_a_finding_without_a_number_counts_as_the_whole_limit_missed() -> None:
    finding = ASKED.find("note", "it", "words")
    assert (finding.value, finding.limit, finding.unit, finding.margin) == (None, None, "", NOT_MEASURED)


def test_a_finding_marks_what_it_is_about_but_never_the_whole_belt() -> None:
    parts = [ASKED.find("note", subject, "").parts for subject in ("it", "belt")]
    assert [*parts, ASKED.find("note", "it", "", parts=("a", "b")).parts] == [("it",), (), ("a", "b")]
