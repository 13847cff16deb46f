"""In which unit the lengths of a file are, and what tells that its `units` cannot be meant."""

from __future__ import annotations

import re
from collections.abc import Iterator

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import FaultList, quoted
from beltplan.layoutfile.document import Node, Scalar, Sequence, Table
from beltplan.layoutfile.keys import FILE_UNIT
from beltplan.layoutfile.schema import KEYS, MEASUREMENT_KEYS, key_at
from beltplan.layoutfile.synonyms import word_meant

_OWN_NAMES = ("NAME", "PAIR")
_LENGTHS = {
    (key.parent if key.name in _OWN_NAMES else key.path).rpartition(".")[2]
    for key in (*KEYS, *MEASUREMENT_KEYS)
    if key.unit == FILE_UNIT
}
"""Keys at which, or under whose names of the user's own, lengths stand."""
_BARE_FRACTION = re.compile(r"\s*[+-]?(\d+\s?[\s-]\s?)?(\d+\s?/\s?\d+|[½¼¾⅛⅜⅝⅞])\s*|[+-]?\d+[½¼¾⅛⅜⅝⅞]", re.ASCII)


def scale_of(table: Table, faults: FaultList) -> float:
    """Mm for one unit of a file. Where several lengths are bare fractions they are inches, which is noted once."""
    units = table.node("units")
    said = units.text if isinstance(units, Scalar) else "mm"
    # Under a word that means inches, which has a fault of its own, each length is read as it is meant.
    if word_meant(said, key_at("units").choices) == "in":
        return MM_PER_INCH
    found = list(_bare_fractions(table))
    if len(found) < 2:
        return 1.0
    got = f"{'nothing' if units is None else quoted(said)}, but {len(found)} lengths are fractions of an inch: "
    line = table.line if units is None else units.line
    first = f"{quoted(found[0].text)} in line {found[0].line} is the first"
    allowed = "`units: in`, on a line of its own at the left edge; or ` in` after each length in inches"
    faults.add(line, ("units",), got + first, allowed)
    return MM_PER_INCH


def _bare_fractions(node: Node, is_length: bool = False) -> Iterator[Scalar]:
    """Fractions without a unit of their own, where a length in the file's unit may stand."""
    if isinstance(node, Table):
        for key, entry in node.entries.items():
            yield from _bare_fractions(entry.value, key in _LENGTHS or (is_length and not key.endswith("_mm")))
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from _bare_fractions(item, is_length)
    elif is_length and _BARE_FRACTION.fullmatch(node.text):
        yield node
