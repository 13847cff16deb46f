"""Random closed loops in bulk: rings of discs, idlers pressed on their spans, and loops of any kind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.crossing import crosses, crossings, is_sound
from beltplan.geometry.loops import Loop, close_loop, overlap
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import Bools, Floats, from_angle, left_normal


def is_simple(loop: Loop) -> Bools:
    """Whether the path exists and does not cross itself, (...)."""
    return np.asarray(loop.exists & ~crosses(Pieces.of(loop)))


def crossed_by_kind(loop: Loop) -> Bools:
    """Where two spans cross, a span and an arc, and two arcs, (3, b)."""
    found, n = np.zeros((3, len(loop.span)), dtype=bool), loop.span.shape[-1]
    for i, j, hit in crossings(Pieces.of(loop)):
        found[(i >= n) + (j >= n)] |= hit
    return found


@dataclass(frozen=True, slots=True)
class Circles:
    """A batch of layouts: centre (b, n, 2) mm, radius (b, n) mm, sense (b, n); turning is the loop's own sense."""

    centre: Floats
    radius: Floats
    sense: Floats
    turning: float

    @property
    def loop(self) -> Loop:
        """The loop of every layout."""
        return close_loop(self.centre, self.radius, self.sense)

    @property
    def sound(self) -> Bools:
        """Which are simple loops of one turn without overlapping discs, (b)."""
        depth, _ = overlap(self.centre, self.radius)
        return np.asarray(is_sound(self.loop, self.turning) & ~(depth > 0.0).any(axis=-1))

    def where(self, keep: Bools) -> Circles:
        """Only some of the layouts."""
        return Circles(self.centre[keep], self.radius[keep], self.sense[keep], self.turning)

    def mirrored(self) -> Circles:
        """The same layouts seen from behind: x changes sign, and so does every sense."""
        return Circles(self.centre * np.array([-1.0, 1.0]), self.radius, -self.sense, -self.turning)


def ring(seed: int, count: int, n: int) -> Circles:
    """Discs round about a ring, listed counter-clockwise, the belt outside all of them."""
    rng = np.random.default_rng(seed)
    angle = (np.arange(n) + rng.uniform(-0.3, 0.3, (count, n))) * 2.0 * np.pi / n
    far = rng.uniform(180.0, 260.0, (count, n))
    radius = rng.uniform(20.0, 60.0, (count, n))
    return Circles(far[..., None] * from_angle(angle), radius, np.ones((count, n)), 1.0)


def pressed(seed: int, circles: Circles, span: int) -> Circles:
    """The same layouts with a back-side idler pressed from outside on one span."""
    rng = np.random.default_rng(seed)
    loop, count = circles.loop, len(circles.radius)
    radius, depth = rng.uniform(20.0, 45.0, count), rng.uniform(1.0, 40.0, count)
    share = rng.uniform(0.3, 0.7, count)
    direction = loop.direction[:, span]
    touched = loop.start[:, span] + (share * loop.span[:, span])[:, None] * direction
    outward = -circles.turning * left_normal(direction)
    at = touched + (radius - depth)[:, None] * outward
    after = span + 1
    return Circles(
        np.insert(circles.centre, after, at, axis=1),
        np.insert(circles.radius, after, radius, axis=1),
        np.insert(circles.sense, after, -circles.turning, axis=1),
        circles.turning,
    )


def mixed(seed: int, count: int, inside: int) -> Circles:
    """Rings of `inside` discs with two back-side idlers, sound or not."""
    return pressed(seed + 2, pressed(seed + 1, ring(seed, count, inside), 0), inside - 1)


def sound_mixed(seed: int, count: int = 400, inside: int = 4) -> Circles:
    """The sound ones among rings with two back-side idlers."""
    every = mixed(seed, count, inside)
    return every.where(every.sound)


def anyhow(seed: int, count: int, n: int) -> Circles:
    """Discs anywhere, overlapping or not, some on the back, half of them listed round their middle: a belt path or not.

    Only those with every tangent.
    """
    rng = np.random.default_rng(seed)
    centre = rng.uniform(0.0, 500.0, (count, n, 2))
    away = centre - centre.mean(axis=1, keepdims=True)
    order = np.argsort(np.arctan2(away[..., 1], away[..., 0]), axis=-1)
    order[::2] = np.arange(n)
    centre = np.take_along_axis(centre, order[..., None], axis=1)
    radius = rng.uniform(15.0, 60.0, (count, n))
    sense = np.where(rng.random((count, n)) < 0.8, 1.0, -1.0)
    every = Circles(centre, radius, sense, 1.0)
    return every.where(every.loop.exists)
