"""Outlines: sound ones, thinned ones, those within others; measured by shapely itself or worked by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely

from beltplan.geometry import shapes
from beltplan.geometry.loops import arc_points, close_loop, outline
from beltplan.geometry.shapes import flooded, walked
from beltplan.geometry.vectors import Floats, norm
from tests.for_each import for_each, mostly_long
from tests.geometry.random_loops import sound_mixed


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


# A walk along a chain: what is left out lies on the chords, measured by shapely, and little enough is left.


SEED = 91


def _off(points: Floats, kept: Floats) -> float:
    """The farthest that a point left out lies off the chord over it."""
    at = [int(np.flatnonzero((points == corner).all(axis=1))[0]) for corner in kept]
    parts = [(points[i : j + 1], shapely.LineString(points[[i, j]])) for i, j in pairwise(at)]
    return max(float(shapely.distance(shapely.points(part), chord).max()) for part, chord in parts)


@for_each(0.0, 0.02, 0.3, 5.0)
@for_each(0.01, 0.1, 1.0)
def test_nothing_left_out_lies_off_its_chord(rng: np.random.Generator, noise: float, within: float) -> None:
    """Smooth, noisy and quite wild chains, which turn back on themselves."""
    for _ in range(10):
        angle = np.sort(rng.uniform(0.0, 5.0, 300))
        points = 30.0 * np.stack((np.cos(angle), np.sin(angle)), axis=-1) + rng.normal(0.0, noise, (300, 2))
        kept = walked(points, within)
        assert _off(points, kept) <= within * (1.0 + 1e-9)
        np.testing.assert_array_equal(kept[[0, -1]], points[[0, -1]])


def test_a_smooth_arc_keeps_no_more_than_twice_what_it_must() -> None:
    """A chord of a circle leaves it by r (1 - cos(half)); so many chords there must be."""
    angle = np.linspace(0.0, np.pi, 20_001)
    kept = walked(100.0 * np.stack((np.cos(angle), np.sin(angle)), axis=-1), 0.02)
    least = np.pi / (2.0 * np.arccos(1.0 - 0.02 / 100.0))
    assert least <= len(kept) - 1 <= 2.0 * least


def test_a_straight_row_keeps_its_ends_and_a_turn_back_its_tip() -> None:
    out = np.stack((np.linspace(0.0, 9.0, 50), np.zeros(50)), axis=-1)
    assert walked(out, 0.1).tolist() == [[0.0, 0.0], [9.0, 0.0]]
    there_and_back = np.concatenate((out, out[-2::-1]))
    assert walked(there_and_back, 0.1).tolist()[1] == [9.0, 0.0]


def test_short_chains() -> None:
    assert walked(np.zeros((1, 2)), 0.1).tolist() == [[0.0, 0.0]]
    assert walked(np.array([[0.0, 0.0], [0.01, 0.0]]), 0.1).tolist() == [[0.0, 0.0], [0.01, 0.0]]


def test_only_what_keeps_more_corners_than_can_be_thinned_is_too_much() -> None:
    """More than 10,000 are never given on: frozen, our own. Tall teeth keep them all, a straight row only its ends."""
    across = np.arange(10_001.0)
    teeth, row = (np.stack((across, tall * (across % 2.0)), axis=-1) for tall in (50.0, 0.0))
    assert [flooded(each, 1.0) for each in (teeth[:-1], teeth, row)] == [0, 10_001, 0]


# The drawn outline against shapely and the exact length.


@pytest.mark.parametrize("step", [0.05, 0.01])
def test_outline_is_as_long_as_the_loop_but_for_its_chords(step: float) -> None:
    """A chord is shorter than its arc by a share of step^2 / 24 at most; measured with shapely."""
    circles = sound_mixed(4, 20)
    for k in range(len(circles.radius)):
        loop = close_loop(circles.centre[k], circles.radius[k], circles.sense[k])
        short_by = float(loop.length) - shapely.length(shapely.LinearRing(outline(loop, step)))
        on_arcs = float(np.sum(loop.wrap * loop.radius))
        assert 0.0 < short_by <= on_arcs * step**2 / 24.0 + 1e-9


def test_outline_of_two_equal_discs_bounds_a_rectangle_and_a_disc() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([40.0, 40.0]), np.ones(2))
    area = shapely.Polygon(outline(loop, 0.002)).area
    assert area == pytest.approx(300.0 * 80.0 + np.pi * 40.0**2, rel=1e-5)
    assert shapely.LinearRing(outline(loop)).is_ccw


def test_arc_runs_from_contact_to_contact_in_the_direction_of_travel() -> None:
    circles = sound_mixed(4, 5)
    loop = close_loop(circles.centre[0], circles.radius[0], circles.sense[0])
    for i in range(6):
        points = arc_points(loop, i, 0.05)
        np.testing.assert_allclose(points[0], loop.arrival[i], atol=1e-9)
        np.testing.assert_allclose(points[-1], loop.start[i], atol=1e-9)
        np.testing.assert_allclose(norm(points - loop.centre[i]), loop.radius[i])
        assert norm(np.diff(points, axis=0)).max() <= 0.05 * loop.radius[i] + 1e-9
