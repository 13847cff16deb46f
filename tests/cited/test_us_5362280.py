"""US patent 5,362,280 (1994), abstract: damping ratio of a tensioner, 2 (A - B) / (A + B).

A is the torque on the up-stroke, against the spring; B the one on the down-stroke, with it. "At most 20 %, better 10 to
20 %." So 20 % lies 10 % either way of the middle.
"""

import pytest

from beltplan.drive.mechanics import friction_of_arm
from beltplan.drive.pulleys import Arm, ArmSpring, WrenchReadings
from tests.for_each import for_each


@for_each((55.0, 45.0, 0.2), (21.0, 19.0, 0.1), (42.0, 42.0, 0.0), (60.0, 40.0, 0.4))
def test_half_the_damping_ratio_is_the_friction_either_way(up: float, down: float, ratio: float) -> None:
    read = WrenchReadings(((90.0, up, down), (110.0, up, down)))
    share, source = friction_of_arm(Arm((0.0, 0.0), 80.0, (1.0, 2.0), spring=ArmSpring(50.0, 100.0, 0.0, read)))
    assert 2.0 * share == pytest.approx(ratio) and "readings" in source
    assert read.torque_Nm * (1.0 + share) == pytest.approx(up), "the high end of the band is the torque against it"
    assert read.torque_Nm * (1.0 - share) == pytest.approx(down)
