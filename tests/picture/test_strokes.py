"""The belt of a picture lies where the loop says."""

from collections.abc import Callable

import numpy as np
import pytest
from shapely import Polygon

from beltplan.drive.route import Route
from beltplan.picture.chart import chain_length, contour_chains, outline_chains
from beltplan.picture.framing import obstacle_outline
from beltplan.picture.scene import Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn, belt_items, pulley_items
from tests.for_each import for_each
from tests.picture.drives import BUILT, railcar, reversed_railcar, two_pulleys

ROUTES = list(BUILT.values())


def strokes(route: Route, kind: str) -> dict[str, Stroke]:
    return {i.name: i for i in belt_items(Drawn(route, View())) if isinstance(i, Stroke) and i.name.startswith(kind)}


@for_each(*ROUTES)
def test_spans_run_between_the_contact_points(make: Callable[[], Route]) -> None:
    route = make()
    for i, (a, b) in enumerate(route.spans):
        stroke = strokes(route, "span ")[f"span {a.name} to {b.name}"]
        np.testing.assert_allclose(stroke.points[0], route.loop.start[i], rtol=0.0, atol=1e-9)
        np.testing.assert_allclose(stroke.points[-1], route.loop.end[i], rtol=0.0, atol=1e-9)


@for_each(*ROUTES)
def test_spans_are_tangents(make: Callable[[], Route]) -> None:
    """A tangent touches its circle at the radius, at a right angle to it. Source: Euclid, Elements III.18."""
    route = make()
    for i, stroke in enumerate(strokes(route, "span ").values()):
        along = stroke.points[1] - stroke.points[0]
        for end, index in ((0, i), (1, (i + 1) % len(route.pulleys))):
            spoke = stroke.points[end] - route.loop.centre[index]
            assert np.hypot(*spoke) == pytest.approx(route.loop.radius[index], abs=1e-9)
            assert float(spoke @ along) == pytest.approx(0.0, abs=1e-6)


@for_each(*ROUTES)
def test_arcs_join_the_spans(make: Callable[[], Route]) -> None:
    route = make()
    pieces = strokes(route, "arc ")
    for i, pulley in enumerate(route.pulleys):
        points = pieces[f"arc {pulley.name}"].points
        np.testing.assert_allclose(points[0], route.loop.end[i - 1], rtol=0.0, atol=1e-9)
        np.testing.assert_allclose(points[-1], route.loop.start[i], rtol=0.0, atol=1e-9)


@for_each(*ROUTES)
def test_band_has_the_area_of_its_thickness_and_length(make: Callable[[], Route]) -> None:
    """Area between parallel curves = thickness x length half way. Source: Steiner's formula; areas by shapely."""
    route = make()
    outer, inner = Drawn(route, View()).band
    edges = [i for i in belt_items(Drawn(route, View())) if isinstance(i, Shape) and i.name == "belt edge"]
    areas = [Polygon(edge.rings[0]).area for edge in edges]
    middle = float(route.loop.length) + np.pi * (outer - inner)
    assert max(areas) - min(areas) == pytest.approx((outer + inner) * middle, rel=2e-3)
    assert Polygon(edges[0].rings[0]).is_valid


@pytest.mark.parametrize("make", [railcar, two_pulleys])
def test_band_is_as_thick_as_the_belt_where_that_can_be_seen(make: Callable[[], Route]) -> None:
    belt = make().layout.belt
    assert Drawn(make(), View(2.0)).band == pytest.approx((2.0 * belt.outer_mm, 2.0 * belt.inner_mm))
    assert sum(Drawn(make(), View(0.1)).band) > 0.1 * belt.profile.thickness_mm


def test_arrows_of_travel_are_few_and_no_wedges() -> None:
    """A belt drawn 40 mm thick on a span of a metre: common sense, no source."""
    drawn = Drawn(railcar(), View(8.0))
    assert sum(drawn.band) > drawn.arrow
    heads = [item for item in belt_items(drawn) if item.name.startswith("travel ")]
    assert len(heads) <= 3 * len(drawn.route.pulleys)
    rings = [item.rings[0] for item in heads if isinstance(item, Shape)]
    assert all(np.hypot(*(ring[0] - 0.5 * (ring[1] + ring[2]))) <= 26.0 + 1e-9 for ring in rings)


@for_each(*ROUTES)
def test_arrows_point_along_the_belt_travel(make: Callable[[], Route]) -> None:
    route = make()
    scene = Scene((0.0, 0.0, 1.0, 1.0), tuple(belt_items(Drawn(route, View()))))
    drawn = 0
    for i, (a, b) in enumerate(route.spans):
        for head in scene.named(f"travel {a.name} to {b.name}"):
            assert isinstance(head, Shape)
            tip, left, right = head.rings[0]
            assert float((tip - 0.5 * (left + right)) @ (route.loop.end[i] - route.loop.start[i])) > 0.0
            drawn += 1
    assert drawn > 0


# Pulleys of a picture: to scale, turning the right way, with the arc of contact where the belt touches.


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
        counter = route.layout.turns_of(pulley) == "counterclockwise"
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


# Contours against plane geometry: the level line of a distance is a circle.


X, Y = np.linspace(-10.0, 10.0, 201), np.linspace(-8.0, 8.0, 161)
AWAY = np.hypot(*np.meshgrid(X, Y))


def test_a_level_line_of_distance_is_a_circle() -> None:
    (chain,) = contour_chains(X, Y, AWAY, 5.0)
    np.testing.assert_allclose(np.hypot(*chain.T), 5.0, atol=1e-3)
    assert chain_length(chain) == pytest.approx(2.0 * np.pi * 5.0, rel=1e-3)


def test_no_line_through_what_is_not_known() -> None:
    (chain,) = contour_chains(X, Y, np.where(np.meshgrid(X, Y)[0] > 0.0, AWAY, np.nan), 5.0)
    assert chain[:, 0].min() > 0.0
    assert chain_length(chain) == pytest.approx(np.pi * 5.0, rel=0.02)


@pytest.mark.parametrize("level", [-1.0, 99.0])
def test_a_level_that_is_not_reached_has_no_line(level: float) -> None:
    assert contour_chains(X, Y, AWAY, level) == []
    assert contour_chains(X, Y, np.full(AWAY.shape, np.nan), level) == []


def test_a_region_that_reaches_the_edge_is_closed() -> None:
    (chain,) = outline_chains(X, Y, np.ones(AWAY.shape, dtype=bool))
    np.testing.assert_allclose(chain[0], chain[-1])
    # Half a step of 0.1 beyond the grid on every side.
    assert np.ptp(chain[:, 0]) == pytest.approx(20.0 + 0.1) and np.ptp(chain[:, 1]) == pytest.approx(16.0 + 0.1)


def test_the_longest_line_comes_first() -> None:
    two = np.minimum(np.hypot(np.meshgrid(X, Y)[0] - 5.0, np.meshgrid(X, Y)[1]) + 1.0, AWAY + 0.0)
    lengths = [chain_length(chain) for chain in contour_chains(X, Y, two, 2.0)]
    assert len(lengths) == 2 and lengths == sorted(lengths, reverse=True)
