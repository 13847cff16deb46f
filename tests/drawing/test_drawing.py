"""A route as lines and arcs: chain, length, parallel curves, laws; distances measured by shapely, a general library.

Steiner's formula for parallel curves: at a distance b outside a simple closed curve of length L lies one of length
L + 2 pi b, whatever its shape; inside, L - 2 pi b.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon, distance, points

from beltplan.drawing.study import LAYERS, Arc, Line, Outline, Part, Ring, Spot, parts_of
from beltplan.drive.belt import parse_designation
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Slide
from beltplan.drive.route import Route, route_of
from tests.drawing import drawn_drives as drives
from tests.drive.drives import fixed, layout, on_slide, pulley, railcar, with_belt
from tests.for_each import for_each

CLOSE_MM = 1e-9
EVERY = for_each(*(drives.shipped(*each) for each in drives.SHIPPED), *drives.random_routes(), ids=lambda _: "")


def _belt(parts: Sequence[Part], layer: str) -> list[Line | Arc]:
    return [part for part in parts if part.layer == layer and isinstance(part, Line | Arc)]


def _edges(route: Route) -> tuple[list[Line | Arc], list[Line | Arc]]:
    both = _belt(parts_of(route), "belt_edges")
    return both[: len(both) // 2], both[len(both) // 2 :]


def _length(chain: Sequence[Line | Arc]) -> float:
    return math.fsum(part.length_mm for part in chain)


def _ends(part: Line | Arc) -> tuple[tuple[float, float], tuple[float, float]]:
    return (part.start_mm, part.end_mm) if isinstance(part, Line) else (part.place_at(0.0), part.place_at(1.0))


def _ring(chain: Sequence[Line | Arc], steps: int = 400) -> LinearRing:
    """The chain as a polygon of many corners: chords of an arc of 300 mm and a turn lie within 0.01 mm of it."""
    corners: list[tuple[float, float]] = []
    for part in chain:
        shares = np.linspace(0.0, 1.0, steps, endpoint=False)
        corners += [part.start_mm] if isinstance(part, Line) else [part.place_at(float(share)) for share in shares]
    return LinearRing(corners)


@EVERY
def test_lines_and_arcs_sum_to_the_path(route: Route) -> None:
    chain = _belt(parts_of(route), "belt_line")
    assert _length(chain) == pytest.approx(float(route.loop.length), abs=CLOSE_MM)
    assert [type(part) for part in chain] == [Arc, Line] * len(route.pulleys)


def test_the_path_of_two_pulleys_is_known() -> None:
    """Two equal circles of 100 mm, 300 mm apart: two spans of 300 mm and two half turns, plane geometry."""
    chain = _belt(parts_of(route_of(fixed(300.0))), "belt_line")
    assert [part.length_mm for part in chain] == pytest.approx([50.0 * math.pi, 300.0] * 2, abs=CLOSE_MM)


@EVERY
def test_each_begins_where_the_one_before_ends(route: Route) -> None:
    for chain in (_belt(parts_of(route), "belt_line"), *_edges(route)):
        for before, after in pairwise([*chain, chain[0]]):
            assert math.dist(_ends(before)[1], _ends(after)[0]) < CLOSE_MM


@EVERY
def test_no_corner_between_line_and_arc(route: Route) -> None:
    """A tangent stands square on the radius where it touches, plane geometry."""
    for chain in (_belt(parts_of(route), "belt_line"), *_edges(route)):
        for arc, line in zip(chain[::2], chain[1::2], strict=True):
            assert isinstance(arc, Arc) and isinstance(line, Line)
            along = np.subtract(line.end_mm, line.start_mm) / line.length_mm
            out = np.subtract(line.start_mm, arc.centre_mm) / arc.radius_mm
            # Counter-clockwise, the way on is a quarter turn left of the way out.
            assert np.sign(arc.sweep_rad) * np.array([-out[1], out[0]]) == pytest.approx(along, abs=1e-9)


@EVERY
def test_faces_obey_steiners_formula(route: Route) -> None:
    belt, length = route.layout.belt, float(route.loop.length)
    outer, inner = _edges(route)
    assert _length(outer) == pytest.approx(length + math.tau * belt.outer_mm, abs=1e-8)
    assert _length(inner) == pytest.approx(length - math.tau * belt.inner_mm, abs=1e-8)


@EVERY
def test_faces_lie_beside_the_line_all_along(route: Route) -> None:
    """Distances by shapely; 0.02 mm for the chords that it sees in place of arcs."""
    belt, parts = route.layout.belt, parts_of(route)
    line, (outer, inner) = _ring(_belt(parts, "belt_line")), _edges(route)
    for chain, apart in ((outer, belt.outer_mm), (inner, belt.inner_mm)):
        corners = points(np.array(_ring(chain, 20).coords))
        assert distance(corners, line) == pytest.approx(apart, abs=0.02)
    # A V-belt that is flush with its groove has its back on the line itself.
    assert belt.outer_mm == 0.0 or Polygon(_ring(outer)).contains(line)
    assert Polygon(line).contains(_ring(inner))


@EVERY
def test_the_back_runs_on_the_faces_of_smooth_pulleys(route: Route) -> None:
    """Where the back touches, the outer face has the pulley's own radius: by the meaning of the two words."""
    rims = {part.name: part.radius_mm for part in parts_of(route) if isinstance(part, Ring) and part.layer == "pulleys"}
    outer = [part for part in _edges(route)[0] if isinstance(part, Arc)]
    backs = [(arc.radius_mm, rims[arc.name]) for arc, p in zip(outer, route.pulleys, strict=True) if p.on_back]
    assert [own for own, _ in backs] == pytest.approx([rim for _, rim in backs], abs=CLOSE_MM)


@EVERY
def test_pulleys_and_centres(route: Route) -> None:
    parts = parts_of(route)
    rings = [part for part in parts if part.layer == "pulleys"]
    spots = {part.name: part.at_mm for part in parts if isinstance(part, Spot) and part.layer == "centres"}
    assert [part.name for part in rings] == [*(p.name for p in route.pulleys), *(p.name for p in route.layout.unrouted)]
    for ring in rings:
        assert isinstance(ring, Ring) and spots[ring.name] == ring.centre_mm
        at = route.layout.pulleys[ring.name].at_mm
        assert at is None or ring.centre_mm == pytest.approx(at, abs=CLOSE_MM)


def test_a_rim_is_over_the_rib_tips() -> None:
    """0.385 mm less than the effective diameter of a PK pulley, derived from the groove of ISO 9982:2021 table 2."""
    parts = parts_of(route_of(replace(fixed(), pulleys={**fixed().pulleys, "spare": pulley("spare", 0, 200, 60)})))
    radii = {part.name: part.radius_mm for part in parts if isinstance(part, Ring)}
    assert radii == pytest.approx({"crank": 49.8075, "pump": 49.8075, "spare": 29.8075})


def test_the_arm() -> None:
    """The manual's drive: pivot at -150, 215, 85 mm long, from 265 to 300 deg."""
    parts = [part for part in parts_of(route_of(railcar())) if "tensioner" in part.name and part.layer != "belt_line"]
    (swing,) = (part for part in parts if isinstance(part, Arc) and part.layer == "adjuster")
    assert (swing.centre_mm, swing.radius_mm) == ((-150.0, 215.0), 85.0)
    assert np.degrees([swing.start_rad, swing.sweep_rad]) == pytest.approx([265.0, 35.0])
    stops = [(-150.0 + 85.0 * math.cos(a), 215.0 + 85.0 * math.sin(a)) for a in np.radians([265.0, 300.0])]
    rings = [part for part in parts if isinstance(part, Ring) and part.layer == "adjuster"]
    assert [ring.radius_mm for ring in rings] == [36.0, 36.0]
    for ring, stop in zip(rings, stops, strict=True):
        assert ring.centre_mm == pytest.approx(stop, abs=CLOSE_MM)
    assert Spot("centres", "tensioner pivot", (-150.0, 215.0)) in parts
    (at,) = (part.at_mm for part in parts if isinstance(part, Spot) and part.name == "tensioner")
    assert math.dist(at, (-150.0, 215.0)) == pytest.approx(85.0)


def test_an_arm_that_swings_clockwise() -> None:
    given = railcar()
    swing = given.pulleys["tensioner"].adjuster
    assert swing is not None and swing.kind == "arm"
    back = replace(given.pulleys["tensioner"], adjuster=replace(swing, stops_rad=swing.stops_rad[::-1]))
    parts = parts_of(route_of(replace(given, pulleys={**given.pulleys, "tensioner": back})))
    (travel,) = (part for part in parts if isinstance(part, Arc) and part.layer == "adjuster")
    assert math.degrees(travel.sweep_rad) == pytest.approx(-35.0)


def test_the_slide() -> None:
    parts = [part for part in parts_of(route_of(on_slide())) if part.layer == "adjuster"]
    travel, *stops = parts
    assert travel == Line("adjuster", "generator travel", (300.0, 0.0), (360.0, 0.0))
    assert [part.centre_mm for part in stops if isinstance(part, Ring)] == [(300.0, 0.0), (360.0, 0.0)]
    assert [part.at_mm for part in stops if isinstance(part, Spot)] == [(300.0, 0.0), (360.0, 0.0)]


def test_a_fixed_drive_has_no_adjuster_and_obstacles_keep_their_shape() -> None:
    assert not [part for part in parts_of(route_of(fixed())) if part.layer in ("adjuster", "obstacles")]
    parts = parts_of(route_of(drives.with_everything()))
    assert [part for part in parts if part.layer == "obstacles"] == [
        Ring("obstacles", "hose", (400.0, 40.0), 15.0),
        Outline("obstacles", "plate", ((420, 90), (470, 95), (440, 160))),
        Outline("obstacles", "mount of spare", ((-350.0, 10.0), (-310.0, 10.0), (-330.0, 45.0))),
    ]
    assert {part.layer for part in parts} == set(LAYERS)
    order = [
        LAYERS.index(part.layer)
        for part in parts
        if part.layer.startswith("belt") or part.name in ("hose", "plate", "dowel")
    ]
    assert order == sorted(order)


def test_holes_are_circles_and_slots_closed_chains_as_long_as_their_outline() -> None:
    """A slot is a line as wide as it: shapely's buffer. Its length: two sides and a whole turn."""
    parts = [part for part in parts_of(route_of(drives.with_everything())) if part.layer in ("holes", "marks")]
    rings = {part.name: (part.centre_mm, part.radius_mm) for part in parts if isinstance(part, Ring)}
    assert rings == {
        "spare hole 1": ((-370.0, 45.0), 5.25),
        "spare hole 2": ((-290.0, 45.0), 4.0),
        "tensioner hole 1": ((-190.0, 240.0), 5.25),
    }
    assert Spot("marks", "dowel", (60.0, -45.0)) in parts
    chain = [part for part in parts if isinstance(part, Line | Arc)]
    assert {part.name for part in chain} == {"spare slot 1"} and len(chain) == 4
    for before, after in pairwise([*chain, chain[0]]):
        assert math.dist(_ends(before)[1], _ends(after)[0]) < CLOSE_MM
    assert math.fsum(part.length_mm for part in chain) == pytest.approx(2.0 * 13.0 + 9.0 * math.pi)
    stadium = LineString([(-330.0, -40.0), (-318.0, -35.0)]).buffer(4.5, quad_segs=500)
    for part in chain:
        ends = [part.start_mm, part.end_mm] if isinstance(part, Line) else [part.place_at(s) for s in (0.0, 0.3, 0.5)]
        assert all(stadium.exterior.distance(Point(at)) < 1e-4 for at in ends)


def test_a_belt_thicker_than_a_pulleys_radius_still_has_a_closed_face() -> None:
    """No belt bends so, but the drawing must not hold a negative radius: the parallel curve passes the centre."""
    given = layout(
        [pulley("crank", 0, 0, 120, role="crankshaft"), pulley("far", 300, 0, 120), pulley("peg", 150, 150, 4)], "8PL"
    )
    _, inner = _edges(route_of(given))
    (peg,) = (part for part in inner if isinstance(part, Arc) and part.name == "peg")
    assert peg.radius_mm == pytest.approx(given.belt.inner_mm - 2.0)
    assert min(part.radius_mm for part in inner if isinstance(part, Arc)) > 0.0
    for before, after in pairwise([*inner, inner[0]]):
        assert math.dist(_ends(before)[1], _ends(after)[0]) < CLOSE_MM


def test_place_along_an_arc() -> None:
    """Quarter turns of a circle of 10 mm about 1, 2."""
    arc = Arc("belt_line", "a", (1.0, 2.0), 10.0, 0.0, -math.pi)
    assert arc.length_mm == pytest.approx(10.0 * math.pi)
    assert arc.place_at(0.5) == pytest.approx((1.0, -8.0)) and arc.place_at(1.0) == pytest.approx((-9.0, 2.0))
    assert Line("belt_line", "b", (1.0, 2.0), (4.0, 6.0)).length_mm == 5.0
    assert Point(arc.place_at(0.25)).distance(Point(1.0, 2.0)) == pytest.approx(10.0)


GIVEN: tuple[Layout, ...] = (
    drives.with_everything(),
    on_slide(),
    with_belt(fixed(), profile=parse_designation("A").profile),
)


def _same(given: Layout, moved: Layout, motion: drives.Motion) -> None:
    first, second = parts_of(route_of(given)), parts_of(route_of(moved))
    assert [(type(p), p.layer, p.name) for p in first] == [(type(p), p.layer, p.name) for p in second]
    for a, b in zip(first, second, strict=True):
        assert drives.points_of(b) == pytest.approx(motion(drives.points_of(a)), abs=1e-6)
        if isinstance(a, Ring | Arc) and isinstance(b, Ring | Arc):
            assert a.radius_mm == pytest.approx(b.radius_mm, abs=1e-9)


@pytest.mark.parametrize("number", range(len(GIVEN)))
@given(angle=st.floats(-3.0, 3.0))
def test_a_turned_layout_gives_the_turned_drawing(number: int, angle: float) -> None:
    _same(GIVEN[number], drives.turned(GIVEN[number], angle), drives.turn(angle))


@pytest.mark.parametrize("number", range(len(GIVEN)))
@given(x=st.floats(-2000.0, 2000.0), y=st.floats(-2000.0, 2000.0))
def test_a_shifted_layout_gives_the_shifted_drawing(number: int, x: float, y: float) -> None:
    _same(GIVEN[number], drives.shifted(GIVEN[number], x, y), drives.shift(x, y))


@for_each(*range(len(GIVEN)))
def test_a_mirrored_layout_gives_the_mirrored_drawing(number: int) -> None:
    """The belt then runs the other way round as well, as it does when seen from behind."""
    given = drives.without_slots(GIVEN[number])
    _same(given, drives.mirrored(given), drives.mirror)


def test_a_spare_pulley_on_a_slide_shows_its_stops() -> None:
    """Not on the belt, but in the way where its slide leads it: a print that leaves it out would be trusted."""
    slide = Slide((300.0, 0.0), (300.0, 40.0))
    spare = replace(pulley("spare", 0, 0, 60), at_mm=None, adjuster=slide)
    parts = parts_of(route_of(replace(fixed(), pulleys={**fixed().pulleys, "spare": spare})))
    rings = {part.name: part.centre_mm for part in parts if isinstance(part, Ring) and part.layer == "adjuster"}
    assert rings == {"spare at the first stop": (300.0, 0.0), "spare at the second stop": (300.0, 40.0)}
