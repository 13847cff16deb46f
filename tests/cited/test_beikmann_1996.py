"""Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118(3), 1996: the prototypical three-pulley drive, one on the back.

Inputs from memory, high confidence for the geometry. Published: angles between the arm and the spans beside it, 135.79
and 178.74 deg; tones of spans, from memory: 51.75 and 103.50 Hz of the longest, 82.81 Hz of the next. Spans, wraps,
length and slope below are our own from these inputs, frozen.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.mechanics import frequency_at_rest_Hz
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import route_of
from beltplan.geometry.loops import length_by_motion
from tests.drive.drives import layout, pulley, with_belt

PIVOT, TENSIONER = np.array([250.8, 63.5]), np.array([347.7, 57.15])
REACH = TENSIONER - PIVOT
ANGLE = float(np.arctan2(*REACH[::-1]))
ARM = Arm((250.8, 63.5), float(np.hypot(*REACH)), (ANGLE - 0.1, ANGLE + 0.1), at_rad=ANGLE)
FLAT = layout(
    [
        pulley("crank", 552.5, 55.6, 2 * 88.9, role="crankshaft"),
        Pulley("tensioner", "tensioner", 2 * 45.2, adjuster=ARM, belt_side="back"),
        pulley("driven", 0.0, 0.0, 2 * 26.97),
    ],
    rotation="counterclockwise",
)
# A belt without height over its line, as the paper's.
ROUTE = route_of(with_belt(FLAT, back_over_rim_mm=-0.5 * FLAT.belt.profile.rim_minus_line_mm))
LOOP = ROUTE.circuit.loop_at(ANGLE)
MASS_KG_PER_M, WAVE_M_PER_S = 0.1029, 57.11
"""From memory; the one wave speed that the published tones agree with."""


def test_published_angles_between_arm_and_spans() -> None:
    """Between the arm and the belt's direction of travel on either side; to the printed digits, give or take one."""
    angles = np.degrees(np.arccos(LOOP.direction[:2] @ (REACH / np.hypot(*REACH))))
    np.testing.assert_allclose(angles, [135.79, 178.74], atol=0.01)


@pytest.mark.parametrize(("span", "mode", "tone_Hz"), [(2, 1, 51.75), (2, 2, 103.50), (1, 1, 82.81)])
def test_published_tones_of_the_spans(span: int, mode: int, tone_Hz: float) -> None:
    """A higher tone of a string is the first one of its share."""
    tension = np.array(MASS_KG_PER_M * WAVE_M_PER_S**2)
    found = frequency_at_rest_Hz(tension, MASS_KG_PER_M, LOOP.span[span] / mode)
    assert float(found) == pytest.approx(tone_Hz, rel=3e-4)


def test_frozen_spans_wraps_and_length() -> None:
    """Our own, frozen; not published."""
    np.testing.assert_allclose(LOOP.span, [154.799, 344.896, 551.826], atol=5e-4)
    np.testing.assert_allclose(np.degrees(LOOP.wrap), [221.125, 42.953, 181.828], atol=5e-4)
    assert float(LOOP.length) == pytest.approx(1514.092, abs=5e-4)


def test_frozen_slope_along_the_arm() -> None:
    """Our own, frozen; not published."""
    slope = length_by_motion(LOOP.direction[0], LOOP.direction[1], ARM.motion_at(np.array(ANGLE)))
    assert float(slope) == pytest.approx(-65.5785, abs=5e-5)
