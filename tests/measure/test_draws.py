"""Hundreds of drawings of noisy readings: errors, residuals and alarms are as the deviations say, by scipy.stats."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.stats import binom, chi2, kstest, norm

from beltplan.measure.network import surveyed
from beltplan.measure.solutions import CHECKED, FALSE_ALARM, Solution, fits
from beltplan.measure.study import measuring_of
from tests.measure.drives import TRUE, found_places, mixed
from tests.measure.networks import solved_at


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
