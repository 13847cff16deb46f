"""AHSME 1955, problem 34: two poles of radii 3 and 9 in, touching (12 in apart), bound by the shortest wire.

Published: length 12 sqrt 3 + 14 pi in; wraps 120 and 240 deg. The rims touch, so this is a test of the geometry alone.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop


def test_shortest_wire_round_two_touching_poles() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [12.0, 0.0]]), np.array([3.0, 9.0]), np.ones(2))
    assert float(loop.length) == pytest.approx(12.0 * np.sqrt(3.0) + 14.0 * np.pi, rel=1e-14)
    np.testing.assert_allclose(np.degrees(loop.wrap), [120.0, 240.0])
    assert is_sound(loop, 1.0)
