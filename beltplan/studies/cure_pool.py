"""A pool of changes of one kind: screened together, and the promising ones picked out to be judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats, Ints
from beltplan.studies.cure_change import Change
from beltplan.studies.cure_screen import Needs, Paths, Shortfall

NEARLY = 0.03
"""A shortfall up to this may come from what the screening leaves out."""


@dataclass(frozen=True, eq=False)
class Pool:
    """Changed paths, how far each change goes, and what makes the change of a number.

    sizes: (N), None where a change goes as far as it lengthens the path. change: called with the number and the size.
    """

    paths: Paths
    sizes: Floats | None
    change: Callable[[int, float], Change]


@dataclass(frozen=True, eq=False)
class Promise:
    """A change, and how far it falls short by the screening; tight: with wraps that leave no caution."""

    short: float
    tight: float
    change: Change

    @property
    def near(self) -> bool:
        """Whether the screening has little or nothing against it."""
        return self.short <= NEARLY


@dataclass(frozen=True, eq=False)
class Screened:
    """A pool after screening. shortfall and sizes: (N)."""

    pool: Pool
    shortfall: Shortfall
    sizes: Floats

    def picked(self, most: int) -> tuple[Promise, ...]:
        """The changes that are worth judging, at most so many.

        Of those that fall short of little or nothing evenly from the smallest up, and those that leave margin with the
        smallest change; else the nearest.
        """
        short, tight = self.shortfall.short, self.shortfall.tight
        near = np.flatnonzero(short <= NEARLY)
        by_size = near[np.argsort(self.sizes[near], kind="stable")]
        by_margin = np.lexsort((self.sizes, tight))
        best = [int(i) for i in by_margin if np.isfinite(tight[i])]
        half = most - most // 2
        even = [int(i) for i in _evenly(by_size, half)]
        chosen = list(dict.fromkeys([*even, *best]))[:most]
        return tuple(self._promise(i) for i in chosen)

    def _promise(self, i: int) -> Promise:
        change = self.pool.change(i, float(self.sizes[i]))
        return Promise(float(self.shortfall.short[i]), float(self.shortfall.tight[i]), change)


def _evenly(index: Ints, most: int) -> Ints:
    """At most so many, evenly from the first to the last."""
    if len(index) <= most:
        return index
    return np.asarray(index[np.linspace(0, len(index) - 1, most).astype(int)])


def screened(pool: Pool, needs: Needs, base_mm: float) -> Screened:
    """Screen a pool. base_mm: length of the path as it stands."""
    shortfall = needs.shortfall(pool.paths)
    sizes = np.abs(shortfall.length_mm - base_mm) if pool.sizes is None else pool.sizes
    return Screened(pool, shortfall, np.round(sizes, 3))


def best_of(promises: Sequence[Promise], most: int) -> tuple[Change, ...]:
    """The best of several pools: half by how far they go, where they fall short of little; half by their promise."""
    near = sorted((p for p in promises if p.near), key=lambda p: p.change.size)
    nearest = sorted(promises, key=lambda p: (p.tight, p.change.size))
    ranked = [*near[: most - most // 2], *nearest, *near]
    return tuple(promise.change for promise in list(dict.fromkeys(ranked))[:most])
