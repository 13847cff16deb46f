"""Widths of text against the font file itself."""

from dataclasses import replace
from pathlib import Path

import matplotlib
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.ft2font import FT2Font, LoadFlags

from beltplan.picture.labels import Anchor, KeepOut, areas_of, clear_pieces, hits, lies_inside, place
from beltplan.picture.scene import circle, one_line, text_width_pt, wrapped
from tests.for_each import for_each

FONTS = Path(matplotlib.get_data_path(), "fonts", "ttf")
WORDS = ["crank", "alternator with the big fan", "Kühlwasserpumpe", "WWW 100 %", "wrap 151\N{DEGREE SIGN}", "lili/(1)"]


def font_width_em(text: str, file: str) -> float:
    """Sum of the advance widths in the font file, read by FreeType."""
    font = FT2Font(str(FONTS / file))
    advance = [font.load_char(ord(letter), flags=LoadFlags.NO_SCALE).horiAdvance for letter in text]
    return float(sum(advance)) / 2048.0


@for_each(*WORDS)
def test_plain_widths_are_those_of_the_font(text: str) -> None:
    assert text_width_pt(text, 10.0) == pytest.approx(10.0 * font_width_em(text, "DejaVuSans.ttf"), rel=1e-9)


@for_each(*WORDS)
def test_bold_widths_are_those_of_the_font(text: str) -> None:
    width = 10.0 * font_width_em(text, "DejaVuSans-Bold.ttf")
    assert text_width_pt(text, 10.0, True) == pytest.approx(width, rel=1e-9)


def test_letters_that_the_font_lacks_have_room() -> None:
    assert text_width_pt("\u6c34", 10.0) >= 10.0


def test_wrapped_lines_hold_every_word_and_keep_to_the_width() -> None:
    text = "lead the belt further round it with an idler beside it"
    lines = wrapped(text, 90.0, 9.0)
    assert " ".join(lines) == text
    assert all(text_width_pt(line, 9.0) <= 90.0 for line in lines) and len(lines) > 2


def test_a_word_too_long_is_cut() -> None:
    lines = wrapped("m" * 50, 60.0, 9.0)
    assert "".join(lines) == "m" * 50
    assert all(text_width_pt(line, 9.0) <= 60.0 for line in lines)


def test_a_word_too_long_is_cut_at_a_joint_and_goes_on_with_the_next() -> None:
    lines = wrapped("engine_bearer_right of it", 80.0, 9.0)
    assert lines == ("engine_bearer_", "right of it")


def test_no_number_is_torn_from_its_unit() -> None:
    for width in range(40, 200, 5):
        lines = wrapped("it is 12 mm long and 45 deg wide at 800 rpm", float(width), 9.0)
        assert not any(line.startswith(("mm", "deg", "rpm")) for line in lines)
        assert " ".join(lines) == "it is 12 mm long and 45 deg wide at 800 rpm"


def test_line_breaks_and_control_letters_go() -> None:
    assert one_line("a\nb\t\x07c") == "a b c" and one_line("set `side: back`") == "set 'side: back'"


# Placing of labels against shapely's distances.


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


def test_a_label_stands_not_beside_a_small_thing_that_it_does_not_name() -> None:
    """A hole where the label of a disc would stand: it goes on round its own; round a larger thing it stays near."""
    anchor, hole = Anchor((0.0, 0.0), 20.0, 0.5 * np.pi), circle((-45.0, 26.0), 6.0)
    small, large = (
        place(replace(NONE, areas=areas_of([outline])), (anchor,), 60.0, 12.0)[0]
        for outline in (hole, hole + np.where(hole > hole.mean(axis=0), 0.0, -40.0))
    )
    own, other = shapely.Point(0.0, 0.0).buffer(20.0), shapely.Polygon(hole)
    assert shapely.box(*small).distance(other) > 20.0 > shapely.box(*large).distance(other)
    assert shapely.box(*small).distance(own) < 10.0 and shapely.box(*large).distance(own) < 10.0


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
