"""Rao, Mechanical Vibrations, SI 6th edition, problem 5.101: two pulleys and a belt, both free to turn.

Inputs as read on a public page: d 0.25 and 1.0 m, C 5 m, J 0.1 and 0.2 kg m2, E 1e10 Pa. The area that the page prints
for 750 rpm does not fit its own formula, so the formula is tested: w^2 = (K1 + K2)(r1^2 / J1 + r2^2 / J2).
"""

import numpy as np
import pytest

from beltplan.drive.modes import Chain, modes_of, spans_N_per_m, turning_m
from beltplan.geometry.loops import close_loop
from tests.cited.published import meets

RADIUS_MM, INERTIA = np.array([125.0, 500.0]), np.array([0.1, 0.2])


@pytest.mark.parametrize(("area_m2", "rad_per_s"), [(1e-6, 75.106), (4e-6, 2.0 * 75.106)])
def test_natural_frequency(area_m2: float, rad_per_s: float) -> None:
    loop = close_loop(np.array([[0.0, 0.0], [5000.0, 0.0]]), RADIUS_MM, np.array([1.0, 1.0]))
    meets(loop.span / 1000.0, [4.98592] * 2, 5e-6)
    chain = Chain(INERTIA, turning_m(RADIUS_MM), spans_N_per_m(loop, 1e10 * area_m2), None)
    found = 2.0 * np.pi * modes_of(chain, crank_free=True).frequency_Hz
    np.testing.assert_allclose(found, [0.0, rad_per_s], atol=6e-4)
    if area_m2 == 1e-6:  # a belt of four times the stretch is our own
        meets(found[1], rad_per_s, 6e-4)
