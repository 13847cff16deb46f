"""ANSI/RMA IP-20 as given in Machinery's Handbook, 31st ed., pp. 2575-2577 (second-hand): classical belts, A section.

Length tolerance of short belts 0.6 in either way; datum length is the designation in inches and 1.3 (A26 is 27.3 in).
"""

from dataclasses import replace

import numpy as np

from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.study import tolerance_of
from tests.cited.published import meets
from tests.for_each import for_each
from tests.tolerance.drives import two_fixed

INCH = 25.4
DATUM_A26 = 27.3 * INCH


@for_each((-0.61, 0.0), (-0.59, 1.0), (0.0, 1.0), (0.59, 1.0), (0.61, 0.0))
def test_an_a26_goes_on_a_fixed_path_within_its_tolerance(inches_off: float, chance: float) -> None:
    """Two pulleys of 100 mm datum diameter: path = 2 x distance + 100 pi."""
    distance = 0.5 * (DATUM_A26 + inches_off * INCH - 100.0 * np.pi)
    given = replace(two_fixed(distance, "A"), uncertainty=Uncertainty(0.0, 0.0, 0.0))
    belt = replace(given.belt, length_mm=26.0 * INCH, length_kind="inside")
    made = tolerance_of(route_of(replace(given, belt=belt)), 200)
    assert made.chosen is not None
    meets(made.chosen.line_mm / INCH, 27.3, 0.004)
    assert made.chosen.inside == chance


def test_the_spare_of_a_belt_on_an_exact_path_is_its_tolerance() -> None:
    given = replace(two_fixed(0.5 * (DATUM_A26 - 100.0 * np.pi), "A"), uncertainty=Uncertainty(0.0, 0.0, 0.0))
    belt = replace(given.belt, length_mm=DATUM_A26, length_kind="datum")
    made = tolerance_of(route_of(replace(given, belt=belt)), 200)
    assert made.chosen is not None
    meets(made.chosen.reserve_mm / INCH, 0.6, 1e-6)
