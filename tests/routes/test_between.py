"""What lies between stations, and which orders are kept, by shapely and by trying everything."""

from itertools import chain, combinations, permutations

import numpy as np
import pytest
import shapely

from beltplan.routes.stations import field_of, in_order, stations_of
from tests.for_each import for_each
from tests.routes.drives import scattered, starred

MM = 1e-6


@for_each(*range(6))
def test_spans_cuts_and_clashes_are_those_of_plane_geometry(seed: int) -> None:
    """A span touches its two rims and turns no corner there: its ends are the belt's line's radius from the centres."""
    given = starred(seed, 6) if seed % 2 else scattered(seed, 6, open_sides=2, optional=1, backs=1, size=1.2)
    of = field_of(stations_of(given))
    stations, count = of.stations, len(of.stations.of)
    discs, needed = shapely.points(stations.centre), stations.needed
    for i, j in permutations(range(count), 2):
        own = stations.of[i] == stations.of[j]
        apart = float(shapely.distance(discs[i], discs[j]))
        assert bool(of.clash[i, j]) == bool(not own and apart < stations.rim[i] + stations.rim[j] - 0.5 * MM), (i, j)
        length = float(of.spans.length[i, j])
        if own or not np.isfinite(length):
            assert not of.free[i, j]
            continue
        start = of.spans.start[i, j]
        end = start + length * of.spans.direction[i, j]
        for at, k in ((start, i), (end, j)):
            radial = at - stations.centre[k]
            assert np.hypot(*radial) == pytest.approx(stations.radius[k], abs=MM)
            assert radial @ of.spans.direction[i, j] == pytest.approx(0.0, abs=1e-3)
            # The belt runs on the side that turns the pulley its way: the centre lies left where it turns left.
            left = np.array([-of.spans.direction[i, j][1], of.spans.direction[i, j][0]])
            assert np.sign(-radial @ left) == stations.sense[k]
        line = shapely.LineString([start, end])
        third = [k for k in range(count) if stations.of[k] not in (stations.of[i], stations.of[j])]
        cut = [k for k in third if shapely.distance(line, discs[k]) < stations.rim[k] - 1e-3]
        assert sorted(np.flatnonzero(of.cuts[i, j]).tolist()) == sorted(cut)
        barred = any(
            needed[name] and all(k in cut for k in range(count) if stations.of[k] == name)
            for name in range(len(stations.names))
            if name not in (stations.of[i], stations.of[j])
        )
        assert bool(of.free[i, j]) == (not of.clash[i, j] and not barred)


def test_an_order_of_some_is_kept_where_it_can_be_turned_into_that_asked_for() -> None:
    """Of every choice of five pulleys in every order, with free ones between: by turning and reversing the whole."""
    kept = (0, 1, 2, 3, 4)
    for some in chain.from_iterable(combinations(kept, size) for size in range(1, 5)):
        turns = {some[i:] + some[:i] for i in range(len(some))}
        wanted = turns | {turn[::-1] for turn in turns}
        orders = list(permutations(some))
        assert in_order(np.array(orders)).tolist() == [order in wanted for order in orders]
        loose = [list(chain.from_iterable((at, -1) for at in order)) for order in orders]
        assert in_order(np.array(loose)).tolist() == [order in wanted for order in orders]
