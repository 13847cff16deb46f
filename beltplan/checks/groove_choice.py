"""In which grooves of wide pulleys the belt lines up best."""

from __future__ import annotations

import numpy as np

from beltplan.checks.alignment import askew_deg, maximum_misalignment
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats, Ints

_STAY = 1e-9
"""What a change costs, so that of equal choices the belt stays where it is."""
_LEAST_DEG = 1e-3
"""A caution at nothing would leave no share to compare."""


def best_grooves(route: Route) -> dict[str, int]:
    """The first groove to use, counted from the engine, of every pulley where another than the present one is better.

    Best is the smallest sum of squares over all spans of the entry angle as a share of where its caution begins.
    """
    pulleys, ribs = route.pulleys, route.layout.belt.ribs
    firsts = [
        np.arange(1, p.grooves - ribs + 2)
        if p.grooves is not None and p.grooves > ribs and p.plane_mm is not None and not p.on_back
        else np.array([p.first_groove_used])
        for p in pulleys
    ]
    if all(len(first) == 1 for first in firsts):
        return {}
    present = [int(np.abs(first - p.first_groove_used).argmin()) for first, p in zip(firsts, pulleys, strict=True)]
    costs = _costs(route, firsts)
    chosen = min((_round(costs, start) for start in range(len(firsts[0]))), key=lambda way: _cost(costs, way))
    if not _cost(costs, chosen) < _cost(costs, present):
        return {}
    better = zip(pulleys, firsts, chosen, strict=True)
    return {p.name: int(first[i]) for p, first, i in better if first[i] != p.first_groove_used}


def _costs(route: Route, firsts: list[Ints]) -> list[Floats]:
    """Of every span, by the groove at its start and at its end."""
    pitch, costs = route.layout.belt.profile.pitch_mm or 0.0, list[Floats]()
    moved = [first - p.first_groove_used for first, p in zip(firsts, route.pulleys, strict=True)]
    planes = [(p.plane_mm or 0.0) + pitch * by for p, by in zip(route.pulleys, moved, strict=True)]
    for i, ends in enumerate(route.spans):
        j = (i + 1) % len(planes)
        angle = askew_deg(planes[j] - planes[i][:, None], route.loop.span[i], route.loop.direction[i], ends)
        ample = max(maximum_misalignment(route.layout, *ends).ample, _LEAST_DEG)
        costs.append((angle / ample) ** 2 + _STAY * (moved[j] != 0))
    return costs


def _round(costs: list[Floats], start: int) -> list[int]:
    """The cheapest way round the belt that begins and ends with that groove of the driver, the best way to each."""
    total, back = costs[0][start], list[Ints]()
    for cost in costs[1:]:
        ways = total[:, None] + cost
        back.append(ways.argmin(axis=0))
        total = ways.min(axis=0)
    way = [start]
    for earlier in reversed(back):
        way.append(int(earlier[way[-1]]))
    return [start, *reversed(way[1:])]


def _cost(costs: list[Floats], way: list[int]) -> float:
    return sum(float(cost[i, j]) for cost, i, j in zip(costs, way, way[1:] + way[:1], strict=True))
