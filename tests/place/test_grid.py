"""The grid: bounds, count, and a place that it must go through."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.place.study import Grid, bounds_of, grid_of
from tests.drive.drives import fixed, on_slide


def test_rows_columns_and_both_ends() -> None:
    grid = Grid((0.0, 10.0), (1.0, 10.4), 0.1)
    assert grid.shape == (5, 11) and grid.count == 55
    points = grid.points()
    np.testing.assert_allclose(points[[0, 10, 11, -1]], [(0.0, 10.0), (1.0, 10.0), (0.0, 10.1), (1.0, 10.4)])


def test_about_forty_thousand_places_through_the_present_one() -> None:
    grid = grid_of((-313.0, -95.0), (422.0, 623.0), None, (243.0, 299.0))
    assert 36_000 < grid.count < 44_000
    away = np.hypot(*(grid.points() - np.array([243.0, 299.0])).T)
    assert away.min() == pytest.approx(0.0, abs=1e-9)
    assert grid.low[0] >= -313.0 and grid.low[0] < -313.0 + grid.step_mm


def test_a_box_of_ones_own_begins_at_its_corner() -> None:
    grid = grid_of((5.0, 7.0), (9.0, 8.0), 2.0, None)
    np.testing.assert_allclose(grid.points(), [(5.0, 7.0), (7.0, 7.0), (9.0, 7.0)])


def test_bounds_hold_every_rim_and_150_mm_more() -> None:
    """Two pulleys of 100 mm effective diameter, rims 0.385 mm less across, centres 300 mm apart."""
    (x0, y0), (x1, y1) = bounds_of(fixed())
    rim = 50.0 - 0.385 / 2.0
    np.testing.assert_allclose([x0, y0, x1, y1], [-rim - 150.0, -rim - 150.0, 300.0 + rim + 150.0, rim + 150.0])


def test_bounds_hold_the_adjusted_pulley_at_both_stops() -> None:
    _, (right, _) = bounds_of(on_slide(end=(400.0, 0.0)))
    assert right == pytest.approx(400.0 + 50.0 - 0.385 / 2.0 + 150.0)
