"""A bound judges arrays value by value, and the tally of places keeps the worst."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.checks.limits import LIMITS, NONE, PROBLEM, Bound, Kind
from beltplan.place.judge import Tally
from tests.for_each import for_each

BOUNDS = [*LIMITS.values(), Bound("lower", 0.0, "mm", "own"), Bound("upper", 0.0, "mm", "own")]
SHARES = np.array([-0.5, 0.0, 0.5, 0.79, 0.9, 0.9091, 0.95, 0.999, 1.0, 1.001, 1.05, 1.0999, 1.1, 1.2, 2.0, 2.5])


@for_each(*BOUNDS, ids=lambda bound: f"{bound.kind} {bound.limit:g} {bound.unit}")
def test_arrays_are_judged_value_by_value(bound: Bound) -> None:
    values = SHARES * (bound.limit or 1.0)
    tally = Tally(len(values), ("it",))
    tally.judge(values, bound, "it")
    np.testing.assert_array_equal(bound.severity(values.reshape(4, 4)).ravel(), tally.severity)
    for value, severity in zip(values, tally.severity, strict=True):
        verdict = bound.verdict(float(value))
        assert [None, "caution", "problem"][severity] == (verdict and verdict[0])


@pytest.mark.parametrize(("kind", "value"), [("lower", 8.0), ("upper", 12.0)])
def test_a_shortfall_is_the_margin_beyond_the_limit(kind: Kind, value: float) -> None:
    bound = Bound(kind, 10.0, "mm", "own")
    np.testing.assert_allclose(bound.shortfall(np.array([value, 10.0, 20.0 - value])), [0.2, 0.0, 0.0])
    np.testing.assert_allclose(bound.margin(np.array([value, 10.0, 20.0 - value])), [-0.2, 0.0, 0.2])
    # Of a limit of nothing there is no share: what is beyond it counts by itself.
    assert Bound("lower", 0.0, "mm", "own").shortfall(np.array([-1.0, 1.0])).tolist() == [1.0, 0.0]


@pytest.mark.parametrize("kind", ["lower", "upper"])
def test_at_the_very_limit(kind: Kind) -> None:
    """A limit holds at its own number, unless it is said to be reached there; what is no number never holds."""
    just = np.array([10.0, np.nan])
    held, reached = (Bound(kind, 10.0, "mm", "own", caution=10.0, reached=reached) for reached in (False, True))
    assert held.severity(just).tolist() == [NONE, PROBLEM] and reached.severity(just).tolist() == [PROBLEM, PROBLEM]


def test_the_smallest_margin_keeps_its_name() -> None:
    """Lower limit 10: 15 has half a limit in hand, 11 a tenth, 8 lacks a fifth."""
    bound, tally = Bound("lower", 10.0, "mm", "own"), Tally(3, ("first", "second"))
    tally.judge(np.array([15.0, 11.0, 8.0]), bound, "first")
    tally.judge(np.array(12.0), bound, "second")
    np.testing.assert_allclose(tally.margin, [0.2, 0.1, -0.2])
    assert [tally.names[i] for i in tally.worst] == ["second", "first", "first"]
    np.testing.assert_allclose(tally.own_margin, [0.5, 0.1, -0.2])
    assert tally.severity.tolist() == [NONE, NONE, PROBLEM]


def test_what_has_no_name_counts_for_no_margin() -> None:
    tally = Tally(1, ())
    tally.judge(np.array([9.0]), Bound("lower", 10.0, "mm", "own"))
    assert tally.severity[0] == PROBLEM and tally.worst[0] == -1 and np.isinf(tally.margin[0])
