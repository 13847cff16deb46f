"""Which corners of an outline are left; which outline of several is taken stands with the formats."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from beltplan.geometry import shapes
from beltplan.geometry.vectors import Floats
from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, corners, csv_of, refusal


def wavy(count: int, waves: int, noise: float = 0.0) -> Floats:
    """A traced outline of many points."""
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    radius = 60.0 + 3.0 * np.sin(waves * angle) + np.random.default_rng(2).normal(0.0, noise, count)
    return np.asarray(radius[:, None] * np.column_stack((np.cos(angle), np.sin(angle))))


def test_a_trace_of_many_points_is_thinned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """To within 0.05 mm, the project's own figure; measured by shapely, which is handed few of them to thin."""
    points, given, real = wavy(50_000, 9), list[Floats](), shapes.walked

    def walked(chain: Floats, within: float) -> Floats:
        given.append(real(chain, within))
        return given[-1]

    monkeypatch.setattr("beltplan.geometry.shapes.walked", walked)
    read = corners(tmp_path, csv_of(tmp_path, points))
    assert 100 < len(read) <= 400 and sum(map(len, given)) < 2_000
    assert shapely.LinearRing(read).hausdorff_distance(shapely.LinearRing(points)) <= 0.05


def test_a_hundred_corners_are_kept_as_they_are_and_one_more_may_be_thinned(tmp_path: Path) -> None:
    exact = wavy(100, 1)
    np.testing.assert_array_equal(corners(tmp_path, csv_of(tmp_path, exact)), exact)
    more = np.vstack((exact, 0.5 * (exact[-1:] + exact[:1])))
    assert len(corners(tmp_path, csv_of(tmp_path, more))) < 101


def test_a_rough_trace_is_drawn_coarser_and_never_smaller(tmp_path: Path) -> None:
    points = wavy(4_000, 3, noise=0.1)
    read = corners(tmp_path, csv_of(tmp_path, points))
    assert len(read) <= 400
    assert shapely.Polygon(points).difference(shapely.Polygon(read)).area < 1e-2
    assert shapely.Polygon(read).difference(shapely.Polygon(points).buffer(2.0 * 0.8)).is_empty


@for_each(44, *range(6))
def test_a_block_read_from_a_trace_keeps_all_that_it_is(tmp_path: Path, seed: int) -> None:
    """3,000 points with 0.15 mm of noise, as a laser leaves them: nothing lies outside, 1.6 mm is the most inside."""
    angle = np.linspace(0.0, 2.0 * np.pi, 3_000, endpoint=False)
    radius = 80.0 + 6.0 * np.sin(7.0 * angle) + np.random.default_rng(seed).normal(0.0, 0.15, 3_000)
    points = radius[:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    block, read = shapely.Polygon(points), shapely.Polygon(corners(tmp_path, csv_of(tmp_path, points)))
    # 1e-9 for the digits of the file.
    assert read.buffer(1e-9).covers(block) and block.buffer(1.6, quad_segs=64).covers(read)
    assert shapely.get_num_coordinates(read) <= 401


def test_too_rough_a_trace_is_refused_in_words(tmp_path: Path) -> None:
    fault = refusal(tmp_path, csv_of(tmp_path, 20.0 * wavy(9_000, 300)))
    assert "so rough that" in fault.got and "at most 400" in fault.allowed


def test_repeated_points_leave_no_edge_of_no_length(tmp_path: Path) -> None:
    read = corners(tmp_path, csv_of(tmp_path, np.repeat(BLOCK, 3, axis=0)))
    np.testing.assert_array_equal(read, BLOCK)
