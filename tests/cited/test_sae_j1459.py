"""SAE J1459-2022, PK grooves, second-hand: pitch 3.56 mm, groove 40 deg; effective diameter D_b - 0.990, rim
D_b - 1.875, D_b over the balls.

So the rim lies 0.885 mm under the effective diameter: just inside the profile's range, since its rim radius of 0.48 mm
exceeds ISO's largest of 0.45. Its apex of the flanks meets nothing that the program computes: left out.
"""

from beltplan.drive.profiles import PROFILES
from tests.cited.published import holds

PK = PROFILES["PK"]


def test_rim_of_its_larger_radius_lies_just_inside_our_range() -> None:
    least, most = PK.rim_range_mm
    holds(least, 0.990 - 1.875, 0.02)
    assert least < 0.990 - 1.875 < PK.rim_minus_line_mm < most


def test_pitch_and_angle_of_the_profile() -> None:
    holds([PK.pitch_mm, PK.groove_angle_deg], [3.56, 40.0])
