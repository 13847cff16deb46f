"""An export as DXF in its openly documented ASCII form, release 12: what every drawing and cutting program reads.

Later releases would name the unit in a place that is defined for it, but ask for handles, owners and dictionaries that
strict readers want whole; there is nothing in them that lines, arcs and circles need. The unit stands in the header all
the same, as later releases write it, and in words in the comments and on the layer `notes`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from beltplan.drawing.content import (
    DRAWN_LAYERS,
    HEIGHT_MM,
    Content,
    Words,
    decimal,
    extent_of,
    labels_of,
    note_lines,
    rounded,
)
from beltplan.drawing.study import Arc, Line, Outline, Part, Place, Ring, Spot

_RELEASE_12 = "AC1009"
_MILLIMETRES, _METRIC, _DECIMAL = 4, 1, 2
"""Values of $INSUNITS, $MEASUREMENT and $LUNITS."""
_COMMENT, _LAYER = 999, 8
MOST_LETTERS = 250
"""Release 12 takes 255 letters in a text, however many of them one character needs."""
_CENTRED = 1

_Pair = tuple[int, str | int | float]
"""A group code and its value."""


def dxf_text(content: Content) -> str:
    """Plain ASCII, lines ending as the oldest readers want them. Raises ValueError for a number that is not finite."""
    comments = ((_COMMENT, piece) for line in note_lines(content) for piece in pieces(line))
    pairs = (*comments, *_header(content), *_tables(), *_entities(content), (0, "EOF"))
    told = ((code, decimal(value) if isinstance(value, float) else value) for code, value in pairs)
    return "".join(f"{code:3d}\r\n{value}\r\n" for code, value in told)


def _header(content: Content) -> Iterator[_Pair]:
    least, largest = extent_of(content)
    yield from _section("HEADER")
    yield from ((9, "$ACADVER"), (1, _RELEASE_12))
    yield from ((9, "$EXTMIN"), *_point(least))
    yield from ((9, "$EXTMAX"), *_point(largest))
    yield from ((9, "$LUNITS"), (70, _DECIMAL))
    yield from ((9, "$MEASUREMENT"), (70, _METRIC))
    yield from ((9, "$INSUNITS"), (70, _MILLIMETRES))
    yield 0, "ENDSEC"


def _tables() -> Iterator[_Pair]:
    yield from _section("TABLES")
    yield from _table("LTYPE", 1)
    yield from ((0, "LTYPE"), (2, "CONTINUOUS"), (70, 0), (3, "Solid line"), (72, 65), (73, 0), (40, 0.0))
    yield 0, "ENDTAB"
    # Layer 0 is the one that every drawing has.
    layers = (("0", 7), *((layer.name, layer.colour_number) for layer in DRAWN_LAYERS))
    yield from _table("LAYER", len(layers))
    for name, colour in layers:
        yield from ((0, "LAYER"), (2, name), (70, 0), (62, colour), (6, "CONTINUOUS"))
    yield 0, "ENDTAB"
    yield from _table("STYLE", 1)
    yield from ((0, "STYLE"), (2, "STANDARD"), (70, 0), (40, 0.0), (41, 1.0), (50, 0.0), (71, 0), (42, HEIGHT_MM))
    yield from ((3, "txt"), (4, ""), (0, "ENDTAB"), (0, "ENDSEC"))


def _entities(content: Content) -> Iterator[_Pair]:
    yield from _section("ENTITIES")
    for part in content.parts:
        yield from _part(part)
    for label in labels_of(content):
        yield from _text(label)
    yield 0, "ENDSEC"


def _part(part: Part) -> Iterator[_Pair]:
    if isinstance(part, Line):
        yield from (*_entity("LINE", part.layer), *_point(part.start_mm), *_point(part.end_mm, 1))
    elif isinstance(part, Arc):
        yield from _arc(part)
    elif isinstance(part, Ring):
        yield from _circle(part.layer, part.centre_mm, part.radius_mm)
    elif isinstance(part, Spot):
        yield from (*_entity("POINT", part.layer), *_point(part.at_mm))
    else:
        yield from _polyline(part)


def _arc(arc: Arc) -> Iterator[_Pair]:
    """An arc as DXF has it, always counter-clockwise; a whole turn as a circle, and nothing for one without length.

    Equal angles would be read as a whole turn.
    """
    sweep = rounded(abs(math.degrees(arc.sweep_rad)))
    first = math.degrees(min(arc.start_rad, arc.start_rad + arc.sweep_rad))
    start, end = _within_a_turn(first), _within_a_turn(first + abs(math.degrees(arc.sweep_rad)))
    if sweep >= 360.0:
        yield from _circle(arc.layer, arc.centre_mm, arc.radius_mm)
    elif start != end and rounded(arc.radius_mm) > 0.0:
        yield from (*_entity("ARC", arc.layer), *_point(arc.centre_mm), (40, arc.radius_mm), (50, start), (51, end))


def _within_a_turn(degrees: float) -> float:
    return rounded(degrees % 360.0) % 360.0


def _circle(layer: str, centre: Place, radius: float) -> tuple[_Pair, ...]:
    return *_entity("CIRCLE", layer), *_point(centre), (40, radius)


def _polyline(outline: Outline) -> Iterator[_Pair]:
    # 66: vertices follow; 70: closed.
    yield from (*_entity("POLYLINE", outline.layer), (66, 1), *_point((0.0, 0.0)), (70, 1))
    for corner in outline.corners_mm:
        yield from (*_entity("VERTEX", outline.layer), *_point(corner))
    yield from _entity("SEQEND", outline.layer)


def _text(label: Words) -> Iterator[_Pair]:
    (x, y), lines = label.at_mm, pieces(label.text)
    for number, line in enumerate(lines):
        at = (x, y - number * HEIGHT_MM)
        yield from (*_entity("TEXT", label.layer), *_point(at), (40, HEIGHT_MM), (1, line))
        if label.centred:
            yield from ((72, _CENTRED), *_point(at, 1))


def pieces(text: str) -> list[str]:
    found = [""]
    while "%%" in text:  # two in a row begin a code of their own
        text = text.replace("%%", "% %")
    for letter in text:
        written = _ascii(letter)
        if len(found[-1]) + len(written) > MOST_LETTERS:
            found.append("")
        found[-1] += written
    return found


def _ascii(letter: str) -> str:
    """One character: what is not ASCII by its number of four digits; a backslash too, for it begins such a number."""
    if letter == "^":
        return "^ "  # alone it would begin a control character
    if letter.isascii() and letter != "\\":
        return letter
    return f"\\U+{ord(letter):04X}" if ord(letter) <= 0xFFFF else "?"


def _section(name: str) -> tuple[_Pair, ...]:
    return (0, "SECTION"), (2, name)


def _table(name: str, count: int) -> tuple[_Pair, ...]:
    return (0, "TABLE"), (2, name), (70, count)


def _entity(kind: str, layer: str) -> tuple[_Pair, ...]:
    return (0, kind), (_LAYER, layer)


def _point(at: Place, number: int = 0) -> tuple[_Pair, ...]:
    return (10 + number, float(at[0])), (20 + number, float(at[1])), (30 + number, 0.0)
