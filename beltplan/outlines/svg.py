"""Outlines from an SVG drawing: its shapes as curves, with the groups and transforms round them, and its size."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import printable, quoted
from beltplan.geometry.vectors import TURN
from beltplan.outlines.curves import Bezier, Curve, Edges, Map, Sweep, scaled, upright_sweep
from beltplan.outlines.drawing import (
    LARGEST,
    MOST_PIECES,
    MOST_POINTS,
    NUMBER,
    Drawing,
    Piece,
    Wrong,
    WrongDrawing,
    number_of,
)

_ONE = re.compile(r"[\s,]*([A-Za-z]+)\s*\(([^()]*)\)[\s,]*")
_APART = re.compile(r"[\s,]+")
_GLUED = re.compile(r"(?<=[\d.])(?=[+-])")
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,)}
"""How many numbers each may have."""
_ALLOWED = "matrix, translate, scale, rotate, skewX, skewY, each with its numbers in brackets"
_MOST = 100
_SAME = Map(np.eye(2), np.zeros(2))


def _numbers_in(text: str, line: int, what: str) -> list[float]:
    """The numbers of a list, parted by spaces and commas, or by a sign alone. Raises WrongDrawing."""
    return [number_of(part, line, what) for part in _APART.split(_GLUED.sub(" ", text).strip()) if part]


def transformed(whole: Map, text: str, line: int) -> Map:
    """A map with the transforms of an attribute done before it, the last of them first. Raises WrongDrawing."""
    at = count = 0
    while at < len(text.rstrip()):
        found = _ONE.match(text, at)
        if found is None or count >= _MOST:
            raise WrongDrawing.of(f"{quoted(text[at:].strip())} in a transform", _ALLOWED, line)
        whole = whole.after(_map(found[1], _numbers_in(found[2], line, "a number of a transform"), line))
        if not max(np.abs(whole.matrix).max(), np.abs(whole.shift).max()) <= LARGEST:
            raise WrongDrawing.of("transforms that lead too far", f"numbers of at most {LARGEST:g}", line)
        at, count = found.end(), count + 1
    return whole


def _map(name: str, numbers: list[float], line: int) -> Map:
    if len(numbers) not in _COUNTS.get(name, ()):
        raise WrongDrawing.of(f"{quoted(name)} with {len(numbers)} numbers in a transform", _ALLOWED, line)
    if name == "matrix":
        a, b, c, d, e, f = numbers
        return Map(np.array([[a, c], [b, d]]), np.array([e, f]))
    if name == "translate":
        return Map(np.eye(2), np.array([*numbers, 0.0][:2]))
    if name == "scale":
        return scaled(numbers[0], numbers[-1])
    angle = math.radians(numbers[0])
    if name == "rotate":
        matrix = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        centre = np.array(numbers[1:] or [0.0, 0.0])
        return Map(matrix, centre - matrix @ centre)
    skew = math.tan(angle)
    return Map(np.array([[1.0, skew], [0.0, 1.0]] if name == "skewX" else [[1.0, 0.0], [skew, 1.0]]), np.zeros(2))


# Shapes as curves, and lengths.

_PER_INCH = 96.0
"""CSS pixels, which are user units where nothing else is said, in an inch (CSS Values and Units, level 3)."""
_PIXELS = {
    "": 1.0, "px": 1.0, "in": _PER_INCH, "mm": _PER_INCH / MM_PER_INCH, "cm": 10.0 * _PER_INCH / MM_PER_INCH,
    "q": 0.25 * _PER_INCH / MM_PER_INCH, "pt": _PER_INCH / 72.0, "pc": _PER_INCH / 6.0,
}  # fmt: skip
"""Pixels in each unit of length."""
_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z]*)\s*", re.ASCII)

_Attributes = Mapping[str, str]


def _length_in(text: str, line: int, name: str) -> float:
    """A length in pixels. Raises WrongDrawing."""
    found = _LENGTH.fullmatch(text)
    if found is None or found[2].lower() not in _PIXELS:
        raise WrongDrawing.of(f"{quoted(text)} as {name}", "a number, alone or with mm, cm, in, pt, pc or px", line)
    value = float(found[1]) * _PIXELS[found[2].lower()]
    if not abs(value) <= LARGEST:
        raise WrongDrawing.of(f"{quoted(text)} as {name}", f"at most {LARGEST:g}", line)
    return value


def _corners(attributes: _Attributes, line: int, closed: bool) -> list[_Subpath]:
    numbers = _numbers_in(attributes.get("points", ""), line, "one of the points")
    if len(numbers) % 2:
        raise WrongDrawing.of(f"{len(numbers)} numbers as points", "an even number", line)
    return [((Edges(np.reshape(numbers, (-1, 2))),), closed)] if len(numbers) > 2 else []


def _line(attributes: _Attributes, line: int) -> list[_Subpath]:
    x1, y1, x2, y2 = (_length(attributes, name, line) for name in ("x1", "y1", "x2", "y2"))
    return [((Edges(np.array([[x1, y1], [x2, y2]])),), False)]


def _whole(attributes: _Attributes, line: int, *axes: str) -> list[_Subpath]:
    rx, ry, x, y = (_length(attributes, name, line) for name in (*axes, "cx", "cy"))
    return [((upright_sweep(np.array([x, y]), rx, ry),), True)] if rx > 0.0 and ry > 0.0 else []


def _rect(attributes: _Attributes, line: int) -> list[_Subpath]:
    x, y, width, height = (_length(attributes, name, line) for name in ("x", "y", "width", "height"))
    if not (width > 0.0 and height > 0.0):
        return []
    texts = ((name, attributes.get(name, "auto").strip()) for name in ("rx", "ry"))
    rx, ry = (None if text == "auto" else _length_in(text, line, name) for name, text in texts)
    rx, ry = (ry if rx is None else rx), (rx if ry is None else ry)
    rx, ry = min(rx or 0.0, width / 2.0), min(ry or 0.0, height / 2.0)
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    if rx == 0.0 or ry == 0.0:
        return [((Edges(corners),), True)]
    inward = np.array([[rx, ry], [-rx, ry], [-rx, -ry], [rx, -ry]])
    quarters = [upright_sweep(corners[i] + inward[i], rx, ry, np.pi + i * TURN / 4.0, TURN / 4.0) for i in range(4)]
    # The straight edges between the arcs come of themselves, from point to point.
    return [(tuple(quarters), True)]


def _length(attributes: _Attributes, name: str, line: int) -> float:
    return _length_in(attributes.get(name, "0"), line, name)


_SHAPES: dict[str, Callable[[_Attributes, int], list[_Subpath]]] = {
    "path": lambda attributes, line: subpaths_of(attributes.get("d", ""), line),
    "polygon": lambda attributes, line: _corners(attributes, line, closed=True),
    "polyline": lambda attributes, line: _corners(attributes, line, closed=False),
    "line": _line,
    "rect": _rect,
    "circle": lambda attributes, line: _whole(attributes, line, "r", "r"),
    "ellipse": lambda attributes, line: _whole(attributes, line, "rx", "ry"),
}
"""How each kind of element is read: its lines, in its own coordinates; none where it has no size."""


# Path data as curves, by SVG 1.1, second edition, section 8.3 and appendix F.6, W3C Recommendation 2011.

_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
"""Numbers that each command takes at a time."""
_CURVED = "CcSsQqTtAa"
_MOST_DRAWN = {"curves": MOST_PIECES, "edges": MOST_POINTS}
_GAP = re.compile(r"[\s,]*")
_NUMBER = re.compile(NUMBER, re.ASCII)
_FLAG = re.compile(r"[01]")
_FLAGS = (3, 4)
"""Places of an arc's two flags, which may stand without a space behind them."""
_NO_ARC = 1e-9
"""Half axes up to this draw a straight line; ends so near each other, for their size, draw nothing."""

_Point = tuple[float, float]
_Subpath = tuple[tuple[Curve, ...], bool]
"""A part of a path from one move to the next, and whether it is closed."""


def subpaths_of(data: str, line: int) -> list[_Subpath]:
    """The parts of path data. line: where the element stands, for messages. Raises WrongDrawing."""
    pen, drawn = _Pen(), {"curves": 0, "edges": 0}
    at, command = _skipped(data, 0), ""
    while at < len(data):
        letter = data[at]
        if letter.upper() in _TAKES:
            command, at = letter, at + 1
        elif not command or command in "Zz":
            raise _wrong(data, at, line, "a command: M L H V C S Q T A Z")
        if not pen.begun and command not in "Mm":
            raise _wrong(data, 0, line, "M first")
        numbers, at = _numbers(data, at, command, line)
        pen.draw(command, numbers)
        what = "curves" if command in _CURVED else "edges"
        drawn[what] += 1
        if drawn[what] > _MOST_DRAWN[what]:
            raise WrongDrawing.of(f"a path of more than {_MOST_DRAWN[what]} {what}", "a simpler drawing", line)
        command = {"M": "L", "m": "l"}.get(command, command)
        at = _skipped(data, at)
    pen.finish(closed=False)
    return pen.whole


def _skipped(data: str, at: int) -> int:
    found = _GAP.match(data, at)
    return found.end() if found else at


def _numbers(data: str, at: int, command: str, line: int) -> tuple[list[float], int]:
    numbers: list[float] = []
    for place in range(_TAKES[command.upper()]):
        at = _skipped(data, at)
        found = (_FLAG if command in "Aa" and place in _FLAGS else _NUMBER).match(data, at)
        if found is None:
            raise _wrong(data, at, line, f"{_TAKES[command.upper()]} numbers behind {command}")
        numbers.append(float(found[0]))
        if not abs(numbers[-1]) <= LARGEST:
            raise _wrong(data, at, line, f"numbers of at most {LARGEST:g}")
        at = found.end()
    return numbers, at


def _wrong(data: str, at: int, line: int, allowed: str) -> WrongDrawing:
    got = f"{quoted(data[at : at + 24])} at character {at + 1} of a path"
    if at >= len(data):
        got = "a path that breaks off"
    return WrongDrawing.of(got, allowed, line)


@dataclass(eq=False)
class _Pen:
    at: _Point = (0.0, 0.0)
    start: _Point = (0.0, 0.0)
    handle: tuple[str, _Point] = ("", (0.0, 0.0))
    """The last control point, and whether it was of a cubic (C) or quadratic (Q) curve."""
    begun: bool = False
    row: list[_Point] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    whole: list[_Subpath] = field(default_factory=list)

    def draw(self, command: str, numbers: Sequence[float]) -> None:
        letter, relative = command.upper(), command.islower()
        if letter in "HV":
            other = 0.0 if relative else self.at[letter == "H"]
            letter, numbers = "L", (numbers[0], other) if letter == "H" else (other, numbers[0])
        if letter == "Z":
            self._line(self.start)
            self.finish(closed=True)
        elif letter == "A":
            self._arc(numbers, self._point(numbers[5:], relative))
        else:
            points = [self._point(numbers[i : i + 2], relative) for i in range(0, len(numbers), 2)]
            if letter == "M":
                self.finish(closed=False)
                self.at = self.start = points[0]
                self.begun = True
            elif letter == "L":
                self._line(points[0])
            else:
                self._curve(letter, points)
        if letter not in "CSQT":
            self.handle = ("", self.at)

    def _point(self, numbers: Sequence[float], relative: bool) -> _Point:
        x, y = numbers
        return (self.at[0] + x, self.at[1] + y) if relative else (x, y)

    def _line(self, to: _Point) -> None:
        self.row += [to] if self.row else [self.at, to]
        self.at = to

    def _end_row(self) -> None:
        if self.row:
            self.curves.append(Edges(np.array(self.row)))
        self.row = []

    def finish(self, closed: bool) -> None:
        self._end_row()
        if len(self.whole) >= MOST_PIECES:
            raise WrongDrawing.of(f"a path of more than {MOST_PIECES} parts", "a simpler drawing")
        if self.curves:
            self.whole.append((tuple(self.curves), closed))
        self.curves = []
        self.at = self.start if closed else self.at

    def _curve(self, letter: str, points: list[_Point]) -> None:
        kind = "C" if letter in "CS" else "Q"
        if letter in "ST":
            known, (x, y) = self.handle
            mirrored = (2.0 * self.at[0] - x, 2.0 * self.at[1] - y) if known == kind else self.at
            points = [mirrored, *points]
        self._end_row()
        self.curves.append(Bezier(np.array([self.at, *points])))
        self.handle, self.at = (kind, points[-2]), points[-1]

    def _arc(self, numbers: Sequence[float], to: _Point) -> None:
        rx, ry, turn = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2])
        if math.dist(to, self.at) <= _NO_ARC * max(rx, ry):
            return
        if min(rx, ry) <= _NO_ARC:
            self._line(to)
            return
        self._end_row()
        self.curves.append(_sweep(self.at, to, (rx, ry, turn), large=bool(numbers[3]), positive=bool(numbers[4])))
        self.at = to


def _sweep(start: _Point, end: _Point, ellipse: tuple[float, float, float], large: bool, positive: bool) -> Sweep:
    """The arc between two points. ellipse: its half axes and the turn of the first. Source: F.6.5 and F.6.6."""
    rx, ry, turn = ellipse
    across, aside = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    half, middle = (np.array(start) - np.array(end)) / 2.0, (np.array(start) + np.array(end)) / 2.0
    # Half the chord and the centre on the unit circle that the ellipse is stretched from.
    chord = np.array([half @ across / rx, half @ aside / ry])
    square = float(chord @ chord)
    grown = max(1.0, math.sqrt(square))
    rx, ry, chord, square = rx * grown, ry * grown, chord / grown, square / grown**2
    side = math.sqrt(max(1.0 / square - 1.0, 0.0)) * (-1.0 if large == positive else 1.0)
    centre = side * np.array([chord[1], -chord[0]])
    first, last = chord - centre, -chord - centre
    begin = math.atan2(first[1], first[0])
    sweep = (math.atan2(last[1], last[0]) - begin) % TURN
    place = middle + centre[0] * rx * across + centre[1] * ry * aside
    return Sweep(place, rx * across, ry * aside, begin, sweep if positive else sweep - TURN)


# The file: its elements with the groups and transforms round them, and its size.

_DEEPEST = 100
_MOST_ELEMENTS = 200_000
_NAMESPACE = "http://www.w3.org/2000/svg"
_GROUPS = ("g", "a", "switch")
_NOT_READ = {
    "use": "the element itself in its place: unlink the copy in the drawing program",
    "svg": "one drawing: take the inner one out of its frame",
}
"""Elements that draw but are not read, and what is allowed instead."""
_NO_SIZE = Wrong(
    "an SVG that does not say how large it is",
    "width and height with a unit (mm, cm, in, px ...), or `units` beside `file`: mm or in",
)
_WELL_FORMED = "well-formed SVG"
_HIDDEN = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*(?:hidden|collapse))\s*(?:!|;|$)")


def read_svg(data: bytes) -> Drawing:
    """The lines that an SVG draws. Raises WrongDrawing."""
    walk = _Walk()
    try:
        walk.parser.Parse(data, True)
    except expat.ExpatError as error:
        line = max(int(getattr(error, "lineno", 1)), 1)
        reason = printable(expat.ErrorString(error.code))
        raise WrongDrawing.of(f"text that is not XML ({reason})", _WELL_FORMED, line) from None
    except (LookupError, ValueError) as error:
        raise WrongDrawing.of(f"text in an unknown encoding ({printable(str(error))})", "UTF-8") from None
    WrongDrawing.refuse(walk.wrong)
    return Drawing("SVG", tuple(walk.pieces), walk.mm_per_unit, None if walk.mm_per_unit else _NO_SIZE, up=-1.0)


@dataclass(frozen=True, eq=False)
class _Level:
    """An element that is open: its map to the drawing, ids of it and round it, and whether it is left out."""

    to_drawing: Map
    ids: tuple[str, ...]
    skipped: bool


class _Walk:
    def __init__(self) -> None:
        self.pieces: list[Piece] = []
        self.wrong: list[Wrong] = []
        self.mm_per_unit: float | None = None
        self._open: list[_Level] = []
        self._count = self._curves = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end

    def _doctype(self, name: str, system: str | None, public: str | None, has_internal_subset: bool) -> None:
        if has_internal_subset:  # where alone entities can be declared
            got = "a document type with declarations of its own"
            raise WrongDrawing.of(got, "an SVG without entities", self.parser.CurrentLineNumber)

    def _start(self, tag: str, attributes: Mapping[str, str]) -> None:
        space, _, name = tag.rpartition(" ")
        line = self.parser.CurrentLineNumber
        self._count += 1
        if len(self._open) >= _DEEPEST:
            raise WrongDrawing.of(f"elements nested deeper than {_DEEPEST}", f"at most {_DEEPEST} levels", line)
        if max(self._count / _MOST_ELEMENTS, len(self.pieces) / MOST_PIECES, self._curves / MOST_PIECES) > 1.0:
            raise WrongDrawing.of("a drawing of too many elements", f"at most {MOST_PIECES} lines", line)
        try:
            self._open.append(self._level(name if space in ("", _NAMESPACE) else "", attributes, line))
        except WrongDrawing as fault:
            self.wrong += fault.wrong
            self._open.append(_Level(_SAME, (), True))

    def _end(self, tag: str) -> None:
        self._open.pop()

    def _level(self, name: str, attributes: Mapping[str, str], line: int) -> _Level:
        transform = attributes.get("transform", "")
        if not self._open:
            if name != "svg":
                raise WrongDrawing.of(f"<{quoted(name)[1:-1]}> as its outermost element", "<svg>", line)
            self.mm_per_unit = _size(attributes, line)
            return _Level(transformed(_SAME, transform, line), (), False)
        above = self._open[-1]
        shown, seen = (attributes.get(each, "").strip() for each in ("display", "visibility"))
        hidden = shown == "none" or seen in ("hidden", "collapse") or _HIDDEN.search(attributes.get("style", ""))
        if above.skipped or hidden or name not in (*_GROUPS, *_SHAPES, *_NOT_READ):
            return _Level(_SAME, (), True)
        own = (attributes["id"],) if "id" in attributes else ()
        ids = (*own, *above.ids)
        if name in _NOT_READ:
            self.pieces.append(Piece((), False, ids, name, line, (f"<{name}>, which is not read", _NOT_READ[name])))
            return _Level(_SAME, ids, True)
        to_drawing = transformed(above.to_drawing, transform, line)
        if name in _SHAPES:
            for part, closed in _SHAPES[name](attributes, line):
                curves = tuple(curve.moved(to_drawing) for curve in part)
                self.pieces.append(Piece(curves, closed, ids, name, line))
                self._curves += len(curves)
        return _Level(to_drawing, ids, name in _SHAPES)


def _size(attributes: Mapping[str, str], line: int) -> float | None:
    """mm for one unit of the drawing, None where it has no size of its own."""
    sizes = [_pixels(attributes, name, line) for name in ("width", "height")]
    if all(size is None for size in sizes):
        return None
    if "viewBox" not in attributes:
        return MM_PER_INCH / _PER_INCH
    box = _numbers_in(attributes["viewBox"], line, "viewBox")
    if len(box) != 4 or not (box[2] > 0.0 and box[3] > 0.0):
        raise WrongDrawing.of(f"{quoted(attributes['viewBox'])} as viewBox", "x y width height, both above 0", line)
    ratios = [size / side for size, side in zip(sizes, box[2:], strict=True) if size is not None]
    how = attributes.get("preserveAspectRatio", "")
    if max(ratios) > 1.001 * min(ratios) and how.strip().startswith("none"):
        got = "an SVG that is stretched along x or y (preserveAspectRatio none)"
        raise WrongDrawing.of(got, "width and height in the ratio of its viewBox", line)
    return (max(ratios) if how.split()[1:2] == ["slice"] else min(ratios)) * MM_PER_INCH / _PER_INCH


def _pixels(attributes: Mapping[str, str], name: str, line: int) -> float | None:
    text = attributes.get(name, "auto").strip()
    if text == "auto" or text.endswith("%"):
        return None
    value = _length_in(text, line, name)
    if not value > 0.0:
        raise WrongDrawing.of(f"{quoted(text)} as {name} of the drawing", "a length above 0", line)
    return value
