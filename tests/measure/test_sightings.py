"""Rows of distances, directions, offsets and sizes: misfits by plain formulas, slopes against scipy's differences."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from beltplan.geometry.vectors import Floats
from beltplan.measure.sightings import NO_RADIUS, Directions, Distances, Offsets, Sizes

SEED = 21
POINTS, RADII = 5, 3
FIRST, SECOND = np.array([0, 1, 4, 2]), np.array([3, 2, 0, 1])
NO = NO_RADIUS
DEVIATION = np.array([1.0, 0.5, 2.0, 3.0])
DISTANCES = Distances(
    FIRST,
    SECOND,
    np.array([200.0, 150.0, 90.0, 400.0]),
    DEVIATION,
    np.array([0.0, 1.0, -1.0, 1.0]),
    np.array([NO, 10, 12, 11]),
    np.array([NO, 11, 10, 10]),
)
DIRECTIONS = Directions(FIRST, SECOND, np.array([0.1, 3.1, -3.1, 7.0]), DEVIATION / 100.0)
OFFSETS = Offsets(FIRST, SECOND, np.array([0, 1, 1, 0]), np.array([10.0, -20.0, 0.0, 5.0]), DEVIATION)
SIZES = Sizes(np.array([10, 12, 12]), np.array([30.0, 45.0, 46.0]), np.array([0.1, 0.2, 0.3]))
KINDS = (DISTANCES, DIRECTIONS, OFFSETS, SIZES)


def _drawn(rng: np.random.Generator) -> Floats:
    return np.concatenate((rng.uniform(-300.0, 300.0, 2 * POINTS), rng.uniform(20.0, 90.0, RADII)))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: type(kind).__name__)
def test_slopes_as_differences(rng: np.random.Generator, kind: Distances | Directions | Offsets | Sizes) -> None:
    """A step of 1e-6 mm and misfits up to 1e5 leave the differences good to about 1e-3 of a row's largest slope."""
    for _ in range(20):
        at = _drawn(rng)
        misfit, slopes = kind.rows(at)
        assert misfit.shape == (kind.count,)
        by_steps = np.array([approx_fprime(at, lambda x, i=i: kind.rows(x)[0][i], 1e-5) for i in range(kind.count)])
        np.testing.assert_allclose(slopes, by_steps, rtol=1e-4, atol=1e-4 * np.max(np.abs(slopes)))


def test_a_distance_by_hand() -> None:
    """3-4-5 triangle of 100 mm: centres 500 apart, radii 60 and 40, so 600 over the rims and 400 in the gap."""
    unknowns = np.array([0.0, 0.0, 300.0, 400.0, 60.0, 40.0])
    zero, one = np.zeros(3, dtype=int), np.ones(3, dtype=int)
    kind = Distances(
        zero,
        one,
        np.array([499.0, 602.0, 400.0]),
        np.array([1.0, 2.0, 0.5]),
        np.array([0.0, 1.0, -1.0]),
        np.array([NO, 4, 4]),
        np.array([NO, 5, 5]),
    )
    assert kind.rows(unknowns)[0] == pytest.approx([1.0, -1.0, 0.0])
    assert kind.between_centres_mm(unknowns) == pytest.approx([499.0, 502.0, 500.0])


def test_the_rim_of_one_pulley_twice() -> None:
    """A radius that stands on both ends of a row counts twice, in the misfit and in the slope."""
    kind = Distances(
        np.array([0]), np.array([1]), np.array([0.0]), np.ones(1), np.ones(1), np.array([4]), np.array([4])
    )
    misfit, slopes = kind.rows(np.array([0.0, 0.0, 100.0, 0.0, 7.0]))
    assert misfit == pytest.approx([114.0])
    assert slopes[0, 4] == 2.0


@pytest.mark.parametrize("turns", [-2.0, -1.0, 0.0, 1.0, 5.0])
def test_whole_turns_make_no_difference(rng: np.random.Generator, turns: float) -> None:
    at, whole = _drawn(rng), 2.0 * np.pi * turns
    more = Directions(FIRST, SECOND, DIRECTIONS.value_rad + whole, DIRECTIONS.deviation_rad)
    np.testing.assert_allclose(more.rows(at)[0], DIRECTIONS.rows(at)[0], atol=1e-9)


def test_the_shorter_way_round() -> None:
    """179 deg seen and -179 deg read: 2 deg apart, not 358; and read less seen is that below nought."""
    at = np.radians(179.0)
    kind = Directions(np.array([0]), np.array([1]), np.array([np.radians(-179.0)]), np.array([np.radians(1.0)]))
    misfit, _ = kind.rows(np.array([0.0, 0.0, 100.0 * np.cos(at), 100.0 * np.sin(at)]))
    assert misfit == pytest.approx([-2.0])


def test_turning_back_to_front_turns_by_half(rng: np.random.Generator) -> None:
    at = _drawn(rng)
    back = Directions(SECOND, FIRST, DIRECTIONS.value_rad + np.pi, DIRECTIONS.deviation_rad)
    np.testing.assert_allclose(back.rows(at)[0], DIRECTIONS.rows(at)[0], atol=1e-9)
    np.testing.assert_allclose(back.rows(at)[1], DIRECTIONS.rows(at)[1], atol=1e-9)


@pytest.mark.parametrize("gap_mm", [0.0, 1e-9, 1e-6])
def test_points_on_one_place_give_no_nan(gap_mm: float) -> None:
    unknowns = np.array([5.0, 5.0, 5.0 + gap_mm, 5.0])
    one = (np.array([0]), np.array([1]), np.array([0.0]), np.ones(1))
    for kind in (Distances(*one, np.zeros(1), np.array([NO]), np.array([NO])), Directions(*one)):
        misfit, slopes = kind.rows(unknowns)
        assert np.isfinite(misfit).all() and np.isfinite(slopes).all()


def test_no_rows(rng: np.random.Generator) -> None:
    none, nothing = np.zeros(0, dtype=int), np.zeros(0)
    kinds = (
        Distances(none, none, nothing, nothing, nothing, none, none),
        Directions(none, none, nothing, nothing),
        Offsets(none, none, none, nothing, nothing),
        Sizes(none, nothing, nothing),
    )
    for kind in kinds:
        misfit, slopes = kind.rows(_drawn(rng))
        assert kind.count == 0 and misfit.shape == (0,) and slopes.shape == (0, 13)
