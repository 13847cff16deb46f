"""The path data of an SVG element as curves.

Source: Scalable Vector Graphics (SVG) 1.1, second edition, section 8.3 and appendix F.6, W3C Recommendation 2011.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from beltplan.faults import quoted
from beltplan.geometry.vectors import TURN
from beltplan.outlines.curves import Bezier, Curve, Edges, Sweep
from beltplan.outlines.drawing import LARGEST, MOST_PIECES, MOST_POINTS, NUMBER, WrongDrawing

_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
"""Numbers that each command takes at a time."""
_CURVED = "CcSsQqTtAa"
_MOST_DRAWN = {"curves": MOST_PIECES, "edges": MOST_POINTS}
_GAP = re.compile(r"[\s,]*")
_NUMBER = re.compile(NUMBER, re.ASCII)
_FLAG = re.compile(r"[01]")
_FLAGS = (3, 4)
"""Places of an arc's two flags, which may stand without a space behind them."""
_NO_ARC = 1e-9
"""Half axes up to this draw a straight line; ends so near each other, for their size, draw nothing."""

_Point = tuple[float, float]


Subpath = tuple[tuple[Curve, ...], bool]
"""A part of a path from one move to the next, and whether it is closed."""


def subpaths_of(data: str, line: int) -> list[Subpath]:
    """The parts of path data. line: where the element stands, for messages. Raises WrongDrawing."""
    pen, drawn = _Pen(), {"curves": 0, "edges": 0}
    at, command = _skipped(data, 0), ""
    while at < len(data):
        letter = data[at]
        if letter.upper() in _COUNTS:
            command, at = letter, at + 1
        elif not command or command in "Zz":
            raise _wrong(data, at, line, "a command: M L H V C S Q T A Z")
        if not pen.begun and command not in "Mm":
            raise _wrong(data, 0, line, "M first")
        numbers, at = _numbers(data, at, command, line)
        pen.draw(command, numbers)
        what = "curves" if command in _CURVED else "edges"
        drawn[what] += 1
        if drawn[what] > _MOST_DRAWN[what]:
            raise WrongDrawing.of(f"a path of more than {_MOST_DRAWN[what]} {what}", "a simpler drawing", line)
        command = {"M": "L", "m": "l"}.get(command, command)
        at = _skipped(data, at)
    pen.finish(closed=False)
    return pen.whole


def _skipped(data: str, at: int) -> int:
    found = _GAP.match(data, at)
    return found.end() if found else at


def _numbers(data: str, at: int, command: str, line: int) -> tuple[list[float], int]:
    numbers: list[float] = []
    for place in range(_COUNTS[command.upper()]):
        at = _skipped(data, at)
        found = (_FLAG if command in "Aa" and place in _FLAGS else _NUMBER).match(data, at)
        if found is None:
            raise _wrong(data, at, line, f"{_COUNTS[command.upper()]} numbers behind {command}")
        numbers.append(float(found[0]))
        if not abs(numbers[-1]) <= LARGEST:
            raise _wrong(data, at, line, f"numbers of at most {LARGEST:g}")
        at = found.end()
    return numbers, at


def _wrong(data: str, at: int, line: int, allowed: str) -> WrongDrawing:
    got = f"{quoted(data[at : at + 24])} at character {at + 1} of a path"
    if at >= len(data):
        got = "a path that breaks off"
    return WrongDrawing.of(got, allowed, line)


@dataclass(eq=False)
class _Pen:
    at: _Point = (0.0, 0.0)
    start: _Point = (0.0, 0.0)
    handle: tuple[str, _Point] = ("", (0.0, 0.0))
    """The last control point, and whether it was of a cubic (C) or quadratic (Q) curve."""
    begun: bool = False
    row: list[_Point] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    whole: list[Subpath] = field(default_factory=list)

    def draw(self, command: str, numbers: Sequence[float]) -> None:
        letter, relative = command.upper(), command.islower()
        if letter in "HV":
            other = 0.0 if relative else self.at[letter == "H"]
            letter, numbers = "L", (numbers[0], other) if letter == "H" else (other, numbers[0])
        if letter == "Z":
            self._line(self.start)
            self.finish(closed=True)
        elif letter == "A":
            self._arc(numbers, self._point(numbers[5:], relative))
        else:
            points = [self._point(numbers[i : i + 2], relative) for i in range(0, len(numbers), 2)]
            if letter == "M":
                self.finish(closed=False)
                self.at = self.start = points[0]
                self.begun = True
            elif letter == "L":
                self._line(points[0])
            else:
                self._curve(letter, points)
        if letter not in "CSQT":
            self.handle = ("", self.at)

    def _point(self, numbers: Sequence[float], relative: bool) -> _Point:
        x, y = numbers
        return (self.at[0] + x, self.at[1] + y) if relative else (x, y)

    def _line(self, to: _Point) -> None:
        self.row += [to] if self.row else [self.at, to]
        self.at = to

    def _end_row(self) -> None:
        if self.row:
            self.curves.append(Edges(np.array(self.row)))
        self.row = []

    def finish(self, closed: bool) -> None:
        self._end_row()
        if len(self.whole) >= MOST_PIECES:
            raise WrongDrawing.of(f"a path of more than {MOST_PIECES} parts", "a simpler drawing")
        if self.curves:
            self.whole.append((tuple(self.curves), closed))
        self.curves = []
        self.at = self.start if closed else self.at

    def _curve(self, letter: str, points: list[_Point]) -> None:
        kind = "C" if letter in "CS" else "Q"
        if letter in "ST":
            known, (x, y) = self.handle
            mirrored = (2.0 * self.at[0] - x, 2.0 * self.at[1] - y) if known == kind else self.at
            points = [mirrored, *points]
        self._end_row()
        self.curves.append(Bezier(np.array([self.at, *points])))
        self.handle, self.at = (kind, points[-2]), points[-1]

    def _arc(self, numbers: Sequence[float], to: _Point) -> None:
        rx, ry, turn = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2])
        if math.dist(to, self.at) <= _NO_ARC * max(rx, ry):
            return
        if min(rx, ry) <= _NO_ARC:
            self._line(to)
            return
        self._end_row()
        self.curves.append(_sweep(self.at, to, (rx, ry, turn), large=bool(numbers[3]), positive=bool(numbers[4])))
        self.at = to


def _sweep(start: _Point, end: _Point, ellipse: tuple[float, float, float], large: bool, positive: bool) -> Sweep:
    """The arc between two points. ellipse: its half axes and the turn of the first. Source: F.6.5 and F.6.6."""
    rx, ry, turn = ellipse
    across, aside = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    half, middle = (np.array(start) - np.array(end)) / 2.0, (np.array(start) + np.array(end)) / 2.0
    # Half the chord and the centre on the unit circle that the ellipse is stretched from.
    chord = np.array([half @ across / rx, half @ aside / ry])
    square = float(chord @ chord)
    grown = max(1.0, math.sqrt(square))
    rx, ry, chord, square = rx * grown, ry * grown, chord / grown, square / grown**2
    side = math.sqrt(max(1.0 / square - 1.0, 0.0)) * (-1.0 if large == positive else 1.0)
    centre = side * np.array([chord[1], -chord[0]])
    first, last = chord - centre, -chord - centre
    begin = math.atan2(first[1], first[0])
    sweep = (math.atan2(last[1], last[0]) - begin) % TURN
    place = middle + centre[0] * rx * across + centre[1] * ry * aside
    return Sweep(place, rx * across, ry * aside, begin, sweep if positive else sweep - TURN)
