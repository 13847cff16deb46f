"""Loose lines put end to end into closed outlines and open chains."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats

EXACT = 0.01
"""Share of the allowed gap within which ends meet exactly: rounding in a file."""
MOST_IN_A_CELL = 8
"""Ends in one cell that are compared with others; where more meet, a fork is known already."""

_Chain = tuple[Floats, tuple[int, ...]]
_Ends = dict[int, tuple[int, int]]
"""The joints where each line begins and ends."""


@dataclass(frozen=True, eq=False)
class Chains:
    """Lines put together. closed: without the first point again at the end; each (n, 2).

    closed_from, open_from: for each which lines it is made of, by their numbers.
    forks: places where more than two ends meet, (k, 2); then nothing was put together.
    """

    closed: tuple[Floats, ...]
    open: tuple[Floats, ...]
    closed_from: tuple[tuple[int, ...], ...]
    open_from: tuple[tuple[int, ...], ...]
    forks: Floats


def chained(lines: Sequence[Floats], within: float) -> Chains:
    """Put lines together where their ends are no farther apart than `within`; each (n, 2), in either direction.

    Ends that meet exactly come first, so that lines shorter than `within` keep their order. A line drawn twice counts
    once; one that is all within a joint is left out.
    """
    first = _joined(lines, within * EXACT)
    if len(first.forks):
        return first
    then = _joined(first.open, within)
    made_of = [
        tuple(tuple(i for chain in chains for i in first.open_from[chain]) for chains in every)
        for every in (then.closed_from, then.open_from)
    ]
    return Chains(first.closed + then.closed, then.open, first.closed_from + made_of[0], made_of[1], then.forks)


def _joined(lines: Sequence[Floats], within: float) -> Chains:
    every = [i for i, line in enumerate(lines) if np.abs(line - line[0]).max() > within]
    if not every:
        return _result([], [], [])
    joints = _joints(np.stack([end for i in every for end in (lines[i][0], lines[i][-1])]), within)
    ends = {i: (joints[2 * place], joints[2 * place + 1]) for place, i in enumerate(every)}
    meeting: dict[int, list[int]] = defaultdict(list)
    for i in _once(lines, ends, within):
        for joint in ends[i]:
            meeting[joint].append(i)
    forks = [lines[at[0]][0 if ends[at[0]][0] == joint else -1] for joint, at in meeting.items() if len(at) > 2]
    if forks:
        return _result([], [], forks)
    return _walked(lines, ends, meeting)


def _result(closed: list[_Chain], loose: list[_Chain], forks: list[Floats]) -> Chains:
    return Chains(
        tuple(points for points, _ in closed),
        tuple(points for points, _ in loose),
        tuple(made_of for _, made_of in closed),
        tuple(made_of for _, made_of in loose),
        np.stack(forks) if forks else np.empty((0, 2)),
    )


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
        if len(cells[column, row]) < MOST_IN_A_CELL:
            cells[column, row].append(i)
    return [led(i) for i in range(len(ends))]


def _once(lines: Sequence[Floats], ends: _Ends, within: float) -> list[int]:
    """The lines less those that lie on one before."""
    between: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i, (first, last) in ends.items():
        others = between[min(first, last), max(first, last)]
        # So many ways between the same two joints make forks, copies or not.
        middle = _quarters(lines[i]) if 0 < len(others) < MOST_IN_A_CELL else None
        if middle is None or not any(_is_twin(middle, lines[j], within) for j in others):
            others.append(i)
    return [i for kept in between.values() for i in kept]


def _is_twin(middle: Floats, other: Floats, within: float) -> bool:
    return any(float(np.abs(middle - _quarters(line)).max()) <= within for line in (other, other[::-1]))


def _quarters(line: Floats) -> Floats:
    """The points at a quarter, half and three quarters of a line's length, and the length itself."""
    step = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(step)))
    at = along[-1] * np.array([0.25, 0.5, 0.75])
    return np.concatenate((np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1]), along[-1:]))


def _walked(lines: Sequence[Floats], ends: _Ends, meeting: dict[int, list[int]]) -> Chains:
    used: set[int] = set()
    closed: list[_Chain] = []
    loose: list[_Chain] = []
    # From loose ends first: what is left after them is closed.
    for start in sorted(meeting, key=lambda joint: len(meeting[joint])):
        while (first := _unused(meeting[start], used)) is not None:
            order, last = _order(first, start, ends, meeting, used)
            parts = [lines[i] if forward else lines[i][::-1] for i, forward in order]
            points = np.concatenate([parts[0][:1], *(part[1:] for part in parts)])
            made_of = tuple(i for i, _ in order)
            if last == start:
                closed.append((points[:-1], made_of))
            else:
                loose.append((points, made_of))
    return _result(closed, loose, [])


def _unused(at: list[int], used: set[int]) -> int | None:
    return next((i for i in at if i not in used), None)


def _order(
    first: int, start: int, ends: _Ends, meeting: dict[int, list[int]], used: set[int]
) -> tuple[list[tuple[int, bool]], int]:
    """The lines from a joint on, each with whether it runs forward, and the joint where they end."""
    order: list[tuple[int, bool]] = []
    joint, at = start, first
    while True:
        used.add(at)
        forward = ends[at][0] == joint
        order.append((at, forward))
        joint = ends[at][1 if forward else 0]
        following = None if joint == start else _unused(meeting[joint], used)
        if following is None:
            return order, joint
        at = following
