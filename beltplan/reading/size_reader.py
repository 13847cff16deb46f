"""Lists of sizes that can be had: the diameters a maker offers, and those of idlers."""

from __future__ import annotations

from beltplan.reading import values
from beltplan.reading.document import Node
from beltplan.reading.keys import key_at
from beltplan.reading.section import Section
from beltplan.reading.values import Misread

MOST_SIZES = 50


def read_sizes(section: Section, key: str) -> tuple[float, ...]:
    """The sizes listed at a key, mm, rising, each once; none where the key is absent or an entry is wrong."""
    nodes = section.items(key, 1, MOST_SIZES) or ()
    read = [_size(section, key, place, node) for place, node in enumerate(nodes, start=1)]
    return tuple(sorted({size for size in read if size is not None}))


def _size(section: Section, key: str, place: int, node: Node) -> float | None:
    spec = key_at(f"{section.form}.{key}" if section.form else key)
    try:
        return values.number(node, spec, section.scale)
    except Misread as fault:
        section.refuse(f"{key}.{place}", fault.got, fault.allowed, node.line)
        return None
