"""A closed path in pieces: each strand and arc over only those leading axes on which it depends.

For many layouts that differ in one or two places: what does not change is held once, and what does is laid anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.loops import tangent
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle, left_normal, turned


@dataclass(frozen=True, eq=False)
class Strand:
    """A straight piece. start: (..., 2) mm; direction: (..., 2), a unit vector; length: (...) mm."""

    start: Floats
    direction: Floats
    length: Floats

    @property
    def end(self) -> Floats:
        """Where it meets the next circle, (..., 2) mm."""
        return np.asarray(self.start + self.length[..., None] * self.direction)

    @property
    def shape(self) -> tuple[int, ...]:
        """Its leading axes."""
        return np.broadcast_shapes(self.start.shape[:-1], self.length.shape)

    def picked(self, where: Bools) -> Strand:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        start, direction = (np.broadcast_to(v, (*where.shape, 2))[where] for v in (self.start, self.direction))
        return Strand(start, direction, np.broadcast_to(self.length, where.shape)[where])


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

    @property
    def end(self) -> Floats:
        """Where it ends, (..., 2) mm."""
        return np.asarray(self.centre + self._turned_by(self.wrap))

    @property
    def middle(self) -> Floats:
        """From the centre to half way along, (..., 2) mm."""
        return self._turned_by(0.5 * self.wrap)

    @property
    def shape(self) -> tuple[int, ...]:
        """Its leading axes."""
        return np.broadcast_shapes(self.centre.shape[:-1], self.wrap.shape, self.away.shape[:-1])

    def picked(self, where: Bools) -> Arc:
        """Only some of the layouts, its leading axes broadcast to those of `where`."""
        centre, away = (np.broadcast_to(v, (*where.shape, 2))[where] for v in (self.centre, self.away))
        return Arc(centre, self.radius, self.sense, away, np.broadcast_to(self.wrap, where.shape)[where])

    def raised(self, by_mm: float) -> Arc:
        """The arc that runs beside this one, `by_mm` farther out."""
        radius = self.radius + by_mm
        return Arc(self.centre, radius, self.sense, self.away * (radius / self.radius)[..., None], self.wrap)

    def _turned_by(self, angle: Floats) -> Floats:
        turn = from_angle(self.sense * angle)
        return np.asarray(turn[..., :1] * self.away + turn[..., 1:] * left_normal(self.away))


@dataclass(frozen=True, eq=False)
class Pieces:
    """A closed path over n circles, as `Loop`, but every piece with leading axes of its own that broadcast together.

    centre, direction: n arrays (..., 2); span, wrap: n arrays (...); radius, sense: (n).
    """

    centre: tuple[Floats, ...]
    radius: Floats
    sense: Floats
    direction: tuple[Floats, ...]
    span: tuple[Floats, ...]
    wrap: tuple[Floats, ...]

    @property
    def length(self) -> Floats:
        """Length of the whole path, (...) mm; NaN where a tangent is missing."""
        return _total([*self.span, *(wrap * r for wrap, r in zip(self.wrap, self.radius, strict=True))])

    @property
    def turns(self) -> Floats:
        """Whole turns made along the path, (...)."""
        return _total([wrap * s for wrap, s in zip(self.wrap, self.sense, strict=True)]) / TURN

    def moved(self, centres: Mapping[int, Floats]) -> Pieces:
        """The path with some circles elsewhere, by index: only the pieces beside them are laid anew."""
        n = len(self.centre)
        centre = tuple(centres.get(i, at) for i, at in enumerate(self.centre))
        spans = {j for i in centres for j in ((i - 1) % n, i)}
        direction, span, wrap = list(self.direction), list(self.span), list(self.wrap)
        for i in spans:
            direction[i], span[i] = _tangent_from(centre, self.sense * self.radius, i)
        for i in {j for k in spans for j in (k, (k + 1) % n)}:
            wrap[i] = turned(direction[i - 1], direction[i], self.sense[i])
        return Pieces(centre, self.radius, self.sense, tuple(direction), tuple(span), tuple(wrap))

    def strand(self, index: int) -> Strand:
        """One strand."""
        start = self.centre[index] - self.sense[index] * self.radius[index] * left_normal(self.direction[index])
        return Strand(start, self.direction[index], self.span[index])

    def arc(self, index: int) -> Arc:
        """The belt on one circle."""
        radius, sense = np.asarray(self.radius[index]), np.asarray(self.sense[index])
        away = -sense * radius * left_normal(self.direction[index - 1])
        return Arc(self.centre[index], radius, sense, away, self.wrap[index])


def pieces_of(centre: Sequence[Floats], radius: Floats, sense: Floats) -> Pieces:
    """Lay a path in pieces. centre: n arrays (..., 2) mm; radius, sense: (n), as in `close_loop`."""
    n = len(centre)
    laid = [_tangent_from(tuple(centre), sense * radius, i) for i in range(n)]
    direction, span = tuple(u for u, _ in laid), tuple(s for _, s in laid)
    wrap = tuple(turned(direction[i - 1], direction[i], sense[i]) for i in range(n))
    return Pieces(tuple(centre), radius, sense, direction, span, wrap)


def _tangent_from(centre: tuple[Floats, ...], signed: Floats, index: int) -> tuple[Floats, Floats]:
    following = (index + 1) % len(centre)
    return tangent(centre[following] - centre[index], np.asarray(signed[index] - signed[following]))


def _total(parts: list[Floats]) -> Floats:
    # Small ones first: what is the same everywhere is summed once.
    total = np.zeros(())
    for part in sorted(parts, key=np.size):
        total = total + part
    return total
