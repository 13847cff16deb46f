"""A walk along a chain: what is left out lies on the chords, measured by shapely, and little enough is left."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from beltplan.geometry.shapes import flooded, walked
from beltplan.geometry.vectors import Floats
from tests.for_each import for_each

SEED = 91


def _off(points: Floats, kept: Floats) -> float:
    """The farthest that a point left out lies off the chord over it."""
    at = [int(np.flatnonzero((points == corner).all(axis=1))[0]) for corner in kept]
    parts = [(points[i : j + 1], shapely.LineString(points[[i, j]])) for i, j in pairwise(at)]
    return max(float(shapely.distance(shapely.points(part), chord).max()) for part, chord in parts)


@for_each(0.0, 0.02, 0.3, 5.0)
@for_each(0.01, 0.1, 1.0)
def test_nothing_left_out_lies_off_its_chord(rng: np.random.Generator, noise: float, within: float) -> None:
    """Smooth, noisy and quite wild chains, which turn back on themselves."""
    for _ in range(10):
        angle = np.sort(rng.uniform(0.0, 5.0, 300))
        points = 30.0 * np.stack((np.cos(angle), np.sin(angle)), axis=-1) + rng.normal(0.0, noise, (300, 2))
        kept = walked(points, within)
        assert _off(points, kept) <= within * (1.0 + 1e-9)
        np.testing.assert_array_equal(kept[[0, -1]], points[[0, -1]])


def test_a_smooth_arc_keeps_no_more_than_twice_what_it_must() -> None:
    """A chord of a circle leaves it by r (1 - cos(half)); so many chords there must be."""
    angle = np.linspace(0.0, np.pi, 20_001)
    kept = walked(100.0 * np.stack((np.cos(angle), np.sin(angle)), axis=-1), 0.02)
    least = np.pi / (2.0 * np.arccos(1.0 - 0.02 / 100.0))
    assert least <= len(kept) - 1 <= 2.0 * least


def test_a_straight_row_keeps_its_ends_and_a_turn_back_its_tip() -> None:
    out = np.stack((np.linspace(0.0, 9.0, 50), np.zeros(50)), axis=-1)
    assert walked(out, 0.1).tolist() == [[0.0, 0.0], [9.0, 0.0]]
    there_and_back = np.concatenate((out, out[-2::-1]))
    assert walked(there_and_back, 0.1).tolist()[1] == [9.0, 0.0]


def test_short_chains() -> None:
    assert walked(np.zeros((1, 2)), 0.1).tolist() == [[0.0, 0.0]]
    assert walked(np.array([[0.0, 0.0], [0.01, 0.0]]), 0.1).tolist() == [[0.0, 0.0], [0.01, 0.0]]


def test_only_what_keeps_more_corners_than_can_be_thinned_is_too_much() -> None:
    """More than 10,000 are never given on: frozen, our own. Tall teeth keep them all, a straight row only its ends."""
    across = np.arange(10_001.0)
    teeth, row = (np.stack((across, tall * (across % 2.0)), axis=-1) for tall in (50.0, 0.0))
    assert [flooded(each, 1.0) for each in (teeth[:-1], teeth, row)] == [0, 10_001, 0]
