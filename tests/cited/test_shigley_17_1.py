"""Shigley, Mechanical Engineering Design, example 17-1: a flat belt, 15 hp, at 1750 rpm. Inputs from memory.

Pulleys 6 and 18 in, 8 ft apart, belt 6 in wide, 0.393 lbf/ft, largest tension 420 lbf, service factor 1.25, design
factor 1.1. Published: 20.6 hp to design for, developed friction 0.328.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.balance import tensions_at
from beltplan.drive.mechanics import grip_utilisation
from beltplan.drive.route import route_of
from tests.drive.loaded_drives import plain_belt, power_W, two

LBF_N, INCH_MM, HORSEPOWER_W = 4.4482216, 25.4, 745.69987
RPM, LARGEST_LBF = 1750.0, 420.0
TORQUE_LBF_IN = 63025.0 * 15.0 * 1.25 * 1.1 / RPM
PULL_LBF = TORQUE_LBF_IN / 3.0
SET_N = (LARGEST_LBF - 0.5 * PULL_LBF) * LBF_N

ROUTE = route_of(two(6.0 * INCH_MM, 18.0 * INCH_MM, 96.0 * INCH_MM, SET_N))
BELT = plain_belt(0.393 * 0.45359237 / 0.3048)
STATE = tensions_at(ROUTE, BELT, np.array(RPM), np.array([0.0, PULL_LBF * 9.0 * LBF_N * INCH_MM / 1000.0]))


def test_power_to_design_for() -> None:
    assert round(float(power_W(STATE)) / HORSEPOWER_W, 1) == 20.6


def test_largest_tension_is_that_of_the_example() -> None:
    assert float(STATE.total_N.max()) / LBF_N == pytest.approx(LARGEST_LBF, abs=1e-6)


def test_developed_friction() -> None:
    """With a friction of one, the use of the smaller pulley is the friction that is developed."""
    utilisation = grip_utilisation(STATE.entering_N, STATE.tractive_N, np.asarray(1.0), STATE.loop.wrap)
    assert round(float(utilisation[0]), 3) == 0.328
