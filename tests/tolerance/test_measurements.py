"""Every measurement of a layout is listed, once, with the deviation that holds for it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.measurements import measurements_of
from tests.drive.drives import railcar, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, by_rim


def parts(name: str, pulley: str) -> set[str]:
    found = measurements_of(route_of(DRIVES[name]()))
    return {each.part for each in found if each.pulley == pulley}


def test_what_is_measured_of_each_kind_of_pulley() -> None:
    assert parts("railcar", "guide") == {"x", "y", "diameter"}
    every = {"pivot x", "pivot y", "arm length", "diameter", "first stop", "second stop"}
    assert parts("railcar", "tensioner") == every | {"design angle"}
    assert parts("by rim", "tensioner") == every | {"new mark", "worn mark"}
    assert parts("by rim", "pump") == {"x", "y", "diameter", "rim height"}
    assert parts("slide", "generator") == {"from x", "from y", "to x", "to y", "diameter"}


def test_the_pulley_at_the_origin_is_where_all_is_measured_from_unless_it_says_otherwise() -> None:
    assert parts("railcar", "crank") == {"diameter"}
    said = with_pulley(railcar(), "crank", uncertainty=Uncertainty(position_mm=1.0))
    assert {m.part for m in measurements_of(route_of(said)) if m.pulley == "crank"} == {"x", "y", "diameter"}


@for_each(*DRIVES)
def test_each_measurement_once_and_the_index_is_its_pulley(name: str) -> None:
    route = route_of(DRIVES[name]())
    found = measurements_of(route)
    assert len({(each.pulley, each.part) for each in found}) == len(found)
    assert all(route.pulleys[each.index].name == each.pulley for each in found)


def test_deviations_and_their_units() -> None:
    given = replace(by_rim(), uncertainty=Uncertainty(2.0, 0.3, 0.7))
    found = {(each.pulley, each.part): each for each in measurements_of(route_of(given))}
    assert (found["guide", "x"].deviation, found["guide", "x"].unit) == (2.0, "mm")
    assert found["tensioner", "arm length"].deviation == 2.0
    assert found["guide", "diameter"].deviation == 0.3
    assert (found["tensioner", "first stop"].deviation, found["tensioner", "first stop"].unit) == (0.7, "deg")


def test_a_rim_reading_leaves_the_line_open_by_the_profiles_range() -> None:
    """Standard deviation of a uniform quantity: range over the root of 12 (JCGM 100:2008, 4.3.7)."""
    given = by_rim()
    (height,) = (each for each in measurements_of(route_of(given)) if each.part == "rim height")
    least, most = given.belt.profile.rim_range_mm
    assert height.deviation == pytest.approx((most - least) / np.sqrt(12.0))
    assert height.spread == "uniform"
