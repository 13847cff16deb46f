"""Which order, and which side of each pulley, makes one belt work? Every route that there is, judged and ranked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import factorial, prod

import numpy as np

from beltplan.checks.comparison import order_of, ranks_of
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import with_known_push
from beltplan.drive.way_round import NoBeltPath, PathFault, overlap_faults
from beltplan.geometry.loops import close_loop, overlap
from beltplan.geometry.vectors import Floats, Ints
from beltplan.progress import Progress, part_of, unseen
from beltplan.routes.stations import Field, Stations, are_routes, field_of, grow, impossible, in_order, stations_of


def shortlist_of(layout: Layout, stations: Stations, found: Sequence[Ints], most: int) -> tuple[tuple[Ints, ...], int]:
    """The first `most` of the routes found, as stations in the order of travel, and how many there are.

    First the fewest wraps under their limit, then the largest smallest share of one.
    found: arrays (routes, pulleys) of stations. Of a route and its reverse the better is kept.
    """
    limits = np.radians([minimum_wrap(layout, pulley).limit for pulley in stations.pulleys])
    sizes = sorted({routes.shape[1] for routes in found if len(routes)})
    if not sizes:
        return (), 0
    alike = (np.concatenate([routes for routes in found if routes.shape[1] == size]) for size in sizes)
    every, short, share = zip(*(_once(stations, routes, limits) for routes in alike), strict=True)
    routes = [route for own in every for route in own]
    order = _best_first(np.concatenate(short), np.concatenate(share))[:most]
    return tuple(routes[i] for i in order), len(routes)


def canonical(routes: Ints) -> Ints:
    """The same for a route and its reverse: from the driver, toward the neighbour that is listed first.

    routes: (routes, pulleys), the driver first.
    """
    reverse = np.concatenate([routes[:, :1], routes[:, :0:-1]], axis=1)
    return np.where((routes[:, 1] > routes[:, -1])[:, None], reverse, routes)


def _once(stations: Stations, routes: Ints, limits: Floats) -> tuple[Ints, Ints, Floats]:
    """Routes of one number of pulleys, each once; of each how many wraps fall short, and the smallest share."""
    loop = close_loop(stations.centre[routes], stations.radius[routes], stations.sense[routes])
    limit = limits[routes]
    shares = np.divide(loop.wrap, limit, out=np.full(limit.shape, np.inf), where=limit > 0.0)
    short, share = (shares < 1.0).sum(axis=1), shares.min(axis=1)
    order = _best_first(short, share)
    _, first = np.unique(canonical(routes[order]), axis=0, return_index=True)
    kept = order[np.sort(first)]
    return routes[kept], short[kept], share[kept]


def _best_first(short: Ints, share: Floats) -> Ints:
    return np.lexsort((-share, short))


# Why no belt goes round all the pulleys: which of them it is that cannot be reached.


def _overlapping(field: Field) -> tuple[PathFault, ...]:
    stations = field.stations
    # On every side that one may have: the smallest rims decide.
    sides = [np.flatnonzero(stations.of == i) for i in np.flatnonzero(stations.needed)]
    rim = np.array([stations.rim[each].min() for each in sides])
    depth, pairs = overlap(stations.centre[[each[0] for each in sides]], rim)
    return overlap_faults([stations.pulleys[each[0]].name for each in sides], rim, pairs, depth)


def _in_the_way(layout: Layout, field: Field, exhaustive: bool, kept: Ints) -> tuple[PathFault, ...]:
    names = tuple(name for name, needed in zip(field.stations.names, field.stations.needed, strict=True) if needed)
    which = f"all of {', '.join(names)}"
    order = " in the order asked for" if (kept >= 0).any() else ""
    if not exhaustive:
        got = f"no route round {which}{order} was found, but not all were tried"
        return (PathFault(names, got, "fewer pulleys, or sides of the belt that are settled"),)
    spare = [name for name in names[1:] if _goes_without(layout, name, kept)]
    if not spare:
        got = f"no route goes round {which}{order}, nor round all but one of them"
        return (PathFault(names, got, "places and sides of the belt that leave room for one"),)
    return tuple(
        PathFault(
            (name,),
            f"no route goes round {which}{order}; without {name} there is one",
            f"another place or side of the belt for {name}, or for what is in its way",
        )
        for name in spare
    )


def _goes_without(layout: Layout, name: str, kept: Ints) -> bool:
    pulleys = {key: pulley for key, pulley in layout.pulleys.items() if key != name}
    route = tuple(key for key in layout.route if key != name)
    stations = stations_of(replace(layout, pulleys=pulleys, route=route))
    others = kept[[pulley.name != name for pulley in stations_of(layout).pulleys]]
    return any(len(routes) for routes in grow(field_of(stations), others)[0])


# Every route that there is, judged and ranked.

MOST_JUDGED = 200
"""So many are judged by every check; of more, those with the fewest short wraps, then the largest smallest share."""


@dataclass(frozen=True, eq=False)
class FoundRoute:
    """One route, judged as the layout with this route, its sides settled and what is left out taken away.

    rank: 1 the best, ties alike. own: whether it is the file's own. left_out: names of optional pulleys not on it.
    """

    plan: Plan
    rank: int
    own: bool
    left_out: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class RouteSearch:
    """What a search came to. routes: those judged, best first. found: sound routes found, judged or not.

    orders: routes that there could be, each order counted once whichever way round it is gone.
    exhaustive: whether all of them were looked at; else a beam was.
    own_missing: why the file's own route is not among them, None where it is.
    """

    given: Layout
    routes: tuple[FoundRoute, ...]
    found: int
    orders: int
    exhaustive: bool
    own_missing: str | None

    @property
    def best(self) -> FoundRoute:
        return self.routes[0]

    @property
    def own(self) -> FoundRoute | None:
        return next((route for route in self.routes if route.own), None)

    def alike(self, rank: int) -> int:
        """How many have that rank."""
        return sum(route.rank == rank for route in self.routes)


def search_routes(layout: Layout, names: Sequence[str] = (), shown: Progress = unseen) -> RouteSearch:
    """Find the routes over a layout's pulleys, judge and rank them by the rule of `compare`.

    names: of pulleys that stay in this order round the loop, either way round. shown: told the share of the work that
    is done.
    An adjusted pulley stands at its nominal place while routes are looked for. Raises NoBeltPath.
    """
    no_side = impossible(layout)
    if no_side:
        raise NoBeltPath(no_side)
    layout = with_known_push(layout)
    field = field_of(stations_of(layout))
    place = {name: i for i, name in enumerate(names)}
    kept = np.array([place.get(pulley.name, -1) for pulley in field.stations.pulleys])
    routes, exhaustive = grow(field, kept, part_of(shown, 0.0, 0.5))
    own, missing = _own(layout, field, kept)
    found = [*routes, *([] if own is None else [own])]
    shortlist, count = shortlist_of(layout, field.stations, found, MOST_JUDGED)
    if not shortlist:
        raise NoBeltPath(_overlapping(field) or _in_the_way(layout, field, exhaustive, kept))
    judged = _judged(layout, field.stations, shortlist, own, shown)
    return RouteSearch(layout, judged, count, orders_of(field.stations), exhaustive, missing)


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


def _own(layout: Layout, field: Field, kept: Ints) -> tuple[Ints | None, str | None]:
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
    if not in_order(kept[both[:1]])[0]:
        return None, "it does not keep the order asked for"
    sound = are_routes(field, both)
    if not sound.any():
        return None, "at the adjuster's design setting it is no sound loop, or runs through a pulley"
    return both[sound][:1], None


def _judged(
    layout: Layout, stations: Stations, shortlist: Sequence[Ints], own: Ints | None, shown: Progress
) -> tuple[FoundRoute, ...]:
    def is_own(row: Ints) -> bool:
        return own is not None and np.array_equal(canonical(row[None]), canonical(own))

    # The file's own leads the order given: it stands before what is just as good.
    rows = sorted(shortlist, key=lambda row: not is_own(row))
    if own is not None and not any(map(is_own, rows[:1])):
        rows.insert(0, own[0])
    every: list[Plan] = []
    for row in rows:
        every.append(plan_of(_with_route(layout, [stations.pulleys[i] for i in row])))
        shown(0.5 + 0.5 * len(every) / len(rows))
    rank_keys = [plan.rank_key for plan in every]
    ranks = ranks_of(rank_keys)
    out = [tuple(name for name in layout.pulleys if name not in each.layout.pulleys) for each in every]
    return tuple(FoundRoute(every[i], ranks[i], is_own(rows[i]), out[i]) for i in order_of(rank_keys))


def _with_route(layout: Layout, pulleys: Sequence[Pulley]) -> Layout:
    """A layout with its belt over these pulleys in this order, and without those that may be left out and are."""
    on = {pulley.name: pulley for pulley in pulleys}
    rest = {name: p for name, p in layout.pulleys.items() if name in on or not p.optional}
    return replace(layout, pulleys={**rest, **on}, route=tuple(on))
