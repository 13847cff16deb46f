"""Circles near points: exact ones, and how far from the best, which scipy.optimize.least_squares finds."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats, from_angle
from beltplan.measure.least_squares import circle_near
from tests.for_each import for_each

SEED = 41


def _arc(centre: Floats, radius: float, span_rad: float, count: int) -> Floats:
    return np.asarray(centre + radius * from_angle(np.linspace(0.4, 0.4 + span_rad, count)))


@pytest.mark.parametrize("span_rad", [0.05, 0.3, 1.0, 3.0, 6.0])
@pytest.mark.parametrize("count", [3, 9])
def test_exact_circles(span_rad: float, count: int) -> None:
    """Far from nought and on short arcs as well: 3 deg of a rim of 65 mm, picked at 4000 px."""
    centre, radius = circle_near(_arc(np.array((4000.0, -3000.0)), 65.0, span_rad, count))
    np.testing.assert_allclose(centre, (4000.0, -3000.0), atol=1e-4)
    assert radius == pytest.approx(65.0, abs=1e-4)


def test_the_quick_circle_is_too_small_on_a_short_arc(rng: np.random.Generator) -> None:
    """What its docstring warns of; the best circle is nearer on the median of 100 draws."""
    quick, best = [], []
    for _ in range(100):
        points = _arc(np.zeros(2), 80.0, 1.0, 12) + rng.normal(size=(12, 2))
        centre, radius = circle_near(points)
        quick.append(radius)
        best.append(least_squares(lambda x, at=points: np.hypot(*(at - x[:2]).T) - x[2], (*centre, radius)).x[2])
    assert np.median(quick) < 76.0
    assert abs(np.median(best) - 80.0) < 80.0 - np.median(quick)


@for_each(
    (((0.0, 0.0), (1.0, 1.0)),),
    (((0.0, 0.0), (10.0, 0.0), (20.0, 0.0)),),
    (((0.0, 0.0), (10.0, 3.0), (20.0, 6.0), (50.0, 15.0)),),
    (((5.0, 5.0), (5.0, 5.0), (5.0, 5.0)),),
    (((5.0, 5.0), (5.0, 5.0), (9.0, 5.0)),),
)
def test_no_circle(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match=r"line|differ"):
        circle_near(np.array(points))
