"""Circles through points: exact ones, and the best against scipy.optimize.least_squares."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats, from_angle
from beltplan.measure.least_squares import circle_near, circle_through
from tests.for_each import for_each

SEED = 41


def _arc(centre: Floats, radius: float, span_rad: float, count: int) -> Floats:
    return np.asarray(centre + radius * from_angle(np.linspace(0.4, 0.4 + span_rad, count)))


@pytest.mark.parametrize("span_rad", [0.05, 0.3, 1.0, 3.0, 6.0])
@pytest.mark.parametrize("count", [3, 9])
def test_exact_circles(span_rad: float, count: int) -> None:
    """Far from nought and on short arcs as well: 3 deg of a rim of 65 mm, picked at 4000 px."""
    for fit in (circle_near, circle_through):
        centre, radius = fit(_arc(np.array((4000.0, -3000.0)), 65.0, span_rad, count))
        np.testing.assert_allclose(centre, (4000.0, -3000.0), atol=1e-4)
        assert radius == pytest.approx(65.0, abs=1e-4)


@pytest.mark.parametrize("span_rad", [1.0, 2.5, 6.0])
def test_the_best_circle_as_scipy_finds_it(rng: np.random.Generator, span_rad: float) -> None:
    for _ in range(20):
        points = _arc(rng.uniform(-300.0, 300.0, 2), 80.0, span_rad, 12) + rng.normal(size=(12, 2))

        def misfit(x: Floats, points: Floats = points) -> Floats:
            return np.asarray(np.hypot(*(points - x[:2]).T) - x[2])

        centre, radius = circle_near(points)
        reference = least_squares(misfit, (*centre, radius), xtol=1e-14, ftol=1e-14, gtol=1e-14).x
        found = circle_through(points)
        np.testing.assert_allclose((*found[0], found[1]), reference, atol=1e-3)


def test_the_quick_circle_is_too_small_on_a_short_arc(rng: np.random.Generator) -> None:
    """What its docstring warns of; the best circle is nearer on the median of 100 draws."""
    quick, best = [], []
    for _ in range(100):
        points = _arc(np.zeros(2), 80.0, 1.0, 12) + rng.normal(size=(12, 2))
        quick.append(circle_near(points)[1])
        best.append(circle_through(points)[1])
    assert np.median(quick) < 76.0
    assert abs(np.median(best) - 80.0) < 80.0 - np.median(quick)


def test_laws_of_turn_shift_and_scale(rng: np.random.Generator) -> None:
    points = _arc(np.array((10.0, 20.0)), 50.0, 4.0, 9) + rng.normal(size=(9, 2))
    centre, radius = circle_through(points)
    turn, scale, shift = np.array(((0.6, -0.8), (0.8, 0.6))), 3.0, np.array((500.0, -100.0))
    moved, larger = circle_through(scale * points @ turn.T + shift)
    np.testing.assert_allclose(moved, scale * turn @ centre + shift, atol=1e-5)
    assert larger == pytest.approx(scale * radius, abs=1e-5)


@for_each(
    "points",
    [
        ((0.0, 0.0), (1.0, 1.0)),
        ((0.0, 0.0), (10.0, 0.0), (20.0, 0.0)),
        ((0.0, 0.0), (10.0, 3.0), (20.0, 6.0), (50.0, 15.0)),
        ((5.0, 5.0), (5.0, 5.0), (5.0, 5.0)),
        ((5.0, 5.0), (5.0, 5.0), (9.0, 5.0)),
    ],
)
def test_no_circle(points: tuple[tuple[float, float], ...]) -> None:
    for fit in (circle_near, circle_through):
        with pytest.raises(ValueError, match=r"line|differ"):
            fit(np.array(points))
