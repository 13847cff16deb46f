"""Covariances against inv(J'J) and drawn errors, redundancies, and loose points by counting (Laman 1970)."""

import math
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from scipy.linalg import null_space
from scipy.stats import binom, chi2, kstest, norm

from beltplan.geometry.vectors import Floats
from beltplan.measure.network import Network, precision_of, surveyed
from beltplan.measure.solutions import (
    CHECKED,
    FALSE_ALARM,
    POWER,
    SUSPECTED,
    Solution,
    fits,
    shows_at,
    single_limit,
    sum_limit,
)
from beltplan.measure.study import measuring_of
from tests.for_each import for_each
from tests.measure.drives import TRUE, found_places, mixed
from tests.measure.networks import distances, level, network, scattered, settled_at, solved_at

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


# Limits of misfits against the quantiles of scipy.stats, and how often chance goes beyond them.


@for_each(0.05, FALSE_ALARM, 1e-3, 1e-4)
def test_chi_squared_quantiles(chance: float) -> None:
    """One and two degrees are exact; Wilson and Hilferty's formula keeps within 4 % at three, 1.2 % from ten on."""
    for degrees in range(1, 200):
        expected = float(chi2.isf(chance, degrees))
        allowed = 1e-9 if degrees <= 2 else 0.04 if degrees < 10 else 0.012
        assert sum_limit(degrees, chance) == pytest.approx(expected, rel=allowed), degrees


def test_the_chance_is_kept_within_a_twentieth_of_itself() -> None:
    for degrees in range(1, 100):
        assert chi2.sf(sum_limit(degrees), degrees) == pytest.approx(FALSE_ALARM, rel=0.05)


@pytest.mark.parametrize("degrees", [0, -3])
def test_without_a_degree_of_freedom_there_is_no_limit(degrees: int) -> None:
    assert sum_limit(degrees) == math.inf


@pytest.mark.parametrize("readings", [1, 7, 40])
@pytest.mark.parametrize("degrees", [1, 2])
def test_the_limit_of_any_one_reading(readings: int, degrees: int) -> None:
    """Readings that nothing ties together go beyond it, any of them, with a chance of 1 - (1 - a/n)^n, near to a."""
    alone = chi2.sf(single_limit(readings, degrees), degrees)
    assert alone == pytest.approx(FALSE_ALARM / readings, rel=1e-9)
    assert 1.0 - (1.0 - alone) ** readings == pytest.approx(FALSE_ALARM, rel=0.01)


@for_each(0.05, 0.3, 1.0)
def test_what_shows_shows_with_its_power(redundancy: float) -> None:
    """An error e moves the normed misfit by e sqrt(r) / s; scipy's normal says how often it then is over the limit."""
    size = shows_at(15, 2.0, redundancy)
    assert size is not None
    shifted = size * math.sqrt(redundancy) / 2.0
    assert norm.sf(math.sqrt(single_limit(15)) - shifted) == pytest.approx(POWER, abs=1e-9)


def test_what_is_hardly_checked_never_shows() -> None:
    assert shows_at(5, 1.0, 0.99 * CHECKED) is None
    assert shows_at(5, 1.0, 1.01 * CHECKED) is not None
    assert shows_at(5, 1.0, math.nan) is None


# Hundreds of drawings of noisy readings: errors, residuals and alarms are as the deviations say, by scipy.stats.


@cache
def _draws() -> tuple[Solution, ...]:
    """400 drawings of the mixed readings, settled from the true places: what `measuring_of` finds, but quicker."""
    ends = []
    for seed in range(400):
        survey = surveyed(mixed(np.random.default_rng(seed)))
        ends.append(solved_at(survey, survey.unknowns_at(TRUE)))
    return tuple(ends)


def test_the_drawings_are_what_measuring_finds() -> None:
    for seed in range(2):
        found, end = measuring_of(mixed(np.random.default_rng(seed))), _draws()[seed]
        assert found.errors.fits and found.mirrors == () and found.undetermined == ()
        np.testing.assert_allclose(found_places(found.centres), end.places, atol=1e-3)
        np.testing.assert_allclose(found.covariance_mm2, end.precision.covariance[:12, :12], rtol=1e-3, atol=1e-5)
        for each, reading in zip(found.checked, end.network.readings, strict=True):
            if reading.rows == 1 and each.share is not None:
                (row,) = end.network.rows[reading]
                expected = abs(end.at.residuals[row]) / np.sqrt(end.precision.redundancy[row])
                assert each.share == pytest.approx(expected, abs=1e-3)


def test_errors_are_as_the_covariance_says() -> None:
    """Error by inverse covariance is chi-squared, of 10 coordinates. A right program fails with one set in 1000."""
    squares = []
    for end in _draws():
        error = (end.places - TRUE).reshape(-1)[2:]
        squares.append(error @ np.linalg.solve(end.precision.covariance[2:12, 2:12], error))
    assert kstest(squares, chi2(10).cdf).pvalue > 1e-3


def test_residuals_over_what_chance_makes_of_them_are_normal() -> None:
    """One row a draw, each in turn. kstest fails a right program once in 1000."""
    shares = []
    for i, end in enumerate(_draws()):
        rows = np.flatnonzero(end.precision.redundancy > CHECKED)
        row = rows[i % len(rows)]
        shares.append(end.at.residuals[row] / np.sqrt(end.precision.redundancy[row]))
    assert kstest(shares, norm.cdf).pvalue > 1e-3
    assert np.var(shares) == pytest.approx(1.0, abs=3.3 * np.sqrt(2.0 / len(shares)))


def test_the_sum_of_squares_is_as_large_as_the_degrees_of_freedom() -> None:
    """Mean of 400 chi-squared sums: its own deviation is sqrt(2 r / 400); 3.3 of them is once in 1000."""
    (r,) = {end.degrees for end in _draws()}
    assert r == 9 + 1 + 1 + 3 + 8 - (10 + 3 + 4)
    costs = [end.cost for end in _draws()]
    assert np.mean(costs) == pytest.approx(r, abs=3.3 * np.sqrt(2.0 * r / len(costs)))
    assert kstest(costs, chi2(r).cdf).pvalue > 1e-3


def test_alarms_are_as_rare_as_stated() -> None:
    """Two tests of 1 % each."""
    alarms = sum(not fits(end) for end in _draws())
    assert alarms <= binom.ppf(0.999, len(_draws()), 2.0 * FALSE_ALARM)


@for_each((4, 0.1), (7, 0.4), (10, 0.7))
def test_suspects_are_as_rare_as_stated_among_many_readings(rng: np.random.Generator, points: int, kept: float) -> None:
    """By drawn residuals, projected by numpy's QR: 3 % of good sets, most of it where readings are many.

    kept: share of that chance that is used up at least, since residuals of few readings hang together. Over 3 sigmas,
    whatever their number, would be twice as many sets of ten points.
    """
    given, places = _full(rng, points, off_mm=False)
    end = solved_at(given, given.unknowns_at(places))
    basis = np.linalg.qr(end.at.jacobian[:, given.free])[0]
    errors = rng.normal(size=(20_000, len(basis)))
    residuals = errors - (errors @ basis) @ basis.T
    free = 1.0 - np.sum(basis**2, axis=1)
    shares = np.max(np.abs(residuals[:, free > CHECKED]) / np.sqrt(free[free > CHECKED]), axis=1)
    suspected = int(np.count_nonzero(shares > end.rare))
    assert binom.ppf(1e-3, len(shares), kept * SUSPECTED) <= suspected <= binom.ppf(0.999, len(shares), SUSPECTED)
    assert points < 10 or np.mean(shares > 3.0) > 2.0 * SUSPECTED
