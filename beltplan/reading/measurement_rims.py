"""The rims that distances run over: by calipers, traced, or as the layout gives them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from beltplan.reading.document import Scalar, Table
from beltplan.reading.measurement_accuracy import Accuracy
from beltplan.reading.measurement_keys import LEAST_MM
from beltplan.reading.measurement_layout import LayoutPart
from beltplan.reading.measurement_names import Names
from beltplan.reading.section import Section
from beltplan.studies.measured import Distance, Size


@dataclass(frozen=True, eq=False)
class Rims:
    """What was measured of rims. sizes: by calipers. traced: names of those traced on a picture."""

    sizes: tuple[Size, ...]
    traced: frozenset[str]

    @property
    def names(self) -> frozenset[str]:
        """Names of all of which a rim was measured."""
        return self.traced.union(size.pulley for size in self.sizes)


def sizes_of(
    top: Section, names: Names, distances: tuple[Distance, ...], rims: Rims, part: LayoutPart, accuracy: Accuracy
) -> tuple[Size, ...]:
    """The rims by calipers of points, and those that the layout gives.

    A distance over a rim that nothing tells is noted, and one that is too short for its rims.
    """
    by_hand = {size.pulley for size in rims.sizes}
    over = [name for each in distances if each.between != "centres" for name in (each.first, each.second)]
    own = [name for name in dict.fromkeys((*over, *names.points)) if name not in by_hand and _has_rim(name, part)]
    _refuse_unknown(top, distances, rims.names.union(own))
    found = [each for name in own if (each := _own_rim(top, name, part, accuracy)) is not None]
    every = (*(size for size in rims.sizes if size.pulley in names.points), *found)
    _refuse_short(top, distances, {size.pulley: size.diameter_mm for size in every})
    return every


def _has_rim(name: str, part: LayoutPart) -> bool:
    """Whether the layout tells a pulley's rim: by the belt's profile, where it gives another diameter."""
    return name in part.sized and ("belt" not in part.missing or part.sized[name] == "rim_diameter")


def _refuse_unknown(top: Section, distances: Iterable[Distance], known: frozenset[str]) -> None:
    allowed = "the rim diameter of both, in `diameters`, of the pulley itself, or traced in `circles`"
    for each in distances:
        unknown = [name for name in (each.first, each.second) if name not in known]
        if each.between != "centres" and unknown:
            got = f"{each.between} without a diameter of {' and '.join(unknown)}"
            top.faults.add(each.line, _path(each), got, allowed)


def _own_rim(top: Section, name: str, part: LayoutPart, accuracy: Accuracy) -> Size | None:
    if part.layout is None:
        return None
    pulley = part.layout.pulleys[name]
    deviation = max(pulley.uncertainty.diameter_mm or accuracy.diameter_mm, LEAST_MM)
    written, line = _written(top.table, ("pulleys", name, part.sized[name]))
    return Size(name, 2.0 * pulley.rim_radius_mm(part.layout.belt), deviation, written, line)


def _written(table: Table, keys: tuple[str, ...]) -> tuple[str, int]:
    """The text of a single value, and its line."""
    *above, last = keys
    for key in above:
        below = table.entries[key].value
        table = below if isinstance(below, Table) else table
    entry = table.entries[last]
    return entry.value.text if isinstance(entry.value, Scalar) else "", entry.line


def _refuse_short(top: Section, distances: Iterable[Distance], rims_mm: Mapping[str, float]) -> None:
    """Note distances over two far rims that are shorter than the rims alone."""
    for each in distances:
        if each.between == "outside" and each.first in rims_mm and each.second in rims_mm:
            least = 0.5 * (rims_mm[each.first] + rims_mm[each.second])
            if not each.value_mm > least:
                words = f"{least:.1f} mm" if top.scale == 1.0 else f"{least / top.scale:.3f} in"
                top.faults.add(each.line, _path(each), each.written, f"above {words}: both radii, over the far rims")


def _path(each: Distance) -> tuple[str, ...]:
    return ("distances", f"{each.first} - {each.second}")
