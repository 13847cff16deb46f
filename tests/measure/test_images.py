"""Images: Jacobians against scipy's differences, maps against shapely.affinity and theorems of projective geometry."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.optimize import approx_fprime
from shapely import affinity

from beltplan.geometry.vectors import Floats, cross, from_angle
from beltplan.measure.images import PARAMETERS, PLANE_UNIT_MM, POINTS_NEEDED, Model, fitted, mapped, placed
from beltplan.measure.network import Network
from tests.measure.networks import image, network

MODELS: tuple[Model, ...] = ("rigid", "similar", "slanted")
SEED = 31
SCALE = 2.3


def _numbers(rng: np.random.Generator, model: Model) -> Floats:
    if model == "rigid":
        return np.array((rng.uniform(-3.0, 3.0), *rng.uniform(-900.0, 900.0, 2)))
    if model == "similar":
        return np.array((*rng.uniform(-3.0, 3.0, 2), *rng.uniform(-900.0, 900.0, 2)))
    near = np.array((600.0, 60.0, 900.0, -50.0, 550.0, 1500.0, 0.1, -0.1))
    return np.asarray(near + rng.normal(size=8) * np.array((50.0, 50.0, 99.0, 50.0, 50.0, 99.0, 0.05, 0.05)))


def _points(rng: np.random.Generator, count: int) -> Floats:
    return rng.uniform(-300.0, 300.0, (count, 2))


@pytest.mark.parametrize("model", MODELS)
def test_jacobians_as_differences(rng: np.random.Generator, model: Model) -> None:
    for _ in range(10):
        numbers, points = _numbers(rng, model), _points(rng, 3)
        _, by_point, by_numbers = mapped(model, SCALE, numbers, points)
        for i, j in np.ndindex(3, 2):
            steps = approx_fprime(points[i], lambda p, j=j: mapped(model, SCALE, numbers, p[None])[0][0, j], 1e-5)  # noqa: B023
            np.testing.assert_allclose(by_point[i, j], steps, rtol=1e-4, atol=1e-4)
            steps = approx_fprime(numbers, lambda n, i=i, j=j: mapped(model, SCALE, n, points)[0][i, j], 1e-7)  # noqa: B023
            np.testing.assert_allclose(by_numbers[i, j], steps, rtol=1e-3, atol=1e-3)


@pytest.mark.parametrize("model", MODELS)
def test_placed_is_the_inverse_of_mapped(rng: np.random.Generator, model: Model) -> None:
    for _ in range(20):
        numbers, points = _numbers(rng, model), _points(rng, 8)
        np.testing.assert_allclose(
            placed(model, SCALE, numbers, mapped(model, SCALE, numbers, points)[0]), points, atol=1e-6
        )


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("more", [0, 4])
def test_fitted_finds_exact_maps(rng: np.random.Generator, model: Model, more: int) -> None:
    for _ in range(20):
        numbers = _numbers(rng, model)
        points = np.array(((-250.0, -200.0), (260.0, -180.0), (240.0, 220.0), (-230.0, 250.0)))
        points = np.concatenate((points, _points(rng, 4)))[: POINTS_NEEDED[model] + more]
        found = fitted(model, SCALE, points, mapped(model, SCALE, numbers, points)[0])
        assert found.shape == (PARAMETERS[model],)
        away = _points(rng, 6)
        np.testing.assert_allclose(
            mapped(model, SCALE, found, away)[0], mapped(model, SCALE, numbers, away)[0], atol=1e-5
        )


def test_a_similar_map_as_shapely_makes_it(rng: np.random.Generator) -> None:
    for _ in range(20):
        turn, scale, shift, points = (
            rng.uniform(-3.0, 3.0),
            rng.uniform(0.5, 4.0),
            rng.uniform(-99.0, 99.0, 2),
            _points(rng, 5),
        )
        shape = affinity.scale(shapely.MultiPoint(points), scale, scale, origin=(0, 0))
        shape = affinity.translate(affinity.rotate(shape, turn, origin=(0, 0), use_radians=True), *shift)
        expected = shapely.get_coordinates(shape)
        spread = np.array((scale * np.cos(turn), scale * np.sin(turn), *shift))
        np.testing.assert_allclose(mapped("similar", 1.0, spread, points)[0], expected, atol=1e-9)
        np.testing.assert_allclose(mapped("rigid", scale, np.array((turn, *shift)), points)[0], expected, atol=1e-9)


def test_least_squares_of_a_similar_map_as_numpy_finds_it(rng: np.random.Generator) -> None:
    """With noise: the four numbers are those of the linear least-squares problem, solved by numpy.linalg.lstsq."""
    points, at = _points(rng, 7), _points(rng, 7)
    x, y, zero, one = points[:, 0], points[:, 1], np.zeros(7), np.ones(7)
    rows = np.concatenate((np.stack((x, -y, one, zero), -1), np.stack((y, x, zero, one), -1)))
    expected = np.linalg.lstsq(rows, np.concatenate((at[:, 0], at[:, 1])), rcond=None)[0]
    np.testing.assert_allclose(fitted("similar", 1.0, points, at), expected, atol=1e-9)


def _cross_ratio(line: Floats) -> float:
    a, b, c, d = (float(np.hypot(*(each - line[0]))) for each in line)
    return ((c - a) * (d - b)) / ((c - b) * (d - a))


def test_a_slanted_map_keeps_the_cross_ratio(rng: np.random.Generator) -> None:
    """Theorem of projective geometry: four points of a line keep the ratio of the ratios of their distances."""
    for _ in range(20):
        through, along = rng.uniform(-100.0, 100.0, 2), from_angle(np.asarray(rng.uniform(0.0, 6.0)))
        line = through + np.array((0.0, 31.0, 90.0, 140.0))[:, None] * along
        seen = mapped("slanted", 1.0, _numbers(rng, "slanted"), line)[0]
        assert _cross_ratio(seen) == pytest.approx(_cross_ratio(line), rel=1e-9)
        assert np.max(np.abs(cross(seen[1:] - seen[0], seen[3] - seen[0]))) < 1e-6 * np.hypot(*(seen[3] - seen[0])) ** 2


def test_a_slanted_map_holds_the_similar_ones(rng: np.random.Generator) -> None:
    a, b, u, v = 1.3, -0.4, 50.0, -20.0
    numbers = np.array((a * PLANE_UNIT_MM, -b * PLANE_UNIT_MM, u, b * PLANE_UNIT_MM, a * PLANE_UNIT_MM, v, 0.0, 0.0))
    points = _points(rng, 5)
    similar = mapped("similar", 1.0, np.array((a, b, u, v)), points)
    slanted = mapped("slanted", 1.0, numbers, points)
    np.testing.assert_allclose(slanted[0], similar[0], atol=1e-9)
    np.testing.assert_allclose(slanted[1], similar[1], atol=1e-12)


@pytest.mark.parametrize("model", ("rigid", "similar"))
def test_places_on_one_spot_tell_nothing_but_break_nothing(model: Model) -> None:
    at = np.array(((100.0, 100.0), (100.0, 100.0)))
    numbers = fitted(model, SCALE, np.array(((0.0, 0.0), (300.0, 0.0))), at)
    assert np.isfinite(placed(model, SCALE, numbers, np.array(((150.0, 90.0),)))).all()


def _network(rng: np.random.Generator, model: Model) -> Network:
    """Three places, and six rim points round two pulleys, one of which was picked itself. 5 points, 2 radii."""
    rims = {
        2: np.array([(100.0, 0.0), (0.0, 100.0), (-100.0, 0.0)]),
        3: np.array([(520.0, 500.0), (500.0, 520.0), (480.0, 500.0)]),
    }
    at = dict(zip((0, 2, 4), rng.uniform(0.0, 900.0, (3, 2)), strict=True))
    return network(5, images=(image(model, at, rims, SCALE, 1.5),), radii_mm={2: 50.0, 3: 50.0})


@pytest.mark.parametrize("model", MODELS)
def test_jacobians_of_picks_as_differences(rng: np.random.Generator, model: Model) -> None:
    given = _network(rng, model)
    for _ in range(2):
        at = np.concatenate(
            (_points(rng, 5).reshape(-1), rng.uniform(20.0, 90.0, 2), _numbers(rng, model), rng.uniform(-3.0, 3.0, 6))
        )
        residuals, jacobian = given.equations(at)
        assert residuals.shape == (18,)
        for i in range(18):
            steps = approx_fprime(at, lambda x, i=i: given.equations(x)[0][i], 1e-7)
            np.testing.assert_allclose(jacobian[i], steps, rtol=2e-3, atol=2e-3)


def test_residuals_are_nought_where_the_image_was_made(rng: np.random.Generator) -> None:
    """Rim points at known angles: a rim point lies at its centre + radius x (cos, sin), then on the image."""
    numbers, points, radius, angles = _numbers(rng, "similar"), _points(rng, 2), 40.0, np.array((0.3, 1.9, 4.0))
    rim = points[1] + radius * np.column_stack((np.cos(angles), np.sin(angles)))
    at, rim_at = (mapped("similar", 1.0, numbers, each)[0] for each in (points, rim))
    given = network(2, images=(image("similar", at, {1: rim_at}),), radii_mm={1: 50.0})
    residuals, _ = given.equations(np.concatenate((points.reshape(-1), [radius], numbers, angles)))
    np.testing.assert_allclose(residuals, 0.0, atol=1e-9)


def test_the_middle_of_a_rim_counts_as_a_place_for_a_start(rng: np.random.Generator) -> None:
    (placed_image,) = _network(rng, "similar").images
    assert placed_image.points.tolist() == [0, 2, 4, 3]
    np.testing.assert_allclose(placed_image.at[3], (500.0, 500.0), atol=1e-9)


def test_a_photo_from_behind_is_none() -> None:
    """Mirrored in the plane, or beyond the horizon, the same places on a photo cannot have been seen from the front."""
    numbers = np.array((630.0, 90.0, 900.0, -60.0, 570.0, 1500.0, 0.09, -0.12))
    points = np.array(((-200.0, -100.0), (250.0, -80.0), (200.0, 200.0), (-150.0, 180.0)))
    at = mapped("slanted", 1.0, numbers, points)[0]
    (photo,) = network(4, images=(image("slanted", at),)).images
    mirrored = points * (1.0, -1.0)
    behind = fitted("slanted", 1.0, mirrored, at)
    beyond = points.copy()
    beyond[0] = PLANE_UNIT_MM * np.array((-20.0, 0.0))
    assert photo.faces(np.concatenate((points.reshape(-1), numbers)))
    assert not photo.faces(np.concatenate((mirrored.reshape(-1), behind)))
    assert not photo.faces(np.concatenate((beyond.reshape(-1), numbers)))
