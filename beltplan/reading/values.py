"""Values of the file from their raw text, by our own rules: no octal, no base 60, no surprise."""

from __future__ import annotations

import re

from beltplan.reading.document import Node, Scalar, Sequence, kind_of
from beltplan.reading.faults import did_you_mean, quoted
from beltplan.reading.key import FILE_UNIT, Key

LONGEST_NAME = 40
LONGEST_TEXT = 200
COMMA_HINT = " (write the decimal point as a point, not a comma)"

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_TAPE = re.compile(r"\d\s*(?:/\s*\d|[\"'½¼¾⅛⅜⅝⅞]|(?:mm|cm|in|inch|inches|ft)\b)", re.ASCII)
_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)


class Misread(Exception):
    """A value that is not what its key allows. line: where it stands, None for the key's own line."""

    def __init__(self, got: str, allowed: str, line: int | None = None) -> None:
        super().__init__(got, allowed)
        self.got, self.allowed, self.line = got, allowed, line


def is_number(node: Node) -> bool:
    """Whether a value is written as a plain number."""
    return isinstance(node, Scalar) and node.plain and _NUMBER.fullmatch(node.text) is not None


def number(node: Node, key: Key, scale: float = 1.0) -> float:
    """A finite number within the key's range. A key in the file's units comes out in mm, and may be read off a tape."""
    if not (isinstance(node, Scalar) and is_number(node)):
        if key.unit == FILE_UNIT and isinstance(node, Scalar) and _TAPE.search(node.text):
            from beltplan.reading.tape import read_length  # only where a length is written so

            return read_length(node, key, scale)
        raise Misread(kind_of(node) + _hint(node), key.allowed(scale))
    value = float(node.text) * (scale if key.unit == FILE_UNIT else 1.0)
    if not (key.least <= value <= key.most) or (key.above and value == key.least):
        raise Misread(node.text if len(node.text) < LONGEST_NAME else quoted(node.text), key.allowed(scale))
    return value


def whole_number(node: Node, key: Key) -> int:
    """A number without a fraction."""
    value = number(node, key)
    if not value.is_integer():
        raise Misread(kind_of(node), key.allowed())
    return int(value)


def _hint(node: Node) -> str:
    if not isinstance(node, Scalar):
        return ""
    if not node.plain and _NUMBER.fullmatch(node.text):
        return " in quotes (write it without)"
    return COMMA_HINT if _COMMA.fullmatch(node.text) else ""


def two_numbers(node: Node, key: Key, scale: float = 1.0) -> tuple[float, float]:
    """A list of just two numbers, such as a point."""
    if not isinstance(node, Sequence):
        raise Misread(kind_of(node), key.allowed(scale))
    if len(node.items) != 2:
        hint = COMMA_HINT if len(node.items) in (3, 4) else ""
        raise Misread(f"a list of {len(node.items)}", key.allowed(scale) + hint)
    first, second = (_element(item, key, scale) for item in node.items)
    return first, second


def _element(node: Node, key: Key, scale: float) -> float:
    try:
        return number(node, key, scale)
    except Misread as fault:
        raise Misread(fault.got, fault.allowed, node.line) from None


def choice(node: Node, key: Key) -> str:
    """One of the key's words."""
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node), key.allowed())
    if node.text not in key.choices:
        raise Misread(kind_of(node) + did_you_mean(node.text, key.choices), key.allowed())
    return node.text


def flag(node: Node, key: Key) -> bool:
    """true or false."""
    if not isinstance(node, Scalar) or not node.plain or node.text not in ("true", "false"):
        raise Misread(kind_of(node), key.allowed())
    return node.text == "true"


def text(node: Node, longest: int = LONGEST_TEXT) -> str:
    """A text on one line, as it stands in the file."""
    allowed = f"a text of 1 to {longest} printable characters on one line"
    if not isinstance(node, Scalar):
        raise Misread(kind_of(node), allowed)
    if not (node.text.strip() and node.text.isprintable() and len(node.text) <= longest):
        raise Misread(quoted(node.text), allowed)
    return node.text
