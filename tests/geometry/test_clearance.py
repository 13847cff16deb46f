"""Distances against plane geometry worked by hand: point to line, box to box."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from beltplan.geometry import shapes as clearance
from beltplan.geometry.loops import Loop, close_loop
from beltplan.geometry.vectors import Floats
from tests.for_each import for_each

OUTER, INNER = 2.0, 3.0


@pytest.fixture
def loop() -> Loop:
    """Two discs of 50 mm, 400 mm apart: strands along y = -50 (to the right) and y = 50 (to the left)."""
    return close_loop(np.array([[0.0, 0.0], [400.0, 0.0]]), np.array([50.0, 50.0]), np.ones(2))


def test_strand_to_disc_counts_from_the_belts_own_surface(loop: Loop) -> None:
    bodies = clearance.strand_bodies(loop, OUTER, INNER)
    centre = np.array([[200.0, 100.0], [200.0, 0.0], [200.0, -51.0]])
    gap = clearance.strand_to_disc(bodies, centre, np.array([20.0, 10.0, 5.0]))
    # Upper strand: outside face at y = 52, inside face at y = 47. Lower: -52 and -47.
    np.testing.assert_allclose(gap[1], [100.0 - 52.0 - 20.0, 47.0 - 10.0, 51.0 + 47.0 - 5.0])
    np.testing.assert_allclose(gap[0], [100.0 + 47.0 - 20.0, 47.0 - 10.0, -5.0])


def test_a_clockwise_loop_has_the_same_outside() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [400.0, 0.0]]), np.array([50.0, 50.0]), -np.ones(2))
    gap = clearance.strand_to_disc(
        clearance.strand_bodies(loop, OUTER, INNER), np.array([[200.0, 100.0]]), np.array([20.0])
    )
    assert gap.min() == pytest.approx(100.0 - 52.0 - 20.0)


def test_fixed_shapes(loop: Loop) -> None:
    bodies = clearance.strand_bodies(loop, OUTER, INNER)
    box = clearance.polygon([(100.0, 62.0), (120.0, 62.0), (120.0, 90.0), (100.0, 90.0)])
    through = clearance.polygon([(100.0, 0.0), (120.0, 0.0), (120.0, 90.0), (100.0, 90.0)])
    np.testing.assert_allclose(clearance.belt_to_shape(bodies, box), [62.0 + 47.0, 10.0])
    np.testing.assert_allclose(clearance.belt_to_shape(bodies, through), [47.0, 0.0])
    np.testing.assert_allclose(
        clearance.disc_to_shape(np.array([[110.0, 20.0], [110.0, 70.0]]), np.array([30.0, 30.0]), box), [12.0, -30.0]
    )


def test_a_round_shape_is_its_centre_less_its_radius(loop: Loop) -> None:
    """A disc of radius 30 at y = 103 over the strand's outer face y = 52."""
    bodies = clearance.strand_bodies(loop, OUTER, INNER)
    gap = float(clearance.belt_to_shape(bodies, clearance.point((200.0, 103.0)))[1]) - 30.0
    assert gap == pytest.approx(103.0 - 52.0 - 30.0, abs=1e-12)


def test_strand_to_strand(loop: Loop) -> None:
    bodies = clearance.strand_bodies(loop, OUTER, INNER)
    np.testing.assert_allclose(clearance.strand_to_strand(bodies, ((0, 1),)), [2.0 * 47.0])


def test_belt_on_a_pulley_is_drawn_within_its_chords(loop: Loop) -> None:
    """The belt on the right-hand disc reaches x = 450 + 2; a chord cuts in by r (1 - cos(step / 2)) at most."""
    arcs = clearance.arc_lines(loop, np.array([OUTER, OUTER]))
    post = clearance.polygon([(460.0, -5.0), (480.0, -5.0), (480.0, 5.0), (460.0, 5.0)])
    right = clearance.belt_to_shape(arcs, post)[1]
    cut = 52.0 * (1.0 - np.cos(np.pi / (clearance.ARC_POINTS - 1) / 2.0))
    assert 8.0 <= right <= 8.0 + cut


def test_strand_to_the_belt_on_another_pulley() -> None:
    """A third disc above the strand y = -50: its belt's lowest point, 20 mm above the strand's inner face."""
    loop = close_loop(np.array([[0.0, 0.0], [400.0, 0.0], [200.0, 0.0]]), np.array([50.0, 50.0, 27.0]), np.ones(3))
    own = clearance.strand_bodies(loop, OUTER, INNER)
    lowest = close_loop(np.array([[200.0, 0.0], [200.0, 300.0]]), np.array([27.0, 27.0]), np.ones(2))
    gap = clearance.belt_to_belt(own, 0, clearance.arc_lines(lowest, np.zeros(2)), 0)
    assert gap == pytest.approx(47.0 - 27.0, abs=27.0 * (np.pi / 94.0) ** 2)


def test_bodies_of_a_batch(loop: Loop) -> None:
    centre = np.stack([loop.centre, loop.centre + 7.0])
    bodies = clearance.strand_bodies(close_loop(centre, loop.radius, loop.sense), OUTER, INNER)
    gap = clearance.strand_to_disc(bodies, centre[:, :1] + np.array([200.0, 100.0]), np.array([20.0]))
    assert gap.shape == (2, 2, 1)
    np.testing.assert_allclose(gap[1], gap[0])


@pytest.mark.parametrize(
    ("corners", "good"),
    [
        ([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], True),
        ([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)], False),
        ([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], False),
        ([(0.0, 0.0), (10.0, 0.0)], False),
    ],
    ids=["square", "bow tie", "on one line", "two corners"],
)
def test_polygon_or_not(corners: list[tuple[float, float]], good: bool) -> None:
    assert clearance.is_polygon(corners) is good


def test_where_an_outline_crosses_itself() -> None:
    assert clearance.crossing_at(np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])) == (2.0, 2.0)
    assert clearance.crossing_at(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]])) is None


def star(count: int, noise: float, seed: int = 5, mean: float = 40.0, wave: float = 3.0) -> Floats:
    """A wavy outline round the origin with noise along its radius, so that it cannot cross itself."""
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    radius = mean + wave * np.sin(7.0 * angle) + np.random.default_rng(seed).normal(0.0, noise, count)
    return np.asarray(radius[:, None] * np.column_stack((np.cos(angle), np.sin(angle))))


@pytest.mark.parametrize("within", [0.05, 0.4])
def test_thinned_outlines_stay_near(within: float) -> None:
    """Nothing left out lies farther off than said: measured by shapely's Hausdorff distance."""
    outline = star(2_000, 0.05)
    left = clearance.thinned(outline, within)
    assert len(left) < 0.5 * len(outline)
    assert shapely.LinearRing(left).hausdorff_distance(shapely.LinearRing(outline)) <= within * (1.0 + 1e-9)
    assert {tuple(corner) for corner in left} <= {tuple(corner) for corner in outline}


@for_each("seed", range(40))
def test_what_thinning_takes_or_adds_is_no_farther_off_than_said(seed: int) -> None:
    """A law of every trace: corners, and edges (by areas), both ways; measured by shapely."""
    outline = star(1_500, 0.02, seed)
    left = clearance.thinned(outline, 0.05)
    assert 100 < len(left) < 0.5 * len(outline)
    assert shapely.distance(shapely.points(outline), shapely.LinearRing(left)).max() <= 0.05 * (1.0 + 1e-9)
    old, new = shapely.Polygon(outline), shapely.Polygon(left)
    assert (
        new.is_valid and old.buffer(0.0501, quad_segs=64).covers(new) and new.buffer(0.0501, quad_segs=64).covers(old)
    )


@for_each("seed", range(20))
@for_each(("noise", "within"), [(0.02, 0.1), (0.1, 0.4), (0.15, 0.2), (0.3, 0.8)])
def test_thinned_to_the_outside_loses_nothing(seed: int, noise: float, within: float) -> None:
    """Not a point of the area; and the gain is twice what is said at most."""
    outline = shapely.Polygon(star(1_500, noise, seed, 80.0, 6.0))
    left = shapely.Polygon(clearance.thinned(shapely.get_coordinates(outline)[:-1], within, outward=True))
    assert left.is_valid and left.covers(outline)
    assert outline.buffer(2.0 * within, quad_segs=64).covers(left)


def test_a_saw_of_sixty_thousand_teeth_comes_to_an_end() -> None:
    """Teeth of 5 mm every 0.01 mm, which shapely's own rule cannot hold on its stack: too many corners are left."""
    teeth = np.stack((0.005 * np.arange(60_000), 5.0 * (np.arange(60_000) % 2)), axis=-1)
    saw = np.concatenate((teeth, [[300.0, -50.0], [0.0, -50.0], [0.0, -1.0]]))
    assert len(clearance.thinned(saw, 0.05)) > 50_000 and len(clearance.thinned(saw, 0.8, outward=True)) > 50_000
    few = shapely.Polygon(np.concatenate((teeth[:1_000], [[5.0, -50.0], [0.0, -50.0]])))
    filled = shapely.Polygon(clearance.thinned(shapely.get_coordinates(few)[:-1], 0.8, outward=True))
    assert filled.covers(few) and shapely.get_num_coordinates(filled) < 50


@for_each("seed", range(10))
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
    assert clearance.outermost(outlines) == expected


def test_a_line_inside_an_outline() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    lines = [np.array([[1.0, 1.0], [3.0, 3.0]]), np.array([[1.0, 1.0], [5.0, 3.0]]), np.array([[0.0, 0.0], [4.0, 0.0]])]
    assert clearance.are_inside(lines, square).tolist() == [True, False, True]
    assert clearance.are_inside(lines, square[[0, 2, 1, 3]]).tolist() == [False, False, False]
    assert clearance.are_inside([], square).tolist() == []
    assert clearance.hull_area(np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])) == 16.0
    assert clearance.hull_area(np.array([[0.0, 0.0], [4.0, 4.0], [1.0, 1.0]])) == 0.0
