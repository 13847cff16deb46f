"""Belts that do not fit, on two pulleys of 100 mm: path 2 x distance + 100 pi, plane geometry."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from beltplan.checks.belt import good_words, none_put_on_words
from beltplan.drive.belt import Belt, parse_designation
from beltplan.drive.fit import seat_mm
from beltplan.drive.layout import Layout
from beltplan.drive.route import shortest_move
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import belt_of, found, layout, pulley, route, sagging, sliding, two
from tests.for_each import for_each

SHORTEST, LONGEST = 600.0 + 100.0 * math.pi, 720.0 + 100.0 * math.pi
"""Path at the ends of the slide of `sliding`."""


def stock(*designations: str) -> tuple[Belt, ...]:
    """Belts that can be bought."""
    return tuple(parse_designation(text) for text in designations)


def test_no_stock_belt_in_the_window() -> None:
    given = sliding(stock=stock("6PK900", "6PK880", "6PK1040", "6PK1100"))
    (finding,) = found(given, "belt_fit")
    assert finding.severity == "problem"
    assert f"{SHORTEST:.1f} to {LONGEST:.1f} mm" in finding.message
    assert f"6PK900 is {SHORTEST - 900.0:.1f} mm too short" in finding.message
    assert f"6PK1040 is {1040.0 - LONGEST:.1f} mm too long" in finding.message
    assert not {"6PK880", "6PK1100"} & set(re.findall(r"6PK\d+", finding.message))
    assert route(given).designation is None
    assert finding.value == 1040.0 and finding.limit == pytest.approx(LONGEST)


@pytest.mark.parametrize(("off", "expected"), [(0.01, []), (-0.01, ["problem"])])
@pytest.mark.parametrize("end", ["short", "long"])
def test_a_named_belt_at_either_end_of_the_window(off: float, expected: list[str], end: str) -> None:
    length = SHORTEST + off if end == "short" else LONGEST - off
    given = belt_of(length, sliding())
    findings = found(given, "belt_fit")
    assert [f.severity for f in findings] == expected
    assert all(
        f.value == length and f.limit == pytest.approx(SHORTEST if end == "short" else LONGEST) for f in findings
    )


@pytest.mark.parametrize(
    ("length", "word", "off", "distance"),
    [
        (900.0, "short", SHORTEST - 900.0, 300.0),
        (914.0, "short", SHORTEST - 914.0, 300.0),
        (1035.0, "long", 1035.0 - LONGEST, 360.0),
        (1100.0, "long", 1100.0 - LONGEST, 360.0),
    ],
)
def test_a_named_belt_outside_is_judged_at_the_nearer_end(
    length: float, word: str, off: float, distance: float
) -> None:
    given = belt_of(length, sliding(stock=stock("6PK950")))
    laid = route(given)
    (finding,) = found(given, "belt_fit")
    assert f"{off:.1f} mm too {word}" in finding.message
    assert laid.length_mm == length and laid.designation == f"6PK{length:.0f}"
    assert laid.loop.span == pytest.approx([distance, distance], abs=1e-6)


def test_what_fits_is_no_finding() -> None:
    assert found(sliding(stock=stock("6PK970")), "belt_fit") == []


def test_without_adjuster_the_nearest_belts_on_both_sides_are_told() -> None:
    # Path 914.2 mm; the length tolerance of 5 mm (from memory, medium confidence) takes neither.
    given = two(300.0, stock=stock("6PK900", "6PK905", "6PK925", "6PK930"))
    (finding,) = found(given, "belt_fit")
    assert "6PK905 is 9.2 mm too short and 6PK925 is 10.8 mm too long" in finding.message
    assert (finding.severity, finding.value) == ("problem", 905.0) and finding.limit == pytest.approx(SHORTEST)


@for_each((4.95, True), (5.05, False), (-4.95, True), (-5.05, False))
def test_without_adjuster_a_belt_fits_by_its_tolerance(off: float, fits: bool) -> None:
    given = belt_of(SHORTEST + off, two(300.0))
    assert (found(given, "belt_fit") == []) is fits


# A stretch-fit belt of length L takes paths from L (1 + least) to L (1 + most): what the layout itself says of it.
@for_each(
    (SHORTEST / 1.005 + 0.01, False), (SHORTEST / 1.005 - 0.01, True), (SHORTEST / 1.015 + 0.01, True),
    (SHORTEST / 1.015 - 0.01, False),
)  # fmt: skip
def test_stretch_fit_at_either_end_of_its_band(length: float, fits: bool) -> None:
    given = belt_of(length, two(300.0), stretch_fit=(0.005, 0.015))
    assert (found(given, "belt_fit") == []) is fits
    assert found(given, "reserve") == []


def moved(given: Layout, name: str, distance: float, direction_rad: float) -> Layout:
    """The layout with one pulley somewhere else."""
    x, y = given.pulleys[name].at_mm or (math.nan, math.nan)
    at = (x + distance * math.cos(direction_rad), y + distance * math.sin(direction_rad))
    return replace(given, pulleys={**given.pulleys, name: replace(given.pulleys[name], at_mm=at)})


DRIVES = {
    "two": two(300.0),
    "unequal": two(420.0, 190.0, 60.0),
    "on the back": sagging(70.0, pulley("it", "idler", 0, 0, 80.0)),
    "five": layout(
        pulley("crank", "crankshaft", 0, 0, 180.0),
        pulley("a", "water_pump", -220, 180, 120.0),
        pulley("b", "idler", -20, 150, 90.0, belt_side="back"),
        pulley("c", "alternator", 200, 240, 60.0),
        pulley("d", "steering_pump", 260, 40, 130.0),
    ),
}


@for_each(*DRIVES)
@for_each(-14.0, -6.0, 6.0, 14.0)
def test_the_move_proposed_makes_the_belt_fit_when_laid_again(name: str, off: float) -> None:
    given = DRIVES[name]
    wanted = float(route(given).loop.length) + off
    move = shortest_move(route(given), wanted)
    assert move is not None and move.pulley != "crank"
    again = moved(given, move.pulley, move.distance_mm, move.direction_rad)
    assert float(route(again).loop.length) == pytest.approx(wanted, abs=1e-6)


def test_the_move_in_words_is_that_of_two_pulleys() -> None:
    # Two equal pulleys: path grows by 2 mm for each mm apart, so 10.8 mm of belt is 5.4 mm to the right.
    (finding,) = found(belt_of(925.0, two(300.0)), "belt_fit")
    assert f"move far by {(925.0 - SHORTEST) / 2.0:.1f} mm toward 0 deg" in finding.message


def test_the_move_in_words_can_be_followed_by_hand() -> None:
    given = belt_of(float(route(DRIVES["five"]).loop.length) - 14.0, DRIVES["five"])
    (finding,) = found(given, "belt_fit")
    words = re.search(r"move (\w+) by ([\d.]+) mm toward (\d+) deg", finding.message)
    assert words is not None
    again = moved(given, words[1], float(words[2]), math.radians(float(words[3])))
    # Words are rounded to 0.1 mm and 1 deg: path within 2 x 0.05 mm and what half a degree costs.
    assert float(route(again).loop.length) == pytest.approx(given.belt.length_mm, abs=0.2)


def test_a_stretch_fit_drive_is_moved_to_the_middle_of_the_band() -> None:
    given = belt_of(925.0, two(300.0), stretch_fit=(0.005, 0.015))
    (finding,) = found(given, "belt_fit")
    assert given.belt.length_mm is not None and seat_mm(given.belt) == pytest.approx(925.0 * 1.01)
    assert f"move far by {(925.0 * 1.01 - SHORTEST) / 2.0:.1f} mm" in finding.message


def test_a_move_too_far_to_be_of_use_is_not_proposed() -> None:
    (finding,) = found(belt_of(2500.0, two(300.0)), "belt_fit")
    assert "no single pulley" in finding.message


def test_the_proposed_move_is_the_shortest_among_random_ones() -> None:
    # An outside check of 'shortest': no random movement of any one pulley, a tenth shorter, reaches the length.
    given, rng = DRIVES["five"], np.random.default_rng(7)
    length = float(route(given).loop.length)
    move = shortest_move(route(given), length + 8.0)
    assert move is not None
    for name in ("a", "b", "c", "d"):
        for angle in rng.uniform(0.0, 2.0 * math.pi, 24):
            again = moved(given, name, 0.9 * move.distance_mm, float(angle))
            assert float(route(again).loop.length) < length + 8.0


CASES = [
    # path at both ends: two circles of R and r at distance D, 2 sqrt(D^2 - (R - r)^2) + pi (R + r) + 2 (R - r) asin
    ("av13_stock", "1760.5 to 1845.1 mm"),
    ("pm_stock", "PM begins at 2286 mm, and this drive takes 2022.1 to 2201.3 mm ("),
    # Nothing is good there, so the window itself, less the slack that slipping it on takes.
    ("stationary", "ask a supplier for 9049.2 to 9120.7 mm"),
]


@for_each(*CASES)
def test_a_list_from_memory_that_is_short_is_a_caution(name: str, words: str) -> None:
    (finding,) = found(read_layout(f"tests/cases/{name}.yaml", None).layout, "belt_fit")
    assert finding.severity == "caution" and words in finding.message
    assert "from memory" in finding.source


def test_lengths_that_nobody_sells_are_not_to_be_bought() -> None:
    """PM begins at 2286 mm (the profile's own, from memory): a drive that takes less is told so where to buy stands."""
    beside, listed = (read_layout(f"tests/cases/{name}.yaml", None).layout for name in ("pm_stock", "av13_stock"))
    assert good_words(route(listed), "AV13", "will do") == "any AV13 from 1760.5 to 1845.1 mm will do"
    told = "as far as known, PM begins at 2286 mm: look for another profile or a longer path"
    assert good_words(route(beside), "6PM", "will do") == told
    sold = replace(beside, stock=(parse_designation("6PM2100"),))
    assert good_words(route(sold), "6PM", "will do") == "any 6PM from 2022.1 to 2201.3 mm will do"


@for_each(("A", "datum"), ("6PL", "effective"), ("6PK", "effective"))
def test_what_to_ask_for_names_the_line_once(belt: str, line: str) -> None:
    (finding,) = found(sliding((2000.0, 0.0), (2160.0, 0.0), belt=parse_designation(belt)), "belt_fit")
    assert "ask a supplier for" in finding.advice
    assert [word for word in ("datum", "effective") for _ in range(finding.advice.count(word))] == [line]


def test_a_length_that_only_just_goes_on_is_asked_for_as_such() -> None:
    given = read_layout("tests/cases/stationary.yaml", None).layout
    laid = route(given)
    (finding,) = found(given, "belt_fit")
    assert laid.window is not None and laid.to_ask_for_mm is not None and laid.acceptable_mm is None
    assert laid.to_ask_for_mm == pytest.approx((laid.window.shortest + laid.window.fitting, laid.window.longest))
    assert "it can be put on, but without full reserve" in finding.advice
    # One of those lengths, named: it can be slipped on, but one made short or long may not.
    named = replace(given, belt=replace(given.belt, length_mm=9050.0))
    assert [each.severity for each in found(named, "reserve")] == ["problem"]
    assert [each.severity for each in found(named, "fitting")] in ([], ["caution"])


def test_classical_belts_are_listed_by_the_inch() -> None:
    given = read_layout("tests/cases/a_belt_stock.yaml", None).layout
    assert found(given, "belt_fit") == []
    # Path 2 x 451 to 2 x 495 and pi (75 + 50) + 1.3 mm: 1296 to 1384 mm, where A50 (51.3 in) to A53 (54.3 in) lie.
    assert [fitted.designation for fitted in sorted(route(given).stock, key=lambda fitted: fitted.line_mm)] == [
        f"A{inch * 25.4:.10g} inside" for inch in (50, 51, 52, 53)
    ]


def test_lengths_of_a_classical_belt_say_their_kind() -> None:
    """Inside length is 33.02 mm under the datum one (1.3 in, ANSI/RMA IP-20); A belts are sold by it."""
    given = read_layout("tests/cases/a_belt_stock.yaml", None).layout
    (reserve,) = found(given, "reserve")
    good = "1337.3 to 1348.5 mm datum (1304.3 to 1315.5 mm inside, 51.35 to 51.79 in)"
    assert reserve.advice == f"any length from {good} will do; none on the list has such a length"
    (outside,) = found(replace(given, belt=replace(given.belt, length_mm=1200.0, length_kind="datum")), "belt_fit")
    assert "mm datum (" in outside.message and "mm inside, " in outside.message


def test_the_own_list_is_the_last_word() -> None:
    given = replace(read_layout("tests/cases/av13_stock.yaml", None).layout, stock=(parse_designation("AV13x1700"),))
    (finding,) = found(given, "belt_fit")
    assert finding.severity == "problem" and "AV13x1700 is 22.3 mm too short" in finding.message


def test_no_good_length_at_all_is_a_problem_without_a_list_too() -> None:
    """Slipping it over half a turn of a rim takes pi times its height, and 1 mm of slide gives 2 mm."""
    short = sliding(end=(301.0, 0.0), belt=parse_designation("6PJ"))
    (finding,) = found(short, "belt_fit")
    takes = f"takes {short.belt.profile.climb_mm * math.pi:.1f} mm"
    assert finding.severity == "problem" and "no belt of any length can be put on" in finding.message
    assert takes in finding.message and "needs more travel" in finding.message
    assert route(short).to_ask_for_mm is None


def test_where_no_belt_goes_on_its_stretch_to_the_set_tension_is_told() -> None:
    """168 N over the measuring force of 300 N, over the 168 kN of 6PK (from memory): 0.1 % of 602 + 100 pi mm."""
    pulled, loose = (
        sliding(end=(301.0, 0.0), belt=parse_designation("6PK"), tension_N=tension_N) for tension_N in (468.0, 300.0)
    )
    told, untold = (none_put_on_words(route(each)) for each in (pulled, loose))
    assert f"its stretch to the set tension {(602.0 + 100.0 * math.pi) / 1001.0:.1f} mm" in told
    assert "no belt of any length" in untold and "stretch" not in untold


def test_a_stretch_belt_of_a_profile_without_a_list_is_asked_for() -> None:
    given = two(300.0, belt=replace(parse_designation("6PJ"), stretch_fit=(0.01, 0.03)))
    (finding,) = found(given, "belt_fit")
    assert finding.severity == "caution"
    assert f"{SHORTEST / 1.03:.1f} to {SHORTEST / 1.01:.1f} mm" in finding.message


def test_a_window_that_no_belt_on_the_list_is_in_says_so() -> None:
    """By the window itself: from one end of what is good to the other, and a belt just outside or just inside."""
    least, most = route(sliding()).acceptable_mm or (0.0, 0.0)
    outside, inside = (sliding(stock=(belt_of(each, sliding()).belt,)) for each in (most + 0.5, most - 0.5))
    told = [good_words(route(given), "6PK", "will do") for given in (outside, inside)]
    assert told[1] == f"any 6PK from {least:.1f} to {most:.1f} mm will do"
    assert told[0] == f"{told[1]}; none on the list has such a length" and len(route(outside).stock) == 1
