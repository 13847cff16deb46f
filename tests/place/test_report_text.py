"""The text of a map: it says what the map holds, in lines that fit."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest

from beltplan.place.pair import Proof, best_place
from beltplan.place.report import MOST_BELTS, counts_words, distance_mm, map_words, place_text, place_words
from beltplan.place.study import Grid, Place, PlaceMap, grid_of, place_map
from tests.drive.drives import with_pulley
from tests.place.drives import shipped


@cache
def _made() -> tuple[PlaceMap, Proof]:
    found = place_map(shipped("railcar"), "compressor", grid_of((-420.0, 40.0), (-180.0, 340.0), 12.0, None))
    best = best_place(found)
    assert best is not None
    return found, best


def test_counts_add_up() -> None:
    words = counts_words({"no path": 5, "no belt fits": 4, "problem": 3, "caution": 2, "sound": 1000})
    assert words == (
        "1,002 without a problem (1,000 of them without a caution), 3 with a problem, 4 where no belt on the list "
        "fits, 5 without a belt path"
    )


def test_the_report_tells_distance_and_direction_of_the_nearest() -> None:
    found, best = _made()
    text = " ".join(place_text(found, best).split())
    nearest = found.nearest(4)
    assert nearest is not None
    (x0, y0), (x1, y1) = found.present.at_mm[0], nearest[0].at_mm[0]
    toward = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0
    assert (
        f"the nearest place without a caution is {math.hypot(x1 - x0, y1 - y0):.1f} mm toward {toward:.0f} deg" in text
    )


def test_the_table_is_short_and_says_what_it_leaves_out() -> None:
    found, best = _made()
    lines = place_text(found, best).splitlines()
    first = lines.index("BELTS  the best place for each, best first") + 2
    rows = [line for line in lines[first:] if line.startswith("8PK")]
    assert len(rows) == min(MOST_BELTS, len(found.best_by_belt))
    assert f"and {len(found.best_by_belt) - MOST_BELTS} more belts: --json has them all" in " ".join(lines)
    assert rows[0].split()[0] == found.best_by_belt[0].belt
    assert max(map(len, lines)) <= 98


def test_a_place_in_words() -> None:
    place = Place(((1.0, 2.0),), "caution", "6PK1000", 0.5, margin=0.123, margin_of="wrap of crank")
    assert place_words(place) == (
        "no problem, but a caution, belt 6PK1000, adjuster at 50 %, worst margin 12 % (wrap of crank)"
    )
    assert place_words(replace(place, own_margin=0.4)).endswith("(wrap of crank), 40 % of what the place changes")
    assert place_words(Place(((1.0, 2.0),), "no belt fits")) == "no belt fits"


def test_loads_without_a_tension_are_said() -> None:
    """A V-belt without `stiffness_N`: its profile has no default, so no tension can be computed."""
    given = shipped("orchard_sprayer")
    given = replace(given, belt=replace(given.belt, stiffness_N=None))
    found = place_map(given, "pump_and_fan", grid_of((-30.0, 270.0), (0.0, 300.0), 15.0, None))
    assert "Slip is not on this map, though loads are given: give stiffness_N" in " ".join(
        place_text(found, best_place(found)).split()
    )


def test_moved_by() -> None:
    assert distance_mm(Place(((0.0, 0.0),), "sound"), Place(((3.0, 4.0),), "sound")) == 5.0


def test_nothing_works() -> None:
    found = place_map(shipped("workboat"), "alternator", Grid((-5.0, -5.0), (5.0, 5.0), 5.0))
    text = place_text(found, None)
    assert "BEST     none: every place on the map has a problem" in text and "BELTS" not in text
    assert map_words(found, None)[-1] == "Best: none, every place has a problem"


def test_what_no_place_changes_is_said_where_nothing_works() -> None:
    """An alternator that stands 100 rpm is a problem wherever it sits."""
    layout = with_pulley(shipped("workboat"), "alternator", max_rpm=100.0)
    found = place_map(layout, "alternator", Grid((170.0, 350.0), (180.0, 360.0), 5.0))
    lines = place_text(found, None).splitlines()
    first = lines.index("         at every place:")
    assert lines[first - 1] == "BEST     none: every place on the map has a problem"
    assert "100 allowed" in " ".join(lines[first : first + 4])


def test_the_picture_is_headed_by_title_counts_now_and_best() -> None:
    words = map_words(*_made())
    assert words[0] == shipped("railcar").title and words[1].startswith("Where compressor may sit: ")
    assert words[2].startswith("Now: x -238.0, y 232.0 mm") and words[3].startswith("Best: x ")


@pytest.mark.parametrize("at", [(0.0, 100.0)])
def test_a_present_place_without_a_path(at: tuple[float, float]) -> None:
    layout = with_pulley(shipped("railcar"), "alternator", at_mm=at)
    found = place_map(layout, "alternator", Grid((230.0, 290.0), (250.0, 310.0), 10.0))
    text = " ".join(place_text(found, best_place(found)).split())
    assert "NOW x 0.0, y 100.0 mm: no path; the nearest place without a problem is " in text
