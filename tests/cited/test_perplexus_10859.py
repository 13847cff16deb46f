"""perplexus.info, problem 10859: three pulleys of diameter 2 ft, centre distances 6, 9 and 13 ft.

Published: length 28 + 2 pi ft.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop


def test_three_equal_pulleys() -> None:
    # Third corner of the triangle of sides 6, 9, 13 by the law of cosines.
    x = (6.0**2 + 13.0**2 - 9.0**2) / (2.0 * 13.0)
    centre = np.array([[0.0, 0.0], [13.0, 0.0], [x, np.sqrt(6.0**2 - x**2)]])
    loop = close_loop(centre, np.ones(3), np.ones(3))
    assert float(loop.length) == pytest.approx(28.0 + 2.0 * np.pi, rel=1e-14)
    np.testing.assert_allclose(np.sort(loop.span), [6.0, 9.0, 13.0])
    assert is_sound(loop, 1.0)
