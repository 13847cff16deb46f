"""Outlines from a DXF drawing in its openly documented ASCII form: its entities as curves."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from typing import NamedTuple

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import quoted
from beltplan.geometry.vectors import TURN, Floats
from beltplan.outlines.curves import Curve, Edges, Map, Spline, Sweep, bulged, scaled, upright_sweep
from beltplan.outlines.drawing import MOST_PIECES, MOST_POINTS, Drawing, Piece, Wrong, WrongDrawing, number_of

_IGNORED = frozenset((
    "TEXT", "MTEXT", "POINT", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "HATCH", "MPOLYGON", "LEADER",
    "MULTILEADER", "MLEADER", "TOLERANCE", "VIEWPORT", "ATTDEF", "ATTRIB", "XLINE", "RAY", "IMAGE", "WIPEOUT",
    "OLEFRAME", "OLE2FRAME", "LIGHT", "SEQEND", "RTEXT", "ARCALIGNEDTEXT", "ACAD_TABLE", "UNDERLAY", "PDFUNDERLAY",
    "DWFUNDERLAY", "DGNUNDERLAY", "SECTION", "SUN", "CAMERA",
))  # fmt: skip
"""Entities that draw no edge of a part."""

_READ_INSTEAD = "LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE, POLYLINE; explode or convert it in the drawing program"

_MOST_CONTROLS = 15_000
"""Control points of a spline times its degree: a guard that no curve of a real drawing meets."""
_MOST_DEGREE = 25


class _Tag(NamedTuple):
    """A group code, its value, and the line of that."""

    code: int
    value: str
    line: int


@dataclass(frozen=True, eq=False)
class _Entity:
    """An entity: its kind, its line, its tags in order, and a polyline's vertices. first: the first tag of a code."""

    kind: str
    line: int
    tags: Sequence[_Tag]
    vertices: tuple[_Entity, ...] = ()

    @cached_property
    def first(self) -> dict[int, _Tag]:
        return {tag.code: tag for tag in reversed(self.tags)}

    def text(self, code: int, default: str) -> str:
        tag = self.first.get(code)
        return default if tag is None else tag.value

    def number(self, code: int, default: float | None = None) -> float:
        """The first number at a code. Raises WrongDrawing where there is none and no default."""
        tag = self.first.get(code)
        if tag is not None:
            return number_of(tag.value, tag.line, f"group {code} of {self.kind}")
        if default is None:
            raise WrongDrawing.of(f"{self.kind} without group {code}", "a whole entity", self.line)
        return default

    def flags(self, code: int = 70) -> int:
        value = self.number(code, 0.0)
        return int(value) if value.is_integer() and value >= 0.0 else 0

    def numbers(self, code: int) -> list[float]:
        what = f"group {code} of {self.kind}"
        return [number_of(tag.value, tag.line, what) for tag in self.tags if tag.code == code]

    def point(self, code: int) -> Floats:
        """The first point, by the code of its x."""
        return np.array([self.number(code), self.number(code + 10)])

    @property
    def facing(self) -> float:
        """+1 as drawn, -1 mirrored: the z of its extrusion. Raises WrongDrawing where it lies out of the plane."""
        x, y, z = self.number(210, 0.0), self.number(220, 0.0), self.number(230, 1.0)
        if max(abs(x), abs(y)) > 1e-6 or not abs(z) > 1e-6:
            got = f"{self.kind} out of the plane (extrusion {x:g}, {y:g}, {z:g})"
            raise WrongDrawing.of(got, "a drawing in the x y plane", self.line)
        return math.copysign(1.0, z)

    @property
    def frame(self) -> Map:
        """From its own frame into the drawing's, by the arbitrary axis rule: mirrored is x for -x."""
        return scaled(self.facing, 1.0)


def _piece_of(entity: _Entity) -> Piece | None:
    """The piece that an entity draws, None where it draws nothing. Raises WrongDrawing."""
    names = (entity.text(8, "0"),)
    read = _READERS.get(entity.kind)
    if read is None:
        allowed = "its lines: explode the block in the drawing program" if entity.kind == "INSERT" else _READ_INSTEAD
        refused = (f"{quoted(entity.kind)[1:-1]}, which is not read", allowed)
        return Piece((), False, names, entity.kind, entity.line, refused)
    curves, closed = read(entity)
    return Piece(tuple(curves), closed, names, entity.kind, entity.line) if curves else None


_Read = tuple[list[Curve], bool]


def _radii(entity: _Entity) -> tuple[float, float]:
    radius = entity.number(40)
    if not radius > 0.0:
        raise WrongDrawing.of(f"{radius:g} as radius of {entity.kind}", "a number above 0", entity.line)
    return radius, radius


def _arc(entity: _Entity) -> _Read:
    start, end = (math.radians(entity.number(code)) for code in (50, 51))
    sweep = (end - start) % TURN or TURN
    return [upright_sweep(entity.point(10), *_radii(entity), start, sweep).moved(entity.frame)], sweep == TURN


def _ellipse(entity: _Entity) -> _Read:
    across, ratio = entity.point(11), entity.number(40)
    if not (across.any() and 0.0 < abs(ratio) <= 1e6):
        raise WrongDrawing.of("an ELLIPSE of no size", "two axes of a length", entity.line)
    aside = entity.facing * ratio * np.array([-across[1], across[0]])
    start, end = entity.number(41, 0.0), entity.number(42, TURN)
    sweep = (end - start) % TURN
    # Written with six decimals, a whole ellipse may miss a turn by a little either way.
    whole = min(sweep, TURN - sweep) < 1e-5
    return [Sweep(entity.point(10), across, aside, start, TURN if whole else sweep)], whole


def _lwpolyline(entity: _Entity) -> _Read:
    if len(entity.tags) > 4 * MOST_POINTS:
        raise WrongDrawing.of(f"{entity.kind} of more than {MOST_POINTS} corners", "a simpler drawing", entity.line)
    # x, y and bulge of each corner: what stands before the first x is of none.
    corners: list[list[float]] = []
    for tag in entity.tags:
        if tag.code in (10, 20, 42):
            value = number_of(tag.value, tag.line, f"group {tag.code} of {entity.kind}")
            if tag.code == 10:
                corners.append([value, 0.0, 0.0])
            elif corners:
                corners[-1][1 if tag.code == 20 else 2] = value
    return _polygon([(np.array([x, y]), bulge) for x, y, bulge in corners], entity)


def _polyline(entity: _Entity) -> _Read:
    if entity.flags() & (16 | 64):
        raise WrongDrawing.of("a POLYLINE that is a mesh", "lines in the x y plane", entity.line)
    # The frame of a fitted spline (16) is not on the curve.
    shown = [vertex for vertex in entity.vertices if not vertex.flags() & 16]
    return _polygon([(vertex.point(10), vertex.number(42, 0.0)) for vertex in shown], entity)


def _polygon(corners: list[tuple[Floats, float]], entity: _Entity) -> _Read:
    closed = bool(entity.flags() & 1)
    ends = [point for point, _ in corners[1:]] + ([corners[0][0]] if closed and corners else [])
    edges = [(start, end, bulge) for (start, bulge), end in zip(corners, ends, strict=False)]
    frame = Map(np.eye(2), np.zeros(2)) if entity.flags() & 8 else entity.frame
    return [curve.moved(frame) for curve in _merged(edges)], closed and len(corners) > 1


def _merged(edges: list[tuple[Floats, Floats, float]]) -> list[Curve]:
    if sum(bulge != 0.0 for *_, bulge in edges) > MOST_PIECES:
        raise WrongDrawing.of(f"a polyline of more than {MOST_PIECES} arcs", "a simpler drawing")
    curves: list[Curve] = []
    for is_straight, row in groupby(edges, lambda edge: edge[2] == 0.0):
        own = list(row)
        corners = [own[0][0], *(end for _, end, _ in own)]
        curves += [Edges(np.stack(corners))] if is_straight else [bulged(*edge) for edge in own]
    return curves


def _spline(entity: _Entity) -> _Read:
    degree = entity.flags(71)
    controls = np.array(list(zip(entity.numbers(10), entity.numbers(20), strict=False)), dtype=float).reshape(-1, 2)
    knots = np.array(entity.numbers(40))
    weights = np.array(entity.numbers(41) or [1.0] * len(controls))
    if not len(controls):
        words = "a SPLINE without control points (fit points alone do not give its shape)"
        raise WrongDrawing.of(words, "control points and knots, or polylines", entity.line)
    count = len(controls)
    sound = (
        1 <= degree <= _MOST_DEGREE and degree < count <= _MOST_CONTROLS / degree and len(knots) == count + degree + 1
    )
    if not (sound and len(weights) == count and (weights > 0.0).all() and (np.diff(knots) >= 0.0).all()):
        words = f"a SPLINE of degree {degree} with {count} control points, {len(knots)} knots, {len(weights)} weights"
        most = f"points times degree at most {_MOST_CONTROLS}"
        allowed = f"knots that do not fall, one more than points and degree together; weights above 0; {most}"
        raise WrongDrawing.of(words, allowed, entity.line)
    if not knots[count] > knots[degree]:
        raise WrongDrawing.of("a SPLINE whose knots are all the same", "knots that rise", entity.line)
    return [Spline(controls, degree, knots, weights)], False


_READERS: dict[str, Callable[[_Entity], _Read]] = {
    "LINE": lambda entity: ([Edges(np.stack((entity.point(10), entity.point(11))))], False),
    "CIRCLE": lambda entity: ([upright_sweep(entity.point(10), *_radii(entity)).moved(entity.frame)], True),
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}


# The file: its tags, its unit, and the entities of its model space.

_UNITS = {
    1: MM_PER_INCH, 2: 12.0 * MM_PER_INCH, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 1e-6 * MM_PER_INCH, 9: 1e-3 * MM_PER_INCH,
    10: 36.0 * MM_PER_INCH, 13: 1e-3, 14: 100.0,
}  # fmt: skip
"""mm for one unit of the drawing, by $INSUNITS."""
_NO_UNIT = 0
_TEXT_DXF = "a DXF in text form (ASCII), whole to its EOF"


def read_dxf(data: bytes) -> Drawing:
    """The lines of a DXF's model space. Raises WrongDrawing."""
    if b"\0" in data:
        raise WrongDrawing.of("a binary DXF", _TEXT_DXF)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")  # only names can differ: codes and numbers are ASCII
    by_name = dict(_sections(_tags(text)))
    if "ENTITIES" not in by_name:
        raise WrongDrawing.of("no ENTITIES section", _TEXT_DXF)
    pieces, unit = tuple(_pieces(by_name["ENTITIES"])), _unit(by_name.get("HEADER", []))
    return Drawing("DXF", pieces, *unit, fills=False, name_word="layer")


def _tags(text: str) -> Iterator[_Tag]:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    lines += [""] * (len(lines) % 2)
    for place in range(0, len(lines), 2):
        try:
            code = int(lines[place])
        except ValueError:
            got = f"{quoted(lines[place].strip())} where a group code stands"
            raise WrongDrawing.of(got, _TEXT_DXF, place + 1) from None
        yield _Tag(code, lines[place + 1].strip(), place + 2)


def _sections(tags: Iterator[_Tag]) -> Iterator[tuple[str, list[_Tag]]]:
    name, ended = "", False
    inside: list[_Tag] = []
    for tag in tags:
        if tag.code == 0 and tag.value == "SECTION":
            name, inside = "?", []
        elif tag.code == 0 and tag.value == "ENDSEC":
            yield name, inside
            name = ""
        elif tag.code == 0 and tag.value == "EOF" and not name:
            ended = True
            break
        elif name == "?" and tag.code == 2:
            name = tag.value
        elif name:
            inside.append(tag)
    if not ended:
        raise WrongDrawing.of("a file that ends before its EOF", _TEXT_DXF)


def _unit(header: list[_Tag]) -> tuple[float | None, Wrong | None]:
    """mm for one unit, None where the drawing does not say; and what is wrong with what it says."""
    for name, value in pairwise(header):
        if (name.code, name.value, value.code) == (9, "$INSUNITS", 70):
            number = int(value.value) if value.value.isdecimal() and len(value.value) < 4 else -1
            if number in (_NO_UNIT, *_UNITS):
                return _UNITS.get(number), None
            allowed = f"one of {', '.join(map(str, (_NO_UNIT, *_UNITS)))}; or `units` beside `file`: mm or in"
            return None, Wrong(f"{quoted(value.value)} as $INSUNITS", allowed, value.line)
    return None, None


def _pieces(tags: list[_Tag]) -> list[Piece]:
    pieces: list[Piece] = []
    wrong: list[Wrong] = []
    count = 0
    for entity in _whole(_entities(tags)):
        # Left out as well: what lies in paper space or is switched off by itself.
        if entity.kind in _IGNORED or 1 in (entity.flags(67), entity.flags(60)):
            continue
        if count >= MOST_PIECES:
            raise WrongDrawing.of(f"more than {MOST_PIECES} lines", "a simpler drawing", entity.line)
        try:
            piece = _piece_of(entity)
        except WrongDrawing as fault:
            wrong += fault.wrong
            continue
        if piece is not None:
            pieces.append(piece)
            count += max(len(piece.curves), 1)
    WrongDrawing.refuse(wrong)
    return pieces


def _entities(tags: list[_Tag]) -> Iterator[_Entity]:
    """Every entity with its own tags; those of other programs in braces are left out."""
    held: list[_Tag] = []
    foreign = False
    for tag in (*tags, _Tag(0, "", 0)):
        if tag.code == 0:
            if held:
                yield _Entity(held[0].value, held[0].line, held[1:])
            held, foreign = [tag], False
        elif tag.code == 102:
            foreign = tag.value.startswith("{")
        elif tag.code == 101:
            foreign = True  # an embedded object: up to the end of the entity
        elif held and not foreign and tag.code < 1000:
            held.append(tag)


def _whole(entities: Iterator[_Entity]) -> Iterator[_Entity]:
    """The entities, with the vertices of a polyline put into it."""
    for entity in entities:
        if entity.kind != "POLYLINE":
            yield entity
            continue
        vertices = []
        for vertex in entities:
            if vertex.kind != "VERTEX":
                break
            vertices.append(vertex)
        else:
            raise WrongDrawing.of("a POLYLINE without its SEQEND", _TEXT_DXF, entity.line)
        if vertex.kind != "SEQEND":
            raise WrongDrawing.of(f"{quoted(vertex.kind)} in a POLYLINE", "VERTEX or SEQEND", vertex.line)
        yield _Entity(entity.kind, entity.line, entity.tags, tuple(vertices))
