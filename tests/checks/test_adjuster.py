"""Take-up of slides and arms, and the side of a sprung tensioner.

Equal pulleys: the spans are parallel to the line of centres, so a movement at an angle to it takes up cos(angle) of
what one along it does; plane geometry. 40 and 20 %: project defaults, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.checks.belt import TAKE_UP
from beltplan.checks.tension import SLIP
from beltplan.drive.layout import Layout
from beltplan.drive.operation import why_not_judged
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import route_of, take_up_percent
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import SPRING, found, layout, pulley, route, severity, sliding, swinging, two
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
    assert take_up_percent(route(given)) == pytest.approx(percent, abs=1e-6)
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
    assert severity(askew(30.0, "arm", {"min_take_up_percent": {role: 25.0}}), "take_up", "far") is None


def test_dead_arm() -> None:
    # An arm in line with the spans' pull moves the pulley across it: nothing is taken up there.
    given = replace(swinging(90.0, stock=()), limits={})
    percent = take_up_percent(route(given))
    assert percent is not None and percent < 3.0
    assert severity(given, "take_up", "far") == "problem"


def test_no_adjuster_no_take_up() -> None:
    assert take_up_percent(route(two())) is None
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
    assert "must swing far to take up a little belt" in pushed.message and "wear" not in pushed.message
