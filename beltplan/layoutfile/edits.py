"""Edits of a YAML text at the marks of its nodes: values set, keys put in or taken out, all else left as it is."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Container, Iterator, Sequence

import yaml

from beltplan.layoutfile.document import LOADER, VARIANTS

Keys = tuple[str, ...]

_PLAIN = re.compile(r"[A-Za-z_](?:[\w \-]*\w)?", re.ASCII)
_COMMENT = re.compile(r"#[^\n]*")
_COMMENTS = rf"(?:[ \t]*{_COMMENT.pattern}(?:\n|\Z))*"
_WORDS_WITH_MEANING = frozenset(("null", "Null", "NULL", "true", "false"))

UNREADABLE = (yaml.YAMLError, RecursionError)
"""What may come of reading a text as YAML."""


class CannotEdit(Exception):
    """A value cannot be changed where it stands; the text says why."""


def name_text(name: str) -> str:
    """A name as it is written in YAML, in quotes where it needs them."""
    if _PLAIN.fullmatch(name) and name not in _WORDS_WITH_MEANING:
        return name
    return json.dumps(name, ensure_ascii=False)


def node_at(text: str, keys: Keys) -> yaml.Node | None:
    """The value at keys from the top of a text, None where there is none."""
    _, _, node, rest = _found(_root_of(text), keys)
    return None if rest else node


def with_value(text: str, keys: Keys, value: str | Sequence[str]) -> str:
    """The text with a value at keys: replaced where it stands, else put at the end of the mapping that is nearest.

    value: as it is written in YAML; or the items of a list. Items are replaced one by one where their number is right.
    Raises CannotEdit.
    """
    holder, key, node, rest = _found(_root_of(text), keys)
    if rest:
        return _inserted(text, holder, node, rest, _flow(value))
    if key is None:
        raise CannotEdit("the file's top cannot be replaced")
    _refuse_alias(key, node)
    if isinstance(node, yaml.SequenceNode) and not isinstance(value, str) and len(node.value) == len(value):
        for item, new in reversed(list(zip(node.value, value, strict=True))):
            text = text if isinstance(item, yaml.ScalarNode) and name_text(item.value) == new else _put(text, item, new)
        return text
    return _put(text, node, _flow(value))


def with_item(text: str, keys: Keys, place: int, item: str) -> str:
    """The text with an item put into a list behind that of a place. Raises CannotEdit."""
    _, key, node, rest = _found(_root_of(text), keys)
    if rest or key is None or not isinstance(node, yaml.SequenceNode):
        raise CannotEdit(f"{'.'.join(keys)} is no list")
    _refuse_alias(key, node)
    before = node.value[place]
    if node.flow_style:
        return _spliced(text, before.end_mark.index, before.end_mark.index, f", {item}")
    start = int(before.start_mark.index)
    column = before.start_mark.column - (start - text.rindex("-", 0, start))
    return _with_line(text, _end_of(before), " " * column + f"- {item}")


def _root_of(text: str) -> yaml.Node:
    """The top value of a text, with the marks of all below it. Raises CannotEdit where it is empty."""
    root = _composed(text)
    if root is None:
        raise CannotEdit("the file is empty")
    return root


def _composed(text: str) -> yaml.Node | None:
    # The compiled loader's marks count characters too, but for a byte order mark, which it skips.
    root: yaml.Node | None = yaml.compose(text, Loader=yaml.SafeLoader if text.startswith("\ufeff") else LOADER)
    return root


def _found(root: yaml.Node, keys: Keys) -> tuple[yaml.Node, yaml.Node | None, yaml.Node, Keys]:
    """Mapping, key and value as deep as the keys go, and the keys that are left over."""
    holder, key, node = root, None, root
    for depth, name in enumerate(keys):
        pair = None
        if isinstance(node, yaml.MappingNode):
            pair = next((pair for pair in node.value if pair[0].value == name), None)
        if pair is None:
            return holder, key, node, keys[depth:]
        holder, (key, node) = node, pair
    return holder, key, node, ()


def _refuse_alias(key: yaml.Node, node: yaml.Node) -> None:
    # Its value stands elsewhere, perhaps in a variant, which would change without a word.
    if node.start_mark.index < key.end_mark.index:
        raise CannotEdit(f"line {key.start_mark.line + 1}: {key.value} is an alias of another value")


def _put(text: str, node: yaml.Node, value: str) -> str:
    start, end = node.start_mark.index, node.end_mark.index
    if isinstance(node, yaml.CollectionNode) and not node.flow_style:
        raise CannotEdit(f"line {node.start_mark.line + 1}: a block of several lines would have to be replaced")
    return _spliced(text, start, end, value if end > start else f" {value}")


def _inserted(text: str, holder: yaml.Node, node: yaml.Node, rest: Keys, value: str) -> str:
    for name in reversed(rest[1:]):
        value = f"{{{name_text(name)}: {value}}}"
    entry = f"{name_text(rest[0])}: {value}"
    if isinstance(node, yaml.ScalarNode) and node.value in ("", "~", "null"):
        return _put(text, node, f"{{{entry}}}")
    if not isinstance(node, yaml.MappingNode) or node.start_mark.index < holder.start_mark.index:
        raise CannotEdit(f"line {node.start_mark.line + 1}: {rest[0]} has no mapping to stand in")
    if node.flow_style:
        close = node.end_mark.index - 1
        last = node.value[-1][1].end_mark.index if node.value else close
        comma = "" if not node.value or "," in _COMMENT.sub("", text[last:close]) else ", "
        return _spliced(text, close, close, comma + entry)
    return _with_line(text, _end_of(node), " " * node.value[0][0].start_mark.column + entry)


def _end_of(node: yaml.Node) -> int:
    """Where the last value of a node really ends: the mark of a block stands at whatever comes next."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    return int(node.end_mark.index)


def _with_line(text: str, after: int, line: str) -> str:
    newline = "\r\n" if "\r\n" in text else "\n"
    end = text.find("\n", after)
    if end < 0:
        return f"{text}{newline}{line}{newline}"
    return _spliced(text, end + 1, end + 1, line + newline)


def _flow(value: str | Sequence[str]) -> str:
    return value if isinstance(value, str) else f"[{', '.join(value)}]"


def _spliced(text: str, start: int, end: int, new: str) -> str:
    return text[:start] + new + text[end:]


# Keys taken out of the top of a YAML text, each with its block and the comments that are its own.

_Pairs = list[tuple[yaml.Node, yaml.Node]]
_Span = tuple[int, int]
_BLANK_END = re.compile(r"(\r?\n)(?:[ \t]*\r?\n)+\Z")
# Comments at the margin with a blank line on either side, and the blank ones behind.
_PARAGRAPH = re.compile(r"(?:(?<=\n\n)|(?<=\n\r\n))(?:#[^\n]*\n)+(?:[ \t\r]*\n|\Z)+", re.MULTILINE)


def without_keys(text: str, keys: Sequence[str]) -> str:
    """The text without some keys of its top mapping.

    A key's own comments go with it: those in its block, those directly above it, those between two keys that both go,
    and every paragraph of comments in which one of the keys is commented out. What leads the file stays.
    Raises CannotEdit where nothing would be left.
    """
    while True:
        root = _root_of(text)
        if not isinstance(root, yaml.MappingNode):
            raise CannotEdit("nothing would be left of the file")
        place = next((place for place, (key, _) in enumerate(root.value) if key.value in keys), None)
        if place is None:
            break
        start, end = _in_braces(root.value, place) if root.flow_style else _block(text, root.value, place, keys)
        if end <= start:
            raise CannotEdit("its lines end in an unusual way")
        text = text[:start] + text[end:]
    disused = re.compile(rf"^#[ ]?(?:{'|'.join(map(re.escape, keys))}):", re.MULTILINE)
    text = _PARAGRAPH.sub(lambda found: "" if disused.search(found.group()) else found.group(), text)
    return _BLANK_END.sub(r"\1", text)


def _in_braces(pairs: _Pairs, place: int) -> _Span:
    (key, value), following = pairs[place], pairs[place + 1 : place + 2]
    if following:
        return key.start_mark.index, following[0][0].start_mark.index
    return _end_of(pairs[place - 1][1]) if place else key.start_mark.index, _end_of(value)


def _block(text: str, pairs: _Pairs, place: int, keys: Container[str]) -> _Span:
    """The lines of an entry with its own comments, and the blank ones behind it where some stand before it."""
    (key, value), following = pairs[place], pairs[place + 1 : place + 2]
    start = _line_start(text, key.start_mark.index)
    if place:
        # What leads the file is no one key's own.
        start = _own_above(text, start, _end_of(pairs[place - 1][1]), key.start_mark.column)
    end, below, column = _line_end(text, max(_end_of(value), key.end_mark.index) - 1), len(text), 0
    for after, _ in following:
        below, column = _line_start(text, after.start_mark.index), after.start_mark.column
        if after.value in keys:
            return start, below
        below = _own_above(text, below, end, column)
    end = _own_below(text, end, below, column)
    blank_before = start == 0 or not text[_line_start(text, start - 1) : start].strip()
    blank = re.compile(r"(?:[ \t\r]*\n)*[ \t\r]*\Z|(?:[ \t\r]*\n)*").match(text, end)
    return start, blank.end() if blank_before and blank else end


def _own_above(text: str, start: int, least: int, column: int) -> int:
    """Start of the comments that stand directly above a key, indented as it is or less, not above `least`."""
    above = text[_line_end(text, least - 1) : start]
    found = re.search(rf"(?:^[ \t]{{0,{column}}}#[^\n]*\n)*\Z", above, re.MULTILINE)
    return start - len(found[0] if found else "")


def _own_below(text: str, end: int, most: int, column: int) -> int:
    """End of the comments that stand directly below a block, or are indented more than its key, above `most`."""
    further = rf"(?:[ \t\r]*\n)+[ \t]{{{column + 1},}}{_COMMENT.pattern}(?:\n|\Z)"
    found = re.compile(f"{_COMMENTS}(?:{further}{_COMMENTS})*").match(text, end, most)
    return found.end() if found else end


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


# Names of drawings in a layout's text, rewritten so that they still lead there from another folder.


def with_files_from(text: str, old: str, new: str) -> str:
    """The text of a layout file with its relative `file` names as they are seen from another folder.

    old, new: the folder of the text as it is, and the one where it goes, both without links in them. Raises CannotEdit.
    """
    if old == new:
        return text
    # An anchored name is met again at each of its aliases: each place is rewritten once, the last first.
    named = {node.start_mark.index: node for node in _files(_composed(text))}
    for start, node in sorted(named.items(), reverse=True):
        if node.value and not os.path.isabs(node.value):
            if node.style in ("|", ">"):
                raise CannotEdit(f"line {node.start_mark.line + 1}: the name of a file over several lines")
            name = json.dumps(_seen_from(new, os.path.join(old, node.value)), ensure_ascii=False)
            text = text[:start] + name + text[node.end_mark.index :]
    return text


def _seen_from(folder: str, path: str) -> str:
    try:
        return os.path.relpath(path, folder)
    except ValueError:  # on another drive
        return os.path.abspath(path)


def _files(root: yaml.Node | None) -> Iterator[yaml.ScalarNode]:
    for top in (root, *_below(root, VARIANTS, "")):
        for node in _below(top, "obstacles", "", "file"):
            if isinstance(node, yaml.ScalarNode):
                yield node


def _below(node: yaml.Node | None, *keys: str) -> Iterator[yaml.Node]:
    """The values at keys from a node on, all that stand there where a key is empty."""
    if node is None or not keys:
        yield from () if node is None else (node,)
        return
    for key, value in node.value if isinstance(node, yaml.MappingNode) else ():
        if keys[0] in ("", key.value):
            yield from _below(value, *keys[1:])
