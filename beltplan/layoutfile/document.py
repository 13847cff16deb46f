"""A YAML text as nodes that know their lines: read, guarded by size, and variants laid over it."""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from html import unescape
from itertools import islice
from typing import Any

import yaml
from yaml.reader import Reader

from beltplan.faults import FaultList, nearest, printable, quoted

_DEEPEST = 30
_MOST_EVENTS = 60_000
_MOST_NODES = 20_000
_MOST_BESIDE = 1000
"""So many names of a folder are looked through for the one that was meant."""
NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_NUMBERS = re.compile(
    rf"{NUMBER.pattern}(?:\s+{NUMBER.pattern})*(?:\s+\d+/\d+)?(?:\s*[a-zA-Z][a-zA-Z/-]{{0,5}}\d?)?\s*\)?", re.ASCII
)
"""Numbers in a row, with a unit behind the last or none; and what ends round brackets."""
_WORD = re.compile(r"[a-zA-Z_][\w.]*", re.ASCII)
_NULLS = frozenset(("", "~", "null", "Null", "NULL"))
_FILE = ("file",)
_LISTS_OF_NUMBERS = ("distances", "angles", "diameters")
_READ_TWICE = (*_LISTS_OF_NUMBERS, "offsets", "loops", "circles")
"""Keys under which a value may be a list of what was read."""
_LONGEST_SHOWN = 160
"""A text to write is shown up to so many characters."""
_PLAIN_IN_BRACKETS = re.compile(r"[\w+.-][^,\[\]{}:#]*")

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Scalar:
    """A single value as its raw text; plain: written without quotes."""

    line: int
    text: str
    plain: bool
    size: int = 1

    @property
    def is_null(self) -> bool:
        """Whether it stands for nothing: left empty, ~ or null."""
        return self.plain and self.text in _NULLS


@dataclass(frozen=True)
class Sequence:
    """A list. size: nodes below and with it, aliases counted in full. bare: in braces, with no brackets round it."""

    line: int
    items: tuple[Node, ...]
    size: int
    bare: bool = False


@dataclass(frozen=True)
class Entry:
    """A key's line and its value."""

    line: int
    value: Node


@dataclass(frozen=True)
class Table:
    """A mapping, by the raw text of its keys. size: nodes below and with it, aliases counted in full."""

    line: int
    entries: Mapping[str, Entry]
    size: int

    def node(self, key: str) -> Node | None:
        """The value at a key, None where absent or null."""
        entry = self.entries.get(key)
        if entry is None or (isinstance(entry.value, Scalar) and entry.value.is_null):
            return None
        return entry.value


Node = Scalar | Sequence | Table


def walked(node: Node, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], int, Node]]:
    """All that stands under a node: the names that lead to it, entries of lists counted from '1', its line, itself."""
    below = list[tuple[str, int, Node]]()
    if isinstance(node, Table):
        below = [(key, entry.line, entry.value) for key, entry in node.entries.items()]
    elif isinstance(node, Sequence):
        below = [(str(place), item.line, item) for place, item in enumerate(node.items, start=1)]
    for key, line, value in below:
        yield (*path, key), line, value
        yield from walked(value, (*path, key))


class _Unreadable(Exception):
    """The text cannot be read any further: the line, what was got and what is allowed."""


def parse_document(text: str, faults: FaultList) -> Table | None:
    """The top mapping of a YAML text, or None where it cannot be read; every fault is noted in `faults`."""
    try:
        return _top_table(_Composer(text, faults).document())
    except _Unreadable as stop:
        faults.add(stop.args[0], _FILE, *stop.args[1:])
    except yaml.YAMLError as error:
        if "nesting" in str(error):  # the compiled parser looks ahead, and has a bound of its own
            faults.add(1, _FILE, f"nesting deeper than {_DEEPEST}", f"at most {_DEEPEST} levels")
            return None
        from beltplan.layoutfile.repairs import repaired  # only a text that is no YAML wants it

        faults.found.clear()  # a key that is a mapping, as `{{` makes one, comes of the same slip
        errors, mended = repaired(text)
        for line, words in errors:
            faults.add(line, _FILE, words)
        return parse_document(mended, faults) if mended else None
    return None


def _top_table(node: Node | None) -> Table:
    if isinstance(node, Table):
        return node
    got = (1, "an empty file") if node is None or is_nothing(node) else (node.line, kind_of(node))
    raise _Unreadable(*got, "a mapping of keys such as belt, pulleys and route")


def text_of(node: Node | None) -> str:
    """The raw text of a single value; empty for anything else."""
    return node.text if isinstance(node, Scalar) else ""


def flow_of(node: Node) -> str:
    """A value as it may be written within a line; `...` where there is none.

    >>> flow_of(Table(1, {"at": Entry(1, Sequence(1, (Scalar(1, "1", True), Scalar(1, "", True)), 3))}, 4))
    '{at: [1, ...]}'
    """
    if isinstance(node, Table):
        return f"{{{', '.join(f'{_quoted_if(key)}: {flow_of(entry.value)}' for key, entry in node.entries.items())}}}"
    if isinstance(node, Sequence):
        return f"[{', '.join(map(flow_of, node.items))}]"
    return "..." if is_nothing(node) else _quoted_if(node.text, not node.plain)


def _quoted_if(text: str, quotes: bool = False) -> str:
    return json.dumps(text, ensure_ascii=False) if quotes or not _PLAIN_IN_BRACKETS.fullmatch(text) else text


def joined(tables: Iterable[Table]) -> Table | None:
    """The keys of several mappings as those of one; None where one stands twice."""
    every = [(key, entry) for own in tables for key, entry in own.entries.items()]
    return Table(1, given, 1) if len(given := dict(every)) == len(every) else None


def is_nothing(node: Node) -> bool:
    """Whether a key has no value: nothing, null or an empty text."""
    return isinstance(node, Scalar) and (node.is_null or not node.text)


def kind_of(node: Node) -> str:
    """What a node is, in words fit for a message."""
    if isinstance(node, Scalar):
        return "nothing" if is_nothing(node) else quoted(node.text)
    if isinstance(node, Sequence) and node.bare:
        texts = [item.text for item in node.items if isinstance(item, Scalar)]
        return quoted(", ".join(texts)) if len(texts) == len(node.items) else "lists one after the other"
    return "a list" if isinstance(node, Sequence) else "a mapping"


class _Composer:
    """Builds the tree from the parser's events one by one, so that no depth or number of aliases can hurt."""

    def __init__(self, text: str, faults: FaultList) -> None:
        self._text, self._events = text, self._guarded(yaml.parse(text, Loader=LOADER))
        self._faults = faults
        self._anchors: dict[str, Node | None] = {}
        self._path: tuple[str, ...] = ()

    def document(self) -> Node | None:
        """The one document of the text, or None where there is none."""
        root = None
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise _Unreadable(_at(event), "a second document", "one layout in one file")
                root = self._node(next(self._events))
        return root

    def _guarded(self, events: Iterator[Any]) -> Iterator[Any]:
        depth = 0
        for count, event in enumerate(events):
            depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
            if depth > _DEEPEST:
                raise _Unreadable(_at(event), f"nesting deeper than {_DEEPEST}", f"at most {_DEEPEST} levels")
            if count > _MOST_EVENTS:
                raise _Unreadable(_at(event), f"more than {_MOST_EVENTS} parts", f"at most {_MOST_NODES} values")
            yield event

    def _node(self, event: Any) -> Node:
        if isinstance(event, yaml.AliasEvent):
            return self._aliased(event)
        if event.anchor is not None:
            self._anchors[event.anchor] = None
        if event.tag is not None:
            self._faults.add(_at(event), _FILE, f"the tag {quoted(event.tag)}", "values without a tag")
        node: Node
        if isinstance(event, yaml.ScalarEvent):
            node = Scalar(_at(event), event.value, not event.style)
        else:
            node = self._sequence(event) if isinstance(event, yaml.SequenceStartEvent) else self._table(event)
        if node.size > _MOST_NODES:
            raise _Unreadable(_at(event), f"more than {_MOST_NODES} values", f"at most {_MOST_NODES}, aliases in full")
        if event.anchor is not None:
            self._anchors[event.anchor] = node
        return node

    def _aliased(self, event: Any) -> Node:
        name = quoted(f"*{event.anchor}")
        if event.anchor not in self._anchors:
            raise _Unreadable(_at(event), f"alias {name} with no anchor before it", "an alias of an earlier anchor")
        node = self._anchors[event.anchor]
        if node is None:
            raise _Unreadable(_at(event), f"alias {name} inside its own anchor", "a value that does not hold itself")
        return node

    def _sequence(self, start: Any) -> Sequence:
        items = list[Node]()
        while not isinstance(event := next(self._events), yaml.SequenceEndEvent):
            items.append(self._node(event))
        return Sequence(_at(start), tuple(items), 1 + sum(item.size for item in items))

    def _table(self, start: Any) -> Table | Sequence:
        every, inner, size = dict[str, list[Entry]](), list[Table](), 1
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            key, above = self._node(event), self._path
            self._path = (*above, key.text if isinstance(key, Scalar) else "?")
            value = self._node(behind := next(self._events))
            size += key.size + value.size
            empty = start.flow_style and value == Scalar(value.line, "", True)
            if empty and isinstance(key, Table) and not every:
                inner.append(key)
            elif empty and _goes_on(every, key):
                last = next(reversed(every.values()))
                last[-1] = _gone_on(last[-1], key)
            else:
                if empty and ":" not in self._text[event.end_mark.index : behind.start_mark.index]:
                    value = Scalar(value.line, "", False)  # a key alone stands for no null, and no key takes this
                self._enter(every, key, Entry(_at(event), value))
            self._path = above
        if len(inner) > 1 and not every:
            return Sequence(_at(start), tuple(inner), size, bare=True)
        if inner:
            self._faults.add(inner[0].line, self._path, "braces in braces: write one pair")
            every = {name: [entry] for each in inner for name, entry in each.entries.items()} | every
        return self._closed(_at(start), every, size)

    def _closed(self, line: int, every: dict[str, list[Entry]], size: int) -> Table | Sequence:
        alone = [(name, each) for name, entries in every.items() for each in entries if _is_alone(each.value)]
        all_alone = len(alone) == sum(map(len, every.values())) > 1
        # So many words or numbers in braces were meant as a list.
        if all_alone and any(all(map(each.fullmatch, every)) for each in (_WORD, _NUMBERS)):
            return Sequence(line, tuple(Scalar(each.line, name, True) for name, each in alone), size, bare=True)
        for name, entries in every.items():
            if len(entries) > 1:
                self._refuse_again((*self._path, name), entries)
        return Table(line, {name: entries[0] for name, entries in every.items()}, size)

    def _enter(self, every: dict[str, list[Entry]], key: Node, entry: Entry) -> None:
        line = entry.line
        if not isinstance(key, Scalar):
            self._faults.add(line, _FILE, f"{kind_of(key)} as a key", "a single word or name as a key")
        elif key.text == "<<" and key.plain:
            self._faults.add(line, self._path, "a merge key", "keys written out in full, or a variant")
        else:
            name = key.text.rstrip(": ") if key.plain else key.text
            if name != key.text:
                self._faults.add(line, (*self._path[:-1], name), "two colons: write one")
            every.setdefault(name, []).append(entry)

    def _refuse_again(self, path: tuple[str, ...], every: list[Entry]) -> None:
        *lines, last = (str(entry.line) for entry in every)
        times = "twice" if len(every) == 2 else f"{len(every)} times"
        shown = [text_of(entry.value) or flow_of(entry.value) for entry in every]
        where = f" (lines {', '.join(lines)} and {last})"
        if max(map(len, shown)) <= _LONGEST_SHOWN // 2:
            where = f": {', '.join(f'{text} in line {entry.line}' for text, entry in zip(shown, every, strict=True))}"
        hint = _together(path, [entry.value for entry in every], times)
        self._faults.add(every[1].line, path, f"the key {times}{where}", f"each key once{hint}", astray=True)


def _together(path: tuple[str, ...], values: list[Node], times: str) -> str:
    """What to write for one key that stands there more than once; empty where nothing holds all."""
    tables = [each for each in values if isinstance(each, Table)]
    every = tuple(item for each in values for item in _items_of(each))
    listed, whole = flow_of(Sequence(1, every, 1)), joined(tables) if len(tables) == len(values) else None
    if whole is not None and len(text := flow_of(whole)) <= _LONGEST_SHOWN:
        return f"; join them: write {text}"
    # With a decimal comma in one of them the list would hold a reading more.
    is_read = len(path) == 2 and path[0] in _READ_TWICE and '"' not in listed and "..." not in listed
    if is_read and (len(tables) == len(every) or path[0] in _LISTS_OF_NUMBERS) and len(listed) <= _LONGEST_SHOWN:
        return f"; read {times}: write {listed}"
    if all(flow_of(each) == flow_of(values[0]) for each in values):
        return "; they say the same: take one out"
    return "; join them: all of their keys under one" if len(tables) == len(values) else ""


def _items_of(value: Node) -> tuple[Node, ...]:
    return value.items if isinstance(value, Sequence) and not value.bare else (value,)


def _goes_on(every: dict[str, list[Entry]], key: Node) -> bool:
    """Whether a key alone in braces is the rest of a list without its brackets: `at: 10, 20` reads as a key 20."""
    if not every:
        return False
    name, entries = next(reversed(every.items()))
    before = entries[-1].value
    if _is_alone(before) and _NUMBERS.fullmatch(name):
        return False
    if isinstance(key, Table):
        return isinstance(before, Table | Sequence)
    return isinstance(key, Sequence) or _NUMBERS.fullmatch(key.text) is not None


def _gone_on(entry: Entry, key: Node) -> Entry:
    """The entry, its value a list without brackets that ends with that key."""
    before = entry.value
    items = before.items if isinstance(before, Sequence) and before.bare else (before,)
    return Entry(entry.line, Sequence(before.line, (*items, key), before.size + key.size, bare=True))


def _is_alone(value: Node) -> bool:
    """Whether it is what stands behind a key in braces without a colon."""
    return isinstance(value, Scalar) and not value.text and not value.plain


def _at(event: Any) -> int:
    return int(event.start_mark.line) + 1


# A page that `beltplan page` wrote, as a layout file: how it is known, and the layout's text in it.

FIRST_LINE = "<!DOCTYPE html><!-- beltplan page: this file can be read as a layout -->"
LAYOUT_ID = "layout-file"
"""Of the element that holds the layout's text, escaped."""
_BEGIN, _END = rf'<pre id="{LAYOUT_ID}"(?: data-variant="([^"]*)")?>', "</pre>"


def in_page(text: str) -> tuple[str, str | None]:
    """The text of the layout file in a page, and the variant of which the page is; any other text is one itself.

    >>> in_page(f'{FIRST_LINE}<p>a &lt;pre></p><pre id="layout-file">title: &lt;b&gt; &amp;amp;</pre>')
    ('title: <b> &amp;', None)
    """
    begin = re.search(_BEGIN, text) if text.startswith(FIRST_LINE) else None
    if begin is None:
        return text, None
    return unescape(text[begin.end() :].partition(_END)[0]), begin[1] and unescape(begin[1])


# The text of a layout file: its bytes, guarded by size, decoded, and free of control characters.

_MOST_BYTES = 256 * 1024
_MOST_PAGE_BYTES = 1024 * 1024
"""Of a page that holds a layout."""
_UNPRINTABLE = re.compile(f"{Reader.NON_PRINTABLE.pattern}|\ufeff")
"""What YAML 1.1 (5.1) does not call printable, a byte order mark among them."""
_DRAWING = "a layout (YAML text); a drawing is named in one: `obstacles: {NAME: {file: ...}}`"
_LAYOUT = "a layout (YAML text), as `beltplan new` writes one"
_FOREIGN = tuple(
    (re.compile(begins, re.IGNORECASE | re.DOTALL), what, wanted)
    for begins, what, wanted in (
        (rb"\xff\xfe|\xfe\xff|[^\0]\0|\0[^\0]", "UTF-16 text, not UTF-8", "the same file, saved as UTF-8"),
        (rb"\x89PNG|\xff\xd8\xff|GIF8", "a picture", _LAYOUT),
        (rb"%PDF", "a PDF", _LAYOUT),
        (rb"PK\x03\x04", "a spreadsheet, or another zipped file", _LAYOUT),
        (f"{FIRST_LINE}(?!.*{_BEGIN})".encode(), "a page with no layout in it", "the layout that it was made from"),
        (rb"\s*<(!DOCTYPE )?html(?!><!-- beltplan page)", "a page (HTML)", _LAYOUT),
        (rb"\s*<(\?xml|svg)", "a drawing (SVG), or other XML", _DRAWING),
        (rb"\s*0\s+SECTION", "a drawing (DXF)", _DRAWING),
        (rb"(?!.*:)[^\n#]+[,;\t][^\n]+\n[^\n]+[,;\t]", "a table (CSV)", _DRAWING),
    )
)
"""How files begin that are no layout, what they are, and what is wanted."""


def read_text(path: str, faults: FaultList) -> str | None:
    """The file's text, of a page that of the layout in it; None where it cannot be read: `faults` gets the reason."""
    return read_page(path, faults)[0]


def read_page(path: str, faults: FaultList) -> tuple[str | None, str | None]:
    """The same, and the variant of which a page is; None of a page of the layout as it stands, and of other files."""
    text = _whole_text(path, faults)
    return (None, None) if text is None else in_page(text)


def _whole_text(path: str, faults: FaultList) -> str | None:
    data = bytes_of(path, _MOST_PAGE_BYTES)
    if isinstance(data, str):
        faults.add(0, _FILE, data)
        return None
    if foreign := next((said for said in _FOREIGN if said[0].match(data)), None):
        faults.add(1, _FILE, *foreign[1:])
        return None
    most = _MOST_PAGE_BYTES if data.startswith(FIRST_LINE.encode()) else _MOST_BYTES
    if len(data) > most:
        faults.add(1, _FILE, f"more than {most // 1024} kB", f"a layout of at most {most // 1024} kB")
        return None
    return _decoded(data, faults)


def bytes_of(path: str, most: int) -> bytes | str:
    """The bytes of a plain file, one more than `most` of a longer one; or why it cannot be read, in words."""
    try:
        kind = os.stat(path).st_mode
        if stat.S_ISREG(kind):
            with open(path, "rb") as file:
                return file.read(most + 1)
        # A pipe or device is never opened: it may never end, or never begin.
        return f"{quoted(path)} is {'a folder' if stat.S_ISDIR(kind) else 'a pipe or device, no plain file'}"
    except FileNotFoundError:
        folder, name = os.path.split(path)
        where = printable(folder) or "this folder"
        hint = f" (did you mean {printable(near)}?)" if (near := _file_meant(folder, name)) else ""
        return f"there is no file {printable(name) or quoted(name)} in {where}{hint}"
    except (OSError, ValueError) as error:
        return f"{quoted(path)} cannot be read: {getattr(error, 'strerror', None) or error}"


def _file_meant(folder: str, name: str) -> str | None:
    """The nearest name beside it, of the same ending or of the one that a layout has; else its path one folder off."""
    there = [each.name for each in _entries(folder or ".")]
    stem, ending = os.path.splitext(name)
    for kind in dict.fromkeys((ending, ".yaml")):
        stems = [each.removesuffix(kind) for each in there if kind and each.endswith(kind)]
        if near := nearest(stem.removesuffix(kind), stems):
            return near + kind
    named = dict.fromkeys((name, name if ending else f"{stem}.yaml"))
    below = (os.path.join(each.name, one) for each in _entries(".") if each.is_dir() for one in named)
    asked = os.path.join(folder, name)
    return next((path for path in (*below, *named) if os.path.isfile(path) and path != asked), None)


def _entries(folder: str) -> list[os.DirEntry[str]]:
    try:
        return [*islice(os.scandir(folder), _MOST_BESIDE)]
    except OSError:
        return []


def _decoded(data: bytes, faults: FaultList) -> str | None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        faults.add(line, _FILE, f"a byte that is not UTF-8 ({error.reason})", "UTF-8 text: save the file as that")
        return None
    bad = _UNPRINTABLE.search(text)
    if bad is None:
        return text
    line = len(text[: bad.end()].splitlines() or " ")
    faults.add(line, _FILE, f"the control character {quoted(bad[0])}", "text without control characters")
    return None


# Variants: each laid over the rest of the file, key by key.

VARIANTS = "variants"


def overlay(base: Table, over: Table) -> Table:
    """The base with `over` laid on it: mappings key by key, all else replaced; a null stands for an absent key.

    Every value keeps the line where it stands; a mapping found in both keeps its line in the base.
    """
    entries = dict(base.entries)
    for key, entry in over.entries.items():
        under = entries.get(key, entry)
        if isinstance(under.value, Table) and isinstance(entry.value, Table) and key in base.entries:
            entry = Entry(under.line, overlay(under.value, entry.value))
        entries[key] = entry
    return Table(base.line, entries, base.size + over.size)


def without_variants(table: Table) -> Table:
    return replace(table, entries={key: entry for key, entry in table.entries.items() if key != VARIANTS})
