"""Axes, and curves cut off at the top."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.picture.chart import Axes, cut_at


def test_values_land_in_proportion() -> None:
    """Straight lines: a quarter of the way in value is a quarter of the way on paper."""
    axes = Axes((10.0, 20.0, 110.0, 70.0), (1000.0, 5000.0), (0.0, 2.0))
    np.testing.assert_allclose(axes.at(np.array((2000.0, 1.5))), (35.0, 57.5))


def test_a_curve_is_cut_where_it_crosses_the_top() -> None:
    """By similar triangles: from 1 to 3 over one step, 2 is half the way."""
    up, down = cut_at(np.array([(0.0, 0.0), (1.0, 1.0), (2.0, 3.0), (3.0, 1.0)]), 2.0)
    np.testing.assert_allclose(up, [(0.0, 0.0), (1.0, 1.0), (1.5, 2.0)])
    np.testing.assert_allclose(down, [(2.5, 2.0), (3.0, 1.0)])


def test_an_infinite_value_stands_at_the_top() -> None:
    (piece,) = cut_at(np.array([(0.0, 1.0), (1.0, np.inf), (2.0, np.inf)]), 2.0)
    np.testing.assert_allclose(piece, [(0.0, 1.0), (1.0, 2.0)])


@pytest.mark.parametrize("values", [(3.0, 3.0), (np.inf, np.inf)])
def test_a_curve_that_is_all_over_the_top_is_not_drawn(values: tuple[float, float]) -> None:
    assert cut_at(np.array([(0.0, values[0]), (1.0, values[1])]), 2.0) == []
