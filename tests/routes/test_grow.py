"""Growing part routes: the order that is kept, the beam, and what makes a route."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.geometry.vectors import Ints
from beltplan.routes import stations
from beltplan.routes.stations import Field, are_routes, field_of, grow, in_order, stations_of
from tests.checks.drives import layout, pulley
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
