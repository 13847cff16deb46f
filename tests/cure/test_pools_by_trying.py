"""Pools of changes against every change written out by hand, in plain loops."""

import math
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from beltplan.cure.moves import _orders, idlers, moves, other_orders
from beltplan.cure.screen import as_it_stands, picked, screen_of
from beltplan.drive.layout import Units
from beltplan.drive.route import route_of
from tests.cure.drives import route
from tests.for_each import for_each

GRIDS: dict[Units, float] = {"mm": 1.0, "in": 25.4 / 16.0}


def _rounded(along: float) -> set[int]:
    """To whole steps; a half goes either way."""
    return {round(along - 1e-9), round(along + 1e-9)}


@for_each((0.9, "mm"), (1.0, "mm"), (4.0, "mm"), (12.0, "mm"), (30.0, "mm"), (1.5, "in"), (10.0, "in"))
def test_steps_of_a_move_are_twelve_rings_of_twenty_four_ways_on_the_grid(most_mm: float, units: Units) -> None:
    layout = route("railcar").layout
    base = as_it_stands(route("railcar"))
    pulleys = tuple(replace(p, movable_mm=most_mm if p.name == "alternator" else 0.0) for p in base.pulleys)
    pool, grid = moves(replace(base, pulleys=pulleys), units), GRIDS[units]
    surely, either = set(), set()
    for ring, way in product(range(1, 13), range(24)):
        far, angle = most_mm * ring / 12.0 / grid, math.radians(15.0 * way)
        along = [far * math.cos(angle), far * math.sin(angle)]
        ways = {(x, y) for x in _rounded(along[0]) for y in _rounded(along[1])}
        good = {step for step in ways if 0.0 < math.hypot(*step) * grid <= most_mm + 1e-9}
        either |= good
        surely |= good if len(ways) == 1 else set()
    if most_mm < grid:
        assert pool is None
        return
    assert pool is not None and pool.sizes is not None
    own = layout.pulleys["alternator"].at_mm or (0.0, 0.0)
    found = set()
    for number, size in enumerate(pool.sizes.tolist()):
        at = pool.change(number, size).applied(layout).pulleys["alternator"].at_mm
        assert at is not None and size == pytest.approx(math.dist(at, own), abs=1e-5)
        found.add((round((at[0] - own[0]) / grid), round((at[1] - own[1]) / grid)))
        assert (at[0] - own[0]) / grid == pytest.approx(round((at[0] - own[0]) / grid), abs=1e-5)
    assert surely <= found <= either and len(found) == len(pool.sizes)


@for_each(8, 9, 11)
def test_of_many_pulleys_two_change_places_or_one_goes_elsewhere(count: int) -> None:
    own = tuple(range(count))
    wanted = set()
    for i, j in combinations(range(1, count), 2):
        order = list(own)
        order[i], order[j] = own[j], own[i]
        wanted.add(tuple(order))
    for i in range(1, count):
        rest = [k for k in own if k != i]
        wanted |= {tuple([*rest[:j], i, *rest[j:]]) for j in range(1, count)}
    found = list(_orders(count))
    assert len(found) == len(set(found)) and set(found) == wanted - {own, (0, *own[:0:-1])}


def test_an_order_is_as_large_a_change_as_it_has_spans_that_were_not_there() -> None:
    laid = route("camper")
    names = [pulley.name for pulley in laid.pulleys]
    before = {frozenset(pair) for pair in zip(names, [*names[1:], names[0]], strict=True)}
    found, _ = other_orders(as_it_stands(laid), screen_of(laid, None))
    assert found
    for change in found:
        order = change.applied(laid.layout).route
        after = {frozenset(pair) for pair in zip(order, [*order[1:], order[0]], strict=True)}
        assert change.size == len(after - before) > 0
        assert change.words == f"lead the belt in the order {', '.join(order)}"


def test_an_added_idler_stands_on_the_grid_between_its_neighbours_and_in_their_plane() -> None:
    """As its centre divides the way between theirs; shims of a tenth of a mm."""
    laid = route("railcar")
    layout = laid.layout
    planes = {name: float(i) for i, name in enumerate(layout.route)}
    pulleys = {name: replace(p, plane_mm=planes.get(name, p.plane_mm)) for name, p in layout.pulleys.items()}
    layout = replace(layout, pulleys=pulleys)
    base = as_it_stands(route_of(layout))
    names = [pulley.name for pulley in base.pulleys]
    seen = 0
    for pool in idlers(layout, base, one_size=True):
        change = pool.change(7, 2.5)
        ends, _, side = change.target.rpartition(", ")
        start, end = ends.split(" to ")
        assert names[(names.index(start) + 1) % len(names)] == end and change.size == 2.5
        made = change.applied(layout)
        (new,) = set(made.pulleys) - set(layout.pulleys)
        own, at = made.pulleys[new], made.route.index(new)
        assert {made.route[at - 1], made.route[(at + 1) % len(made.route)]} == {start, end}
        assert own.belt_side == side and own.role == "idler" and own.at_mm is not None
        assert all(abs(along - round(along)) < 1e-6 for along in own.at_mm)
        assert own.grooves == (layout.belt.ribs if side == "ribbed" else None)
        centres = [base.centre[names.index(name)] for name in (start, end)]
        first, second = (math.dist(own.at_mm, centre) for centre in centres)
        wanted = (planes[start] * second + planes[end] * first) / (first + second)
        assert own.plane_mm == pytest.approx(wanted, abs=0.0501)
        assert abs(round(10.0 * (own.plane_mm or 0.0)) - 10.0 * (own.plane_mm or 0.0)) < 1e-6
        seen += 1
    assert seen == 2 * len(names)


def test_the_best_of_a_pool_are_evenly_far_and_the_safest() -> None:
    """Of those that fall short of little, half evenly from the smallest to the largest; the others by their margin."""
    laid = route("railcar")
    base, screen = as_it_stands(laid), screen_of(laid, None)
    pools = ((pool, screen.over(pool.parts)) for pool in idlers(laid.layout, base, one_size=True))
    pool, short = max(pools, key=lambda each: int((each[1].short <= 0.03).sum()))
    sizes = np.abs(short.length_mm - float(laid.loop.length))
    found = picked(pool, short, float(laid.loop.length), 8)
    near = np.flatnonzero(short.short <= 0.03)
    assert len(found) == 8 and len(near) > 8
    told = [promise.change.size for promise in found]
    assert told[0] == pytest.approx(sizes[near].min(), abs=1e-3)
    assert told[3] == pytest.approx(sizes[near].max(), abs=1e-3) and told[:4] == sorted(told[:4])
    safest = sorted(zip(short.tight.tolist(), np.round(sizes, 3).tolist(), strict=True))
    others = [pair for pair in safest if pair[1] not in told[:4]]
    assert told[4:] == pytest.approx([size for _, size in others[:4]], abs=1e-3)
