"""What follows from a layout as given."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.drive.layout import Layout, Rotation
from tests.drive.drives import fixed, pulley, railcar, with_pulley


def test_pulleys_on_and_off_the_belt() -> None:
    given = railcar()
    spare = replace(given, pulleys={**given.pulleys, "spare": pulley("spare", 0, 0, 50)})
    assert [p.name for p in spare.routed] == ["crank", "tensioner", "pump", "guide", "generator"]
    assert [p.name for p in spare.unrouted] == ["spare"]


def test_driver_and_adjusted() -> None:
    given = railcar()
    adjusted = given.adjusted
    assert given.driver.name == "crank"
    assert adjusted is not None
    assert adjusted.name == "tensioner"
    assert fixed().adjusted is None


def _rotating(rotation: Rotation) -> Layout:
    return replace(railcar(), rotation=rotation)


@pytest.mark.parametrize(("rotation", "sense"), [("clockwise", -1), ("counterclockwise", 1)])
def test_pulleys_inside_turn_as_the_driver_and_those_on_the_back_do_not(rotation: Rotation, sense: int) -> None:
    given = _rotating(rotation)
    assert given.rotation_sense == given.loop_sense == sense
    assert given.sense_of(given.pulleys["pump"]) == sense
    assert given.sense_of(given.pulleys["guide"]) == -sense


def test_a_driver_on_the_back_turns_against_the_loop() -> None:
    given = with_pulley(fixed(), "crank", belt_side="back")
    assert given.rotation_sense == -1
    assert given.loop_sense == 1
    assert given.sense_of(given.pulleys["crank"]) == -1
    assert given.sense_of(given.pulleys["pump"]) == 1
