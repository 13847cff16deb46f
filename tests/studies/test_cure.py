"""The search for cures: every cure listed is judged again by the spine alone, and where there is none it is said.

The order of the families is the project's own; that a problem is gone is what the checks say, not the search.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.checks.every_check import findings_of
from beltplan.studies.cure import MOST_LISTED, Cures, cures_of, listing
from beltplan.studies.cure_change import FAMILIES, disturbance, families_of, key_of
from beltplan.studies.cure_diameter import OtherDiameter
from beltplan.studies.cure_move import Moved
from beltplan.studies.cure_trial import Trial
from tests.studies.cure_drives import cures, layout_of, movable_railcar, problems_of


def searched(name: str) -> Cures:
    return movable_railcar() if name == "movable railcar" else cures(name)


@pytest.mark.parametrize("name", ["camper", "movable railcar"])
def test_every_cure_listed_has_no_problem_left(name: str) -> None:
    found = searched(name)
    assert found.before.count("problem") == (3 if name == "camper" else 1)
    assert 1 <= len(found.listed) <= MOST_LISTED
    assert found.nearest is None and not found.healthy
    for remedy in found.listed:
        assert problems_of(remedy.layout) == 0
        assert remedy.layout != found.layout


def test_the_camper_is_cured_by_one_idler_where_its_own_variant_has_it() -> None:
    best = cures("camper").best
    assert best is not None
    (change,) = best.changes
    assert (change.family, change.target) == ("idler", "house_alternator to crank, back")
    own = layout_of("camper", "with idler").route
    assert tuple("idler" if name == "added_idler" else name for name in best.layout.route) == own


def test_moving_is_listed_before_a_new_idler() -> None:
    found = movable_railcar()
    families = [families_of(remedy.changes) for remedy in found.listed]
    assert ("move",) in families and ("idler",) in families
    assert families.index(("move",)) < families.index(("idler",))
    assert [len(each.changes) for each in found.listed] == sorted(len(each.changes) for each in found.listed)


def test_a_move_stays_within_what_the_layout_allows() -> None:
    found = movable_railcar()
    moves = [change for remedy in found.listed for change in remedy.changes if isinstance(change, Moved)]
    assert moves
    for change in moves:
        assert np.hypot(*change.step_mm) <= found.layout.pulleys[change.target].movable_mm


def test_too_tight_is_not_cured_and_says_how_near_it_came() -> None:
    found = cures("too_tight")
    assert found.best is None and found.found == 0
    assert found.nearest is not None
    left = found.nearest.judged.count("problem")
    assert 0 < left < found.before.count("problem")
    assert left == problems_of(found.nearest.layout)
    tried = {tried.what: tried for tried in found.tried}
    assert list(tried) == [*FAMILIES, "pair"]
    assert tried["idler"].looked_at > 1000 and tried["pair"].judged > 50
    assert all(each.judged <= each.looked_at and each.cured == 0 for each in found.tried)


@pytest.mark.parametrize("name", ["railcar", "workboat", "orchard_sprayer"])
def test_a_layout_without_a_problem_is_left_alone(name: str) -> None:
    found = cures(name)
    assert found.healthy and found.tried == () and found.listed == ()


def test_a_named_belt_that_does_not_fit_is_cured_by_another() -> None:
    layout = layout_of("railcar")
    found = cures_of(replace(layout, belt=replace(layout.belt, length_mm=1900.0)))
    assert found.best is not None
    assert families_of(found.best.changes) == ("belt",)
    assert problems_of(found.best.layout) == 0
    assert found.best.judged.route.judged is not None


def test_progress_rises_to_no_more_than_all() -> None:
    shares: list[float] = []
    layout = layout_of("railcar")
    cures_of(replace(layout, belt=replace(layout.belt, length_mm=1900.0)), shares.append)
    assert shares == sorted(shares) and shares[0] > 0.0 and shares[-1] <= 1.0


def _trial(target: str, step: float, *more: str) -> Trial:
    changes = tuple(OtherDiameter(name, 100.0 + step, 100.0) for name in (target, *more))
    return Trial(changes, layout_of("railcar"), frozenset(), (0, 0))


def test_listing_takes_the_best_of_every_family_first_and_singles_before_pairs() -> None:
    near, far, pair = _trial("a", 5.0), _trial("b", 10.0), _trial("a", 1.0, "b")
    moved = Trial((Moved("a", (50.0, 0.0), False),), near.layout, frozenset(), (0, 0))
    assert listing([pair, moved, far, near]) == [near, moved, far, pair]


def test_disturbance_counts_changes_before_families_before_sizes() -> None:
    small, large, pair = _trial("a", 5.0).changes, _trial("a", 20.0).changes, _trial("a", 1.0, "b").changes
    moved = (Moved("a", (1.0, 0.0), False),)
    assert disturbance(small) < disturbance(large) < disturbance(moved) < disturbance(pair)
    assert key_of(small) == key_of(large) != key_of(moved)


def test_the_checks_are_those_of_check() -> None:
    """What is told of a cure is what `findings_of` says of the same layout anew."""
    best = cures("camper").best
    assert best is not None
    anew = findings_of(best.judged.route, best.judged.operation)
    assert [(f.check, f.subject) for f in anew] == [(f.check, f.subject) for f in best.judged.findings]
