"""Damped Gauss-Newton steps against scipy.optimize.least_squares, and where they must stand still."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.geometry.vectors import Floats
from beltplan.measure.least_squares import Settled, settle

Misfit = Callable[[Floats], Floats]
Rows = Callable[[Floats], tuple[Floats, Floats]]
TIME = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0])
HEIGHT = 2.5 * np.exp(-0.9 * TIME) + 0.7 + 0.01 * np.cos(40.0 * TIME)
"""A decay with a small wiggle on it: what is left at the best fit is not nought."""


def settle_at(rows: Rows, start: Floats) -> Settled:
    """From one start, by residuals and Jacobian of one set of unknowns."""

    def every(starts: Floats) -> tuple[Floats, Floats]:
        residuals, jacobians = zip(*map(rows, starts), strict=True)
        return np.array(residuals), np.array(jacobians)

    return settle(every, start[None])[0]


def _rosenbrock(x: Floats) -> Floats:
    return np.array((10.0 * (x[1] - x[0] ** 2), 1.0 - x[0]))


def _powell(x: Floats) -> Floats:
    """Powell's singular function: its slopes lose rank at the minimum (0, 0, 0, 0)."""
    return np.array(
        (x[0] + 10.0 * x[1], 5.0**0.5 * (x[2] - x[3]), (x[1] - 2.0 * x[2]) ** 2, 10.0**0.5 * (x[0] - x[3]) ** 2)
    )


def _decay(x: Floats) -> Floats:
    return np.asarray(x[0] * np.exp(-x[1] * TIME) + x[2] - HEIGHT)


def _freudenstein_roth(x: Floats) -> Floats:
    """Its sum of squares has a least value of 48.9842 at (11.41..., -0.8968...) beside nought at (5, 4).

    Source: More, Garbow and Hillstrom 1981, problem 2 (from memory); scipy's minimum is asked in the test as well.
    """
    a, b = x
    return np.array((-13.0 + a + ((5.0 - b) * b - 2.0) * b, -29.0 + a + ((b + 1.0) * b - 14.0) * b))


def _slopes(misfit: Misfit, x: Floats) -> Floats:
    steps = 1e-6 * np.maximum(1.0, np.abs(x))
    return np.column_stack(
        [(misfit(x + h * e) - misfit(x - h * e)) / (2.0 * h) for h, e in zip(steps, np.eye(len(x)), strict=True)]
    )


def _rows(misfit: Misfit) -> Callable[[Floats], tuple[Floats, Floats]]:
    return lambda x: (misfit(x), _slopes(misfit, x))


@pytest.mark.parametrize(
    ("misfit", "start"),
    [
        (_rosenbrock, (-1.2, 1.0)),
        (_rosenbrock, (30.0, -40.0)),
        (_decay, (1.0, 1.0, 0.0)),
        (_decay, (10.0, 3.0, -2.0)),
        (_freudenstein_roth, (0.5, -2.0)),
        (_freudenstein_roth, (6.0, 5.0)),
    ],
)
def test_classic_problems_as_scipy(misfit: Misfit, start: tuple[float, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    """Starts of Moré, Garbow and Hillstrom 1981 for the two named problems (from memory); scipy is the reference."""
    reference = least_squares(misfit, start, method="lm", xtol=1e-13, ftol=1e-13, gtol=1e-13)
    monkeypatch.setattr("beltplan.measure.least_squares.MOST_STEPS", 200)
    found = settle_at(_rows(misfit), np.array(start))
    np.testing.assert_allclose(found.unknowns, reference.x, rtol=1e-4, atol=1e-5)
    assert found.cost == pytest.approx(2.0 * reference.cost, rel=1e-8, abs=1e-10)


def test_a_minimum_where_the_slopes_lose_rank() -> None:
    found = settle_at(_rows(_powell), np.array((3.0, -1.0, 0.0, 1.0)))
    assert found.cost < 1e-9
    assert np.max(np.abs(found.unknowns)) < 1e-2


def test_random_linear_problems_as_lstsq() -> None:
    rng = np.random.default_rng(5)
    for _ in range(50):
        m, n = int(rng.integers(6, 20)), int(rng.integers(1, 6))
        matrix = rng.normal(size=(m, n)) * 10.0 ** rng.uniform(-3.0, 3.0, n)
        aim = rng.normal(size=m)
        found = settle_at(lambda x, a=matrix, b=aim: (a @ x - b, a), rng.normal(size=n))  # type: ignore[misc]
        best = np.linalg.lstsq(matrix, aim, rcond=None)[0]
        np.testing.assert_allclose(matrix @ found.unknowns, matrix @ best, atol=1e-6)


def test_random_curved_problems_as_scipy() -> None:
    """Sums of sines: started near a minimum both must end in it."""
    rng = np.random.default_rng(6)
    for _ in range(30):
        inner, true = rng.normal(size=(12, 3)), rng.normal(size=3)
        aim = np.sin(inner @ true) + 0.01 * rng.normal(size=12)

        def misfit(x: Floats, inner: Floats = inner, aim: Floats = aim) -> Floats:
            return np.asarray(np.sin(inner @ x) - aim)

        start = true + 0.05 * rng.normal(size=3)
        reference = least_squares(misfit, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
        np.testing.assert_allclose(settle_at(_rows(misfit), start).unknowns, reference.x, atol=1e-6)


def test_directions_nothing_depends_on_stay() -> None:
    """Only x + y counts and z not at all: x - y and z keep what they were."""

    def rows(at: Floats) -> tuple[Floats, Floats]:
        return np.array([(at[0] + at[1]) ** 2 - 9.0]), np.array([[2.0 * (at[0] + at[1])] * 2 + [0.0]])

    found = settle_at(rows, np.array((2.0, 3.0, 7.0)))
    assert found.unknowns[0] + found.unknowns[1] == pytest.approx(3.0, abs=1e-6)
    assert found.unknowns[0] - found.unknowns[1] == pytest.approx(-1.0, abs=1e-9)
    assert found.unknowns[2] == 7.0


def test_an_exact_row_does_not_drown_a_rough_one() -> None:
    """One row of slope 1e4 on a slanted direction beside rows of slope 0.05, all curved: the rough ones still count."""
    fixed, centres = np.array((300.0, 40.0)), np.array(((0.0, 0.0), (500.0, -50.0), (100.0, 400.0)))
    reads = np.array((310.0, 230.0, 400.0))
    along = np.array((0.6, 0.8))

    def misfit(x: Floats) -> Floats:
        rough = 0.05 * (np.hypot(*(x - centres).T) - reads)
        return np.concatenate(([1e4 * (along @ (x - fixed))], rough))

    found = settle_at(_rows(misfit), np.array((250.0, 120.0)))
    across = np.array((-0.8, 0.6))
    line = least_squares(lambda t: misfit(fixed + t[0] * across)[1:], [0.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    np.testing.assert_allclose(found.unknowns, fixed + line.x[0] * across, atol=1e-3)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_start_without_finite_misfit_is_given_back(bad: float) -> None:
    start = np.array((1.0, 2.0))
    found = settle_at(lambda x: (np.array([bad]), np.ones((1, 2))), start)
    assert found.unknowns.tolist() == [1.0, 2.0]
    assert not np.isfinite(found.cost)


def test_a_step_into_nowhere_is_shortened() -> None:
    """The logarithm has no value below nought; the first full step from 3 for log x = 0 would land there."""

    def rows(x: Floats) -> tuple[Floats, Floats]:
        with np.errstate(invalid="ignore"):
            return np.log(x), np.diag(1.0 / x)

    assert settle_at(rows, np.array([3.0])).unknowns[0] == pytest.approx(1.0, abs=1e-6)


def test_no_row_and_no_unknown() -> None:
    assert settle_at(lambda x: (np.zeros(0), np.zeros((0, 2))), np.ones(2)).unknowns.tolist() == [1.0, 1.0]
    assert settle_at(lambda x: (np.ones(3), np.zeros((3, 0))), np.zeros(0)).cost == 3.0
