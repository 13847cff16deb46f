"""Two places at once: seeded, no worse than the present pair, and inside the box."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from beltplan.api import plan_many
from beltplan.checks.comparison import ranks_of
from beltplan.checks.placing import may_be_off_mm
from beltplan.checks.plan import plan_of
from beltplan.geometry.vectors import TURN, from_angle
from beltplan.judging.stages import STATES, JudgedPlaces, moved
from beltplan.place import pair as place_pair
from beltplan.place.advice import advice_of
from beltplan.place.pair import PairSearch, _checked, _keep_largest, pair_search
from beltplan.place.report import place_answers
from beltplan.place.study import MARGIN_STEPS, Grid, map_grid, place_map
from tests.for_each import for_each
from tests.place.drives import shipped

NAMES = ("alternator", "steering_pump")


@pytest.fixture(autouse=True)
def fewer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Enough to find something."""
    monkeypatch.setattr(place_pair, "DRAWS", 4000)
    monkeypatch.setattr(place_pair, "CLOSER_DRAWS", 800)


def _searched() -> tuple[PairSearch, list[float]]:
    told: list[float] = []
    return pair_search(shipped("workboat"), NAMES, None, told.append), told


_once = cache(_searched)


def test_the_same_seed_gives_the_same_answer() -> None:
    (once, _), (again, _) = _once(), _searched()
    np.testing.assert_array_equal(once.shaded.classes, again.shaded.classes)
    assert [proof.place for proof in once.foremost] == [proof.place for proof in again.foremost]
    assert (once.counts, once.present, once.draws) == (again.counts, again.present, again.draws)


def test_the_map_of_the_first_holds_the_best_pair_of_every_place() -> None:
    """No cell is lighter than the best pair that stands in it, and the darkest is as dark as the best of all."""
    found, _ = _once()
    shaded = found.shaded
    for place in (proof.place for proof in found.foremost):
        column, row = (
            round((at - low) / shaded.grid.step_mm) for at, low in zip(place.at_mm[0], found.low, strict=True)
        )
        assert shaded.classes[row, column] >= np.digitize(place.own_margin or 0.0, MARGIN_STEPS)
    assert 0 < (shaded.classes >= 0).sum() < shaded.classes.size


def test_each_cell_holds_the_largest_margin_of_the_pairs_nearest_to_it() -> None:
    """Counted one by one; a pair is nearest to one cell, at the box's edges to the last, and outside of it to none."""
    rng, grid = np.random.default_rng(5), Grid((0.0, 0.0), (40.0, 20.0), 10.0)
    first = np.concatenate((rng.uniform(-8.0, 48.0, (400, 2)), [(40.0, 20.0), (0.0, 20.0), (40.0, 0.0)]))
    state, margin = rng.integers(0, len(STATES), len(first)), rng.uniform(-0.3, 0.9, len(first))
    state[-3:], margin[-3:] = STATES.index("sound"), (2.0, 3.0, 4.0)
    judged = SimpleNamespace(places=np.stack((first, first), axis=1), state=state, spread=lambda name: margin)
    largest, counted = np.full(grid.shape, -np.inf), np.full(grid.shape, -np.inf)
    _keep_largest(largest, grid, cast(JudgedPlaces, judged))
    for (x, y), each, own in zip(first.tolist(), state.tolist(), margin.tolist(), strict=True):
        if STATES[each] in ("caution", "sound") and 0.0 <= x <= 40.0 and 0.0 <= y <= 20.0:
            cells = [
                (abs(x - 10.0 * column) + abs(y - 10.0 * row), row, column) for row in range(3) for column in range(5)
            ]
            _, row, column = min(cells)
            counted[row, column] = max(counted[row, column], own)
    np.testing.assert_array_equal(largest, counted)


def test_the_best_pair_is_better_than_the_present_one_and_in_the_box() -> None:
    found, _ = _once()
    best = found.foremost[0].place
    assert best.works and best.margin is not None and found.present.margin is not None
    assert best.verdict == "sound" and best.margin >= found.present.margin
    for x, y in best.at_mm:
        assert found.low[0] <= x <= found.high[0] and found.low[1] <= y <= found.high[1]


def test_the_best_place_of_each_alone_is_among_the_pairs() -> None:
    """As `place` finds it with the other where it stands: to move more can never be worse."""
    (found, _), layout = _once(), shipped("workboat")
    for i, name in enumerate(NAMES):
        best = advice_of(place_map(layout, name, map_grid(layout, name))).move
        assert best is not None
        pair = tuple(best.place.at_mm[0] if i == j else at for j, at in enumerate(found.present.at_mm))
        (proof,) = [each for each in found.foremost if each.place.at_mm == pair]
        assert ranks_of([found.foremost[0].plan.rank_key, proof.plan.rank_key])[0] == 1
        other = NAMES[1 - i]
        words = dict(place_answers(found, replace(found.advice, best=proof)))["BEST"]
        assert f"{other} stays at x " in words and f"{name} x " in words


def test_how_far_either_stays_good_is_that_of_the_less_sure_of_the_two() -> None:
    """`plan_many` on rings of 96 places round each, the other at its best place: worse first round one of them."""
    (found, _), layout = _once(), shipped("workboat")
    best = found.advice.best
    assert best is not None and best.stays is not None and best.stays.at_most_mm is not None
    unit, worse = from_angle(np.linspace(0.0, TURN, 96, endpoint=False)), []
    for share, reach_mm in ((0.9, best.stays.at_least_mm), (1.0, best.stays.at_most_mm)):
        for i, name in enumerate(NAMES):
            held = moved(layout, (NAMES[1 - i],), (best.place.at_mm[1 - i],))
            verdicts = plan_many(held, name, np.array(best.place.at_mm[i]) + share * reach_mm * unit).verdict
            worse.append(
                bool(np.any(verdicts != "sound" if best.caution else ~np.isin(verdicts, ("sound", "caution"))))
            )
    assert worse[:2] == [False, False] and any(worse[2:])
    assert found.advice.needed_mm == max(may_be_off_mm(layout, name) for name in NAMES)
    assert found.advice.robust is (best.stays.at_least_mm >= found.advice.needed_mm)


@for_each(0.1, -0.1)
def test_of_pairs_that_rank_alike_the_one_with_more_of_its_own_margin_is_best(more: float) -> None:
    present = _once()[0].present
    (first, second), own = present.at_mm, present.own_margin
    assert own is not None
    other = replace(present, at_mm=((first[0] + 1e-9, first[1]), second), own_margin=own + more)
    _, proofs = _checked(shipped("workboat"), NAMES, present, [other])
    assert [proof.place for proof in proofs] == ([other, present] if more > 0.0 else [present, other])


def test_counts_are_of_the_draws_anywhere() -> None:
    found, _ = _once()
    assert sum(found.counts.values()) == 4000
    assert found.draws == 4000 + 4 * 800


def test_no_pair_at_all() -> None:
    found = pair_search(shipped("workboat"), NAMES, ((5000.0, 5000.0), (5010.0, 5010.0)))
    assert [proof.place for proof in found.foremost] in ([], [found.present])
    assert found.counts["sound"] == found.counts["caution"] == 0
    assert (found.shaded.classes == -1).all() and found.shaded.reached is None


def test_progress_ends_with_the_last_round() -> None:
    _, told = _once()
    assert told == sorted(told) and told[-1] == pytest.approx(1.0)


def test_the_ten_best_are_checked_in_full_and_ranked_as_compare_ranks() -> None:
    (found, _), layout = _once(), shipped("workboat")
    proofs, keys = found.foremost, [proof.plan.rank_key for proof in found.foremost]
    assert 10 <= len(proofs) <= 13 and len({proof.place.at_mm for proof in proofs}) == len(proofs)
    assert ranks_of(keys) == tuple(sorted(ranks_of(keys))) and not any(key.problems for key in keys)
    assert ranks_of([plan_of(layout).rank_key, keys[0]])[1] == 1
    for proof in proofs:
        assert proof.plan.verdict.startswith("works on paper") and proof.place.works


def test_the_present_pair_is_checked_once_and_only_where_it_has_a_path() -> None:
    found, _ = _once()
    best = found.foremost[0].place
    lost = replace(found.present, at_mm=((0.0, 0.0), (0.0, 0.0)))
    for present, path in ((best, True), (lost, False)):
        now, proofs = _checked(shipped("workboat"), NAMES, present, [best])
        assert [proof.place for proof in proofs] == [best] and (now is not None) == path
