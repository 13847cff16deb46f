"""Does the path cross itself? Every span and arc against every other, for a whole batch at once."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import combinations

import numpy as np

from beltplan.geometry.loops import Loop, around, beside
from beltplan.geometry.pieces import Arc, FreeSpan, Pieces
from beltplan.geometry.vectors import Bools, Floats, cross, dot, left_normal, turned

_SLACK_MM = 1e-6
"""So near to each other two boxes count as meeting, whatever the rounding."""
WHOLE_LOOP_TURNS = 1e-6
"""How far from one turn the signed wraps may sum: rounding of n angles, far below a missed pulley's whole turn."""


def is_sound(loop: Loop, turning: Floats | float) -> Bools:
    """Whether the path is a simple loop that makes just one turn the stated way, (...).

    turning: +1 for a counter-clockwise loop, -1 for a clockwise one.
    Both halves are needed: a path may make one turn in sum and cross itself.
    """
    sound = np.array(loop.exists & (np.abs(loop.turns - turning) < WHOLE_LOOP_TURNS))
    sound[sound] = ~crosses(Pieces.of(loop.picked(sound)))
    return sound


@lru_cache(maxsize=64)
def _couples(n: int, moved: frozenset[int] | None = None) -> tuple[tuple[int, int], ...]:
    """Couples of spans, of span and arc, and of arcs that may cross; those that change where some circles move."""
    laid = frozenset(range(n) if moved is None else beside(moved, n))
    anew = laid | {n + i for i in (range(n) if moved is None else around(moved, n))}
    joined = {(i, n + j) for i in range(n) for j in (i, (i + 1) % n)}
    return tuple(pair for pair in combinations(range(2 * n), 2) if anew.intersection(pair) and pair not in joined)


def spans_cross(first: FreeSpan, second: FreeSpan) -> Bools:
    """Whether two spans cross, (...). A touch is no crossing.

    >>> one = FreeSpan(np.array([0.0, 0.0]), np.array([1.0, 0.0]), np.array(100.0))
    >>> other = FreeSpan(np.array([50.0, -10.0]), np.array([0.0, 1.0]), np.array([5.0, 20.0]))
    >>> spans_cross(one, other).tolist()
    [False, True]
    """
    between = second.start - first.start
    across = cross(first.direction, second.direction)
    # Distances along both to where their lines meet, each times `across`.
    sign, size = np.sign(across), np.abs(across)
    along, along_other = sign * cross(between, second.direction), sign * cross(between, first.direction)
    inside = (along > 0.0) & (along < size * first.length)
    inside = inside & (along_other > 0.0) & (along_other < size * second.length)
    return np.asarray(inside)


def span_meets_arc(span: FreeSpan, arc: Arc) -> Bools:
    """Whether a span crosses an arc, (...); no leading axes where none of them does."""
    towards = arc.centre - span.start
    middle = dot(towards, span.direction)
    half_sq = arc.radius**2 - cross(span.direction, towards) ** 2
    meeting = half_sq > 0.0
    met = np.zeros((), dtype=bool)
    if not meeting.any():
        return met
    half = np.sqrt(np.where(meeting, half_sq, np.nan))
    for at in (middle - half, middle + half):
        inside = (at > 0.0) & (at < span.length)
        if inside.any():
            met = met | _on_arc(arc, span.start + at[..., None] * span.direction, inside)
    return np.asarray(met)


def _arcs_cross(first: Arc, second: Arc) -> Bools:
    """Whether two arcs cross, (...); no leading axes where none of them does."""
    step = second.centre - first.centre
    apart_sq = dot(step, step)
    along = 0.5 * (apart_sq + first.radius**2 - second.radius**2)
    half_sq = first.radius**2 * apart_sq - along**2
    meeting = half_sq > 0.0
    met = np.zeros((), dtype=bool)
    if not meeting.any():
        return met
    half = np.sqrt(np.where(meeting, half_sq, np.nan))
    for side in (-half, half):
        offset = (along[..., None] * step + side[..., None] * left_normal(step)) / apart_sq[..., None]
        point = first.centre + offset
        met = met | (_on_arc(first, point, meeting) & _on_arc(second, point, meeting))
    return np.asarray(met)


def crosses(path: Pieces, moved: frozenset[int] | None = None) -> Bools:
    """Whether a path crosses itself, (...); arguments as for `crossings`."""
    met = np.zeros((), dtype=bool)
    for _, _, crossed in crossings(path, moved):
        met = met | crossed
    return met


def crossings(path: Pieces, moved: frozenset[int] | None = None) -> Iterator[tuple[int, int, Bools]]:
    """Every couple of parts that could cross, by number, the n spans first, then the n arcs; and where they do, (...).

    moved: look only at couples in which a part beside one of these circles takes part; None for all couples.
    A mere touch is no crossing. Where a tangent is missing nothing is reported.
    Source: orientation test of two segments; line and circle, circle and circle intersection, plane geometry.
    """
    n = len(path.span)
    near = boxes_meet(np.concatenate((path.span_boxes, path.circle_boxes)))
    span, arc = path.free_span, cache(path.arc)
    for i, j in _couples(n, moved):
        if near[i, j]:
            if j < n:
                yield i, j, _spans_of_path_cross(path, span(i), span(j), i, j)
            else:
                yield i, j, span_meets_arc(span(i), arc(j - n)) if i < n else _arcs_cross(arc(i - n), arc(j - n))


def boxes_meet(boxes: Floats, beyond_mm: Floats | None = None) -> Bools:
    """Which boxes meet, (k, 2, 2) -> (k, k). beyond_mm: (k) how much farther out each reaches.

    Where a tangent is missing somewhere, NaN, nothing is ruled out.
    """
    beyond = _SLACK_MM if beyond_mm is None else _SLACK_MM + np.add.outer(beyond_mm, beyond_mm)[..., None]
    far = (boxes[:, None, 0] - boxes[:, 1] > beyond).any(axis=-1)
    return np.asarray(~(far | far.T))


def _spans_of_path_cross(path: Pieces, first: FreeSpan, second: FreeSpan, i: int, j: int) -> Bools:
    neighbours = j == i + 1 or (i == 0 and j == len(path.span) - 1)
    tight = path.wrap[j if j == i + 1 else i] > np.pi if neighbours else np.ones((), dtype=bool)
    return np.asarray(tight & spans_cross(first, second)) if tight.any() else tight


def _on_arc(arc: Arc, point: Floats, where: Bools) -> Bools:
    """Whether points of the circle lie on the arc; looked at only `where` they matter, false elsewhere."""
    shape = np.broadcast_shapes(where.shape, arc.wrap.shape)
    where = np.broadcast_to(where, shape)
    away, to = (np.broadcast_to(v, (*shape, 2))[where] for v in (arc.away, point - arc.centre))
    swept = turned(away, to, np.broadcast_to(arc.sense, shape)[where])
    found = np.zeros(shape, dtype=bool)
    found[where] = (swept > 0.0) & (swept < np.broadcast_to(arc.wrap, shape)[where])
    return found
