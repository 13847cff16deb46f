"""Khurmi and Gupta, Theory of Machines, ch. 11: belt drives between locked centres at the point of slip.

11.11: diameters 1.2 and 0.5 m, 4 m apart, 0.9 kg/m, largest tension 2000 N, friction 0.3, larger pulley 200 rpm.
Published: 657.0 N m (of spans rounded to the newton; exact 656.92) and 273 N m (cut; exact 273.7), 13.76 kW.
11.13: 1.5 and 1.0 m, 4.8 m apart, set to 3000 N, 1.5 kg/m, friction 0.3, smaller pulley 400 rpm. Published: 42 kW;
exact from the same inputs 41.84 kW: m v^2 657.97, tractive 3340.9 and 1343.2 N.
11.15: 0.24 and 0.6 m, 3 m apart, 4 kW with the smaller pulley at 300 rpm, friction 0.3, no mass. Published: largest
tension 1780 N, set tension 1249.5 N, length 7.33 m.
11.17: two V-belts of 750 mm2, 1200 kg/m3, groove 30 deg, friction 0.12, 7 MPa, equal pulleys of 0.3 m, 1500 rpm.
Published: 171.69 kW, best speed 2807 rpm.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from beltplan.drive.balance import Tensions
from beltplan.drive.belt import Friction
from beltplan.drive.mechanics import Mechanics, friction_of
from beltplan.drive.route import Route, route_of
from tests.cited.published import meets
from tests.drive.drives import pulley
from tests.drive.loaded_drives import plain_belt, power_W, slipping, two


def _at_most(route: Route, belt: Mechanics, friction: float, rpm: float, maximum_N: float) -> Tensions:
    """The slipping drive, set so tight that its tightest span bears `maximum_N` in all."""

    def over(preload_factor: float) -> float:
        return float(slipping(route, belt, friction, rpm, preload_factor).total_N.max()) - maximum_N

    # A set tension of just over m v^2 leaves nothing to grip with; `maximum_N` set is more than the tight side has.
    least = 1.001 * float(slipping(route, belt, friction, rpm, 1.0).centrifugal_N) / maximum_N
    return slipping(route, belt, friction, rpm, brentq(over, least, 1.0, xtol=1e-12))


def test_11_11_centrifugal() -> None:
    at_slip = _at_most(route_of(two(1200.0, 500.0, 4000.0, 2000.0)), plain_belt(0.9), 0.3, 200.0, 2000.0)
    meets(-at_slip.torque_Nm[0], 657.0, 0.1)
    meets(np.floor(at_slip.torque_Nm[1]), 273.0, 0.0)
    meets(power_W(at_slip) / 1000.0, 13.76, 0.005)


def test_11_13_fixed_centres_at_speed() -> None:
    at_slip = slipping(route_of(two(1000.0, 1500.0, 4800.0, 3000.0)), plain_belt(1.5), 0.3, 400.0)
    assert round(float(at_slip.centrifugal_N), 2) == 657.97
    np.testing.assert_allclose(np.sort(at_slip.tractive_N), [1343.2, 3340.9], atol=0.05)
    assert round(float(power_W(at_slip)) / 1000.0, 2) == 41.84
    meets(power_W(at_slip) / 1000.0, 42.0, 0.5)


def test_11_15_set_tension_and_length() -> None:
    route, belt = route_of(two(240.0, 600.0, 3000.0, 1249.5)), plain_belt(0.0)
    at_slip = slipping(route, belt, 0.3, 300.0)
    meets(at_slip.total_N.max(), 1780.0, 0.5)
    meets(power_W(at_slip) / 1000.0, 4.0, 0.002)
    meets(route.loop.length / 1000.0, 7.33, 0.005)


def test_11_17_power_of_wedged_belts() -> None:
    route, belt = route_of(two(300.0, 300.0, 1500.0, 10500.0)), plain_belt(2 * 750e-6 * 1200.0)
    at_slip = _at_most(route, belt, WEDGED, 1500.0, 2 * 750.0 * 7.0)
    meets(power_W(at_slip) / 1000.0, 171.69, 0.005)


def test_11_17_best_speed() -> None:
    route, belt = route_of(two(300.0, 300.0, 1500.0, 10500.0)), plain_belt(2 * 750e-6 * 1200.0)

    def lost_W(rpm: float) -> float:
        return -float(power_W(_at_most(route, belt, WEDGED, rpm, 10500.0)))

    best = minimize_scalar(lost_W, bounds=(2000.0, 4000.0), method="bounded", options={"xatol": 0.01})
    meets(best.x, 2807.0, 1.0)


WEDGED = 0.12 / np.sin(np.radians(15.0))


def test_11_17_wedge_of_a_30_deg_groove() -> None:
    """The effective friction in the groove, taken back to the flat one."""
    given = two(300.0, 300.0, 1500.0, 10500.0).belt
    belt = replace(given, profile=replace(given.profile, groove_angle_deg=30.0), friction=Friction(dry=WEDGED))
    assert friction_of(belt, pulley("grooved", 0, 0, 300), "dry") == pytest.approx(WEDGED)
    assert friction_of(belt, pulley("flat", 0, 0, 300, belt_side="back"), "dry") == pytest.approx(0.12)
