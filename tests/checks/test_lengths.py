"""Lengths that will do: of two pulleys, one on a slide, by plane geometry.

Path 2 sqrt(D^2 - (R - r)^2) + pi (R + r) + 2 (R - r) asin((R - r) / D) and wrap pi - 2 asin((R - r) / D) on the
smaller: handbooks of belt drives, in closed form.
"""

import math
from dataclasses import replace
from pathlib import Path

import pytest

import beltplan
from beltplan.checks.lengths import lengths_of, lengths_words
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_of
from beltplan.report.check_text import check_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import belt_of, layout, pulley, sliding
from tests.for_each import for_each
from tests.shipped import FOLDER

OVER = 70.0
"""Half the difference of the diameters, 200 and 60 mm."""


def _drive(least_deg: float) -> Layout:
    far = replace(sliding().pulleys["far"], diameter_mm=60.0)
    crank = pulley("crank", "crankshaft", 0.0, 0.0, 200.0)
    return layout(crank, far, limits={"min_wrap_deg": {"far": least_deg}})


def _path_mm(distance: float) -> float:
    lean = math.asin(OVER / distance)
    return 2.0 * distance * math.cos(lean) + math.pi * 130.0 + 2.0 * OVER * lean


def _longest_short_mm(least_deg: float) -> float:
    """The length at which the small pulley has just its minimum."""
    return _path_mm(OVER / math.sin(math.radians((180.0 - least_deg) / 2.0)))


@for_each(154.0, 155.0, 155.5)
def test_a_length_that_takes_the_wrap_away_will_not_do(least_deg: float) -> None:
    plan = plan_of(_drive(least_deg))
    lengths, accepted = lengths_of(plan), plan.route.acceptable_mm
    assert lengths is not None and accepted is not None and plan.count("problem") == 0
    assert lengths.good_mm is not None
    least_mm, most_mm = lengths.good_mm
    assert least_mm == pytest.approx(_longest_short_mm(least_deg), abs=0.1)
    assert accepted[0] < least_mm < plan.route.length_mm < most_mm == accepted[1]
    words = lengths_words(plan)
    assert words.startswith(f"any 6PK from {least_mm:.1f} to {accepted[1]:.1f} mm (")
    assert f"will do; shorter ones down to {accepted[0]:.1f} mm (" in words
    short = 180.0 - 2.0 * math.degrees(math.asin(OVER / _distance_at(accepted[0])))
    told = words.partition("fit too, but then far: ")[2].partition(" deg of wrap")[0]
    assert float(told) == pytest.approx(short, abs=0.06)


def _distance_at(path_mm: float) -> float:
    low, high = 200.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _path_mm(middle) < path_mm else (low, middle)
    return low


@for_each((155.0, "problem"), (155.0 / 1.1, "caution"))
def test_a_stock_belt_with_a_new_finding_says_so_where_it_is_listed(least_deg: float, severity: str) -> None:
    """A wrap is a caution up to a tenth over its minimum."""
    plan = plan_of(_drive(least_deg))
    told = shown(check_report(plan, full=True), Screen(width=120))
    assert (
        told.count(f"fits, but a new {severity}, far: wrap")
        == sum(each.verdict == "good" and each.line_mm < _longest_short_mm(155.0) for each in plan.route.stock[:8])
        > 0
    )


def test_a_length_that_brings_a_new_caution_is_none_that_will_do() -> None:
    """One interval without it, and no second number; where the belt judged has the caution, others may have it."""
    plan = plan_of(_drive(155.0 / 1.1))
    lengths, accepted = lengths_of(plan), plan.route.acceptable_mm
    assert lengths is not None and accepted is not None and lengths.good_mm is not None
    assert lengths.good_mm[0] == pytest.approx(_longest_short_mm(155.0), abs=0.1)
    assert lengths.good_mm[1] == accepted[1]
    assert lengths_words(plan).endswith(" in) will do") and not plan.count("caution")
    named = plan_of(belt_of(accepted[0] + 1.0, _drive(155.0 / 1.1)))
    lengths = lengths_of(named)
    assert [each.check for each in named.findings if each.severity != "note"] == ["wrap"]
    assert lengths is not None and lengths.good_mm == accepted


def test_what_the_travel_takes_will_do_where_no_length_is_worse() -> None:
    plan = plan_of(_drive(100.0))
    lengths = lengths_of(plan)
    assert lengths is not None and lengths.good_mm == plan.route.acceptable_mm
    assert lengths.shorter is lengths.longer is None and lengths_words(plan).endswith(") will do")


def test_with_a_problem_that_stands_other_lengths_would_do_that_add_none() -> None:
    """160 deg are more than any length gives: it stands with each of them, and none is worse by it."""
    plan = plan_of(_drive(160.0))
    lengths = lengths_of(plan)
    assert plan.count("problem") == 1 and lengths is not None
    assert lengths.good_mm == plan.route.acceptable_mm and lengths_words(plan).endswith("would do")


def test_lengths_without_a_problem_are_told() -> None:
    """A belt is named that is too short for the wrap: from just where the wrap is had on, it has no problem."""
    accepted = plan_of(_drive(155.0)).route.acceptable_mm
    assert accepted is not None
    plan = plan_of(belt_of(accepted[0] + 1.0, _drive(155.0)))
    lengths = lengths_of(plan)
    assert plan.count("problem") == 1 and lengths is not None and lengths.sound_mm is not None
    least, most = lengths.sound_mm
    assert least == pytest.approx(_longest_short_mm(155.0), abs=0.1) and most == accepted[1]
    told = f"{least:.1f} to {most:.1f} mm ({least / 25.4:.2f} to {most / 25.4:.2f} in)"
    (sold, *_) = [each.designation for each in plan.route.stock if least <= each.line_mm <= most]
    assert lengths_words(plan) == f"any 6PK from {told} has no problem: take {sold} (`belt: {sold}` judges it)"
    assert not plan_of(replace(plan.layout, belt=parse_designation(sold))).count("problem")
    assert result_of(plan)["belt"]["no_problem_mm"] == [least, most]


def test_a_belt_with_more_than_a_designation_keeps_it_when_another_length_is_judged(tmp_path: Path) -> None:
    """What is typed as told is read as the belt that was, of another length."""
    accepted = plan_of(_drive(155.0)).route.acceptable_mm
    assert accepted is not None
    short = belt_of(accepted[0] + 1.0, _drive(155.0))
    given = replace(short, belt=replace(short.belt, back_over_rim_mm=2.0))
    sold, _, told = lengths_words(plan_of(given)).partition(": take ")[2].partition(" (`")
    assert told.endswith("` under `belt` judges it)"), "`belt: 6PK...` would leave out the height of its back"
    mapping = f"belt: {{profile: PK, ribs: 6, back_over_rim_mm: 2.0, {told.partition('`')[0]}}}"
    file = tmp_path / "typed.yaml"
    file.write_text((FOLDER / "camper.yaml").read_text().replace("belt: 6PK", mapping))
    length_mm = parse_designation(sold).length_mm
    assert read_layout(str(file)).layout.belt == replace(given.belt, length_mm=length_mm)


def test_a_belt_outside_the_lengths_told_lacks_what_they_have() -> None:
    """It is a millimetre shorter than the shortest with full reserve: the screen says why others are
    told."""
    accepted = plan_of(_drive(100.0)).route.acceptable_mm
    assert accepted is not None
    plan = plan_of(belt_of(accepted[0] - 1.0, _drive(100.0)))
    text = shown(check_report(plan), Screen(width=160))
    told = text.partition("BUY ")[2].splitlines()[:2]
    assert text.count(" has full reserve") == 1
    assert told[0].endswith(" in), without full reserve") and "without full reserve" not in told[1]
    assert told[1].strip().startswith(f"any 6PK from {accepted[0]:.1f} to {accepted[1]:.1f} mm (")
    assert " has full reserve" in told[1] and "will do" not in told[1]


def test_a_belt_without_reserve_does_not_vouch_for_others() -> None:
    """The belt named is over the longest with full reserve and alone in having its wrap: none of the others will do."""
    accepted = plan_of(_drive(100.0)).route.acceptable_mm
    assert accepted is not None
    least_deg = 180.0 - 2.0 * math.degrees(math.asin(OVER / _distance_at(accepted[1] + 2.0)))
    plan = plan_of(belt_of(accepted[1] + 4.0, _drive(least_deg)))
    lengths = lengths_of(plan)
    assert plan.count("problem") == 0 and lengths is not None and lengths.good_mm is None
    least, most = accepted
    told = (
        f"any 6PK from {least:.1f} to {most:.1f} mm ({least / 25.4:.2f} to {most / 25.4:.2f} in) has full reserve, but"
    )
    # Told of the nearest of them, which lacks least.
    wrap = 180.0 - 2.0 * math.degrees(math.asin(OVER / _distance_at(most)))
    assert lengths_words(plan).startswith(f"{told} then far: {wrap:.1f} deg of wrap")
    assert "up to" not in lengths_words(plan) and "down to" not in lengths_words(plan)


@for_each(*sorted(Path("layouts").glob("*.yaml")))
def test_each_length_told_is_judged_so_by_every_check(path: Path) -> None:
    """At both ends, and between: no problem that the belt judged has not."""
    if path.stem in ("buggy_measured", "too_tight"):  # measurements; and no length at all
        return
    plan = plan_of(beltplan.read(str(path)))
    lengths = lengths_of(plan)
    assert lengths is not None and lengths.good_mm is not None
    least_mm, most_mm = lengths.good_mm
    own = {(each.check, each.subject) for each in plan.findings if each.severity == "problem"}
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        length_mm = least_mm + share * (most_mm - least_mm)
        found = plan_of(belt_of(length_mm, plan.layout)).findings
        assert {(each.check, each.subject) for each in found if each.severity == "problem"} <= own
