"""A layout file, read as a whole: the layout, its variants, and the line of every key."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from beltplan.drive.layout import Layout, Units
from beltplan.drive.route import with_known_push, with_push_of
from beltplan.faults import Fault, FaultList, LayoutFaults, did_you_mean, quoted
from beltplan.layoutfile.document import (
    VARIANTS,
    Table,
    kind_of,
    overlay,
    parse_document,
    read_text,
    walked,
    without_variants,
)
from beltplan.layoutfile.layout_reader import build_layout
from beltplan.layoutfile.schema import key_at
from beltplan.layoutfile.section import Beside, Section

MEASURED_BY = ("distances", "angles", "offsets", "loops", "points")
"""Keys that only a file of measurements has, each of which can find places."""


@dataclass(frozen=True, eq=False)
class LayoutFile:
    """A layout as read from a file.

    lines: the line of every key by the names from the top of the file; entries of lists count from '1'.
    variants: names of the file's variants, in its order. drawings: paths of the files that its obstacles stand in.
    """

    path: str
    layout: Layout
    lines: Mapping[tuple[str, ...], int]
    variants: tuple[str, ...]
    drawings: tuple[str, ...]

    def line_of(self, *keys: str) -> int:
        """Line of a key, else that of the nearest key above it that has one; 1 where none has."""
        return next((self.lines[keys[:n]] for n in range(len(keys), 0, -1) if keys[:n] in self.lines), 1)

    def told_in(self, units: Units | None) -> LayoutFile:
        """The same, answered in those units; in its own where None is asked for."""
        return self if units is None else replace(self, layout=replace(self.layout, units=units))


def read_layout(path: str, variant: str | None = None) -> LayoutFile:
    """Read a layout file, or one variant of it. Every variant is checked, whichever is asked for.

    Raises LayoutFaults with every fault of the file.
    """
    return next(file for file in read_every_layout(path, variant) if file.layout.variant == variant)


def read_every_layout(path: str, variant: str | None = None) -> tuple[LayoutFile, ...]:
    """The layout of a file as it stands, then each of its variants, in its order. variant: one that must be there.

    Raises LayoutFaults with every fault of the file.
    """
    faults = FaultList()
    text = read_text(path, faults)
    table = None if text is None else parse_document(text, faults)
    if table is None:
        raise LayoutFaults(path, faults.found)
    if (key := next((key for key in MEASURED_BY if key in table.entries), None)) is not None:
        allowed = f"a layout, with places; `beltplan measure {path} --write layout.yaml` finds them and makes one"
        raise LayoutFaults(path, [Fault(table.entries[key].line, key, "a file of measurements", allowed)])
    return tuple(layouts_of(table, path, variant, faults))


def layouts_of(table: Table, path: str, wanted: str | None, faults: FaultList) -> Iterator[LayoutFile]:
    """Every layout of a file's top mapping, the base first.

    wanted: a variant that must be there. faults: those found so far. Raises LayoutFaults before the first.
    """
    overlays = _overlays(table, faults)
    _check_variant(table, wanted, overlays, faults)
    beside = Beside(os.path.dirname(os.path.realpath(path)))
    bare = without_variants(table)
    read = [(bare, build_layout(bare, _title(path), None, faults, beside))]
    of_base = {*faults.found}
    for name, over in overlays.items():
        own = FaultList()
        laid = overlay(bare, _without_misspelt(over, bare, own))
        read.append((laid, build_layout(laid, _title(path), name, own, beside)))
        named = (replace(fault, key=f"{VARIANTS}.{name}.{fault.key}") for fault in own.found if fault not in of_base)
        faults.found.extend(named)
    as_it_stands = read[0][1]
    for laid, layout in read:
        if layout is None or as_it_stands is None or faults.found:
            raise LayoutFaults(path, faults.found)
        if layout.variant is not None:
            # A variant's belt lies otherwise, but its spring pushes as it does in the file as it stands.
            as_it_stands = with_known_push(as_it_stands)
            layout = with_push_of(layout, as_it_stands)
        lines = {keys: line for keys, line, _ in walked(laid)}
        yield LayoutFile(path, layout, lines, tuple(overlays), tuple(beside.drawings))


def _title(path: str) -> str:
    stem = os.path.splitext(os.path.basename(path))[0]
    return stem if stem.isprintable() and stem else "layout"


def _without_misspelt(over: Table, base: Table, faults: FaultList) -> Table:
    """A variant less the pulleys whose name, near to one of the file's, stands over a few keys of a pulley."""
    theirs, own = over.node("pulleys"), base.node("pulleys")
    if not isinstance(theirs, Table) or not isinstance(own, Table):
        return over
    new = {name: entry for name, entry in theirs.entries.items() if name not in own.entries}
    without_role = (name for name, each in new.items() if isinstance(each.value, Table) and not each.value.node("role"))
    misspelt = {name: meant for name in without_role if (meant := did_you_mean(name, own.entries))}
    for name, meant in misspelt.items():
        got = f"a pulley without a role that the file does not have{meant}"
        faults.add(new[name].line, ("pulleys", name), got, ", ".join(own.entries))
    kept = {name: entry for name, entry in theirs.entries.items() if name not in misspelt}
    pulleys = replace(over.entries["pulleys"], value=replace(theirs, entries=kept))
    return replace(over, entries={**over.entries, "pulleys": pulleys})


def _overlays(table: Table, faults: FaultList) -> dict[str, Table]:
    found, most = dict[str, Table](), key_at(VARIANTS).entries[1]
    variants = Section(table, table.line, (), "", 1.0, faults, Beside("")).free_mapping(VARIANTS)
    if variants is None or len(variants.table.entries) > most:
        if variants is not None:
            faults.add(variants.line, (VARIANTS,), f"{len(variants.table.entries)} variants", f"at most {most}")
        return found
    for name in variants.table.entries:
        node = variants.node(name) or Table(variants.line_of(name), {}, 1)
        if not variants.takes_name(name):
            continue
        if not isinstance(node, Table):
            variants.refuse(name, kind_of(node), "a mapping of the keys to change")
        elif VARIANTS in node.entries:
            variants.below(name, node).refuse(VARIANTS, "variants in a variant", "variants side by side")
        else:
            found[name] = node
    return found


def _check_variant(table: Table, variant: str | None, overlays: Mapping[str, Table], faults: FaultList) -> None:
    if variant is None or variant in overlays or any(fault.key.startswith(VARIANTS) for fault in faults.found):
        return
    entry = table.entries.get(VARIANTS)
    there = f"there is {', '.join(overlays)}" if overlays else "the file has none"
    words = f"there is no variant {quoted(variant)}{did_you_mean(variant, overlays)}; {there}"
    faults.add(1 if entry is None else entry.line, (VARIANTS,), words)
