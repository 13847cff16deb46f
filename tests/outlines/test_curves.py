"""Curves against scipy's B-splines and Bernstein polynomials, ezdxf's bulges, and chord errors by dense points."""

import ezdxf.math
import numpy as np
import pytest
import scipy.interpolate
import shapely
from hypothesis import given
from hypothesis import strategies as st

from beltplan.geometry.vectors import TURN, Floats
from beltplan.outlines.curves import (
    Bezier,
    Curve,
    Edges,
    Map,
    Spline,
    Sweep,
    bulged,
    flattened,
    scaled,
    upright_sweep,
    without_repeats,
)
from tests.for_each import for_each

WITHIN = 0.02
numbers = st.floats(-100.0, 100.0)
points = st.tuples(numbers, numbers)


def off(dense: Floats, chords: Floats) -> float:
    """The farthest that a dense chain lies off a coarse one."""
    return float(shapely.distance(shapely.points(dense), shapely.LineString(chords)).max())


@given(st.lists(points, min_size=3, max_size=5))
def test_bezier(controls: list[tuple[float, float]]) -> None:
    curve = Bezier(np.array(controls))
    coarse = curve.points(WITHIN)
    polynomial = scipy.interpolate.BPoly(np.array(controls)[:, None, :], [0.0, 1.0])
    dense = polynomial(np.linspace(0.0, 1.0, 2000))
    np.testing.assert_allclose(coarse, polynomial(np.linspace(0.0, 1.0, len(coarse))), atol=1e-9)
    if np.ptp(coarse, axis=0).max() > 1e-6:
        assert off(dense, coarse) <= WITHIN * (1.0 + 1e-6)


@given(points, points, points, st.floats(-TURN, TURN), st.floats(0.01, TURN), st.sampled_from([1.0, -1.0]))
def test_sweep(
    centre: tuple[float, float],
    across: tuple[float, float],
    aside: tuple[float, float],
    start: float,
    sweep: float,
    sense: float,
) -> None:
    curve = Sweep(np.array(centre), np.array(across), np.array(aside), start, sense * sweep)
    coarse = curve.points(WITHIN)
    angle = start + sense * sweep * np.linspace(0.0, 1.0, 2000)[:, None]
    dense = curve.centre + np.cos(angle) * curve.across + np.sin(angle) * curve.aside
    np.testing.assert_allclose(coarse[[0, -1]], dense[[0, -1]], atol=1e-9)
    if np.ptp(coarse, axis=0).max() > 1e-6:
        assert off(dense, coarse) <= WITHIN * (1.0 + 1e-6)
    assert np.abs(dense).max() <= 1.2 * curve.reach + 1e-9


@for_each(0.1, 5.0, 100.0, 2_000.0)
def test_a_whole_circle_keeps_its_width_and_no_more_chords_than_needed(radius: float) -> None:
    chords = upright_sweep(np.zeros(2), radius, radius).points(WITHIN)
    assert np.ptp(chords, axis=0) == pytest.approx((2.0 * radius, 2.0 * radius))
    sagitta = radius * (1.0 - np.cos(np.pi / (len(chords) - 1)))
    assert sagitta <= WITHIN and (sagitta > 0.8 * WITHIN or len(chords) == 17)


@given(points, points, st.floats(-20.0, 20.0).filter(lambda bulge: abs(bulge) > 0.01))
def test_bulge(start: tuple[float, float], end: tuple[float, float], bulge: float) -> None:
    if np.hypot(end[0] - start[0], end[1] - start[1]) < 1e-3:
        return
    curve = bulged(np.array(start), np.array(end), bulge)
    assert isinstance(curve, Sweep)
    centre, _, _, radius = ezdxf.math.bulge_to_arc(start, end, bulge)
    assert curve.centre == pytest.approx((centre.x, centre.y), abs=1e-6 * (1.0 + radius))
    assert np.hypot(*curve.across) == pytest.approx(radius, rel=1e-6)
    assert np.sign(curve.sweep_rad) == np.sign(bulge)
    np.testing.assert_allclose(curve.points(WITHIN)[[0, -1]], [start, end], atol=1e-6)


@for_each(0.0, 1e-300, -0.99e-6)
def test_hardly_a_bulge_is_straight(bulge: float) -> None:
    assert isinstance(bulged(np.zeros(2), np.array([9.0, 1.0]), bulge), Edges)


@for_each(1, 2, 3, 5)
@for_each(*range(4))
def test_spline(degree: int, seed: int) -> None:
    """Random knots, some of them repeated up to the degree, clamped and not."""
    dice = np.random.default_rng(seed)
    count = degree + 6
    inner = np.sort(dice.choice(np.arange(1.0, 6.0), count - degree - 1))
    inner = inner if degree > 2 else np.arange(1.0, count - degree)
    spread = np.zeros(degree + 1) if seed % 2 else np.arange(degree + 1.0)
    knots = np.concatenate((-spread[::-1], inner, 7.0 + spread))
    controls = dice.uniform(-80.0, 80.0, (count, 2))
    if any(np.count_nonzero(knots == knot) > degree for knot in inner):
        return  # a knot repeated so often breaks the curve in two
    places = np.union1d(np.linspace(knots[degree], knots[count], 3000), knots[degree : count + 1])
    dense = scipy.interpolate.BSpline(knots, controls, degree)(places)
    curve = Spline(controls, degree, knots, np.ones(count))
    np.testing.assert_allclose(curve.at(places[:-1]), dense[:-1], atol=1e-9)
    coarse = curve.points(WITHIN)
    assert off(dense, coarse) <= WITHIN
    assert off(coarse, dense) <= WITHIN


def test_a_rational_spline_draws_a_true_circle() -> None:
    """The nine-point circle with weights of the square root of a half: a textbook example of rational B-splines."""
    corner = np.sqrt(0.5)
    controls = 30.0 * np.array([[1, 0], [1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1], [1, 0]])
    weights = np.array([1, corner, 1, corner, 1, corner, 1, corner, 1])
    curve = Spline(controls, 2, np.array([0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4], dtype=float), weights)
    chords = curve.points(WITHIN)
    np.testing.assert_allclose(np.hypot(chords[:, 0], chords[:, 1]), 30.0, rtol=1e-12)
    assert shapely.Polygon(chords).area == pytest.approx(np.pi * 900.0, rel=2e-3)


CURVES: list[Curve] = [
    Edges(np.array([[0.0, 0.0], [3.0, 4.0], [9.0, 1.0]])),
    upright_sweep(np.array([2.0, 1.0]), 5.0, 5.0, 0.3, 4.0),
    Bezier(np.array([[0.0, 0.0], [5.0, 9.0], [-3.0, 9.0], [4.0, 1.0]])),
    Spline(
        np.array([[0.0, 0], [4, 8], [9, 1], [3, 3]]), 2, np.array([0.0, 0, 0, 1, 2, 2, 2]), np.array([1.0, 2, 1, 3])
    ),
]


@for_each(*CURVES, ids=lambda curve: type(curve).__name__)
def test_a_moved_curve_goes_through_the_moved_points(curve: Curve) -> None:
    by = Map(np.array([[1.5, 0.4], [-0.3, 0.8]]), np.array([7.0, -9.0]))
    moved, expected = curve.moved(by).points(1e-4), by.of(curve.points(1e-4))
    assert off(expected, moved) < 1e-3 and off(moved, expected) < 1e-3
    assert np.abs(moved).max() <= 1.2 * curve.moved(by).reach


def test_maps_one_after_the_other() -> None:
    first, then = Map(np.array([[1.0, 2.0], [0.0, 1.0]]), np.array([3.0, 4.0])), scaled(2.0, -1.0)
    at = np.array([[5.0, 6.0], [-1.0, 0.5]])
    np.testing.assert_allclose(then.after(first).of(at), then.of(first.of(at)))


@for_each(
    (upright_sweep(np.zeros(2), 3.0, 3.0), True),
    (upright_sweep(np.zeros(2), 3.0, 3.0, 1.0, -TURN), True),
    (upright_sweep(np.zeros(2), 3.0, 3.0, 0.0, 0.99 * TURN), False),
    (Sweep(np.zeros(2), np.array([3.0, 0.0]), np.array([0.0, 3.03]), 0.0, TURN), False),
    (Sweep(np.zeros(2), np.array([3.0, 0.0]), np.array([0.1, 3.0]), 0.0, TURN), False),
)
def test_a_true_circle(curve: Sweep, is_one: bool) -> None:
    assert (curve.circle is not None) == is_one


def test_curves_in_a_row_have_no_point_twice() -> None:
    row = [Edges(np.array([[0.0, 0.0], [5.0, 0.0]])), bulged(np.array([5.0, 0.0]), np.array([5.0, 4.0]), 1.0)]
    joined = flattened(row, WITHIN)
    assert np.hypot(*np.diff(joined, axis=0).T).min() > 0.05
    np.testing.assert_array_equal(
        without_repeats(np.array([[1.0, 1], [1, 1], [2, 1], [1, 1]])), [[1, 1], [2, 1], [1, 1]]
    )
