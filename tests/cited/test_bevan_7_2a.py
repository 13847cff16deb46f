"""Bevan, Theory of Machines, ch. 7, example 2a: belt between locked centres at speed.

Set to 500 lb, friction 0.3, wrap 165 deg, 3600 ft/min, 1.2 lb/ft, g 32.2 ft/s2. Published: 32.5 hp; best speed 66.9
ft/s. (The printed greatest power, 36.2 hp, keeps the wrong centrifugal term and is not used.)
"""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from beltplan.drive.route import route_of
from tests.cited.published import meets
from tests.drive.loaded_drives import plain_belt, power_W, slipping, two

FOOT_M, POUND_KG = 0.3048, 0.45359237
LBF_N = POUND_KG * 32.2 * FOOT_M
HORSEPOWER_W = 550.0 * FOOT_M * LBF_N
MASS = plain_belt(1.2 * POUND_KG / FOOT_M)
SMALL, LARGE = 600.0, 900.0
# Wrap on the smaller pulley: pi - 2 asin((R - r) / C).
ROUTE = route_of(two(SMALL, LARGE, 0.5 * (LARGE - SMALL) / np.sin(np.radians(7.5)), 500.0 * LBF_N))


def _power_hp(feet_per_s: float) -> float:
    rpm = feet_per_s * FOOT_M / (SMALL / 2000.0) * 60.0 / (2.0 * np.pi)
    return float(power_W(slipping(ROUTE, MASS, 0.3, rpm))) / HORSEPOWER_W


def test_wrap_of_the_drive() -> None:
    assert float(np.degrees(ROUTE.loop.wrap.min())) == pytest.approx(165.0, abs=1e-9)


def test_power() -> None:
    meets(_power_hp(60.0), 32.5, 0.05)


def test_best_speed() -> None:
    best = minimize_scalar(lambda v: -_power_hp(v), bounds=(40.0, 100.0), method="bounded", options={"xatol": 1e-4})
    meets(best.x, 66.9, 0.05)
