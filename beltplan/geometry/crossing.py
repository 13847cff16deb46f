"""Does the path cross itself? Every strand and arc against every other, for a whole batch at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from beltplan.geometry.loops import Loop, after
from beltplan.geometry.vectors import Bools, Floats, cross, dot, left_normal, turned

Pairs = tuple[tuple[int, int], ...]

WHOLE_LOOP_TURNS = 1e-6
"""How far from one turn the signed wraps may sum: rounding of n angles, far below a missed pulley's whole turn."""


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Which parts of a loop cross, for each pair of parts.

    span_span: (..., pairs) for the couples of span indices in `spans`;
    span_arc: (..., pairs) for the couples (span, arc) in `span_arcs`;
    arc_arc: (..., pairs) for the couples of arc indices in `arcs`.
    """

    span_span: Bools
    span_arc: Bools
    arc_arc: Bools
    spans: Pairs
    span_arcs: Pairs
    arcs: Pairs

    @property
    def any(self) -> Bools:
        """Whether anything crosses, (...)."""
        return np.asarray(self.span_span.any(axis=-1) | self.span_arc.any(axis=-1) | self.arc_arc.any(axis=-1))


def crossings(loop: Loop) -> Crossings:
    """Test every pair of strands and arcs that could cross.

    A mere touch is no crossing. Where a tangent is missing nothing is reported: `Loop.exists` tells.
    Source: orientation test of two segments; line and circle, circle and circle intersection, plane geometry.
    """
    n = loop.span.shape[-1]
    spans, span_arcs, arcs = _pairs(n)
    return Crossings(
        _spans_cross(loop, spans), _span_meets_arc(loop, span_arcs), _arcs_cross(loop, arcs), spans, span_arcs, arcs
    )


def is_simple(loop: Loop) -> Bools:
    """Whether the path exists and does not cross itself, (...)."""
    return np.asarray(loop.exists & ~crossings(loop).any)


def is_sound(loop: Loop, turning: Floats | float) -> Bools:
    """Whether the path is a simple loop that makes just one turn the stated way, (...).

    turning: +1 for a counter-clockwise loop, -1 for a clockwise one.
    Both halves are needed: a path may make one turn in sum and cross itself.
    """
    one_turn = np.abs(loop.turns - turning) < WHOLE_LOOP_TURNS
    return np.asarray(one_turn & is_simple(loop))


@lru_cache(maxsize=64)
def _pairs(n: int) -> tuple[Pairs, Pairs, Pairs]:
    spans = tuple((i, j) for i in range(n) for j in range(i + 1, n))
    span_arcs = tuple((i, j) for i in range(n) for j in range(n) if j not in (i, (i + 1) % n))
    return spans, span_arcs, spans


def _columns(pairs: Pairs) -> tuple[list[int], list[int]]:
    return [i for i, _ in pairs], [j for _, j in pairs]


def _spans_cross(loop: Loop, pairs: Pairs) -> Bools:
    i, j = _columns(pairs)
    start, step = loop.start, loop.span[..., None] * loop.direction
    between = start[..., j, :] - start[..., i, :]
    a, b = step[..., i, :], step[..., j, :]
    denominator = cross(a, b)
    along_a, along_b = cross(between, b), cross(between, a)
    sign = np.sign(denominator)
    size = np.abs(denominator)
    inside = (sign * along_a > 0) & (sign * along_a < size) & (sign * along_b > 0) & (sign * along_b < size)
    return np.asarray(inside & _may_cross(loop, pairs))


def _may_cross(loop: Loop, pairs: Pairs) -> Bools:
    # Neighbouring strands leave their common arc apart unless it turns them by more than half a turn.
    n = loop.span.shape[-1]
    arc = [j if j == i + 1 else i for i, j in pairs]
    neighbours = np.array([j == i + 1 or (i == 0 and j == n - 1) for i, j in pairs])
    return np.asarray(~neighbours | (loop.wrap[..., arc] > np.pi))


def _span_meets_arc(loop: Loop, pairs: Pairs) -> Bools:
    i, j = _columns(pairs)
    start, direction, length = loop.start[..., i, :], loop.direction[..., i, :], loop.span[..., i]
    towards = loop.centre[..., j, :] - start
    middle = dot(towards, direction)
    half_sq = loop.radius[..., j] ** 2 - cross(direction, towards) ** 2
    half = np.sqrt(np.where(half_sq > 0.0, half_sq, np.nan))
    met = np.zeros(half.shape, dtype=bool)
    for at in (middle - half, middle + half):
        point = start + at[..., None] * direction
        met |= (at > 0.0) & (at < length) & _on_arc(loop, j, point)
    return met


def _arcs_cross(loop: Loop, pairs: Pairs) -> Bools:
    i, j = _columns(pairs)
    step = loop.centre[..., j, :] - loop.centre[..., i, :]
    apart_sq = dot(step, step)
    along = 0.5 * (apart_sq + loop.radius[..., i] ** 2 - loop.radius[..., j] ** 2)
    half_sq = loop.radius[..., i] ** 2 * apart_sq - along**2
    half = np.sqrt(np.where(half_sq > 0.0, half_sq, np.nan))
    met = np.zeros(half.shape, dtype=bool)
    for side in (-half, half):
        offset = (along[..., None] * step + side[..., None] * left_normal(step)) / apart_sq[..., None]
        point = loop.centre[..., i, :] + offset
        met |= _on_arc(loop, i, point) & _on_arc(loop, j, point)
    return met


def _on_arc(loop: Loop, index: list[int], point: Floats) -> Bools:
    centre = loop.centre[..., index, :]
    swept = turned(loop.arrival[..., index, :] - centre, point - centre, loop.sense[..., index])
    return np.asarray((swept > 0.0) & (swept < loop.wrap[..., index]))


def spans_apart(n: int) -> Pairs:
    """The couples of strands of an n-circle loop that share no circle."""
    nxt = after(n)
    return tuple((i, j) for i, j in _pairs(n)[0] if nxt[i] != j and nxt[j] != i)
