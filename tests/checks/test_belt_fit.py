"""Belts that do not fit, on two pulleys of 100 mm: path 2 x distance + 100 pi, plane geometry."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from beltplan.checks.belt import fixed_tension_N, good_words, none_put_on_words
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import Belt, parse_designation
from beltplan.drive.fit import seat_mm
from beltplan.drive.layout import Layout
from beltplan.drive.mends import shortest_move
from beltplan.drive.pulleys import SlideSpring
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import belt_of, found, layout, pulley, route, sagging, severity, sliding, two
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
    good = "1337.3 to 1348.5 mm datum (1304.3 to 1315.5 mm inside, 51.35 to 51.79 in)"
    told = good_words(route(given), "A", "will do", inches=True)
    assert told == f"any A from {good} will do; none on the list has such a length"
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
    takes = f"holds 2.0 mm of belt (914.2 to 916.2 mm), less than the {short.belt.profile.climb_mm * math.pi:.1f} mm"
    assert finding.severity == "problem" and "no belt of any length can be put on" in finding.message
    assert takes in finding.message and "needs more travel" in finding.message
    assert route(short).to_ask_for_mm is None


def test_where_no_belt_goes_on_its_stretch_to_the_set_tension_is_told() -> None:
    """168 N over the measuring force of 300 N, over the 168 kN of 6PK (from memory): 0.1 % of 602 + 100 pi mm."""
    pulled, loose = (
        sliding(end=(301.0, 0.0), belt=parse_designation("6PK"), tension_N=tension_N) for tension_N in (468.0, 300.0)
    )
    told, untold = (none_put_on_words(route(each)) for each in (pulled, loose))
    assert f"and the {(602.0 + 100.0 * math.pi) / 1001.0:.1f} mm of its stretch as it is set" in told
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


# An ordinary belt that nothing adjusts, on two pulleys of 100 mm: path 2 x distance + 100 pi, plane geometry.
# Tension is Hooke's, stiffness x strain; 28 kN a rib and 5 mm of tolerance are from memory, medium confidence.


PATH = 600.0 + 100.0 * math.pi


def test_an_ordinary_belt_is_a_problem_with_what_its_tolerance_does() -> None:
    """Hooke: 50 N a rib when measured, 28 kN a rib for the stretch of one made 5 mm short of 915 mm."""
    (finding,) = found(read_layout("tests/cases/no_adjuster.yaml", None).layout, "no_adjuster")
    held = 6 * 50.0 + 6 * 28_000.0 * (PATH / 910.0 - 1.0)
    assert finding.severity == "problem" and finding.unit == "N"
    assert finding.value == pytest.approx(held)
    words = f"6PK915 made 5.0 mm short is pulled with about {held:.0f} N a span"
    assert f"{words} (maximum {6 * 180})" in finding.message
    assert f"made 5.0 mm long, it is {920.0 - PATH:.1f} mm longer than the path" in finding.message
    assert "slipped on" in finding.message and "add an adjuster" in finding.message
    assert "stretch belt" in finding.message


@for_each(0.9, -0.9, 4.5)
def test_the_tension_goes_with_how_the_path_lies_to_the_shortest_belt(off: float) -> None:
    (finding,) = found(belt_of(915.0, two((915.0 - 100.0 * math.pi + off) / 2.0)), "no_adjuster")
    assert finding.value == pytest.approx(6 * 50.0 + 6 * 28_000.0 * (5.0 + off) / 910.0)


def test_a_belt_that_is_hardly_longer_still_pulls_a_little() -> None:
    """5 mm long on a path 4.5 mm longer than its nominal: 0.5 mm over 920 mm is 91 N less than the measuring force."""
    (finding,) = found(belt_of(915.0, two((915.0 - 100.0 * math.pi + 4.5) / 2.0)), "no_adjuster")
    assert f"made 5.0 mm long, about {300.0 - 6 * 28_000.0 * 0.5 / 920.0:.0f} N are left" in finding.message


def test_it_stays_a_problem_where_no_belt_lies_near_or_none_is_listed() -> None:
    for given in (belt_of(940.0, two(300.0)), two(300.0, stock=()), two(300.0, belt=parse_designation("6PJ"))):
        (finding,) = found(given, "no_adjuster")
        assert finding.severity == "problem"
    # Without a stiffness no tension is made up.
    assert (finding.value, finding.limit, finding.unit) == (None, None, "")
    assert "pulled far too tight" in finding.message


def test_stretch_belts_and_adjusters_are_no_problem() -> None:
    assert found(belt_of(905.0, two(300.0), stretch_fit=(0.005, 0.015)), "no_adjuster") == []
    assert found(belt_of(970.0, sliding()), "no_adjuster") == []


def test_the_belt_is_still_listed_as_marginal() -> None:
    laid = route(two(300.0, stock=(parse_designation("6PK915"),)))
    assert [(fitted.designation, fitted.verdict) for fitted in laid.stock] == [("6PK915", "marginal")]


@for_each((900.0, 300.0), (901.0, 300.0 - 168_000.0 / 901.0), (902.0, 0.0))
def test_a_belt_as_long_as_its_path_carries_its_measuring_force(line_mm: float, tension_N: float) -> None:
    """50 N a rib and span (ISO 9982, from memory, medium confidence), less Hooke's for what it is longer."""
    assert fixed_tension_N(parse_designation("6PK"), 900.0, line_mm) == pytest.approx(tension_N)


# Reserves and fitting on a slide whose path is 2 x distance + 100 pi, plane geometry.
# Tolerance 5 mm and 0.5 %, rib height 2.35 mm: from memory, medium confidence. Wear 0.7 %: common practice, no source.
# Fitting slack: wrap x height to climb, from dL/dr = wrap.


FITTING = math.pi * 2.35
SPRING = SlideSpring(300.0, 0.0, 1.0)


def test_a_good_belt_leaves_nothing_to_say() -> None:
    assert found(belt_of(970.0, sliding()), "reserve") == []
    assert found(belt_of(970.0, sliding()), "fitting") == []


@pytest.mark.parametrize(("more", "expected"), [(0.01, None), (-0.01, "caution")])
def test_short_end(more: float, expected: str | None) -> None:
    assert severity(belt_of(SHORTEST + FITTING + 5.0 + more, sliding()), "reserve") == expected


@pytest.mark.parametrize(("more", "expected"), [(-0.02, None), (0.02, "caution")])
def test_long_end_of_a_locked_slide_keeps_stretch_and_wear(more: float, expected: str | None) -> None:
    # 1034 mm is over 1000, so the tolerance is 0.5 %. 468 N is 168 N over the measuring force: 168 / 168000 of stretch.
    assert severity(belt_of(LONGEST / 1.013 + more, sliding(tension_N=468.0)), "reserve") == expected


@pytest.mark.parametrize(("more", "expected"), [(-0.02, "caution"), (0.02, "problem")])
def test_a_locked_belt_that_cannot_reach_its_set_tension_is_a_problem(more: float, expected: str) -> None:
    assert severity(belt_of(LONGEST / 1.001 + more, sliding(tension_N=468.0)), "reserve") == expected


def test_a_belt_that_cannot_be_tightened_is_told_by_how_much() -> None:
    finding = found(belt_of(LONGEST - 0.2, sliding(tension_N=468.0)), "reserve")[0]
    over = (LONGEST - 0.2) * 1.001 - LONGEST
    assert finding.value == pytest.approx(LONGEST + over) and finding.limit == pytest.approx(LONGEST)
    assert finding.margin == pytest.approx(-over / LONGEST, rel=1e-6)
    assert f"it is {over:.1f} mm longer than the longest path" in finding.message


@pytest.mark.parametrize(("more", "expected"), [(-0.02, None), (0.02, "caution")])
def test_long_end_of_a_sprung_slide_keeps_wear_too(more: float, expected: str | None) -> None:
    given = belt_of(LONGEST / 1.012 + more, sliding(spring=SPRING))
    assert severity(given, "reserve") == expected


def test_what_a_travel_of_next_to_nothing_lacks_is_counted_in_mm() -> None:
    """0.6 mm of belt, where fitting, tolerance either way and wear take 23.6: a share is of 1 mm at least."""
    (finding,) = found(belt_of(914.5, sliding(end=(300.3, 0.0), spring=SPRING)), "reserve")
    assert finding.value == finding.margin == pytest.approx(-lacking_of(0.6), abs=1e-6)


def test_what_is_missing_is_told_in_mm_and_the_lengths_that_are_good_once() -> None:
    """No advice names one: which of them bring no new problem only all checks together can say."""
    given = belt_of(SHORTEST + 10.0, sliding(tension_N=300.0))
    (finding,) = found(given, "reserve")
    assert finding.value == pytest.approx(10.0 - FITTING - 5.0) and finding.limit == 0.0
    assert f"{-(10.0 - FITTING - 5.0):.1f} mm too little" in finding.message
    good = f"{SHORTEST + FITTING + 5.0:.1f} to {LONGEST / 1.012:.1f} mm"
    assert good_words(route(given), "6PK", "will do") == f"any 6PK from {good} will do"
    assert finding.advice == ""


@pytest.mark.parametrize(("more", "expected"), [(-0.01, {"problem"}), (0.01, {"caution"})])
def test_a_slide_so_short_that_no_belt_surely_goes_on_and_tightens_is_a_problem(
    more: float, expected: set[str]
) -> None:
    """The belt may be 5 mm off either way: twice the slide must hold 10 mm and the fitting slack."""
    slide = (10.0 + FITTING + more) / 2.0
    given = belt_of(SHORTEST + FITTING + 5.0, sliding(end=(300.0 + slide, 0.0), tension_N=300.0))
    assert {finding.severity for finding in found(given, "reserve")} == expected


def lacking_of(travel_mm: float) -> float:
    """The least length leaves 5 mm and fitting slack, the most 5 mm and 0.7 % of wear."""
    return SHORTEST + 5.0 + FITTING - (SHORTEST + travel_mm - 5.0) / 1.007


def test_a_problem_says_by_how_much_the_slide_is_too_short() -> None:
    (finding,) = found(belt_of(SHORTEST + 4.0, sliding(end=(304.0, 0.0), tension_N=300.0)), "reserve")
    lacking = lacking_of(8.0)
    assert finding.severity == "problem" and finding.value == pytest.approx(-lacking)
    lacks = f"travel is {lacking:.1f} mm of belt too short for fitting, length tolerance and wear together"
    assert lacks in finding.message
    assert "may be too short to be fitted" in finding.message and finding.advice == "the adjuster needs more travel"


def test_a_slide_too_short_by_a_hair_is_never_0_0_mm_too_short() -> None:
    slide = ((SHORTEST + 5.0 + FITTING - 0.02) * 1.007 + 5.0 - SHORTEST) / 2.0
    (finding,) = found(belt_of(SHORTEST + FITTING + 5.0, sliding(end=(300.0 + slide, 0.0), tension_N=300.0)), "reserve")
    assert "travel is 0.02 mm of belt too short" in finding.message


def test_a_slide_too_short_for_any_length_to_wear() -> None:
    (long,) = found(belt_of(SHORTEST + 13.0, sliding(end=(309.0, 0.0), tension_N=300.0)), "reserve")
    (short,) = found(belt_of(SHORTEST + 12.0, sliding(end=(309.0, 0.0), tension_N=300.0)), "reserve")
    assert {short.severity, long.severity} == {"caution"}
    words = "of belt too short for fitting, length tolerance and wear together, with any belt"
    assert short.wrong == long.wrong == f"the adjuster's travel is {lacking_of(18.0):.1f} mm {words}"


@for_each((0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None))
def test_slack_against_what_the_rim_needs(share: float, expected: str | None) -> None:
    given = belt_of(SHORTEST + FITTING * share, sliding())
    assert severity(given, "fitting", "crank") == expected


def test_slack_and_what_is_needed_are_told_in_mm() -> None:
    """Slack is the belt less the shortest path; needed is wrap x height to climb; the margin is their difference."""
    (finding,) = found(belt_of(SHORTEST + 0.8 * FITTING, sliding()), "fitting")
    assert finding.value == pytest.approx(0.8 * FITTING) and finding.limit == pytest.approx(FITTING)
    assert finding.unit == "mm" and finding.margin == pytest.approx(-0.2)


@pytest.mark.parametrize("short_by", [3.0, 9.0])
def test_the_margin_of_a_missing_reserve_is_its_share_of_the_travel(short_by: float) -> None:
    """120 mm of belt between the stops: 60 mm of slide, path 2 x distance."""
    given = belt_of(SHORTEST + FITTING + 5.0 - short_by, sliding())
    (finding,) = found(given, "reserve")
    assert plan_of(given).short_is_caution == (short_by == 3.0), "short by 9 mm it does not go on: a problem"
    assert finding.value == pytest.approx(-short_by) and finding.limit == 0.0
    assert finding.margin == pytest.approx(-short_by / (LONGEST - SHORTEST))


def test_a_flange_must_be_climbed_too() -> None:
    given = belt_of(SHORTEST + FITTING * 1.5, sliding())
    flanged = replace(given, pulleys={**given.pulleys, "crank": replace(given.pulleys["crank"], flange_mm=3.0)})
    (finding,) = found(flanged, "fitting")
    assert finding.severity == "problem" and finding.limit == pytest.approx(math.pi * (2.35 + 3.0))


def test_the_easiest_fixed_rim_is_named_to_go_over_last() -> None:
    # Equal ribbed pulleys: wrap is the outer angle of the corner, least where the triangle is bluntest; `flat` has it.
    slide = sliding((300.0, 0.0), (330.0, 0.0)).pulleys["far"]
    given = layout(pulley("crank", "crankshaft", 0, 0), pulley("flat", "idler", 150, 60), slide)
    wrap = 2.0 * math.atan2(60.0, 150.0)
    shortest = 300.0 + 2.0 * math.hypot(150.0, 60.0) + 100.0 * math.pi
    (finding,) = found(belt_of(shortest + 0.5, given), "fitting")
    assert finding.subject == "flat" and finding.limit == pytest.approx(wrap * 2.35, rel=1e-9)
    assert "over it last" in finding.wrong and f"{finding.value:.1f}" == "0.5"
