"""What follows from what is said of a belt."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.drive.belt import Belt
from beltplan.drive.profiles import PROFILES
from tests.for_each import for_each

PK = Belt(PROFILES["PK"], 6)


def test_back_height_is_measured_from_the_rim_which_lies_under_the_line() -> None:
    """Half of the nominal drop of 0.385 mm on the diameter: 0.19 mm a side."""
    assert replace(PK, back_over_rim_mm=2.4).back_mm == pytest.approx(2.4 - 0.1925)


def test_back_height_of_the_profile_where_none_was_measured() -> None:
    assert PK.back_mm == 2.2
    assert Belt(PROFILES["PJ"]).back_mm is None


def test_cord_depth() -> None:
    assert PK.cord_depth_mm == 1.1
    assert replace(PK, cord_below_back_mm=0.9).cord_depth_mm == 0.9


def test_belt_reaches_outward_and_inward_by_its_whole_height() -> None:
    assert PK.outer_mm + PK.inner_mm == pytest.approx(4.5)
    assert Belt(PROFILES["PJ"]).outer_mm == pytest.approx(3.5 - 1.6)
    assert replace(PK, back_over_rim_mm=6.0).inner_mm == 0.0


@for_each(("AV10", 8.0), ("AV13", 9.0), ("A", 8.0 - 2.75), ("B", 11.0 - 3.5))
def test_v_belt_reaches_down_into_its_groove(name: str, inner: float) -> None:
    """Belt heights of ISO 2790 and ISO 4184, datum width under the top of ISO 4183: from memory, high confidence."""
    assert Belt(PROFILES[name]).inner_mm == pytest.approx(inner, abs=0.005)


@for_each((500.0, 5.0), (1000.0, 5.0), (1000.1, 5.0005), (2000.0, 10.0))
def test_tolerance_is_the_greater_of_a_number_and_a_share(length: float, tolerance: float) -> None:
    """5 mm up to 1000 mm, 0.5 % above: from memory, medium confidence."""
    assert PK.tolerance_of(length) == pytest.approx(tolerance)


def test_own_tolerance_wins() -> None:
    assert replace(PK, tolerance_mm=2.0).tolerance_of(2000.0) == 2.0
