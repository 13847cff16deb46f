"""Machinery's Handbook, 31st ed., p. 2581, table 12: arc of contact on the small pulley by (D - d) / C, degrees."""

import numpy as np

from beltplan.geometry.loops import close_loop
from tests.cited.published import meets
from tests.for_each import for_each

SHARES = np.round(np.arange(0.0, 1.55, 0.1), 2)
ARCS = (180, 174, 169, 163, 157, 151, 145, 139, 133, 127, 120, 113, 106, 99, 91, 83)


@for_each(*zip(SHARES, ARCS, strict=True))
def test_arc_of_contact(share: float, arc: int) -> None:
    small, distance = 40.0, 500.0
    radius = np.array([small, small + 0.5 * share * distance])
    loop = close_loop(np.array([[0.0, 0.0], [distance, 0.0]]), radius, np.ones(2))
    meets(np.degrees(loop.wrap[0]), arc, 0.5)
