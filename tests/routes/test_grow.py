"""Growing part routes: the order that is kept, the beam, and what makes a route."""

from dataclasses import replace
from itertools import permutations
from typing import Any

import numpy as np
import pytest

from beltplan.drive.belt import Belt
from beltplan.drive.layout import Layout
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Turns
from beltplan.geometry.vectors import Ints
from beltplan.routes import stations
from beltplan.routes.stations import Field, allowed_sides, are_routes, field_of, grow, impossible, in_order, stations_of
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each
from tests.routes.drives import scattered

FREE = -1


def field(given: Layout) -> Field:
    """The field of a layout."""
    return field_of(stations_of(given))


def free(of: Field) -> Ints:
    """No order to keep."""
    return np.full(len(of.stations.of), FREE)


def test_an_order_is_kept_either_way_round() -> None:
    """Reference: every turn of 0 1 2 3 4 and of its reverse, written out."""
    kept = tuple(range(5))
    wanted = {kept[i:] + kept[:i] for i in kept}
    wanted |= {order[::-1] for order in wanted}
    for order in permutations(kept):
        assert in_order(np.array([order]))[0] == (order in wanted)


def test_pulleys_between_and_pulleys_missing_do_not_matter() -> None:
    assert in_order(np.array([[FREE, 2, FREE, 3, 0, FREE, 1], [FREE, 3, 1, FREE, 0, 2, FREE]])).tolist() == [
        True,
        False,
    ]
    assert in_order(np.array([[4, 2, 1], [0, 3, 4], [FREE, FREE, FREE], [FREE, 3, FREE]])).all()


def test_a_part_of_an_order_kept_is_in_order() -> None:
    """So that a part route may be dropped as soon as it is not."""
    order = np.array([3, 4, 0, 1, 2])
    assert all(in_order(order[None, :size])[0] for size in range(1, 6))


def test_every_route_grown_is_a_route_and_the_driver_comes_first() -> None:
    of = field(scattered(4, 6, open_sides=2, optional=1, size=0.2))
    every, exhaustive = grow(of, free(of))
    found = [routes for routes in every if len(routes)]
    assert found and exhaustive
    for routes in found:
        assert are_routes(of, routes).all() and (routes[:, 0] == 0).all()
        assert len(np.unique(routes, axis=0)) == len(routes)


def test_a_beam_finds_some_of_the_routes(monkeypatch: pytest.MonkeyPatch) -> None:
    of = field(scattered(8, 9, open_sides=2, size=0.3))
    whole = {tuple(route) for routes in grow(of, free(of))[0] for route in routes.tolist()}
    monkeypatch.setattr(stations, "MOST_GROWING", 30)
    assert grow(of, free(of))[1], "a beam that holds everything drops nothing"
    monkeypatch.setattr(stations, "BEAM_WIDTH", 20)
    narrow, exhaustive = grow(of, free(of))
    beam = {tuple(route) for routes in narrow for route in routes.tolist()}
    assert not exhaustive and beam <= whole


def test_a_span_through_a_rim_makes_no_route() -> None:
    """Three in a row, the middle one of radius 70: where the belt goes round its lower side, the upper span, at
    y = 50, cuts through it.
    """
    row = layout(pulley("a", "crankshaft", 0, 0), pulley("m", "fan", 300, 0, 140), pulley("b", "fan", 600, 0))
    of = field(row)
    assert not are_routes(of, np.array([[0, 1, 2], [0, 2, 1]])).any()
    assert not any(len(routes) for routes in grow(of, free(of))[0])


def test_two_pulleys_make_one_route() -> None:
    of = field(layout(pulley("a", "crankshaft", 0, 0), pulley("b", "fan", 300, 0)))
    assert [routes.tolist() for routes in grow(of, free(of))[0]] == [[[0, 1]]]


# Sides that work and surface allow, and what lies between pulleys on them. Distances are plane geometry.


BOTH, RIBBED, BACK = ("ribbed", "back"), ("ribbed",), ("back",)
SIDES = [
    ({"role": "fan"}, RIBBED),
    ({"role": "fan", "belt_side": "back"}, BACK),
    ({"role": "fan", "turns": "either", "belt_side": "back"}, BACK),
    ({"role": "fan", "turns": "clockwise"}, RIBBED),
    ({"role": "fan", "turns": "counterclockwise"}, BACK),
    ({"role": "fan", "turns": "clockwise", "belt_side": "back"}, RIBBED),
    ({"role": "fan", "turns": "counterclockwise", "grooves": 6}, ()),
    ({"role": "fan", "turns": "clockwise", "grooves": 6}, RIBBED),
    ({"role": "idler", "belt_side": "back", "side_open": True}, BOTH),
    ({"role": "idler", "side_open": True, "turns": "clockwise"}, RIBBED),
    ({"role": "idler", "belt_side": "back"}, BACK),
]


@for_each(*SIDES)
def test_sides(given: dict[str, Any], sides: tuple[str, ...]) -> None:
    """A clockwise crankshaft on the ribs: ribbed pulleys turn clockwise, those on the back the other way."""
    near = pulley("near", x=300, y=0, **given)
    whole = layout(pulley("crank", "crankshaft", 0, 0), near)
    assert allowed_sides(whole, whole.pulleys["near"]) == sides
    turned: dict[Turns | None, Turns] = {"clockwise": "counterclockwise", "counterclockwise": "clockwise"}
    swapped = replace(near, turns=turned.get(near.turns, near.turns))
    other = layout(pulley("crank", "crankshaft", 0, 0), swapped, rotation="counterclockwise")
    assert allowed_sides(other, other.pulleys["near"]) == sides


def test_a_pulley_without_a_side_is_told_with_the_reason() -> None:
    grooved = layout(
        pulley("crank", "crankshaft", 0, 0), pulley("p", "fan", 300, 0, turns="counterclockwise", grooves=6)
    )
    (fault,) = impossible(grooved)
    assert fault.pulleys == ("p",) and "counterclockwise" in fault.got and "6 grooves" in fault.got
    unknown = replace(two(), belt=Belt(PROFILES["A"]))
    assert unknown.belt.back_mm is None
    turning = replace(
        unknown, pulleys={**unknown.pulleys, "far": replace(unknown.pulleys["far"], turns="counterclockwise")}
    )
    (fault,) = impossible(turning)
    assert "whose height is not known" in fault.got
    assert impossible(two()) == ()


def test_a_pulley_on_either_side_has_two_stations() -> None:
    given = layout(pulley("i", "idler", 300, 0, belt_side="back", side_open=True), pulley("crank", "crankshaft", 0, 0))
    given = replace(given, pulleys={n: replace(p, drives=n == "crank") for n, p in given.pulleys.items()})
    stations = stations_of(given)
    assert stations.names == ("crank", "i") and stations.of.tolist() == [0, 1, 1]
    assert [p.belt_side for p in stations.pulleys] == ["ribbed", "ribbed", "back"]
    assert stations.sense.tolist() == [-1.0, -1.0, 1.0] and not any(p.side_open for p in stations.pulleys)
    assert not field_of(stations).free[1, 2]


def test_a_span_through_a_needed_pulley_is_not_free() -> None:
    """Equal pulleys on a line: the span at y = 50 passes one of radius 30, and cuts one of radius 70 whose rim is at
    69.8 mm (0.385 / 2 under the effective radius of a PK pulley).
    """
    for diameter, cut in ((60.0, False), (140.0, True)):
        row = layout(pulley("a", "crankshaft", 0, 0), pulley("m", "fan", 300, 0, diameter), pulley("b", "fan", 600, 0))
        of = field_of(stations_of(row))
        assert bool(of.cuts[0, 2, 1]) == cut and bool(of.free[0, 2]) != cut
        spare = replace(row, pulleys={**row.pulleys, "m": replace(row.pulleys["m"], optional=True)})
        assert field_of(stations_of(spare)).free[0, 2], "a pulley that may be left out bars no span by itself"


def test_rims_that_overlap_clash() -> None:
    """Rims of 49.81 mm radius: 99 mm apart they overlap, 100 mm apart they do not."""
    for apart, clash in ((99.0, True), (100.0, False)):
        of = field_of(stations_of(two(apart)))
        assert of.clash.tolist() == [[False, clash], [clash, False]]
        assert np.array_equal(of.free, [[False, not clash], [not clash, False]])
