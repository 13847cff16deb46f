"""Routes found, each once, in the order of a cheap measure: which of very many are worth judging by every check."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.checks.wrap import least_wrap
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Floats, Ints
from beltplan.studies.route_search_stations import Stations


@dataclass(frozen=True, eq=False)
class Pool:
    """Routes as stations in the order of travel, the most promising first. count: how many there were."""

    routes: tuple[Ints, ...]
    count: int


@dataclass(frozen=True, eq=False)
class _Measured:
    """Routes of one number of pulleys. short: (routes), wraps under their limit; share: the smallest over its limit."""

    routes: Ints
    short: Ints
    share: Floats

    def picked(self, which: Ints) -> _Measured:
        return _Measured(self.routes[which], self.short[which], self.share[which])


def pool_of(layout: Layout, stations: Stations, found: Sequence[Ints], most: int) -> Pool:
    """The first `most` of the routes found: the fewest wraps under their limit, then the largest smallest share of one.

    found: arrays (routes, pulleys) of stations. Of a route and its reverse the better is kept.
    """
    limits = _least_wraps(layout, stations)
    sizes = sorted({routes.shape[1] for routes in found if len(routes)})
    each = [np.concatenate([routes for routes in found if routes.shape[1] == size]) for size in sizes]
    measured = [_once(_measured(stations, routes, limits)) for routes in each]
    if not measured:
        return Pool((), 0)
    short, share = (np.concatenate([getattr(m, name) for m in measured]) for name in ("short", "share"))
    order = _best_first(short, share)[:most].tolist()
    ends = np.cumsum([len(m.routes) for m in measured]).tolist()
    return Pool(tuple(_at(measured, ends, i) for i in order), len(short))


def _at(measured: Sequence[_Measured], ends: Sequence[int], index: int) -> Ints:
    size = bisect_right(ends, index)
    return np.asarray(measured[size].routes[index - (ends[size - 1] if size else 0)])


def canonical(routes: Ints) -> Ints:
    """The same for a route and its reverse: from the driver, toward the neighbour that is listed first.

    routes: (routes, pulleys), the driver first.
    """
    reverse = np.concatenate([routes[:, :1], routes[:, :0:-1]], axis=1)
    return np.where((routes[:, 1] > routes[:, -1])[:, None], reverse, routes)


def _least_wraps(layout: Layout, stations: Stations) -> Floats:
    bounds = [least_wrap(layout, pulley) for pulley in stations.pulleys]
    return np.radians([0.0 if bound is None else bound.limit for bound in bounds])


def _measured(stations: Stations, routes: Ints, limits: Floats) -> _Measured:
    loop = close_loop(stations.centre[routes], stations.radius[routes], stations.sense[routes])
    limit = limits[routes]
    share = np.divide(loop.wrap, limit, out=np.full(limit.shape, np.inf), where=limit > 0.0)
    return _Measured(routes, (share < 1.0).sum(axis=1), share.min(axis=1))


def _best_first(short: Ints, share: Floats) -> Ints:
    return np.lexsort((-share, short))


def _once(measured: _Measured) -> _Measured:
    ordered = measured.picked(_best_first(measured.short, measured.share))
    _, first = np.unique(canonical(ordered.routes), axis=0, return_index=True)
    return ordered.picked(np.sort(first))
