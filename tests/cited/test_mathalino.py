"""MATHalino, 'Length of belt connecting two pulleys': radii 36 and 18 cm, centres 137 cm apart.

Published, open belt: wraps 195.1 and 164.9 deg, span 135.81, length 446 cm. Crossed belt: wrap 226.43 deg on both,
span 125.91, length 465.23 cm; that length carries their rounding of the wrap, exact is 465.220.
A crossed belt is no drive of this program; its formula tests the inner tangent.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.loops import close_loop

CENTRE, RADIUS = np.array([[0.0, 0.0], [137.0, 0.0]]), np.array([36.0, 18.0])


def test_open_belt() -> None:
    loop = close_loop(CENTRE, RADIUS, np.ones(2))
    assert np.round(np.degrees(loop.wrap), 1).tolist() == [195.1, 164.9]
    assert np.round(loop.span, 2).tolist() == [135.81, 135.81]
    assert round(float(loop.length)) == 446


def test_crossed_belt() -> None:
    loop = close_loop(CENTRE, RADIUS, np.array([1.0, -1.0]))
    assert np.round(np.degrees(loop.wrap), 2).tolist() == [226.43, 226.43]
    assert np.round(loop.span, 2).tolist() == [125.91, 125.91]
    assert float(loop.length) == pytest.approx(465.23, abs=0.015)
    assert round(float(loop.length), 3) == 465.220
