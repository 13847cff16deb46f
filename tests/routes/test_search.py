"""The search for routes, held against trying everything with shapely as the judge of crossings."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.plan import plan_of
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.layout import Layout
from beltplan.drive.way_round import NoBeltPath, PathFault
from beltplan.geometry.loops import close_loop
from beltplan.layoutfile.layout_file import read_every_layout
from beltplan.routes import study as route_search
from beltplan.routes.stations import field_of, grow, stations_of
from beltplan.routes.study import RouteSearch, canonical, orders_of, search_routes, shortlist_of
from tests.checks.drives import layout, pulley, two
from tests.for_each import for_each, mostly_long
from tests.routes.drives import narrowed, scattered, starred
from tests.routes.reference import Key, every_choice, key_of, routes_by_trying

LAYOUTS = Path(__file__).parents[2] / "layouts"
SHIPPED = [
    file.layout
    for stem in ("camper", "orchard_sprayer", "railcar", "workboat")
    for file in read_every_layout(str(LAYOUTS / f"{stem}.yaml"))
]
CAMPER, RAILCAR, WORKBOAT = (SHIPPED[i] for i in (0, 3, 4))
KINDS = {
    "three": {"count": 3},
    "one open": {"count": 4, "open_sides": 1},
    "two open": {"count": 5, "open_sides": 2},
    "small": {"count": 5, "open_sides": 1, "optional": 2, "size": 0.1},
    "every kind": {"count": 6, "open_sides": 1, "backs": 1, "optional": 1, "size": 0.3},
    "six": {"count": 6, "open_sides": 2, "size": 0.2},
    "tight": {"count": 6, "open_sides": 3, "size": 0.9},
}


def searched(given: Layout) -> RouteSearch:
    """The whole search over a shipped layout, made once."""
    return _searched(SHIPPED.index(given))


@cache
def _searched(index: int) -> RouteSearch:
    return search_routes(SHIPPED[index])


def keys(search: RouteSearch) -> list[Key]:
    """The routes found, in their order."""
    return [key_of(list(route.plan.route.pulleys)) for route in search.routes]


def found_in(given: Layout) -> set[Key]:
    """Every route found, none where there is none; each listed once."""
    try:
        search = search_routes(given)
    except NoBeltPath:
        return set()
    assert search.exhaustive and len(search.routes) == search.found == len(set(keys(search)))
    return set(keys(search))


@pytest.mark.parametrize("kind", KINDS)
def test_the_routes_are_those_that_trying_everything_finds(kind: str) -> None:
    """Reference: shapely, every permutation, subset and side."""
    seeds = range(2 if kind in ("every kind", "six", "tight") else 5)
    tried = {seed: routes_by_trying(scattered(seed, **KINDS[kind])) for seed in seeds}  # type: ignore[arg-type]
    assert any(tried.values()), "no seed has a route: nothing is tested"
    for seed, routes in tried.items():
        assert found_in(scattered(seed, **KINDS[kind])) == routes, seed  # type: ignore[arg-type]


@pytest.mark.parametrize("open_sides", mostly_long([False, True], 1))
def test_stars_have_more_routes_than_their_own(open_sides: bool) -> None:
    """Reference: the same; and the star itself is always among them (plane geometry)."""
    every = [(given := starred(seed, 7, open_sides), found_in(given)) for seed in range(2)]
    for given, routes in every:
        assert routes == routes_by_trying(given)
        star = tuple(sorted((name for name in given.pulleys), key=lambda name: int(name[1:])))
        rounds = [star[i:] + star[:i] for i in range(7)]
        assert any(tuple(n for n, _ in key) in (*rounds, *(r[::-1] for r in rounds)) for key in routes)
    assert sum(len(routes) for _, routes in every) > len(every)


@for_each(*SHIPPED, ids=lambda given: f"{given.title[:12]} {given.variant}")
def test_the_routes_of_shipped_layouts(given: Layout) -> None:
    """Reference: the same; and the file's own route is among them, judged as `check` judges it."""
    search = searched(given)
    assert set(keys(search)) == routes_by_trying(given)
    assert search.own is not None and search.own_missing is None
    own = plan_of(given)
    assert key_of(list(own.route.pulleys)) == key_of(list(search.own.plan.route.pulleys))
    assert search.own.plan.rank_key == own.rank_key


def test_a_better_route_than_the_files_own() -> None:
    """The camper's own route is not the best by the rule: the other has a problem less, counted in its findings."""
    search = searched(CAMPER)
    assert search.own is not None and search.own.rank > 1
    assert search.best.plan.count("problem") < search.own.plan.count("problem")


@for_each(CAMPER, RAILCAR, WORKBOAT, ids=lambda given: f"{given.title[:12]} {given.variant}")
def test_best_first(given: Layout) -> None:
    search = searched(given)
    counts = [(r.plan.count("problem"), r.plan.count("caution")) for r in search.routes]
    assert counts == sorted(counts) and search.best.rank == 1
    assert [r.rank for r in search.routes] == sorted(r.rank for r in search.routes)


def test_a_route_and_the_file_with_it_are_judged_alike() -> None:
    """Each route written into the layout, listed backwards, gives the same path."""
    for route in searched(WORKBOAT).routes:
        laid = route.plan.route.layout
        again = plan_of(replace(laid, route=laid.route[::-1]))
        assert again.rank_key == route.plan.rank_key


def test_a_demanded_turning_is_given() -> None:
    base = scattered(3, 4, open_sides=1)
    for turns in ("clockwise", "counterclockwise"):
        asked = replace(base, pulleys={**base.pulleys, "p2": replace(base.pulleys["p2"], turns=turns)})
        assert found_in(asked) == routes_by_trying(asked)
    free = replace(base, pulleys={**base.pulleys, "p1": replace(base.pulleys["p1"], turns="clockwise")})
    for route in search_routes(free).routes:
        (p1,) = (p for p in route.plan.route.pulleys if p.name == "p1")
        assert route.plan.route.layout.turns_of(p1) == "clockwise"


def test_what_may_be_left_out_is_left_out_and_on() -> None:
    outs = set()
    for seed in range(6):
        try:
            routes = search_routes(scattered(seed, 5, optional=2, size=0.1)).routes
        except NoBeltPath:
            continue
        for route in routes:
            names = {p.name for p in route.plan.route.pulleys}
            assert names == set(route.plan.route.layout.pulleys) and not names & set(route.left_out)
            assert names | set(route.left_out) == {f"p{i}" for i in range(5)}
            outs.add(len(route.left_out))
    assert outs >= {1, 2}


def test_an_order_that_is_kept() -> None:
    """Reference: the names of the full list, turned round and read backwards."""
    names = ("crank", "alternator", "water_pump", "crane_pump")
    rounds = [names[i:] + names[:i] for i in range(4)]
    wanted = {*rounds, *(turned[::-1] for turned in rounds)}
    every = keys(searched(RAILCAR))
    expected = {key for key in every if tuple(name for name, _ in key if name in names) in wanted}
    assert 0 < len(expected) < len(every)
    for start in range(4):
        search = search_routes(RAILCAR, rounds[start])
        assert set(keys(search)) == expected and (search.own is None) == (search.own_missing is not None)
    assert search_routes(RAILCAR, ("crank", "alternator", "crane_pump", "water_pump")).own_missing is not None


def test_a_beam_says_so_and_finds_the_same_again(monkeypatch: pytest.MonkeyPatch) -> None:
    given = WORKBOAT
    every = set(keys(searched(given)))
    narrowed(monkeypatch, 12, 6)
    search, again = (search_routes(given) for _ in range(2))
    assert not search.exhaustive
    assert set(keys(search)) <= every and keys(search) == keys(again)
    assert search.own is not None, "the file's own route is judged whether the beam comes by it or not"


def test_of_very_many_routes_the_most_promising_are_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    given = WORKBOAT
    every = keys(searched(given))
    monkeypatch.setattr(route_search, "MOST_JUDGED", 3)
    search = search_routes(given)
    assert search.found == len(every) and len(search.routes) in (3, 4) and search.own is not None
    assert set(keys(search)) <= set(every) and keys(search)[0] == every[0]


@for_each(*KINDS)
def test_how_many_routes_there_could_be(kind: str) -> None:
    """Reference: itertools, an order and its reverse counted once."""
    given = scattered(1, **KINDS[kind])  # type: ignore[arg-type]
    assert orders_of(stations_of(given)) == len({key_of(pulleys) for pulleys in every_choice(given)})


def test_the_files_own_route_may_be_none_of_them() -> None:
    four = layout(
        pulley("crank", "crankshaft", 0, 0), pulley("a", "fan", 300, 0), pulley("b", "fan", 300, 300),
        pulley("c", "fan", 0, 300),
    )  # fmt: skip
    crossed = search_routes(replace(four, route=("crank", "b", "a", "c")))
    assert crossed.own is None and "no sound loop" in (crossed.own_missing or "")
    short = search_routes(replace(four, route=("crank", "a", "b")))
    assert short.own is None and short.own_missing == "it leaves out c"
    assert set(keys(short)) == set(keys(crossed)) == routes_by_trying(four)
    turning = replace(
        four, pulleys={**four.pulleys, "a": replace(four.pulleys["a"], belt_side="back", turns="clockwise")}
    )
    assert "a on the wrong side" in (search_routes(turning).own_missing or "")


def test_a_beam_finds_a_good_part_of_the_routes_of_a_star(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine pulleys, all their routes known from the whole search: a beam of 60 part routes finds half of them."""
    given = starred(0, 9)
    every = set(keys(search_routes(given)))
    narrowed(monkeypatch, 60, 60)
    search = search_routes(given)
    assert not search.exhaustive and set(keys(search)) <= every
    assert 2 * search.found >= len(every)


# Why there is no route: the reason told is true by the reference that tries everything.


def faults(given: Layout) -> tuple[PathFault, ...]:
    """The reasons."""
    with pytest.raises(NoBeltPath) as caught:
        search_routes(given)
    return caught.value.faults


def without(given: Layout, name: str) -> Layout:
    """The same without a pulley."""
    rest = {key: p for key, p in given.pulleys.items() if key != name}
    return replace(given, pulleys=rest, route=tuple(rest))


def test_pulleys_that_overlap() -> None:
    (fault,) = faults(two(90.0))
    assert fault.pulleys == ("crank", "far") and "overlap by" in fault.got and "centres 90.00 mm apart" in fault.got


def test_a_pulley_that_no_span_comes_to() -> None:
    """A small pulley in a pocket: the others of 190 mm stand 200 mm apart round it, and every span to it cuts one."""
    shut = layout(
        pulley("crank", "crankshaft", 0, 0, 280), pulley("a", "fan", 300, 0, 290), pulley("b", "fan", 150, 260, 280),
        pulley("in", "fan", 150, 85, 20),
    )  # fmt: skip
    assert routes_by_trying(shut) == set()
    found = faults(shut)
    assert [fault.pulleys for fault in found] == [("in",)]


@for_each(0, 2, 3, 7)
def test_those_without_which_there_is_a_route(seed: int) -> None:
    given = scattered(seed, 6)
    expected = {name for name in given.pulleys if name != "p0" and routes_by_trying(without(given, name))}
    assert expected and routes_by_trying(given) == set()
    told = faults(given)
    assert {fault.pulleys for fault in told} == {(name,) for name in expected}
    assert all(f"without {fault.pulleys[0]}" in fault.got for fault in told)


def test_no_pulley_alone_is_to_blame() -> None:
    """By the reference there is no route either, whichever pulley is left out."""
    given = scattered(11, 6)
    assert not any(routes_by_trying(without(given, name)) for name in given.pulleys if name != "p0")
    (fault,) = faults(given)
    assert fault.pulleys == tuple(given.pulleys) and "nor round all but one" in fault.got


def test_a_beam_does_not_claim_that_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    narrowed(monkeypatch, 10, 5)
    (fault,) = faults(scattered(0, 9, open_sides=2))
    assert "not all were tried" in fault.got


# Routes once each, the most promising first.


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
