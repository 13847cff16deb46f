"""Gaps of drawn layouts: against a normal distribution, against the same draws drawn with shapely, against `check`."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from beltplan.checks.clearance import PLACES
from beltplan.checks.limits import demanded
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.drive.way_round import NoBeltPath
from beltplan.layoutfile.layout_file import read_layout
from beltplan.tolerance.measurements import _spread, measurements_of
from beltplan.tolerance.report import answers
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.checks.drives import RIM_UNDER_MM
from tests.for_each import for_each
from tests.geometry.drawn import drawn_gaps
from tests.tolerance.drives import NO_ERRORS, changed, two_fixed

CASES = Path(__file__).parents[1] / "cases"


def case(name: str, uncertainty: Uncertainty) -> Layout:
    return replace(read_layout(str(CASES / f"{name}.yaml"), None).layout, uncertainty=uncertainty)


def under(found: Tolerance) -> dict[tuple[str, str], float]:
    return {(gap.first, gap.second): gap.under for gap in found.gaps}


@for_each(-1.0, -0.25, 1.5)
def test_one_gap_against_the_normal_distribution(sds: float) -> None:
    """Two rims of 100 mm less what the profile takes, x mm apart with x normal (scipy)."""
    gap_mm, deviation, draws = 20.0 + 2.0 * RIM_UNDER_MM, 2.0, 20_000
    limits = {"min_rim_gap_mm": {"": gap_mm + sds * deviation}}
    found = tolerance_of(
        route_of(replace(two_fixed(120.0, "6PK"), limits=limits, uncertainty=Uncertainty(2.0, 0.0, 0.0)))
    )
    wanted = float(norm.cdf(sds))
    # y moves the gap in second order only: 2 mm over 120 mm.
    error = 4.0 * np.sqrt(wanted * (1.0 - wanted) / draws) + 5e-3
    assert under(found) == {("crank", "pump"): pytest.approx(wanted, abs=error)}
    spare = f" ({-sds * deviation:.1f} mm to spare)" if sds < 0.0 else ""
    assert dict(answers(found))["GAP"].startswith("chance of too small a gap: crank and pump ")
    assert dict(answers(found))["GAP"].endswith(f" %{spare}. `beltplan place` looks for more room for pump")


def test_every_gap_of_every_draw_against_shapely() -> None:
    """Each draw written as a layout of its own, its parts drawn by shapely at the settings of `check`."""
    draws, seed = 16, 3
    given: Layout = case("close", Uncertainty(3.0, 0.5, 1.0))
    route, chance = route_of(given), np.random.default_rng(seed)
    errors = {each: each.deviation * _spread(each, chance, draws) for each in measurements_of(route)}
    short, laid = Counter[tuple[str, str]](), 0
    for i in range(draws):
        own = given
        for each, off in errors.items():
            own = changed(own, each, float(off[i]))
        try:
            drawn = route_of(own)
        except NoBeltPath:
            continue
        assert drawn.travel is not None
        laid += 1
        gaps = drawn_gaps(drawn, np.linspace(drawn.travel.short, drawn.travel.long, PLACES))
        short.update(parts for parts, gap_mm in gaps.items() if gap_mm < _least_mm(own, *parts))
    assert {*short.values()} - {laid} and len(short) > 3
    assert under(tolerance_of(route, draws, seed)) == pytest.approx({of: count / laid for of, count in short.items()})


def _least_mm(layout: Layout, first: str, second: str) -> float:
    span = " to " in first
    key = "min_strand_gap_mm" if span and " to " in second else "min_clearance_mm" if span else "min_rim_gap_mm"
    return demanded(layout, key, ()).limit


@for_each("close", "findings", "gokart", "turned_spring")
def test_without_errors_the_gaps_are_the_problems_of_check(name: str) -> None:
    exact = case(name, NO_ERRORS)
    measured = {n: replace(p, uncertainty=NO_ERRORS, reading="line") for n, p in exact.pulleys.items()}
    found = tolerance_of(route_of(replace(exact, pulleys=measured)), 2)
    problems = {each.subject for each in found.plan.findings if each.severity == "problem" and each.check in GAPS}
    assert {f"{first} / {second}": 1.0 for first, second in under(found)} == dict.fromkeys(problems, 1.0)
    assert ("a gap is too small" in found.lost) == bool(problems)


GAPS = ("clearance", "strand_gap", "rim_gap")
