"""What a reader of drawings gives: pieces of curves with their names and lines, and what was wrong."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Self

from beltplan.faults import quoted
from beltplan.geometry.vectors import Floats
from beltplan.outlines.curves import Curve, Sweep

_Kind = Literal["CSV", "DXF", "SVG"]

MOST_BYTES = 8 * 1024 * 1024
MOST_PIECES = 50_000
MOST_POINTS = 300_000
MOST_WRONG = 20
"""Faults of one drawing that are told one by one."""
LARGEST = 1e9
"""No number of a drawing may be larger: a guard against overflow, not a size of anything."""

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = re.compile(rf"\s*{NUMBER}\s*", re.ASCII)


@dataclass(frozen=True)
class Wrong:
    """One fault of a drawing: what was got, what is allowed, and the drawing's line, None for all of it."""

    got: str
    allowed: str
    line: int | None = None


class WrongDrawing(Exception):
    """A drawing that cannot be read, with what is wrong."""

    def __init__(self, *wrong: Wrong) -> None:
        super().__init__(wrong)
        self.wrong = wrong

    @classmethod
    def of(cls, got: str, allowed: str, line: int | None = None) -> Self:
        return cls(Wrong(got, allowed, line))

    @classmethod
    def refuse(cls, wrong: list[Wrong]) -> None:
        """Raises it where there is any fault; beyond the first ones they are counted."""
        if len(wrong) > MOST_WRONG:
            count = len(wrong) - MOST_WRONG
            more = Wrong(f"{count} more fault{'s' if count > 1 else ''} in the drawing", "none", wrong[MOST_WRONG].line)
            wrong = [*wrong[:MOST_WRONG], more]
        if wrong:
            raise cls(*wrong)


@dataclass(frozen=True, eq=False)
class Piece:
    """A line of the drawing, in its own units: curves that follow one another.

    names: the layer; or the ids of the element and of the groups round it. closed: whether it ends where it began.
    what: the kind of element. refused: why it cannot be used, with what is allowed, None where it can.
    """

    curves: tuple[Curve, ...]
    closed: bool
    names: tuple[str, ...]
    what: str
    line: int
    refused: tuple[str, str] | None = None

    @property
    def circle(self) -> tuple[Floats, float] | None:
        first = self.curves[0]
        return first.circle if len(self.curves) == 1 and isinstance(first, Sweep) else None


@dataclass(frozen=True, eq=False)
class Drawing:
    """A drawing as it was read.

    mm_per_unit: None where it does not say its own unit. no_unit: why that cannot do, None where the layout's will.
    up: +1 where y runs up in the drawing, -1 where it runs down. fills: whether an open line bounds an area all the
    same, by a straight edge between its ends. name_word: what a name in the drawing is called.
    """

    kind: _Kind
    pieces: tuple[Piece, ...]
    mm_per_unit: float | None
    no_unit: Wrong | None = None
    up: float = 1.0
    fills: bool = True
    name_word: str = "id"


def number_of(text: str, line: int, what: str) -> float:
    """A number of a drawing. Raises WrongDrawing."""
    value = plain_number(text)
    if value is None:
        raise WrongDrawing.of(f"{quoted(text.strip())} as {what}", "a number", line)
    if not abs(value) <= LARGEST:
        raise WrongDrawing.of(f"{quoted(text.strip())} as {what}", f"a number of at most {LARGEST:g}", line)
    return value


def plain_number(text: str) -> float | None:
    """The number that a text is, None where it is none."""
    return float(text) if _NUMBER.fullmatch(text) else None


def counted(words: Iterable[str], most: int = 12) -> str:
    """Words in a row, those beyond the first ones counted."""
    every = list(words)
    return ", ".join([*every[:most], *([f"and {len(every) - most} more"] if len(every) > most else [])])
