"""ISO 9981:2020, 5.2-5.4 (PK), and ISO 9982 (other profiles; from memory, high confidence for b_e, medium for d_e).

Nominal effective line differential b_e: pitch length - effective length = 2 pi b_e, and the speed ratio counts on
d_e + 2 b_e. PK: b_e = 2 mm, which 'may be used to calculate the speed ratio'; smallest d_e 45 mm.
"""

import numpy as np
import pytest

from beltplan.drive.belt import Belt, pitch_length_mm
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Pulley
from tests.cited.published import holds, meets
from tests.for_each import for_each

LINE_DIFFERENTIAL = {"PH": 0.8, "PJ": 1.2, "PK": 2.0, "PL": 3.0, "PM": 4.0}
SMALLEST = {"PH": 13.0, "PJ": 20.0, "PK": 45.0, "PL": 75.0, "PM": 180.0}
NAMES = for_each(*LINE_DIFFERENTIAL)


@NAMES
def test_pitch_length_exceeds_effective_length(name: str) -> None:
    excess = pitch_length_mm(Belt(PROFILES[name]), 1500.0) - 1500.0
    meets(excess / (2.0 * np.pi), LINE_DIFFERENTIAL[name], 1e-9)


@NAMES
def test_ratio_counts_on_pitch_diameters(name: str) -> None:
    belt, b_e = Belt(PROFILES[name]), LINE_DIFFERENTIAL[name]
    large, small = (Pulley(f"d{d:.0f}", "other", d) for d in (190.0, 60.0))
    ratio = large.pitch_radius_mm(belt) / small.pitch_radius_mm(belt)
    assert ratio == pytest.approx((190.0 + 2.0 * b_e) / (60.0 + 2.0 * b_e))


@NAMES
def test_smallest_effective_diameter(name: str) -> None:
    holds(PROFILES[name].grooved_least_mm, SMALLEST[name])
