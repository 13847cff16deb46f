"""Edits of a YAML text at the marks of its nodes: values set, keys and list items put in, all else left as it is."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

import yaml

Keys = tuple[str, ...]

_PLAIN = re.compile(r"[A-Za-z_](?:[\w \-]*\w)?", re.ASCII)
_COMMENT = re.compile(r"#[^\n]*")
_WORDS_WITH_MEANING = frozenset(("null", "Null", "NULL", "true", "false"))


class CannotEdit(Exception):
    """A value cannot be changed where it stands; the text says why."""


def name_text(name: str) -> str:
    """A name as it is written in YAML, in quotes where it needs them."""
    if _PLAIN.fullmatch(name) and name not in _WORDS_WITH_MEANING:
        return name
    return json.dumps(name, ensure_ascii=False)


def node_at(text: str, keys: Keys) -> yaml.Node | None:
    """The value at keys from the top of a text, None where there is none."""
    _, _, node, rest = _found(root_of(text), keys)
    return None if rest else node


def scalar_at(text: str, keys: Keys) -> str | None:
    """The text of a single value, None where there is none or it is a list or mapping."""
    node = node_at(text, keys)
    return node.value if isinstance(node, yaml.ScalarNode) else None


def with_value(text: str, keys: Keys, value: str | Sequence[str]) -> str:
    """The text with a value at keys: replaced where it stands, else put at the end of the mapping that is nearest.

    value: as it is written in YAML; or the items of a list. Items are replaced one by one where their number is right.
    Raises CannotEdit.
    """
    holder, key, node, rest = _found(root_of(text), keys)
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
    _, key, node, rest = _found(root_of(text), keys)
    if rest or key is None or not isinstance(node, yaml.SequenceNode):
        raise CannotEdit(f"{'.'.join(keys)} is no list")
    _refuse_alias(key, node)
    before = node.value[place]
    if node.flow_style:
        return _spliced(text, before.end_mark.index, before.end_mark.index, f", {item}")
    column = before.start_mark.column - _dash_to_item(text, before)
    return _with_line(text, end_of(before), " " * column + f"- {item}")


def root_of(text: str) -> yaml.Node:
    """The top value of a text, with the marks of all below it. Raises CannotEdit where it is empty."""
    # The pure loader: its marks count characters, whatever the text holds.
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    if root is None:
        raise CannotEdit("the file is empty")
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
    column = node.value[0][0].start_mark.column
    return _with_line(text, end_of(node), " " * column + entry)


def end_of(node: yaml.Node) -> int:
    """Where the last value of a node really ends: the mark of a block stands at whatever comes next."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    return int(node.end_mark.index)


def _with_line(text: str, after: int, line: str) -> str:
    """The text with a line put in behind the one that holds a place."""
    newline = "\r\n" if "\r\n" in text else "\n"
    end = text.find("\n", after)
    if end < 0:
        return f"{text}{newline}{line}{newline}"
    return _spliced(text, end + 1, end + 1, line + newline)


def _dash_to_item(text: str, item: yaml.Node) -> int:
    start = int(item.start_mark.index)
    return start - text.rindex("-", 0, start)


def _flow(value: str | Sequence[str]) -> str:
    return value if isinstance(value, str) else f"[{', '.join(value)}]"


def _spliced(text: str, start: int, end: int, new: str) -> str:
    return text[:start] + new + text[end:]
