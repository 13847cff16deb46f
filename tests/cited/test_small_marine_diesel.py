"""A small marine diesel's installation manual, p. 35: belts at the crank nose up to 8 kW, 2 kW an A belt, side force
not beyond 113 mm from the face of the block.

The belt's speed is not published: 10 m/s, that of a pulley of 127 mm at 1500 rpm, is ours.
"""

import numpy as np
import pytest

from beltplan.checks.tension import hub_moment_Nm
from beltplan.drive.belt import parse_designation
from beltplan.drive.mechanics import friction_of, grip_utilisation
from beltplan.drive.pulleys import Pulley

NOSE = Pulley("nose", "crankshaft", 127.0, overhang_mm=113.0)


def test_an_a_belt_set_by_hand_holds_two_kilowatts_with_margin() -> None:
    belt = parse_designation("A")
    half_N = np.array(0.5 * 2000.0 / 10.0)
    friction = np.array(friction_of(belt, NOSE, "design"))
    used = grip_utilisation(belt.hand_set_N - half_N, belt.hand_set_N + half_N, friction, np.array(np.pi))
    assert 0.1 < float(used) < 0.8


def test_the_side_force_bends_the_nose_at_its_distance() -> None:
    """Two spans of four belts, pulled alike: what the nose must stand, for its maker to say."""
    pull_N = np.array(2.0 * 4.0 * parse_designation("A").hand_set_N)
    assert float(hub_moment_Nm(NOSE, pull_N)) == pytest.approx(0.113 * 8.0 * 445.0)
