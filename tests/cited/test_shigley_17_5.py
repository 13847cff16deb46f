"""Shigley's Mechanical Engineering Design, solutions manual, problem 17-5: D 18, d 6, C 96 in.

Published: wraps 3.016511 and 3.266674 rad, length 230.074 in.
"""

from __future__ import annotations

import numpy as np

from beltplan.geometry.loops import close_loop


def test_open_belt() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [96.0, 0.0]]), np.array([3.0, 9.0]), np.ones(2))
    assert np.round(loop.wrap, 6).tolist() == [3.016511, 3.266674]
    assert round(float(loop.length), 3) == 230.074
