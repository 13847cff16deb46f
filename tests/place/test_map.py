"""Best, nearest and counts of a map, recomputed from its places one by one."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest

from beltplan.drive.belt import format_designation
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.study import CAUTION, RULE, SOUND, STATES, Place, PlaceMap, grid_of, place_map, place_of
from tests.drive.drives import with_pulley
from tests.place.drives import DRIVES, shipped


@lru_cache(maxsize=2)
def _map() -> PlaceMap:
    layout = with_pulley(shipped("railcar"), "alternator", load=None)  # else a caution at every place
    grid = grid_of((-420.0, 40.0), (-180.0, 340.0), 12.0, None)
    return place_map(layout, "compressor", grid)


def _places() -> list[Place]:
    return [place_of(_map().judged, i) for i in range(_map().grid.count)]


def test_counts() -> None:
    verdicts = [place.verdict for place in _places()]
    assert _map().counts == {state: verdicts.count(state) for state in STATES}
    assert sum(count > 0 for count in _map().counts.values()) >= 4


def test_the_best_place_is_the_first_by_the_rule() -> None:
    found = place_of(_map().judged, int(_map().working()[0]))
    works = [place for place in _places() if place.works]
    assert found.margin is not None
    free = [place for place in works if place.verdict == "sound"]
    assert free and found.verdict == "sound"
    assert found.margin == pytest.approx(max(place.margin or -math.inf for place in free), abs=1e-6)
    equal = [place for place in free if place.margin is not None and abs(place.margin - found.margin) < 1e-6]
    assert found.own_margin == pytest.approx(max(place.own_margin or -math.inf for place in equal), abs=1e-6)


def test_the_best_for_each_belt() -> None:
    by_belt = {place.belt: place for place in _map().best_by_belt}
    assert set(by_belt) == {place.belt for place in _places() if place.works} and len(by_belt) > 5
    for belt, best in by_belt.items():
        rivals = [place for place in _places() if place.works and place.belt == belt]
        assert max(rivals, key=_key) == best or _key(max(rivals, key=_key)) == pytest.approx(_key(best), abs=1e-6)
    assert _map().best_by_belt[0] == place_of(_map().judged, int(_map().working()[0]))


def _key(place: Place) -> tuple[float, float, float]:
    margins = [math.inf if m is None else round(m, 6) for m in (place.margin, place.own_margin)]
    return (STATES.index(place.verdict), margins[0], margins[1])


@pytest.mark.parametrize("state", [CAUTION, SOUND])
def test_the_nearest_place(state: int) -> None:
    found, present = _map().nearest(state), _map().present
    assert found is not None
    if STATES.index(present.verdict) >= state:
        assert found == (present, 0.0)
        return
    away = [math.dist(p.at_mm[0], present.at_mm[0]) for p in _places() if STATES.index(p.verdict) >= state]
    assert found[1] == pytest.approx(min(away)) and math.dist(found[0].at_mm[0], present.at_mm[0]) == found[1]


def test_the_present_place_is_the_layouts_own() -> None:
    present = _map().present
    assert present.at_mm == (shipped("railcar").pulleys["compressor"].at_mm,)
    assert present.belt == "8PK2050"


def test_nothing_works_anywhere() -> None:
    layout, pulley = DRIVES["no adjuster"]
    found = place_map(layout, pulley, grid_of((2000.0, 0.0), (2010.0, 10.0), 5.0, None))
    assert not len(found.working()) and found.best_by_belt == () and found.nearest(SOUND) is None
    assert found.counts["no belt fits"] == 9


def test_fields_lie_row_by_row() -> None:
    belt = _map().field("belt")
    rows, columns = np.nonzero(belt >= 0)
    number = int(rows[0] * belt.shape[1] + columns[0])
    place = place_of(_map().judged, number)
    x, y = _map().grid.x_mm[columns[0]], _map().grid.y_mm[rows[0]]
    np.testing.assert_allclose(place.at_mm[0], (x, y))
    assert place.belt == format_designation(_map().judged.belts[int(belt[rows[0], columns[0]])])


def test_an_adjusted_pulley_has_no_place_of_its_own() -> None:
    with pytest.raises(ValueError, match="tensioner"):
        place_map(shipped("railcar"), "tensioner", grid_of((0.0, 0.0), (1.0, 1.0), 1.0, None))


def test_a_present_place_without_a_path_is_told() -> None:
    layout = with_pulley(shipped("railcar"), "alternator", at_mm=(0.0, 100.0))
    found = place_map(layout, "alternator", grid_of((230.0, 290.0), (250.0, 310.0), 10.0, None))
    assert found.present == Place(((0.0, 100.0),), "no path")
    nearest = found.nearest(CAUTION)
    assert nearest is not None and nearest[1] > 200.0


def test_a_place_that_lacks_more_of_its_reserves_is_never_the_better_one() -> None:
    """The named belt lacks a little where the pulley stands; places that lack far more have better wraps."""
    given = read_layout("tests/cases/hand_set_1425.yaml", None).layout
    found = place_map(given, "crank", grid_of((-30.0, -30.0), (30.0, 30.0), 6.0, None))
    best, present = found.best_by_belt[0], found.present
    assert best.reserve_mm is not None and present.reserve_mm is not None
    assert present.reserve_mm < 0.0 <= best.reserve_mm and present.margin_of == "reserve of the belt"
    reserves = found.judged.spread("reserve_mm")[found.working()]
    assert (reserves < -15.0).any() and (reserves >= 0.0).any()
    # A good belt before a marginal one, and of marginal ones that which lacks less (the windows are about as wide).
    assert np.all(np.diff((reserves < 0.0).astype(int)) >= 0)
    lacking = reserves[reserves < 0.0]
    assert np.corrcoef(np.arange(len(lacking)), lacking)[0, 1] < -0.9


def test_the_rule_says_that_reserves_count() -> None:
    assert "what a belt lacks of its reserves counts too" in RULE
