"""In which unit the lengths of a file are, and what tells that its `units` cannot be meant."""

from __future__ import annotations

import re
from statistics import median_low

from beltplan.drive.belt import MM_PER_INCH
from beltplan.faults import FaultList, quoted
from beltplan.layoutfile.document import Scalar, Table, walked
from beltplan.layoutfile.schema import key_at
from beltplan.layoutfile.synonyms import word_meant
from beltplan.layoutfile.values import is_number

_FAR_APART_IN = 100.0
"""Pulleys of a drive are hardly taped so far apart (common practice, no source)."""
_BARE_FRACTION = re.compile(r"\s*[+-]?(\d+\s?[\s-]\s?)?(\d+\s?/\s?\d+|[½¼¾⅛⅜⅝⅞])\s*|[+-]?\d+[½¼¾⅛⅜⅝⅞]", re.ASCII)


def scale_of(table: Table, faults: FaultList) -> float:
    """Mm for one unit of a file; that its `units` cannot be meant is noted once."""
    units = table.node("units")
    said = units.text if isinstance(units, Scalar) else "mm"
    read = [(path, node) for path, _, node in walked(table) if isinstance(node, Scalar) and path[-1][-3:] != "_mm"]
    found = [node for _, node in read if _BARE_FRACTION.fullmatch(node.text)]
    # Under a word that means inches, which has a fault of its own, each length is read as it is meant.
    if units is not None and word_meant(said, key_at("units").choices) == "in":
        bare = [node for path, node in read if path[0] == "distances" and (is_number(node) or node in found)]
        taped = [float(node.text) if is_number(node) else 0.0 for node in bare]
        if not taped or median_low(taped) <= _FAR_APART_IN:
            return MM_PER_INCH
        got = f"{quoted(said)}, but most distances are over {_FAR_APART_IN:g} in: are they in mm?"
        faults.add(units.line, ("units",), got, "`units: mm`; or ` mm` after each length in mm")
        return 1.0
    if len(found) < 2:
        return 1.0
    got = f"{'nothing' if units is None else quoted(said)}, but {len(found)} lengths are fractions of an inch: "
    first = f"{quoted(found[0].text)} in line {found[0].line} is the first"
    allowed = "`units: in`, on a line of its own at the left edge; or ` in` after each length in inches"
    faults.add(table.line if units is None else units.line, ("units",), got + first, allowed)
    return MM_PER_INCH
