"""Routes once each, the most promising first."""

from __future__ import annotations

import numpy as np

from beltplan.checks.pulleys import minimum_wrap
from beltplan.geometry.loops import close_loop
from beltplan.routes.stations import field_of, grow, stations_of
from beltplan.routes.study import canonical, shortlist_of
from tests.routes.drives import scattered


def test_a_route_and_its_reverse_are_one() -> None:
    routes = np.array([[0, 3, 1, 2], [0, 2, 1, 3], [0, 1, 2, 3]])
    assert canonical(routes).tolist() == [[0, 2, 1, 3], [0, 2, 1, 3], [0, 1, 2, 3]]
    assert canonical(np.array([[0, 1]])).tolist() == [[0, 1]]


def test_fewest_short_wraps_first_then_the_largest_smallest_share() -> None:
    """Reference: each route measured by itself."""
    given = scattered(4, 6, open_sides=2, optional=1, size=0.2)
    stations = stations_of(given)
    grown, _ = grow(field_of(stations), np.full(len(stations.of), -1))
    found = [*grown, *grown]
    shortlist, count = shortlist_of(given, stations, found, 100)
    assert count == len(shortlist) == sum(map(len, grown)) > 1
    measures = []
    for route in shortlist:
        loop = close_loop(stations.centre[route], stations.radius[route], stations.sense[route])
        bounds = [minimum_wrap(given, stations.pulleys[i]) for i in route]
        shares = [float(np.degrees(wrap)) / bound.limit for wrap, bound in zip(loop.wrap, bounds, strict=True) if bound]
        measures.append((sum(share < 1.0 for share in shares), -min(shares)))
    assert measures == sorted(measures)
    first, found_again = shortlist_of(given, stations, found, 1)
    assert found_again == count and [route.tolist() for route in first] == [shortlist[0].tolist()]


def test_nothing_found_makes_an_empty_pool() -> None:
    given = scattered(2, 4)
    assert shortlist_of(given, stations_of(given), [np.zeros((0, 4), dtype=int)], 9) == ((), 0)
