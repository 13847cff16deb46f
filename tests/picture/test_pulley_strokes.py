"""Pulleys of a picture: to scale, turning the right way, with the arc of contact where the belt touches."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from beltplan.drive.route import Route, turning_sense
from beltplan.picture.framing import obstacle_outline
from beltplan.picture.scene import Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn, pulley_items
from tests.for_each import for_each
from tests.picture.drives import BUILT, railcar, reversed_railcar

ROUTES = list(BUILT.values())


def drawn(route: Route, index: int) -> Scene:
    return Scene((0.0, 0.0, 1.0, 1.0), tuple(pulley_items(Drawn(route, View()), index)))


def swept(points: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
    """Signed area that a chain of points sweeps round the origin, twice: positive counter-clockwise (shoelace)."""
    x, y = points.T
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


@for_each(*ROUTES)
def test_turning_arrows_go_the_way_the_pulley_turns(make: Callable[[], Route]) -> None:
    route = make()
    for i, pulley in enumerate(route.pulleys):
        shaft, head = drawn(route, i).named(f"turning {pulley.name}")
        assert isinstance(shaft, Stroke) and isinstance(head, Shape)
        counter = turning_sense(route, pulley) == "counterclockwise"
        assert (swept(shaft.points - route.loop.centre[i]) > 0.0) == counter
        tip, left, right = head.rings[0] - route.loop.centre[i]
        assert (swept(np.stack((0.5 * (left + right), tip))) > 0.0) == counter


@pytest.mark.parametrize(("make", "driver"), [(railcar, "clockwise"), (reversed_railcar, "counterclockwise")])
def test_inside_turns_with_the_engine_and_outside_against_it(make: Callable[[], Route], driver: str) -> None:
    """Pulleys on the belt's back turn the other way. Source: common practice, no source."""
    route = make()
    for i, pulley in enumerate(route.pulleys):
        shaft = drawn(route, i).named(f"turning {pulley.name}")[0]
        assert isinstance(shaft, Stroke)
        clockwise = swept(shaft.points - route.loop.centre[i]) < 0.0
        assert clockwise == ((driver == "clockwise") != pulley.on_back)


@for_each(*ROUTES)
def test_rims_are_to_scale(make: Callable[[], Route]) -> None:
    route = make()
    for i, pulley in enumerate(route.pulleys):
        (rim,) = drawn(route, i).named(f"rim {pulley.name}")
        assert isinstance(rim, Shape)
        away = np.hypot(*(rim.rings[0] - route.loop.centre[i]).T)
        np.testing.assert_allclose(away, pulley.rim_radius_mm(route.layout.belt), atol=1e-9)


@for_each(*ROUTES)
def test_contact_arc_covers_the_wrap(make: Callable[[], Route]) -> None:
    route = make()
    for i, pulley in enumerate(route.pulleys):
        contact = drawn(route, i).named(f"contact {pulley.name}")[0]
        assert isinstance(contact, Stroke)
        away = contact.points - route.loop.centre[i]
        angles = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
        assert abs(angles[-1] - angles[0]) == pytest.approx(route.loop.wrap[i], abs=1e-9)


def test_only_grooved_pulleys_have_a_groove_ring() -> None:
    route = railcar()
    for i, pulley in enumerate(route.pulleys):
        assert bool(drawn(route, i).named(f"grooves {pulley.name}")) == (pulley.belt_side == "ribbed")


def test_obstacles_keep_their_outline() -> None:
    hose, head = railcar().layout.obstacles
    np.testing.assert_allclose(np.hypot(*(obstacle_outline(hose) - (260.0, 120.0)).T), 15.0)
    assert obstacle_outline(head).tolist() == [[-60.0, 330.0], [60.0, 330.0], [60.0, 380.0], [-60.0, 380.0]]
