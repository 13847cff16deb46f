"""ACT, form 71H, question 56: belt round pulleys of radii 5 and 1 in, centres 8 in apart.

Published: length 8 sqrt 3 + 22 pi / 3 in; the belt covers 2/3 of the larger pulley and 1/3 of the smaller.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.loops import close_loop


def test_belt_round_two_pulleys() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [8.0, 0.0]]), np.array([5.0, 1.0]), np.ones(2))
    assert float(loop.length) == pytest.approx(8.0 * np.sqrt(3.0) + 22.0 * np.pi / 3.0, rel=1e-14)
    np.testing.assert_allclose(loop.wrap / (2.0 * np.pi), [2.0 / 3.0, 1.0 / 3.0])
