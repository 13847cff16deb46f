"""Keys that stand at another level than they belong to: each is told once, and read where it belongs."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from typing import cast

from beltplan.checks.limits import LIMIT_KEYS
from beltplan.faults import FaultList
from beltplan.layoutfile.document import Entry, Node, Scalar, Table
from beltplan.layoutfile.schema import measuring_under, missing_meant, names_under

_OWN_WORDS = {"NAME", "PAIR", "LIMIT"}


@dataclass(frozen=True, eq=False)
class _Level:
    """A mapping on the way down. line: of its key. above: those that hold it, the nearest last."""

    line: int
    path: tuple[str, ...]
    form: str
    entries: dict[str, Entry]
    above: tuple[_Level, ...]

    def knows(self, key: str, value: Node) -> bool:
        """Whether a key belongs in it. By the user's own names all do, but what is plainly a key of another level."""
        if not self.own_word:
            return key in self.names
        below = names_under(f"{self.form}.{self.own_word}")
        if isinstance(value, Table):
            return key not in below or all(each in below for each in value.entries)
        # A key of the top beside mappings only: elsewhere a list or number may have any name.
        is_of_top = not self.names and key in (*names_under(""), *measuring_under(""))
        return key not in below and not is_of_top

    def wants(self, key: str, value: Node) -> bool:
        """Whether a key that stands elsewhere may belong in it: a word of its own, or in `pulleys` what has a role."""
        is_pulley = self.form == "pulleys" and isinstance(value, Table) and "role" in value.entries
        is_limit = self.form == "limits" and key in LIMIT_KEYS
        return key not in self.entries and (is_pulley or is_limit or key in self.names)

    def below(self, key: str) -> _Level | None:
        """The mapping at a key, which may still be empty."""
        line, value = self.entries[key].line, self.entries[key].value
        if not isinstance(value, Table) and not (isinstance(value, Scalar) and value.is_null):
            return None
        form = f"{self.form}.{key if key in self.names else self.own_word}" if self.form else key
        entries = cast(dict[str, Entry], value.entries) if isinstance(value, Table) else {}
        return _Level(line, (*self.path, key), "" if form == "variants.NAME" else form, entries, (*self.above, self))

    def take(self, key: str, entry: Entry) -> None:
        self.entries[key] = entry
        if self.above:  # one that was empty is a mapping from now on
            self.above[-1].entries[self.path[-1]] = Entry(self.line, Table(self.line, self.entries, 1))

    def lasts(self, key: str) -> Iterator[_Level]:
        found = self.below(key)
        while found is not None:
            yield found
            found = found.below(next(reversed(found.entries))) if found.entries else None

    @property
    def names(self) -> tuple[str, ...]:
        """The keys that it may have, those of measurements among them; none where they are the user's own names."""
        return names_under(self.form) if self.form else (*names_under(""), *measuring_under(""))

    @property
    def own_word(self) -> str:
        """What stands in the table of keys for the user's own names, if it has such."""
        return next((name for name in self.names or ("NAME",) if name in _OWN_WORDS), "")

    @property
    def indented(self) -> str:
        """How a line is indented that belongs in it."""
        line = next((entry.line for entry in self.entries.values()), None)
        if not self.above:
            return "only there, at the left edge"
        if line == self.line:
            return f"only there, in the braces of line {line}"
        return f"only there, indented {f'further than line {self.line}' if line is None else f'as line {line}'}"


def at_their_levels(table: Table, faults: FaultList) -> Table:
    """The same mapping with every key where it belongs; those that stood elsewhere are noted."""
    top = _Level(1, (), "", cast(dict[str, Entry], deepcopy(table.entries)), ())
    _settle(top, faults)
    return Table(table.line, top.entries, table.size)


def _settle(level: _Level, faults: FaultList) -> None:
    last: str | None = None
    for key, entry in list(level.entries.items()):
        before = level.line if last is None else level.entries[last].line
        # In braces on one line nothing is indented.
        target = None if entry.line == before and level.above else _target(level, last, key, entry.value)
        if target is not None:
            belongs = f"`{key}`, which belongs to {'.'.join(target.path) or 'the top of the file'}"
            faults.add(entry.line, (*level.path, key), belongs, target.indented)
            del level.entries[key]
            target.take(key, entry)
        last = key if target is None else last
        if (below := (target or level).below(key)) is not None:
            _settle(below, faults)


def _target(level: _Level, last: str | None, key: str, value: Node) -> _Level | None:
    """Where a key belongs, if not where it stands: in what stands just before it, or in what holds it."""
    if level.knows(key, value) or missing_meant(level.form, key, level.entries):
        return None
    inner = () if last is None else level.lasts(last)
    return next((each for each in (*inner, *reversed(level.above)) if each.wants(key, value)), None)
