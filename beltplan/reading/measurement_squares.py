"""What a level, a protractor and a square show: angles, offsets, the level line, and sides as they are seen."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import cast

from beltplan.reading.document import Node, Scalar, kind_of
from beltplan.reading.faults import quoted
from beltplan.reading.keys import key_at
from beltplan.reading.measurement_accuracy import Accuracy
from beltplan.reading.measurement_forms import Form, entries_of, forms_of, tables_of
from beltplan.reading.measurement_keys import WORDS_OF_SIDES
from beltplan.reading.measurement_names import Names, Pair
from beltplan.reading.section import Section
from beltplan.reading.tape import read_length
from beltplan.reading.values import Misread
from beltplan.studies.measured import Axis, Direction, Offset, Side

UP_DEG = 90.0
AXES: tuple[Axis, Axis] = ("x", "y")
AGAINST: Mapping[str, str] = {"left": "right", "right": "left", "above": "below", "below": "above"}


def read_angles(top: Section, names: Names, accuracy: Accuracy) -> tuple[Direction, ...]:
    """The angles that could be read."""
    section = entries_of(top, "angles")
    if section is None:
        return ()
    found = []
    for key in section.table.entries:
        pair = names.pair(section, key)
        found += [_direction(form, pair, accuracy) for form in forms_of(section, key, "PAIR")]
    return tuple(each for each in found if each is not None)


def _direction(form: Form, pair: Pair | None, accuracy: Accuracy) -> Direction | None:
    value, own = form.number(), form.own_number("accuracy_deg")
    datum = form.own.choice("from") if form.own is not None else None
    if value is None or pair is None:
        return None
    angle = value + (UP_DEG if datum == "plumb" else 0.0)
    deviation = accuracy.angle_deg if own is None else own
    return Direction(*pair, math.radians(angle), math.radians(deviation), form.written, form.line)


def read_offsets(top: Section, names: Names, accuracy: Accuracy, origin: str | None) -> tuple[Offset, ...]:
    """The offsets that could be read. origin: what they count from where they say nothing."""
    section = entries_of(top, "offsets")
    return () if section is None else tuple(_offsets(section, names, accuracy, origin))


def _offsets(section: Section, names: Names, accuracy: Accuracy, origin: str | None) -> Iterator[Offset]:
    for name in section.table.entries:
        known = names.known(section, name, name)
        for own in tables_of(section, name, "NAME"):
            datum = _datum(own, names, origin)
            if datum == name:
                own.refuse("from", f"{quoted(name)} itself", "another point")
            read = list(_axes(own, accuracy))
            if known and datum is not None and datum != name:
                yield from (Offset(name, datum, *each) for each in read)


def _datum(own: Section, names: Names, origin: str | None) -> str | None:
    if not own.has("from"):
        return origin
    name = own.text("from")
    return name if name is not None and names.known(own, "from", name) else None


def _axes(own: Section, accuracy: Accuracy) -> Iterator[tuple[Axis, float, float, str, int]]:
    deviation = own.number("accuracy_mm") or accuracy.offset_mm
    if not any(own.has(axis) for axis in AXES):
        own.missing("x", "x, y or both")
    for axis in AXES:
        node = own.node(axis)
        value = None if node is None else _length(own, axis, node)
        if value is not None:
            yield axis, value, deviation, node.text if isinstance(node, Scalar) else "", own.line_of(axis)


def _length(own: Section, axis: Axis, node: Node) -> float | None:
    try:
        return read_length(node, key_at(f"{own.form}.{axis}"), own.scale)
    except Misread as fault:
        own.refuse(axis, fault.got, fault.allowed, fault.line)
        return None


def read_level(top: Section, names: Names) -> Pair | None:
    """The two points on a level line, the second to the right."""
    nodes = top.items("level", 2, 2)
    if nodes is None:
        return None
    words = [node.text if isinstance(node, Scalar) else "" for node in nodes]
    known = [names.known(top, "level", word, node.line) for word, node in zip(words, nodes, strict=True)]
    if words[0] == words[1]:
        top.refuse("level", f"{quoted(words[0])} twice", "two different points, the second to the right")
        return None
    return (words[0], words[1]) if all(known) else None


def read_sides(top: Section, names: Names, origin: str | None) -> Mapping[str, tuple[Side, ...]]:
    """Where points are seen from the origin."""
    section = entries_of(top, "sides")
    found: dict[str, tuple[Side, ...]] = {}
    if section is None:
        return found
    for name in section.table.entries:
        known = names.known(section, name, name)
        if known and name == origin:
            section.refuse(name, "the origin, from which it is seen itself", "other points")
        words = _words(section, name, section.node(name))
        if known and words:
            found[name] = words
    return found


def _words(section: Section, name: str, node: Node | None) -> tuple[Side, ...]:
    allowed = "left, right, above or below; or two of them, as above right"
    words = node.text.replace(",", " ").split() if isinstance(node, Scalar) else []
    wrong = not 1 <= len(words) <= 2 or any(word not in WORDS_OF_SIDES for word in words)
    if wrong or (len(words) == 2 and words[1] in (words[0], AGAINST[words[0]])):
        section.refuse(name, "nothing" if node is None else kind_of(node), allowed)
        return ()
    return tuple(cast(Side, word) for word in words)
