"""A `rotation` that is typed the wrong way round: asked after first, where trying the other way shows it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.checks.plan import plan_of, with_rotation_asked
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each


def _turned(layout: Layout) -> Layout:
    return replace(layout, rotation="counterclockwise" if layout.rotation == "clockwise" else "clockwise")


@pytest.mark.parametrize("name", ["railcar", "workboat", "camper"])
def test_the_question_comes_first_and_tells_what_goes(name: str) -> None:
    right = read_layout(f"layouts/{name}.yaml").layout
    plain = plan_of(_turned(right))
    first, *rest = with_rotation_asked(plain).findings
    assert (first.check, first.subject, first.severity) == ("rotation", "rotation", "problem")
    assert first.advice.endswith("If not, write `rotation: clockwise`") and rest == [*plain.findings]
    kept = {(each.check, each.subject) for each in plan_of(right).findings}
    gone = [each for each in rest if each.severity == "problem" and (each.check, each.subject) not in kept]
    assert gone and all(each.subject in first.wrong for each in gone)


@for_each("name", ["railcar", "workboat", "camper", "orchard_sprayer", "too_tight"])
def test_a_right_rotation_is_not_asked_after(name: str) -> None:
    plain = plan_of(read_layout(f"layouts/{name}.yaml").layout)
    assert with_rotation_asked(plain) is plain


def test_a_tensioner_in_the_tight_span_is_question_enough_where_nothing_else_is_found_then() -> None:
    """Without loads and with nothing said of turning, only where the tensioner stands tells of the rotation."""
    right = read_layout("layouts/workboat.yaml").layout
    silent = {name: replace(each, turns=each.turns and "either", load=None) for name, each in right.pulleys.items()}
    given = replace(right, pulleys=silent, duties={})
    assert [each.check for each in plan_of(_turned(given)).findings if each.severity != "note"] == ["slack_side"]
    first = with_rotation_asked(plan_of(_turned(given))).findings[0]
    assert (first.check, first.severity, first.asks_first) == ("rotation", "caution", True)
    assert "all of these go (tried): tensioner" in first.wrong
    plain = plan_of(given)
    assert with_rotation_asked(plain) is plain


def test_one_pulley_that_must_turn_the_other_way_is_no_question_of_the_rotation() -> None:
    plain = plan_of(_turned(read_layout("layouts/orchard_sprayer.yaml").layout))
    assert plain.findings[0].check == "turns" and with_rotation_asked(plain) is plain
