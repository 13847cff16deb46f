"""The layout with its belt on: which belt is judged, and where it puts everything."""

import math
from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import line_length_mm, parse_designation
from beltplan.drive.layout import Layout, Rotation
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import Route, route_of, routes_of
from beltplan.drive.travel import circuit_of
from beltplan.drive.way_round import NoBeltPath, PathFault, circuit_for, unsound
from beltplan.geometry.crossing import crosses, crossings
from beltplan.geometry.pieces import Pieces
from tests.drive.drives import fixed, layout, on_slide, pulley, railcar, with_belt, with_pulley
from tests.for_each import for_each


def _stocked(given: Layout, *names: str) -> Layout:
    return replace(given, stock=tuple(parse_designation(name) for name in names))


def test_the_manuals_example_takes_one_of_its_two_belts() -> None:
    route = route_of(_stocked(railcar(), "6PK1685", "6PK1700"))
    assert route.judged is route.stock[0]
    assert route.designation == "6PK1685"
    assert {fitted.designation for fitted in route.stock} == {"6PK1685", "6PK1700"}
    assert route.length_mm == 1685.0


def test_geometry_is_where_the_judged_belt_puts_the_adjuster() -> None:
    route = route_of(railcar())
    assert route.judged is not None
    assert route.setting == route.judged.setting
    assert float(route.loop.length) == pytest.approx(route.length_mm, abs=1e-9)
    assert route.position == pytest.approx(route.judged.position)


def test_needed_is_the_path_at_the_design_setting() -> None:
    route = route_of(railcar())
    at_design = route.circuit.loop_at(np.radians(285.0)).length
    assert route.needed_mm == pytest.approx(float(at_design))
    assert route_of(on_slide(at=0.25)).needed_mm == pytest.approx(630.0 + 100.0 * np.pi)
    assert route_of(on_slide()).needed_mm == pytest.approx(660.0 + 100.0 * np.pi)


def test_a_named_belt_is_judged_though_a_better_one_is_in_stock() -> None:
    route = route_of(_stocked(replace(railcar(), belt=parse_designation("6PK1700")), "6PK1690"))
    assert route.designation == "6PK1700"
    assert [fitted.designation for fitted in route.stock] == ["6PK1690", "6PK1700"]
    assert float(route.loop.length) == pytest.approx(1700.0, abs=1e-9)


@pytest.mark.parametrize(("name", "end"), [("6PK1600", "short"), ("6PK1800", "long")])
def test_a_named_belt_outside_the_window_keeps_its_length_at_the_nearer_end(name: str, end: str) -> None:
    route = route_of(replace(railcar(), belt=parse_designation(name)))
    assert route.travel is not None and route.window is not None
    assert route.named_outside
    assert route.judged is None
    assert route.designation == name
    assert route.length_mm == line_length_mm(parse_designation(name))
    assert route.setting == (route.travel.short if end == "short" else route.travel.long)
    assert route.position == (0.0 if end == "short" else 1.0)
    assert float(route.loop.length) == pytest.approx(route.window.shortest if end == "short" else route.window.longest)
    assert name not in [fitted.designation for fitted in route.stock]


def test_where_no_stock_belt_fits_the_middle_of_the_travel_is_judged() -> None:
    route = route_of(_stocked(railcar(), "6PK1600", "6PK1800"))
    assert route.stock == ()
    assert route.judged is None
    assert route.designation is None
    assert not route.named_outside
    assert route.setting == pytest.approx(np.radians(282.5))
    assert route.length_mm == pytest.approx(float(route.circuit.loop_at(np.radians(282.5)).length))


def test_without_an_adjuster() -> None:
    route = route_of(_stocked(fixed(), "6PK910", "6PK915", "6PK920"))
    assert (route.travel, route.window, route.setting, route.position, route.moving) == (None,) * 5
    assert route.needed_mm == pytest.approx(600.0 + 100.0 * np.pi)
    assert [(f.designation, f.verdict) for f in route.stock] == [("6PK915", "marginal"), ("6PK910", "marginal")]
    assert route.length_mm == 915.0
    assert float(route.loop.length) == route.needed_mm


def test_acceptable_lengths_follow_the_kind_of_drive() -> None:
    assert route_of(fixed()).acceptable_mm is None
    stretch = route_of(with_belt(fixed(), stretch_fit=(0.01, 0.02))).acceptable_mm
    needed = 600.0 + 100.0 * np.pi
    assert stretch == pytest.approx((needed / 1.02, needed / 1.01))
    hand = route_of(on_slide()).acceptable_mm
    assert hand is not None
    assert hand[0] == pytest.approx(600.0 + 102.35 * np.pi + 5.0)


def test_what_to_ask_for_where_a_list_from_memory_holds_nothing() -> None:
    """The good lengths, but only where they leave the list, or there is none; a user's own list is the last word."""
    long = on_slide((1600.0, 0.0), (1700.0, 0.0))
    route = route_of(long)
    assert route.judged is None and route.to_ask_for_mm == route.acceptable_mm is not None
    assert route.designation is None and route.length_mm == pytest.approx(3300.0 + 100.0 * np.pi)
    assert route_of(replace(long, stock=())).to_ask_for_mm is None
    assert route_of(with_belt(long, length_mm=3000.0)).to_ask_for_mm is None
    assert route_of(on_slide()).to_ask_for_mm is None
    assert route_of(on_slide((300.0, 0.0), (301.0, 0.0))).to_ask_for_mm is None
    assert route_of(replace(on_slide(), belt=parse_designation("6PJ"))).to_ask_for_mm is not None
    assert route_of(fixed(belt="6PJ")).to_ask_for_mm is None


def test_no_needed_length_where_the_design_setting_has_no_path() -> None:
    smooth = Pulley(
        "jockey", "tensioner", 80.0, adjuster=Slide((200.0, 130.0), (200.0, 50.0), at=0.1), belt_side="back"
    )
    two = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", 400, 0, 100, role="water_pump")]
    route = route_of(layout([two[0], smooth, two[1]]))
    assert route.needed_mm is None
    assert np.isfinite(route.loop.length)


def test_spans_join_neighbours_and_the_moving_pulley_is_named() -> None:
    route = route_of(railcar())
    assert [(a.name, b.name) for a, b in route.spans] == [
        ("crank", "tensioner"), ("tensioner", "pump"), ("pump", "guide"), ("guide", "generator"),
        ("generator", "crank"),
    ]  # fmt: skip
    assert route.moving is route.layout.pulleys["tensioner"]


def test_no_path_anywhere_is_refused() -> None:
    with pytest.raises(NoBeltPath):
        route_of(fixed(50.0))


def test_classical_belt_is_judged_on_its_datum_length() -> None:
    given = replace(on_slide(), belt=parse_designation("A950 inside"))
    route = route_of(given)
    assert route.length_mm == pytest.approx(950.0 + 33.02)
    assert route.designation == "A950 inside"
    assert float(route.loop.length) == pytest.approx(route.length_mm, abs=1e-9)


def _alone(given: Layout) -> Route | None:
    try:
        return route_of(given)
    except NoBeltPath:
        return None


def test_routes_laid_at_once_are_those_laid_one_by_one() -> None:
    """Law: batch equals single; listed either way, whole or cut travel, on an arm, a slide or none, without a path."""
    listed = [railcar(), replace(railcar(), route=railcar().route[::-1]), on_slide(), on_slide((20.0, 0.0)), fixed()]
    sizes = (0.3, 0.8, 1.0, 1.3, 1.7, 2.2)
    every = [
        with_pulley(given, own.name, diameter_mm=share * own.diameter_mm)
        for given in listed
        for own in given.routed
        for share in sizes
    ]
    many, alone = routes_of(every), [_alone(given) for given in every]
    travels = [route.travel for route in alone if route is not None and route.travel is not None]
    assert {bool(travel.whole) for travel in travels} == {True, False}
    assert None in alone and sum(route is not None for route in alone) > len(every) / 2
    for got, want in zip(many, alone, strict=True):
        assert (got is None) == (want is None)
        if got is None or want is None:
            continue
        assert (got.layout, got.designation, got.both_ways) == (want.layout, want.designation, want.both_ways)
        assert [pulley.name for pulley in got.pulleys] == [pulley.name for pulley in want.pulleys]
        assert got.last_over == want.last_over
        np.testing.assert_allclose(got.loop.wrap, want.loop.wrap, atol=1e-9)
        numbers = [(r.length_mm, r.setting or 0.0, r.needed_mm or 0.0, r.position or 0.0) for r in (got, want)]
        assert numbers[0] == pytest.approx(numbers[1], abs=1e-8)


# Which way round the belt runs, and every kind of refusal.


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
    crossed = [sum(bool(hit) for *_, hit in crossings(Pieces.of(each))) for each in (loop, other)]
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
    assert crosses(Pieces.of(loop))
    _refusal(given)


@pytest.mark.parametrize("more", [[], [pulley("low", 150, -300, 80)]])
def test_a_belt_that_goes_round_all_on_its_back_is_told_as_inside_out(more: list[Pulley]) -> None:
    """A belt round pulleys that it leaves on one side crosses nowhere; it has its ribs on what it goes round."""
    round_it = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", 300, 0, 100), *more]
    (fault,) = _refusal(layout([replace(each, belt_side="back") for each in round_it]))
    assert set(fault.pulleys) == {each.name for each in round_it} and "inside out" in fault.got
    assert "belt_side: ribbed" in fault.allowed
    assert _names(layout(round_it))
