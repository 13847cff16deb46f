"""First order: derivatives against those of the layout written anew, and shares that sum to one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.measurements import measurements_of
from beltplan.tolerance.study import Contribution, contributions_of
from tests.drive.drives import on_slide, railcar, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, NO_ERRORS, changed

STEP = 1e-3


def rows_of(given: Layout) -> tuple[Contribution, ...]:
    route = route_of(given)
    return contributions_of(route, measurements_of(route))


def deviation_of(rows: tuple[Contribution, ...]) -> float:
    return math.hypot(*(row.deviation_mm or 0.0 for row in rows))


@for_each(*DRIVES)
def test_derivatives_are_those_of_the_layout_written_anew(name: str) -> None:
    """Central differences over the needed length of `check`: an error of third order in a step of 1e-3 mm or deg."""
    given = DRIVES[name]()
    slopes = [(row.measurement, row.mm_per_unit or 0.0) for row in rows_of(given)]
    for measurement, slope in slopes:
        ahead, behind = (route_of(changed(given, measurement, step)).needed_mm for step in (STEP, -STEP))
        assert ahead is not None and behind is not None
        assert slope == pytest.approx((ahead - behind) / (2.0 * STEP), abs=2e-6), measurement.words
    assert max(abs(slope) for _, slope in slopes) > 0.5


@for_each(*DRIVES)
def test_shares_sum_to_one_largest_first_and_make_the_deviation(name: str) -> None:
    """Propagation of uncertainty, JCGM 100:2008, 5.1.2: variances of independent parts add."""
    rows = rows_of(DRIVES[name]())
    told = [row.share for row in rows if row.share is not None]
    assert len(told) == len(rows) and sum(told) == pytest.approx(1.0, abs=1e-12)
    assert told == sorted(told, reverse=True)
    parts = [(row.deviation_mm or 0.0) / deviation_of(rows) for row in rows]
    assert [part**2 for part in parts] == pytest.approx(told)


def test_two_pulleys_by_hand() -> None:
    """Plain geometry: L = 2 x + pi (d1 + d2) / 2 for equal pulleys, x = 0.5 (from + to) at mid-slide."""
    given = replace(on_slide(), uncertainty=Uncertainty(1.5, 0.4, 0.0))
    rows = rows_of(given)
    ends, diameters = 2 * (1.0 * 1.5) ** 2, 2 * (0.5 * np.pi * 0.4) ** 2
    assert deviation_of(rows) == pytest.approx(np.sqrt(ends + diameters))
    assert {row.measurement.part for row in rows[:2]} == {"from x", "to x"}
    assert rows[0].share == pytest.approx(0.5 * ends / (ends + diameters))


def test_what_is_measured_badly_matters_most() -> None:
    rows = rows_of(with_pulley(railcar(), "guide", uncertainty=Uncertainty(position_mm=9.0)))
    assert rows[0].measurement.words == "y of guide"


def test_without_errors_there_is_nothing_to_share() -> None:
    rows = rows_of(replace(railcar(), uncertainty=NO_ERRORS))
    assert rows and deviation_of(rows) == 0.0 and all(row.share is None for row in rows)
