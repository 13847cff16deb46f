"""Strokes of a template: true to the parts they are made of, and cut exactly at the edges of a sheet."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiPoint

from beltplan.drawing.content import (
    COLUMNS,
    DRAWN_LAYERS,
    HEIGHT_MM,
    Content,
    bounds_of,
    counts_of,
    decimal,
    edges_of,
    extent_of,
    labels_of,
    rows_of,
)
from beltplan.drawing.control import control_words, controls_of
from beltplan.drawing.strokes import CROSS_MM, cut, drawing_of, window_items
from beltplan.drawing.study import CHORD_ERROR_MM, LAYERS, Arc, Line, Outline, Part, Ring, Spot, points_along
from beltplan.drive.route import Route
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Shape, Stroke
from tests.drawing import exports
from tests.for_each import for_each
from tests.picture.drives import BUILT, railcar, two_pulleys

COORDINATE = st.floats(-100.0, 100.0).map(lambda value: round(value, 3))
POINTS = st.lists(st.tuples(COORDINATE, COORDINATE), min_size=2, max_size=20)
WHOLE = Pen("#000000", 0.5)
DASHED = Pen("#000000", 0.5, (5.0, 3.0))


@given(POINTS, st.tuples(COORDINATE, COORDINATE), st.floats(1.0, 120.0), st.floats(1.0, 120.0))
def test_pieces_are_what_shapely_cuts_out(
    points: list[tuple[float, float]], corner: tuple[float, float], width: float, height: float
) -> None:
    chain = np.array(points)
    box = (*corner, corner[0] + width, corner[1] + height)
    pieces = cut(Stroke(chain, WHOLE), box)
    steps = [shapely.LineString(step) for step in np.stack((chain[:-1], chain[1:]), axis=1)]
    wanted = sum(step.intersection(shapely.box(*box)).length for step in steps)
    drawn = sum(float(np.hypot(*np.diff(piece.points, axis=0).T).sum()) for piece in pieces)
    # A step along an edge of the box counts with both or with neither.
    on_edge = sum(step.intersection(shapely.box(*box).boundary).length for step in steps)
    assert wanted - on_edge - 1e-6 <= drawn <= wanted + 1e-6
    for piece in pieces:
        assert shapely.box(*box).buffer(1e-6).covers(shapely.LineString(piece.points))
        assert shapely.LineString(points).distance(shapely.Point(piece.points[0])) < 1e-6


def test_a_line_through_a_box_goes_in_and_out_where_it_should() -> None:
    (piece,) = cut(Stroke(np.array([(-10.0, 5.0), (30.0, 5.0)]), WHOLE), (0.0, 0.0, 20.0, 10.0))
    assert piece.points == pytest.approx(np.array([(0.0, 5.0), (20.0, 5.0)]))


def test_a_chain_that_leaves_and_comes_back_is_two_pieces() -> None:
    chain = np.array([(5.0, 5.0), (25.0, 5.0), (25.0, 8.0), (5.0, 8.0)])
    pieces = cut(Stroke(chain, WHOLE), (0.0, 0.0, 20.0, 10.0))
    assert [piece.points.tolist() for piece in pieces] == [[[5.0, 5.0], [20.0, 5.0]], [[20.0, 8.0], [5.0, 8.0]]]


def test_a_chain_inside_stays_as_it_is_and_one_outside_is_gone() -> None:
    chain = np.array([(1.0, 1.0), (2.0, 4.0), (9.0, 4.0)])
    (piece,) = cut(Stroke(chain, WHOLE), (0.0, 0.0, 20.0, 10.0))
    assert piece.points.tolist() == chain.tolist()
    assert cut(Stroke(chain, WHOLE), (30.0, 0.0, 40.0, 10.0)) == []


def test_dashes_go_on_where_the_last_sheet_stopped() -> None:
    """A line of 40 mm cut at 15 mm: the second piece begins 15 mm into its dashes."""
    line = Stroke(np.array([(0.0, 5.0), (40.0, 5.0)]), DASHED)
    first, second = (cut(line, box)[0] for box in ((0.0, 0.0, 20.0, 10.0), (15.0, 0.0, 60.0, 10.0)))
    assert first.pen.phase_pt == 0.0
    assert second.pen.phase_pt == pytest.approx(15.0 * 72.0 / 25.4)


@for_each(0.5, 30.0, 95.0, 1000.0)
def test_arcs_are_drawn_as_near_as_is_said(radius: float) -> None:
    """The middle of a chord of angle a lies r (1 - cos(a / 2)) inside its arc."""
    points = points_along(Arc("belt_line", "a", (10.0, -20.0), radius, 0.3, -2.5))
    away = np.hypot(*(points - (10.0, -20.0)).T)
    middles = np.hypot(*(0.5 * (points[1:] + points[:-1]) - (10.0, -20.0)).T)
    assert away == pytest.approx(radius)
    assert (radius - middles).max() <= CHORD_ERROR_MM * 1.01 < 0.01
    ends = 10.0 + radius * np.cos([0.3, -2.2]), -20.0 + radius * np.sin([0.3, -2.2])
    assert points[[0, -1]] == pytest.approx(np.transpose(ends))


def test_closed_parts_come_back_to_their_first_point() -> None:
    ring = points_along(Ring("pulleys", "r", (0.0, 0.0), 50.0))
    area = points_along(Outline("obstacles", "o", ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))))
    line = points_along(Line("belt_line", "l", (0.0, 0.0), (3.0, 4.0)))
    assert ring[0] == pytest.approx(ring[-1]) and area.tolist()[-1] == [0.0, 0.0] and len(area) == 4
    assert line.tolist() == [[0.0, 0.0], [3.0, 4.0]]


@for_each(*BUILT.values(), ids=BUILT)
def test_every_fixed_centre_has_a_dot_and_what_moves_has_none(make: Callable[[], Route]) -> None:
    route = make()
    drawing = drawing_of(route)
    dots = {spot.name for spot in drawing.dots}
    assert {p.name for p in route.layout.pulleys.values() if p.at_mm is not None} <= dots
    assert route.moving is None or route.moving.name not in dots


def test_pivot_of_an_arm_and_ends_of_a_slot_are_punched_but_not_the_stops_of_an_arm() -> None:
    arm, slot = ({spot.name for spot in drawing_of(make()).dots} for make in (railcar, two_pulleys))
    assert "tensioner pivot" in arm and "tensioner at the short stop" not in arm
    assert {"dynamo at the short stop", "dynamo at the long stop"} <= slot


def test_a_window_shows_dots_that_are_inside_alone_and_fills_nothing_else() -> None:
    drawing = drawing_of(railcar())
    items = window_items(drawing, (-20.0, -20.0, 20.0, 20.0))
    shapes = [item for item in items if isinstance(item, Shape)]
    assert [shape.name for shape in shapes] == ["dot crank"]
    crosses = [item for item in items if isinstance(item, Stroke) and item.name == "cross crank"]
    assert [float(np.hypot(*(c.points[1] - c.points[0]))) for c in crosses] == [2.0 * CROSS_MM] * 2


# How far parts reach, by shapely; and that words stand clear of the marks that they name.


ANGLES = st.floats(-8.0, 8.0)


@given(start=ANGLES, sweep=st.floats(-math.tau, math.tau))
def test_an_arc_reaches_as_far_as_its_points(start: float, sweep: float) -> None:
    """Shapely's bounds of 2000 points on it: 30 mm (1 - cos(tau / 4000)) is less than 1e-4 mm, chords leave 0.002."""
    arc = Arc("adjuster", "a", (5.0, -7.0), 30.0, start, sweep)
    drawn = LineString([arc.place_at(float(share)) for share in np.linspace(0.0, 1.0, 2001)])
    assert np.ravel(bounds_of([arc])) == pytest.approx(drawn.bounds, abs=2.1e-3)


def test_other_parts() -> None:
    assert np.ravel(bounds_of([Ring("pulleys", "a", (1.0, 2.0), 3.0)])) == pytest.approx((-2.0, -1.0, 4.0, 5.0))
    assert bounds_of([Spot("centres", "a", (1.0, 2.0))]) == ((1.0, 2.0), (1.0, 2.0))
    assert bounds_of([Line("belt_line", "a", (1.0, 9.0), (4.0, 2.0))]) == ((1.0, 2.0), (4.0, 9.0))
    corners = ((0.0, 1.0), (5.0, -2.0), (3.0, 8.0))
    assert np.ravel(bounds_of([Outline("obstacles", "a", corners)])) == pytest.approx(MultiPoint(corners).bounds)


@for_each(*exports.contents()[:9], ids=lambda content: content.heading)
def test_notes_stand_one_under_another_below_all_parts(content: Content) -> None:
    notes = [label for label in labels_of(content) if label.layer == "notes"]
    heights = [label.at_mm[1] for label in notes]
    assert all(above - below >= HEIGHT_MM for above, below in pairwise(heights))
    assert heights[0] + HEIGHT_MM < bounds_of(content.parts)[0][1]
    assert extent_of(content)[0][1] < heights[-1]


@for_each(*exports.contents()[:9], ids=lambda content: content.heading)
def test_every_pulley_obstacle_and_pivot_has_its_name_once(content: Content) -> None:
    names = sorted(label.text for label in labels_of(content) if label.layer == "names")
    wanted = {part.name for part in content.parts if part.layer in ("pulleys", "obstacles", "centres", "marks")}
    assert names == sorted(wanted)


# Numbers of parts: digits, nothing minus, nothing that is not finite; lengths of every kind of part.


SQUARE = Outline("obstacles", "s", ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)))
"""A triangle of 3, 4 and 5 mm, Pythagoras."""


@given(st.floats(-1e7, 1e7))
def test_digits_come_back(value: float) -> None:
    text = decimal(value)
    assert abs(float(text) - value) <= 5.1e-11 + abs(value) * 1e-15
    assert "e" not in text and (float(text) != 0.0 or not text.startswith("-"))


@for_each(math.nan, math.inf, -math.inf)
def test_no_file_holds_what_is_not_finite(value: float) -> None:
    with pytest.raises(ValueError, match="no file"):
        decimal(value)
    with pytest.raises(ValueError, match="no file"):
        list(rows_of(Spot("centres", "a", (0.0, value))))


@for_each(
    (Line("belt_line", "a", (0.0, 0.0), (3.0, 4.0)), 5.0),
    (Arc("belt_line", "a", (0.0, 0.0), 2.0, 1.0, -math.pi), 2.0 * math.pi),
    (Ring("pulleys", "a", (0.0, 0.0), 2.0), 4.0 * math.pi),
    (Spot("centres", "a", (0.0, 0.0)), 0.0),
    (SQUARE, 12.0),
)
def test_lengths(part: Part, length: float) -> None:
    """Plane geometry."""
    assert counts_of([part])[part.layer][1] == pytest.approx(length)
    assert all(tuple(row) == COLUMNS for row in rows_of(part))


def test_edges_close_an_outline() -> None:
    edges = list(edges_of(SQUARE))
    assert edges[-1] == ((4.0, 3.0), (0.0, 0.0)) and len(edges) == 3


def test_counts_by_layer() -> None:
    counts = counts_of((SQUARE, SQUARE, Spot("centres", "a", (0.0, 0.0))))
    assert counts["obstacles"] == pytest.approx((2, 24.0)) and counts["centres"] == (1, 0.0)
    assert counts["belt_line"] == (0, 0.0) and tuple(counts) == LAYERS


def test_layers_are_those_of_the_drawing_and_two_of_words() -> None:
    """DXF reference, release 12: names of letters, digits, dollar, hyphen and underline, at most 31 of them."""
    names = [layer.name for layer in DRAWN_LAYERS]
    assert names == [*LAYERS, "names", "notes"]
    assert all(len(name) <= 31 and name.isascii() and name.replace("_", "").isalnum() for name in names)
    assert all(layer.meaning for layer in DRAWN_LAYERS)


# Distances to be measured on a print: by Pythagoras (3, 4, 5), the longest first.


DOTS = [Spot("centres", "a", (0.0, 0.0)), Spot("centres", "b", (300.0, 0.0)), Spot("centres", "c", (0.0, 400.0))]
DOTS += [Spot("centres", "d", (0.0, 10.0))]


def test_the_longest_come_first_and_no_more_than_asked() -> None:
    told = control_words(controls_of(DOTS, 3), "mm")
    assert told.startswith("Measure before you punch, from dot to dot: b to c 500.0 mm; a to c 400.0 mm; ")
    assert told.count(" to ") == 4


def test_of_some_points_every_distance_has_one_of_them() -> None:
    """An inch is 25.4 mm: 400 and 300 mm are 15.748 and 11.811 in."""
    told = control_words(controls_of(DOTS, 2, {"a"}), "in")
    assert told == "Measure before you punch, from dot to dot: a to c 15.748 in; a to b 11.811 in."


def test_one_dot_has_no_distance() -> None:
    assert control_words(controls_of(DOTS[:1], 3), "mm") == ""
