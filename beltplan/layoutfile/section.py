"""One mapping of the file, read key by key; whatever is wrong is noted, and reading goes on."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, TypeVar

from beltplan.drive.own_units import own_unit_value, unit_in_name
from beltplan.drive.pulleys import NOTHING_SAID, Uncertainty
from beltplan.faults import FaultList, nearest
from beltplan.layoutfile.document import NUMBER, Node, Scalar, Sequence, Table, kind_of
from beltplan.layoutfile.file_units import scale_of
from beltplan.layoutfile.keys import Key
from beltplan.layoutfile.schema import key_at, missing_meant, names_under, written_as
from beltplan.layoutfile.synonyms import meant_by, word_meant
from beltplan.layoutfile.values import (
    READERS,
    Misread,
    is_bare,
    is_number,
    number,
    wrong_name,
)

if TYPE_CHECKING:
    from beltplan.outlines.choice import Found
    from beltplan.outlines.drawing import Drawing, WrongDrawing

_Asked = tuple[str, str | None, str | None, float]
"""Which outline: the drawing's path, `units`, `outline`, and mm for one unit of the layout."""


@dataclass(frozen=True, eq=False)
class Beside:
    """The folder of a layout file, and what was read from it already, for the file's variants.

    folder: that of the file itself, where the path given is a link.
    """

    folder: str
    drawings: dict[str, Drawing | WrongDrawing] = field(default_factory=dict)
    outlines: dict[_Asked, Found | WrongDrawing] = field(default_factory=dict)


_Value = TypeVar("_Value")

_MOST_UNKNOWN = 30
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
        return self.table.node(key)

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
        unknown = [name for name in self.table.entries if name not in known][:_MOST_UNKNOWN]
        meant = (
            self._in_other_unit(name, known)[0] or word_meant(name, known) or nearest(name, known) for name in unknown
        )
        if key not in meant:
            self.refuse(key, "nothing", allowed)

    def check_keys(self, allowed: tuple[str, ...] = ()) -> None:
        """Note every key that this mapping does not know."""
        self.refuse_others(tuple(self.table.entries), allowed or names_under(self.form), "key")

    def refuse_others(self, names: tuple[str, ...], known: tuple[str, ...], what: str) -> None:
        """Note every name that is not among the known ones."""
        unknown = [name for name in names if name not in known]
        if len(unknown) > _MOST_UNKNOWN:
            self.refuse(unknown[0], f"{len(unknown)} unknown {what}s, this the first", ", ".join(known))
            return
        for name in unknown:
            if name.strip("0123456789./ "):
                self.refuse(name, f"an unknown {what}{self._hint_at(name, known)}", ", ".join(known))
            else:
                self.refuse(name, "a number after a comma", "a decimal with a point (56.5), a fraction as 7 1/4")

    def _hint_at(self, name: str, known: tuple[str, ...]) -> str:
        above, _, own = self.form.rpartition(".")
        if missing := missing_meant(self.form, name, self.table.entries):
            return self._write(name, missing)
        if above and name in names_under(above):
            return f" here: it stands beside `{own}`, one level up"
        key, colon, value = name.partition(":")
        if colon and key in known:
            return f" (write a space after the colon: {key}: {value})"
        things = [key for key in ("pulleys", "obstacles") if not self.form and self._holds(key, name)]
        x, y = (self.node(each) for each in "xy")
        if name in ("x", "y") and "at" in known and isinstance(x, Scalar) and isinstance(y, Scalar):
            return f" (write at: [{x.text}, {y.text}])"
        below = things or [key for key in known if name in names_under(f"{self.form}.{key}".lstrip("."))]
        if len(below) == 1:
            return f" here: it belongs under `{below[0]}`"
        converted, unit = self._in_other_unit(name, known)
        if converted:
            return self._converted_hint(name, converted, unit)
        hint, meant = meant_by(name, known), word_meant(name, known)
        return self._write(name, meant) if meant and hint == f" (write {meant})" else hint

    def _holds(self, key: str, name: str) -> bool:
        node = self.node(key)
        return isinstance(node, Table) and name in node.entries

    def _write(self, name: str, key: str) -> str:
        """A hint at the key that another one means, with the word that its value means where that is none of its."""
        node, words = self.node(name), self.spec(key).choices if key in names_under(self.form) else ()
        said = node.text if isinstance(node, Scalar) and node.text not in words else ""
        word = word_meant(said, words) if said else None
        return f" (write {key}: {word})" if word else f" (write {key})"

    def _in_other_unit(self, name: str, known: tuple[str, ...]) -> tuple[str, str]:
        """The known key that one stands for which names another unit, and that unit; both empty where there is none."""
        specs = ((key, self.spec(key).unit) for key in known if self.form and key in names_under(self.form))
        units = [(key, found) for key, unit in specs if (found := unit_in_name(name, key, unit))]
        # The name of a unit alone may stand for one key only.
        return units[0] if len(units) == 1 else ("", "")

    def _converted_hint(self, name: str, key: str, unit: str) -> str:
        node = self.node(name)
        text = node.text if isinstance(node, Scalar) and is_number(node) else ""
        value = own_unit_value(f"{text} {unit}", self.spec(key).unit)
        return f" (write {key}: {value:.4g}, or {key}: {text} {unit})" if value is not None else f" (write {key})"

    def value(self, key: str, word: str = "") -> Any:
        """What the table of keys says is at a key: words, a flag, numbers; lengths in mm. word: as for `items`."""
        kind = self.spec(key, word).kind
        read = READERS.get(kind, number)
        each = self.each if kind in ("numbers", "list") else self._read
        return each(key, lambda node, spec: read(node, spec, self.scale), word)

    def given(self, *keys: str) -> dict[str, Any]:
        """Values by their keys; of every key that is no mapping where none is named."""
        plain = (key for key in names_under(self.form) if "mapping" not in self.spec(key).kind)
        return {key: self.value(key) for key in keys or plain}

    def items(self, key: str, word: str = "") -> tuple[Node, ...] | None:
        """The entries of a list. word: what stands in the table of keys for a name of the user's."""
        return self._read(key, _items, word)

    def each(self, key: str, convert: Callable[[Node, Key], _Value], word: str = "") -> tuple[_Value, ...] | None:
        """The entries of a list, each converted; None where the list is absent or anything in it is wrong."""
        nodes, spec = self.items(key, word) or (), self.spec(key, word)
        if nodes and (wanted := _as_rows(nodes, spec)):
            self.refuse(key, "a flat list", wanted)
            return None
        numbered = enumerate(nodes, start=1)
        read = [self.converted(f"{key}.{place}", node, spec, convert, node.line) for place, node in numbered]
        found = tuple(value for value in read if value is not None)
        return found if nodes and len(found) == len(read) else None

    def one_of(self, keys: Collection[str], allowed: str = "", wanted: str = "") -> str | None:
        """The one of these keys that is there; each after the first is noted. None where there is not just one.

        wanted: what is said at the first key where there is none; nothing where it is empty.
        """
        given = [key for key in keys if self.has(key)]
        if wanted and not given:
            self.missing(next(iter(keys)), wanted)
        for key in given[1:]:
            self.refuse(key, f"both {given[0]} and {key}", allowed or f"one of {', '.join(keys)}")
        return given[0] if len(given) == 1 else None

    def mapping(self, key: str, allowed: tuple[str, ...] = ()) -> Section | None:
        """The mapping at a key, its own keys checked."""
        section = self.free_mapping(key)
        if section is None:
            return None
        there, own = section.table.entries.keys(), allowed or names_under(section.form)
        beside = () if there & {*own} or len(there) < len(("from", "to")) else names_under(self.form)
        if other := next((name for name in beside if there <= {*names_under(f"{self.form}.{name}".lstrip("."))}), None):
            self.refuse(key, f"the keys of `{other}`", f"write {other} in place of {key}")
            return None
        section.check_keys(allowed)
        return section

    def free_mapping(self, key: str) -> Section | None:
        """The mapping at a key, whatever its keys."""
        table = self._read(key, _table)
        return None if table is None else self.below(key, table)

    def own_names(self, key: str) -> Section | None:
        """The mapping at a key, by names of the user's own, not more than it may have."""
        section, spec = self.free_mapping(key), self.spec(key)
        if section is None:
            return None
        if not section.names and spec.needed:
            self.refuse(key, "an empty mapping", "at least one name")
        if len(section.names) > spec.entries[1]:
            self.refuse(key, f"{len(section.names)} names", f"at most {spec.entries[1]}")
            return None
        return section

    def named_mappings(self, key: str, forms: Iterable[str] = ()) -> dict[str, Section | None]:
        """The mappings under a key, by the user's own names; None for one that is wrong, or has none of some forms."""
        section = self.own_names(key)
        return {name: section._named(name, tuple(forms)) for name in section.names} if section else {}

    def takes_name(self, name: str) -> bool:
        """Whether one of its keys can be a name of the user's own; noted where not."""
        wrong = wrong_name(name)
        if wrong is not None:
            self.refuse(name, *wrong)
        return wrong is None

    def below(self, key: str, table: Table, word: str = "") -> Section:
        """The section of a mapping that stands under a key of this one."""
        form = f"{self.form}.{word or key}".lstrip(".")
        return replace(self, table=table, line=self.line_of(key), path=(*self.path, key), form=form)

    def entry(self, key: str, table: Table) -> Section:
        """The section of a mapping in the list at a key, named as `key` by the fault's path."""
        form = f"{self.form}.{key}".lstrip(".").rpartition(".")[0] + ".ENTRY"
        section = replace(self, table=table, line=table.line, path=(*self.path, key), form=form)
        section.check_keys()
        return section

    def _named(self, name: str, forms: tuple[str, ...]) -> Section | None:
        node = self.node(name)
        # Where a form stands in the place of a name, the name is what is missing.
        allowed = written_as(self.form if name in forms else f"{self.form}.NAME")
        if not self.takes_name(name):
            return None
        if not isinstance(node, Table):
            self.refuse(name, kind_of(node) + _dashed(node) if node else "nothing", allowed)
            return None
        if forms and not any(form in node.entries for form in forms):
            keys = ", ".join(node.entries) or "an empty mapping"
            self.refuse(name, f"{keys}, none of {', '.join(forms)}", allowed)
            return None
        section = self.below(name, node, "NAME")
        section.check_keys()
        return section

    def spec(self, key: str, word: str = "") -> Key:
        """What the table says of a key."""
        return key_at(f"{self.form}.{word or key}".lstrip("."))

    def _read(self, key: str, convert: Callable[[Node, Key], _Value], word: str = "") -> _Value | None:
        spec, node = self.spec(key, word), self.node(key)
        if node is not None:
            return self.converted(key, node, spec, convert)
        if spec.needed:
            self.missing(key, ": ".join(filter(None, (spec.meaning, ", ".join(spec.choices)))))
        return None

    def converted(
        self, key: str, node: Node, spec: Key, convert: Callable[[Node, Key], _Value], line: int | None = None
    ) -> _Value | None:
        """A value by a function that may raise Misread, which is noted. line: its own, where not that of the key."""
        try:
            return convert(node, spec)
        except Misread as fault:
            self.refuse(key, fault.got, fault.allowed, fault.line or line)
            return None


def top_of(table: Table, faults: FaultList, beside: Beside) -> Section:
    """The section of a file's top mapping."""
    return Section(table, table.line, (), "", scale_of(table, faults), faults, beside)


def _items(node: Node, spec: Key) -> tuple[Node, ...]:
    least, most = spec.entries
    allowed = f"a list of {least} to {most} entries"
    if not isinstance(node, Sequence) or node.bare:
        bare, items = is_bare(node), node.items if isinstance(node, Sequence) else ()
        wanted = _as_rows(items, spec) or allowed + _as_list(node)
        raise Misread(kind_of(node) + " without brackets" * bare, wanted)
    if not least <= len(node.items) <= most:
        alone = _as_list(node.items[0]) if len(node.items) == 1 else ""
        raise Misread(f"a list of {len(node.items)}", allowed + alone)
    return node.items


def _as_list(node: Node) -> str:
    """How a text that should be a list is written."""
    if isinstance(node, Table) and all(
        isinstance(each.value, Scalar) and each.value.is_null for each in node.entries.values()
    ):
        return f": [{', '.join(node.entries)}]"
    if not isinstance(node, Scalar):
        return ": [first, second, ...]" if is_bare(node) else ""
    text = node.text.strip(" []()")
    words = re.split(r"\s*(?:[,;>|]|[-=]>|\u2192)\s*", text)
    return f": [{', '.join(words if len(words) > 1 else text.split())}]"


_IN_A_ROW = {"list": 2, "list of readings": 3, "list of holes": 3}
"""How many numbers stand in each entry of a list of lists."""


_ROW = re.compile(rf"{NUMBER.pattern}(?:(?:\s*,\s*|\s+){NUMBER.pattern})*", re.ASCII)


def _as_rows(nodes: tuple[Node, ...], spec: Key) -> str:
    """How entries that stand without brackets of their own are written; empty where they have them, or need none."""
    count = _IN_A_ROW[spec.kind] if spec.kind in _IN_A_ROW and (spec.kind != "list" or spec.unit) else 0
    texts = [node.text for node in nodes if isinstance(node, Scalar)]
    if not count or len(texts) < len(nodes) or not texts:
        return ""
    if all(_ROW.fullmatch(text) for text in texts):
        texts = " ".join(texts).replace(",", " ").split()
    rows = texts if "," in texts[0] else [", ".join(texts[i : i + count]) for i in range(0, len(texts), count)]
    shown = ", ".join([f"[{row}]" for row in rows[:2]] + ["..."] * (len(rows) > 2))
    return f"[{shown}], every {count} numbers in brackets of their own"


def _table(node: Node, spec: Key) -> Table:
    if not isinstance(node, Table):
        written, words = written_as(spec.path), node.text.split() if isinstance(node, Scalar) else []
        named = "{{{}: [{}, {}]}}".format(*words) if len(words) == 3 and written.startswith("{NAME: [x") else ""
        raise Misread(kind_of(node) + _dashed(node), f"a mapping: {named or written}")
    return node


def _dashed(node: Node) -> str:
    """How a list of mappings that should be one mapping is written."""
    tables = [item for item in node.items if isinstance(item, Table)] if isinstance(node, Sequence) else []
    if not isinstance(node, Sequence) or not tables or len(tables) < len(node.items):
        return ""
    name = tables[0].node("name")
    named = f", and `{name.text}:` in place of `name: {name.text}`" if isinstance(name, Scalar) else ""
    return f" (write it without dashes{named})"


def rising(sizes: tuple[float, ...] | None) -> tuple[float, ...]:
    """Listed sizes, rising, each once."""
    return tuple(sorted(set(sizes or ())))


# How far the measurements may be off: of the whole layout, or of one pulley.


def read_uncertainty(section: Section) -> Uncertainty:
    """The uncertainty that a layout or a pulley gives; nothing in it where it gives none."""
    own = section.mapping("uncertainty")
    return NOTHING_SAID if own is None else Uncertainty(**own.given())
