"""Distances to be measured on a print: by Pythagoras (3, 4, 5), the longest first."""

from __future__ import annotations

from beltplan.drawing.control import control_words
from beltplan.drawing.study import Spot

DOTS = [Spot("centres", "a", (0.0, 0.0)), Spot("centres", "b", (300.0, 0.0)), Spot("centres", "c", (0.0, 400.0))]
DOTS += [Spot("holes", "h", (900.0, 900.0)), Spot("centres", "d", (0.0, 10.0))]
LEFT = (-50.0, -50.0, 50.0, 450.0)


def test_the_first_sheet_names_the_three_longest_of_all() -> None:
    told = control_words(DOTS, LEFT, first=True)
    assert told.startswith(
        "Measure dot to dot before you punch: b to c 500.0 mm (19.69 in); a to c 400.0 mm (15.75 in); "
    )
    assert told.count(" to ") == 4 and "h to" not in told


def test_another_sheet_names_the_longest_on_it_and_one_dot_has_none() -> None:
    assert control_words(DOTS, LEFT, first=False).endswith("punch: a to c 400.0 mm (15.75 in).")
    assert control_words(DOTS, (250.0, -50.0, 350.0, 50.0), first=False) == ""
