"""An ordinary belt that nothing adjusts, on two pulleys of 100 mm: path 2 x distance + 100 pi, plane geometry.

Tension is Hooke's, stiffness x strain; 28 kN a rib and 5 mm of tolerance are from memory, medium confidence.
"""

from __future__ import annotations

import math

import pytest

from beltplan.checks.belt import fixed_tension_N
from beltplan.drive.belt import parse_designation
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import belt_of, found, route, sliding, two
from tests.for_each import for_each

PATH = 600.0 + 100.0 * math.pi


def test_an_ordinary_belt_is_a_problem_with_what_its_tolerance_does() -> None:
    """Hooke: 50 N a rib when measured, 28 kN a rib for the stretch of one made 5 mm short of 915 mm."""
    (finding,) = found(read_layout("tests/cases/no_adjuster.yaml", None).layout, "no_adjuster")
    held = 6 * 50.0 + 6 * 28_000.0 * (PATH / 910.0 - 1.0)
    assert finding.severity == "problem" and finding.unit == "N"
    assert finding.value == pytest.approx(held)
    words = f"6PK915 made 5.0 mm short is pulled with about {held:.0f} N a span"
    assert f"{words} (maximum {6 * 180})" in finding.message
    assert f"as much long, it is {920.0 - PATH:.1f} mm longer than the path" in finding.message
    assert "slipped on" in finding.message and "add an adjuster" in finding.message
    assert "stretch belt" in finding.message


@for_each(0.9, -0.9, 4.5)
def test_the_tension_goes_with_how_the_path_lies_to_the_shortest_belt(off: float) -> None:
    (finding,) = found(belt_of(915.0, two((915.0 - 100.0 * math.pi + off) / 2.0)), "no_adjuster")
    assert finding.value == pytest.approx(6 * 50.0 + 6 * 28_000.0 * (5.0 + off) / 910.0)


def test_a_belt_that_is_hardly_longer_still_pulls_a_little() -> None:
    """5 mm long on a path 4.5 mm longer than its nominal: 0.5 mm over 920 mm is 91 N less than the measuring force."""
    (finding,) = found(belt_of(915.0, two((915.0 - 100.0 * math.pi + 4.5) / 2.0)), "no_adjuster")
    assert f"made as much long, about {300.0 - 6 * 28_000.0 * 0.5 / 920.0:.0f} N are left" in finding.message


def test_it_stays_a_problem_where_no_belt_lies_near_or_none_is_listed() -> None:
    for given in (belt_of(940.0, two(300.0)), two(300.0, stock=()), two(300.0, belt=parse_designation("6PJ"))):
        assert [finding.severity for finding in found(given, "no_adjuster")] == ["problem"]


def test_without_a_stiffness_no_tension_is_made_up() -> None:
    (finding,) = found(two(300.0, belt=parse_designation("6PJ")), "no_adjuster")
    assert (finding.value, finding.limit, finding.unit) == (None, None, "")
    assert "pulled far too tight" in finding.message


def test_stretch_belts_and_adjusters_are_no_problem() -> None:
    assert found(belt_of(905.0, two(300.0), stretch_fit=(0.005, 0.015)), "no_adjuster") == []
    assert found(belt_of(970.0, sliding()), "no_adjuster") == []


def test_the_belt_is_still_listed_as_marginal() -> None:
    laid = route(two(300.0, stock=(parse_designation("6PK915"),)))
    assert [(fitted.designation, fitted.judged) for fitted in laid.stock] == [("6PK915", "marginal")]


@for_each((900.0, 300.0), (901.0, 300.0 - 168_000.0 / 901.0), (902.0, 0.0))
def test_a_belt_as_long_as_its_path_carries_its_measuring_force(line_mm: float, tension_N: float) -> None:
    """50 N a rib and span (ISO 9982, from memory, medium confidence), less Hooke's for what it is longer."""
    assert fixed_tension_N(parse_designation("6PK"), 900.0, line_mm) == pytest.approx(tension_N)
