"""The drawn outline against shapely and the exact length."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from beltplan.geometry.loops import arc_points, close_loop, outline
from beltplan.geometry.vectors import norm
from tests.geometry.random_loops import sound_mixed


@pytest.mark.parametrize("step", [0.05, 0.01])
def test_outline_is_as_long_as_the_loop_but_for_its_chords(step: float) -> None:
    """A chord is shorter than its arc by a share of step^2 / 24 at most; measured with shapely."""
    circles = sound_mixed(4, 20)
    for k in range(len(circles.radius)):
        loop = close_loop(circles.centre[k], circles.radius[k], circles.sense[k])
        short_by = float(loop.length) - shapely.length(shapely.LinearRing(outline(loop, step)))
        on_arcs = float(np.sum(loop.wrap * loop.radius))
        assert 0.0 < short_by <= on_arcs * step**2 / 24.0 + 1e-9


def test_outline_of_two_equal_discs_bounds_a_rectangle_and_a_disc() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([40.0, 40.0]), np.ones(2))
    area = shapely.Polygon(outline(loop, 0.002)).area
    assert area == pytest.approx(300.0 * 80.0 + np.pi * 40.0**2, rel=1e-5)
    assert shapely.LinearRing(outline(loop)).is_ccw


def test_arc_runs_from_contact_to_contact_in_the_direction_of_travel() -> None:
    circles = sound_mixed(4, 5)
    loop = close_loop(circles.centre[0], circles.radius[0], circles.sense[0])
    for i in range(6):
        points = arc_points(loop, i, 0.05)
        np.testing.assert_allclose(points[0], loop.arrival[i], atol=1e-9)
        np.testing.assert_allclose(points[-1], loop.start[i], atol=1e-9)
        np.testing.assert_allclose(norm(points - loop.centre[i]), loop.radius[i])
        assert norm(np.diff(points, axis=0)).max() <= 0.05 * loop.radius[i] + 1e-9
