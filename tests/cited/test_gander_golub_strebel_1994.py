"""Gander, Golub and Strebel, 'Least-squares fitting of circles and ellipses', BIT 34 (1994): six points, best circle.

Values from memory; scipy.optimize.least_squares gives the same. Their algebraic circle (centre (5.3794, 7.2532), radius
3.0370) is by the unit norm of the coefficients, not by the equation that `circle_near` solves: it is not compared.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.measure.least_squares import circle_through
from tests.cited.published import meets

POINTS = np.array([(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)])
CENTRE, RADIUS, RESIDUAL_NORM = (4.7398, 2.9835), 4.7142, 1.1080


def test_geometric_fit() -> None:
    centre, radius = circle_through(POINTS)
    meets([*centre, radius], [*CENTRE, RADIUS], 6e-5)
    residuals = np.hypot(*(POINTS - centre).T) - radius
    assert np.linalg.norm(residuals) == pytest.approx(RESIDUAL_NORM, abs=6e-5)
