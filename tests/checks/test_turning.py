"""Which way pulleys turn: ribs as the driver, back against it, plane kinematics of a belt."""

from __future__ import annotations

import pytest

from tests.checks.drives import found, pulley, sagging, severity, two
from tests.for_each import for_each


@for_each("clockwise", "counterclockwise")
@for_each("clockwise", "counterclockwise", "either")
def test_a_pulley_on_the_back_turns_against_the_driver(rotation: str, turns: str) -> None:
    layout = sagging(120.0, pulley("it", "fan", 0, 0, turns=turns), rotation=rotation)
    assert severity(layout, "turns", "it") == ("problem" if turns == rotation else None)


@for_each("clockwise", "counterclockwise")
@for_each("clockwise", "counterclockwise", "either", None)
def test_a_pulley_on_the_ribs_turns_with_the_driver(rotation: str, turns: str | None) -> None:
    layout = two(rotation=rotation)
    far = pulley("far", "alternator", 300, 0, turns=turns)
    layout = type(layout)(layout.title, layout.belt, {**layout.pulleys, "far": far}, layout.route, layout.rotation)
    assert severity(layout, "turns", "far") == (None if turns in (rotation, "either", None) else "problem")


def test_an_accessory_on_the_back_with_nothing_said_is_a_caution() -> None:
    (finding,) = found(sagging(120.0, pulley("it", "water_pump", 0, 0)), "turns", "it")
    assert finding.severity == "caution" and "counterclockwise" in finding.message


@pytest.mark.parametrize("role", ["idler", "tensioner"])
def test_guides_on_the_back_need_no_word(role: str) -> None:
    assert found(sagging(120.0, pulley("it", role, 0, 0)), "turns", "it") == []
