"""Pulleys that meet past the usable travel: two of 100 mm on a line, rims two rim radii apart where they touch."""

from __future__ import annotations

import math
from typing import Any

import pytest

from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Circle, Polygon
from beltplan.drive.pulleys import Arm, Pulley, Slide
from tests.checks.drives import BACK_MM, RIM_UNDER_MM, found, layout, pulley, sliding
from tests.for_each import for_each

_TOUCH_MM = 100.0 - 2.0 * RIM_UNDER_MM


def test_a_slot_that_begins_inside_another_pulley_is_told_by_the_overlap_at_its_end() -> None:
    """It begins 9 mm before the rims touch: that overlap, and 5 mm of gap another 5 mm past touching."""
    (finding,) = found(sliding((_TOUCH_MM - 9.0, 0.0), (360.0, 0.0), at=1.0), "rim_gap")
    assert finding.severity == "problem" and finding.limit == 5.0
    assert finding.wrong.startswith("crank and far overlap by 9.0 mm at the slot's end (0.0 mm from `from`);")
    assert finding.advice == "begin the slot at 14.0 mm from `from`: there the gap is 5.0 mm"


def test_a_slot_that_ends_inside_another_pulley_is_to_end_before_it() -> None:
    (finding,) = found(sliding((360.0, 0.0), (_TOUCH_MM - 9.0, 0.0), at=0.0), "rim_gap")
    assert finding.advice.startswith(f"end the slot at {360.0 - _TOUCH_MM - 5.0:.1f} mm from `from`")


def test_an_arm_gets_the_degrees_of_its_stop() -> None:
    """Pivot 150 mm right of the crank, arm of 100 mm: centres 5 mm over touching by the law of cosines."""
    arm = Arm((150.0, 0.0), 100.0, (math.radians(10.0), math.radians(170.0)), math.radians(20.0))
    moved = Pulley("far", "tensioner", 100.0, adjuster=arm)
    (finding,) = found(layout(pulley("crank", "crankshaft", 0, 0), moved), "rim_gap")
    apart = _TOUCH_MM + 5.0
    stop = 180.0 - math.degrees(math.acos((150.0**2 + 100.0**2 - apart**2) / (2.0 * 150.0 * 100.0)))
    deep = _TOUCH_MM - math.sqrt(150.0**2 + 100.0**2 - 2.0 * 150.0 * 100.0 * math.cos(math.radians(10.0)))
    assert f"overlap by {deep:.1f} mm at the arm's stop (170.0 deg)" in finding.wrong
    assert finding.advice == f"set the arm's stop at {stop:.1f} deg: there the gap is 5.0 mm"


@pytest.mark.parametrize("least", [5.0, 0.0])
def test_the_caution_of_the_travel_tells_how_near_it_may_come_whatever_gap_is_asked(least: float) -> None:
    given = sliding((_TOUCH_MM - 9.0, 0.0), (360.0, 0.0), at=1.0, limits={"min_rim_gap_mm": {"": least}})
    (finding,) = found(given, "travel")
    assert f"far may come no nearer than {_TOUCH_MM:.1f} mm to crank" in finding.wrong
    assert finding.advice.startswith(f"begin the slot at {9.0 + least:.1f} mm from `from`")


def test_a_belt_without_room_names_the_distance_of_the_centres() -> None:
    """A roller on the back needs 50 + 40 mm and the back's height between centres, its rim meets the crank's before."""
    roller = Pulley("roller", "tensioner", 80.0, belt_side="back", adjuster=Slide((45.0, 72.2), (149.0, 72.2), at=0.9))
    given = layout(pulley("crank", "crankshaft", 0, 0), roller, pulley("far", "alternator", 300, 0))
    (finding,) = found(given, "travel")
    assert f"roller may come no nearer than {90.0 + BACK_MM:.1f} mm to crank, centre to centre" in finding.wrong
    (overlap,) = found(given, "rim_gap")
    deep = 90.0 - RIM_UNDER_MM - math.hypot(45.0, 72.2)
    assert overlap.wrong.startswith(f"crank and roller overlap by {deep:.1f} mm at the slot's end")


@pytest.mark.parametrize(("deep_mm", "words"), [(0.02, "crank and far touch at"), (0.3, "overlap by 0.3 mm at")])
def test_an_overlap_that_would_read_as_none_is_a_touch(deep_mm: float, words: str) -> None:
    (finding,) = found(sliding((_TOUCH_MM - deep_mm, 0.0), (360.0, 0.0), at=1.0), "rim_gap")
    assert words in finding.wrong


def test_what_is_told_and_what_is_ranked_by_are_the_same_overlap() -> None:
    """The text, the finding's value and the smallest clearance that layouts are compared by."""
    plan = plan_of(sliding((_TOUCH_MM - 9.0, 0.0), (360.0, 0.0), at=1.0))
    (finding,) = [each for each in plan.findings if each.check == "rim_gap"]
    assert plan.gap is not None and plan.margin is not None
    assert finding.value == plan.gap.value_mm == pytest.approx(-9.0, abs=1e-9)
    assert finding.margin == plan.margin.share == pytest.approx(-9.0 / 5.0 - 1.0, abs=1e-9)


_PAST = {
    "a pulley off the belt": {"beside": (pulley("spare", "idler", 30.0, -68.0, 40.0 + 2.0 * RIM_UNDER_MM),)},
    "a round obstacle": {"obstacles": (Circle("block", (30.0, -68.0), 40.0),)},
    "an obstacle with corners": {"obstacles": (Polygon("block", ((0.0, -110.0), (60.0, -110.0), (30.0, -48.0))),)},
}


@for_each(*_PAST.values(), ids=_PAST.keys())
def test_what_is_met_only_past_the_usable_travel_is_told_with_the_stop(given: dict[str, Any]) -> None:
    """The slot runs on under the crank, where nothing can be driven, to a thing that stands 48 mm below its line."""
    moved = Pulley("far", "alternator", 100.0, adjuster=Slide((20.0, 0.0), (360.0, 0.0), at=1.0))
    ((name, things),) = given.items()
    drive = layout(pulley("crank", "crankshaft", 0, 0), moved, **given)
    (finding,) = found(drive, "travel")
    deep = 50.0 - RIM_UNDER_MM - 48.0
    by = f"{deep:.1f}" if name == "beside" else f"at least {deep:.1f}"
    assert finding.severity == "caution"
    assert f"far and {things[0].name} overlap by {by} mm" in finding.wrong
    assert "the slot's end (0.0 mm from `from`)" in finding.wrong and "begin the slot at 84.6 mm" in finding.advice
    assert not [each for each in found(drive, "rim_gap") if set(each.parts) == {"far", things[0].name}]
