"""Constants of workshop formulas for loads of shafts, from memory, high confidence.

Torque = 63,025 hp / rpm in lbf in (Shigley), 5252 hp / rpm in lbf ft and 9549 kW / rpm in N m (Machinery's Handbook).
Power of a pump = gal/min x psi / 1714 in hp (fluid power handbooks). Fan laws: double speed, 4 times the torque.
An automotive alternator: about 50 % efficient, 2 W of shaft for 1 W of current (doi 10.1201/9781003053231-3, abstract).
"""

import numpy as np
import pytest

from beltplan.drive.loads import ALTERNATOR_EFFICIENCY, AlternatorLoad, PowerLoad, PumpLoad
from beltplan.geometry.vectors import TURN
from tests.cited.published import meets
from tests.for_each import for_each

HORSEPOWER_KW, LBF_N, INCH_MM = 0.74569987, 4.4482216, 25.4
GALLON_CM3, PSI_BAR = 3785.411784, 0.0689475729


@for_each((HORSEPOWER_KW, LBF_N * 0.0254, 63025), (HORSEPOWER_KW, LBF_N * 0.3048, 5252), (1.0, 1.0, 9549))
def test_torque_of_a_power(power_kW: float, unit_Nm: float, constant: int) -> None:
    torque = PowerLoad(power_kW, 1000.0, "constant").torque_Nm(np.array(1000.0))
    meets(torque * 1000.0 / unit_Nm, constant, 0.5)


def test_power_of_a_pump() -> None:
    """100 gal/min at 1714 psi, by 100 turns a minute."""
    torque = PumpLoad(1714.0 * PSI_BAR, GALLON_CM3, 1.0).torque_Nm(np.array(100.0))
    power_hp = torque * 100.0 * TURN / 60.0 / 1000.0 / HORSEPOWER_KW
    meets(100.0 * 1714.0 / power_hp, 1714.0, 0.5)


def test_fan_law() -> None:
    slow, fast = PowerLoad(2.0, 1500.0, "cube").torque_Nm(np.array([1500.0, 3000.0]))
    assert fast / slow == pytest.approx(4.0)


def test_shaft_power_of_an_alternator() -> None:
    torque = AlternatorLoad(50.0, 14.0, ALTERNATOR_EFFICIENCY).torque_Nm(np.array(3000.0))
    meets(torque * 3000.0 * TURN / 60.0 / (50.0 * 14.0), 2.0, 1e-9)
