"""Which unit a whole file is asked to be in, at the edges: every pulley is of one size. Common practice, no source.

Under 30 mm and over 600 mm no pulley is likely; the largest is one of 80 to 500 mm, from 50 mm on in inches.
"""

from dataclasses import replace

from beltplan.checks.doubts import doubtful_file
from tests.drive.loaded_drives import seven
from tests.for_each import for_each

EDGES = [
    (49.9 / 25.4, ""), (50.1 / 25.4, "inches"), (499.0 / 25.4, "inches"), (501.0 / 25.4, "centimetres"),
    (29.9, "centimetres"), (30.1, ""), (601.0, ""), (799.0, ""), (801.0, "a digit too many"),
    (79.9 * 25.4, "a digit too many"), (80.1 * 25.4, "mm?"), (499.0 * 25.4, "mm?"), (501.0 * 25.4, ""),
]  # fmt: skip


@for_each(*EDGES)
def test_a_whole_file_is_asked_after_where_its_largest_pulley_is_likely_in_another_unit(
    size_mm: float, unit: str
) -> None:
    given = seven()
    sized = {name: replace(pulley, diameter_mm=size_mm) for name, pulley in given.pulleys.items()}
    asked = doubtful_file(replace(given, pulleys=sized))
    assert (asked is not None) == bool(unit) and (asked is None or unit in asked[1].split(". Then")[0])
