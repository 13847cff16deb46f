"""Which order, and which side of each pulley, makes one belt work? Every route that there is, judged and ranked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import factorial, prod

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.belts.routing import PathFault
from beltplan.geometry.vectors import Ints
from beltplan.studies.compare import Judged, judge_layout
from beltplan.studies.ranking import order_of, ranks_of
from beltplan.studies.route_search_grow import BEAM_WIDTH, MOST_GROWING, Limits, are_routes, grow, in_order
from beltplan.studies.route_search_pool import Pool, canonical, pool_of
from beltplan.studies.route_search_stations import Field, Stations, field_of, impossible, stations_of
from beltplan.studies.route_search_why import why_no_route

MOST_JUDGED = 200
"""So many are judged by every check; of more, those with the fewest short wraps, then the largest smallest share."""


class NoRoute(ValueError):
    """No closed route goes round the pulleys."""

    def __init__(self, faults: tuple[PathFault, ...]) -> None:
        super().__init__("; ".join(fault.got for fault in faults))
        self.faults = faults


@dataclass(frozen=True, eq=False)
class FoundRoute:
    """One route, judged as the layout with this route, its sides settled and what is left out taken away.

    rank: 1 the best, ties alike. own: whether it is the file's own. left_out: names of optional pulleys not on it.
    """

    judged: Judged
    rank: int
    own: bool
    left_out: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class RouteSearch:
    """What a search came to. routes: those judged, best first. found: sound routes found, judged or not.

    orders: routes that there could be, each order counted once whichever way round it is gone.
    exhaustive: whether all of them were looked at; else a beam of width `beam` drawn with `seed` was.
    own_missing: why the file's own route is not among them, None where it is.
    """

    given: Layout
    routes: tuple[FoundRoute, ...]
    found: int
    orders: int
    exhaustive: bool
    beam: int
    seed: int
    own_missing: str | None

    @property
    def best(self) -> FoundRoute:
        """The route ranked first."""
        return self.routes[0]

    @property
    def own(self) -> FoundRoute | None:
        """The file's own route."""
        return next((route for route in self.routes if route.own), None)


def search_routes(
    layout: Layout,
    kept: Sequence[str] = (),
    most: int = MOST_GROWING,
    beam: int = BEAM_WIDTH,
    shown: Callable[[float], None] = lambda share: None,
) -> RouteSearch:
    """Find the routes over a layout's pulleys, judge and rank them by `ranking.RULE`.

    kept: pulleys that stay in this order round the loop, either way round. most: part routes followed before a beam of
    width `beam` takes over. shown: told the share of the work that is done.
    An adjusted pulley stands at its nominal place while routes are looked for. Raises NoRoute.
    """
    no_side = impossible(layout)
    if no_side:
        raise NoRoute(no_side)
    field = field_of(stations_of(layout))
    limits = Limits(_kept(field.stations, kept), most, beam)
    grown = grow(field, limits, lambda share: shown(0.5 * share))
    own, missing = _own(layout, field, limits)
    found = [*grown.routes, *([] if own is None else [own])]
    pool = pool_of(layout, field.stations, found, MOST_JUDGED)
    if not pool.routes:
        raise NoRoute(why_no_route(layout, field, grown, limits))
    judged = _judged(layout, field.stations, pool, own, shown)
    orders = orders_of(field.stations)
    return RouteSearch(layout, judged, pool.count, orders, grown.exhaustive, beam, limits.seed, missing)


def _kept(stations: Stations, names: Sequence[str]) -> Ints:
    place = {name: i for i, name in enumerate(names)}
    return np.array([place.get(pulley.name, -1) for pulley in stations.pulleys])


def orders_of(stations: Stations) -> int:
    """Orders and sides that there could be, those that differ only in the way round counted once."""
    sides = np.bincount(stations.of, minlength=len(stations.names)).tolist()
    # ways[k]: choices of sides with k pulleys that may be left out on the belt.
    ways = [prod(n for n, needed in zip(sides, stations.needed, strict=True) if needed)]
    for n, needed in zip(sides, stations.needed, strict=True):
        if not needed:
            ways = [with_it + without for with_it, without in zip([0, *(n * w for w in ways)], [*ways, 0], strict=True)]
    others = int(stations.needed.sum()) - 1
    return sum(w * max(factorial(others + k) // 2, min(others + k, 1)) for k, w in enumerate(ways))


def _own(layout: Layout, field: Field, limits: Limits) -> tuple[Ints | None, str | None]:
    """The file's own route as stations in the order of travel, or why it is not among those looked for."""
    stations = field.stations
    needed = [name for name, must in zip(stations.names, stations.needed, strict=True) if must]
    left_out = [name for name in needed if name not in layout.route]
    if left_out:
        return None, f"it leaves out {', '.join(left_out)}"
    at = {(pulley.name, pulley.belt_side): i for i, pulley in enumerate(stations.pulleys)}
    wrong = [pulley.name for pulley in layout.routed if (pulley.name, pulley.belt_side) not in at]
    if wrong:
        return None, f"it runs {', '.join(wrong)} on the wrong side of the belt for its surface or turning"
    first = layout.route.index(layout.driver.name)
    row = np.array(
        [at[name, layout.pulleys[name].belt_side] for name in (*layout.route[first:], *layout.route[:first])]
    )
    both = np.array([row, np.concatenate([row[:1], row[:0:-1]])])
    return _own_way(field, both, limits)


def _own_way(field: Field, both: Ints, limits: Limits) -> tuple[Ints | None, str | None]:
    if not in_order(limits.kept[both[:1]])[0]:
        return None, "it does not keep the order asked for"
    sound = are_routes(field, both)
    if not sound.any():
        return None, "at the adjuster's design setting it is no sound loop, or runs through a pulley"
    return both[sound][:1], None


def _judged(
    layout: Layout, stations: Stations, pool: Pool, own: Ints | None, shown: Callable[[float], None]
) -> tuple[FoundRoute, ...]:
    """Every route of the pool, and the file's own, judged by the checks and ranked."""
    rows = [*pool.routes]
    of_own = [own is not None and np.array_equal(canonical(row[None]), canonical(own)) for row in rows]
    if own is not None and not any(of_own):
        rows, of_own = [*rows, own[0]], [*of_own, True]
    every: list[Judged] = []
    for row in rows:
        every.append(judge_layout(with_route(layout, [stations.pulleys[i] for i in row])))
        shown(0.5 + 0.5 * len(every) / len(rows))
    standings = [judged.standing for judged in every]
    ranks = ranks_of(standings)
    return tuple(FoundRoute(every[i], ranks[i], of_own[i], _left_out(layout, every[i])) for i in order_of(standings))


def with_route(layout: Layout, pulleys: Sequence[Pulley]) -> Layout:
    """A layout with its belt over these pulleys in this order, and without those that may be left out and are."""
    on = {pulley.name: pulley for pulley in pulleys}
    rest = {name: p for name, p in layout.pulleys.items() if name in on or not p.optional}
    return replace(layout, pulleys={**rest, **on}, route=tuple(on))


def _left_out(layout: Layout, judged: Judged) -> tuple[str, ...]:
    return tuple(name for name in layout.pulleys if name not in judged.route.layout.pulleys)
