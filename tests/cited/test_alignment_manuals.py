"""How far pulleys may stand out of line, by manuals, and what a tilted face adds, by plane geometry.

A bus air-conditioning installation manual, 2012, 4.12.3: centre lines of the pulleys within 1/3 deg. An engine manual:
6 mm a metre (0.34 deg). SAE 1999-01-1709, abstract: 0.33 deg into a grooved pulley as a guideline. Entry angle with a
tilted face, derived: atan(dz / l) - (a u_x + b u_y), a and b slopes of the pulley's plane, so 0.5 deg of tilt gives
0.50, 0.43, 0.25, 0 deg for spans at 0, 30, 60, 90 deg to its direction.
"""

import math

import numpy as np
import pytest

from beltplan.checks.alignment import misalignment_deg
from beltplan.checks.limits import LIMITS
from beltplan.drive.pulleys import Pulley
from tests.checks.drives import found
from tests.checks.test_alignment import skewed
from tests.cited.published import holds
from tests.for_each import for_each

SPAN_MM, ALONG_X = np.array(300.0), np.array([1.0, 0.0])


@for_each((1.0 / 3.0, 2), (math.degrees(math.atan(6.0 / 1000.0)), 2), (0.33, 2))
def test_the_caution_begins_where_the_manuals_end(published_deg: float, decimals: int) -> None:
    bound = LIMITS["max_misalignment_deg", ""]
    holds(bound.ample, published_deg, 0.015)
    assert found(skewed(0.95 * published_deg), "misalignment") == []
    assert [f.severity for f in found(skewed(1.05 * published_deg), "misalignment")] == ["caution", "caution"]


@for_each((0, 0.50), (30, 0.43), (60, 0.25), (90, 0.0))
def test_of_half_a_degree_of_tilt_a_span_sees_its_share(span_deg: int, published_deg: float) -> None:
    """Whichever way the tilt points, and at whichever end of the span it stands."""
    for towards in np.radians([0.0, 90.0, 217.0]):
        tilt = (0.5 * math.cos(towards), 0.5 * math.sin(towards))
        leaning, square = Pulley("a", "idler", 60.0, tilt_deg=tilt), Pulley("b", "idler", 60.0)
        along = np.array([math.cos(towards + math.radians(span_deg)), math.sin(towards + math.radians(span_deg))])
        for ends in ((leaning, square), (square, leaning)):
            assert round(float(misalignment_deg(*ends, SPAN_MM, along)), 2) == published_deg


def test_offset_less_tilt() -> None:
    """3 mm over 300 mm is 0.573 deg; a face that leads on by 0.5 deg leaves 0.073 there, the square one sees it all."""
    run = math.degrees(math.atan(3.0 / 300.0))
    ahead = Pulley("a", "idler", 60.0, plane_mm=3.0, tilt_deg=(0.5, 0.0))
    for other, worst in (((0.0, 0.0), run), ((0.5, 0.0), run - 0.5), ((-0.5, 0.0), run + 0.5)):
        behind = Pulley("b", "idler", 60.0, plane_mm=0.0, tilt_deg=other)
        assert float(misalignment_deg(behind, ahead, SPAN_MM, ALONG_X)) == pytest.approx(worst)
