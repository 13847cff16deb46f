"""Cures by the order: the same pulleys on the same sides of the belt, passed in another order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, permutations
from typing import ClassVar

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.geometry.crossing import is_sound
from beltplan.geometry.loops import close_loop
from beltplan.studies.cure_change import Family
from beltplan.studies.cure_screen import Needs, Paths

EVERY_ORDER = 7
"""Up to so many pulleys every order is tried; above, two pulleys change places, or one goes elsewhere."""

Order = tuple[int, ...]


@dataclass(frozen=True)
class OtherOrder:
    """Another order round the loop. size: strands that were not there before."""

    route: tuple[str, ...]
    size: float

    family: ClassVar[Family] = "order"
    target: ClassVar[str] = "route"

    @property
    def words(self) -> str:
        """What is to be done."""
        return f"lead the belt in the order {', '.join(self.route)}"

    def applied(self, layout: Layout) -> Layout:
        """The layout with that order; pulleys that another change has added stay behind the one they followed."""
        route = list(self.route)
        for name in layout.route:
            if name not in self.route:
                before = layout.route[layout.route.index(name) - 1]
                route.insert(route.index(before) + 1, name)
        return replace(layout, route=tuple(route))


def other_orders(base: Paths, needs: Needs) -> tuple[tuple[OtherOrder, ...], int]:
    """Every other order with a sound path, the least short first; and how many were looked at.

    Source: all orders of up to `EVERY_ORDER` pulleys in one batch.
    """
    every = list(_orders(len(base.pulleys)))
    if not every:
        return (), 0
    index = np.array(every)
    loop = close_loop(base.centre[0][index], base.radius[0][index], base.sense[0][index])
    sound = np.flatnonzero(is_sound(loop, float(needs.layout.loop_sense)))
    ranked = sorted(((_shortfall(base, every[i], needs), every[i]) for i in sound), key=lambda pair: pair[0])
    found = (OtherOrder(tuple(base.pulleys[i].name for i in order), _new_strands(order)) for _, order in ranked)
    return tuple(found), len(every)


def _shortfall(base: Paths, order: Order, needs: Needs) -> float:
    index = np.array(order)
    pulleys = tuple(base.pulleys[i] for i in order)
    parts = (part[:, index] for part in (base.centre, base.radius, base.rim, base.sense))
    return float(needs.shortfall(Paths(pulleys, *parts)).short[0])


def _orders(count: int) -> Iterator[Order]:
    """Orders that begin with the driver, other than the own one, listed forward or backward."""
    own = tuple(range(count))
    backward = (0, *own[:0:-1])
    found = _all(count) if count <= EVERY_ORDER else _swaps(count)
    yield from (order for order in dict.fromkeys(found) if order not in (own, backward))


def _all(count: int) -> Iterator[Order]:
    yield from ((0, *rest) for rest in permutations(range(1, count)))


def _swaps(count: int) -> Iterator[Order]:
    own = list(range(count))
    for i, j in combinations(range(1, count), 2):
        swapped = own.copy()
        swapped[i], swapped[j] = swapped[j], swapped[i]
        yield tuple(swapped)
    for i in range(1, count):
        rest = own[:i] + own[i + 1 :]
        yield from (tuple([*rest[:j], i, *rest[j:]]) for j in range(1, count) if j != i)


def _new_strands(order: Order) -> float:
    before = {frozenset((i, (i + 1) % len(order))) for i in range(len(order))}
    return float(len({frozenset((order[i - 1], order[i])) for i in range(len(order))} - before))
