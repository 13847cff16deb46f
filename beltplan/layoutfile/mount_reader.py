"""What holds a pulley's part to the engine, and the marks of a layout."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

from beltplan.drive.mounts import Hole, Mark, Mount, Place, Slot
from beltplan.layoutfile.document import Node, Table, kind_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import written_as
from beltplan.layoutfile.section import Section
from beltplan.layoutfile.surroundings_reader import read_outline
from beltplan.layoutfile.values import Misread, is_number, row

_ENDS = ("from", "to")
_CURVED = "; a curved slot by its two ends, drawn straight"


def read_mount(pulley: Section) -> Mount | None:
    """What holds a pulley's part, turned as the file says; None where it is not given."""
    mount = pulley.mapping("mount")
    if mount is None:
        return None
    keys = ("holes", "slots", "outline")
    if not any(map(mount.has, keys)) and not mount.misspelt(keys):
        pulley.refuse("mount", "a mount without any of holes, slots, outline", "at least one of them")
    turn = cmath.rect(1.0, math.radians(mount.value("turn_deg") or 0.0))
    holes = mount.each("holes", lambda node, spec: _hole(node, spec, mount.scale)) or ()
    return Mount(
        tuple(Hole(_turned((x, y), turn), diameter) for x, y, diameter in holes),
        tuple(_slots(mount, turn)),
        tuple(_turned(corner, turn) for corner in read_outline(mount, "outline") or ()),
    )


def _turned(at: Place, turn: complex) -> Place:
    found = complex(*at) * turn
    return found.real, found.imag


def _hole(node: Node, spec: Key, scale: float) -> tuple[float, ...]:
    x, y, diameter = row(node, (spec, spec, spec), spec.allowed(scale), scale)
    if diameter <= 0.0:
        raise Misread(f"a diameter of {diameter / scale:g}", "above 0")
    return x, y, diameter


def _slots(mount: Section, turn: complex) -> Iterator[Slot]:
    for place, node in enumerate(mount.items("slots") or (), start=1):
        key = f"slots.{place}"
        if not isinstance(node, Table) or all(end is None or is_number(end) for end in map(node.node, _ENDS)):
            got = ", ".join(node.entries) if isinstance(node, Table) else kind_of(node)
            mount.refuse(key, got, f"{written_as('pulleys.NAME.mount.slots.ENTRY')}{_CURVED}", node.line)
            continue
        slot = mount.entry(key, node)
        start, end, width = slot.given(*_ENDS, "width").values()
        if start is not None and start == end:
            slot.refuse("to", "the place of `from`", "another place; a round hole goes under `holes`")
        elif not (start is None or end is None or width is None):
            yield Slot(_turned(start, turn), _turned(end, turn), width)


# Points that are no pulleys.


def read_marks(top: Section, pulleys: tuple[str, ...]) -> tuple[Mark, ...]:
    marks = top.own_names("marks")
    return tuple(mark for name in marks.names if (mark := _mark(marks, name, pulleys))) if marks else ()


def _mark(marks: Section, name: str, pulleys: tuple[str, ...]) -> Mark | None:
    if name in pulleys:
        marks.refuse(name, "the name of a pulley", "a name of its own")
    if not marks.takes_name(name):
        return None
    node, uncertainty = marks.node(name), None
    if isinstance(node, Table):
        own = marks.below(name, node, "NAME")
        own.check_keys()
        at, uncertainty = own.value("at"), own.value("uncertainty_mm")
    else:
        at = marks.value(name, "NAME")
    return None if at is None else Mark(name, at, uncertainty)
