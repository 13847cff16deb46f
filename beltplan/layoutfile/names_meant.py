"""Names in a file as they are meant: keys in other letters, and pulleys that all else calls by another name."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from beltplan.faults import FaultList, nearest, quoted
from beltplan.layoutfile.document import VARIANTS, Table, text_of, walked
from beltplan.layoutfile.keys import USERS
from beltplan.layoutfile.schema import key_at
from beltplan.layoutfile.synonyms import letters_of, word_meant

_BY_NAME = ("pulleys", "distances", "angles", "sides", "offsets", "diameters")
_NAMED_BELOW = {**dict.fromkeys(("route", "level", *_BY_NAME), 1), "duty": 2}
"""Keys below which names of pulleys stand, themselves keys or in lists, and how far below."""
_ALIKE = 0.75
"""How like a name that stands on the route alone must be for a pulley's own name to be asked for."""


def as_used(table: Table, faults: FaultList) -> Table:
    """The top mapping with each pulley whose name stands nowhere else named as all else has it, which is noted."""
    pulleys, lines = table.node("pulleys"), _used_in(table)
    if not isinstance(pulleys, Table):
        return table
    strange = {letters_of(name): name for name in lines if name not in pulleys.entries}
    if not strange:
        return table
    words = [word for path, _, node in walked(table) for word in (path[-1], text_of(node))]
    there = Counter(name.partition(".")[0] for word in words for name in word.split(" - "))
    route = [*map(text_of, getattr(table.node("route"), "items", ()))]
    found, roles = dict[str, str](), key_at("pulleys.NAME.role").choices
    alone = [each for each in pulleys.entries if there[each] == 1]
    called = {letters_of(each): each for each in pulleys.entries}
    strange = {own: each for own, each in strange.items() if own not in called or there[called[own]] == 1}
    often = [letters for letters, each in strange.items() if there[each] > 1]
    for name in alone:
        near = nearest(letters_of(name), often) or nearest(letters_of(name), strange, _ALIKE)
        # However unlike where but one name has no pulley, and but one pulley stands nowhere: renamed, or forgotten.
        unlike = len(strange) == len(often) == len(alone) == 1 and strange[often[0]] in route
        meant = strange[near or often[0]] if near or unlike else ""
        said, here = ((each in roles) + (word_meant(each, roles) is not None) for each in (meant, name))
        free = meant not in found.values() and called.get(letters_of(meant), name) == name
        if meant and free and (there[meant] > 1 or said > here):
            asked = f"is this {meant} of line {lines[meant]}? No pulley has that name"
            hint = f"write {meant}, as in line {lines[meant]}" if near else asked
            got = f"{quoted(name)}, a name that stands nowhere else ({hint})"
            faults.add(pulleys.entries[name].line, ("pulleys", name), got, "one name for one pulley")
            found[name] = meant
    entries = {found.get(name, name): entry for name, entry in pulleys.entries.items()}
    renamed = replace(table.entries["pulleys"], value=replace(pulleys, entries=entries))
    return replace(table, entries={**table.entries, "pulleys": renamed}) if found else table


def _used_in(table: Table) -> dict[str, int]:
    """Names that stand where a file has those of its pulleys, each by its first line; none of a mark, or of a pulley
    that only a variant has.
    """
    used, others = dict[str, int](), set[str]()
    for (first, *rest), line, node in walked(table):
        if first == VARIANTS and len(rest) > 1:
            first, *rest = rest[1:]
            if first == "pulleys" and len(rest) == 1 and isinstance(node, Table) and node.node("role"):
                others.add(rest[0])
        names = rest[:1] if first in _BY_NAME else [text_of(node)]
        if first == "marks" or rest[1:2] == ["known"]:
            others |= {*names, *rest}
        elif len(rest) == _NAMED_BELOW.get(first, -1):
            for name in names[0].split(" - "):
                used.setdefault(name.partition(".")[0], line)
    return {name: line for name, line in used.items() if name and name not in others}


def respelt(table: Table, known: tuple[str, ...]) -> Table:
    """A mapping with every key that stands in other letters, or its parts in another order, as its form writes it."""
    written = {(*sorted(letters_of(key)),): key for key in known if key not in (*USERS, *table.entries)}
    meant = {name: written.get((*sorted(letters_of(name)),), name) for name in table.entries if name not in known}
    return replace(table, entries={meant.get(name, name): entry for name, entry in table.entries.items()})
