"""Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118(3), 1996: the prototypical three-pulley drive, in metres.

Inputs from memory, high confidence for the geometry. Published: tensioner arm 0.097 m, angles between the arm and the
spans beside it 135.79 and 178.74 deg. Spans, wraps, length and slope below are our own from these inputs, frozen.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.pulleys import Arm
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop, length_by_motion

PIVOT, TENSIONER = np.array([0.2508, 0.0635]), np.array([0.3477, 0.05715])
# Crankshaft, tensioner (on the back), driven pulley; the belt runs counter-clockwise.
LOOP = close_loop(
    np.array([[0.5525, 0.0556], TENSIONER, [0.0, 0.0]]),
    np.array([0.0889, 0.0452, 0.02697]),
    np.array([1.0, -1.0, 1.0]),
)
ARM = TENSIONER - PIVOT


def test_published_arm_length() -> None:
    assert round(float(np.hypot(*ARM)), 3) == 0.097


def test_published_angles_between_arm_and_spans() -> None:
    """Between the arm and the belt's direction of travel on either side; to the printed digits, give or take one."""
    unit = ARM / np.hypot(*ARM)
    angles = np.degrees(np.arccos(LOOP.direction[:2] @ unit))
    np.testing.assert_allclose(angles, [135.79, 178.74], atol=0.01)


def test_frozen_spans_wraps_and_length() -> None:
    """Our own, frozen; not published."""
    np.testing.assert_allclose(LOOP.span, [0.154799, 0.344896, 0.551826], atol=5e-7)
    np.testing.assert_allclose(np.degrees(LOOP.wrap), [221.125, 42.953, 181.828], atol=5e-4)
    assert float(LOOP.length) == pytest.approx(1.514092, abs=5e-7)
    assert is_sound(LOOP, 1.0)


def test_frozen_slope_along_the_arm() -> None:
    """Our own, frozen; not published."""
    angle = float(np.arctan2(*ARM[::-1]))
    arm = Arm((0.2508, 0.0635), float(np.hypot(*ARM)), (angle - 0.1, angle + 0.1))
    slope = length_by_motion(LOOP.direction[..., 0, :], LOOP.direction[..., 1, :], arm.motion_at(np.array(angle)))
    assert float(slope) == pytest.approx(-0.0655785, abs=5e-8)
