"""The layout with its belt on: which belt is judged, and where it puts everything."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import line_length_mm, parse_designation
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.route import NoBeltPath, Route, route_of, routes_of
from tests.drive.drives import fixed, layout, on_slide, pulley, railcar, with_belt, with_pulley


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
    assert [(f.designation, f.judged) for f in route.stock] == [("6PK915", "marginal"), ("6PK910", "marginal")]
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
