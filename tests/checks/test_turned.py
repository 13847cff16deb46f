"""What is asked after first: `rotation`; where trying it shows that it helps: x and y exchanged; a tension in lbf."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from beltplan.checks.doubts import low_tension_asked
from beltplan.checks.plan import plan_of
from beltplan.checks.questions import with_questions
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each


def _turned(layout: Layout) -> Layout:
    return replace(layout, rotation="counterclockwise" if layout.rotation == "clockwise" else "clockwise")


@for_each("railcar", "workboat", "camper")
def test_where_no_pulley_turns_as_it_must_one_finding_asks_after_the_rotation(name: str) -> None:
    right = read_layout(f"layouts/{name}.yaml").layout
    plan = plan_of(_turned(right))
    (asked,) = (each for each in plan.findings if each.check == "turns" and each.severity == "problem")
    assert asked is plan.findings[0] and asked.asks_first and asked.subject == "rotation"
    said = [pulley.name for pulley in plan.route.pulleys if pulley.turns not in (None, "either")]
    assert asked.wrong == f"none of {', '.join(said)} turns as its `turns` says" and len(said) > 1
    assert asked.advice.endswith("If not, write `rotation: clockwise`")
    assert not any(each.subject == "rotation" for each in plan_of(right).findings)


def test_a_tensioner_in_the_tight_span_asks_after_the_rotation_too() -> None:
    """Without loads and with nothing said of turning, only where the tensioner stands tells of the rotation."""
    right = read_layout("layouts/workboat.yaml").layout
    silent = {name: replace(each, turns=each.turns and "either", load=None) for name, each in right.pulleys.items()}
    given = replace(right, pulleys=silent, duties={})
    (found,) = (each for each in plan_of(_turned(given)).findings if each.severity != "note")
    assert found.check == "slack_side" and found.advice.endswith("or is `rotation` the wrong way round?")


def test_one_pulley_that_must_turn_the_other_way_is_no_question_of_the_rotation() -> None:
    first = plan_of(_turned(read_layout("layouts/orchard_sprayer.yaml").layout)).findings[0]
    assert first.check == "turns" and first.subject != "rotation"


def _exchanged(layout: Layout, name: str) -> Layout:
    (x, y) = layout.pulleys[name].at_mm or (0.0, 0.0)
    return layout.with_pulley(replace(layout.pulleys[name], at_mm=(y, x)))


def test_x_and_y_exchanged_where_a_belt_can_still_be_laid() -> None:
    """The drive works; whoever exchanges the alternator's x and y leads the belt through an obstacle."""
    right = read_layout("tests/checks/exchanged.yaml").layout
    assert with_questions(plan_of(right)).count("problem") == 0
    wrong = plan_of(_exchanged(right, "alternator"))
    first, *rest = [each for each in with_questions(wrong).findings if each.asks_first]
    assert (first.subject, first.severity, rest) == ("alternator", "note", [])
    assert first.about == f"alternator: {wrong.count('problem')} problems as it is written"
    told = "are x and y of alternator exchanged? With `at: [8.65, 14.15]` for alternator it works (tried)"
    assert first.advice == told


def test_a_set_tension_in_lbf_is_asked_after_only_where_the_belt_hangs_or_slips() -> None:
    """190 lbf are 845 N (1 lbf = 4.4482 N, NIST SP 811); a rib of PK is set to 111 N, run in (TM 9-2320)."""
    right = read_layout("tests/checks/exchanged.yaml").layout
    low = right.with_pulley(_set_to(right, 190.0))
    (first,) = (each for each in with_questions(plan_of(low)).findings if each.asks_first)
    assert (
        first.wrong.startswith("`tension_N` of 190 N is 21 % of the 888 N usual for the belt")
        and first.subject == "tensioner"
    )
    assert first.advice == "is it in lbf? Then write `190 lbf`"
    assert not any(each.asks_first for each in with_questions(plan_of(right)).findings)


@for_each((119.0, False), (121.0, True), (295.0, True), (297.0, False))
def test_edges_of_a_tension_in_lbf(tension_N: float, asked: bool) -> None:
    """Under a third of the usual 888 N, in lbf (4.4482 N, NIST SP 811) over 0.6 of it: common practice, no source."""
    layout = read_layout("tests/checks/exchanged.yaml").layout
    assert bool(low_tension_asked(layout.with_pulley(_set_to(layout, tension_N)))) == asked


def test_a_low_tension_that_does_is_not_asked_after() -> None:
    """60 N hold the light load of a small drive: no span hangs slack and nothing slips."""
    light = plan_of(read_layout("tests/cases/gokart.yaml").layout)
    assert not any(each.asks_first for each in with_questions(light).findings)


def _set_to(layout: Layout, tension_N: float) -> Pulley:
    pulley = layout.pulleys["tensioner"]
    assert isinstance(pulley.adjuster, Slide)
    return replace(pulley, adjuster=replace(pulley.adjuster, tension_N=tension_N))


def _with_sign(layout: Layout, name: str, key: str, axis: int) -> Layout:
    """The layout with the other sign at one number of a pulley's place, or of an end of its slide."""
    pulley = layout.pulleys[name]
    slide = pulley.adjuster
    x, y = getattr(pulley if key == "at_mm" else slide, key)
    changed: dict[str, Any] = {key: (-x, y) if axis == 0 else (x, -y)}
    if isinstance(slide, Slide):
        return layout.with_pulley(replace(pulley, adjuster=replace(slide, **changed)))
    return layout.with_pulley(replace(pulley, **changed))


@for_each(
    ("tests/checks/exchanged.yaml", "water_pump", "at_mm", 0),
    ("tests/checks/exchanged.yaml", "tensioner", "start_mm", 0),
    ("tests/checks/exchanged.yaml", "tensioner", "end_mm", 0),
)
def test_a_lost_minus_that_still_lays_is_asked_after(path: str, name: str, key: str, axis: int) -> None:
    """What is asked is what stood there before the sign was changed."""
    right = read_layout(path).layout
    (first,) = (
        each for each in with_questions(plan_of(_with_sign(right, name, key, axis))).findings if each.asks_first
    )
    assert first.subject == name and f"has {name} a wrong sign? With `" in first.advice
    assert not [each for each in with_questions(plan_of(right)).findings if each.asks_first]


def test_a_guess_changes_no_count_of_what_was_found() -> None:
    """`compare`, `cure` and the print count without it."""
    wrong = plan_of(_exchanged(read_layout("tests/checks/exchanged.yaml").layout, "alternator"))
    asked = with_questions(wrong)
    assert len(asked.findings) > len(wrong.findings)
    assert [asked.count(each) for each in ("problem", "caution")] == [wrong.count(e) for e in ("problem", "caution")]
