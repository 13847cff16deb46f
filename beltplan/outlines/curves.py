"""Curves of a drawing as chains of points, and loose lines put end to end into closed outlines."""

from __future__ import annotations

import functools
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, left_normal

_LEAST_CHORDS = 16
"""Chords of a whole turn at least, so that a small circle still looks round."""
_MOST_CHORDS = 50_000
"""Chords of one spline, shared by its spans: a guard that no curve of a real drawing meets."""
_LEAST_SHARE = 64
_FLAT = 1e-6
"""A bulge so small is a straight edge: the arc leaves it by half of that of its length."""


@dataclass(frozen=True, eq=False)
class Map:
    """A linear map of the plane and a shift: point -> matrix @ point + shift. matrix: (2, 2); shift: (2)."""

    matrix: Floats
    shift: Floats

    def of(self, points: Floats) -> Floats:
        """Where points go, (..., 2)."""
        return np.asarray(points @ self.matrix.T + self.shift)

    def turn(self, vectors: Floats) -> Floats:
        """Where directions go, which no shift moves; (..., 2)."""
        return np.asarray(vectors @ self.matrix.T)

    def after(self, first: Map) -> Map:
        """The map that does another one first, then this."""
        return Map(self.matrix @ first.matrix, self.of(first.shift))


def scaled(x: float, y: float) -> Map:
    """The map that stretches along x and y."""
    return Map(np.array([[x, 0.0], [0.0, y]]), np.zeros(2))


@dataclass(frozen=True, eq=False)
class _Controlled:
    """A curve that lies between its control points, (n, 2)."""

    controls: Floats

    def moved(self, by: Map) -> Self:
        return replace(self, controls=by.of(self.controls))

    @property
    def reach(self) -> float:
        return float(np.abs(self.controls).max())


class Edges(_Controlled):
    """Straight edges from corner to corner."""

    def points(self, within: float) -> Floats:
        return self.controls


@dataclass(frozen=True, eq=False)
class Sweep:
    """A part of an ellipse: centre + across cos(t) + aside sin(t), t from start over a signed sweep, in rad."""

    centre: Floats
    across: Floats
    aside: Floats
    start_rad: float
    sweep_rad: float

    def moved(self, by: Map) -> Sweep:
        return Sweep(by.of(self.centre), by.turn(self.across), by.turn(self.aside), self.start_rad, self.sweep_rad)

    @property
    def reach(self) -> float:
        # The centre may lie farther.
        return float(np.abs(self._at(np.linspace(0.0, 1.0, _LEAST_CHORDS + 1))).max())

    @property
    def circle(self) -> tuple[Floats, float] | None:
        """Centre and radius where it is a whole circle."""
        first, second = float(np.hypot(*self.across)), float(np.hypot(*self.aside))
        skew = abs(float(self.across @ self.aside))
        whole = abs(self.sweep_rad) >= TURN * (1.0 - 1e-9)
        if not (whole and first > 0.0 and abs(first - second) <= 1e-9 * first and skew <= 1e-9 * first * first):
            return None
        return self.centre, first

    def points(self, within: float) -> Floats:
        """A chord over a step h leaves a curve by h^2/8 of its largest second derivative at most."""
        largest = float(np.linalg.norm(np.stack((self.across, self.aside)), 2))
        # A number of chords to the quarter turn, so that a whole circle keeps its width and height.
        quarters = 4.0 * abs(self.sweep_rad) / TURN
        chords = np.ceil(max(TURN / 4.0 * np.sqrt(largest / (8.0 * within)), _LEAST_CHORDS / 4.0))
        return self._at(np.linspace(0.0, 1.0, max(int(np.ceil(quarters * chords - 1e-9)), 1) + 1))

    def _at(self, share: Floats) -> Floats:
        angles = self.start_rad + self.sweep_rad * share
        return np.asarray(self.centre + np.cos(angles)[:, None] * self.across + np.sin(angles)[:, None] * self.aside)


class Bezier(_Controlled):
    """A Bezier curve of any degree."""

    def points(self, within: float) -> Floats:
        """By the bound of `Sweep.points`."""
        degree = len(self.controls) - 1
        bends = np.diff(self.controls, n=2, axis=0)
        largest = degree * (degree - 1) * float(np.hypot(bends[:, 0], bends[:, 1]).max(initial=0.0))
        share = np.linspace(0.0, 1.0, int(np.ceil(max(np.sqrt(largest / (8.0 * within)), 1.0))) + 1)[:, None, None]
        level = np.broadcast_to(self.controls, (len(share), *self.controls.shape))
        while level.shape[1] > 1:
            level = level[:, :-1] + share * (level[:, 1:] - level[:, :-1])
        return np.asarray(level[:, 0])


@dataclass(frozen=True, eq=False)
class Spline(_Controlled):
    """A B-spline over its clamped or unclamped knots, (n + degree + 1), with a weight for each control point, (n)."""

    degree: int
    knots: Floats
    weights: Floats

    def at(self, places: Floats) -> Floats:
        """Points at places of the knots' line; (n) -> (n, 2).

        Source: de Boor's recurrence, on homogeneous coordinates where weights differ.
        """
        degree, knots = self.degree, self.knots
        last = len(self.controls) - 1
        span = np.clip(np.searchsorted(knots, places, side="right") - 1, degree, last)
        held = np.column_stack((self.controls * self.weights[:, None], self.weights))
        level = held[span[:, None] - degree + np.arange(degree + 1)]
        for r in range(1, degree + 1):
            first = span[:, None] - degree + np.arange(r, degree + 1)
            low, width = knots[first], knots[first + degree - r + 1] - knots[first]
            share = np.where(width > 0.0, (places[:, None] - low) / np.where(width > 0.0, width, 1.0), 0.0)[..., None]
            level = (1.0 - share) * level[:, :-1] + share * level[:, 1:]
        return np.asarray(level[:, 0, :2] / level[:, 0, 2:])

    def points(self, within: float) -> Floats:
        """Every span halved until the middles lie within half of `within` of chords."""
        ends = np.unique(self.knots[self.degree : len(self.controls) + 1])
        most = max(_LEAST_SHARE, _MOST_CHORDS // (len(ends) - 1))
        count, left = 2 * self.degree + 2, np.arange(len(ends) - 1)
        found: dict[int, Floats] = {}
        while len(left):
            # The last place belongs to the span before it, so that a jump of the knots is not stepped over.
            places = np.linspace(ends[left], ends[left + 1], 2 * count + 1, axis=1)
            places[:, -1] = np.nextafter(ends[left + 1], ends[left])
            points = self.at(places.ravel()).reshape(len(left), -1, 2)
            off = points[:, 1::2] - 0.5 * (points[:, :-2:2] + points[:, 2::2])
            done = (np.hypot(off[..., 0], off[..., 1]).max(axis=1) <= 0.5 * within) | (count >= most)
            found |= zip(left[done].tolist(), points[done, ::2], strict=True)
            left, count = left[~done], 2 * count
        return np.concatenate([found[i][:-1] for i in range(len(found) - 1)] + [found[len(found) - 1]])


Curve = Edges | Sweep | Bezier | Spline
"""A curve can be `moved` by a map; no part lies farther than `reach` from the origin along x or y, or not by much;
`points`, (n, 2), lie along it, and chords between them leave it by `within` at most."""


def upright_sweep(centre: Floats, rx: float, ry: float, start_rad: float = 0.0, sweep_rad: float = TURN) -> Sweep:
    """A part of an ellipse with axes along x and y, or the whole."""
    return Sweep(centre, np.array([rx, 0.0]), np.array([0.0, ry]), start_rad, sweep_rad)


def bulged(start: Floats, end: Floats, bulge: float) -> Curve:
    """The edge between two corners with a bulge: the tangent of a quarter of its arc, positive counter-clockwise."""
    chord = end - start
    if abs(bulge) <= _FLAT or not chord.any():
        return Edges(np.stack((start, end)))
    centre = 0.5 * (start + end) + (1.0 - bulge * bulge) / (4.0 * bulge) * left_normal(chord)
    away = start - centre
    return Sweep(centre, away, left_normal(away), 0.0, 4.0 * float(np.arctan(bulge)))


def flattened(curves: Sequence[Curve], within: float, most: float = math.inf) -> Floats:
    """Points along curves that follow one another, (n, 2), no point twice in a row.

    Stops where there are more than `most`, so that whoever asks can refuse.
    """
    parts: list[Floats] = []
    count = 0
    for curve in curves:
        parts.append(without_repeats(curve.points(within)))
        count += len(parts[-1])
        if count > most:
            return np.concatenate(parts)
    return without_repeats(np.concatenate(parts))


def without_repeats(points: Floats, apart: float = 1e-6) -> Floats:
    """The points less those that lie no farther than `apart` from the one before; (n, 2)."""
    steps = np.abs(np.diff(points, axis=0)).max(axis=1)
    return points[np.concatenate(([True], steps > apart))]


# Loose lines put end to end into closed outlines and open chains.

_EXACT = 0.01
"""Share of the allowed gap within which ends meet exactly: rounding in a file."""
_MOST_IN_A_CELL = 8
"""Ends in one cell that are compared with others; where more meet, a fork is known already."""

_Chain = tuple[Floats, tuple[int, ...]]
"""Points, (n, 2), and the numbers of the lines that they are made of."""
_Ends = dict[int, tuple[int, int]]
"""The joints where each line begins and ends."""


@dataclass(frozen=True, eq=False)
class _Chains:
    """Lines put together. closed: without the first point again at the end.

    forks: places where more than two ends meet, (k, 2); then nothing was put together.
    """

    closed: tuple[_Chain, ...] = ()
    open: tuple[_Chain, ...] = ()
    forks: tuple[Floats, ...] = ()


def chained(lines: Sequence[Floats], within: float) -> _Chains:
    """Put lines together where their ends are no farther apart than `within`; each (n, 2), in either direction.

    Ends that meet exactly come first, so that lines shorter than `within` keep their order. A line drawn twice counts
    once; one that is all within a joint is left out.
    """
    first = _joined(lines, within * _EXACT)
    if first.forks:
        return first
    then = _joined([points for points, _ in first.open], within)

    def traced(chains: tuple[_Chain, ...]) -> tuple[_Chain, ...]:
        return tuple((points, tuple(i for part in made_of for i in first.open[part][1])) for points, made_of in chains)

    return _Chains(first.closed + traced(then.closed), traced(then.open), then.forks)


def _joined(lines: Sequence[Floats], within: float) -> _Chains:
    every = [i for i, line in enumerate(lines) if np.abs(line - line[0]).max() > within]
    if not every:
        return _Chains()
    joints = _joints(np.stack([end for i in every for end in (lines[i][0], lines[i][-1])]), within)
    ends = {i: (joints[2 * place], joints[2 * place + 1]) for place, i in enumerate(every)}
    meeting: dict[int, list[int]] = defaultdict(list)
    for i in _once(lines, ends, within):
        for joint in ends[i]:
            meeting[joint].append(i)
    forks = [lines[at[0]][0 if ends[at[0]][0] == joint else -1] for joint, at in meeting.items() if len(at) > 2]
    return _Chains(forks=tuple(forks)) if forks else _walked(lines, ends, meeting)


def _joints(ends: Floats, within: float) -> list[int]:
    """For every end the number of the joint that it belongs to."""
    leader = list(range(len(ends)))

    def led(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    places = ends.tolist()
    for i, (x, y) in enumerate(places):
        column, row = int(x // within), int(y // within)
        for near in ((column + dx, row + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)):
            for j in cells.get(near, ()):
                if math.dist(places[j], (x, y)) <= within:
                    leader[led(i)] = led(j)
        if len(cells[column, row]) < _MOST_IN_A_CELL:
            cells[column, row].append(i)
    return [led(i) for i in range(len(ends))]


def _once(lines: Sequence[Floats], ends: _Ends, within: float) -> list[int]:
    """The lines less those that lie on one before."""
    between: dict[tuple[int, int], list[int]] = defaultdict(list)
    quarters = functools.cache(lambda i: _quarters(lines[i]))
    for i, (first, last) in ends.items():
        others = between[min(first, last), max(first, last)]
        # So many ways between the same two joints make forks, copies or not.
        known = [quarters(j) for j in others] if len(others) < _MOST_IN_A_CELL else []
        if not any(np.abs(quarters(i) - way).max() <= within for one in known for way in (one, one[_BACKWARD])):
            others.append(i)
    return [i for kept in between.values() for i in kept]


_BACKWARD = [2, 1, 0, 5, 4, 3, 6]
"""The quarters of a line from its other end."""


def _quarters(line: Floats) -> Floats:
    """The points at a quarter, half and three quarters of a line's length, and the length itself."""
    step = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(step)))
    at = along[-1] * np.array([0.25, 0.5, 0.75])
    return np.concatenate((np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1]), along[-1:]))


def _walked(lines: Sequence[Floats], ends: _Ends, meeting: dict[int, list[int]]) -> _Chains:
    """meeting: the lines at every joint, two at most; each is taken away as it is walked."""
    closed: list[_Chain] = []
    loose: list[_Chain] = []
    # From loose ends first: what is left after them is closed.
    for start in sorted(meeting, key=lambda joint: len(meeting[joint])):
        while meeting[start]:
            joint, made_of, parts = start, list[int](), list[Floats]()
            while meeting[joint] and not (parts and joint == start):
                at = meeting[joint].pop(0)
                forward = ends[at][0] == joint
                joint = ends[at][forward]
                meeting[joint].remove(at)
                made_of.append(at)
                parts.append(lines[at] if forward else lines[at][::-1])
            points = np.concatenate([parts[0][:1], *(part[1:] for part in parts)])
            if joint == start:
                closed.append((points[:-1], tuple(made_of)))
            else:
                loose.append((points, tuple(made_of)))
    return _Chains(tuple(closed), tuple(loose))
