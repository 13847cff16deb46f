"""Take-up of slides and arms, and the side of a sprung tensioner.

Equal pulleys: the spans are parallel to the line of centres, so a movement at an angle to it takes up cos(angle) of
what one along it does; plane geometry. 40 and 20 %: project defaults, no source.
"""

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltplan.api import plan_many
from beltplan.checks.belt import TAKE_UP
from beltplan.checks.doubts import RISING_SPRING
from beltplan.checks.plan import plan_of
from beltplan.checks.slip import SLIP
from beltplan.cure.study import cures_of
from beltplan.drag.bench import Bench
from beltplan.drag.live import live_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.operation import why_not_judged
from beltplan.drive.pulleys import Arm, Pulley, Slide, SlideSpring
from beltplan.drive.route import route_of, with_known_push, with_push_of
from beltplan.judging.stages import judged_places
from beltplan.layoutfile.layout_file import read_every_layout, read_layout
from beltplan.routes.study import search_routes
from tests.checks.drives import (
    BACK_MM,
    RIM_UNDER_MM,
    SPRING,
    found,
    layout,
    pulley,
    route,
    severity,
    sliding,
    swinging,
    two,
)
from tests.cli.running import Runner
from tests.for_each import for_each


def askew(percent: float, kind: str, limits: dict[str, dict[str, float]] | None = None) -> Layout:
    """A drive whose adjuster takes up that share of its best where it is judged: mid-travel, as no belt is listed."""
    angle = math.acos(percent / 100.0)
    if kind == "arm":
        return swinging(math.degrees(angle), stock=(), limits=limits or {})
    x, y = 2.0 * math.cos(angle), 2.0 * math.sin(angle)
    return sliding((300.0 - x, -y), (300.0 + x, y), stock=(), limits=limits or {})


TAKE_UPS = [(1.0, "problem"), (19.8, "problem"), (20.2, "caution"), (39.6, "caution"), (40.4, None), (100.0, None)]


@for_each("arm", "slide")
@for_each(*TAKE_UPS)
def test_weak_take_up(kind: str, percent: float, expected: str | None) -> None:
    given = askew(percent, kind)
    assert route(given).take_up_percent == pytest.approx(percent, abs=1e-6)
    assert severity(given, "take_up", "far") == expected
    # A spring sets no tension to rely on where it is a problem.
    sets_none = "takes up only" in (why_not_judged(route(given)) or "")
    assert sets_none == (kind == "arm" and expected == "problem")


def test_slip_is_not_judged_by_the_projects_own_limit() -> None:
    """A fifth of the best take-up is no number of the layout file."""
    (note,) = [each for each in SLIP.of_route(route(askew(19.8, "arm"))) if "not judged" in each.wrong]
    assert "takes up only" in note.wrong and "project default" in note.source


@for_each("far", "tensioner", "")
def test_take_up_overridden(role: str) -> None:
    assert severity(askew(60.0, "arm", {"min_take_up_percent": {role: 70.0}}), "take_up", "far") == "problem"
    for percent, own, told in ((30.0, 25.0, "caution"), (41.0, 25.0, None), (17.0, 15.0, None)):
        assert severity(askew(percent, "arm", {"min_take_up_percent": {role: own}}), "take_up", "far") == told


def test_dead_arm() -> None:
    # An arm in line with the spans' pull moves the pulley across it: nothing is taken up there.
    given = replace(swinging(90.0, stock=()), limits={})
    percent = route(given).take_up_percent
    assert percent is not None and percent < 3.0
    assert severity(given, "take_up", "far") == "problem"


def test_no_adjuster_no_take_up() -> None:
    assert route(two()).take_up_percent is None
    assert found(two(), "take_up") == []


def tensioned(
    order: tuple[str, ...], rotation: str = "clockwise", sprung: bool = True, role: str = "alternator"
) -> Layout:
    """A rectangle of ribbed pulleys, clockwise from the crankshaft; the tensioner swings outward at one corner."""
    corners = {"crank": (0.0, 0.0), "upper": (0.0, 300.0), "corner": (300.0, 300.0), "lower": (300.0, 0.0)}
    places = dict(zip(("crank", *order), corners.values(), strict=True))
    x, y = places["tensioner"]
    outward = math.atan2(y - 150.0, x - 150.0)
    at = outward - math.pi / 2.0
    arm = Arm((x - 60.0 * math.cos(at), y - 60.0 * math.sin(at)), 60.0, (at - 0.1, at + 0.1), at)
    parts = [pulley("crank", "crankshaft", 0, 0)]
    for name in order:
        if name == "tensioner":
            parts.append(Pulley(name, "tensioner", 100.0, adjuster=replace(arm, spring=SPRING if sprung else None)))
        else:
            parts.append(pulley(name, role if name == "load" else "idler", *places[name]))
    return layout(*parts, rotation=rotation)


@for_each(
    (("tensioner", "load", "guide"), None), (("guide", "tensioner", "load"), None),
    (("load", "tensioner", "guide"), "caution"), (("load", "guide", "tensioner"), "caution"),
)  # fmt: skip
def test_a_sprung_tensioner_belongs_just_after_the_driver(order: tuple[str, ...], expected: str | None) -> None:
    # A clockwise belt leaves the lower left corner upwards: the listed order is the order of travel. Slack is the
    # span after the driver: common practice, no source, and statics of a driven pulley.
    assert severity(tensioned(order), "slack_side", "tensioner") == expected


def test_turned_the_other_way_the_other_side_is_slack() -> None:
    assert severity(tensioned(("tensioner", "load", "guide"), "counterclockwise"), "slack_side") == "caution"
    assert severity(tensioned(("load", "guide", "tensioner"), "counterclockwise"), "slack_side") is None


def test_what_guides_only_does_not_count() -> None:
    assert severity(tensioned(("load", "guide", "tensioner"), role="idler"), "slack_side") is None
    assert severity(tensioned(("load", "guide", "tensioner"), role="idler", sprung=False), "slack_side") is None


def test_locked_by_hand_in_the_tight_span_a_tensioner_holds_but_carries_more() -> None:
    """No load moves it, so it is no fault; the slack span loads it least: common practice, no source."""
    (finding,) = found(tensioned(("load", "guide", "tensioner"), sprung=False), "slack_side")
    assert finding.severity == "note" and finding.wrong.startswith("it sits on the tight side, past load. ")
    assert "its bolt and bracket carry the pull of the load too" in finding.wrong
    assert found(tensioned(("tensioner", "load", "guide"), sprung=False), "slack_side") == []


def test_an_alternator_that_is_swung_out_by_hand_stands_where_it_is_driven() -> None:
    given = tensioned(("load", "guide", "tensioner"), sprung=False)
    swung = replace(given.pulleys["tensioner"], role="alternator")
    assert found(replace(given, pulleys={**given.pulleys, "tensioner": swung}), "slack_side") == []


def test_the_accessories_in_between_are_named() -> None:
    (finding,) = found(tensioned(("load", "guide", "tensioner")), "slack_side")
    assert "sits on the tight side, past load." in finding.message


def test_what_a_weak_take_up_does_is_said_for_how_it_is_held() -> None:
    """An arm locked by hand has no spring that could slacken: wear uses up its travel."""
    by_hand, sprung = (read_layout(f"tests/cases/{name}.yaml", None).layout for name in ("no_loads", "hz"))
    (locked,), (pushed,) = (TAKE_UP.of_route(route_of(given)) for given in (by_hand, sprung))
    assert "spring" not in locked.message and "A little wear uses up much of its travel" in locked.message
    assert "takes up 22 % of the belt that a well placed one would" in pushed.message and "wear" not in pushed.message


# Travel that is of no use, and readings over the rim; two pulleys of 100 mm, path 2 x distance + 100 pi.


def test_a_whole_travel_is_no_finding() -> None:
    assert found(sliding(), "travel") == []


def test_travel_that_starts_in_the_other_pulley() -> None:
    # Rims meet where the centres are two rim radii apart: the path is shortest there.
    given = sliding((20.0, 0.0), (360.0, 0.0), at=1.0)
    (finding,) = found(given, "travel")
    shortest = 2.0 * (100.0 - 2.0 * RIM_UNDER_MM) + 100.0 * math.pi
    assert (
        finding.severity == "caution" and "past the short end far and crank leave the belt no path" in finding.message
    )
    assert route(given).travel is not None
    assert route(given).window.shortest == pytest.approx(shortest, abs=1e-4)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("start", "end", "why"),
    [
        ((150.0, 120.0), (150.0, 50.0), "past the short end the belt never touches guide"),
        ((150.0, 80.0), (150.0, -90.0), "past the long end span far to crank crosses the belt on guide"),
    ],
)
def test_what_ends_the_usable_travel_is_told_without_numbers_or_sides(
    start: tuple[float, float], end: tuple[float, float], why: str
) -> None:
    """A guide of 80 mm on the back over a span 50 mm up: it leaves the belt, or presses it into the lower span."""
    guide = Pulley("guide", "tensioner", 80.0, belt_side="back", adjuster=Slide(start, end))
    crank, far = two(300.0).pulleys.values()
    (finding,) = found(layout(crank, guide, far), "travel")
    assert why in finding.wrong and "either way round" not in finding.wrong and "on this side" not in finding.wrong


def test_a_design_setting_without_a_path_is_a_problem() -> None:
    given = sliding((20.0, 0.0), (360.0, 0.0), at=0.0)
    assert [f.severity for f in found(given, "travel")] == ["problem", "caution"]
    assert route(given).needed_mm is None


@pytest.mark.parametrize(("at", "longest"), [(0.9, math.hypot(300.0, 50.0)), (0.1, math.hypot(300.0, 90.0))])
def test_travel_past_the_turning_point_is_cut_to_the_part_that_holds_the_setting(at: float, longest: float) -> None:
    # Across the line of centres: nearest at y = 0, so the path falls to 600 + 100 pi there and grows again.
    given = sliding((300.0, -90.0), (300.0, 50.0), at=at)
    window = route(given).window
    (finding,) = found(given, "travel")
    assert "past the short end it tightens the belt again" in finding.wrong and window is not None
    # The nearest point is the shortest path: past it the belt is tightened again, not slackened.
    assert "slackens" not in finding.message
    assert window.shortest == pytest.approx(600.0 + 100.0 * math.pi, abs=1e-6)
    assert window.longest == pytest.approx(2.0 * longest + 100.0 * math.pi, abs=1e-9)


def over_rim(*names: str) -> Layout:
    """Two pulleys, some of them read over the rib tips."""
    given = two(300.0)
    pulleys = {n: replace(p, reading="rim" if n in names else "line") for n, p in given.pulleys.items()}
    return replace(given, pulleys=pulleys)


@pytest.mark.parametrize(("names", "wrap"), [(("far",), math.pi), (("crank", "far"), 2.0 * math.pi)])
def test_readings_over_the_rim_leave_length_open(names: tuple[str, ...], wrap: float) -> None:
    # PK: the rim lies 0.385 mm under the effective diameter, 0 to 0.9 at the ends (derived from ISO 9982:2021 table 2,
    # widened to SAE J1459-2022); the path changes by half a diameter's change x wrap (dL/dr = wrap).
    (finding,) = found(over_rim(*names), "rim_reading")
    least, most = -0.5 * 0.385 * wrap, 0.5 * (0.9 - 0.385) * wrap
    assert finding.severity == "note" and f"{-least:.1f} mm shorter or {most:.1f} mm longer" in finding.wrong
    assert all(name in finding.message for name in names)


def test_no_note_without_readings_over_the_rim() -> None:
    assert found(two(), "rim_reading") == []


def _swept(first_deg: float, second_deg: float) -> Layout:
    arm = Arm((600.0, 0.0), 60.0, (math.radians(first_deg), math.radians(second_deg)))
    return layout(pulley("crank", "crankshaft", 0, 0), Pulley("far", "tensioner", 100.0, adjuster=arm))


@pytest.mark.parametrize(("deg", "asked"), [(179.9, False), (180.1, True)])
def test_half_a_turn_is_the_widest_sweep(deg: float, asked: bool) -> None:
    """Common practice, no source."""
    assert any("deg apart" in each.wrong for each in found(_swept(90.0, 90.0 + deg), "travel")) == asked


def test_an_arm_that_sweeps_more_than_half_a_turn_is_asked_about() -> None:
    """Stops of 350 and 20 deg, meant as 350 to 380, are an arm that sweeps 330 deg the other way."""
    given = _swept(350.0, 20.0)
    wide = [f for f in found(given, "travel") if "deg apart" in f.wrong]
    assert [f.severity for f in wide] == ["caution"] and "write [-10, 20]" in wide[0].message
    narrow = _swept(350.0, 380.0)
    assert not [f for f in found(narrow, "travel") if "deg apart" in f.wrong]


# Pulleys that meet past the usable travel: two of 100 mm on a line, rims two rim radii apart where they touch.


_TOUCH_MM = 100.0 - 2.0 * RIM_UNDER_MM


def test_a_slot_that_begins_inside_another_pulley_is_told_by_the_overlap_at_its_end() -> None:
    """It begins 9 mm before the rims touch: that overlap, and 5 mm of gap another 5 mm past touching."""
    (finding,) = found(sliding((_TOUCH_MM - 9.0, 0.0), (360.0, 0.0), at=1.0), "rim_gap")
    assert finding.severity == "problem" and finding.limit == 5.0
    assert finding.wrong.startswith("crank and far overlap by 9.0 mm at the slot's end (0.0 mm past `from`);")
    assert finding.advice == "begin the slot at 14.0 mm past `from`: there the gap is 5.0 mm"


@for_each(108.0, 112.0, 115.0, 118.0, 122.0, 360.0)
def test_a_stop_is_told_only_where_it_leaves_travel_for_a_belt(end_mm: float) -> None:
    """Held against the drive whose slot begins there: a length with full reserve, and one of the list among them."""
    (finding,) = found(sliding((_TOUCH_MM - 9.0, 0.0), (end_mm, 0.0), at=1.0), "rim_gap")
    cut = route_of(sliding((_TOUCH_MM + 5.0, 0.0), (end_mm, 0.0), at=1.0))
    fits = cut.acceptable_mm is not None and cut.judged is not None
    assert fits is (end_mm > 116.5)  # as computed once, so that both answers are asked
    assert ("begin the slot at 14.0 mm" in finding.advice) is fits
    assert (
        "a stop that keeps them apart leaves too little travel for a belt: move one of them" in finding.advice
    ) is not fits


def test_a_slot_that_ends_inside_another_pulley_is_to_end_before_it() -> None:
    (finding,) = found(sliding((360.0, 0.0), (_TOUCH_MM - 9.0, 0.0), at=0.0), "rim_gap")
    assert finding.advice.startswith(f"end the slot at {360.0 - _TOUCH_MM - 5.0:.1f} mm past `from`")


def test_an_arm_gets_the_degrees_of_its_stop() -> None:
    """Pivot 150 mm right of the crank, arm of 100 mm: centres 5 mm over touching by the law of cosines."""
    arm = Arm((150.0, 0.0), 100.0, (math.radians(10.0), math.radians(170.0)), math.radians(20.0))
    moved = Pulley("far", "tensioner", 100.0, adjuster=arm)
    (finding,) = found(layout(pulley("crank", "crankshaft", 0, 0), moved), "rim_gap")
    apart = _TOUCH_MM + 5.0
    stop = 180.0 - math.degrees(math.acos((150.0**2 + 100.0**2 - apart**2) / (2.0 * 150.0 * 100.0)))
    deep = _TOUCH_MM - math.sqrt(150.0**2 + 100.0**2 - 2.0 * 150.0 * 100.0 * math.cos(math.radians(10.0)))
    assert f"overlap by {deep:.1f} mm at the arm's stop (170.0 deg)" in finding.wrong
    asked = "are `stops` right, with minus below the level? Else"
    assert finding.advice == f"{asked} set the arm's stop at {stop:.1f} deg: there the gap is 5.0 mm"


def test_the_stop_that_is_told_leaves_no_other_gap_too_narrow() -> None:
    """Held against the drive with that stop: a bracket that the pulley passes farther back is no more in its way."""
    away = 100.0 + 50.0 + 5.0 + 3.0
    at_mm = (150.0 + away * math.cos(math.radians(110.0)), away * math.sin(math.radians(110.0)))
    arm = Arm((150.0, 0.0), 100.0, (math.radians(10.0), math.radians(170.0)), math.radians(100.0))

    def drive(arm: Arm) -> Layout:
        moved, bracket = Pulley("far", "tensioner", 100.0, adjuster=arm), Circle("bracket", at_mm, 10.0)
        return layout(pulley("crank", "crankshaft", 0, 0), moved, obstacles=(bracket,))

    (told,) = {each.advice for each in found(drive(arm), "rim_gap") if "stop" in each.advice}
    words = re.search(
        r"Else set the arm's stop at ([\d.]+) deg, and `at_deg` within the stops: beyond it other gaps are too narrow$",
        told,
    )
    assert words is not None and found(drive(arm), "clearance")
    done = replace(arm, stops_rad=(arm.stops_rad[0], math.radians(float(words[1]))), at_rad=math.radians(30.0))
    assert not [each for check in ("rim_gap", "clearance") for each in found(drive(done), check) if each.margin < 0.0]


@pytest.mark.parametrize("least", [5.0, 0.0])
def test_the_caution_of_the_travel_tells_which_two_leave_no_path_whatever_gap_is_asked(least: float) -> None:
    given = sliding((_TOUCH_MM - 9.0, 0.0), (360.0, 0.0), at=1.0, limits={"min_rim_gap_mm": {"": least}})
    (finding,) = found(given, "travel")
    assert "past the short end far and crank leave the belt no path" in finding.wrong
    assert finding.advice.startswith(f"begin the slot at {9.0 + least:.1f} mm past `from`")


def test_a_belt_without_room_names_the_two_that_leave_it_none() -> None:
    """A roller on the back needs 50 + 40 mm and the back's height between centres, its rim meets the crank's before."""
    roller = Pulley("roller", "tensioner", 80.0, belt_side="back", adjuster=Slide((45.0, 72.2), (149.0, 72.2), at=0.9))
    given = layout(pulley("crank", "crankshaft", 0, 0), roller, pulley("far", "alternator", 300, 0))
    (finding,) = found(given, "travel")
    assert "past the long end roller and crank leave the belt no path" in finding.wrong
    assert (travel := route(given).travel) is not None
    assert math.hypot(45.0 + travel.low, 72.2) == pytest.approx(90.0 + BACK_MM, abs=1e-3)
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
    assert "the slot's end (0.0 mm past `from`)" in finding.wrong and "begin the slot at 84.6 mm" in finding.advice
    assert not [each for each in found(drive, "rim_gap") if set(each.parts) == {"far", things[0].name}]


# A spring pushes one way, whatever the order of the belt: which way is what the layout's own path says.


SPRUNG = ("railcar", "workboat", "camper")


def _of(name: str) -> Layout:
    return read_layout(f"layouts/{name}.yaml").layout


def _tensioner(layout: Layout) -> Pulley:
    return next(each for each in layout.routed if each.adjuster is not None)


def _longer_with_angle(layout: Layout) -> float:
    """Of the whole path, with the arm a tenth of a degree further on than it stands: of two layouts without travel."""
    pulley, route = _tensioner(layout), route_of(layout)
    held, length = pulley.adjuster, []
    assert isinstance(held, Arm) and route.setting is not None
    for angle in route.setting + np.radians([-0.05, 0.05]):
        at = (
            held.pivot_mm[0] + held.length_mm * float(np.cos(angle)),
            held.pivot_mm[1] + held.length_mm * float(np.sin(angle)),
        )
        length.append(float(route_of(layout.with_pulley(replace(pulley, adjuster=None, at_mm=at))).loop.length))
    return length[1] - length[0]


def _told(layout: Layout) -> list[str]:
    return [each.severity for each in plan_of(layout).findings if each.check == RISING_SPRING.name]


@for_each(*SPRUNG)
def test_the_own_path_tells_which_way_a_spring_pushes(name: str) -> None:
    layout = _of(name)
    known = with_known_push(layout)
    assert known.pushes == np.sign(_longer_with_angle(layout)) and layout.pushes == 0
    assert _told(known) == [] == _told(layout), "its own path asks for no other push"


@for_each("workboat", "railcar")
def test_an_order_that_turns_the_push_about_is_a_problem(name: str) -> None:
    """Which do is asked of the path length itself, by laying each order twice with the pulley fixed."""
    layout = with_known_push(_of(name))
    turned = 0
    for laid in search_routes(_of(name)).routes:
        grows = np.sign(_longer_with_angle(laid.plan.layout))
        told = [each.severity for each in laid.plan.findings if each.check == RISING_SPRING.name]
        assert told == ([] if grows == layout.pushes else ["problem"])
        turned += bool(told)
    assert turned > 1


def test_a_map_judges_it_as_check_does() -> None:
    layout = with_known_push(_of("workboat"))
    back = replace(layout, pushes=-layout.pushes)
    x, y = layout.pulleys["alternator"].at_mm or (0.0, 0.0)
    places = np.array([[[x, y]], [[x - 20.0, y]]])
    good, bad = (judged_places(each, ("alternator",), places) for each in (layout, back))
    assert (good.state != bad.state).all() and len(set(bad.state.tolist())) == 1
    assert _told(back) == ["problem"]


def test_no_cure_turns_it_about() -> None:
    """Without this an order that turns it about and one idler more would cure it: seen, and kept in this case."""
    layout = read_layout("tests/cases/turned_spring.yaml").layout
    cures = cures_of(layout)
    assert cures.nearest is not None and cures.best is None
    after = cures.nearest.trial.layout
    turned = np.sign(_longer_with_angle(after)) != with_known_push(layout).pushes
    told = [each.severity for each in cures.nearest.plan.findings if each.check == RISING_SPRING.name]
    assert told == (["problem"] if turned else [])


_TURNED = ("crank", "steering_pump", "tensioner", "water_pump", "idler", "alternator")


def _written(tmp_path: Path, *changed: tuple[str, str]) -> str:
    """The workboat with one variant more: the belt led round in an order in which the same spring would slacken it."""
    text = Path("layouts/workboat.yaml").read_text(encoding="utf-8")
    text += f"  led otherwise:\n    route: [{', '.join(_TURNED)}]\n"
    for old, new in changed:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "workboat.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_variant_is_told_of_a_push_the_other_way(tmp_path: Path, run: Runner) -> None:
    path = _written(tmp_path)
    base, *_, turned = (file.layout for file in read_every_layout(path))
    assert np.sign(_longer_with_angle(base)) == -np.sign(_longer_with_angle(turned)) == turned.pushes
    assert _told(turned) == ["problem"] and _told(base) == []
    columns = {each["name"]: each["findings"] for each in json.loads(run("compare", path, "--json").out)["columns"]}
    told = [name for name, found in columns.items() if any(each["check"] == RISING_SPRING.name for each in found)]
    assert told == ["led otherwise"]
    alone = json.loads(run("check", path, "--variant", "led otherwise", "--json").out)["findings"]
    assert [each["severity"] for each in alone if each["check"] == RISING_SPRING.name] == ["problem"]


def test_another_spring_in_a_variant_may_push_the_other_way(tmp_path: Path) -> None:
    route = f"route: [{', '.join(_TURNED)}]\n"
    spring = "    pulleys: {tensioner: {spring: {torque_Nm: 41, at_deg: 100, rate_Nm_per_deg: 0.3}}}\n"
    *_, turned = read_every_layout(_written(tmp_path, (route, route + spring)))
    assert turned.layout.pushes == 0 and _told(turned.layout) == []


def test_a_slide_that_is_turned_about_pushes_as_its_own_path_says() -> None:
    layout = _of("workboat")
    spring = SlideSpring(300.0, 0.0, 1.0)
    slides = [Slide((0.0, 0.0), end, spring=spring) for end in ((0.0, 40.0), (10.0, 35.0), (0.0, -40.0))]
    held, *others = (layout.with_pulley(replace(_tensioner(layout), adjuster=each)) for each in slides)
    assert [with_push_of(other, replace(held, pushes=1)).pushes for other in others] == [1, 0]
    assert with_push_of(layout, replace(held, pushes=1)).pushes == 0, "an arm is no slide"


def test_a_hand_that_leads_the_belt_round_otherwise_is_told(tmp_path: Path) -> None:
    bench = Bench(_written(tmp_path), None, lambda *_: "")
    assert all(each.check != RISING_SPRING.name for each in bench.live.findings)
    live = live_of(replace(bench.now, route=_TURNED))
    assert [each.severity for each in live.findings if each.check == RISING_SPRING.name] == ["problem"]


def test_places_of_a_notebook_are_judged_by_the_own_path_too(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = _of("workboat")
    place = [layout.pulleys["alternator"].at_mm or (0.0, 0.0)]
    assert plan_many(layout, "alternator", place).verdict.tolist() == ["sound"]
    other = -with_known_push(layout).pushes
    monkeypatch.setattr("beltplan.judging.stages.with_known_push", lambda layout: replace(layout, pushes=other))
    assert plan_many(layout, "alternator", place).verdict.tolist() == ["problem"]


@for_each(*SPRUNG)
def test_a_path_that_is_laid_is_not_laid_again(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    layout, route = _of(name), route_of(_of(name))
    known = with_known_push(layout)
    with monkeypatch.context() as unlaid:
        unlaid.setattr("beltplan.drive.route.circuit_for", None)
        assert with_known_push(layout, route).pushes == known.pushes != 0
        assert with_known_push(known) is known
