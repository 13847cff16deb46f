"""Outlines from an SVG drawing: its elements with the groups and transforms round them, and its size.

Source: Scalable Vector Graphics (SVG) 1.1, second edition, W3C Recommendation 2011.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.parsers import expat

from beltplan.belts.designations import MM_PER_INCH
from beltplan.geometry.curves import Map
from beltplan.reading.faults import printable, quoted
from beltplan.reading.outline_drawing import (
    MOST_PIECES,
    Drawing,
    Piece,
    Wrong,
    WrongDrawing,
    refuse_many,
)
from beltplan.reading.svg_shapes import PER_INCH, SHAPES, length_in, shape_of
from beltplan.reading.svg_transform import SAME, bounded, numbers_in, transform_of

DEEPEST = 100
MOST_ELEMENTS = 200_000
NAMESPACE = "http://www.w3.org/2000/svg"
GROUPS = ("g", "a", "switch")
NOT_READ = {
    "use": "the element itself in its place: unlink the copy in the drawing program",
    "svg": "one drawing: take the inner one out of its frame",
}
"""Elements that draw but are not read, and what is allowed instead."""
NO_SIZE = Wrong(
    "an SVG that does not say how large it is",
    "width and height with a unit (mm, cm, in, px ...), or `units` beside `file`: mm or in",
)
WELL_FORMED = "well-formed SVG"
_HIDDEN = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*(?:hidden|collapse))\s*(?:!|;|$)")


def read_svg(data: bytes) -> Drawing:
    """The lines that an SVG draws. Raises WrongDrawing."""
    walk = _Walk()
    parser = walk.parser
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        line = max(int(getattr(error, "lineno", 1)), 1)
        reason = printable(expat.ErrorString(error.code))
        raise WrongDrawing(Wrong(f"text that is not XML ({reason})", WELL_FORMED, line)) from None
    except (LookupError, ValueError) as error:
        raise WrongDrawing(Wrong(f"text in an unknown encoding ({printable(str(error))})", "UTF-8")) from None
    refuse_many(walk.wrong)
    return Drawing("SVG", tuple(walk.pieces), walk.mm_per_unit, NO_SIZE if walk.mm_per_unit is None else None)


@dataclass(frozen=True, eq=False)
class _Level:
    """An element that is open: its map to the drawing, ids of it and round it, and whether it is left out."""

    to_drawing: Map
    ids: tuple[str, ...]
    skipped: bool


class _Walk:
    """Goes through the elements as they come, with the open ones in a row."""

    def __init__(self) -> None:
        self.pieces: list[Piece] = []
        self.wrong: list[Wrong] = []
        self.mm_per_unit: float | None = None
        self._open: list[_Level] = []
        self._count = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.EntityDeclHandler = self._entity
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end

    def _doctype(self, name: str, system: str | None, public: str | None, has_internal_subset: bool) -> None:
        if has_internal_subset:
            got = "a document type with declarations of its own"
            raise WrongDrawing(Wrong(got, "an SVG without entities", self.parser.CurrentLineNumber))

    def _entity(self, *declared: object) -> None:
        raise WrongDrawing(Wrong("a declared entity", "an SVG without entities", self.parser.CurrentLineNumber))

    def _start(self, tag: str, attributes: Mapping[str, str]) -> None:
        space, _, name = tag.rpartition(" ")
        line = self.parser.CurrentLineNumber
        self._count += 1
        if len(self._open) >= DEEPEST:
            raise WrongDrawing(Wrong(f"elements nested deeper than {DEEPEST}", f"at most {DEEPEST} levels", line))
        if max(self._count / MOST_ELEMENTS, len(self.pieces) / MOST_PIECES) > 1.0:
            raise WrongDrawing(Wrong("a drawing of too many elements", f"at most {MOST_PIECES} lines", line))
        known = space in ("", NAMESPACE)
        try:
            self._open.append(self._level(name if known else "", attributes, line))
        except WrongDrawing as fault:
            self.wrong += fault.wrong
            self._open.append(_Level(SAME, (), True))

    def _end(self, tag: str) -> None:
        self._open.pop()

    def _level(self, name: str, attributes: Mapping[str, str], line: int) -> _Level:
        if not self._open:
            return self._root(name, attributes, line)
        above = self._open[-1]
        if above.skipped or _is_hidden(attributes) or name not in (*GROUPS, *SHAPES, *NOT_READ):
            return _Level(SAME, (), True)
        own = (attributes["id"],) if "id" in attributes else ()
        ids = (*own, *above.ids)
        if name in NOT_READ:
            self.pieces.append(Piece((), False, ids, name, line, (f"<{name}>, which is not read", NOT_READ[name])))
            return _Level(SAME, ids, True)
        to_drawing = _mapped(above.to_drawing, attributes, line)
        if name in SHAPES:
            for part in shape_of(name, attributes, line):
                curves = tuple(curve.moved(to_drawing) for curve in part.curves)
                self.pieces.append(Piece(curves, part.closed, ids, name, line))
        return _Level(to_drawing, ids, name in SHAPES)

    def _root(self, name: str, attributes: Mapping[str, str], line: int) -> _Level:
        if name != "svg":
            raise WrongDrawing(Wrong(f"<{quoted(name)[1:-1]}> as its outermost element", "<svg>", line))
        self.mm_per_unit = _size(attributes, line)
        return _Level(_mapped(SAME, attributes, line), (), False)


def _mapped(above: Map, attributes: Mapping[str, str], line: int) -> Map:
    text = attributes.get("transform")
    return above if text is None else bounded(above.after(transform_of(text, line)), line)


def _is_hidden(attributes: Mapping[str, str]) -> bool:
    if attributes.get("display", "").strip() == "none":
        return True
    if attributes.get("visibility", "").strip() in ("hidden", "collapse"):
        return True
    return _HIDDEN.search(attributes.get("style", "")) is not None


def _size(attributes: Mapping[str, str], line: int) -> float | None:
    """mm for one unit of the drawing, None where it has no size of its own."""
    sizes = [_pixels(attributes, name, line) for name in ("width", "height")]
    if all(size is None for size in sizes):
        return None
    if "viewBox" not in attributes:
        return MM_PER_INCH / PER_INCH
    box = numbers_in(attributes["viewBox"], line, "viewBox")
    if len(box) != 4 or not (box[2] > 0.0 and box[3] > 0.0):
        got = f"{quoted(attributes['viewBox'])} as viewBox"
        raise WrongDrawing(Wrong(got, "x y width height, both above 0", line))
    ratios = [size / side for size, side in zip(sizes, box[2:], strict=True) if size is not None]
    how = attributes.get("preserveAspectRatio", "")
    if max(ratios) > 1.001 * min(ratios) and how.strip().startswith("none"):
        got = "an SVG that is stretched along x or y (preserveAspectRatio none)"
        raise WrongDrawing(Wrong(got, "width and height in the ratio of its viewBox", line))
    return (max(ratios) if how.split()[1:2] == ["slice"] else min(ratios)) * MM_PER_INCH / PER_INCH


def _pixels(attributes: Mapping[str, str], name: str, line: int) -> float | None:
    text = attributes.get(name, "auto").strip()
    if text == "auto" or text.endswith("%"):
        return None
    value = length_in(text, line, name)
    if not value > 0.0:
        raise WrongDrawing(Wrong(f"{quoted(text)} as {name} of the drawing", "a length above 0", line))
    return value
