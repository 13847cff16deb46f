"""Beer and Johnston, Vector Mechanics for Engineers: Statics, belt friction: sample problem 8.8 and problem 8.113.

8.8: largest tension 600 lb, friction 0.25, wrap 120 deg, pulley radius 8 in. Published: slack side 355.4 lb, couple
1957 lb in.
8.113: pulley radius 60 mm, pull on the shaft 900 N, friction 0.35, wrap 180 deg. Published: largest tension 675 N,
couple 27.0 N m.
"""

import numpy as np
from scipy.optimize import brentq

from beltplan.drive.mechanics import grip_utilisation, hub_load_N, rises_N
from beltplan.geometry.loops import close_loop
from tests.cited.published import meets

LBF_N, INCH_MM = 4.4482216, 25.4


def _slack_N(tight_N: float, friction: float, wrap: float) -> float:
    """The tension of the slack side at which the grip is just used up."""

    def over(slack_N: float) -> float:
        given = (np.array(value) for value in (tight_N, slack_N, friction, wrap))
        return float(grip_utilisation(*given)) - 1.0

    return float(brentq(over, 1e-3 * tight_N, 0.999 * tight_N, xtol=1e-10))


def _couple_Nm(difference_N: float, radius_mm: float) -> float:
    """The torque that makes the difference: what one newton metre makes, so many times."""
    return difference_N / float(rises_N(np.array([0.0, 1.0]), np.array([100.0, radius_mm]))[1])


def test_8_8_slack_side_and_couple() -> None:
    slack_lbf = _slack_N(600.0, 0.25, 2.0 * np.pi / 3.0)
    meets(slack_lbf, 355.4, 0.05)
    couple_Nm = _couple_Nm((600.0 - slack_lbf) * LBF_N, 8.0 * INCH_MM)
    meets(couple_Nm * 1000.0 / LBF_N / INCH_MM, 1957.0, 0.5)


def test_8_113_largest_tension_couple_and_pull_on_the_shaft() -> None:
    """Spans side by side pull as much as both together: 900 N is what the tension is looked for by."""
    loop = close_loop(np.array([[0.0, 0.0], [400.0, 0.0]]), np.array([60.0, 60.0]), np.ones(2))

    def pull_N(tight_N: float) -> float:
        return float(hub_load_N(loop, np.array([tight_N, _slack_N(tight_N, 0.35, np.pi)]))[0, 0])

    tight_N = brentq(lambda tension: pull_N(tension) - 900.0, 100.0, 900.0)
    meets(tight_N, 675.0, 0.5)
    meets(_couple_Nm(tight_N - _slack_N(tight_N, 0.35, np.pi), 60.0), 27.0, 0.05)
