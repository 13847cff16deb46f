"""How fast and which way everything turns."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.layout import Engine
from beltplan.drive.route import belt_speed_m_per_s, ratios, route_of, turning_sense
from tests.drive.drives import railcar


def test_a_60_mm_generator_on_a_190_mm_crankshaft_turns_about_three_times_as_fast() -> None:
    """(190 + 2 x 2) / (60 + 2 x 2) = 3.03: ISO 9981:2020, 5.4, b_e 2 mm 'may be used to calculate the speed ratio'."""
    assert round(float(ratios(route_of(railcar()))[-1]), 2) == 3.03


def test_ratios_of_ribs_and_back() -> None:
    """Back: outside radius + 1.1 mm to the cord (common practice, no source)."""
    expected = [1.0, 97.0 / 37.1, 97.0 / 67.0, 97.0 / 39.1, 97.0 / 32.0]
    np.testing.assert_allclose(ratios(route_of(railcar())), expected)


def test_pulleys_on_the_back_turn_the_other_way() -> None:
    route = route_of(railcar())
    assert [turning_sense(route, p) for p in route.pulleys] == [
        "clockwise", "counterclockwise", "clockwise", "counterclockwise", "clockwise"
    ]  # fmt: skip
    other = route_of(railcar(rotation="counterclockwise"))
    assert turning_sense(other, other.layout.pulleys["guide"]) == "clockwise"


def test_belt_speed() -> None:
    """A pitch radius of 97 mm at 3000 rpm: 50 turns a second of 2 pi 0.097 m."""
    assert belt_speed_m_per_s(route_of(railcar()), 3000.0) == pytest.approx(50.0 * 2.0 * np.pi * 0.097)


def test_engine_speeds_by_name() -> None:
    assert Engine(idle_rpm=750.0, max_rpm=2600.0).speeds_rpm == {"idle": 750.0, "max": 2600.0}
