"""DXF read back by ezdxf, a general-purpose library: its audit, arcs and lines that sum to the path, layers, words."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from io import BytesIO, StringIO
from typing import Any

import pytest
from ezdxf import bbox, recover
from ezdxf.filemanagement import read
from ezdxf.math import Vec3
from ezdxf.units import MM

from beltplan.drawing.content import DRAWN_LAYERS, Content, bounds_of
from beltplan.drawing.dxf import MOST_LETTERS, dxf_text, pieces
from beltplan.drawing.study import LAYERS, Arc, Outline, Ring, Spot
from beltplan.report.words import SAFETY
from tests.drawing import drawn_drives as drives
from tests.drawing import exports
from tests.for_each import for_each

EVERY = for_each(*exports.contents(), ids=lambda content: content.heading)
AWKWARD = for_each(exports.nasty(), exports.touching(), exports.thick(), ids=lambda _: "")


def _read(content: Content) -> Any:
    """The drawing as ezdxf has it, after the audits of its strict and of its tolerant reader.

    It is the tolerant one that decodes characters beyond ASCII in release 12.
    """
    text = dxf_text(content)
    strict = read(StringIO(text.replace("\r\n", "\n")))
    document, tolerant = recover.read(BytesIO(text.encode("ascii")))
    for audit in (strict.audit(), tolerant):
        assert [error.message for error in (*audit.errors, *audit.fixes)] == []
    return document


def _on(document: Any, layer: str, kind: str = "*") -> list[Any]:
    return list(document.modelspace().query(f'{kind}[layer=="{layer}"]'))


def _length(entity: Any) -> float:
    if entity.dxftype() == "LINE":
        return float(entity.dxf.start.distance(entity.dxf.end))
    # DXF reference, ARC: always counter-clockwise from the start to the end angle.
    return float(math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0) * entity.dxf.radius)


def _ends(entity: Any) -> tuple[Any, Any]:
    if entity.dxftype() == "LINE":
        return entity.dxf.start, entity.dxf.end
    return entity.start_point, entity.end_point


def _words(document: Any, layer: str) -> list[str]:
    return [entity.plain_text() for entity in _on(document, layer, "TEXT")]


@EVERY
def test_lines_and_arcs_sum_to_the_path(content: Content) -> None:
    belt = _on(_read(content), "belt_line")
    assert {entity.dxftype() for entity in belt} == {"LINE", "ARC"}
    assert math.fsum(map(_length, belt)) == pytest.approx(exports.path_mm(content), abs=exports.CLOSE_MM)


@EVERY
def test_the_chain_is_closed_and_as_drawn(content: Content) -> None:
    """Every end of a piece is the end of just one other piece; ezdxf computes where the arcs end."""
    document = _read(content)
    for layer in ("belt_line", "belt_edges"):
        ends = [end for entity in _on(document, layer) for end in _ends(entity)]
        meet = [sum(one.distance(other) < exports.CLOSE_MM for other in ends) for one in ends]
        assert set(meet) == {2}


@EVERY
def test_every_part_is_there(content: Content) -> None:
    document = _read(content)
    for layer in LAYERS:
        own = [part for part in content.parts if part.layer == layer]
        circles = [(*e.dxf.center, e.dxf.radius) for e in _on(document, layer, "CIRCLE")]
        rings = [(*part.centre_mm, 0.0, part.radius_mm) for part in own if isinstance(part, Ring)]
        assert circles == [pytest.approx(ring, abs=1e-9) for ring in rings]
        points = [tuple(e.dxf.location) for e in _on(document, layer, "POINT")]
        spots = [(*part.at_mm, 0.0) for part in own if isinstance(part, Spot)]
        assert points == [pytest.approx(spot, abs=1e-9) for spot in spots]
        arcs = [part for part in own if isinstance(part, Arc)]
        for entity, arc in zip(_on(document, layer, "ARC"), arcs, strict=True):
            middle = math.radians(entity.dxf.start_angle) + 0.5 * _length(entity) / entity.dxf.radius
            at = entity.dxf.center + entity.dxf.radius * Vec3(math.cos(middle), math.sin(middle))
            assert tuple(at)[:2] == pytest.approx(arc.place_at(0.5), abs=exports.CLOSE_MM)
        outlines = [part for part in own if isinstance(part, Outline)]
        for entity, outline in zip(_on(document, layer, "POLYLINE"), outlines, strict=True):
            assert entity.is_closed and entity.is_2d_polyline
            corners = [tuple(vertex.dxf.location)[:2] for vertex in entity.vertices]
            assert corners == [pytest.approx(corner, abs=1e-9) for corner in outline.corners_mm]


def test_pulleys_are_those_of_the_layout_file() -> None:
    """layouts/too_tight.yaml: a crankshaft pulley of 175 mm at the origin, a smooth pump of 130 mm at -20, 205."""
    found = {
        (round(e.dxf.center.x, 9), round(e.dxf.center.y, 9)): e.dxf.radius
        for e in _on(_read(exports.shipped("too_tight")), "pulleys", "CIRCLE")
    }
    assert found[0.0, 0.0] == pytest.approx(87.5 - 0.1925) and found[-20.0, 205.0] == pytest.approx(65.0)


def test_units_layers_and_colours() -> None:
    """DXF reference: $INSUNITS 4 is millimetres, $MEASUREMENT 1 is metric; AC1009 is release 12."""
    document = _read(exports.shipped("camper"))
    assert (document.dxfversion, document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == ("AC1009", 4, 1)
    assert document.units == MM
    layers = {layer.dxf.name: layer.dxf.color for layer in document.layers}
    assert set(layers) >= {*exports.LAYER_NAMES, "names", "notes"}
    own = [layers[layer.name] for layer in DRAWN_LAYERS]
    assert len(set(own)) == len(own) and all(1 <= colour <= 255 for colour in own)
    assert {entity.dxf.layer for entity in document.modelspace()} <= {layer.name for layer in DRAWN_LAYERS}
    assert {entity.dxftype() for layer in ("names", "notes") for entity in _on(document, layer)} == {"TEXT"}


@EVERY
def test_extents_hold_everything(content: Content) -> None:
    """ezdxf's bounding box of the parts lies inside what the header says; the box of the parts is that box."""
    document = _read(content)
    shapes = [entity for entity in document.modelspace() if entity.dxftype() != "TEXT"]
    box = bbox.extents(shapes)
    (x0, y0), (x1, y1) = bounds_of(content.parts)
    # ezdxf takes an arc as chords, 0.01 mm from it.
    assert (*box.extmin.vec2, *box.extmax.vec2) == pytest.approx((x0, y0, x1, y1), abs=0.05)
    least, largest = document.header["$EXTMIN"], document.header["$EXTMAX"]
    assert least[0] <= x0 + 1e-9 and least[1] < y0 and largest[0] >= x1 - 1e-9 and largest[1] >= y1 - 1e-9
    below = [entity.dxf.insert.y for entity in _on(document, "notes")]
    assert max(below) + 5.0 < y0 and min(below) > least[1]


def test_a_shop_reads_of_problems_and_cautions() -> None:
    ill, well = _read(exports.shipped("too_tight")), _read(exports.shipped("workboat"))
    assert "DO NOT CUT YET: beltplan check finds 15 problems in this layout" in _words(ill, "notes")
    assert "DO NOT CUT YET" not in " ".join(_words(well, "notes"))
    for document in (ill, well):
        assert SAFETY in " ".join(_words(document, "notes"))
        assert "Millimetres, full size; seen from the front: x right, y up" in _words(document, "notes")
    comments = _pairs(dxf_text(exports.shipped("too_tight")))
    first = [value for code, value in comments[:4] if code == 999]
    assert first[1].startswith("DO NOT CUT YET") and len(first) == 4


def test_names_stand_beside_their_parts() -> None:
    document = _read(exports.shipped("workboat"))
    named = {e.plain_text(): e.dxf.align_point for e in _on(document, "names", "TEXT")}
    assert {"crank", "alternator", "tensioner pivot", "deck_beam", "raw_water_hose"} <= set(named)
    for ring in exports.shipped("workboat").parts:
        if isinstance(ring, Ring) and ring.layer == "pulleys":
            assert math.dist(tuple(named[ring.name])[:2], ring.centre_mm) < ring.radius_mm


@AWKWARD
def test_awkward_drives_pass_the_audit(given: Any) -> None:
    content = exports.of(given)
    document = _read(content)
    belt = _on(document, "belt_line")
    assert math.fsum(map(_length, belt)) == pytest.approx(exports.path_mm(content), abs=exports.CLOSE_MM)
    # Neither a whole circle nor a radius of nothing in place of an arc without length.
    arcs = [entity for layer in ("belt_line", "belt_edges") for entity in _on(document, layer, "ARC")]
    assert all(entity.dxf.start_angle != entity.dxf.end_angle and entity.dxf.radius > 0.0 for entity in arcs)


def test_an_arm_that_swings_a_whole_turn_is_a_circle() -> None:
    content = exports.shipped("railcar")
    swing = Arc("adjuster", "swing", (1.0, 2.0), 30.0, 0.3, -math.tau)
    (circle,) = _on(_read(replace(content, parts=(swing,))), "adjuster")
    assert circle.dxftype() == "CIRCLE" and circle.dxf.radius == 30.0


@for_each(90.0, -90.0, 200.0, -200.0, 359.9, -359.9)
@for_each(0.0, -90.0, 180.0, 350.0, 725.0)
def test_arcs_run_counter_clockwise_whichever_way_they_were_given(sweep_deg: float, start_deg: float) -> None:
    arc = Arc("adjuster", "a", (0.0, 0.0), 10.0, math.radians(start_deg), math.radians(sweep_deg))
    (entity,) = _on(_read(replace(exports.shipped("railcar"), parts=(arc,))), "adjuster")
    low = min(start_deg, start_deg + sweep_deg)
    turn = (entity.dxf.start_angle - low) % 360.0
    assert min(turn, 360.0 - turn) < 1e-9 and 0.0 <= entity.dxf.start_angle < 360.0
    assert _length(entity) == pytest.approx(math.radians(abs(sweep_deg)) * 10.0, abs=1e-9)


def test_words_of_any_kind_come_back() -> None:
    """ezdxf decodes the four-digit form; % and % are parted, and what has no such form is a question mark."""
    given = exports.of(exports.nasty())
    names = "".join(_words(_read(given), "names"))
    for piece in ("Kühl & <Pumpe> \"quoted\" 'too' 100 % %d", "\\U+0041", "^J", "∅ 水泵,=1+1", "? ∅"):
        assert piece in names
    title = exports.of(exports.nasty()).heading
    assert title.isprintable() and "Kühl" in " ".join(_words(_read(given), "notes"))


def test_no_text_is_longer_than_release_12_takes() -> None:
    """DXF reference, release 12: strings of at most 255 characters."""
    long = "水" * 100
    assert "".join(pieces(long)) == "\\U+6C34" * 100 and len(pieces(long)) == 3
    assert max(map(len, pieces(long))) <= MOST_LETTERS and not any(piece.endswith("\\U+6C3") for piece in pieces(long))
    content = exports.of(replace(exports.shipped("railcar").plan.layout, title=long + "%" * 300))
    assert max(len(value) for _, value in _pairs(dxf_text(content))) <= 255
    assert "水" * 80 in "".join(_words(_read(content), "notes"))


def _pairs(text: str) -> list[tuple[int, str]]:
    lines = text.split("\r\n")
    return [(int(code), value) for code, value in zip(lines[:-1:2], lines[1:-1:2], strict=True)]


@pytest.mark.parametrize(
    "content", [exports.shipped("too_tight"), exports.of(exports.nasty())], ids=lambda content: content.heading[:8]
)
def test_every_line_is_a_code_or_its_value_in_ascii(content: Content) -> None:
    """DXF reference: a code and a value on lines of their own; plain ASCII; numbers without an exponent."""
    text = dxf_text(content)
    assert text.isascii() and text.endswith("  0\r\nEOF\r\n") and "\r" not in text.replace("\r\n", "")
    assert text.count("\n") == text.count("\r\n")
    numbers: Iterable[str] = [value for code, value in _pairs(text) if 10 <= code < 60]
    assert all(set(value) <= set("0123456789-.") and len(value.partition(".")[2]) == 10 for value in numbers)
    assert not any(value.startswith("-0.0000000000") for value in numbers)


def test_a_number_that_is_none_is_refused() -> None:
    content = exports.shipped("railcar")
    with pytest.raises(ValueError, match="nan"):
        dxf_text(replace(content, parts=(*content.parts, Spot("centres", "a", (math.nan, 0.0)))))


def test_holes_are_true_circles_and_a_slot_is_closed() -> None:
    """The drive's mounts as its definition has them; ezdxf finds the ends of lines and arcs."""
    document = _read(exports.of(drives.with_everything()))
    circles = [(entity.dxf.center.xyz, 2.0 * entity.dxf.radius) for entity in _on(document, "holes", "CIRCLE")]
    assert [size for _, size in circles] == pytest.approx([10.5, 10.5, 8.0])
    assert any(at == pytest.approx((-290.0, 45.0, 0.0)) for at, _ in circles)
    slot = [entity for kind in ("LINE", "ARC") for entity in _on(document, "holes", kind)]
    met = Counter(tuple(round(value, 6) for value in end.xyz) for entity in slot for end in map(Vec3, _ends(entity)))
    assert len(met) == 4 and set(met.values()) == {2}, "each piece begins where another ends"
    assert sum(map(_length, slot)) == pytest.approx(2.0 * 13.0 + 9.0 * math.pi)
    assert [entity.dxf.location.xyz for entity in _on(document, "marks", "POINT")] == [(60.0, -45.0, 0.0)]
    assert _words(document, "names").count("dowel") == 1
