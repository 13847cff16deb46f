"""Limits for arrays give the verdict and margin of the scalar `Bound` that they come from, value by value."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.checks.limits import LIMITS, Bound
from beltplan.place.gaps import Tally, threshold_of

BOUNDS = [row.bound for row in LIMITS] + [Bound("lower", 0.0, "mm", "own"), Bound("upper", 0.0, "mm", "own")]
SHARES = np.array([-0.5, 0.0, 0.5, 0.79, 0.9, 0.9091, 0.95, 0.999, 1.0, 1.001, 1.05, 1.0999, 1.1, 1.2, 2.0, 2.5])


@pytest.mark.parametrize("bound", BOUNDS, ids=lambda bound: f"{bound.kind} {bound.limit:g} {bound.unit}")
def test_the_verdict_is_that_of_the_bound(bound: Bound) -> None:
    values = SHARES * (bound.limit or 1.0)
    tally = Tally(len(values), ("it",))
    tally.judge(values, threshold_of(bound), "it")
    for value, problem, caution in zip(values, tally.problem, tally.caution, strict=True):
        verdict = bound.verdict(float(value))
        assert problem == (verdict is not None and verdict[0] == "problem")
        assert (problem or caution) == (verdict is not None)


@pytest.mark.parametrize("bound", [bound for bound in BOUNDS if bound.limit], ids=lambda bound: f"{bound.limit:g}")
def test_the_margin_is_that_of_the_bound(bound: Bound) -> None:
    values = SHARES * bound.limit
    expected = [bound.margin(float(value), bound.limit) for value in values]
    np.testing.assert_allclose(threshold_of(bound).margin(values), expected, rtol=1e-12, atol=1e-12)


def test_the_smallest_margin_keeps_its_name() -> None:
    """Lower limit 10: 15 has half a limit in hand, 11 a tenth, 8 lacks a fifth."""
    threshold, tally = threshold_of(Bound("lower", 10.0, "mm", "own")), Tally(3, ("first", "second"))
    tally.judge(np.array([15.0, 11.0, 8.0]), threshold, "first")
    tally.judge(np.array(12.0), threshold, "second")
    np.testing.assert_allclose(tally.margin, [0.2, 0.1, -0.2])
    assert [tally.names[i] for i in tally.worst] == ["second", "first", "first"]
    np.testing.assert_allclose(tally.own_margin, [0.5, 0.1, -0.2])
    assert tally.problem.tolist() == [False, False, True]


def test_what_has_no_name_counts_for_no_margin() -> None:
    tally = Tally(1, ())
    tally.judge(np.array([9.0]), threshold_of(Bound("lower", 10.0, "mm", "own")))
    assert tally.problem[0] and tally.worst[0] == -1 and np.isinf(tally.margin[0])


def test_limits_with_the_same_numbers_are_one() -> None:
    first, second = (threshold_of(Bound("lower", 10.0, "mm", source)) for source in ("one", "other"))
    assert first == second and hash(first) == hash(second)
