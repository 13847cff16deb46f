"""What a worst margin is of, and whether too little of it is bad, as of a reserve, or too much, as of slip."""

from __future__ import annotations

from dataclasses import replace

from beltplan.checks.plan import plan_of
from beltplan.drive.belt import Friction
from beltplan.drive.layout import CrankSwing, Layout
from beltplan.layoutfile.layout_file import read_layout
from tests.drive.drives import on_slide, with_belt
from tests.drive.loaded_drives import seven
from tests.for_each import for_each
from tests.shipped import FOLDER


@for_each(
    (with_belt(on_slide(), length_mm=925.0), "reserve", True),
    (with_belt(on_slide(), length_mm=1030.0), "reserve", True),
    (with_belt(on_slide(), length_mm=930.0), "wrap", True),
    (with_belt(seven(), friction=Friction(dry=1.0, wet=0.2, design=1.0)), "slip when wet", False),
)
def test_a_margin_tells_on_which_side_of_its_limit_it_is_bad(given: Layout, of: str, of_least: bool) -> None:
    margin = plan_of(given).margin
    assert margin is not None and (margin.of, margin.of_least) == (of, of_least)


def test_a_span_that_falls_slack_has_nothing_left_and_no_less() -> None:
    """The tension left is told below nothing, as far as the swing goes beyond the mean; its margin ends at -100 %."""
    given = read_layout(str(FOLDER / "camper.yaml")).layout
    plan = plan_of(replace(given, engine=replace(given.engine, swing_deg=CrankSwing((3.0,)))))
    (slack,) = [each for each in plan.findings if each.check == "tension_swing" and each.severity == "problem"]
    assert slack.value is not None and slack.value < 0.0 and slack.margin < -1.0
    assert plan.margin is not None and plan.margin.share == -1.0
