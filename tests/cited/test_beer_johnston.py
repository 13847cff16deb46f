"""Beer and Johnston, Vector Mechanics for Engineers: Statics, belt friction: sample problem 8.8 and problem 8.113.

8.8: largest tension 600 lb, friction 0.25, wrap 120 deg, pulley radius 8 in. Published: slack side 355.4 lb, couple
1957 lb in.
8.113: pulley radius 60 mm, pull on the shaft 900 N, friction 0.35, wrap 180 deg. Published: largest tension 675 N,
couple 27.0 N m.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.mechanics import grip_utilisation, hub_load_N, rises_N
from beltplan.geometry.loops import close_loop

LBF_N, INCH_MM = 4.4482216, 25.4


def test_8_8_grip_is_all_used() -> None:
    utilisation = grip_utilisation(np.array(600.0), np.array(355.4), np.array(0.25), np.array(2.0 * np.pi / 3.0))
    assert float(utilisation) == pytest.approx(1.0, abs=3e-4)


def test_8_8_couple_makes_the_difference() -> None:
    couple_Nm = 1957.0 * LBF_N * INCH_MM / 1000.0
    rise = rises_N(np.array([0.0, couple_Nm]), np.array([100.0, 8.0 * INCH_MM]))
    assert round(float(rise[1]) / LBF_N, 1) == round(600.0 - 355.4, 1)


def test_8_113_grip_and_couple() -> None:
    high, low = 675.0, 900.0 - 675.0
    utilisation = grip_utilisation(np.array(high), np.array(low), np.array(0.35), np.array(np.pi))
    assert float(utilisation) == pytest.approx(1.0, abs=2e-3)
    rise = rises_N(np.array([0.0, 27.0]), np.array([60.0, 60.0]))
    assert float(rise[1]) == pytest.approx(high - low, abs=1.0)


def test_8_113_pull_on_the_shaft() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [400.0, 0.0]]), np.array([60.0, 60.0]), np.ones(2))
    pull = hub_load_N(loop, np.array([675.0, 225.0]))
    np.testing.assert_allclose(pull, [[900.0, 0.0], [-900.0, 0.0]], atol=1e-9)
