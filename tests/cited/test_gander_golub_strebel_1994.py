"""Gander, Golub and Strebel, 'Least-squares fitting of circles and ellipses', BIT 34 (1994): six points, best circle.

Values from memory; scipy.optimize.least_squares gives the same. Their algebraic circle (centre (5.3794, 7.2532), radius
3.0370) is by the unit norm of the coefficients, not by the equation that `circle_near` solves: it is not compared.
"""

import numpy as np
import pytest

from tests.cited.published import meets
from tests.measure.networks import image, network, settled_at

POINTS = np.array([(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)])
CENTRE, RADIUS, RESIDUAL_NORM = (4.7398, 2.9835), 4.7142, 1.1080


def test_geometric_fit() -> None:
    """The points as a rim traced on a scan of one px a mm: the shift of the scan is where the centre is seen."""
    given = network(1, images=(image("rigid", {}, {0: POINTS}),), radii_mm={0: 1.0})
    found = settled_at(given, given.unknowns_at(np.zeros((1, 2))))
    radius, centre = found.unknowns[given.radii], found.unknowns[given.images[0].numbers][1:]
    meets([*centre, *radius], [*CENTRE, RADIUS], 6e-5)
    assert np.linalg.norm(found.residuals) == pytest.approx(RESIDUAL_NORM, abs=6e-5)
