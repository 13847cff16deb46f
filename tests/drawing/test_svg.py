"""SVG read back by svgpathtools and the standard library: true size, true arcs, layers, words that cannot break it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from io import StringIO
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import svgpathtools

from beltplan.drawing.content import DRAWN_LAYERS, Content, bounds_of
from beltplan.drawing.study import Arc, Line, Outline, Ring, Spot
from beltplan.drawing.svg import STROKE_MM, svg_text
from beltplan.report.words import SAFETY
from tests.drawing import drawn_drives as drives
from tests.drawing import exports
from tests.drawing.drawn_drives import points_of
from tests.for_each import for_each

EVERY = for_each(*exports.contents(), ids=lambda content: content.heading)
AWKWARD = for_each(exports.nasty(), exports.touching(), exports.thick(), ids=lambda _: "")
SVG = "{http://www.w3.org/2000/svg}"


@cache
def _root(content: Content) -> ElementTree.Element:
    return ElementTree.fromstring(svg_text(content).encode("utf-8"))


def _group(content: Content, layer: str) -> ElementTree.Element:
    (group,) = _root(content).findall(f"{SVG}g[@id='{layer}']")
    return group


@cache
def _paths(content: Content, layer: str) -> list[Any]:
    return [svgpathtools.parse_path(path.get("d")) for path in _group(content, layer).findall(f"{SVG}path")]


@EVERY
def test_the_belt_is_one_closed_path_as_long_as_the_path(content: Content) -> None:
    (path,) = _paths(content, "belt_line")
    assert path.isclosed() and path.iscontinuous()
    assert path.length() == pytest.approx(exports.path_mm(content), abs=exports.CLOSE_MM)
    assert {type(piece).__name__ for piece in path} == {"Line", "Arc"}


@EVERY
def test_the_faces_are_two_closed_paths(content: Content) -> None:
    lengths = [path.length() for path in _paths(content, "belt_edges")]
    drawn = [p.length_mm for p in content.parts if p.layer == "belt_edges" and isinstance(p, Line | Arc)]
    half = len(drawn) // 2
    assert all(path.isclosed() for path in _paths(content, "belt_edges"))
    assert lengths == pytest.approx([math.fsum(drawn[:half]), math.fsum(drawn[half:])], abs=exports.CLOSE_MM)


@EVERY
def test_no_arc_is_large(content: Content) -> None:
    """SVG 1.1, 8.3.8: of two ends and a radius there are four arcs; up to a quarter turn the small one is meant."""
    arcs = [piece for path in _paths(content, "belt_line") for piece in path if isinstance(piece, svgpathtools.Arc)]
    assert arcs and not any(arc.large_arc for arc in arcs)
    assert max(abs(arc.delta) for arc in arcs) <= 90.0 + 1e-6


@EVERY
def test_arcs_bend_the_right_way(content: Content) -> None:
    """svgpathtools finds their centres from ends, radius and flags alone: those of the pulleys, y turned."""
    (path,) = _paths(content, "belt_line")
    centres = {tuple(np.round([arc.center.real, -arc.center.imag], 5) + 0.0) for arc in path if hasattr(arc, "center")}
    wanted = [part.centre_mm for part in content.parts if isinstance(part, Arc) and part.layer == "belt_line"]
    assert centres == {tuple(np.round(at, 5) + 0.0) for at in wanted}


@EVERY
def test_true_size(content: Content) -> None:
    """SVG 1.1, 7.7: a unit is a mm where width and height in mm have the numbers of the view box."""
    root = _root(content)
    left, top, width, height = map(float, (root.get("viewBox") or "").split())
    assert (root.get("width"), root.get("height")) == (f"{width:.0f}mm", f"{height:.0f}mm")
    (x0, y0), (x1, y1) = bounds_of(content.parts)
    assert left < x0 and x1 < left + width and top < -y1 and -y0 < top + height
    assert not [element for element in root.iter() if element.get("transform")]


@EVERY
def test_circles_points_and_outlines_are_those_of_the_drawing_seen_from_the_front(content: Content) -> None:
    for layer in exports.LAYER_NAMES[2:]:
        own, group = [part for part in content.parts if part.layer == layer], _group(content, layer)
        circles = [tuple(float(c.get(key) or "nan") for key in ("cx", "cy", "r")) for c in group.iter(f"{SVG}circle")]
        rings = [(part.centre_mm[0], -part.centre_mm[1], part.radius_mm) for part in own if isinstance(part, Ring)]
        assert circles == [pytest.approx(ring, abs=1e-9) for ring in rings]
        polygons = [polygon.get("points", "").split() for polygon in group.iter(f"{SVG}polygon")]
        outlines = [points_of(part) * [1.0, -1.0] for part in own if isinstance(part, Outline)]
        for corners, outline in zip(polygons, outlines, strict=True):
            assert np.array([corner.split(",") for corner in corners], dtype=float) == pytest.approx(outline, abs=1e-9)
        crosses = [path for path in _paths(content, layer) if len(path.continuous_subpaths()) == 2]
        spots = [complex(part.at_mm[0], -part.at_mm[1]) for part in own if isinstance(part, Spot)]
        for cross, spot in zip(crosses, spots, strict=True):
            (across,) = cross[0].intersect(cross[1])
            assert abs(cross[0].point(across[0]) - spot) < 1e-9


def test_the_adjusters_travel() -> None:
    """layouts/railcar.yaml: an arm of 185 mm that swings through 40 deg, and no other curve on its layer."""
    curves = [path for path in _paths(exports.shipped("railcar"), "adjuster") if len(path.continuous_subpaths()) == 1]
    (travel,) = (part for part in exports.shipped("railcar").parts if part.name.endswith(" travel"))
    assert isinstance(travel, Arc) and [path.length() for path in curves] == [pytest.approx(travel.length_mm, abs=1e-6)]
    assert not curves[0].isclosed()


def test_layers_are_groups_with_thin_strokes_of_their_own_colour() -> None:
    groups = _root(exports.shipped("workboat")).findall(f"{SVG}g")
    assert [group.get("id") for group in groups] == [*exports.LAYER_NAMES, "names", "notes"]
    assert len({group.get("stroke") for group in groups}) == len(groups) == len(DRAWN_LAYERS)
    assert {group.get("fill") for group in groups} == {"none"}
    assert {float(group.get("stroke-width") or "nan") for group in groups} == {STROKE_MM} and STROKE_MM <= 0.3
    for group in groups[-2:]:
        assert {element.tag for element in group} == {f"{SVG}text"}


def test_title_and_description_hold_problems_and_caution() -> None:
    root = _root(exports.shipped("too_tight"))
    assert root.findtext(f"{SVG}title") == "Too tight, everything wrong at once"
    told = root.findtext(f"{SVG}desc") or ""
    assert SAFETY in told and "DO NOT CUT YET: beltplan check finds 15 problems" in told and "Millimetres" in told
    assert "DO NOT CUT" not in (_root(exports.shipped("workboat")).findtext(f"{SVG}desc") or "")
    notes = [text.text or "" for text in _group(exports.shipped("too_tight"), "notes")]
    assert SAFETY in " ".join(notes) and any(note.startswith("DO NOT CUT YET") for note in notes)


@cache
def _width(text: str) -> float:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    return float(TextPath((0, 0), text, size=5.0, prop=FontProperties(family="DejaVu Sans")).get_extents().width)


@EVERY
def test_words_stay_on_the_page(content: Content) -> None:
    """By the widths of a common font (DejaVu Sans, wide for a sans serif) as matplotlib has them."""
    left, _, width, _ = map(float, (_root(content).get("viewBox") or "").split())
    for layer in ("names", "notes"):
        for text in _group(content, layer):
            own = _width(text.text or "")
            begin = float(text.get("x") or "nan") - (0.5 * own if text.get("text-anchor") == "middle" else 0.0)
            assert left <= begin and begin + own <= left + width


@AWKWARD
def test_awkward_drives(given: Any) -> None:
    content = exports.of(given)
    (path,) = _paths(content, "belt_line")
    assert path.isclosed() and path.length() == pytest.approx(exports.path_mm(content), abs=exports.CLOSE_MM)
    assert all(face.isclosed() for face in _paths(content, "belt_edges"))


def test_words_that_try_to_break_the_file() -> None:
    content = exports.of(exports.nasty())
    text = svg_text(content)
    root = ElementTree.parse(StringIO(text)).getroot()
    title = root.findtext(f"{SVG}title") or ""
    for piece in ("Kühl & <Pumpe> \"quoted\" 'too' 100 %%d", "]]> <!-- --> \\U+0041", "∅ 水泵,=1+1", "\U0001f600"):
        assert piece in title
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\ud800-\udfff\ufffe]", text)
    assert text.encode("utf-8").decode("utf-8") == text and text.endswith("</svg>\n")


def test_numbers_have_no_exponent() -> None:
    drawn = re.findall(r' (?:d|points|cx|cy|r)="([^"]*)"', svg_text(exports.shipped("too_tight")))
    assert drawn and not any(re.search("[eEn]", re.sub("[MLAZ]", "", text)) for text in drawn)


def test_a_number_that_is_none_is_refused() -> None:
    content = exports.shipped("railcar")
    ring = Ring("obstacles", "a", (0.0, 0.0), math.nan)
    with pytest.raises(ValueError):
        svg_text(replace(content, parts=(*content.parts, ring)))


def test_holes_are_true_circles_and_a_slot_is_one_closed_path() -> None:
    content = exports.of(drives.with_everything())
    group = _group(content, "holes")
    circles = group.findall(f"{SVG}circle")
    assert [2.0 * float(circle.get("r", "")) for circle in circles] == pytest.approx([10.5, 10.5, 8.0])
    (slot,) = _paths(content, "holes")
    assert slot.isclosed() and slot.length() == pytest.approx(2.0 * 13.0 + 9.0 * math.pi, abs=exports.CLOSE_MM)
    # Area of a slot: its width times the way, and a disc. svgpathtools walks arcs in chords.
    assert abs(slot.area(chord_length=0.01)) == pytest.approx(9.0 * 13.0 + 4.5**2 * math.pi, rel=1e-4)
    assert [title.text for title in group.iter(f"{SVG}title")].count("spare slot 1") == 1
    assert len(_group(content, "marks").findall(f"{SVG}path")) == 1
