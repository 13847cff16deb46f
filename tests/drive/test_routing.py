"""Which way round the belt runs, and every kind of refusal."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.drive.layout import Layout, Rotation
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import NoBeltPath, PathFault, circuit_for, unsound
from beltplan.drive.travel import circuit_of
from beltplan.geometry.crossing import crosses, crossings
from tests.drive.drives import fixed, layout, on_slide, pulley, railcar, with_pulley
from tests.for_each import for_each


def _names(given: Layout) -> list[str]:
    return [p.name for p in circuit_for(given)[0].pulleys]


@for_each(False, True)
@for_each(*range(5))
def test_a_route_may_be_listed_either_way_from_anywhere(backward: bool, start: int) -> None:
    names = railcar().route[::-1] if backward else railcar().route
    given = replace(railcar(), route=names[start:] + names[:start])
    assert _names(given) == ["crank", "tensioner", "pump", "guide", "generator"]


@pytest.mark.parametrize("rotation", ["clockwise", "counterclockwise"])
def test_the_belt_runs_as_the_driver_turns(rotation: Rotation) -> None:
    names = ["crank", "tensioner", "pump", "guide", "generator"]
    expected = names if rotation == "clockwise" else [names[0], *names[:0:-1]]
    assert _names(replace(railcar(), rotation=rotation)) == expected


def _middle(y: float) -> Layout:
    """A small smooth pulley between both spans: the belt may pass over or under it."""
    return layout(
        [
            pulley("crank", 0, 0, 100, role="crankshaft"),
            pulley("pump", 400, 0, 100, role="water_pump"),
            pulley("guide", 200, y, 80, role="idler", belt_side="back"),
        ]
    )


@pytest.mark.parametrize("backward", [False, True])
def test_where_both_directions_are_sound_the_listed_order_is_taken(backward: bool) -> None:
    given = _middle(0.0)
    if backward:
        given = replace(given, route=("crank", "guide", "pump"))
    circuit, both_ways = circuit_for(given)
    assert [p.name for p in circuit.pulleys] == list(given.route)
    assert both_ways


@pytest.mark.parametrize("backward", [False, True])
def test_of_two_ways_that_cross_as_often_the_one_that_turns_once_is_told(backward: bool) -> None:
    """The signed wraps of a clockwise crank's belt come to one turn clockwise; the other way they come to one back."""
    pulleys = [
        pulley("crank", -146, -39, 78, role="crankshaft"),
        pulley("low", 100, -88, 104, role="idler", belt_side="back"),
        pulley("fan", 185, 90, 109, role="fan"),
        pulley("high", -136, 187, 106, role="idler", belt_side="back"),
    ]
    given = layout(pulleys)
    other = circuit_of(replace(given, route=("crank", "high", "fan", "low"))).loop_at(0.0)
    circuit, loop = unsound(replace(given, route=("crank", "high", "fan", "low")) if backward else given)
    crossed = [sum(bool(hit) for *_, hit in crossings(each.pieces)) for each in (loop, other)]
    assert crossed[0] == crossed[1] > 0
    assert [p.name for p in circuit.pulleys] == ["crank", "low", "fan", "high"]
    assert float((loop.sense * loop.wrap).sum()) == pytest.approx(-2.0 * math.pi)
    assert float((other.sense * other.wrap).sum()) == pytest.approx(2.0 * math.pi)


def test_only_one_direction_where_the_pulley_is_beyond_the_other_span() -> None:
    circuit, both_ways = circuit_for(_middle(-60.0))
    assert [p.name for p in circuit.pulleys] == ["crank", "pump", "guide"]
    assert not both_ways


def test_two_pulleys_make_the_same_loop_either_way() -> None:
    circuit, both_ways = circuit_for(fixed())
    assert [p.name for p in circuit.pulleys] == ["crank", "pump"]
    assert not both_ways


def test_a_path_on_part_of_the_travel_is_enough() -> None:
    third = Pulley("jockey", "tensioner", 80.0, adjuster=Slide((200.0, 130.0), (200.0, 80.0), at=0.0), belt_side="back")
    two = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", 400, 0, 100, role="water_pump")]
    assert _names(layout([*two, third])) == ["crank", "jockey", "pump"]


def _refusal(given: Layout) -> tuple[PathFault, ...]:
    with pytest.raises(NoBeltPath) as refused:
        circuit_for(given)
    assert all(fault.got in str(refused.value) for fault in refused.value.faults)
    assert all(fault.got and fault.allowed for fault in refused.value.faults)
    return refused.value.faults


def test_overlapping_pulleys_are_named_with_what_they_need() -> None:
    (fault,) = _refusal(fixed(90.0))
    assert fault.pulleys == ("crank", "pump")
    assert "overlap" in fault.got
    assert "90.00 mm apart" in fault.got
    assert "99.61 mm" in fault.allowed


def test_every_overlap_is_told_at_once() -> None:
    crowded = layout([pulley("crank", 0, 0, 100), pulley("pump", 60, 0, 100), pulley("fan", 120, 0, 100)])
    assert {fault.pulleys for fault in _refusal(crowded)} == {("crank", "pump"), ("pump", "fan")}


def test_pulleys_on_one_centre_overlap() -> None:
    assert [fault.pulleys for fault in _refusal(fixed(0.0))] == [("crank", "pump")]


def test_overlap_all_along_the_travel() -> None:
    (fault,) = _refusal(on_slide((10.0, 0.0), (50.0, 0.0)))
    assert fault.pulleys == ("crank", "generator")
    assert "50.00 mm apart" in fault.got


def test_no_tangent_between_rims_closer_than_the_belt() -> None:
    """Rims 1 mm apart, the belt's back 2.2 mm over the line: no room to pass between."""
    tight = layout(
        [
            pulley("crank", 0, 0, 100, role="crankshaft"),
            pulley("guide", 0, 91, 80, role="idler", belt_side="back"),
            pulley("pump", 400, 0, 100, role="water_pump"),
        ]
    )
    faults = _refusal(tight)
    assert [fault.pulleys for fault in faults] == [("crank", "guide")]
    # Lines of 50 and 40 + 2.2 mm: 92.2 mm, 1.2 mm more than 91.
    assert "leave no room for the belt: centres 91.00 mm apart, but over 92.20 mm needed" in faults[0].got
    assert faults[0].allowed == "these two 1.20 mm farther apart"


@pytest.mark.parametrize("given", [_middle(130.0), _middle(95.0)], ids=["far off", "just off"])
def test_a_missed_pulley_is_named(given: Layout) -> None:
    (fault,) = _refusal(given)
    assert fault.pulleys == ("guide",)
    assert "never touches guide" in fault.got
    assert "belt_side (back now)" in fault.allowed


def test_a_missed_pulley_inside_the_loop_is_named() -> None:
    inside = with_pulley(_middle(0.0), "guide", belt_side="ribbed", diameter_mm=40.0)
    (fault,) = _refusal(inside)
    assert fault.pulleys == ("guide",)
    assert "belt_side (ribbed now)" in fault.allowed


def test_an_order_that_crosses_names_spans_and_the_order() -> None:
    square = layout(
        [
            pulley("crank", 0, 0, 80, role="crankshaft"),
            pulley("pump", 300, 300, 80),
            pulley("fan", 300, 0, 80),
            pulley("generator", 0, 300, 80),
        ]
    )
    (fault,) = _refusal(square)
    assert set(fault.pulleys) == {"crank", "pump", "fan", "generator"}
    assert "the belt would cross itself, either way round: (1) span" in fault.got


def test_a_crossing_where_a_side_is_wrong_names_both_spans() -> None:
    (fault,) = _refusal(with_pulley(railcar(), "pump", belt_side="back"))
    assert "span tensioner to pump crosses span pump to guide" in fault.got


def test_one_turn_in_sum_is_not_enough() -> None:
    """Run backward this order turns just once, and still crosses itself."""
    given = replace(railcar(), route=("crank", "pump", "tensioner", "guide", "generator"))
    backward = circuit_of(given, reverse=True)
    loop = backward.loop_at(math.radians(285.0))
    assert float(loop.turns) == pytest.approx(backward.turning)
    assert crosses(loop.pieces)
    _refusal(given)


@pytest.mark.parametrize("more", [[], [pulley("low", 150, -300, 80)]])
def test_a_belt_that_goes_round_all_on_its_back_is_told_as_inside_out(more: list[Pulley]) -> None:
    """A belt round pulleys that it leaves on one side crosses nowhere; it has its ribs on what it goes round."""
    round_it = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", 300, 0, 100), *more]
    (fault,) = _refusal(layout([replace(each, belt_side="back") for each in round_it]))
    assert set(fault.pulleys) == {each.name for each in round_it} and "inside out" in fault.got
    assert "belt_side: ribbed" in fault.allowed
    assert _names(layout(round_it))
