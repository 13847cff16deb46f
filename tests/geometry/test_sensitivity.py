"""Closed-form derivatives against numeric ones (central differences of high order, in scipy)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.differentiate import derivative

from beltplan.geometry.loops import close_loop, length_by_centre, length_by_motion
from beltplan.geometry.vectors import Floats, from_angle, left_normal
from tests.geometry.random_loops import Circles, sound_mixed


def _slope(function: Callable[[Floats], Floats]) -> float:
    """Derivative at 0 by scipy: one set of differences of tenth order, steps of 0.5 mm and less."""
    found = derivative(function, 0.0, initial_step=0.5, order=10, maxiter=1)
    return float(found.df)


def _length(circles: Circles, k: int, centre: Floats, radius: Floats) -> Floats:
    return close_loop(circles.centre[k] + centre, circles.radius[k] + radius, circles.sense[k]).length


@pytest.fixture(scope="module")
def circles() -> Circles:
    return sound_mixed(17, 12)


@pytest.mark.parametrize("axis", [0, 1])
def test_length_by_centre(circles: Circles, axis: int) -> None:
    closed = length_by_centre(circles.loop)
    for k, i in np.ndindex(*circles.radius.shape):
        unit = np.zeros((6, 2))
        unit[i, axis] = 1.0

        def moved(t: Floats, k: int = k, unit: Floats = unit) -> Floats:
            return _length(circles, k, np.asarray(t)[..., None, None] * unit, np.zeros(6))

        assert closed[k, i, axis] == pytest.approx(_slope(moved), abs=1e-9)


def test_length_by_radius_is_the_wrap_on_either_side(circles: Circles) -> None:
    closed = circles.loop.wrap
    for k, i in np.ndindex(*circles.radius.shape):
        unit = np.eye(6)[i]

        def grown(t: Floats, k: int = k, unit: Floats = unit) -> Floats:
            return _length(circles, k, np.zeros((6, 2)), np.asarray(t)[..., None] * unit)

        assert closed[k, i] == pytest.approx(_slope(grown), abs=1e-8)
    assert (circles.sense < 0.0).any()


def test_length_by_motion_on_an_arm(circles: Circles) -> None:
    """dL/dangle = (u_before - u_after) . (z x arm), with the arm drawn from a pivot 80 mm away."""
    for k in range(len(circles.radius)):
        pivot = circles.centre[k, 1] - 80.0 * from_angle(np.array(0.4))

        def swung(t: Floats, k: int = k, pivot: Floats = pivot) -> Floats:
            centre = np.broadcast_to(circles.centre[k], (*np.shape(t), 6, 2)).copy()
            centre[..., 1, :] = pivot + 80.0 * from_angle(0.4 + 0.1 * np.asarray(t))
            return close_loop(centre, circles.radius[k], circles.sense[k]).length

        motion = 80.0 * left_normal(from_angle(np.array(0.4)))
        closed = length_by_motion(
            circles.loop.direction[..., 0, :],
            circles.loop.direction[..., 1, :],
            np.broadcast_to(motion, (len(circles.radius), 2)),
        )
        assert closed[k] == pytest.approx(_slope(swung) / 0.1, abs=1e-6)


def test_moving_every_pulley_together_changes_nothing(circles: Circles) -> None:
    np.testing.assert_allclose(length_by_centre(circles.loop).sum(axis=-2), 0.0, atol=1e-14)


def test_a_pulley_wrapped_half_a_turn_takes_up_two_for_one() -> None:
    """Plain geometry: two parallel spans both grow by the movement."""
    loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([40.0, 40.0]), np.ones(2))
    np.testing.assert_allclose(length_by_centre(loop)[1], [2.0, 0.0], atol=1e-15)
