"""What a key of a file is: where it stands, what it holds, and what it may be in words."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal, NamedTuple

from beltplan.drive.own_units import units_of

_Kind = Literal[
    "text", "choice", "true or false", "number", "whole number", "length", "point", "two numbers", "numbers",
    "list", "list of readings", "list of holes", "list of slots", "names", "mapping", "mapping or names",
    "point or mapping", "usual or mapping", "number or mapping", "designation or mapping", "length or mapping",
    "length, mapping or list", "angle, mapping or list", "mapping or list",
]  # fmt: skip
FAR_MM = 100_000.0
FILE_UNIT = "mm or in"
LENGTHS = ("mm", FILE_UNIT)
"""Units of what may carry its own unit; a bare number is in mm, or in the file's."""
_LONG_IN = 10.0
"""From here on a bound in inches is told without decimals."""
USERS = ("NAME", "PAIR", "ENTRY", "LIMIT")
"""What stands in a path for the user's own words."""
MUST = "must be given"
NONE = "none"


class Key(NamedTuple):
    """One key: where it stands (NAME, ENTRY, LIMIT and PAIR are the user's), what it holds and what it means.

    kind: what is written there. unit: of its numbers; FILE_UNIT where the file's own `units` hold.
    default: what holds where the key is left out. least, most: range of its numbers, lengths in mm;
    above: whether `least` itself is shut out. choices: the words allowed. beside: what else
    a message says of them.
    entries: how few and how many a list may have, or a mapping by the user's own names.
    """

    path: str
    kind: _Kind
    unit: str
    default: str
    meaning: str
    least: float = -FAR_MM
    most: float = FAR_MM
    above: bool = False
    choices: tuple[str, ...] = ()
    beside: str = ""
    entries: tuple[int, int] = (0, 0)

    @property
    def name(self) -> str:
        """The last part of the path: the key as it is written."""
        return self.path.rpartition(".")[2]

    @property
    def parent(self) -> str:
        """The path of the mapping that holds the key."""
        return self.path.rpartition(".")[0]

    @property
    def needed(self) -> bool:
        return self.default == MUST

    @property
    def in_words(self) -> str:
        """What is written there, its unit, meaning and default, as the word list has it."""
        without = self.default if self.needed else f"default: {self.default}"
        unit = self.unit if self.unit in LENGTHS else " or ".join(units_of(self.unit)[:2]) or self.unit
        return f"{self.kind}{', ' * bool(unit)}{unit}: {self.meaning}; {without}"

    def holds(self, value: float) -> bool:
        """Whether a number lies in its range."""
        return (self.least < value if self.above else self.least <= value) and value <= self.most

    def allowed(self, scale: float = 1.0) -> str:
        """What may stand there, in words. scale: mm for one unit of the file."""
        if self.choices:
            return ", ".join(self.choices) + self.beside
        if self.kind == "text":
            return "a text on one line, of printable characters"
        if self.kind not in _WORDS:
            return self.kind
        return f"{_WORDS[self.kind]} {self._range(scale)}{self.beside}"

    def _range(self, scale: float) -> str:
        first = "above " if self.above else ""
        unit = "mm" if self.unit == FILE_UNIT else self.unit
        span = f"{first}{self.least:.10g} to {self.most:.10g} {unit}".rstrip()
        if self.unit != FILE_UNIT or scale == 1.0:
            return span
        return (
            f"{first}{_inward(self.least / scale, math.ceil)} to {_inward(self.most / scale, math.floor)} in ({span})"
        )


def _inward(end: float, whole: Callable[[float], int]) -> str:
    """An end of a range, with no more digits than one reads, on its inner side."""
    parts = 100 if abs(end) < _LONG_IN else 1
    return f"{whole(end * parts) / parts:g}"


_WORDS: dict[str, str] = {
    "number": "a number",
    "whole number": "a whole number",
    "length": "a length",
    "point": "[x, y], each",
    "two numbers": "[first, second], each",
    "numbers": "[first, second, ...], each",
    "list": "[x, y], each",
    "list of holes": "[x, y, diameter], each",
    "point or mapping": "[x, y], or a mapping with at, each",
    "mapping": "a number",
    "number or mapping": "a mapping, or a number",
    "names": "a list of names",
    "length or mapping": "a mapping with stack and to, or a length",
    "length, mapping or list": "a length",
    "angle, mapping or list": "an angle",
}


# How the table of keys is written: a function for what a key holds, its name first, then what holds without it.


def under(path: str, *keys: Key) -> tuple[Key, ...]:
    """Keys, named from the mapping of that path on, by their whole paths."""
    return tuple(key._replace(path=f"{path}.{key.path}") for key in keys)


def mapping(name: str, default: str, meaning: str, *keys: Key, most: int = 0, least: int = 0) -> tuple[Key, ...]:
    """A mapping and the keys in it. least, most: how many names of the user's own it may have."""
    return Key(name, "mapping", "", default, meaning, entries=(least, most)), *under(name, *keys)


def choice(name: str, default: str, meaning: str, words: tuple[str, ...], beside: str = "") -> Key:
    return Key(name, "choice", "", default, meaning, choices=words, beside=beside)


def flag(name: str, default: str, meaning: str) -> Key:
    return Key(name, "true or false", "", default, meaning)


def text(name: str, default: str, meaning: str) -> Key:
    return Key(name, "text", "", default, meaning)


def number(
    name: str, unit: str, default: str, meaning: str, least: float = -FAR_MM, most: float = FAR_MM, above: bool = False
) -> Key:
    return Key(name, "number", unit, default, meaning, least, most, above)


def whole(name: str, default: str, meaning: str, least: float, most: float) -> Key:
    return Key(name, "whole number", "", default, meaning, least, most)


def rpm(name: str, meaning: str) -> Key:
    return number(name, "rpm", NONE, meaning, 0.0, 1e6, above=True)


def length(
    name: str, default: str, meaning: str, least: float = -FAR_MM, most: float = FAR_MM, above: bool = False
) -> Key:
    return Key(name, "length", FILE_UNIT, default, meaning, least, most, above)


def point(name: str, default: str, meaning: str) -> Key:
    return Key(name, "point", FILE_UNIT, default, meaning)


def pair(name: str, unit: str, default: str, meaning: str, least: float, most: float) -> Key:
    return Key(name, "two numbers", unit, default, meaning, least, most)


def numbers(
    name: str, unit: str, default: str, meaning: str, least: float, most: float, entries: tuple[int, int]
) -> Key:
    return Key(name, "numbers", unit, default, meaning, least, most, entries=entries)


def several(
    name: str, kind: _Kind, default: str, meaning: str, entries: tuple[int, int], unit: str = "", far: float = FAR_MM
) -> Key:
    """A list of something else; one with a unit is of points, no coordinate beyond `far`."""
    return Key(name, kind, unit, default, meaning, -far, far, entries=entries)
