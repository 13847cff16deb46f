"""Loose lines put together, against shapely's merging of lines, and the tolerance from both sides."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import shapely.ops
from hypothesis import given
from hypothesis import strategies as st

from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import chained
from tests.for_each import for_each

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])


def edges(corners: Floats) -> list[Floats]:
    """The edges of a closed outline."""
    return [np.stack((corners[i], corners[(i + 1) % len(corners)])) for i in range(len(corners))]


@given(st.integers(0, 10_000), st.integers(3, 40), st.integers(1, 4))
def test_any_order_and_direction_gives_what_shapely_merges(seed: int, count: int, rings: int) -> None:
    dice = np.random.default_rng(seed)
    lines: list[Floats] = []
    for ring in range(rings):
        angle = np.sort(dice.uniform(0.0, 2.0 * np.pi, count)) + np.linspace(0.0, 0.3, count)
        lines += edges(np.column_stack((np.cos(angle), np.sin(angle))) * 40.0 + [100.0 * ring, 0.0])
    lines = [line[:: dice.choice([1, -1])] for line in lines]
    order = dice.permutation(len(lines))
    open_ends = lines[order[0]] if seed % 2 else None
    kept = [lines[i] for i in (order if open_ends is None else order[1:])]
    chains = chained(kept, 1e-6)
    merged = shapely.ops.linemerge([shapely.LineString(line) for line in kept])
    parts = list(getattr(merged, "geoms", [merged]))
    assert len(chains.closed) == sum(part.is_closed for part in parts)
    assert len(chains.open) == sum(not part.is_closed for part in parts)
    ours = [
        *(shapely.LinearRing(line) for line, _ in chains.closed),
        *(shapely.LineString(line) for line, _ in chains.open),
    ]
    assert sum(line.length for line in ours) == pytest.approx(merged.length)
    assert shapely.union_all(ours).hausdorff_distance(merged) < 1e-9
    made_of = sorted(i for _, chain in (*chains.closed, *chains.open) for i in chain)
    assert made_of == list(range(len(kept)))


@for_each((0.99 * 0.05, 1), (1.01 * 0.05, 0))
@for_each(((1.0, 0.0),), ((0.0, -1.0),), ((-0.6, 0.8),))
def test_the_tolerance(gap: float, closed: int, way: tuple[float, float]) -> None:
    lines = edges(SQUARE)
    lines[2] = lines[2] + gap * np.array(way) * [[1.0], [0.0]]
    chains = chained(lines, 0.05)
    assert (len(chains.closed), len(chains.open)) == (closed, 1 - closed)


def test_lines_much_shorter_than_the_tolerance() -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 5_000, endpoint=False)
    ring = np.column_stack((np.cos(angle), np.sin(angle)))
    lines = edges(ring)
    order = np.random.default_rng(3).permutation(len(lines))
    chains = chained([lines[i] for i in order], 0.05)
    ((closed, _),) = chains.closed
    assert len(closed) == 5_000 and shapely.Polygon(closed).area == pytest.approx(shapely.Polygon(ring).area)


def test_a_line_drawn_twice_either_way_counts_once() -> None:
    lines = edges(SQUARE)
    arc = np.array([[0.0, 0.0], [5.0, -2.0], [10.0, 0.0]])
    assert len(chained([*lines, lines[1], lines[2][::-1]], 0.05).closed) == 1
    # Another way between the same ends is no copy, and makes a fork.
    assert len(chained([*lines, arc], 0.05).forks) == 2


def test_forks_are_told() -> None:
    lines = [*edges(SQUARE), np.array([[10.0, 10.0], [20.0, 10.0]])]
    chains = chained(lines, 0.05)
    assert chains.closed == chains.open == ()
    np.testing.assert_array_equal(chains.forks, [[10.0, 10.0]])


def test_a_line_that_ends_where_it_began_is_closed_alone() -> None:
    loop = np.vstack((SQUARE, SQUARE[:1] + 0.01))
    chains = chained([loop, np.array([[50.0, 0.0], [50.01, 0.0]])], 0.05)
    ((closed, made_of),) = chains.closed
    np.testing.assert_array_equal(closed, SQUARE)
    assert made_of == (0,)


def test_nothing_makes_nothing() -> None:
    assert chained([], 0.05).closed == chained([np.zeros((2, 2))], 0.05).open == ()


def test_many_ends_at_one_place_take_no_long_time() -> None:
    spokes = [np.array([[0.0, 0.0], [np.cos(a), np.sin(a)]]) for a in np.linspace(0.0, 6.0, 4_000)]
    assert len(chained(spokes, 1e-4).forks) == 1
