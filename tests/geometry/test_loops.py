"""Laws of closed loops over random layouts. Each law is plane geometry; outside answers come from shapely."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.differentiate import derivative

from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import after, before, close_loop, length_by_centre, length_by_motion, overlap
from beltplan.geometry.vectors import TURN, Floats, from_angle, left_normal, norm
from tests.for_each import for_each
from tests.geometry.random_loops import Circles, anyhow, is_simple, mixed, ring, sound_mixed

SEEDS = st.integers(0, 2**32 - 3)
FEW = settings(max_examples=15)


def _turn_by(points: Floats, angle: float) -> Floats:
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]))


@FEW
@given(SEEDS, st.integers(2, 6))
def test_signed_wraps_of_a_simple_loop_sum_to_one_turn(seed: int, n: int) -> None:
    """Hopf's theorem of turning tangents: a simple closed curve turns by 2 pi, one way or the other."""
    for circles in (mixed(seed, 200, n), anyhow(seed, 1000, n)):
        simple = circles.where(is_simple(circles.loop))
        assert simple.radius.size
        np.testing.assert_allclose(np.abs(np.sum(simple.sense * simple.loop.wrap, axis=-1)), TURN, atol=1e-9)


@FEW
@given(SEEDS, st.floats(-7.0, 7.0), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_turning_and_shifting_change_nothing(seed: int, angle: float, x: float, y: float) -> None:
    circles = sound_mixed(seed, 100)
    moved = close_loop(_turn_by(circles.centre, angle) + np.array([x, y]), circles.radius, circles.sense)
    np.testing.assert_allclose(moved.span, circles.loop.span, atol=1e-8)
    np.testing.assert_allclose(moved.wrap, circles.loop.wrap, atol=1e-10)
    assert is_sound(moved, 1.0).all()


@FEW
@given(SEEDS)
def test_mirror_keeps_lengths_and_turns_the_loop_round(seed: int) -> None:
    circles = sound_mixed(seed, 100)
    mirror = circles.mirrored()
    np.testing.assert_allclose(mirror.loop.span, circles.loop.span, rtol=1e-12)
    np.testing.assert_allclose(mirror.loop.wrap, circles.loop.wrap, atol=1e-12)
    np.testing.assert_allclose(mirror.loop.turns, -1.0, atol=1e-12)
    assert is_sound(mirror.loop, -1.0).all()


@FEW
@given(SEEDS, st.floats(0.01, 100.0))
def test_scaling_scales_lengths_and_keeps_wraps(seed: int, scale: float) -> None:
    circles = sound_mixed(seed, 100)
    bigger = close_loop(scale * circles.centre, scale * circles.radius, circles.sense)
    np.testing.assert_allclose(bigger.length, scale * circles.loop.length, rtol=1e-12)
    np.testing.assert_allclose(bigger.wrap, circles.loop.wrap, atol=1e-11)


@FEW
@given(SEEDS)
def test_the_same_loop_run_backward_has_the_same_spans_and_arcs(seed: int) -> None:
    circles = sound_mixed(seed, 100)
    back = close_loop(circles.centre[:, ::-1], circles.radius[:, ::-1], -circles.sense[:, ::-1])
    np.testing.assert_allclose(back.length, circles.loop.length, rtol=1e-13)
    np.testing.assert_allclose(back.wrap[:, ::-1], circles.loop.wrap, atol=1e-11)
    # Span i of the listed order is the one before circle i when run backward.
    np.testing.assert_allclose(back.span[:, ::-1], np.roll(circles.loop.span, 1, axis=-1), rtol=1e-12)


@FEW
@given(SEEDS, st.floats(0.1, 10.0))
def test_parallel_curve_is_longer_by_two_pi_b_whatever_the_sides(seed: int, b: float) -> None:
    """Steiner's formula for parallel curves: L(b) - L = 2 pi b, as long as both stay simple."""
    circles = sound_mixed(seed, 100)
    outer = Circles(circles.centre, circles.radius + b * circles.sense * circles.turning, circles.sense, 1.0)
    both = is_sound(outer.loop, 1.0)
    assert both.mean() > 0.5
    np.testing.assert_allclose((outer.loop.length - circles.loop.length)[both], TURN * b, atol=1e-9)


@for_each(2, 3, 5, 7)
def test_length_is_the_convex_hull_of_the_discs(n: int) -> None:
    """Shapely's convex hull of finely drawn discs, for loops with every disc inside.

    A disc is drawn as an inscribed polygon of step h; it holds all but a margin of r (1 - cos(h / 2)), so the hull's
    perimeter is too short by 2 pi times the largest margin at most, and never too long (both by convexity).
    """
    pieces = 256
    circles = ring(n, 60, n)
    circles = circles.where(circles.sound)
    margin = circles.radius.max(axis=-1) * (1.0 - np.cos(np.pi / (4 * pieces)))
    discs = shapely.buffer(shapely.points(circles.centre), circles.radius, quad_segs=pieces)
    hull = shapely.length(shapely.convex_hull(shapely.union_all(discs, axis=-1)))
    short_by = circles.loop.length - hull
    assert len(hull) > 20
    assert (short_by > -1e-9).all()
    assert (short_by < TURN * margin + 1e-9).all()
    assert TURN * margin.max() < 2e-3


def test_contact_points_lie_on_both_circles_and_spans_touch_square() -> None:
    circles = sound_mixed(3)
    loop, nxt = circles.loop, after(6)
    np.testing.assert_allclose(norm(loop.start - loop.centre), loop.radius, rtol=1e-12)
    np.testing.assert_allclose(norm(loop.end - loop.centre[:, nxt]), loop.radius[:, nxt], rtol=1e-12)
    np.testing.assert_allclose(norm(loop.end - loop.start), loop.span, rtol=1e-11)
    np.testing.assert_allclose(np.sum((loop.start - loop.centre) * loop.direction, axis=-1), 0.0, atol=1e-9)


@FEW
@given(SEEDS, st.sampled_from([(), (1,), (4,), (2, 3), (3, 1, 2)]))
def test_a_batch_equals_its_members_to_the_last_bits(seed: int, lead: tuple[int, ...]) -> None:
    rng = np.random.default_rng(seed)
    centre = rng.uniform(0.0, 500.0, (*lead, 5, 2))
    radius = rng.uniform(10.0, 40.0, (*lead, 5))
    sense = rng.choice([-1.0, 1.0], (*lead, 5))
    batch = close_loop(centre, radius, sense)
    for index in np.ndindex(*lead):
        single = close_loop(centre[index], radius[index], sense[index])
        # Four units in the last place: the processor may take another path for a long row than for a short one.
        np.testing.assert_array_max_ulp(batch.span[index], single.span, 4)
        np.testing.assert_allclose(batch.wrap[index], single.wrap, rtol=0.0, atol=1e-15 * 8)


def test_leading_axes_broadcast() -> None:
    rng = np.random.default_rng(7)
    centre, radius, sense = rng.uniform(0.0, 500.0, (3, 1, 4, 2)), rng.uniform(10.0, 30.0, (2, 4)), np.ones(4)
    loop = close_loop(centre, radius, sense)
    assert loop.length.shape == (3, 2)
    assert loop.centre.shape == (3, 2, 4, 2)
    for i, j in np.ndindex(3, 2):
        np.testing.assert_allclose(loop.length[i, j], close_loop(centre[i, 0], radius[j], sense).length, rtol=1e-14)


def test_a_missing_tangent_gives_nan_there_and_nowhere_else() -> None:
    centre = np.array([[0.0, 0.0], [10.0, 0.0], [300.0, 0.0], [150.0, 250.0]])
    loop = close_loop(centre, np.array([60.0, 30.0, 20.0, 20.0]), np.ones(4))
    assert not loop.exists
    assert np.isnan(loop.span).tolist() == [True, False, False, False]
    assert np.isnan(loop.wrap).tolist() == [True, True, False, False]
    assert np.isnan(loop.length)


def test_one_bad_layout_of_a_batch_leaves_the_others_alone() -> None:
    circles = ring(5, 4, 4)
    centre = circles.centre.copy()
    centre[2, 1] = centre[2, 0] + 1.0
    radius = circles.radius.copy()
    radius[2, :2] = 50.0, 20.0
    loop = close_loop(centre, radius, circles.sense)
    assert loop.exists.tolist() == [True, True, False, True]
    np.testing.assert_array_equal(loop.length[[0, 1, 3]], circles.loop.length[[0, 1, 3]])


@pytest.mark.filterwarnings("error")
def test_discs_on_one_centre_have_no_tangent_and_say_so_quietly() -> None:
    centre = np.array([[0.0, 0.0], [0.0, 0.0], [300.0, 0.0]])
    for second in (20.0, 30.0):
        loop = close_loop(centre, np.array([30.0, second, 20.0]), np.ones(3))
        assert not loop.exists
        assert np.isnan(loop.wrap).tolist() == [True, True, False]
        assert not is_simple(loop)


@for_each((49.999999, True), (50.0, False), (50.000001, False))
def test_tangent_ends_where_one_disc_swallows_the_other(radius: float, exists: bool) -> None:
    loop = close_loop(np.array([[0.0, 0.0], [30.0, 0.0]]), np.array([20.0, radius]), np.ones(2))
    assert bool(loop.exists) is exists


def _third_circle(height: float, sense: float) -> tuple[Floats, Floats, Floats]:
    # Two discs of 50 mm whose upper span runs along y = 50, leftward (counter-clockwise); a third between them.
    centre = np.array([[0.0, 0.0], [400.0, 0.0], [200.0, height]])
    return centre, np.array([50.0, 50.0, 30.0]), np.array([1.0, 1.0, sense])


@pytest.mark.parametrize(
    ("sense", "touching"), [(-1.0, 80.0), (1.0, 20.0)], ids=["on the back, above", "on the ribs, below"]
)
def test_where_the_belt_misses_a_pulley_its_wrap_jumps_and_the_turns_are_off_by_one(
    sense: float, touching: float
) -> None:
    off = -1e-3 * sense
    missed = close_loop(*_third_circle(touching + off, sense))
    pressed = close_loop(*_third_circle(touching - off, sense))
    assert 0.0 < pressed.wrap[2] < 1e-4
    assert TURN - 1e-4 < missed.wrap[2] < TURN
    np.testing.assert_allclose(pressed.turns, 1.0, atol=1e-12)
    np.testing.assert_allclose(missed.turns, 0.0 if sense < 0.0 else 2.0, atol=1e-12)
    assert is_sound(pressed, 1.0)
    assert not is_sound(missed, 1.0)


@pytest.mark.parametrize(("sense", "touching"), [(-1.0, 80.0), (1.0, 20.0)])
def test_an_exact_touch_is_a_contact_of_no_wrap(sense: float, touching: float) -> None:
    centre, radius, senses = _third_circle(touching, sense)
    turned = np.stack([_turn_by(centre, angle) for angle in np.linspace(0.0, TURN, 500)])
    loop = close_loop(turned, radius, senses)
    np.testing.assert_allclose(loop.wrap[:, 2], 0.0, atol=1e-9)
    np.testing.assert_allclose(loop.length, 800.0 + 100.0 * np.pi, rtol=1e-13)
    assert is_sound(loop, 1.0).all()


def test_overlap_is_measured_along_the_line_of_centres() -> None:
    depth, pairs = overlap(np.array([[0.0, 0.0], [30.0, 40.0], [0.0, 100.0]]), np.array([20.0, 31.0, 10.0]))
    assert pairs == [(0, 1), (0, 2), (1, 2)]
    np.testing.assert_allclose(depth, [1.0, -70.0, 41.0 - np.hypot(30.0, 60.0)])


def test_neighbours_round_the_loop() -> None:
    assert after(4) == [1, 2, 3, 0]
    assert [before(4)[i] for i in after(4)] == [0, 1, 2, 3]


def test_outward_side_of_a_counter_clockwise_span_is_to_its_right() -> None:
    """Keeps the sign conventions together: pulleys inside lie left of every span of a counter-clockwise ring."""
    loop = ring(2, 50, 5).loop
    np.testing.assert_allclose(
        np.sum((loop.centre - loop.start) * left_normal(loop.direction), axis=-1), loop.radius, rtol=1e-12
    )
    assert from_angle(np.array(0.5 * np.pi))[1] == 1.0


# The random layouts that the laws are tested on: enough of them must be sound, and some must not be.


@for_each(2, 3, 5, 7)
def test_most_rings_are_sound(n: int) -> None:
    assert ring(n, 500, n).sound.mean() > 0.5


@for_each(3, 4, 5)
def test_a_good_share_of_mixed_loops_is_sound(inside: int) -> None:
    assert mixed(inside, 500, inside).sound.mean() > 0.5


def test_loops_laid_anyhow_are_of_both_kinds() -> None:
    sound = anyhow(1, 2000, 4).sound
    assert 0.01 < sound.mean() < 0.9


# Closed-form derivatives against numeric ones (central differences of high order, in scipy).


def _slope(function: Callable[[Floats], Floats]) -> float:
    """Derivative at 0 by scipy: one set of differences of tenth order, steps of 0.5 mm and less."""
    found = derivative(function, 0.0, initial_step=0.5, order=10, maxiter=1)
    return float(found.df)


def _length(circles: Circles, k: int, centre: Floats, radius: Floats) -> Floats:
    return close_loop(circles.centre[k] + centre, circles.radius[k] + radius, circles.sense[k]).length


@pytest.fixture(scope="module")
def circles() -> Circles:
    return sound_mixed(17, 12)


@pytest.mark.parametrize("axis", [0, 1])
def test_length_by_centre(circles: Circles, axis: int) -> None:
    closed = length_by_centre(circles.loop)
    for k, i in np.ndindex(*circles.radius.shape):
        unit = np.zeros((6, 2))
        unit[i, axis] = 1.0

        def moved(t: Floats, k: int = k, unit: Floats = unit) -> Floats:
            return _length(circles, k, np.asarray(t)[..., None, None] * unit, np.zeros(6))

        assert closed[k, i, axis] == pytest.approx(_slope(moved), abs=1e-9)


def test_length_by_radius_is_the_wrap_on_either_side(circles: Circles) -> None:
    closed = circles.loop.wrap
    for k, i in np.ndindex(*circles.radius.shape):
        unit = np.eye(6)[i]

        def grown(t: Floats, k: int = k, unit: Floats = unit) -> Floats:
            return _length(circles, k, np.zeros((6, 2)), np.asarray(t)[..., None] * unit)

        assert closed[k, i] == pytest.approx(_slope(grown), abs=1e-8)
    assert (circles.sense < 0.0).any()


def test_length_by_motion_on_an_arm(circles: Circles) -> None:
    """dL/dangle = (u_before - u_after) . (z x arm), with the arm drawn from a pivot 80 mm away."""
    for k in range(len(circles.radius)):
        pivot = circles.centre[k, 1] - 80.0 * from_angle(np.array(0.4))

        def swung(t: Floats, k: int = k, pivot: Floats = pivot) -> Floats:
            centre = np.broadcast_to(circles.centre[k], (*np.shape(t), 6, 2)).copy()
            centre[..., 1, :] = pivot + 80.0 * from_angle(0.4 + 0.1 * np.asarray(t))
            return close_loop(centre, circles.radius[k], circles.sense[k]).length

        motion = 80.0 * left_normal(from_angle(np.array(0.4)))
        closed = length_by_motion(
            circles.loop.direction[..., 0, :],
            circles.loop.direction[..., 1, :],
            np.broadcast_to(motion, (len(circles.radius), 2)),
        )
        assert closed[k] == pytest.approx(_slope(swung) / 0.1, abs=1e-6)


def test_moving_every_pulley_together_changes_nothing(circles: Circles) -> None:
    np.testing.assert_allclose(length_by_centre(circles.loop).sum(axis=-2), 0.0, atol=1e-14)


def test_a_pulley_wrapped_half_a_turn_takes_up_two_for_one() -> None:
    """Plain geometry: two parallel spans both grow by the movement."""
    loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([40.0, 40.0]), np.ones(2))
    np.testing.assert_allclose(length_by_centre(loop)[1], [2.0, 0.0], atol=1e-15)
