"""The pulleys to move into line: against every set of pulleys, each tried by linear programming (scipy)."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given as for_any
from hypothesis import settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from beltplan.checks.alignment import shims
from beltplan.drive.layout import Layout
from tests.checks.drives import found, layout, pulley, route

CAUTION_DEG = 0.33
SIDE_MM = 200.0
PLAY_MM = SIDE_MM * math.tan(math.radians(CAUTION_DEG))
"""What a span of that length may be out of line: plane geometry; 0.33 deg: SAE 1999-01-1709, abstract (guideline)."""


def ring(*planes: float | None) -> Layout:
    """Equal pulleys at the corners of a regular polygon, so that every span is as long as a side."""
    n = len(planes)
    radius = SIDE_MM / (2.0 * math.sin(math.pi / n))
    turns = [2.0 * math.pi * i / n for i in range(n)]
    return layout(
        *(
            pulley(
                f"p{i}", "alternator" if i else "crankshaft", -radius * math.cos(at), radius * math.sin(at), plane_mm=z
            )
            for i, (at, z) in enumerate(zip(turns, planes, strict=True))
        )
    )


def shimmed(given: Layout, offsets: dict[str, float]) -> Layout:
    moved = {
        name: replace(p, plane_mm=(p.plane_mm or 0.0) + offsets.get(name, 0.0)) for name, p in given.pulleys.items()
    }
    return replace(given, pulleys=moved)


def fewest(planes: list[float], play_mm: list[float]) -> int:
    """How many pulleys besides the first must move: every set of them, smallest first, by linear programming."""
    n = len(planes)
    steps = np.eye(n) - np.roll(np.eye(n), 1, axis=1)
    for count in range(n):
        for free in combinations(range(1, n), count):
            bounds = [(None, None) if i in free else (z, z) for i, z in enumerate(planes)]
            limits = np.concatenate((play_mm, play_mm)) + 1e-9
            if linprog(np.zeros(n), np.concatenate((steps, -steps)), limits, bounds=bounds).status == 0:
                return count
    raise AssertionError("with all moved into the first one's plane, everything is straight")


def test_one_pulley_out_of_line_is_brought_back() -> None:
    assert shims(route(ring(0.0, 4.0, 0.0, 0.0))) == {"p1": pytest.approx(-4.0)}


def test_the_driver_stays_even_where_it_alone_is_out_of_line() -> None:
    assert set(shims(route(ring(5.0, 0.0, 0.0)))) == {"p1", "p2"}


def test_nothing_is_moved_where_all_is_straight_enough() -> None:
    assert shims(route(ring(0.0, 0.99 * PLAY_MM, 0.0))) == {}
    assert shims(route(ring(None, None, None))) == {}


def test_of_two_that_would_do_the_measured_one_is_moved() -> None:
    # Either of the two between leaves room enough; p2 was not measured and counts as 0.
    both = route(ring(0.0, 1.5 * PLAY_MM, None, 0.0))
    assert list(shims(both)) == ["p1"]
    assert list(shims(route(ring(0.0, None, 1.5 * PLAY_MM, 0.0)))) == ["p2"]


@settings(max_examples=60, deadline=None)
@for_any(st.lists(st.floats(-4.0, 4.0).map(lambda z: round(z, 2)), min_size=3, max_size=6))
def test_no_smaller_set_does_and_after_it_nothing_is_askew(planes: list[float]) -> None:
    given = ring(*planes)
    offsets = shims(route(given))
    assert "p0" not in offsets
    assert len(offsets) == fewest(planes, [PLAY_MM] * len(planes))
    # Right at the caution rounding decides: a hundred-thousandth of a degree is left for it.
    left = found(
        replace(shimmed(given, offsets), limits={"max_misalignment_deg": {"": 1.1 * CAUTION_DEG + 1e-5}}),
        "misalignment",
    )
    assert left == []
