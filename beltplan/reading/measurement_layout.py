"""The layout's own part of a measurements file, read with places put in where they are still to be found."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass

from beltplan.belts.layout import Layout
from beltplan.reading.document import Entry, Node, Scalar, Sequence, Table
from beltplan.reading.faults import FaultList, LayoutFaults, quoted
from beltplan.reading.keys import names_under
from beltplan.reading.layout_file import layouts_of
from beltplan.reading.measurement_names import ADJUSTERS
from beltplan.reading.route_reader import ROUTE_SIZE

NEEDED = ("belt", "pulleys", "route")
"""Keys without which measurements make no layout."""
ABOUT_PULLEYS = ("duty", "limits", "variants")
"""Keys that name pulleys: not looked at where there are none."""
FOUND = "its place is found from the measurements: take it out"
SIZES = ("diameter", "rim_diameter")


@dataclass(frozen=True, eq=False)
class LayoutPart:
    """What a measurements file says of its layout. missing: keys that it needs and does not have.

    layout: with every place at some other than its own, and a size for pulleys that have none; None where it could
    not be read. sized: the key at which each pulley gives its diameter.
    """

    layout: Layout | None
    missing: tuple[str, ...]
    sized: Mapping[str, str]


def read_layout_part(
    table: Table, path: str, origin: str | None, to_size: Container[str], faults: FaultList
) -> LayoutPart:
    """Read what is the layout's in a file's top mapping. Its faults are noted, but for those of keys that are missing.

    to_size: pulleys whose size may be found from the measurements. Variants are read as well.
    """
    missing = tuple(key for key in NEEDED if _value(table, key) is None)
    sized = _sized(table)
    _refuse_places(table, origin, faults)
    try:
        layout = next(layouts_of(_filled(table, missing, to_size), path, None, FaultList())).layout
    except LayoutFaults as found:
        faults.found.extend(fault for fault in found.faults if fault.key.partition(".")[0] not in missing)
        layout = None
    return LayoutPart(layout, missing, sized)


def _value(table: Table, key: str) -> Node | None:
    entry = table.entries.get(key)
    if entry is None or (isinstance(entry.value, Scalar) and entry.value.is_null):
        return None
    return entry.value


def _pulleys(table: Table) -> dict[str, Table]:
    node = _value(table, "pulleys")
    entries = node.entries.items() if isinstance(node, Table) else ()
    return {name: entry.value for name, entry in entries if isinstance(entry.value, Table)}


def _sized(table: Table) -> Mapping[str, str]:
    read = {
        name: next((key for key in SIZES if _value(pulley, key) is not None), "")
        for name, pulley in _pulleys(table).items()
    }
    return {name: key for name, key in read.items() if key}


def _refuse_places(table: Table, origin: str | None, faults: FaultList) -> None:
    """Note every place that is given: only the origin may say where it stands."""
    for name, pulley in _pulleys(table).items():
        _refuse_place(pulley, ("pulleys", name), "at", name == origin, faults)
        for adjuster, points in ADJUSTERS.items():
            holder = _value(pulley, adjuster)
            for point in points if isinstance(holder, Table) else ():
                assert isinstance(holder, Table)
                own = f"{name}.{point}" == origin
                _refuse_place(holder, ("pulleys", name, adjuster), point, own, faults)


def _refuse_place(holder: Table, path: tuple[str, ...], key: str, is_origin: bool, faults: FaultList) -> None:
    node = _value(holder, key)
    if node is None or (is_origin and _is_nought(node)):
        return
    allowed = "[0, 0] for the origin, or nothing" if is_origin else f"nothing: {FOUND}"
    faults.add(holder.entries[key].line, (*path, key), f"a place, {_words(node)}", allowed)


def _is_nought(node: Node) -> bool:
    items = node.items if isinstance(node, Sequence) else ()
    return len(items) == 2 and all(isinstance(item, Scalar) and item.text in ("0", "0.0", "-0", "+0") for item in items)


def _words(node: Node) -> str:
    items = node.items if isinstance(node, Sequence) else (node,)
    return quoted(", ".join(item.text if isinstance(item, Scalar) else "..." for item in items))


def _filled(table: Table, missing: tuple[str, ...], to_size: Container[str]) -> Table:
    """The layout's own keys with what is still to be found put in."""
    known = names_under("")
    entries = {key: entry for key, entry in table.entries.items() if key in known}
    pulleys = _value(table, "pulleys")
    if "pulleys" in missing:
        entries = {key: entry for key, entry in entries.items() if key not in ABOUT_PULLEYS}
    elif isinstance(pulleys, Table):
        names = tuple(pulleys.entries)
        placed = {name: _placed(name, entry, to_size) for name, entry in pulleys.entries.items()}
        entries["pulleys"] = Entry(entries["pulleys"].line, Table(pulleys.line, placed, pulleys.size))
        if "belt" in missing:
            entries["belt"] = Entry(1, Scalar(1, "6PK", True))
        if "route" in missing and ROUTE_SIZE[0] <= len(names) <= ROUTE_SIZE[1]:
            route = tuple(Scalar(1, name, True) for name in names)
            entries["route"] = Entry(1, Sequence(1, route, 1 + len(route)))
    return Table(table.line, entries, table.size)


def _placed(name: str, entry: Entry, to_size: Container[str]) -> Entry:
    pulley = entry.value
    if not isinstance(pulley, Table):
        return entry
    put: dict[str, Entry] = {}
    adjuster = next((key for key in ADJUSTERS if _value(pulley, key) is not None), None)
    if adjuster is None:
        put["at"] = _point(entry.line, 0)
    else:
        holder = pulley.entries[adjuster]
        if isinstance(holder.value, Table):
            points = {key: _point(holder.line, i) for i, key in enumerate(ADJUSTERS[adjuster])}
            put[adjuster] = Entry(holder.line, _with(holder.value, points))
    if name in to_size and all(_value(pulley, key) is None for key in SIZES):
        put["rim_diameter"] = Entry(entry.line, Scalar(entry.line, "100", True))
    own = {key: each for key, each in put.items() if key in ADJUSTERS}
    return Entry(entry.line, _with(Table(pulley.line, {**pulley.entries, **own}, pulley.size), put))


def _with(table: Table, more: Mapping[str, Entry]) -> Table:
    """A mapping with keys put in where they hold nothing."""
    put = {key: entry for key, entry in more.items() if _value(table, key) is None}
    return Table(table.line, {**table.entries, **put}, table.size)


def _point(line: int, place: int) -> Entry:
    numbers = (Scalar(line, f"{place}", True), Scalar(line, "0", True))
    return Entry(line, Sequence(line, numbers, 3))
