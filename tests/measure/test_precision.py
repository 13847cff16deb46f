"""Covariances against inv(J'J) and drawn errors, redundancies, and loose points by counting (Laman 1970)."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy.linalg import null_space

from beltplan.geometry.vectors import Floats
from beltplan.measure.network import Network, precision_of
from tests.measure.networks import distances, level, network, scattered, settled_at

SEED = 61


def _full(rng: np.random.Generator, points: int, off_mm: bool = True) -> tuple[Network, Floats]:
    places, pairs = scattered(rng, points), list(combinations(range(points), 2))
    off = rng.normal(size=len(pairs)) if off_mm else 0.0
    return network(points, distances(places, pairs, off), level(places)), places


def test_the_covariance_is_the_inverse_of_the_normal_matrix(rng: np.random.Generator) -> None:
    for points in (3, 4, 7):
        given, places = _full(rng, points)
        at = settled_at(given, given.unknowns_at(places))
        found, free = precision_of(given, at), given.free
        jacobian = at.jacobian[:, free]
        expected = np.linalg.inv(jacobian.T @ jacobian)
        np.testing.assert_allclose(found.covariance[np.ix_(free, free)], expected, rtol=1e-5, atol=1e-7)
        assert not found.covariance[:2].any() and not found.covariance[:, :2].any()
        assert not found.undetermined.any()


def test_redundancies_sum_to_the_degrees_of_freedom(rng: np.random.Generator) -> None:
    """Theorem: the trace of the matrix that makes misfits of errors is rows less unknowns that are held."""
    for points in (3, 5, 8):
        given, places = _full(rng, points)
        found = precision_of(given, settled_at(given, given.unknowns_at(places)))
        rows = points * (points - 1) // 2 + 1
        assert np.sum(found.redundancy) == pytest.approx(rows - (2 * points - 2), abs=1e-6)
        assert np.all((found.redundancy >= 0.0) & (found.redundancy <= 1.0))
        np.testing.assert_allclose(found.tied @ found.tied, found.tied, atol=1e-9)


def test_an_error_shows_as_its_redundancy_says(rng: np.random.Generator) -> None:
    """To first order 1 mm too much on one tape leaves its redundancy, in mm, as misfit of that tape."""
    given, places = _full(rng, 6, off_mm=False)
    start = given.unknowns_at(places)
    found = precision_of(given, settled_at(given, start))
    for i in (0, 4, 11):
        off = np.zeros(15)
        off[i] = 0.1
        wrong = network(6, distances(places, combinations(range(6), 2), off), level(places))
        at = settled_at(wrong, start)
        assert -at.residuals[i] == pytest.approx(0.1 * found.redundancy[i], abs=5e-4)
        np.testing.assert_allclose(-at.residuals[:15], 0.1 * found.tied[:15, i], atol=5e-4)


def _laman_rigid(points: int, pairs: list[tuple[int, int]]) -> bool:
    """Laman 1970: rigid in a generic place if among the bars are 2 n - 3 of which no k points share over 2 k - 3."""
    need = 2 * points - 3

    def independent(chosen: tuple[tuple[int, int], ...]) -> bool:
        return all(
            sum(a in part and b in part for a, b in chosen) <= 2 * size - 3
            for size in range(2, points + 1)
            for part in map(set, combinations(range(points), size))
        )

    return any(independent(chosen) for chosen in combinations(pairs, need)) if len(pairs) >= need else False


def test_loose_points_by_lamans_count(rng: np.random.Generator) -> None:
    """Distance networks of 5 points, drawn; the reference counts bars and knows no numbers."""
    every, rigid, loose = list(combinations(range(5), 2)), 0, 0
    for _ in range(60):
        places = scattered(rng, 5)
        chosen = [every[i] for i in sorted(rng.permutation(10)[: int(rng.integers(6, 10))])]
        given = network(5, distances(places, chosen), level(places))
        found = bool(precision_of(given, settled_at(given, given.unknowns_at(places))).undetermined.any())
        assert found != _laman_rigid(5, chosen), chosen
        rigid, loose = rigid + (not found), loose + found
    assert min(rigid, loose) >= 10


def test_which_points_are_loose_as_the_null_space_says(rng: np.random.Generator) -> None:
    """scipy.linalg.null_space of the distances' slopes: what moves in any of its directions is loose."""
    every = list(combinations(range(6), 2))
    for _ in range(40):
        places = scattered(rng, 6)
        chosen = [every[i] for i in sorted(rng.permutation(15)[: int(rng.integers(4, 11))])]
        given = network(6, distances(places, chosen), level(places))
        at = settled_at(given, given.unknowns_at(places))
        scale = np.maximum(np.abs(at.jacobian).max(axis=1, keepdims=True), 1e-12)
        moves = null_space((at.jacobian / scale)[:, 2:], rcond=1e-9)
        expected = np.abs(moves).reshape(5, -1).max(axis=1, initial=0.0) > 1e-6
        found = precision_of(given, at).undetermined
        assert not found[0]
        assert found[1:].tolist() == expected.tolist()


def test_nothing_measured() -> None:
    given = network(2, level(np.array(((0.0, 0.0), (9.0, 0.0)))))
    found = precision_of(given, settled_at(given, given.unknowns_at(np.array(((0.0, 0.0), (9.0, 0.0))))))
    assert found.undetermined.tolist() == [False, True]
    assert found.redundancy == pytest.approx([0.0], abs=1e-9)
