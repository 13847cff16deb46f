"""Best, nearest and counts of a map, recomputed from its places one by one."""

import csv
import math
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from beltplan.checks.limits import LIMITS, NONE, PROBLEM, Bound, Kind
from beltplan.drive import travel as drive_travel
from beltplan.drive.belt import format_designation
from beltplan.drive.travel import circuit_of, travel_of, travel_round
from beltplan.geometry.vectors import Bools, Floats
from beltplan.judging.judge import Freed, Tally, freed_of
from beltplan.judging.stages import CAUTION, RULE, SOUND, STATES, Place, judged_places
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.study import Grid, PlaceMap, bounds_of, grid_of, place_map
from beltplan.place.table import place_csv
from tests.drive.drives import fixed, on_slide, with_pulley
from tests.for_each import for_each
from tests.place.drives import DRIVES, moved_to, places_round, shipped


@lru_cache(maxsize=2)
def _map() -> PlaceMap:
    layout = with_pulley(shipped("railcar"), "alternator", load=None)  # else a caution at every place
    grid = grid_of((-420.0, 40.0), (-180.0, 340.0), 12.0, None)
    return place_map(layout, "compressor", grid)


def _places() -> list[Place]:
    return [_map().judged.place(i) for i in range(_map().grid.count)]


def test_counts() -> None:
    verdicts = [place.verdict for place in _places()]
    assert _map().counts == {state: verdicts.count(state) for state in STATES}
    assert sum(count > 0 for count in _map().counts.values()) >= 4


def test_the_best_place_is_the_first_by_the_rule() -> None:
    found = _map().judged.place(int(_map().working()[0]))
    works = [place for place in _places() if place.works]
    assert found.margin is not None
    free = [place for place in works if place.verdict == "sound"]
    assert free and found.verdict == "sound"
    assert _key(found) == max(map(_key, free))


def test_the_best_for_each_belt() -> None:
    by_belt = {place.belt: place for place in _map().best_by_belt}
    assert set(by_belt) == {place.belt for place in _places() if place.works} and len(by_belt) > 5
    for belt, best in by_belt.items():
        rivals = [place for place in _places() if place.works and place.belt == belt]
        assert _key(best) == max(map(_key, rivals))
    assert _map().best_by_belt[0] == _map().judged.place(int(_map().working()[0]))


def _key(place: Place) -> tuple[float, ...]:
    told = [math.inf if m is None else round(m, 3) for m in (place.margin, place.own_margin)]
    room, moved = place.room_mm, math.dist(place.at_mm[0], _map().present.at_mm[0])
    return (STATES.index(place.verdict), place.belt is not None, *told, round(room or 0.0, 1), -round(moved, 6))


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
    place = _map().judged.place(number)
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
    assert "What the belt lacks of its reserves counts too" in RULE


# The grid: bounds, count, and a place that it must go through.


def test_rows_columns_and_both_ends() -> None:
    grid = Grid((0.0, 10.0), (1.0, 10.4), 0.1)
    assert grid.shape == (5, 11) and grid.count == 55
    points = grid.points()
    np.testing.assert_allclose(points[[0, 10, 11, -1]], [(0.0, 10.0), (1.0, 10.0), (0.0, 10.1), (1.0, 10.4)])


def test_about_forty_thousand_places_through_the_present_one() -> None:
    grid = grid_of((-313.0, -95.0), (422.0, 623.0), None, (243.0, 299.0))
    assert 36_000 < grid.count < 44_000
    away = np.hypot(*(grid.points() - np.array([243.0, 299.0])).T)
    assert away.min() == pytest.approx(0.0, abs=1e-9)
    assert grid.low[0] >= -313.0 and grid.low[0] < -313.0 + grid.step_mm


def test_a_box_of_ones_own_begins_at_its_corner() -> None:
    grid = grid_of((5.0, 7.0), (9.0, 8.0), 2.0, None)
    np.testing.assert_allclose(grid.points(), [(5.0, 7.0), (7.0, 7.0), (9.0, 7.0)])


def test_bounds_hold_every_rim_and_150_mm_more() -> None:
    """Two pulleys of 100 mm effective diameter, rims 0.385 mm less across, centres 300 mm apart."""
    (x0, y0), (x1, y1) = bounds_of(fixed())
    rim = 50.0 - 0.385 / 2.0
    np.testing.assert_allclose([x0, y0, x1, y1], [-rim - 150.0, -rim - 150.0, 300.0 + rim + 150.0, rim + 150.0])


def test_bounds_hold_the_adjusted_pulley_at_both_stops() -> None:
    _, (right, _) = bounds_of(on_slide(end=(400.0, 0.0)))
    assert right == pytest.approx(400.0 + 50.0 - 0.385 / 2.0 + 150.0)


# The table of a map: its numbers are those of the map, rounded as stated, whatever their size and sign.


WORKBOAT = read_layout("layouts/workboat.yaml", None).layout
ODD = (math.nan, math.inf, 0.0, -0.0, -0.04, 0.05, 9.96, -9.96, 99.949, 1234567.89, -1e-9, -130.0)
"""Values that letters go wrong with: nothing, no sign, a digit more by rounding."""


def test_numbers_in_the_table_are_those_of_the_map() -> None:
    """Read back by csv and float() of Python: at most half a digit off, with as many decimals as stated."""
    found = place_map(WORKBOAT, "alternator", grid_of((100.0, 200.0), (280.0, 380.0), 45.0, None))
    ((freed, way), *others) = found.judged.ways
    odd = np.resize(ODD, len(way))
    judged = replace(found.judged, ways=((freed, replace(way, rim_gap_mm=odd)), *others))
    text = b"".join(place_csv(replace(found, judged=judged))).decode()
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == found.grid.count and len(way) >= len(ODD) and text.endswith("\n")
    for row, value, x in zip(rows, judged.spread("rim_gap_mm"), judged.places[:, 0, 0], strict=False):
        shown = row["rim_gap_mm"]
        if math.isfinite(value):
            assert re.fullmatch(r"-?\d+\.\d", shown) and abs(float(shown) - value) <= 0.05 + 1e-9
            assert shown != "-0.0"
        else:
            assert shown == ""
        assert abs(float(row["x_mm"]) - x) <= 5e-5 + 1e-9


# A bound judges arrays value by value, and the tally of places keeps the worst.


BOUNDS = [*LIMITS.values(), Bound("lower", 0.0, "mm", "own"), Bound("upper", 0.0, "mm", "own")]
SHARES = np.array([-0.5, 0.0, 0.5, 0.79, 0.9, 0.9091, 0.95, 0.999, 1.0, 1.001, 1.05, 1.0999, 1.1, 1.2, 2.0, 2.5])


@for_each(*BOUNDS, ids=lambda bound: f"{bound.kind} {bound.limit:g} {bound.unit}")
def test_arrays_are_judged_value_by_value(bound: Bound) -> None:
    values = SHARES * (bound.limit or 1.0)
    tally = Tally(len(values))
    tally.judge(values, bound, "it")
    np.testing.assert_array_equal(bound.severity(values.reshape(4, 4)).ravel(), tally.severity)
    for value, severity in zip(values, tally.severity, strict=True):
        verdict = bound.verdict(float(value))
        assert [None, "caution", "problem"][severity] == (verdict and verdict[0])


@pytest.mark.parametrize(("kind", "value"), [("lower", 8.0), ("upper", 12.0)])
def test_a_shortfall_is_the_margin_beyond_the_limit(kind: Kind, value: float) -> None:
    bound = Bound(kind, 10.0, "mm", "own")
    np.testing.assert_allclose(bound.shortfall(np.array([value, 10.0, 20.0 - value])), [0.2, 0.0, 0.0])
    np.testing.assert_allclose(bound.margin(np.array([value, 10.0, 20.0 - value])), [-0.2, 0.0, 0.2])
    # Of a limit of nothing there is no share: what is beyond it counts by itself.
    assert Bound("lower", 0.0, "mm", "own").shortfall(np.array([-1.0, 1.0])).tolist() == [1.0, 0.0]


@pytest.mark.parametrize("kind", ["lower", "upper"])
def test_at_the_very_limit(kind: Kind) -> None:
    """A limit holds at its own number, unless it is said to be reached there; what is no number never holds."""
    just = np.array([10.0, np.nan])
    held, reached = (Bound(kind, 10.0, "mm", "own", caution=10.0, reached=reached) for reached in (False, True))
    assert held.severity(just).tolist() == [NONE, PROBLEM] and reached.severity(just).tolist() == [PROBLEM, PROBLEM]


def test_the_smallest_margin_keeps_its_name() -> None:
    """Lower limit 10: 15 has half a limit in hand, 11 a tenth, 8 lacks a fifth."""
    bound, tally = Bound("lower", 10.0, "mm", "own"), Tally(3)
    tally.judge(np.array([15.0, 11.0, 8.0]), bound, "first")
    tally.judge(np.array(12.0), bound, "second")
    np.testing.assert_allclose(tally.margin, [0.2, 0.1, -0.2])
    assert tally.worst.tolist() == ["second", "first", "first"]
    np.testing.assert_allclose(tally.own_margin, [0.5, 0.1, -0.2])
    assert tally.severity.tolist() == [NONE, NONE, PROBLEM]
    # Where the place does not decide a value, that is no margin of its own.
    tally.judge(np.full(3, 5.0), bound, "third", own=np.array([False, True, False]))
    np.testing.assert_allclose(tally.margin, [-0.5] * 3)
    np.testing.assert_allclose(tally.own_margin, [0.5, -0.5, -0.2])
    assert tally.own_worst.tolist() == ["first", "third", "first"]


def test_what_has_no_name_counts_for_no_margin() -> None:
    tally = Tally(1)
    tally.judge(np.array([9.0]), Bound("lower", 10.0, "mm", "own"))
    assert tally.severity[0] == PROBLEM and tally.worst[0] == "" and np.isinf(tally.margin[0])


# The usable travel at many places against `travel_of` of each layout by itself, cut short or whole.


CUTTING = ("seven pulleys, beside the arm", "beside an arm, obstacles", "the driver", "V-belt on a slide")


def _mover(name: str) -> Freed:
    layout, pulley = DRIVES[name]
    return freed_of(layout, (pulley,), ())


def _sound(mover: Freed, places: Floats) -> Bools:
    return mover.at(places).sound_at(mover.circuit.nominal, frozenset(mover.indices))


@for_each(*CUTTING)
def test_the_same_travel_as_alone(name: str) -> None:
    mover = _mover(name)
    places = places_round(mover.layout, 800, 5)[:, None]
    places = places[_sound(mover, places)]
    travels = travel_round(mover.at(places), mover.circuit.nominal)
    # All that are cut, and some that are whole.
    cut = np.flatnonzero(~travels.whole)
    assert len(cut) > 3
    for i in (*cut[:20], *np.flatnonzero(travels.whole)[:8]):
        layout = moved_to(mover.layout, DRIVES[name][1], places[i, 0])
        alone = travel_of(circuit_of(layout))
        assert alone is not None and alone.whole == travels.whole[i] and alone.at_nominal
        low, high = sorted((alone.short, alone.long))
        span = abs(np.subtract(*mover.circuit.adjuster.travel)) if mover.circuit.adjuster else 1.0
        assert travels.low[i] == pytest.approx(low, abs=1e-8 * span)
        assert travels.high[i] == pytest.approx(high, abs=1e-8 * span)


def test_sampling_finely_everywhere_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Law: places taken on nine samples have the travel that 121 give."""
    mover = _mover("seven pulleys, beside the arm")
    places = places_round(mover.layout, 2500, 8)[:, None]
    places = places[_sound(mover, places)]
    few = travel_round(mover.at(places), mover.circuit.nominal)
    monkeypatch.setattr(drive_travel, "FEW", 121)
    many = travel_round(mover.at(places), mover.circuit.nominal)
    np.testing.assert_array_equal(few.whole, many.whole)
    np.testing.assert_allclose(few.low, many.low, atol=1e-8)
    np.testing.assert_allclose(few.high, many.high, atol=1e-8)
    assert len(places) > 300


def test_a_path_through_the_place_of_another_pulley_is_none() -> None:
    mover = _mover("seven pulleys, far from the arm")
    at = np.array([[shipped("railcar").pulleys["crank"].at_mm], [shipped("railcar").pulleys["alternator"].at_mm]])
    assert _sound(mover, at).tolist() == [False, True]


def test_what_stays_must_leave_a_path() -> None:
    layout, pulley = DRIVES["seven pulleys, far from the arm"]
    here = np.array([[layout.pulleys[pulley].at_mm]])
    # The guide put on top of the crankshaft: whatever the alternator does, two rims overlap.
    stuck = moved_to(layout, "guide", (0.0, 0.0))
    states = [STATES[judged_places(given, (pulley,), here).state[0]] for given in (layout, stuck)]
    assert states[0] != "no path" and states[1] == "no path"
