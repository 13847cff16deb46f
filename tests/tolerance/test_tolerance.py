"""The tolerance study as a whole: draws against first order and against probability theory; laws; same seed."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from beltplan.checks.belt import RESERVE
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.tolerance.measurements import measurements_of
from beltplan.tolerance.study import SEED, Contribution, Tolerance, contributions_of, tolerance_of
from tests.drive.drives import on_slide, railcar, with_belt, with_pulley
from tests.for_each import for_each
from tests.picture.drives import shipped
from tests.tolerance.drives import DRIVES, NO_ERRORS, by_rim, changed, drawn_of, smaller, two_fixed

DRAWS = 4000


def study(layout: Layout, draws: int = DRAWS, seed: int = SEED) -> Tolerance:
    return tolerance_of(route_of(layout), draws, seed)


@for_each(*DRIVES)
def test_draws_agree_with_first_order_for_small_errors(name: str) -> None:
    """Within four sampling errors: deviation / sqrt(2 N) of a deviation, / sqrt(N) of a mean (statistics textbooks)."""
    made = study(smaller(DRIVES[name](), 0.1), 6000)
    assert made.first_order_mm is not None and made.route.needed_mm is not None
    assert made.needed_mm.size == made.draws and made.no_path == 0.0
    deviation = made.first_order_mm
    assert float(made.needed_mm.std()) == pytest.approx(deviation, rel=4.0 / np.sqrt(2 * made.draws))
    # The range of a rim's height need not lie evenly about its nominal: the mean moves by the first-order change.
    profile = made.route.layout.belt.profile
    off = 0.5 * sum(profile.rim_range_mm) - profile.rim_minus_line_mm
    rims = [row.mm_per_unit or 0.0 for row in made.contributions if row.measurement.part == "rim height"]
    mean = made.route.needed_mm + off * sum(rims)
    assert float(made.needed_mm.mean()) == pytest.approx(mean, abs=4.0 * deviation / np.sqrt(made.draws))


def test_a_fixed_drive_against_the_normal_distribution() -> None:
    """Path = 2 x + 100 pi with x normal: the band's chance is a difference of two normal distributions (scipy)."""
    given = replace(two_fixed(300.0, "6PK915"), uncertainty=Uncertainty(2.0, 0.0, 0.0))
    made = study(given, 20_000)
    assert made.chosen is not None and made.windows is None
    path, tolerance = 600.0 + 100.0 * np.pi, 5.0
    wanted = float(np.diff(norm.cdf([915.0 - tolerance, 915.0 + tolerance], path, 4.0))[0])
    # y moves the path in second order only: 2 mm over 300 mm.
    assert made.chosen.inside == pytest.approx(wanted, abs=4.0 * np.sqrt(wanted * (1.0 - wanted) / made.draws) + 1e-3)
    assert made.chosen.with_reserve is None and made.best is None and made.nearest == made.chosen


def test_a_slide_against_an_integral() -> None:
    """Chance that a uniform length exceeds a normal window end by the slack that slipping it over a rim takes, height x
    half a turn: an integral of the normal distribution (scipy).
    """
    given = with_belt(replace(on_slide(), uncertainty=Uncertainty(2.0, 0.0, 0.0)), length_mm=922.0)
    made = study(given, 20_000)
    assert made.chosen is not None
    shortest, tolerance = 600.0 + 100.0 * np.pi + given.belt.profile.climb_mm * np.pi, 5.0
    wanted, _ = quad(lambda length: norm.cdf(length, shortest, 4.0) / (2 * tolerance), 922 - tolerance, 922 + tolerance)
    assert 0.1 < wanted < 0.9
    assert made.chosen.inside == pytest.approx(wanted, abs=4.0 * np.sqrt(wanted * (1.0 - wanted) / made.draws) + 1e-3)


def test_only_the_belts_own_tolerance() -> None:
    """Plain geometry: of a uniform band of 2 x 5 mm round 922, what lies over 600 + 100 pi mm, and the rim's height x
    half a turn, to be slipped over it.
    """
    made = study(with_belt(replace(on_slide(), uncertainty=NO_ERRORS), length_mm=922.0), 20_000)
    assert made.chosen is not None and made.first_order_mm == 0.0
    wanted = (927.0 - (600.0 + (100.0 + made.route.layout.belt.profile.climb_mm) * np.pi)) / 10.0
    assert 0.1 < wanted < 0.9
    assert made.chosen.inside == pytest.approx(wanted, abs=4.0 * np.sqrt(wanted * (1.0 - wanted) / made.draws))


@for_each(*shipped(), ids=[name for name, _, _ in shipped()])
def test_a_layout_without_errors_is_certain_of_just_its_good_belts(name: str, path: str, variant: str | None) -> None:
    """The rule of a good belt, with the drawn length in the tolerance's place: good means that no draw fails."""
    from beltplan.layoutfile.layout_file import read_layout

    exact = replace(read_layout(path, variant).layout, uncertainty=NO_ERRORS)
    measured = {n: replace(p, uncertainty=NO_ERRORS, reading="line") for n, p in exact.pulleys.items()}
    made = study(replace(exact, pulleys=measured), 2000)
    certain = {belt.designation for belt in made.belts if belt.with_reserve == 1.0}
    assert certain == {belt.designation for belt in made.route.stock if belt.verdict == "good"}
    assert made.needed_mm.size == 0 or np.ptp(made.needed_mm) < 1e-9


def test_a_belt_that_cannot_be_tightened_does_not_go_on() -> None:
    """By hand set to 400 N it grows by (400 - measuring force) / 60,000 of its length (Hooke); without errors of
    measuring the drawn length is uniform, so of its band what is then no longer than the longest path goes on.
    """
    given = with_belt(replace(shipped_layout("orchard_sprayer"), uncertainty=NO_ERRORS), length_mm=1453.0)
    exact = {name: replace(pulley, uncertainty=NO_ERRORS) for name, pulley in given.pulleys.items()}
    made = study(replace(given, pulleys=exact), 20_000)
    assert made.route.window is not None and made.chosen is not None
    grown = 1.0 + (400.0 - given.belt.measuring_N) / 60_000.0
    assert any("cannot be tightened" in each.message for each in RESERVE.of_route(made.route))
    tolerance = given.belt.tolerance_of(1453.0)
    wanted = (made.route.window.longest / grown - (1453.0 - tolerance)) / (2.0 * tolerance)
    assert 0.1 < wanted < 0.5
    assert made.chosen.inside == pytest.approx(wanted, abs=4.0 * np.sqrt(wanted * (1.0 - wanted) / made.draws))


@for_each(("av13_stock", True, True), ("pm_stock", True, False), ("stationary", True, False), ("gokart", False, False))
def test_it_is_worth_asking_only_for_a_good_length_that_may_be_sold(name: str, asked: bool, worth: bool) -> None:
    from beltplan.layoutfile.layout_file import read_layout

    made = study(read_layout(f"tests/cases/{name}.yaml", None).layout, 500)
    assert (made.route.to_ask_for_mm is not None, made.worth_asking, made.best) == (asked, worth, None)


def test_the_belt_to_buy_is_the_one_with_the_best_chance_even_where_the_file_names_another() -> None:
    made = study(with_belt(railcar(), length_mm=1700.0))
    assert made.best is not None and made.chosen is not None and made.chosen.designation == "6PK1700"
    assert made.fitted is made.route.layout.belt
    assert all(made.best.rank >= belt.rank for belt in made.belts)
    assert (made.best.with_reserve or 0.0) > (made.chosen.with_reserve or 0.0)


@for_each(("camper", False), ("railcar", True))
def test_wraps_that_no_belt_mends_are_no_chance_of_a_belt(name: str, told: bool) -> None:
    """The camper's crank is under its minimum with every belt; the railcar's tensioner with the short ones alone."""
    assert study(DRIVES[name]()).wraps_tell == told


def test_wraps_are_spread_about_those_of_the_layout_as_given() -> None:
    made = study(with_belt(smaller(railcar(), 0.1), length_mm=1685.0, tolerance_mm=0.0))
    for wrap, given in zip(made.wraps, np.degrees(made.route.loop.wrap), strict=True):
        assert wrap.mean_deg == pytest.approx(given, abs=0.1)
        assert wrap.band_deg[0] < given < wrap.band_deg[1]
        assert wrap.band_deg[1] - wrap.band_deg[0] == pytest.approx(2 * 1.96 * wrap.deviation_deg, rel=0.1)


def test_chance_to_be_under_the_least_is_a_half_where_the_least_is_the_median() -> None:
    base = with_belt(smaller(railcar(), 0.1), length_mm=1685.0)
    median = next(wrap.mean_deg for wrap in study(base).wraps if wrap.pulley == "generator")
    made = study(replace(base, limits={"min_wrap_deg": {"generator": median}}))
    (wrap,) = (wrap for wrap in made.wraps if wrap.pulley == "generator")
    assert wrap.under == pytest.approx(0.5, abs=0.05)
    bound = minimum_wrap(made.route.layout, made.route.layout.pulleys["generator"])
    assert wrap.minimum_deg == bound.limit == median


def test_same_seed_same_answer_and_another_one_close_by() -> None:
    first, again, other = (study(railcar(), seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first.needed_mm, again.needed_mm)
    assert (first.belts, first.wraps) == (again.belts, again.wraps)
    assert first.belts != other.belts
    chances = {belt.designation: belt.inside for belt in other.belts}
    for belt in first.belts:
        assert chances.get(belt.designation, 0.0) == pytest.approx(belt.inside, abs=5.0 * np.sqrt(0.5 / DRAWS))


def test_draws_without_a_path_are_counted_and_fail() -> None:
    made = study(replace(railcar(), uncertainty=Uncertainty(position_mm=60.0)), 500)
    assert 0.1 < made.no_path < 0.9
    assert all(belt.inside <= 1.0 - made.no_path for belt in made.belts)


def test_a_turning_length_is_counted_and_its_branch_is_taken() -> None:
    made = study(shipped_layout("too_tight"), 500)
    assert (made.turns_back, made.cut, made.no_path) == (1.0, 1.0, 0.0)


def shipped_layout(name: str) -> Layout:
    from tests.tolerance.drives import shipped as read

    return read(name)


def test_a_badly_known_pulley_lowers_the_chance() -> None:
    sure, unsure = (
        study(with_pulley(railcar(), "guide", uncertainty=Uncertainty(position_mm=position))) for position in (0.1, 8.0)
    )
    assert sure.best is not None and unsure.best is not None
    assert (unsure.best.with_reserve or 0.0) < (sure.best.with_reserve or 0.0)


# Drawn layouts: the errors have the spread asked for, the same seed gives the same draws.


@for_each(*DRIVES)
def test_errors_have_the_deviation_asked_for(name: str) -> None:
    """Within five of their own sampling errors: deviation / sqrt(2 N) and deviation / sqrt(N)."""
    count = 4000
    route, drawn, _ = drawn_of(DRIVES[name](), count)
    for each in measurements_of(route):
        if each.part in ("x", "y"):
            off = (
                drawn.centre[each.index][:, "xy".index(each.part)]
                - route.circuit.centre[each.index]["xy".index(each.part)]
            )
            assert float(off.std()) == pytest.approx(each.deviation, rel=5.0 / np.sqrt(2 * count))
            assert abs(float(off.mean())) < 5.0 * each.deviation / np.sqrt(count)


def test_a_rim_reading_draws_the_line_from_the_profiles_range_and_leaves_the_metal_alone() -> None:
    given = replace(DRIVES["by rim"](), uncertainty=NO_ERRORS)
    route, drawn, _ = drawn_of(given, 4000)
    i = [p.name for p in route.pulleys].index("pump")
    least, most = given.belt.profile.rim_range_mm
    line = 2.0 * drawn.radius[i]
    assert 129.6 - most <= line.min() < line.max() <= 129.6 - least
    assert float(np.ptp(line)) > 0.98 * (most - least)
    assert np.ptp(drawn.rim[i]) == 0.0 and drawn.rim[i, 0] == pytest.approx(129.6 / 2.0)


def test_same_seed_same_draws() -> None:
    (_, first, place), (_, again, again_place), (_, other, _) = (drawn_of(railcar(), 50, seed) for seed in (3, 3, 5))
    np.testing.assert_array_equal(first.centre, again.centre)
    np.testing.assert_array_equal(place, again_place)
    assert not np.array_equal(first.centre, other.centre)


# First order: derivatives against those of the layout written anew, and shares that sum to one.


STEP = 1e-3


def rows_of(given: Layout) -> tuple[Contribution, ...]:
    route = route_of(given)
    return contributions_of(route, measurements_of(route))


def deviation_of(rows: tuple[Contribution, ...]) -> float:
    return math.hypot(*(row.deviation_mm or 0.0 for row in rows))


@for_each(*DRIVES)
def test_derivatives_are_those_of_the_layout_written_anew(name: str) -> None:
    """Central differences over the needed length of `check`: an error of third order in a step of 1e-3 mm or deg."""
    given = DRIVES[name]()
    slopes = [(row.measurement, row.mm_per_unit or 0.0) for row in rows_of(given)]
    for measurement, slope in slopes:
        ahead, behind = (route_of(changed(given, measurement, step)).needed_mm for step in (STEP, -STEP))
        assert ahead is not None and behind is not None
        assert slope == pytest.approx((ahead - behind) / (2.0 * STEP), abs=2e-6), measurement.words
    assert max(abs(slope) for _, slope in slopes) > 0.5


@for_each(*DRIVES)
def test_shares_sum_to_one_largest_first_and_make_the_deviation(name: str) -> None:
    """Propagation of uncertainty, JCGM 100:2008, 5.1.2: variances of independent parts add."""
    rows = rows_of(DRIVES[name]())
    told = [row.share for row in rows if row.share is not None]
    assert len(told) == len(rows) and sum(told) == pytest.approx(1.0, abs=1e-12)
    assert told == sorted(told, reverse=True)
    parts = [(row.deviation_mm or 0.0) / deviation_of(rows) for row in rows]
    assert [part**2 for part in parts] == pytest.approx(told)


def test_two_pulleys_by_hand() -> None:
    """Plain geometry: L = 2 x + pi (d1 + d2) / 2 for equal pulleys, x = 0.5 (from + to) at mid-slide."""
    given = replace(on_slide(), uncertainty=Uncertainty(1.5, 0.4, 0.0))
    rows = rows_of(given)
    ends, diameters = 2 * (1.0 * 1.5) ** 2, 2 * (0.5 * np.pi * 0.4) ** 2
    assert deviation_of(rows) == pytest.approx(np.sqrt(ends + diameters))
    assert {row.measurement.part for row in rows[:2]} == {"from x", "to x"}
    assert rows[0].share == pytest.approx(0.5 * ends / (ends + diameters))


def test_what_is_measured_badly_matters_most() -> None:
    rows = rows_of(with_pulley(railcar(), "guide", uncertainty=Uncertainty(position_mm=9.0)))
    assert rows[0].measurement.words == "y of guide"


def test_without_errors_there_is_nothing_to_share() -> None:
    rows = rows_of(replace(railcar(), uncertainty=NO_ERRORS))
    assert rows and deviation_of(rows) == 0.0 and all(row.share is None for row in rows)


# Every measurement of a layout is listed, once, with the deviation that holds for it.


def parts(name: str, pulley: str) -> set[str]:
    found = measurements_of(route_of(DRIVES[name]()))
    return {each.part for each in found if each.pulley == pulley}


def test_what_is_measured_of_each_kind_of_pulley() -> None:
    assert parts("railcar", "guide") == {"x", "y", "diameter"}
    every = {"pivot x", "pivot y", "arm length", "diameter", "first stop", "second stop"}
    assert parts("railcar", "tensioner") == every | {"design angle"}
    assert parts("by rim", "tensioner") == every | {"new mark", "worn mark"}
    assert parts("by rim", "pump") == {"x", "y", "diameter", "rim height"}
    assert parts("slide", "generator") == {"from x", "from y", "to x", "to y", "diameter"}


def test_the_pulley_at_the_origin_is_where_all_is_measured_from_unless_it_says_otherwise() -> None:
    assert parts("railcar", "crank") == {"diameter"}
    said = with_pulley(railcar(), "crank", uncertainty=Uncertainty(position_mm=1.0))
    assert {m.part for m in measurements_of(route_of(said)) if m.pulley == "crank"} == {"x", "y", "diameter"}


@for_each(*DRIVES)
def test_each_measurement_once_and_the_index_is_its_pulley(name: str) -> None:
    route = route_of(DRIVES[name]())
    found = measurements_of(route)
    assert len({(each.pulley, each.part) for each in found}) == len(found)
    assert all(route.pulleys[each.index].name == each.pulley for each in found)


def test_deviations_and_their_units() -> None:
    given = replace(by_rim(), uncertainty=Uncertainty(2.0, 0.3, 0.7))
    found = {(each.pulley, each.part): each for each in measurements_of(route_of(given))}
    assert (found["guide", "x"].deviation, found["guide", "x"].unit) == (2.0, "mm")
    assert found["tensioner", "arm length"].deviation == 2.0
    assert found["guide", "diameter"].deviation == 0.3
    assert (found["tensioner", "first stop"].deviation, found["tensioner", "first stop"].unit) == (0.7, "deg")


def test_a_rim_reading_leaves_the_line_open_by_the_profiles_range() -> None:
    """Standard deviation of a uniform quantity: range over the root of 12 (JCGM 100:2008, 4.3.7)."""
    given = by_rim()
    (height,) = (each for each in measurements_of(route_of(given)) if each.part == "rim height")
    least, most = given.belt.profile.rim_range_mm
    assert height.deviation == pytest.approx((most - least) / np.sqrt(12.0))
    assert height.spread == "uniform"
