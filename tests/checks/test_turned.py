"""What is asked after first, where trying it shows that it helps: `rotation`, x and y exchanged, a tension in lbf."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

import beltplan.checks.questions as asking
from beltplan.checks.doubts import low_tension_asked
from beltplan.checks.every_check import CHECKS
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.questions import with_questions, with_rotation_asked
from beltplan.drive.layout import Layout
from beltplan.drive.mends import Mend
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each


def _turned(layout: Layout) -> Layout:
    return replace(layout, rotation="counterclockwise" if layout.rotation == "clockwise" else "clockwise")


@for_each("name", ["railcar", "workboat", "camper"])
def test_the_question_comes_first_and_tells_what_goes(name: str) -> None:
    right = read_layout(f"layouts/{name}.yaml").layout
    plain = plan_of(_turned(right))
    first, *rest = with_rotation_asked(plain).findings
    assert (first.check, first.subject, first.severity) == ("rotation", "rotation", "problem")
    assert first.advice.endswith("If not, write `rotation: clockwise`")
    # Where no pulley turns as it must, the question stands for them all.
    assert rest == [each for each in plain.findings if each.check != "turns"]
    kept = {(each.check, each.parts) for each in plan_of(right).findings}
    gone = [each for each in rest if each.severity == "problem" and (each.check, each.parts) not in kept]
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
    asked = with_rotation_asked(plan_of(_turned(given)))
    (first,) = (each for each in asked.findings if each.asks_first)
    assert (first.check, first.severity, asked.count("caution")) == ("rotation", "note", 1), "a guess counts nowhere"
    assert "all of these go (tried): tensioner" in first.wrong
    plain = plan_of(given)
    assert with_rotation_asked(plain) is plain


def test_one_pulley_that_must_turn_the_other_way_is_no_question_of_the_rotation() -> None:
    plain = plan_of(_turned(read_layout("layouts/orchard_sprayer.yaml").layout))
    assert plain.findings[0].check == "turns" and with_rotation_asked(plain) is plain


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
    assert first.about == f"alternator: {wrong.count('problem')} problems with its place as it is written"
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


@for_each(("tension_N", "asked"), [(119.0, False), (121.0, True), (295.0, True), (297.0, False)])
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


def test_a_radius_typed_for_a_diameter_is_asked_after() -> None:
    """8PK bends over 45 mm: half of the alternator's 2.6 in is under it, twice that is its diameter."""
    right = read_layout("tests/checks/exchanged.yaml").layout
    told = {
        name: [each for each in plan_of(right).findings if each.subject == name] for name in ("alternator", "crank")
    }
    assert not any("radius" in each.advice for found in told.values() for each in found)
    halved = {
        name: right.with_pulley(replace(right.pulleys[name], diameter_mm=0.5 * right.pulleys[name].diameter_mm))
        for name in told
    }
    found = plan_of(halved["alternator"]).findings
    assert any(each.check == "small_pulley" and each.advice.endswith("Or is this its radius?") for each in found)
    found = plan_of(halved["crank"]).findings
    assert any(each.check == "current" and "is 82.55 mm the radius of crank?" in each.advice for each in found)


def _problems(*checks: str) -> tuple[Finding, ...]:
    return tuple(Finding(check, "problem", f"p{i}", "bad", "here") for i, check in enumerate(checks))


def _found(*checks: str) -> Plan:
    return replace(plan_of(read_layout("layouts/railcar.yaml").layout), findings=_problems(*checks))


@for_each(
    ("count", "left", "asked"),
    [(2, 0, False), (3, 0, True), (3, 1, False), (4, 1, True), (5, 2, True), (6, 3, True), (7, 4, False)],
)
def test_a_rotation_is_asked_after_where_three_findings_go_and_at_most_half_stay(
    count: int, left: int, asked: bool
) -> None:
    """Common practice, no source."""
    plain, checks = _found(*["turns"] * count), ["turns"] * left
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asking, "plan_of", lambda _: SimpleNamespace(findings=_problems(*checks)))
        found = with_rotation_asked(plain).findings
    assert [each.severity for each in found if each.check == "rotation"] == ["note"] * asked, "a guess counts nowhere"
    if asked:
        *rest, question = found
        share = f"{count - left} of these {count}" if left else "all of these"
        names = ", ".join(f"p{i}" for i in range(left, count))
        assert question.wrong.endswith(f"{share} go (tried): {names}") and tuple(rest) == plain.findings


PLACED = ("wrap", "clearance", "strand_gap", "rim_gap")
"""Checks whose problems a wrong place makes."""


@for_each(
    ("count", "left", "told"),
    [(1, (0,), ()), (2, (0,), (0,)), (2, (1,), ()), (3, (1,), (0,)), (3, (2,), ()), (6, (2,), (0,)), (6, (3,), ()),
     (6, (), ()), (6, (2, 1, 1), (1, 2))],
)  # fmt: skip
def test_a_place_is_asked_after_where_two_problems_go_and_a_third_stays_at_most(
    count: int, left: tuple[int, ...], told: tuple[int, ...]
) -> None:
    """Common practice, no source. Of several slips those that leave the fewest are told."""
    plain = _found(*(PLACED * 2)[:count])
    mends = [Mend(("pulleys", f"m{i}", "at"), "Is it? ", f"slip {i}", plain.route) for i in range(len(left))]
    after = iter((count, *left))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asking, "tries_of", lambda *_, strange: mends)
        patch.setattr(asking, "findings_of", lambda *_: _problems(*(PLACED * 2)[: next(after)]))
        patch.setattr(asking, "plan_on", lambda _: SimpleNamespace(count=lambda _: 0))
        asked = [each for each in with_questions(plain).findings if each.asks_first]
    assert [each.subject for each in asked] == [f"m{i}" for i in told[:1]]
    assert all([f"slip {i}" in each.advice for i in range(len(left))] == [i in told for i in range(len(left))]
               for each in asked)  # fmt: skip


@for_each(
    ("check", "value", "asked"),
    [("rim_gap", -3.0, True), ("clearance", 0.0, True), ("rim_gap", 2.0, False), ("wrap", 9.0, False)],
)
def test_one_problem_that_goes_with_a_sign_is_enough_where_it_is_an_overlap(
    check: str, value: float, asked: bool
) -> None:
    """The other problem stays. Common practice, no source."""
    own, other = (
        Finding(name, "problem", part, "bad", "here", value, 10.0, "mm", parts=(part,))
        for name, part in ((check, "tensioner"), ("wrap", "crank"))
    )
    plain = replace(_found(), findings=(own, other))
    mend = Mend(("pulleys", "tensioner", "pivot"), "Has tensioner a wrong sign? ", "this", plain.route)
    tried = iter([(own, other), (other,)])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asking, "tries_of", lambda *_, strange: [mend])
        patch.setattr(asking, "findings_of", lambda *_: next(tried))
        patch.setattr(asking, "plan_on", lambda _: SimpleNamespace(count=lambda _: 0))
        found = with_questions(plain).findings
    assert [each.subject for each in found if each.asks_first] == ["tensioner"] * asked


def test_what_a_wrong_place_makes_are_checks() -> None:
    assert set(PLACED) < {check.name for check in CHECKS}


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
    ("path", "name", "key", "axis"),
    [
        ("layouts/camper.yaml", "engine_alternator", "at_mm", 0),
        ("layouts/camper.yaml", "water_pump", "at_mm", 0),
        ("tests/checks/exchanged.yaml", "water_pump", "at_mm", 0),
        ("tests/checks/exchanged.yaml", "tensioner", "start_mm", 0),
        ("tests/checks/exchanged.yaml", "tensioner", "end_mm", 0),
    ],
)
def test_a_lost_minus_that_still_lays_is_asked_after(path: str, name: str, key: str, axis: int) -> None:
    """What is asked is what stood there before the sign was changed."""
    right = read_layout(path).layout
    (first,) = (
        each for each in with_questions(plan_of(_with_sign(right, name, key, axis))).findings if each.asks_first
    )
    assert first.subject == name and f"has {name} a wrong sign? With `" in first.advice
    assert not [each for each in with_questions(plan_of(right)).findings if each.asks_first]


def test_where_no_pulley_turns_as_it_must_one_message_blames_the_rotation() -> None:
    """Other findings stay as many, so that before only the pulleys were blamed."""
    right = read_layout("tests/checks/exchanged.yaml").layout
    found = with_questions(plan_of(_turned(right))).findings
    (first,) = (each for each in found if each.asks_first)
    assert first.wrong.startswith(
        "none of hyd_pump, vac_pump, water_pump turns as its `turns` says; turned the other way"
    )
    assert not [each for each in found if each.check == "turns"]
    assert first.wrong.endswith("the other way round they do (tried)")


def test_of_what_goes_the_other_way_round_only_what_is_told_is_counted() -> None:
    first, *others = (
        each
        for each in with_questions(plan_of(_turned(read_layout("tests/checks/slips_mm.yaml").layout))).findings
        if each.severity != "note"
    )
    assert f"they do, and 3 of these {len(others)} go (tried): crank, tensioner, idler" in first.wrong


def test_a_guess_changes_no_count_of_what_was_found() -> None:
    """`compare`, `cure` and the print count without it."""
    wrong = plan_of(_exchanged(read_layout("tests/checks/exchanged.yaml").layout, "alternator"))
    asked = with_questions(wrong)
    assert len(asked.findings) > len(wrong.findings)
    assert [asked.count(each) for each in ("problem", "caution")] == [wrong.count(e) for e in ("problem", "caution")]
