"""Drawn layouts: the errors have the spread asked for, the same seed gives the same draws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.tolerance.measurements import measurements_of
from tests.drive.drives import railcar
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, NO_ERRORS, drawn_of


@for_each(*DRIVES)
def test_errors_have_the_deviation_asked_for(name: str) -> None:
    """Within five of their own sampling errors: deviation / sqrt(2 N) and deviation / sqrt(N)."""
    count = 4000
    route, drawn, _ = drawn_of(DRIVES[name](), count)
    for each in measurements_of(route):
        if each.part in ("x", "y"):
            off = (
                drawn.centre[each.index][:, "xy".index(each.part)]
                - route.circuit.centre[each.index]["xy".index(each.part)]
            )
            assert float(off.std()) == pytest.approx(each.deviation, rel=5.0 / np.sqrt(2 * count))
            assert abs(float(off.mean())) < 5.0 * each.deviation / np.sqrt(count)


def test_a_rim_reading_draws_the_line_from_the_profiles_range_and_leaves_the_metal_alone() -> None:
    given = replace(DRIVES["by rim"](), uncertainty=NO_ERRORS)
    route, drawn, _ = drawn_of(given, 4000)
    i = [p.name for p in route.pulleys].index("pump")
    least, most = given.belt.profile.rim_range_mm
    line = 2.0 * drawn.radius[i]
    assert 129.6 - most <= line.min() < line.max() <= 129.6 - least
    assert float(np.ptp(line)) > 0.98 * (most - least)
    assert np.ptp(drawn.rim[i]) == 0.0 and drawn.rim[i, 0] == pytest.approx(129.6 / 2.0)


def test_same_seed_same_draws() -> None:
    (_, first, place), (_, again, again_place), (_, other, _) = (drawn_of(railcar(), 50, seed) for seed in (3, 3, 5))
    np.testing.assert_array_equal(first.centre, again.centre)
    np.testing.assert_array_equal(place, again_place)
    assert not np.array_equal(first.centre, other.centre)
