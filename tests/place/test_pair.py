"""Two places at once: seeded, no worse than the present pair, and inside the box."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.place import pair as place_pair
from beltplan.place.pair import SEED, PairSearch, pair_search
from beltplan.place.study import bounds_of
from tests.place.drives import shipped

NAMES = ("alternator", "steering_pump")


@pytest.fixture(autouse=True)
def fewer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Enough to find something."""
    monkeypatch.setattr(place_pair, "DRAWS", 6000)
    monkeypatch.setattr(place_pair, "CLOSER_DRAWS", 1500)


def _search() -> PairSearch:
    return pair_search(shipped("workboat"), NAMES, *bounds_of(shipped("workboat")))


def test_the_same_seed_gives_the_same_answer() -> None:
    first, second = (replace(_search(), everywhere=()) for _ in range(2))
    assert first == second and first.seed == SEED


def test_the_best_pair_is_better_than_the_present_one_and_in_the_box() -> None:
    found = _search()
    assert found.best is not None and found.best.works
    assert found.best.margin is not None and found.present.margin is not None
    assert found.best.verdict == "sound" and found.best.margin >= found.present.margin
    for x, y in found.best.at_mm:
        assert found.low[0] <= x <= found.high[0] and found.low[1] <= y <= found.high[1]


def test_counts_are_of_the_draws_anywhere() -> None:
    found = _search()
    assert sum(found.counts.values()) == 6000
    assert found.draws == 6000 + 4 * 1500


def test_no_pair_at_all() -> None:
    found = pair_search(shipped("workboat"), NAMES, (5000.0, 5000.0), (5010.0, 5010.0))
    assert found.best is None or found.best == found.present
    assert found.counts["sound"] == found.counts["caution"] == 0


def test_progress_ends_with_the_last_round() -> None:
    told: list[float] = []
    pair_search(shipped("workboat"), NAMES, *bounds_of(shipped("workboat")), told.append)
    assert told == sorted(told) and told[-1] == pytest.approx(1.0)
