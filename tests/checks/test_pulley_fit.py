"""Grooves against ribs, and pulleys too small for the profile."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from tests.checks.drives import found, pulley, sagging, severity, two
from tests.for_each import for_each


def grooved(grooves: int | None, belt: str) -> Layout:
    """Two pulleys, the second with so many grooves."""
    given = replace(two(), belt=parse_designation(belt))
    return replace(given, pulleys={**given.pulleys, "far": replace(given.pulleys["far"], grooves=grooves)})


# Fewer grooves than ribs: the commonest mistake in mixed parts, common practice, no source.
@for_each((5, "6PK", "problem"), (6, "6PK", None), (8, "6PK", None), (None, "6PK", None), (1, "AV13", None))
def test_grooves(grooves: int | None, belt: str, expected: str | None) -> None:
    assert severity(grooved(grooves, belt), "grooves") == expected


def test_grooves_are_counted_in_the_finding() -> None:
    (finding,) = found(grooved(4, "6PK"), "grooves")
    assert (finding.subject, finding.value, finding.limit, finding.unit) == ("far", 4.0, 6.0, "grooves")


# 45 mm: ISO 9981:2020. 50 mm: SAE J1596 (1989, cancelled 2019), second-hand.
@for_each(
    (0.99 * 45, "problem", "ISO 9981"), (1.01 * 45, "caution", "J1596"), (0.99 * 50, "caution", "J1596"),
    (1.01 * 50, None, ""),
)  # fmt: skip
def test_small_grooved_pulley(diameter: float, expected: str | None, source: str) -> None:
    findings = found(two(300.0, 100.0, diameter), "small_pulley")
    assert [f.severity for f in findings] == ([expected] if expected else [])
    assert all(source in f.source and f.value == pytest.approx(diameter) for f in findings)


# 90 mm: SAE J1596, second-hand. 60 mm: common practice, no source.
@for_each(
    (0.99 * 60, "problem", "no source"), (1.01 * 60, "caution", "J1596"), (0.99 * 90, "caution", "J1596"),
    (1.01 * 90, None, ""),
)  # fmt: skip
def test_small_pulley_on_the_back(diameter: float, expected: str | None, source: str) -> None:
    findings = found(sagging(60.0, pulley("it", "idler", 0, 0, diameter)), "small_pulley", "it")
    assert [f.severity for f in findings] == ([expected] if expected else [])
    assert all(source in f.source for f in findings)


def test_a_reading_over_the_rim_is_judged_at_the_effective_diameter() -> None:
    # 44.8 mm over the rim is 45.185 mm effective (rim 0.385 mm under it, derived from ISO 9982:2021 table 2).
    given = two(300.0, 100.0, 44.8)
    over_rim = replace(given.pulleys["far"], reading="rim")
    (finding,) = found(replace(given, pulleys={**given.pulleys, "far": over_rim}), "small_pulley")
    assert finding.severity == "caution" and finding.value == pytest.approx(45.185)


@for_each("far", "alternator", "")
def test_small_pulley_overridden(who: str) -> None:
    given = two(300.0, 100.0, 48.0, limits={"min_diameter_mm": {who: 55.0}})
    (finding,) = found(given, "small_pulley", "far")
    assert (finding.severity, finding.limit) == ("problem", 55.0)


def test_back_limit_of_a_profile_without_one_can_be_given() -> None:
    back = pulley("it", "idler", 0, 0, 70.0)
    belt = replace(parse_designation("3PJ"), back_over_rim_mm=2.0)
    assert found(replace(sagging(60.0, back), belt=belt), "small_pulley", "it") == []
    given = replace(sagging(60.0, back), belt=belt, limits={"min_back_diameter_mm": {"it": 75.0}})
    (finding,) = found(given, "small_pulley", "it")
    assert (finding.severity, finding.unit) == ("problem", "mm")
