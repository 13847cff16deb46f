"""Starts: every mirror image is laid, the true layout is among them, and odd networks come to an end."""

from itertools import combinations

import numpy as np
import pytest
import shapely

from beltplan.geometry.vectors import Floats, from_angle, norm
from beltplan.measure.images import Model, mapped
from beltplan.measure.network import Network
from beltplan.measure.readings import Direction
from beltplan.measure.starts import starts_of
from tests.for_each import for_each
from tests.measure.networks import distances, image, level, network, scattered, settled_at

SEED = 81


def _nearest(network_: Network, places: Floats) -> float:
    """How near a start comes to places at its worst point, mm."""
    return min(float(norm(start.places - places).max()) for start in starts_of(network_, 1, 8))


def test_two_circles_give_both_places_that_shapely_finds(rng: np.random.Generator) -> None:
    for _ in range(20):
        places = scattered(rng, 3)
        given = network(3, distances(places, combinations(range(3), 2)), level(places))
        rings = [shapely.Point(at).buffer(float(norm(places[2] - at)), 2000).exterior for at in places[:2]]
        expected = shapely.get_coordinates(shapely.intersection(*rings))
        found = np.array([start.places[2] for start in starts_of(given, 1, 8)])
        assert len(found) == 2
        assert norm(expected[:, None] - found[None]).min(axis=1).max() < 0.5


@pytest.mark.parametrize("points", [3, 4, 5, 6])
def test_every_mirror_of_a_chain_of_triangles(rng: np.random.Generator, points: int) -> None:
    """Each point tied to the two before it: after the first two every one has two sides, 2^(n - 2) layouts in all."""
    places = scattered(rng, points)
    pairs = [(i, j) for i, j in combinations(range(points), 2) if j - i <= 2]
    found = [start.places for start in starts_of(network(points, distances(places, pairs), level(places)), 1, 8)]
    assert len(found) == 2 ** (points - 2)
    for one, other in combinations(found, 2):
        assert norm(one - other).max() > 1.0
    for one in found:
        for i, j in pairs:
            assert norm(one[i] - one[j]) == pytest.approx(float(norm(places[i] - places[j])), abs=1e-3)


def test_the_true_layout_is_among_the_starts(rng: np.random.Generator) -> None:
    for _ in range(20):
        places = scattered(rng, 7)
        pairs = [(i, j) for i, j in combinations(range(7), 2) if j - i <= 3]
        assert _nearest(network(7, distances(places, pairs), level(places)), places) < 1e-3


@for_each(*range(8))
def test_one_misread_tape_does_not_shut_it_out(seed: int) -> None:
    """An inch too much on one of fifteen: with that reading left out, some start settles in the true layout."""
    rng = np.random.default_rng(seed)
    places, pairs = scattered(rng, 6), list(combinations(range(6), 2))
    misread = int(rng.integers(15))
    off = np.zeros(15)
    off[misread] = 25.4
    given = network(6, distances(places, pairs, off), level(places))
    ends = [
        settled_at(given, given.unknowns_at(start.places), (misread,)).unknowns.reshape(-1, 2)
        for start in starts_of(given, 1, 8)
    ]
    assert min(float(norm(end - places).max()) for end in ends) < 1e-3


@for_each("rigid", "similar", "slanted")
def test_a_picture_lays_the_rest(model: Model) -> None:
    """Four points by tapes and a level line, three more only on a picture."""
    places = np.array(
        ((0.0, 0.0), (300.0, 20.0), (260.0, 240.0), (-30.0, 220.0), (90.0, 90.0), (-80.0, 60.0), (120.0, -70.0))
    )
    numbers: Floats = np.array((0.4, 300.0, 200.0))
    if model == "similar":
        numbers = np.array((1.2, 0.7, 300.0, 200.0))
    elif model == "slanted":
        numbers = np.array((630.0, 90.0, 900.0, -60.0, 570.0, 1500.0, 0.09, -0.12))
    at = mapped(model, 1.7, numbers, places)[0]
    tapes = distances(places, combinations(range(4), 2))
    given = network(7, tapes, level(places), images=(image(model, at, px_per_mm=1.7),))
    assert _nearest(given, places) < 1e-3


def test_points_that_nothing_ties_multiply_nothing(rng: np.random.Generator) -> None:
    """Three points by tapes, two on a tape of their own and two on nothing: both mirror images, each once."""
    places = scattered(rng, 7)
    pairs = [(0, 1), (0, 2), (1, 2), (3, 4)]
    found = [start.places for start in starts_of(network(7, distances(places, pairs), level(places)), 1, 8)]
    assert len(found) == 2
    np.testing.assert_array_equal(found[0][3:], found[1][3:])
    for each in found:
        assert all(norm(each[i] - each[j]) == pytest.approx(norm(places[i] - places[j]), abs=1e-6) for i, j in pairs)


def test_a_point_on_one_tape_is_spread_round_it(rng: np.random.Generator) -> None:
    """Eight drawings of one circle: no gap between neighbours is wider than a quarter of it."""
    places = scattered(rng, 3)
    found = starts_of(network(3, distances(places, [(0, 1), (1, 2)]), level(places)), 1, 8)
    away = np.array([start.places[2] - start.places[1] for start in found])
    angles = np.sort(np.arctan2(away[:, 1], away[:, 0]))
    assert np.diff(np.append(angles, angles[0] + 2.0 * np.pi)).max() < np.pi / 2.0
    np.testing.assert_allclose(norm(away), norm(places[2] - places[1]), atol=1e-6)


def test_the_same_seed_gives_the_same_starts(rng: np.random.Generator) -> None:
    places = scattered(rng, 5)
    given = network(5, distances(places, [(0, 1), (1, 2), (3, 4)]), level(places))
    first, second, other = (starts_of(given, seed, 4) for seed in (1, 1, 2))
    np.testing.assert_array_equal([each.places for each in first], [each.places for each in second])
    assert np.abs(np.array([each.places for each in first[:4]]) - [each.places for each in other[:4]]).max() > 1.0


def test_places_on_one_spot_of_a_picture_come_to_an_end() -> None:
    """Two points picked on the same pixel: their distance says nothing of the scale, and the third must not be lost."""
    places = np.array(((0.0, 0.0), (300.0, 0.0), (90.0, 200.0)))
    at = np.array(((100.0, 100.0), (100.0, 100.0), (200.0, 300.0)))
    given = network(3, distances(places, [(0, 1)]), level(places), images=(image("similar", at),))
    assert all(np.isfinite(start.places).all() for start in starts_of(given, 1, 4))


def test_one_point_alone() -> None:
    (found,) = starts_of(network(1, distances(np.zeros((1, 2)), [])), 1, 4)
    assert found.places.tolist() == [[0.0, 0.0]] and found.against == 0.0


def test_a_ring_of_angles() -> None:
    """Only directions and one distance: lines cross where the points lie, and there is no mirror image."""
    places = np.array([200.0 * from_angle(np.asarray(a)) for a in (0.0, 1.1, 2.7, 4.0)])
    places = places - places[0]
    steps = {(i, j): places[j] - places[i] for i, j in combinations(range(4), 2)}
    kind = [Direction(str(i), str(j), float(np.arctan2(y, x)), 0.01) for (i, j), (x, y) in steps.items()]
    found = starts_of(network(4, distances(places, [(0, 1)]), kind), 1, 4)
    assert norm(found[0].places - places).max() < 1e-3
