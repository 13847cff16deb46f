"""Why no belt goes round all the pulleys: which of them it is that cannot be reached."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.routing import PathFault
from beltplan.studies.route_search_grow import Grown, Limits, grow
from beltplan.studies.route_search_stations import Field, field_of, stations_of


def why_no_route(layout: Layout, field: Field, grown: Grown, limits: Limits) -> tuple[PathFault, ...]:
    """Pulleys that overlap, else those no strand comes to, else those without which there is a route."""
    return _overlapping(field) or _unreached(field) or _in_the_way(layout, field, grown, limits)


def _overlapping(field: Field) -> tuple[PathFault, ...]:
    stations = field.stations
    clash = stations.on_every_side(stations.on_every_side(field.clash).T)
    needed = np.flatnonzero(stations.needed)
    return tuple(
        PathFault(
            (stations.names[i], stations.names[j]),
            f"{stations.names[i]} and {stations.names[j]} overlap",
            "centres at least the sum of their radii apart",
        )
        for i in needed
        for j in needed
        if i < j and clash[i, j]
    )


def _unreached(field: Field) -> tuple[PathFault, ...]:
    stations = field.stations
    lonely = stations.on_every_side(np.asarray(~field.free.any(axis=0) | ~field.free.any(axis=1)))
    return tuple(
        PathFault(
            (name,),
            f"no strand can come to {name} and leave it: each has no tangent, or runs through another pulley",
            "a place or a side of the belt where it can be reached",
        )
        for name, alone, needed in zip(stations.names, lonely, stations.needed, strict=True)
        if alone and needed
    )


def _in_the_way(layout: Layout, field: Field, grown: Grown, limits: Limits) -> tuple[PathFault, ...]:
    names = tuple(name for name, needed in zip(field.stations.names, field.stations.needed, strict=True) if needed)
    which = f"all of {', '.join(names)}"
    order = " in the order asked for" if (limits.kept >= 0).any() else ""
    if not grown.exhaustive:
        got = f"no route round {which}{order} was found, but not all were tried"
        return (PathFault(names, got, "fewer pulleys, or sides of the belt that are settled"),)
    spare = [name for name in names[1:] if _goes_without(layout, name, limits)]
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


def _goes_without(layout: Layout, name: str, limits: Limits) -> bool:
    pulleys = {key: pulley for key, pulley in layout.pulleys.items() if key != name}
    route = tuple(key for key in layout.route if key != name)
    stations = stations_of(replace(layout, pulleys=pulleys, route=route))
    place = {pulley.name: kept for pulley, kept in zip(stations_of(layout).pulleys, limits.kept.tolist(), strict=True)}
    kept = np.array([place[pulley.name] for pulley in stations.pulleys])
    return any(len(routes) for routes in grow(field_of(stations), replace(limits, kept=kept)).routes)
