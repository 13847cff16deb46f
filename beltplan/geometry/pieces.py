"""The path of a loop in pieces, of which only those that differ are laid for every layout of a batch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from beltplan.geometry.loops import Loop, around, beside, close_loop, tangent
from beltplan.geometry.vectors import TURN, Bools, Floats, apart, dot, left_normal, picked, turned


@dataclass(frozen=True, eq=False)
class FreeSpan:
    """A straight piece. start: (..., 2) mm; direction: (..., 2), a unit vector; length: (...) mm."""

    start: Floats
    direction: Floats
    length: Floats

    @cached_property
    def end(self) -> Floats:
        """Where it meets the next circle, (..., 2) mm."""
        return np.asarray(self.start + self.length[..., None] * self.direction)

    @property
    def shape(self) -> tuple[int, ...]:
        return np.broadcast_shapes(self.start.shape[:-1], self.length.shape)

    def picked(self, where: Bools) -> FreeSpan:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        return FreeSpan(picked(self.start, where, 1), picked(self.direction, where, 1), picked(self.length, where))


@dataclass(frozen=True, eq=False)
class Arc:
    """A round piece. centre: (..., 2) mm; radius, sense: (...); away: (..., 2) mm, from the centre to where it begins;
    wrap: (...) rad.
    """

    centre: Floats
    radius: Floats
    sense: Floats
    away: Floats
    wrap: Floats

    @cached_property
    def begin(self) -> Floats:
        """Where it begins, (..., 2) mm."""
        return np.asarray(self.centre + self.away)

    @cached_property
    def end(self) -> Floats:
        """Where it ends, (..., 2) mm."""
        return np.asarray(self.centre + self._turned_by(self.wrap))

    @cached_property
    def middle(self) -> Floats:
        """From the centre to half way along, (..., 2) mm."""
        return self._turned_by(0.5 * self.wrap)

    @cached_property
    def _least(self) -> Floats:
        """What the projection of a unit vector on `middle` must reach for its direction to fall on the arc, (...)."""
        return np.asarray(self.radius * np.cos(0.5 * self.wrap))

    def holds(self, offset: Floats, apart: Floats) -> Bools:
        """Whether a direction from the centre, (..., 2), falls on the arc; apart: the vector's length."""
        return np.asarray(dot(offset, self.middle) >= apart * self._least)

    @property
    def shape(self) -> tuple[int, ...]:
        return np.broadcast_shapes(self.centre.shape[:-1], self.wrap.shape, self.away.shape[:-1], self.radius.shape)

    def picked(self, where: Bools) -> Arc:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        centre, away = picked(self.centre, where, 1), picked(self.away, where, 1)
        return Arc(centre, picked(self.radius, where), self.sense, away, picked(self.wrap, where))

    def raised(self, by_mm: float) -> Arc:
        """The arc that runs beside this one, `by_mm` farther out."""
        radius = self.radius + by_mm
        return Arc(self.centre, radius, self.sense, self.away * (radius / self.radius)[..., None], self.wrap)

    def _turned_by(self, angle: Floats) -> Floats:
        turn, (x, y) = self.sense * angle, (self.away[..., 0], self.away[..., 1])
        cos, sin = np.cos(turn), np.sin(turn)
        return apart(cos * x - sin * y, cos * y + sin * x)


@dataclass(frozen=True, eq=False)
class Pieces:
    """A closed path over n circles, as `Loop`, but every piece with leading axes of its own that broadcast together.

    centre, direction: n arrays (..., 2); span, wrap: n arrays (...); radius: (n, ...); sense: (n). other: a path of
    which only what lies beside some circles is laid anew here.
    """

    centre: tuple[Floats, ...]
    radius: Floats
    sense: Floats
    direction: tuple[Floats, ...]
    span: tuple[Floats, ...]
    wrap: tuple[Floats, ...]
    other: tuple[Pieces, frozenset[int]] | None = None

    @staticmethod
    def of(loop: Loop) -> Pieces:
        """The pieces of a loop, each with all its leading axes."""
        centre, direction = (tuple(np.moveaxis(each, -2, 0)) for each in (loop.centre, loop.direction))
        each = (np.moveaxis(values, -1, 0) for values in (loop.radius, loop.sense, loop.span, loop.wrap))
        radius, sense, span, wrap = each
        return Pieces(centre, radius, sense, direction, tuple(span), tuple(wrap))

    @property
    def length(self) -> Floats:
        """Length of the whole path, (...) mm; NaN where a tangent is missing."""
        return total([*self.span, *(wrap * r for wrap, r in zip(self.wrap, self.radius, strict=True))])

    @property
    def turns(self) -> Floats:
        """Whole turns made along the path, (...)."""
        return total([wrap * s for wrap, s in zip(self.wrap, self.sense, strict=True)]) / TURN

    def moved(self, centres: Mapping[int, Floats]) -> Pieces:
        """The path with some circles elsewhere, by index: only the pieces beside them are laid anew."""
        n, moved = len(self.centre), frozenset(centres)
        centre = tuple(centres.get(i, at) for i, at in enumerate(self.centre))
        direction, span, wrap = list(self.direction), list(self.span), list(self.wrap)
        for i in beside(moved, n):
            direction[i], span[i] = _tangent_from(centre, self.radius, self.sense, i)
        for i in around(moved, n):
            wrap[i] = turned(direction[i - 1], direction[i], self.sense[i])
        other = (self, moved)
        return Pieces(centre, self.radius, self.sense, tuple(direction), tuple(span), tuple(wrap), other)

    @cached_property
    def _laid(self) -> dict[int, FreeSpan]:
        return {}

    def free_span(self, index: int) -> FreeSpan:
        if index not in self._laid:
            out, along = self.sense[index] * self.radius[index], self.direction[index]
            start = self.centre[index] + apart(out * along[..., 1], -out * along[..., 0])
            self._laid[index] = FreeSpan(start, along, self.span[index])
        return self._laid[index]

    @cached_property
    def span_boxes(self) -> Floats:
        """Corners of what each span covers in any of the layouts, (n, 2, 2) mm; NaN where one has no tangent."""
        n = len(self.span)
        boxes = np.empty((n, 2, 2)) if self.other is None else self.other[0].span_boxes.copy()
        for i in range(n) if self.other is None else beside(self.other[1], n):
            boxes[i] = _outermost(self.free_span(i).start, self.free_span(i).end)
        return boxes

    @cached_property
    def circle_boxes(self) -> Floats:
        """The same of whole circles."""
        n = len(self.span)
        boxes = np.empty((n, 2, 2)) if self.other is None else self.other[0].circle_boxes.copy()
        for i in range(n) if self.other is None else self.other[1]:
            boxes[i] = _outermost(self.centre[i]) + np.array([[-1.0], [1.0]]) * np.max(self.radius[i], initial=0.0)
        return boxes

    def arc(self, index: int) -> Arc:
        radius, sense = np.asarray(self.radius[index]), np.asarray(self.sense[index])
        away = -(sense * radius)[..., None] * left_normal(self.direction[index - 1])
        return Arc(self.centre[index], radius, sense, away, self.wrap[index])

    @property
    def whole(self) -> Loop:
        """The same path with every part over all leading axes."""
        lead = np.broadcast_shapes(*(span.shape for span in self.span), self.radius.shape[1:])
        centre, direction = joined(self.centre, lead), joined(self.direction, lead)
        span, wrap = (joined([part[..., None] for part in parts], lead)[..., 0] for parts in (self.span, self.wrap))
        radius, sense = np.moveaxis(self.radius, 0, -1), np.broadcast_to(self.sense, span.shape)
        return Loop(centre, np.broadcast_to(radius, span.shape), sense, direction, span, wrap)

    def picked(self, where: Bools) -> Pieces:
        """Only some of the layouts; pieces that are the same for all stay so."""
        centre, direction = (tuple(picked(v, where, 1) for v in all_) for all_ in (self.centre, self.direction))
        span, wrap = (tuple(picked(v, where) for v in all_) for all_ in (self.span, self.wrap))
        return Pieces(centre, picked_rows(self.radius, where), self.sense, direction, span, wrap, self.other)


def pieces_of(centre: Sequence[Floats], radius: Floats, sense: Floats) -> Pieces:
    """Lay a path in pieces. centre: n arrays (..., 2) mm; radius: (n, ...); sense: (n), as in `close_loop`.

    >>> centre = [np.zeros(2), np.array([[300.0, 0.0], [400.0, 0.0]])]
    >>> path = pieces_of(centre, np.array([50.0, 50.0]), np.array([1.0, 1.0]))
    >>> path.length.round(3).tolist(), path.wrap[0].shape
    ([914.159, 1114.159], (2,))
    """
    n, places = len(centre), tuple(centre)
    if radius.ndim == 1 and all(place.ndim == 1 for place in places):
        return Pieces.of(close_loop(np.array(places), radius, sense))
    direction, span = zip(*(_tangent_from(places, radius, sense, i) for i in range(n)), strict=True)
    wrap = tuple(turned(direction[i - 1], direction[i], sense[i]) for i in range(n))
    return Pieces(places, radius, sense, direction, span, wrap)


def _outermost(*points: Floats) -> list[list[float]]:
    """The lower left and the upper right corner of what holds points of all layouts, mm."""
    return [
        [of.reduce([of.reduce(each[..., k], axis=None, initial=of_none) for each in points]) for k in (0, 1)]
        for of, of_none in ((np.minimum, np.inf), (np.maximum, -np.inf))
    ]


def joined(parts: Sequence[Floats], lead: tuple[int, ...]) -> Floats:
    """Values of n circles, (..., k) each, as one array over all leading axes, (*lead, n, k)."""
    whole = np.empty((*lead, len(parts), parts[0].shape[-1]))
    for i, part in enumerate(parts):
        whole[..., i, :] = part
    return whole


def picked_rows(values: Floats, where: Bools) -> Floats:
    """Only some of the layouts of something for every circle, (n, ...)."""
    return values if values.ndim == 1 else np.stack([picked(row, where) for row in values])


def _tangent_from(centre: tuple[Floats, ...], radius: Floats, sense: Floats, index: int) -> tuple[Floats, Floats]:
    following = (index + 1) % len(centre)
    offset = sense[index] * radius[index] - sense[following] * radius[following]
    return tangent(centre[following] - centre[index], np.asarray(offset))


def total(parts: Sequence[Floats]) -> Floats:
    """The sum of parts with axes of their own."""
    # Small ones first: what is the same everywhere is summed once.
    found = np.zeros(())
    for part in sorted(parts, key=np.size):
        found = found + part
    return found
