"""What one key of the layout file may hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text",
    "choice",
    "true or false",
    "number",
    "whole number",
    "length",
    "point",
    "two numbers",
    "numbers",
    "list",
    "mapping",
    "designation or mapping",
    "names",
    "length, mapping or list",
    "angle, mapping or list",
    "mapping or list",
]
FAR_MM = 100_000.0
FILE_UNIT = "mm or in"
MUST = "must be given"


@dataclass(frozen=True, eq=False)
class Key:
    """One key: where it stands (NAME, ENTRY and LIMIT are the user's), what it holds and what it means.

    kind: what is written there. unit: of its numbers; FILE_UNIT where the file's own `units` hold.
    default: what holds where the key is left out. least, most: range of its numbers, lengths in mm;
    above: whether `least` itself is shut out. choices: the words allowed. needed: whether it must be there.
    """

    path: str
    kind: Kind
    unit: str
    default: str
    meaning: str
    least: float = -FAR_MM
    most: float = FAR_MM
    above: bool = False
    choices: tuple[str, ...] = ()
    needed: bool = False

    @property
    def name(self) -> str:
        """The last part of the path: the key as it is written."""
        return self.path.rpartition(".")[2]

    @property
    def parent(self) -> str:
        """The path of the mapping that holds the key."""
        return self.path.rpartition(".")[0]

    def allowed(self, scale: float = 1.0) -> str:
        """What may stand there, in words. scale: mm for one unit of the file."""
        if self.choices:
            return ", ".join(self.choices)
        if self.kind in ("true or false", "designation or mapping", "mapping or list"):
            return self.kind
        if self.kind == "text":
            return "a text on one line, of printable characters"
        return f"{_WORDS[self.kind]} {self._range(scale)}"

    def _range(self, scale: float) -> str:
        first = "above " if self.above else ""
        unit = "mm" if self.unit == FILE_UNIT else self.unit
        span = f"{first}{self.least:.10g} to {self.most:.10g} {unit}".rstrip()
        if self.unit != FILE_UNIT or scale == 1.0:
            return span
        return f"{span} ({first}{self.least / scale:.6g} to {self.most / scale:.6g} in)"


_WORDS: dict[str, str] = {
    "number": "a number",
    "whole number": "a whole number",
    "length": "a length",
    "point": "[x, y], each",
    "two numbers": "[first, second], each",
    "numbers": "[first, second, ...], each",
    "list": "[x, y], each",
    "mapping": "a number",
    "names": "a list of names",
    "length, mapping or list": "a length",
    "angle, mapping or list": "an angle",
}
NONE = "none"


def uncertainty_keys(path: str, defaults: tuple[str, str, str]) -> tuple[Key, ...]:
    """The keys of how far measurements may be off. defaults: in words, of places, diameters and angles."""
    first, second, third = defaults
    return (
        Key(f"{path}.position_mm", "number", "mm", first, "of each x and y, and of an arm's length", 0.0, 100.0),
        Key(f"{path}.diameter_mm", "number", "mm", second, "of each diameter", 0.0, 50.0),
        Key(f"{path}.angle_deg", "number", "deg", third, "of each angle of an arm", 0.0, 45.0),
    )


def rpm_key(path: str, meaning: str) -> Key:
    """The key of a speed above nothing."""
    return Key(path, "number", "rpm", NONE, meaning, 0.0, 1e6, above=True)
