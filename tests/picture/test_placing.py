"""Placing of labels against shapely's distances."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from beltplan.picture.labels import Anchor, KeepOut, areas_of, clear_pieces, hits, lies_inside, place

HEXAGON = np.array([(40.0, 0.0), (70.0, 10.0), (75.0, 40.0), (50.0, 60.0), (20.0, 45.0), (55.0, 30.0)])
NONE = KeepOut(np.zeros((0, 3)), np.zeros((0, 2, 2)), np.zeros(0), -500.0, 500.0)
BUSY = KeepOut(
    np.array([(0.0, 0.0, 30.0), (100.0, 20.0, 20.0)]),
    np.array([((0.0, 32.0), (100.0, 42.0))]),
    np.array([3.0]),
    -200.0,
    200.0,
    areas_of([HEXAGON - np.array([40.0, 90.0])]),
    boxes=np.array([(-80.0, 40.0, -40.0, 60.0)]),
)
places = st.floats(-90.0, 90.0)
sizes = st.floats(2.0, 40.0)


def taken() -> list[shapely.Geometry]:
    """What stands on the busy keep_out, as shapely sees it."""
    discs = [shapely.Point(x, y).buffer(r, quad_segs=64) for x, y, r in BUSY.discs]
    strips = [shapely.LineString(ends).buffer(3.0) for ends in BUSY.strips]
    return [*discs, *strips, BUSY.areas[0], shapely.box(*BUSY.boxes[0])]


@given(places, places, sizes, sizes)
def test_a_free_box_meets_nothing(x: float, y: float, width: float, height: float) -> None:
    box = shapely.box(x, y, x + width, y + height)
    near = min(thing.distance(box) for thing in taken())
    hit = bool(hits(BUSY, np.array([(x, y, x + width, y + height)]), 2.0)[0])
    # Corners are kept clear a little too far: square corners round strips, outlines and boxes.
    assert hit or near >= 2.0 - 1e-2
    assert not hit or near <= 5.0 * np.sqrt(2.0) + 1e-2


@given(places, places)
def test_a_box_inside_an_area_meets_it(x: float, y: float) -> None:
    """A box too small to reach an outline is free of an area only outside."""
    keep_out, area = replace(NONE, areas=areas_of([HEXAGON])), shapely.Polygon(HEXAGON)
    if area.exterior.distance(shapely.Point(x, y)) > 0.1:
        hit = bool(hits(keep_out, np.array([(x, y, x + 0.01, y + 0.01)]), 0.01)[0])
        assert hit == area.contains(shapely.Point(x, y))


def test_inside_is_inside_with_a_gap_all_round() -> None:
    assert lies_inside((62.0, 22.0, 65.0, 25.0), HEXAGON, 1.0)
    assert not lies_inside((62.0, 22.0, 65.0, 25.0), HEXAGON, 12.0)
    assert not lies_inside((60.0, 0.0, 65.0, 25.0), HEXAGON, 0.0) and not lies_inside(
        (90.0, 0.0, 95.0, 9.0), HEXAGON, 0.0
    )


def test_on_empty_ground_the_wanted_side_is_taken() -> None:
    found, leader = place(NONE, (Anchor((10.0, 20.0), 30.0, 0.0),), 40.0, 12.0)
    assert leader is None
    assert found == pytest.approx((44.0, 14.0, 84.0, 26.0), abs=1e-3)


def test_labels_at_one_anchor_do_not_meet() -> None:
    keep_out, anchor = BUSY, Anchor((0.0, 0.0), 30.0, 1.0)
    boxes: list[shapely.Polygon] = []
    for _ in range(8):
        found, leader = place(keep_out, (anchor,), 50.0, 20.0)
        box = shapely.box(*found)
        assert all(not box.intersects(other) for other in [*boxes, *taken()])
        boxes.append(box)
        keep_out = keep_out.with_box(found)
        if leader is not None:
            assert shapely.LineString(leader).distance(box) < 1e-9
            keep_out = keep_out.with_leader(leader)


def walled(*walls: tuple[float, float, float, float]) -> KeepOut:
    """The busy place with labels that fill it."""
    return replace(BUSY, boxes=np.array(walls))


def test_where_nothing_is_free_the_label_goes_below_and_its_leader_is_broken_at_labels() -> None:
    keep_out = walled((-200.0, 0.0, 200.0, 900.0), (-200.0, -900.0, 200.0, -25.0))
    box, leader = place(keep_out, (Anchor((0.0, -12.0), 5.0, 1.0),), 50.0, 20.0)
    assert box[3] < -900.0 and leader is not None
    pieces = [shapely.LineString(piece) for piece in clear_pieces(keep_out, leader, 1.0)]
    assert len(pieces) == 2 and all(piece.length > 3.0 for piece in pieces)
    assert all(piece.distance(shapely.box(*wall)) >= 1.0 - 1e-9 for piece in pieces for wall in keep_out.boxes)


def test_a_leader_to_a_label_below_takes_the_way_that_is_free_of_labels() -> None:
    """The near way down is barred by a label 800 high; beside it, from x = 100 on, the way is free."""
    keep_out = walled((-200.0, 0.0, 200.0, 900.0), (-200.0, -900.0, 100.0, -100.0))
    _, leader = place(keep_out, (Anchor((120.0, -50.0), 5.0, 1.0),), 195.0, 500.0)
    assert leader is not None
    line = shapely.LineString(leader)
    assert not any(line.intersects(shapely.box(*wall)) for wall in keep_out.boxes[1:])
    assert len(clear_pieces(keep_out, leader, 1.0)) == 1


def test_a_leader_that_meets_no_label_is_whole() -> None:
    leader = np.array([(-150.0, 0.0), (-100.0, 10.0)])
    (piece,) = clear_pieces(BUSY, leader, 1.0)
    assert piece == pytest.approx(leader)
