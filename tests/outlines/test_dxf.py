"""Every kind of entity as ezdxf writes it, against ezdxf's own flattening of what it wrote, as areas in shapely."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf.math
import ezdxf.path
import numpy as np
import pytest
import scipy.interpolate
import shapely
from ezdxf.document import Drawing as DxfDocument
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.math import BSpline, closed_uniform_bspline
from ezdxf.units import conversion_factor

from beltplan.geometry.vectors import Floats
from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, circle, corners, dxf_of, new_dxf, refusal, refusals, same_shape

MIRRORED = {"extrusion": (0, 0, -1)}
CHORD_MM = 0.02
"""How far the project's chords may leave a curve (its own figure); half of it more is ezdxf's own."""


def light(space: Any) -> None:
    space.add_lwpolyline(BLOCK.tolist(), close=True)


def light_bulged(space: Any) -> None:
    points = [(0, 0, 0), (100, 0, 0.7), (100, 60, 0), (40, 60, -0.4), (0, 60, 0.2)]
    space.add_lwpolyline(points, format="xyb", close=True)


def light_mirrored(space: Any) -> None:
    points = [(0, 0, 0), (100, 0, 0.7), (100, 60, 0), (40, 60, -0.4), (0, 60, 0.2)]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=MIRRORED)


def heavy(space: Any) -> None:
    points = [(0, 0, 0), (100, 0, 1.0), (100, 60, 0), (40, 60, -0.4), (0, 60, 0.2)]
    space.add_polyline2d(points, format="xyb", close=True)


def heavy_mirrored(space: Any) -> None:
    points = [(0, 0, 0), (100, 0, 2.5), (100, 60, 0), (0, 60, 0.2)]
    space.add_polyline2d(points, format="xyb", close=True, dxfattribs=MIRRORED)


def in_space(space: Any) -> None:
    space.add_polyline3d([(x, y, 7.0) for x, y in BLOCK], close=True)


def ellipse(space: Any) -> None:
    space.add_ellipse((10, 20), major_axis=(60, 25), ratio=0.4)


def half_ellipse(space: Any) -> None:
    half = space.add_ellipse((10, 20), major_axis=(60, 25), ratio=0.4, start_param=0.5, end_param=4.0)
    space.add_line(half.end_point, half.start_point)


def half_ellipse_mirrored(space: Any) -> None:
    half = space.add_ellipse(
        (10, 20), major_axis=(60, 25), ratio=0.4, start_param=5.5, end_param=2.0, dxfattribs=MIRRORED
    )
    space.add_line(half.start_point, half.end_point)


def arc_and_line(space: Any) -> None:
    arc = space.add_arc((50, 40), 30, 300, 130)
    space.add_line(arc.start_point, arc.end_point)


def arc_mirrored(space: Any) -> None:
    arc = space.add_arc((50, 40), 30, 300, 130, dxfattribs=MIRRORED)
    space.add_line(arc.start_point, arc.end_point)


def spline_open(space: Any) -> None:
    points = [(0, 0), (30, 80), (70, -30), (100, 60), (140, 10), (150, 0)]
    space.add_open_spline(points)
    space.add_line((0, 0), (70, -120))
    space.add_line((70, -120), (150, 0))


def spline_rational(space: Any) -> None:
    points = [(0, 0), (100, -20), (140, 60), (60, 100), (-20, 70), (0, 0)]
    space.add_spline().apply_construction_tool(BSpline(points, order=4, weights=[1, 3, 0.5, 2, 1, 1]))


def spline_of_an_arc(space: Any) -> None:
    curve = BSpline.from_arc(ezdxf.math.ConstructionArc((20, 30), 55, 10, 250))
    space.add_spline().apply_construction_tool(curve)
    space.add_line(curve.control_points[0], curve.control_points[-1])


def spline_with_a_corner(space: Any) -> None:
    points = [(0, 0), (30, 50), (60, 0), (90, 50), (120, 0), (120, -60), (0, -60), (0, 0)]
    knots = [0, 0, 0, 0, 1, 1, 1, 2, 3, 3, 3, 3]
    space.add_spline().apply_construction_tool(BSpline(points, order=4, knots=knots))


CLOSED: list[Callable[[Any], None]] = [
    light, light_bulged, light_mirrored, heavy, heavy_mirrored, in_space, ellipse, half_ellipse, half_ellipse_mirrored,
    arc_and_line, arc_mirrored, spline_open, spline_rational, spline_of_an_arc, spline_with_a_corner,
]  # fmt: skip
OLD = [heavy, heavy_mirrored, in_space, arc_and_line, arc_mirrored]
"""What the version R12 of the format knows."""


def flattened_by_ezdxf(space: Any) -> Floats:
    """The outline as ezdxf draws it, its lines put together by shapely."""
    lines = []
    for entity in space:
        # A path of ezdxf has a spline only nearly.
        curve = entity if entity.dxftype() == "SPLINE" else ezdxf.path.make_path(entity)
        points = [(point.x, point.y) for point in curve.flattening(CHORD_MM / 2.0, segments=16)]
        lines.append(shapely.LineString(points))
    whole = shapely.set_precision(shapely.union_all(lines), 1e-6)
    (area,) = shapely.polygonize([whole]).geoms
    return np.array(area.exterior.coords)


CASES = [*((draw, "R2010") for draw in CLOSED), *((draw, "R12") for draw in OLD)]


@for_each(*CASES, ids=lambda value: getattr(value, "__name__", value))
def test_as_ezdxf_draws_it(tmp_path: Path, draw: Callable[[Any], None], version: str) -> None:
    document = new_dxf(version)
    draw(document.modelspace())
    read = corners(tmp_path, dxf_of(tmp_path, document), "units: mm")
    expected = flattened_by_ezdxf(readfile(tmp_path / "block.dxf").modelspace())
    # Within both programs' chords and, beyond a hundred corners, the project's thinning of 0.05 mm.
    assert same_shape(read, expected, CHORD_MM + CHORD_MM / 2.0 + (0.0 if len(read) <= 12 else 0.05))
    area, wanted = shapely.Polygon(read).area, shapely.Polygon(expected).area
    assert area == pytest.approx(wanted, rel=2e-3)


def test_a_closed_spline_over_unclamped_knots(tmp_path: Path) -> None:
    """Against scipy's B-spline between the knots where it is defined."""
    curve = closed_uniform_bspline([(0, 0), (100, -20), (140, 60), (60, 100), (-20, 70)])
    document = new_dxf()
    document.modelspace().add_spline().apply_construction_tool(curve)
    controls = np.array([(point.x, point.y) for point in curve.control_points])
    knots = np.array(curve.knots())
    places = np.linspace(knots[3], knots[len(controls)], 2000)
    expected = scipy.interpolate.BSpline(knots, controls, 3)(places)
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), expected, CHORD_MM + 0.05)


@pytest.mark.parametrize(("attributes", "x"), [({}, 30.0), (MIRRORED, -30.0)])
def test_a_circle_stays_a_circle(tmp_path: Path, attributes: dict[str, object], x: float) -> None:
    document = new_dxf()
    document.modelspace().add_circle((30, 40), 12.5, dxfattribs=attributes)
    assert circle(tmp_path, dxf_of(tmp_path, document)) == pytest.approx((x, 40.0, 25.0), rel=1e-12)
    assert circle(tmp_path, "block.dxf", "at: [1, 2], turn_deg: 90") == pytest.approx((1.0 - 40.0, 2.0 + x, 25.0))


def refused(folder: Path, draw: Callable[[Any], object]) -> tuple[str, str]:
    document = new_dxf()
    light(document.modelspace())
    draw(document.modelspace())
    fault = refusal(folder, dxf_of(folder, document))
    assert "block.dxf:" in fault.got
    return fault.got, fault.allowed


def insert(space: Any) -> None:
    space.doc.blocks.new("bracket").add_line((0, 0), (5, 5))
    space.add_blockref("bracket", (400, 0))


def fit_points(space: Any) -> None:
    space.add_spline([(400, 0), (500, 0), (500, 100)])


def wrong_knots(space: Any) -> None:
    spline = space.add_spline(degree=3)
    spline.control_points = [(0, 0), (1, 0), (1, 1), (0, 1)]
    spline.knots = [0, 1, 2]


def constant_knots(space: Any) -> None:
    spline = space.add_spline(degree=1)
    spline.control_points = [(0, 0), (1, 0)]
    spline.knots = [1, 1, 1, 1]


@for_each(
    (insert, "INSERT, which is not read", "explode the block"),
    (fit_points, "a SPLINE without control points", "control points and knots"),
    (wrong_knots, "degree 3 with 4 control points, 3 knots", "one more than points and degree"),
    (constant_knots, "a SPLINE whose knots are all the same", "knots that rise"),
    (lambda space: space.add_solid([(0, 0), (1, 0), (1, 1)]), "SOLID, which is not read", "LINE, ARC, CIRCLE"),
    (lambda space: space.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 0)}), "CIRCLE out of the plane",
     "in the x y plane"),
    (lambda space: space.add_circle((0, 0), -5), "-5 as radius of CIRCLE", "above 0"),
    (lambda space: space.add_polymesh((2, 2)), "a POLYLINE that is a mesh", "lines in the x y plane"),
)  # fmt: skip
def test_what_is_not_read(tmp_path: Path, draw: Callable[[Any], object], got: str, allowed: str) -> None:
    said, instead = refused(tmp_path, draw)
    assert got in said and allowed in instead


def test_what_draws_no_edge_is_passed_over(tmp_path: Path) -> None:
    document = new_dxf()
    space = document.modelspace()
    light(space)
    space.add_text("bracket").set_placement((500, 0))
    space.add_mtext("bracket")
    space.add_point((700, 0))
    space.add_hatch().paths.add_polyline_path([(500, 0), (600, 0), (600, 100)])
    space.add_linear_dim(base=(0, -20), p1=(0, 0), p2=(120, 0)).render()
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


def test_paper_space_and_hidden_entities_are_passed_over(tmp_path: Path) -> None:
    document = new_dxf()
    light(document.modelspace())
    document.modelspace().add_circle((900, 0), 5, dxfattribs={"invisible": 1})
    document.paperspace().add_circle((900, 0), 5)
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


def test_data_of_other_programs_in_an_entity_is_passed_over(tmp_path: Path) -> None:
    document = new_dxf()
    document.appids.new("OURS")
    bracket = document.modelspace().add_lwpolyline(BLOCK.tolist(), close=True)
    bracket.set_xdata("OURS", [(1010, (900, 900, 0)), (1040, 5.0)])
    bracket.set_app_data("OURS", [(10, (900, 900)), (42, 5.0)])
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


# A DXF as a whole: units by the format's own list, layers, loose lines, gaps, and files that are none.


# The values of $INSUNITS, from the format's reference, and the length of each in mm (SI, and 25.4 mm to the inch).
UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0}


def block(version: str = "R2010", units: int = 4, size: float = 1.0) -> DxfDocument:
    document = new_dxf(version, units)
    document.modelspace().add_lwpolyline((BLOCK * size).tolist(), close=True, dxfattribs={"layer": "Edge"})
    return document


@for_each(*UNITS.items())
def test_units_of_the_drawing(tmp_path: Path, number: int, mm: float) -> None:
    read = corners(tmp_path, dxf_of(tmp_path, block(units=number, size=1.0 / mm)))
    np.testing.assert_allclose(read, BLOCK, rtol=1e-9, atol=1e-9)


def test_the_units_we_know_are_those_of_ezdxf() -> None:
    known = [number for number in UNITS if number not in (8, 9)]  # it has no factor for millionths and thousandths
    to_mm = {number: conversion_factor(InsertUnits(number), InsertUnits.Millimeters) for number in known}
    assert to_mm == pytest.approx({number: UNITS[number] for number in known}, rel=1e-5)


def test_without_a_unit_it_is_the_layouts(tmp_path: Path) -> None:
    name = dxf_of(tmp_path, block(units=0))
    np.testing.assert_allclose(corners(tmp_path, name), BLOCK)
    np.testing.assert_allclose(corners(tmp_path, name, top="units: in\n"), BLOCK * 25.4)


def test_the_users_unit_wins_over_the_drawings(tmp_path: Path) -> None:
    np.testing.assert_allclose(corners(tmp_path, dxf_of(tmp_path, block(units=4)), "units: in"), BLOCK * 25.4)
    np.testing.assert_allclose(corners(tmp_path, dxf_of(tmp_path, block(units=1)), "units: mm"), BLOCK)


def test_an_unknown_unit_is_refused(tmp_path: Path) -> None:
    fault = refusal(tmp_path, dxf_of(tmp_path, block(units=20)))
    assert "'20' as $INSUNITS" in fault.got and "4, 5, 6" in fault.allowed
    np.testing.assert_allclose(corners(tmp_path, "block.dxf", "units: mm"), BLOCK)


def test_layers(tmp_path: Path) -> None:
    document = block()
    document.modelspace().add_circle((300, 0), 20, dxfattribs={"layer": "hose"})
    name = dxf_of(tmp_path, document)
    fault = refusal(tmp_path, name)
    assert "2 outlines, none inside another: 'Edge', 120 by 80.5 mm round (60, 40.25), 'hose', 40 by 40" in fault.got
    assert fault.allowed == "`outline` with one: Edge, hose"
    assert same_shape(corners(tmp_path, name, "outline: edge"), BLOCK)
    assert circle(tmp_path, name, "outline: HOSE") == pytest.approx((300.0, 0.0, 40.0))
    fault = refusal(tmp_path, name, "outline: hoes")
    assert fault.got == "no layer 'hoes' with an outline" and fault.allowed == "Edge, hose"


def test_two_outlines_on_one_layer(tmp_path: Path) -> None:
    document = block()
    document.modelspace().add_circle((300, 0), 20, dxfattribs={"layer": "Edge"})
    fault = refusal(tmp_path, dxf_of(tmp_path, document), "outline: Edge")
    assert "2 outlines" in fault.got and fault.allowed == "one, told by its own layer"


def test_an_unread_entity_on_another_layer_does_no_harm(tmp_path: Path) -> None:
    document = block()
    document.modelspace().add_solid([(0, 0), (1, 0), (1, 1)], dxfattribs={"layer": "other"})
    name = dxf_of(tmp_path, document)
    assert same_shape(corners(tmp_path, name, "outline: Edge"), BLOCK)
    assert "SOLID" in refusal(tmp_path, name).got


def test_holes_are_left_out(tmp_path: Path) -> None:
    document = block()
    space = document.modelspace()
    for at in ((15, 15), (100, 15), (20, 60)):
        space.add_circle(at, 4.5)
        space.add_line((at[0] - 6, at[1]), (at[0] + 6, at[1]))
    space.add_lwpolyline([(10, 30), (30, 30), (30, 50), (10, 50)], close=True)
    space.add_lwpolyline(BLOCK.tolist(), close=True)
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


def loose(gap: float, version: str = "R2010") -> DxfDocument:
    """The bracket as single lines in any order and direction, with a gap in the first corner."""
    document = new_dxf(version)
    space = document.modelspace()
    lines = [(BLOCK[i], BLOCK[(i + 1) % len(BLOCK)]) for i in range(len(BLOCK))]
    lines[0] = (lines[0][0] + (gap, 0.0), lines[0][1])
    for i in (3, 0, 5, 1, 4, 2):
        start, end = lines[i] if i % 2 else lines[i][::-1]
        space.add_line(start, end)
    return document


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_loose_lines_are_put_together(tmp_path: Path, version: str) -> None:
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, loose(0.0, version))), BLOCK)


def test_a_small_gap_is_closed_and_a_larger_one_is_named(tmp_path: Path) -> None:
    """The joining tolerance of 0.05 mm is the project's own figure."""
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, loose(0.99 * 0.05))), BLOCK, 0.05)
    fault = refusal(tmp_path, dxf_of(tmp_path, loose(1.01 * 0.05)))
    assert "an open line, with a gap of 0.0505 mm" in fault.got
    assert "(0, 0)" in fault.got and "(0.0505, 0)" in fault.got and "0.05 mm" in fault.allowed


def test_the_gap_is_told_in_the_drawings_own_unit(tmp_path: Path) -> None:
    document = loose(2.0)
    document.header["$INSUNITS"] = 1
    fault = refusal(tmp_path, dxf_of(tmp_path, document))
    assert "gap of 50.8 mm" in fault.got and "(2, 0)" in fault.got


def test_a_line_drawn_twice_counts_once(tmp_path: Path) -> None:
    document = loose(0.0)
    document.modelspace().add_line(BLOCK[1], BLOCK[0])
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


def test_lines_that_end_where_they_began_are_closed_even_if_they_touch(tmp_path: Path) -> None:
    """A polyline without its closed flag, and one inside it that begins in the same corner."""
    document = new_dxf()
    for size in (1.0, 0.4):
        points = np.vstack((BLOCK, BLOCK[:1])) * size
        document.modelspace().add_lwpolyline(points.tolist())
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)


def test_a_fork_is_refused(tmp_path: Path) -> None:
    document = loose(0.0)
    document.modelspace().add_line(BLOCK[0], BLOCK[3])
    faults = refusals(tmp_path, dxf_of(tmp_path, document))
    assert {fault.got for fault in faults} == {
        f"more than two lines that meet at {at}" for at in ("(0, 0)", "(45, 30)")
    }


def test_an_outline_that_crosses_itself_is_refused_with_the_place(tmp_path: Path) -> None:
    document = new_dxf()
    document.modelspace().add_lwpolyline([(0, 0), (100, 100), (100, 0), (0, 100)], close=True)
    fault = refusal(tmp_path, dxf_of(tmp_path, document))
    assert "crosses or touches itself near (50, 50)" in fault.got


@for_each(
    (b"", "'' where a group code stands, at block.dxf:1"),
    (b"hello\nthere\n", "'hello' where a group code stands, at block.dxf:1"),
    (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n", "ends before its EOF"),
    (b"  0\nSECTION\n  2\nHEADER\n  0\nENDSEC\n  0\nEOF\n", "no ENTITIES section"),
    (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n", "no closed outline (an empty drawing)"),
    (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n0\n40\n5\n0\nENDSEC\n0\nEOF\n", "CIRCLE without group 20"),
    (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\nx\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n", "'x' as group 10 of CIRCLE"),
    (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\nnan\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n", "'nan' as group 10"),
    (b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n1e300\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n", "'1e300' as group 10"),
    (b"0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n0\nVERTEX\n10\n0\n20\n0\n0\nENDSEC\n0\nEOF\n", "without its SEQEND"),
    (b"0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n0\nLINE\n0\nENDSEC\n0\nEOF\n", "'LINE' in a POLYLINE"),
    (b"A Binary DXF\r\n\x1a\0", "a binary DXF"),
)  # fmt: skip
def test_no_whole_text_dxf(tmp_path: Path, data: bytes, words: str) -> None:
    (tmp_path / "block.dxf").write_bytes(data)
    assert words in refusal(tmp_path, "block.dxf").got


def test_a_binary_dxf_of_another_program_is_refused_in_words(tmp_path: Path) -> None:
    block().saveas(tmp_path / "block.dxf", fmt="bin")
    fault = refusal(tmp_path, "block.dxf")
    assert fault.got == "a binary DXF" and "text form" in fault.allowed


def test_every_wrong_entity_is_named(tmp_path: Path) -> None:
    document = block()
    for x in (1, 2, 3):
        document.modelspace().add_circle((x, 0), -x)
    assert len(refusals(tmp_path, dxf_of(tmp_path, document))) == 3


def test_an_old_code_page(tmp_path: Path) -> None:
    document = block("R2000")
    document.encoding = "cp1252"
    document.modelspace().add_circle((300, 0), 20, dxfattribs={"layer": "Kühlwasser"})
    name = dxf_of(tmp_path, document)
    assert b"K\xfchlwasser" in (tmp_path / name).read_bytes()
    assert circle(tmp_path, name, "outline: Kühlwasser") == pytest.approx((300.0, 0.0, 40.0))


def test_open_lines_beside_the_outline_name_the_layers_and_those_inside_do_no_harm(tmp_path: Path) -> None:
    document = block()
    space = document.modelspace()
    space.add_line((10, 10), (30, 10), dxfattribs={"layer": "centre lines"})
    assert same_shape(corners(tmp_path, dxf_of(tmp_path, document)), BLOCK)
    space.add_line((-10, 10), (30, 12), dxfattribs={"layer": "centre lines"})
    name = dxf_of(tmp_path, document)
    fault = refusal(tmp_path, name)
    assert "an open line" in fault.got and "`outline`: its layer (Edge, centre lines)" in fault.allowed
    assert same_shape(corners(tmp_path, name, "outline: Edge"), BLOCK)


def test_many_open_lines_are_counted(tmp_path: Path) -> None:
    document = new_dxf()
    for x in range(50):
        document.modelspace().add_line((x, 0), (x, 5 + x))
    faults = refusals(tmp_path, dxf_of(tmp_path, document))
    assert len(faults) == 21 and faults[-1].got == "30 more open lines"
    assert all("a gap of 1 mm" in fault.got for fault in faults[:-1])
