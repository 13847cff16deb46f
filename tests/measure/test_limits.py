"""Limits of misfits against the quantiles of scipy.stats, and how often chance goes beyond them."""

from __future__ import annotations

import math

import pytest
from scipy.stats import chi2, norm

from beltplan.measure.solutions import CHECKED, FALSE_ALARM, POWER, shows_at, single_limit, sum_limit
from tests.for_each import for_each


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
