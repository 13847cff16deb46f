"""Every kind of entity as ezdxf writes it, against ezdxf's own flattening of what it wrote, as areas in shapely."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf.math
import ezdxf.path
import numpy as np
import pytest
import scipy.interpolate
import shapely
from ezdxf.filemanagement import readfile
from ezdxf.math import BSpline, closed_uniform_bspline

from beltplan.geometry.vectors import Floats
from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, circle, corners, dxf_of, new_dxf, refusal, same_shape

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
