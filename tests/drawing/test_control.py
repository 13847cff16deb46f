"""Distances to be measured on a print: by Pythagoras (3, 4, 5), the longest first."""

from __future__ import annotations

from beltplan.drawing.control import control_words, controls_of
from beltplan.drawing.study import Spot

DOTS = [Spot("centres", "a", (0.0, 0.0)), Spot("centres", "b", (300.0, 0.0)), Spot("centres", "c", (0.0, 400.0))]
DOTS += [Spot("centres", "d", (0.0, 10.0))]


def test_the_longest_come_first_and_no_more_than_asked() -> None:
    told = control_words(controls_of(DOTS, 3), "mm")
    assert told.startswith("Measure before you punch, from dot to dot: b to c 500.0 mm; a to c 400.0 mm; ")
    assert told.count(" to ") == 4


def test_of_some_points_every_distance_has_one_of_them() -> None:
    """An inch is 25.4 mm: 400 and 300 mm are 15.748 and 11.811 in."""
    told = control_words(controls_of(DOTS, 2, {"a"}), "in")
    assert told == "Measure before you punch, from dot to dot: a to c 15.748 in; a to b 11.811 in."


def test_one_dot_has_no_distance() -> None:
    assert control_words(controls_of(DOTS[:1], 3), "mm") == ""
