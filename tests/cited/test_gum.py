"""JCGM 100:2008 (GUM), table G.1: of a normal error, 68.27, 95.45 and 99.73 % lie within 1, 2 and 3 deviations.

And 5.1.2: independent errors add by their squares; a right triangle 3, 4, 5.
"""

from dataclasses import replace

import numpy as np

from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.study import tolerance_of
from tests.cited.published import meets
from tests.for_each import for_each
from tests.tolerance.drives import two_fixed

DRAWS = 20_000
TOLERANCE_MM = 5.0
EXACT = replace(two_fixed(300.0, "6PK"), belt=replace(two_fixed(300.0, "6PK").belt, length_mm=600.0 + 100.0 * np.pi))


@for_each((1.0, 0.6827), (2.0, 0.9545), (3.0, 0.9973))
def test_share_of_belts_within_so_many_deviations(deviations: float, share: float) -> None:
    """Path = 2 x + 100 pi: its deviation is twice that of x, and a belt of just this length goes on within its 5 mm.

    Within four sampling errors, and what y adds in second order.
    """
    given = replace(EXACT, uncertainty=Uncertainty(0.5 * TOLERANCE_MM / deviations, 0.0, 0.0))
    made = tolerance_of(route_of(given), DRAWS)
    assert made.chosen is not None
    meets(made.chosen.inside, share, 4.0 * np.sqrt(share * (1.0 - share) / DRAWS) + 1e-3)


def test_errors_add_by_their_squares() -> None:
    """Two diameters, each pi / 2 mm of path for a mm, and one place, 2 mm for a mm: 3 and 4 mm make 5."""
    diameters = 3.0 / (np.sqrt(2.0) * np.pi / 2.0)
    made = tolerance_of(route_of(replace(EXACT, uncertainty=Uncertainty(2.0, diameters, 0.0))), 100)
    assert made.first_order_mm is not None
    meets(made.first_order_mm, 5.0, 1e-9)
