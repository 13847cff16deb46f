"""UBC MECH 325, homework of the kind of Shigley, flat belts: diameters 5 and 10 in, centres 240 in apart.

Published: wraps 3.12 and 3.16 rad, length 503.6 in.
"""

from __future__ import annotations

import numpy as np

from beltplan.geometry.loops import close_loop


def test_long_open_belt() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [240.0, 0.0]]), np.array([2.5, 5.0]), np.ones(2))
    assert np.round(loop.wrap, 2).tolist() == [3.12, 3.16]
    assert round(float(loop.length), 1) == 503.6
