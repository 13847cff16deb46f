"""Wikipedia, 'Belt problem': length of a crossed belt, L = 2 (r1 + r2)(tan f + pi - f), cos f = (r1 + r2) / D.

A crossed belt is no drive of this program; its formula tests the inner tangent.
"""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from beltplan.geometry.crossing import crosses
from beltplan.geometry.loops import close_loop
from beltplan.geometry.pieces import Pieces

RADII = st.floats(1.0, 300.0)


@given(RADII, RADII, st.floats(1.001, 20.0), st.floats(0.0, 7.0))
def test_crossed_belt(r1: float, r2: float, apart: float, direction: float) -> None:
    distance = apart * (r1 + r2)
    centre = np.array([[0.0, 0.0], [distance * np.cos(direction), distance * np.sin(direction)]])
    loop = close_loop(centre, np.array([r1, r2]), np.array([1.0, -1.0]))
    f = np.arccos((r1 + r2) / distance)
    np.testing.assert_allclose(loop.length, 2.0 * (r1 + r2) * (np.tan(f) + np.pi - f), rtol=1e-10)
    assert crosses(Pieces.of(loop))
