"""Shigley, Mechanical Engineering Design, example 17-1: a flat belt at 1750 rpm. From memory.

Pulleys 6 and 18 in, 8 ft apart, 0.393 lbf/ft; initial tension 270.6 lbf beside the centrifugal one, 742.8 lbf in on the
small pulley. Published: 2749 ft/min, centrifugal tension 25.6 lbf, 420 and 172.4 lbf, developed friction 0.328.
"""

import numpy as np

from beltplan.drive.balance import tensions_at
from beltplan.drive.mechanics import grip_utilisation
from beltplan.drive.route import route_of
from tests.cited.published import meets
from tests.drive.loaded_drives import plain_belt, two

LBF_N, INCH_MM = 4.4482216, 25.4
RPM = 1750.0
ROUTE = route_of(two(6.0 * INCH_MM, 18.0 * INCH_MM, 96.0 * INCH_MM, (270.6 + 25.6) * LBF_N))
BELT = plain_belt(0.393 * 0.45359237 / 0.3048)
# The large pulley takes three times the torque.
STATE = tensions_at(ROUTE, BELT, np.array(RPM), np.array([0.0, 3.0 * 742.8 * LBF_N * INCH_MM / 1000.0]))


def test_speed_and_centrifugal_tension() -> None:
    meets(ROUTE.belt_speed_m_per_s(RPM) / 0.3048 * 60.0, 2749.0, 0.5)
    meets(STATE.centrifugal_N / LBF_N, 25.6, 0.05)


def test_tensions() -> None:
    meets(np.sort(STATE.total_N / LBF_N), [172.4, 420.0], 0.06)


def test_developed_friction() -> None:
    """With a friction of one, the utilisation of the smaller pulley is the friction that is developed."""
    utilisation = grip_utilisation(STATE.entering_N, STATE.tractive_N, np.asarray(1.0), STATE.loop.wrap)
    meets(utilisation[0], 0.328, 0.0005)
