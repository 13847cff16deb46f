"""Reserves and fitting on a slide whose path is 2 x distance + 100 pi, plane geometry.

Tolerance 5 mm and 0.5 %, rib height 2.35 mm: from memory, medium confidence. Wear 0.7 %: common practice, no source.
Fitting slack: wrap x height to climb, from dL/dr = wrap.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.drive.pulleys import SlideSpring
from tests.checks.drives import belt_of, found, layout, pulley, severity, sliding
from tests.for_each import for_each

SHORTEST, LONGEST = 600.0 + 100.0 * math.pi, 720.0 + 100.0 * math.pi
FITTING = math.pi * 2.35
SPRING = SlideSpring(300.0, 0.0, 1.0)


def test_a_good_belt_leaves_nothing_to_say() -> None:
    assert found(belt_of(970.0, sliding()), "reserve") == []
    assert found(belt_of(970.0, sliding()), "fitting") == []


@pytest.mark.parametrize(("more", "expected"), [(0.01, None), (-0.01, "caution")])
def test_short_end(more: float, expected: str | None) -> None:
    assert severity(belt_of(SHORTEST + FITTING + 5.0 + more, sliding()), "reserve") == expected


@pytest.mark.parametrize(("more", "expected"), [(-0.02, None), (0.02, "caution")])
def test_long_end_of_a_locked_slide_keeps_stretch_and_wear(more: float, expected: str | None) -> None:
    # 1034 mm is over 1000, so the tolerance is 0.5 %. 468 N is 168 N over the measuring force: 168 / 168000 of stretch.
    assert severity(belt_of(LONGEST / 1.013 + more, sliding(tension_N=468.0)), "reserve") == expected


@pytest.mark.parametrize(("more", "expected"), [(-0.02, "caution"), (0.02, "problem")])
def test_a_locked_belt_that_cannot_reach_its_set_tension_is_a_problem(more: float, expected: str) -> None:
    assert severity(belt_of(LONGEST / 1.001 + more, sliding(tension_N=468.0)), "reserve") == expected


def test_a_belt_that_cannot_be_tightened_is_told_by_how_much() -> None:
    finding = found(belt_of(LONGEST - 0.2, sliding(tension_N=468.0)), "reserve")[0]
    over = (LONGEST - 0.2) * 1.001 - LONGEST
    assert finding.value == pytest.approx(LONGEST + over) and finding.limit == pytest.approx(LONGEST)
    assert finding.margin == pytest.approx(-over / LONGEST, rel=1e-6)
    assert f"it is {over:.1f} mm longer than the longest path" in finding.message


@pytest.mark.parametrize(("more", "expected"), [(-0.02, None), (0.02, "caution")])
def test_long_end_of_a_sprung_slide_keeps_wear_too(more: float, expected: str | None) -> None:
    given = belt_of(LONGEST / 1.012 + more, sliding(spring=SPRING))
    assert severity(given, "reserve") == expected


def test_what_a_travel_of_next_to_nothing_lacks_is_counted_in_mm() -> None:
    """0.6 mm of belt, where fitting and tolerance either way take 17.4: a share is of 1 mm at least."""
    (finding,) = found(belt_of(914.5, sliding(end=(300.3, 0.0), spring=SPRING)), "reserve")
    assert finding.value == finding.margin == pytest.approx(0.6 - FITTING - 2.0 * 5.0, abs=1e-6)


def test_what_is_missing_is_told_in_mm_with_the_lengths_that_are_good() -> None:
    (finding,) = found(belt_of(SHORTEST + 10.0, sliding(tension_N=300.0)), "reserve")
    assert finding.value == pytest.approx(10.0 - FITTING - 5.0) and finding.limit == 0.0
    assert f"{-(10.0 - FITTING - 5.0):.1f} mm too little" in finding.message
    assert finding.advice == f"any length from {SHORTEST + FITTING + 5.0:.1f} to {LONGEST / 1.012:.1f} mm will do"


@pytest.mark.parametrize(("more", "expected"), [(-0.01, {"problem"}), (0.01, {"caution"})])
def test_a_slide_so_short_that_no_belt_surely_goes_on_and_tightens_is_a_problem(
    more: float, expected: set[str]
) -> None:
    """The belt may be 5 mm off either way: twice the slide must hold 10 mm and the fitting slack."""
    slide = (10.0 + FITTING + more) / 2.0
    given = belt_of(SHORTEST + FITTING + 5.0, sliding(end=(300.0 + slide, 0.0), tension_N=300.0))
    assert {finding.severity for finding in found(given, "reserve")} == expected


def test_a_problem_says_by_how_much_the_slide_is_too_short() -> None:
    (finding,) = found(belt_of(SHORTEST + 4.0, sliding(end=(304.0, 0.0), tension_N=300.0)), "reserve")
    assert finding.severity == "problem" and finding.value == pytest.approx(-(10.0 + FITTING - 8.0))
    assert f"travel is {10.0 + FITTING - 8.0:.1f} mm of belt too short, wear not counted" in finding.message
    assert "up to 5.0 mm off" in finding.message and finding.advice == "the adjuster needs more travel"


def test_a_slide_too_short_by_a_hair_is_never_0_0_mm_too_short() -> None:
    slide = (10.0 + FITTING - 0.02) / 2.0
    (finding,) = found(belt_of(SHORTEST + FITTING + 5.0, sliding(end=(300.0 + slide, 0.0), tension_N=300.0)), "reserve")
    assert "travel is 0.02 mm of belt too short" in finding.message


def test_a_slide_too_short_for_any_length_to_wear() -> None:
    (long,) = found(belt_of(SHORTEST + 13.0, sliding(end=(309.0, 0.0), tension_N=300.0)), "reserve")
    (short, _) = found(belt_of(SHORTEST + 12.0, sliding(end=(309.0, 0.0), tension_N=300.0)), "reserve")
    assert {short.severity, long.severity} == {"caution"}
    # 9 mm of slide take up 18 mm; the least length leaves 5 mm and fitting slack, the most 5 mm and 0.7 % of wear.
    lacking = SHORTEST + 5.0 + FITTING - (SHORTEST + 18.0 - 5.0) / 1.007
    words = "too short for fitting, length tolerance and wear together, with any belt"
    assert short.advice == long.advice == f"the adjuster's travel is {lacking:.1f} mm {words}"


@for_each((0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None))
def test_slack_against_what_the_rim_needs(share: float, expected: str | None) -> None:
    given = belt_of(SHORTEST + FITTING * share, sliding())
    assert severity(given, "fitting", "crank") == expected


def test_slack_and_what_is_needed_are_told_in_mm() -> None:
    """Slack is the belt less the shortest path; needed is wrap x height to climb; the margin is their difference."""
    (finding,) = found(belt_of(SHORTEST + 0.8 * FITTING, sliding()), "fitting")
    assert finding.value == pytest.approx(0.8 * FITTING) and finding.limit == pytest.approx(FITTING)
    assert finding.unit == "mm" and finding.margin == pytest.approx(-0.2)


@pytest.mark.parametrize("short_by", [3.0, 9.0])
def test_the_margin_of_a_missing_reserve_is_its_share_of_the_travel(short_by: float) -> None:
    """120 mm of belt between the stops: 60 mm of slide, path 2 x distance."""
    (finding,) = found(belt_of(SHORTEST + FITTING + 5.0 - short_by, sliding()), "reserve")
    assert finding.value == pytest.approx(-short_by) and finding.limit == 0.0
    assert finding.margin == pytest.approx(-short_by / (LONGEST - SHORTEST))


def test_a_flange_must_be_climbed_too() -> None:
    given = belt_of(SHORTEST + FITTING * 1.5, sliding())
    flanged = replace(given, pulleys={**given.pulleys, "crank": replace(given.pulleys["crank"], flange_mm=3.0)})
    (finding,) = found(flanged, "fitting")
    assert finding.severity == "problem" and finding.limit == pytest.approx(math.pi * (2.35 + 3.0))


def test_the_easiest_fixed_rim_is_named_to_go_over_last() -> None:
    # Equal ribbed pulleys: wrap is the outer angle of the corner, least where the triangle is bluntest; `flat` has it.
    slide = sliding((300.0, 0.0), (330.0, 0.0)).pulleys["far"]
    given = layout(pulley("crank", "crankshaft", 0, 0), pulley("flat", "idler", 150, 60), slide)
    wrap = 2.0 * math.atan2(60.0, 150.0)
    shortest = 300.0 + 2.0 * math.hypot(150.0, 60.0) + 100.0 * math.pi
    (finding,) = found(belt_of(shortest + 0.5, given), "fitting")
    assert finding.subject == "flat" and finding.limit == pytest.approx(wrap * 2.35, rel=1e-9)
    assert "over it last" in finding.wrong and f"{finding.value:.1f}" == "0.5"
