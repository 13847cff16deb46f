"""Which corners of an outline are left; which outline of several is taken stands with the formats."""

from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.ops
from hypothesis import given
from hypothesis import strategies as st

from beltplan.geometry import shapes
from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import chained
from beltplan.outlines.drawing import LARGEST, Wrong, WrongDrawing, counted, number_of, plain_number
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


# Numbers of drawings by our own rules, and faults that are counted where they are many.


@for_each(("5", 5.0), (" -.5 ", -0.5), ("1.", 1.0), ("+2.5E-3", 0.0025), ("1e9", LARGEST), ("-1e9", -LARGEST))
def test_numbers(text: str, value: float) -> None:
    assert number_of(text, 1, "x") == plain_number(text) == value


@for_each("", "nan", "inf", "1_0", "0x1", "1,5", "1e", "٣", "--1", "1 2")
def test_no_numbers(text: str) -> None:
    assert plain_number(text) is None
    with pytest.raises(WrongDrawing) as caught:
        number_of(text, 8, "x")
    (wrong,) = caught.value.wrong
    assert (wrong.got, wrong.allowed, wrong.line) == (f"{text!r} as x", "a number", 8)


@for_each("1.01e9", "-1.01e9", "1e400")
def test_too_large(text: str) -> None:
    with pytest.raises(WrongDrawing, match="at most 1e"):
        number_of(text, 1, "x")


@pytest.mark.parametrize(("count", "told", "last"), [(20, 20, "fault 19"), (21, 21, "1 more fault in the drawing")])
def test_many_faults_are_counted(count: int, told: int, last: str) -> None:
    with pytest.raises(WrongDrawing) as caught:
        WrongDrawing.refuse([Wrong(f"fault {n}", "none", n) for n in range(count)])
    assert len(caught.value.wrong) == told and caught.value.wrong[-1].got == last


def test_many_words_are_counted() -> None:
    assert counted("abc", 3) == "a, b, c" and counted("abcd", 3) == "a, b, c, and 1 more" and counted([]) == ""


# Loose lines put together, against shapely's merging of lines, and the tolerance from both sides.


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
