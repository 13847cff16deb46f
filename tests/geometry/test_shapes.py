"""Outlines: sound ones, thinned ones, those within others; measured by shapely itself or worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from beltplan.geometry import shapes
from beltplan.geometry.vectors import Floats
from tests.for_each import for_each, mostly_long


@for_each(
    ([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], True),
    ([(0.0, 0.0), (0.4, 0.0), (0.4, 0.4)], True),
    ([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)], False),
    ([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], False),
    ([(0.0, 0.0), (10.0, 0.0)], False),
    ids=["square", "less than a square millimetre", "bow tie", "on one line", "two corners"],
)
def test_polygon_or_not(corners: list[tuple[float, float]], good: bool) -> None:
    assert shapes.is_polygon(corners) is good


def test_where_an_outline_crosses_itself() -> None:
    assert shapes.crossing_at(np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])) == (2.0, 2.0)
    assert shapes.crossing_at(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]])) is None


def star(count: int, noise: float, seed: int = 5, mean: float = 40.0, wave: float = 3.0) -> Floats:
    """A wavy outline round the origin with noise along its radius, so that it cannot cross itself."""
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    radius = mean + wave * np.sin(7.0 * angle) + np.random.default_rng(seed).normal(0.0, noise, count)
    return np.asarray(radius[:, None] * np.column_stack((np.cos(angle), np.sin(angle))))


@pytest.mark.parametrize("within", [0.05, 0.4])
def test_thinned_outlines_stay_near(within: float) -> None:
    """Nothing left out lies farther off than said: measured by shapely's Hausdorff distance."""
    outline = star(2_000, 0.05)
    left = shapes.thinned(outline, within)
    assert len(left) < 0.5 * len(outline)
    assert shapely.LinearRing(left).hausdorff_distance(shapely.LinearRing(outline)) <= within * (1.0 + 1e-9)
    assert {tuple(corner) for corner in left} <= {tuple(corner) for corner in outline}


@for_each(*range(40))
def test_what_thinning_takes_or_adds_is_no_farther_off_than_said(seed: int) -> None:
    """A law of every trace: corners, and edges (by areas), both ways; measured by shapely."""
    outline = star(1_500, 0.02, seed)
    left = shapes.thinned(outline, 0.05)
    assert 100 < len(left) < 0.5 * len(outline)
    assert shapely.distance(shapely.points(outline), shapely.LinearRing(left)).max() <= 0.05 * (1.0 + 1e-9)
    old, new = shapely.Polygon(outline), shapely.Polygon(left)
    assert (
        new.is_valid and old.buffer(0.0501, quad_segs=64).covers(new) and new.buffer(0.0501, quad_segs=64).covers(old)
    )


@pytest.mark.parametrize("part", mostly_long(range(4), 0))
@for_each(*range(5))
@for_each((0.02, 0.1), (0.1, 0.4), (0.15, 0.2), (0.3, 0.8))
def test_thinned_to_the_outside_loses_nothing(part: int, seed: int, noise: float, within: float) -> None:
    """Not a point of the area; and the gain is twice what is said at most."""
    outline = shapely.Polygon(star(1_500, noise, 5 * part + seed, 80.0, 6.0))
    left = shapely.Polygon(shapes.thinned(shapely.get_coordinates(outline)[:-1], within, outward=True))
    assert left.is_valid and left.covers(outline)
    assert outline.buffer(2.0 * within, quad_segs=64).covers(left)


def test_a_saw_of_sixty_thousand_teeth_comes_to_an_end() -> None:
    """Teeth of 5 mm every 0.01 mm, which shapely's own rule cannot hold on its stack: too many corners are left."""
    teeth = np.stack((0.005 * np.arange(60_000), 5.0 * (np.arange(60_000) % 2)), axis=-1)
    saw = np.concatenate((teeth, [[300.0, -50.0], [0.0, -50.0], [0.0, -1.0]]))
    assert len(shapes.thinned(saw, 0.05)) > 50_000 and len(shapes.thinned(saw, 0.8, outward=True)) > 50_000
    few = shapely.Polygon(np.concatenate((teeth[:1_000], [[5.0, -50.0], [0.0, -50.0]])))
    filled = shapely.Polygon(shapes.thinned(shapely.get_coordinates(few)[:-1], 0.8, outward=True))
    assert filled.covers(few) and shapely.get_num_coordinates(filled) < 50


@for_each(*range(10))
def test_outermost_outlines(seed: int) -> None:
    """Against shapely's own test of one area within another, pair by pair."""
    dice = np.random.default_rng(seed)
    boxes = [
        shapely.box(x, y, x + w, y + h)
        for x, y, w, h in zip(*dice.integers(0, 12, (2, 25)), *dice.integers(1, 9, (2, 25)), strict=True)
    ]
    outlines = [np.array(box.exterior.coords)[:-1] for box in boxes]
    expected = [
        i
        for i, box in enumerate(boxes)
        if not any(
            other.covers(box) and (j < i or not box.covers(other)) for j, other in enumerate(boxes) if j != i
        )
    ]  # fmt: skip
    assert shapes.outermost(outlines) == expected


def test_a_line_inside_an_outline() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    lines = [np.array([[1.0, 1.0], [3.0, 3.0]]), np.array([[1.0, 1.0], [5.0, 3.0]]), np.array([[0.0, 0.0], [4.0, 0.0]])]
    assert shapes.are_inside(lines, square).tolist() == [True, False, True]
    assert shapes.are_inside(lines, square[[0, 2, 1, 3]]).tolist() == [False, False, False]
    lobe = np.array([[3.5, 2.0], [3.5, 2.5]])
    assert shapes.are_inside([lobe], square[[0, 2, 1, 3]]).tolist() == [False], "nothing lies in what crosses itself"
    assert shapes.are_inside([], square).tolist() == []
    assert shapes.hull_area(np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])) == 16.0
    assert shapes.hull_area(np.array([[0.0, 0.0], [4.0, 4.0], [1.0, 1.0]])) == 0.0
