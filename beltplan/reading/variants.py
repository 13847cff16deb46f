"""Variants: each laid over the rest of the file, key by key."""

from __future__ import annotations

from beltplan.reading.document import Entry, Node, Table

VARIANTS = "variants"


def overlay(base: Table, over: Table) -> Table:
    """The base with `over` laid on it: mappings key by key, all else replaced; a null stands for an absent key.

    Every value keeps the line where it stands; a mapping found in both keeps its line in the base.
    """
    entries = dict(base.entries)
    for key, entry in over.entries.items():
        under = entries.get(key)
        entries[key] = entry if under is None else _laid_over(under, entry)
    return Table(base.line, entries, base.size + over.size)


def _laid_over(under: Entry, over: Entry) -> Entry:
    below: Node = under.value
    if isinstance(below, Table) and isinstance(over.value, Table):
        return Entry(under.line, overlay(below, over.value))
    return over


def without_variants(table: Table) -> Table:
    """The file itself, less its variants."""
    entries = {key: entry for key, entry in table.entries.items() if key != VARIANTS}
    return Table(table.line, entries, table.size)
