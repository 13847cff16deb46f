"""Equations of readings: residuals by plain formulas, Jacobians against scipy's differences."""

from collections.abc import Sequence

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from beltplan.geometry.vectors import Floats
from beltplan.measure.network import Network
from beltplan.measure.readings import Diameter, Direction, Distance, Offset, Reading
from tests.for_each import for_each
from tests.measure.networks import network

SEED = 21
POINTS = 5
RADII = {0: 50.0, 1: 50.0, 2: 50.0, 4: 50.0}
PAIRS = (("0", "3"), ("1", "2"), ("4", "0"), ("2", "1"))
DISTANCES = (
    Distance(*PAIRS[0], 200.0, 1.0),
    Distance(*PAIRS[1], 150.0, 0.5, "outside"),
    Distance(*PAIRS[2], 90.0, 2.0, "gap"),
    Distance(*PAIRS[3], 400.0, 3.0, "outside"),
)
ANGLES, SDS = (0.1, 3.1, -3.1, 7.0), (0.01, 0.005, 0.02, 0.03)
DIRECTIONS = tuple(Direction(*pair, at, sd) for pair, at, sd in zip(PAIRS, ANGLES, SDS, strict=True))
OFFSETS = (
    Offset("3", "0", "x", 10.0, 1.0),
    Offset("2", "1", "y", -20.0, 0.5),
    Offset("0", "4", "y", 0.0, 2.0),
    Offset("1", "2", "x", 5.0, 3.0),
)
DIAMETERS = (Diameter("0", 60.0, 0.2), Diameter("2", 90.0, 0.4), Diameter("2", 92.0, 0.6))


def _drawn(rng: np.random.Generator) -> Floats:
    return np.concatenate((rng.uniform(-300.0, 300.0, 2 * POINTS), rng.uniform(20.0, 90.0, len(RADII))))


def _given(*readings: Reading) -> Network:
    return network(POINTS, readings, radii_mm=RADII)


@pytest.mark.parametrize("kind", [DISTANCES, DIRECTIONS, OFFSETS, DIAMETERS], ids=lambda kind: kind[0].kind)
def test_jacobians_as_differences(rng: np.random.Generator, kind: Sequence[Reading]) -> None:
    """A step of 1e-6 mm and residuals up to 1e5 leave the differences good to about 1e-3 of a row's largest entry."""
    given = _given(*kind)
    for _ in range(20):
        at = _drawn(rng)
        residuals, jacobian = given.equations(at)
        assert residuals.shape == (len(kind),)
        by_steps = np.array(
            [approx_fprime(at, lambda x, i=i: given.equations(x)[0][i], 1e-5) for i in range(len(kind))]
        )
        np.testing.assert_allclose(jacobian, by_steps, rtol=1e-4, atol=1e-4 * np.max(np.abs(jacobian)))


def test_kinds_stand_one_after_the_other(rng: np.random.Generator) -> None:
    """A law: each row is what its reading gives by itself, whatever is read beside it, in whatever order."""
    at = _drawn(rng)
    mixed = (*DIRECTIONS[:2], *DISTANCES, *DIAMETERS, *OFFSETS, *DIRECTIONS[2:])
    residuals, jacobian = _given(*mixed).equations(at)
    for i, reading in enumerate(mixed):
        alone = _given(reading).equations(at)
        np.testing.assert_array_equal(residuals[i], alone[0][0])
        np.testing.assert_array_equal(jacobian[i], alone[1][0])


def test_a_distance_by_hand() -> None:
    """3-4-5 triangle of 100 mm: centres 500 apart, radii 60 and 40, so 600 over the rims and 400 in the gap."""
    tapes = (
        Distance("0", "1", 499.0, 1.0),
        Distance("0", "1", 602.0, 2.0, "outside"),
        Distance("0", "1", 400.0, 0.5, "gap"),
    )
    given = network(2, tapes, radii_mm={0: 60.0, 1: 40.0})
    assert given.equations(np.array([0.0, 0.0, 300.0, 400.0, 60.0, 40.0]))[0] == pytest.approx([1.0, -1.0, 0.0])
    assert [tape.apart_mm(given.radii_mm) for tape in tapes] == pytest.approx([499.0, 502.0, 500.0])


@pytest.mark.parametrize("turns", [-2.0, -1.0, 0.0, 1.0, 5.0])
def test_whole_turns_make_no_difference(rng: np.random.Generator, turns: float) -> None:
    at, whole = _drawn(rng), 2.0 * np.pi * turns
    more = (Direction(each.first, each.second, each.value_rad + whole, each.sd_rad) for each in DIRECTIONS)
    np.testing.assert_allclose(_given(*more).equations(at)[0], _given(*DIRECTIONS).equations(at)[0], atol=1e-9)


def test_the_shorter_way_round() -> None:
    """179 deg seen and -179 deg read: 2 deg apart, not 358; and read less seen is that below nought."""
    at = np.radians(179.0)
    given = network(2, (Direction("0", "1", np.radians(-179.0), np.radians(1.0)),))
    residuals, _ = given.equations(np.array([0.0, 0.0, 100.0 * np.cos(at), 100.0 * np.sin(at)]))
    assert residuals == pytest.approx([-2.0])


def test_turning_back_to_front_turns_by_half(rng: np.random.Generator) -> None:
    at = _drawn(rng)
    back = _given(*(Direction(each.second, each.first, each.value_rad + np.pi, each.sd_rad) for each in DIRECTIONS))
    for one, other in zip(back.equations(at), _given(*DIRECTIONS).equations(at), strict=True):
        np.testing.assert_allclose(one, other, atol=1e-9)


@for_each(0.0, 1e-9, 1e-6)
def test_points_on_one_place_give_no_nan(gap_mm: float) -> None:
    given = network(2, (Distance("0", "1", 0.0, 1.0), Direction("0", "1", 0.0, 1.0)))
    residuals, jacobian = given.equations(np.array([5.0, 5.0, 5.0 + gap_mm, 5.0]))
    assert np.isfinite(residuals).all() and np.isfinite(jacobian).all()


def test_no_readings(rng: np.random.Generator) -> None:
    residuals, jacobian = _given().equations(_drawn(rng))
    assert residuals.shape == (0,) and jacobian.shape == (0, 14)
