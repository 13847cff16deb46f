"""Pools of changes: which are picked out to be judged. Plain made-up shortfalls; the rules are the project's own."""

from __future__ import annotations

import numpy as np

from beltplan.cure.changes import Change
from beltplan.cure.moves import moved
from beltplan.cure.screen import NEARLY, Pool, Promise, Shortfall, as_it_stands, best_of, picked
from tests.cure.drives import route
from tests.for_each import for_each

NOTHING = as_it_stands(route("railcar"))


def change(number: int, size: float) -> Change:
    return moved(f"p{number}", (size, 0.0), False)


def pick(short: list[float], tight: list[float], sizes: list[float], most: int) -> list[str]:
    """Targets of the changes that are picked."""
    found = Shortfall(np.array(short), np.array(tight), np.zeros(len(short)))
    return [
        promise.change.target for promise in picked(Pool(((NOTHING, None),), np.array(sizes), change), found, 0.0, most)
    ]


def test_what_has_no_path_is_never_picked() -> None:
    assert pick([np.inf] * 3, [np.inf] * 3, [1.0, 2.0, 3.0], 5) == []
    assert pick([np.inf, 0.5], [np.inf, 0.7], [1.0, 2.0], 5) == ["p1"]


def test_half_are_spread_from_the_smallest_up_and_half_are_the_best() -> None:
    count = 20
    found = pick([0.0] * count, [1.0 - 0.01 * i for i in range(count)], [float(i) for i in range(count)], 6)
    assert found[:3] == ["p0", "p9", "p19"], "the smallest, the middle, the largest"
    assert found[3:] == ["p18", "p17", "p16"], "then those with most in hand"


def test_where_all_fall_short_the_nearest_are_picked() -> None:
    assert pick([0.9, 0.2, 0.5], [1.0, 0.3, 0.6], [1.0, 9.0, 2.0], 2) == ["p1", "p2"]


def test_the_best_of_several_pools() -> None:
    small = Promise(0.0, 0.5, change(0, 1.0))
    large = Promise(NEARLY, 0.4, change(1, 50.0))
    far = Promise(0.8, 0.9, change(2, 0.1))
    assert [each.target for each in best_of([far, large, small], 3)] == ["p0", "p1", "p2"]
    assert [each.target for each in best_of([far, large, small], 2)] == ["p0", "p1"]
    # The smallest and the most promising, half of each; of an odd number one small one more.
    every = [Promise(0.0, 1.0 - 0.01 * i, change(i, 1.0 + i)) for i in range(20)]
    assert [each.target for each in best_of(every, 6)] == ["p0", "p1", "p2", "p19", "p18", "p17"]
    assert [each.target for each in best_of(every, 7)] == ["p0", "p1", "p2", "p3", "p19", "p18", "p17"]


@for_each(1, 2, 5, 50)
def test_no_more_than_asked_for_and_each_once(most: int) -> None:
    found = pick([0.0] * 9, [0.1 * i for i in range(9)], [float(9 - i) for i in range(9)], most)
    assert len(found) == len(set(found)) == min(most, 9)
