"""Does the path cross itself? Against shapely's answer for the drawn outline, and against hand-made cases."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from beltplan.geometry.crossing import crosses, crossings, is_sound
from beltplan.geometry.loops import Loop, close_loop, outline
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools
from tests.for_each import for_each
from tests.geometry.random_loops import Circles, anyhow, crossed_by_kind, is_simple, mixed, ring

STEP_RAD = 0.02
"""A chord of this step stands at most r (1 - cos 0.01) = 0.003 mm off an arc of 60 mm."""

NEAR_MM = 0.02
"""Where growing or shrinking all discs by this changes the verdict, parts of the path all but touch."""


def _one(loop: Loop, index: int | NDArray[np.intp]) -> Loop:
    return Loop(*(getattr(loop, name)[index] for name in ("centre", "radius", "sense", "direction", "span", "wrap")))


def _simple_as_drawn(loop: Loop) -> Bools:
    drawn = [shapely.LinearRing(outline(_one(loop, k), STEP_RAD)) for k in range(len(loop.span))]
    return np.asarray(shapely.is_simple(drawn))


def _near_touch(circles: Circles) -> Bools:
    verdicts = [
        is_simple(close_loop(circles.centre, circles.radius + shift, circles.sense))
        for shift in np.linspace(-NEAR_MM, NEAR_MM, 9)
    ]
    return np.asarray(np.any(verdicts, axis=0) & ~np.all(verdicts, axis=0))


@for_each(2, 3, 4, 5, 6)
def test_random_loops_against_shapely(n: int) -> None:
    """shapely's LineString.is_simple of the drawn outline, where nothing all but touches."""
    circles = anyhow(n, 1200, n)
    near = _near_touch(circles)
    clear = circles.where(~near)
    assert near.mean() < 0.02
    drawn = _simple_as_drawn(clear.loop)
    np.testing.assert_array_equal(is_simple(clear.loop), drawn)
    assert 5 < drawn.sum() < len(drawn) - 5


@pytest.mark.parametrize("inside", [3, 5])
def test_sound_looking_loops_against_shapely(inside: int) -> None:
    """The same for rings with pressed-in idlers, nearly all of them simple."""
    circles = mixed(inside, 400, inside)
    circles = circles.where(circles.loop.exists)
    clear = circles.where(~_near_touch(circles))
    np.testing.assert_array_equal(is_simple(clear.loop), _simple_as_drawn(clear.loop))


def test_one_turn_in_sum_is_not_enough() -> None:
    """Loops that turn once and still cross themselves exist, and are not sound."""
    circles = anyhow(9, 4000, 5)
    one_turn = np.abs(circles.loop.turns - 1.0) < 1e-6
    crossed = one_turn & ~is_simple(circles.loop)
    assert crossed.sum() > 100
    assert not is_sound(circles.loop, 1.0)[crossed].any()


def test_a_crossed_two_pulley_belt_crosses_between_its_spans() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [300.0, 0.0]]), np.array([50.0, 80.0]), np.array([1.0, -1.0]))
    assert [(i, j, bool(hit)) for i, j, hit in crossings(Pieces.of(loop))] == [(0, 1, True)]
    assert not is_simple(loop)


def test_a_figure_of_eight_of_four_names_the_two_spans() -> None:
    square = np.array([[0.0, 0.0], [300.0, 0.0], [0.0, 300.0], [300.0, 300.0]])
    loop = close_loop(square, np.full(4, 20.0), np.array([1.0, 1.0, -1.0, -1.0]))
    assert [(i, j) for i, j, hit in crossings(Pieces.of(loop)) if hit and j < 4] == [(1, 3)]


def test_a_span_through_the_belt_on_another_pulley_is_found() -> None:
    # From (370, 300) to about (440, -150): through the lower right quarter of circle 1, where its belt lies.
    centre = np.array([[0.0, 0.0], [400.0, 0.0], [400.0, 300.0], [470.0, -150.0]])
    loop = close_loop(centre, np.array([40.0, 60.0, 30.0, 30.0]), np.ones(4))
    assert (2, 4 + 1) in [(i, j) for i, j, hit in crossings(Pieces.of(loop)) if hit]


def test_every_kind_of_crossing_alone_is_one_for_shapely_too() -> None:
    circles = anyhow(21, 20000, 4)
    circles = circles.where(~_near_touch(circles))
    kinds = crossed_by_kind(circles.loop)
    for kind in range(3):
        alone = np.flatnonzero(kinds[kind] & (kinds.sum(axis=0) == 1))[:200]
        assert alone.size
        assert not _simple_as_drawn(_one(circles.loop, alone)).any()


def test_a_touch_is_no_crossing() -> None:
    # A fourth disc inside just touches the lower span from above: exact contact, not a crossing.
    centre = np.array([[0.0, 0.0], [200.0, -30.0], [400.0, 0.0]])
    loop = close_loop(centre, np.array([50.0, 20.0, 50.0]), np.ones(3))
    assert loop.wrap[1] == 0.0
    assert is_sound(loop, 1.0)


def test_no_path_is_not_simple() -> None:
    loop = close_loop(np.array([[0.0, 0.0], [10.0, 0.0]]), np.array([60.0, 20.0]), np.ones(2))
    assert not is_simple(loop)
    assert not crosses(Pieces.of(loop))


def test_the_wrong_way_round_is_not_sound() -> None:
    circles = ring(4, 50, 4)
    keep = circles.where(circles.sound)
    assert is_sound(keep.loop, 1.0).all()
    assert not is_sound(keep.loop, -1.0).any()


def test_a_batch_gives_the_verdicts_of_its_members() -> None:
    loop = anyhow(11, 300, 5).loop
    every = [(i, j, np.broadcast_to(hit, len(loop.span))) for i, j, hit in crossings(Pieces.of(loop))]
    for k in range(0, len(loop.span), 7):
        alone = {(i, j) for i, j, hit in crossings(Pieces.of(_one(loop, k))) if hit}
        assert alone == {(i, j) for i, j, hit in every if hit[k]}
