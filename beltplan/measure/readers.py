"""What a tape, calipers, a level, a protractor and a square read: distances, diameters, angles, offsets, rims."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import cast

from beltplan.faults import quoted
from beltplan.layoutfile.document import Node, Scalar, Table, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import GAP, LEAST_MM, WORDS_OF_SIDES, SeenSide
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.synonyms import meant_by
from beltplan.layoutfile.values import COMMA_HINT, Misread, number
from beltplan.measure.forms import Accuracy, Form, entries_of, length, readings_at, tables_of
from beltplan.measure.names import LayoutPart, Names, Pair
from beltplan.measure.readings import AXES, Axis, Between, Diameter, Direction, Distance, LoopLength, Offset

_UP_DEG = 90.0
_FARTHEST_APART = 2.0
"""A list [234,5, 235] holds the readings 234, 5 and 235; nobody misreads one tape twice so far apart."""
_SAID_PLUMB = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)\s*(?:deg|\u00b0)?,?\s*(?:from\s+|to\s+)?plumb\s*", re.IGNORECASE)
_AGAINST: Mapping[str, str] = {"left": "right", "right": "left", "above": "below", "below": "above"}


def read_distances(top: Section, names: Names, accuracy: Accuracy) -> tuple[Distance, ...]:
    first: dict[tuple[frozenset[str], Between], tuple[float, str]] = {}

    def distance(form: Form, pair: Pair, value: tuple[float, Between], sd_mm: float) -> Distance:
        before, told = first.setdefault((frozenset(pair), value[1]), (value[0], form.written))
        if value[1] != "gap" and max(before, value[0]) > _FARTHEST_APART * min(before, value[0]):
            got = f"{quoted(form.written)} beside {quoted(told)} for the same two points{COMMA_HINT}"
            allowed = f"readings of one distance within a factor of {_FARTHEST_APART:g}"
            form.holder.refuse(form.path, got, allowed, form.line)
        return Distance(*pair, value[0], sd_mm, value[1], written=form.written, line=form.line)

    return readings_at(
        top, "distances", "PAIR", names.pair, ("accuracy_mm", accuracy.distance_mm), _along_tape, distance
    )


def _along_tape(form: Form) -> tuple[float, Between] | None:
    outside, gap = (form.own is not None and form.own.value(key) for key in ("outside", "gap"))
    if form.own is not None and outside and gap:
        form.own.refuse("gap", "both outside and gap", "one of the two")
    if not gap and form.written.strip() in ("0", "0.0"):
        # What is said of it helps more than its range.
        allowed = "a distance above 0 (two names for one place? then use one of them)"
        form.holder.refuse(form.path, "0", allowed, form.line)
        return None
    value = form.length(GAP if gap and not outside else None)
    return (
        None if value is None or (outside and gap) else (value, "outside" if outside else "gap" if gap else "centres")
    )


def read_diameters(top: Section, names: Names, accuracy: Accuracy) -> tuple[Diameter, ...]:
    """The diameters over rims that could be read, of points and of pulleys that move."""

    def known(section: Section, name: str) -> str | None:
        return name if name in names.moving or names.known(section, name, name) else None

    def diameter(form: Form, name: str, value_mm: float, sd_mm: float) -> Diameter:
        return Diameter(name, value_mm, sd_mm, written=form.written, line=form.line)

    return readings_at(
        top, "diameters", "NAME", known, ("accuracy_mm", accuracy.diameter_mm), lambda form: form.length(), diameter
    )


def read_angles(top: Section, names: Names, accuracy: Accuracy) -> tuple[Direction, ...]:
    def value(form: Form) -> float | None:
        value = form.read(_angle)
        plumb = form.own is not None and form.own.value("from") == "plumb"
        return None if value is None else value + (_UP_DEG if plumb else 0.0)

    def angle(form: Form, pair: Pair, value_deg: float, sd_deg: float) -> Direction:
        return Direction(*pair, math.radians(value_deg), math.radians(sd_deg), written=form.written, line=form.line)

    return readings_at(top, "angles", "PAIR", names.pair, ("accuracy_deg", accuracy.angle_deg), value, angle)


def _angle(node: Node, spec: Key) -> float:
    try:
        return number(node, spec)
    except Misread as fault:
        if said := _SAID_PLUMB.fullmatch(node.text if isinstance(node, Scalar) else ""):
            raise Misread(fault.got, f"{{value: {said[1]}, from: plumb}}") from None
        raise


def read_offsets(top: Section, names: Names, accuracy: Accuracy, origin: str | None) -> Iterator[Offset]:
    """The offsets that could be read. origin: what they count from where they say nothing."""
    for section, name in entries_of(top, "offsets"):
        known = names.known(section, name, name)
        for own in tables_of(section, name, "NAME"):
            datum = own.value("from") if own.has("from") else origin
            if own.has("from") and datum is not None and not names.known(own, "from", datum):
                datum = None
            if datum == name:
                own.refuse("from", f"{quoted(name)} itself", "another point")
            read = list(_axes(own, accuracy))
            if known and datum is not None and datum != name:
                yield from (
                    Offset(name, datum, axis, value, sd, written=written, line=line)
                    for axis, value, sd, written, line in read
                )


def _axes(own: Section, accuracy: Accuracy) -> Iterator[tuple[Axis, float, float, str, int]]:
    sd = own.value("accuracy_mm") or accuracy.offset_mm
    if not any(own.has(axis) for axis in AXES):
        own.missing("x", "x, y or both")
    for axis in AXES:
        node = own.node(axis)
        value = length(own, axis)
        if value is not None:
            yield axis, value, sd, node.text if isinstance(node, Scalar) else "", own.line_of(axis)


def read_level(top: Section, names: Names) -> Pair | None:
    """The two points on a level line, the second to the right."""
    words = top.each("level", lambda node, spec: (node.text if isinstance(node, Scalar) else "", node.line))
    if words is None:
        return None
    (left, _), (right, _) = words
    known = [names.known(top, "level", *word) for word in words]
    if left == right:
        top.refuse("level", f"{quoted(left)} twice", "two different points, the second to the right")
        return None
    return (left, right) if all(known) else None


def read_sides(top: Section, names: Names, origin: str | None) -> Mapping[str, tuple[SeenSide, ...]]:
    found: dict[str, tuple[SeenSide, ...]] = {}
    for section, name in entries_of(top, "sides"):
        known = names.known(section, name, name)
        if known and name == origin:
            section.refuse(name, "the origin, from which it is seen itself", "other points")
        words = _words(section, name, section.node(name))
        if known and words:
            found[name] = words
    return found


def _words(section: Section, name: str, node: Node | None) -> tuple[SeenSide, ...]:
    allowed = "left, right, above or below; or two of them, as above right"
    words = re.split(r"[\s,_-]+", node.text.strip()) if isinstance(node, Scalar) else []
    wrong = not 1 <= len(words) <= 2 or any(word not in WORDS_OF_SIDES for word in words)
    if wrong or (len(words) == 2 and words[1] in (words[0], _AGAINST[words[0]])):
        hints = "".join(meant_by(word, WORDS_OF_SIDES) for word in words[:2] if word not in WORDS_OF_SIDES)
        section.refuse(name, "nothing" if node is None else kind_of(node) + hints, allowed)
        return ()
    return tuple(cast(SeenSide, word) for word in words)


def sizes_of(
    top: Section,
    names: Names,
    lengths: tuple[Distance | LoopLength, ...],
    sizes: tuple[Diameter, ...],
    rimmed: frozenset[str],
    part: LayoutPart,
    accuracy: Accuracy,
) -> tuple[Diameter, ...]:
    """The rims by calipers of points, and those that the layout gives.

    lengths: distances and loops. One over a rim that nothing tells is noted, and one that is too short for its rims.
    sizes: by calipers. rimmed: all pulleys of which a rim was measured or traced.
    """
    by_hand = {size.pulley for size in sizes}
    over = [name for each in lengths for name in each.rims]
    # By the belt's profile, where the pulley gives another diameter than that of its rim.
    sized = [name for name, key in part.sized.items() if "belt" not in part.missing or key == "rim_diameter"]
    own = [name for name in dict.fromkeys((*over, *names.points)) if name not in by_hand and name in sized]
    _refuse_unknown(top, lengths, rimmed.union(own))
    found = [each for name in own if (each := _own_rim(top, name, part, accuracy)) is not None]
    every = (*(size for size in sizes if size.pulley in names.points), *found)
    _refuse_short(top, lengths, {size.pulley: size.value_mm for size in every})
    return every


def _refuse_unknown(top: Section, lengths: Iterable[Distance | LoopLength], known: frozenset[str]) -> None:
    allowed = "the rim diameter of {}, in `diameters`, of the pulley itself, or traced in `circles`"
    for each in lengths:
        unknown = [name for name in dict.fromkeys(each.rims) if name not in known]
        if unknown:
            got = f"{each.between} without a diameter of {' and '.join(unknown)}"
            top.faults.add(each.line, _path(each), got, allowed.format("each" if each.kind == "loop" else "both"))


def _own_rim(top: Section, name: str, part: LayoutPart, accuracy: Accuracy) -> Diameter | None:
    if part.layout is None:
        return None
    pulley = part.layout.pulleys[name]
    sd = max(pulley.uncertainty.diameter_mm or accuracy.diameter_mm, LEAST_MM)
    written, line = _written(top.table, ("pulleys", name, part.sized[name]))
    return Diameter(name, 2.0 * pulley.rim_radius_mm(part.layout.belt), sd, written=written, line=line)


def _written(table: Table, keys: tuple[str, ...]) -> tuple[str, int]:
    """The text of a single value, and its line."""
    *above, last = keys
    for key in above:
        below = table.entries[key].value
        table = below if isinstance(below, Table) else table
    entry = table.entries[last]
    return entry.value.text if isinstance(entry.value, Scalar) else "", entry.line


def _refuse_short(top: Section, lengths: Iterable[Distance | LoopLength], rims_mm: Mapping[str, float]) -> None:
    """Note lengths round rims that are shorter than these alone allow."""
    for each in lengths:
        least, why = each.least_mm(rims_mm)
        if not each.value_mm > least:
            words = f"{least:.1f} mm" if top.scale == 1.0 else f"{least / top.scale:.3f} in"
            top.faults.add(each.line, _path(each), each.written, f"above {words}: {why}")


def _path(each: Distance | LoopLength) -> tuple[str, ...]:
    return (f"{each.kind}s", each.name if isinstance(each, LoopLength) else " - ".join(each.points))
