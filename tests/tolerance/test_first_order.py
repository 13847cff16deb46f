"""First order: closed-form derivatives against numeric ones of the layout written anew, and shares that sum to one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.measurements import measurements_of
from beltplan.tolerance.study import first_order
from tests.drive.drives import on_slide, railcar, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, NO_ERRORS, changed

STEP = 1e-3


@for_each("name", DRIVES)
def test_derivatives_are_those_of_the_layout_written_anew(name: str) -> None:
    """Central differences over the needed length of `check`: an error of third order in a step of 1e-3 mm or deg."""
    given = DRIVES[name]()
    route = route_of(given)
    found = first_order(route, measurements_of(route))
    assert found is not None
    closed = [(row.measurement, row.mm_per_unit) for row in found.contributions]
    for measurement, slope in closed:
        ahead, behind = (route_of(changed(given, measurement, step)).needed_mm for step in (STEP, -STEP))
        assert ahead is not None and behind is not None
        assert slope == pytest.approx((ahead - behind) / (2.0 * STEP), abs=2e-6), measurement.words
    assert max(abs(slope) for _, slope in closed) > 0.5


@for_each("name", DRIVES)
def test_shares_sum_to_one_largest_first_and_make_the_deviation(name: str) -> None:
    """Propagation of uncertainty, JCGM 100:2008, 5.1.2: variances of independent parts add."""
    route = route_of(DRIVES[name]())
    found = first_order(route, measurements_of(route))
    assert found is not None
    shares = [row.share for row in found.contributions]
    assert all(share is not None for share in shares)
    told = [share for share in shares if share is not None]
    assert sum(told) == pytest.approx(1.0, abs=1e-12)
    assert told == sorted(told, reverse=True)
    assert sum(row.deviation_mm**2 for row in found.contributions) == pytest.approx(found.deviation_mm**2)


def test_two_pulleys_by_hand() -> None:
    """Plain geometry: L = 2 x + pi (d1 + d2) / 2 for equal pulleys, x = 0.5 (from + to) at mid-slide."""
    given = replace(on_slide(), uncertainty=Uncertainty(1.5, 0.4, 0.0))
    route = route_of(given)
    found = first_order(route, measurements_of(route))
    assert found is not None
    ends, diameters = 2 * (1.0 * 1.5) ** 2, 2 * (0.5 * np.pi * 0.4) ** 2
    assert found.deviation_mm == pytest.approx(np.sqrt(ends + diameters))
    assert {row.measurement.part for row in found.contributions[:2]} == {"from x", "to x"}
    assert found.contributions[0].share == pytest.approx(0.5 * ends / (ends + diameters))


def test_what_is_measured_badly_matters_most() -> None:
    given = with_pulley(railcar(), "guide", uncertainty=Uncertainty(position_mm=9.0))
    route = route_of(given)
    found = first_order(route, measurements_of(route))
    assert found is not None and found.contributions[0].measurement.words == "y of guide"


def test_without_errors_there_is_nothing_to_share() -> None:
    route = route_of(replace(railcar(), uncertainty=NO_ERRORS))
    found = first_order(route, measurements_of(route))
    assert found is not None and found.deviation_mm == 0.0
    assert all(row.share is None for row in found.contributions)
