"""Contours against plane geometry: the level line of a distance is a circle."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.picture.chart import chain_length, contour_chains, outline_chains

X, Y = np.linspace(-10.0, 10.0, 201), np.linspace(-8.0, 8.0, 161)
AWAY = np.hypot(*np.meshgrid(X, Y))


def test_a_level_line_of_distance_is_a_circle() -> None:
    (chain,) = contour_chains(X, Y, AWAY, 5.0)
    np.testing.assert_allclose(np.hypot(*chain.T), 5.0, atol=1e-3)
    assert chain_length(chain) == pytest.approx(2.0 * np.pi * 5.0, rel=1e-3)


def test_no_line_through_what_is_not_known() -> None:
    (chain,) = contour_chains(X, Y, np.where(np.meshgrid(X, Y)[0] > 0.0, AWAY, np.nan), 5.0)
    assert chain[:, 0].min() > 0.0
    assert chain_length(chain) == pytest.approx(np.pi * 5.0, rel=0.02)


@pytest.mark.parametrize("level", [-1.0, 99.0])
def test_a_level_that_is_not_reached_has_no_line(level: float) -> None:
    assert contour_chains(X, Y, AWAY, level) == []
    assert contour_chains(X, Y, np.full(AWAY.shape, np.nan), level) == []


def test_a_region_that_reaches_the_edge_is_closed() -> None:
    (chain,) = outline_chains(X, Y, np.ones(AWAY.shape, dtype=bool))
    np.testing.assert_allclose(chain[0], chain[-1])
    # Half a step of 0.1 beyond the grid on every side.
    assert np.ptp(chain[:, 0]) == pytest.approx(20.0 + 0.1) and np.ptp(chain[:, 1]) == pytest.approx(16.0 + 0.1)


def test_the_longest_line_comes_first() -> None:
    two = np.minimum(np.hypot(np.meshgrid(X, Y)[0] - 5.0, np.meshgrid(X, Y)[1]) + 1.0, AWAY + 0.0)
    lengths = [chain_length(chain) for chain in contour_chains(X, Y, two, 2.0)]
    assert len(lengths) == 2 and lengths == sorted(lengths, reverse=True)
