"""SAE J1459-2022, PK grooves, second-hand: pitch 3.56, ball 2.50, rim radius 0.48 mm.

Published, against the diameter D_b over the balls: effective diameter D_b - 0.990; apex of the flanks
D_b - 0.028 (40 deg groove), + 0.261 (37 deg); rim D_b - 1.875 (40 deg), - 1.805 (37 deg).
The groove's plane geometry is re-derived here: the ball touches both flanks; the virtual ridge stands where flanks of
neighbouring grooves meet; rounding takes the ridge down.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.profiles import PROFILES

PK = PROFILES["PK"]
PITCH = PK.pitch_mm or np.nan
"""The table's own, as is the groove of 40 deg below: with other ones the published numbers do not come out."""
BALL, RIM_RADIUS = 2.50, 0.48
LINE_UNDER_BALLS = 0.990


def _ridge_over_balls(groove_deg: float) -> float:
    """Diameter over the virtual ridges, where the flanks meet, less the diameter over the balls."""
    half = np.radians(groove_deg / 2.0)
    ball_top_over_root = 0.5 * BALL * (1.0 / np.sin(half) + 1.0)
    ridge_over_root = PITCH / (2.0 * np.tan(half))
    return float(2.0 * (ridge_over_root - ball_top_over_root))


def _rim_over_balls(groove_deg: float) -> float:
    half = np.radians(groove_deg / 2.0)
    return float(_ridge_over_balls(groove_deg) - 2.0 * RIM_RADIUS * (1.0 / np.sin(half) - 1.0))


@pytest.mark.parametrize(("groove_deg", "apex"), [(PK.groove_angle_deg, -0.028), (37.0, 0.261)])
def test_apex_of_the_flanks(groove_deg: float, apex: float) -> None:
    assert round(_ridge_over_balls(groove_deg), 3) == apex


@pytest.mark.parametrize(("groove_deg", "rim"), [(PK.groove_angle_deg, -1.875), (37.0, -1.805)])
def test_rim(groove_deg: float, rim: float) -> None:
    assert round(_rim_over_balls(groove_deg), 3) == rim


def test_rim_of_its_larger_radius_lies_just_inside_our_range() -> None:
    """0.885 mm under the effective diameter: the J1459 radius of 0.48 mm exceeds ISO's largest of 0.45."""
    under = _rim_over_balls(PK.groove_angle_deg) + LINE_UNDER_BALLS
    assert under == pytest.approx(-0.885, abs=5e-4)
    least, most = PK.rim_range_mm
    assert least < under < least + 0.02
    assert under < PK.rim_minus_line_mm < most


def test_pitch_of_the_profile() -> None:
    assert (PK.pitch_mm, PK.groove_angle_deg) == (3.56, 40.0)
