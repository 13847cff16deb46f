"""One mapping of the file, read key by key; whatever is wrong is noted, and reading goes on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from beltplan.drive.pulleys import NOTHING_SAID, Uncertainty
from beltplan.faults import FaultList, did_you_mean, nearest, quoted
from beltplan.layoutfile.document import Node, Scalar, Sequence, Table, kind_of
from beltplan.layoutfile.schema import key_at, names_under
from beltplan.layoutfile.values import (
    COMMA_HINT,
    LONGEST_NAME,
    Key,
    Misread,
    choice,
    flag,
    number,
    text,
    two_numbers,
    whole_number,
)

if TYPE_CHECKING:
    from beltplan.outlines.choice import Found
    from beltplan.outlines.drawing import Drawing, WrongDrawing

Asked = tuple[str, str | None, str | None, float]
"""Which outline: the drawing's path, `units`, `outline`, and mm for one unit of the layout."""


@dataclass(frozen=True, eq=False)
class Beside:
    """The folder of a layout file, and what was read from it already, for the file's variants.

    folder: that of the file itself, where the path given is a link.
    """

    folder: str
    drawings: dict[str, Drawing | WrongDrawing] = field(default_factory=dict)
    outlines: dict[Asked, Found | WrongDrawing] = field(default_factory=dict)


# One mapping of the file, read key by key; whatever is wrong is noted, and reading goes on.

Value = TypeVar("Value")

MOST_UNKNOWN = 30
"""Unknown names in one mapping above which they are counted instead of listed."""


@dataclass(frozen=True, eq=False)
class Section:
    """A mapping of the file. Each reading gives None where the key is absent, null or wrong.

    path: names from the top of the file. form: the same in the words of `keys`. scale: mm for one unit of the file.
    beside: where files that it names are looked for.
    """

    table: Table
    line: int
    path: tuple[str, ...]
    form: str
    scale: float
    faults: FaultList
    beside: Beside

    def node(self, key: str) -> Node | None:
        """The value at a key, None where absent or null."""
        entry = self.table.entries.get(key)
        if entry is None or (isinstance(entry.value, Scalar) and entry.value.is_null):
            return None
        return entry.value

    def has(self, key: str) -> bool:
        """Whether there is a value at a key."""
        return self.node(key) is not None

    @property
    def names(self) -> tuple[str, ...]:
        """The keys that hold a value, as they stand in the file."""
        return tuple(key for key in self.table.entries if self.has(key))

    def line_of(self, key: str) -> int:
        """The key's line, else that of the mapping."""
        entry = self.table.entries.get(key)
        return self.line if entry is None else entry.line

    def refuse(self, key: str, got: str, allowed: str, line: int | None = None) -> None:
        """Note a fault at a key."""
        self.faults.add(self.line_of(key) if line is None else line, (*self.path, key), got, allowed)

    def missing(self, key: str, allowed: str) -> None:
        """Note that a key is not there, unless it is, misspelt, which is noted as such."""
        known = names_under(self.form)
        unknown = [name for name in self.table.entries if name not in known][:MOST_UNKNOWN]
        if not any(nearest(name, known) == key for name in unknown):
            self.refuse(key, "nothing", allowed)

    def check_keys(self, allowed: tuple[str, ...] = ()) -> None:
        """Note every key that this mapping does not know."""
        self.refuse_others(tuple(self.table.entries), allowed or names_under(self.form), "key")

    def refuse_others(self, names: tuple[str, ...], known: tuple[str, ...], what: str) -> None:
        """Note every name that is not among the known ones."""
        unknown = [name for name in names if name not in known]
        if len(unknown) > MOST_UNKNOWN:
            self.refuse(unknown[0], f"{len(unknown)} unknown {what}s, this the first", ", ".join(known))
            return
        for name in unknown:
            hint = COMMA_HINT if name.isdigit() and not self.has(name) else did_you_mean(name, known)
            self.refuse(name, f"an unknown {what}{hint}", ", ".join(known))

    def number(self, key: str) -> float | None:
        """A number, in mm where the key is in the file's units."""
        return self._read(key, lambda node, spec: number(node, spec, self.scale))

    def whole_number(self, key: str) -> int | None:
        """A whole number."""
        return self._read(key, whole_number)

    def two_numbers(self, key: str) -> tuple[float, float] | None:
        """Two numbers; a point comes out in mm."""
        return self._read(key, lambda node, spec: two_numbers(node, spec, self.scale))

    def choice(self, key: str) -> str | None:
        """One of the key's words."""
        return self._read(key, choice)

    def flag(self, key: str) -> bool | None:
        """true or false."""
        return self._read(key, flag)

    def text(self, key: str) -> str | None:
        """A text on one line."""
        return self._read(key, lambda node, spec: text(node))

    def items(self, key: str, least: int, most: int) -> tuple[Node, ...] | None:
        """The entries of a list of `least` to `most` of them."""
        return self._read(key, lambda node, spec: _items(node, least, most))

    def list_named(self, name: str, least: int, most: int) -> tuple[Node, ...] | None:
        """The entries of a list that stands under a name of the user's."""
        return self._read(name, lambda node, spec: _items(node, least, most), "NAME")

    def mapping(self, key: str, allowed: tuple[str, ...] = ()) -> Section | None:
        """The mapping at a key, its own keys checked."""
        section = self.free_mapping(key)
        if section is not None:
            section.check_keys(allowed)
        return section

    def free_mapping(self, key: str) -> Section | None:
        """The mapping at a key, whatever its keys."""
        table = self._read(key, lambda node, spec: _table(node))
        return None if table is None else self.below(key, table)

    def named_mappings(self, key: str, most: int) -> dict[str, Section | None]:
        """The mappings under a key, by the user's own names; None for one that is wrong."""
        section = self.free_mapping(key)
        if section is None:
            return {}
        if not section.names and key_at(section.form).needed:
            self.refuse(key, "an empty mapping", "at least one name")
        if len(section.names) > most:
            self.refuse(key, f"{len(section.names)} names", f"at most {most}")
            return {}
        return {name: section._named(name) for name in section.names}

    def below(self, key: str, table: Table, word: str = "") -> Section:
        """The section of a mapping that stands under a key of this one."""
        form = f"{self.form}.{word or key}" if self.form else key
        return Section(table, self.line_of(key), (*self.path, key), form, self.scale, self.faults, self.beside)

    def entry(self, key: str, table: Table) -> Section:
        """The section of a mapping in the list at a key, named as `key` by the fault's path."""
        form = f"{key.rpartition('.')[0]}.ENTRY"
        section = Section(table, table.line, (*self.path, key), form, self.scale, self.faults, self.beside)
        section.check_keys()
        return section

    def _named(self, name: str) -> Section | None:
        node = self.node(name)
        if not (name.strip() and name.isprintable() and len(name) <= LONGEST_NAME):
            self.refuse(name, f"the name {quoted(name)}", f"a name of 1 to {LONGEST_NAME} printable characters")
            return None
        if not isinstance(node, Table):
            self.refuse(name, kind_of(node) if node else "nothing", "a mapping: {" + self._example() + "}")
            return None
        section = self.below(name, node, "NAME")
        section.check_keys()
        return section

    def _example(self) -> str:
        return ", ".join(f"{key}: ..." for key in names_under(f"{self.form}.NAME")[:3])

    def _read(self, key: str, convert: Callable[[Node, Key], Value], word: str = "") -> Value | None:
        spec = key_at(f"{self.form}.{word or key}" if self.form else key)
        node = self.node(key)
        if node is None:
            if spec.needed:
                self.missing(key, spec.meaning)
            return None
        try:
            return convert(node, spec)
        except Misread as fault:
            self.refuse(key, fault.got, fault.allowed, fault.line)
            return None


def _items(node: Node, least: int, most: int) -> tuple[Node, ...]:
    allowed = f"a list of {least} to {most} entries"
    if not isinstance(node, Sequence):
        raise Misread(kind_of(node), allowed)
    if not least <= len(node.items) <= most:
        raise Misread(f"a list of {len(node.items)}", allowed)
    return node.items


def _table(node: Node) -> Table:
    if not isinstance(node, Table):
        raise Misread(kind_of(node), "a mapping: {key: value, ...}")
    return node


# Lists of sizes that can be had: the diameters a maker offers, and those of idlers.

MOST_SIZES = 50


def read_sizes(section: Section, key: str) -> tuple[float, ...]:
    """The sizes listed at a key, mm, rising, each once; none where the key is absent or an entry is wrong."""
    nodes = section.items(key, 1, MOST_SIZES) or ()
    read = [_size(section, key, place, node) for place, node in enumerate(nodes, start=1)]
    return tuple(sorted({size for size in read if size is not None}))


def _size(section: Section, key: str, place: int, node: Node) -> float | None:
    spec = key_at(f"{section.form}.{key}" if section.form else key)
    try:
        return number(node, spec, section.scale)
    except Misread as fault:
        section.refuse(f"{key}.{place}", fault.got, fault.allowed, node.line)
        return None


# How far the measurements may be off: of the whole layout, or of one pulley.


def read_uncertainty(section: Section) -> Uncertainty:
    """The uncertainty that a layout or a pulley gives; nothing in it where it gives none."""
    own = section.mapping("uncertainty")
    if own is None:
        return NOTHING_SAID
    return Uncertainty(own.number("position_mm"), own.number("diameter_mm"), own.number("angle_deg"))
