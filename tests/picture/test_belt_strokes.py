"""The belt of a picture lies where the loop says."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from shapely import Polygon

from beltplan.drive.route import Route
from beltplan.picture.scene import Scene, Shape, Stroke, View
from beltplan.picture.strokes import Drawn, belt_items
from tests.for_each import for_each
from tests.picture.drives import BUILT, railcar, two_pulleys

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
