"""Outlines from a DXF drawing in text form: its tags, its unit, and the entities of its model space.

Source: the format's own openly published reference of group codes, and the arbitrary axis rule in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from beltplan.belts.designations import MM_PER_INCH
from beltplan.reading.dxf_entities import IGNORED, Entity, Tag, piece_of
from beltplan.reading.faults import quoted
from beltplan.reading.outline_drawing import MOST_PIECES, Drawing, Piece, Wrong, WrongDrawing, refuse_many

UNITS = {
    1: MM_PER_INCH, 2: 12.0 * MM_PER_INCH, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 1e-6 * MM_PER_INCH, 9: 1e-3 * MM_PER_INCH,
    10: 36.0 * MM_PER_INCH, 13: 1e-3, 14: 100.0,
}  # fmt: skip
"""mm for one unit of the drawing, by $INSUNITS."""
NO_UNIT = 0
BINARY = b" Binary DXF\r\n\x1a\0"
TEXT_DXF = "a DXF in text form (ASCII), whole to its EOF"


@dataclass(frozen=True, eq=False)
class _Section:
    """A section of the file by its name, with the tags in it."""

    name: str
    tags: list[Tag]


def read_dxf(data: bytes) -> Drawing:
    """The lines of a DXF's model space. Raises WrongDrawing."""
    if BINARY in data[:40] or b"\0" in data:
        raise WrongDrawing(Wrong("a binary DXF", TEXT_DXF))
    sections = list(_sections(_tags(_decoded(data))))
    by_name = {section.name: section.tags for section in sections}
    if "ENTITIES" not in by_name:
        raise WrongDrawing(Wrong("no ENTITIES section", TEXT_DXF))
    return Drawing("DXF", tuple(_pieces(by_name["ENTITIES"])), *_unit(by_name.get("HEADER", [])))


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")  # only names can differ: codes and numbers are ASCII


def _tags(text: str) -> Iterator[Tag]:
    """Group codes with their values and the lines of these."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    if len(lines) % 2:
        lines.append("")
    for place in range(0, len(lines), 2):
        try:
            code = int(lines[place])
        except ValueError:
            got = f"{quoted(lines[place].strip())} where a group code stands"
            raise WrongDrawing(Wrong(got, TEXT_DXF, place + 1)) from None
        yield Tag(code, lines[place + 1].strip(), place + 2)


def _sections(tags: Iterator[Tag]) -> Iterator[_Section]:
    name, ended = "", False
    inside: list[Tag] = []
    for tag in tags:
        if tag.code == 0 and tag.value == "SECTION":
            name, inside = "?", []
        elif tag.code == 0 and tag.value == "ENDSEC":
            yield _Section(name, inside)
            name = ""
        elif tag.code == 0 and tag.value == "EOF" and not name:
            ended = True
            break
        elif name == "?" and tag.code == 2:
            name = tag.value
        elif name:
            inside.append(tag)
    if not ended:
        raise WrongDrawing(Wrong("a file that ends before its EOF", TEXT_DXF))


def _unit(header: list[Tag]) -> tuple[float | None, Wrong | None]:
    """mm for one unit, None where the drawing does not say; and what is wrong with what it says."""
    for name, value in pairwise(header):
        if (name.code, name.value, value.code) == (9, "$INSUNITS", 70):
            number = int(value.value) if value.value.isdecimal() and len(value.value) < 4 else -1
            if number in (NO_UNIT, *UNITS):
                return UNITS.get(number), None
            allowed = f"one of {', '.join(map(str, (NO_UNIT, *UNITS)))}; or `units` beside `file`: mm or in"
            return None, Wrong(f"{quoted(value.value)} as $INSUNITS", allowed, value.line)
    return None, None


def _pieces(tags: list[Tag]) -> list[Piece]:
    pieces: list[Piece] = []
    wrong: list[Wrong] = []
    for entity in _whole(_entities(tags)):
        if entity.kind in IGNORED or entity.hidden:
            continue
        if len(pieces) >= MOST_PIECES:
            raise WrongDrawing(Wrong(f"more than {MOST_PIECES} lines", "a simpler drawing", entity.line))
        try:
            piece = piece_of(entity)
        except WrongDrawing as fault:
            wrong += fault.wrong
            continue
        if piece is not None:
            pieces.append(piece)
    refuse_many(wrong)
    return pieces


def _entities(tags: list[Tag]) -> Iterator[Entity]:
    """Every entity with its own tags; those of other programs in braces are left out."""
    held: list[Tag] = []
    foreign = False
    for tag in tags:
        if tag.code == 0:
            if held:
                yield Entity(held[0].value, held[0].line, held[1:])
            held, foreign = [tag], False
        elif tag.code == 102:
            foreign = tag.value.startswith("{")
        elif tag.code == 101:
            foreign = True  # an embedded object: up to the end of the entity
        elif held and not foreign and tag.code < 1000:
            held.append(tag)
    if held:
        yield Entity(held[0].value, held[0].line, held[1:])


def _whole(entities: Iterator[Entity]) -> Iterator[Entity]:
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
            raise WrongDrawing(Wrong("a POLYLINE without its SEQEND", TEXT_DXF, entity.line))
        if vertex.kind != "SEQEND":
            raise WrongDrawing(Wrong(f"{quoted(vertex.kind)} in a POLYLINE", "VERTEX or SEQEND", vertex.line))
        yield Entity(entity.kind, entity.line, entity.tags, tuple(vertices))
