"""Chances of the stock belts: how they are ranked, told and counted."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import parse_designation
from beltplan.drive.fit import setting_for, window_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Slide, Uncertainty
from beltplan.drive.route import route_of
from beltplan.drive.travel import Circuit, nearest_sound, travel_round
from beltplan.drive.way_round import NoBeltPath
from beltplan.tolerance.study import BeltChance, best_of, percent, sampling_error, tolerance_of
from tests.drive.drives import arm, railcar, with_belt, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, NO_ERRORS, drawn_of, shipped, two_fixed

BELT = parse_designation("6PK1685")


def chance(inside: float, with_reserve: float | None, reserve: float, wrapped: float | None = None) -> BeltChance:
    """wrapped: as often as all else holds, where it is None."""
    kept = inside if with_reserve is None else with_reserve
    return BeltChance(BELT, 1685.0, inside, with_reserve, reserve, kept if wrapped is None else wrapped)


@for_each(
    (chance(0.9, 0.8, -5.0), chance(1.0, 0.7, 9.0)),
    (chance(1.0, 0.8, -5.0), chance(0.9, 0.8, 9.0)),
    (chance(1.0, 1.0, 6.0), chance(1.0, 1.0, 5.0)),
    (chance(0.6, None, 0.0), chance(0.5, None, 4.0)),
    # One that would rather not be fitted is no better buy for its reserves.
    (chance(0.9, 0.2, -9.0), chance(0.45, 0.4, -5.0)),
    # Where none is worth buying, the nearest is the likeliest to be fitted: one draw's full reserve does not count.
    (chance(0.429, 0.0, -12.8), chance(0.038, 0.001, -15.7)),
    # Less apart than the draws can tell: the larger reserve decides.
    (chance(1.0, 0.9998, 6.0), chance(1.0, 1.0, 5.0)),
    # Room for wear is of no use where a wrap falls short; where wraps hold with hardly any belt, it decides.
    (chance(1.0, 0.959, 0.5, 0.94), chance(0.962, 0.962, 0.8, 0.70)),
    (chance(1.0, 0.9, 6.0, 0.01), chance(1.0, 0.5, 5.0, 0.09)),
)
def test_the_better_buy(better: BeltChance, worse: BeltChance) -> None:
    assert best_of((better, worse)) is better and best_of((worse, better)) is better


@for_each(
    (0.944, 0.95, 0.95, True), (0.942, 0.95, 0.95, False), (0.624, 0.995, 0.811, False), (0.0, 0.95, 0.95, False),
    (0.992, 0.992, 0.999, True), (0.991, 0.991, 0.999, False), (0.99, 0.2, 0.2, True),
)  # fmt: skip
def test_another_belt_than_that_of_check_only_where_the_draws_can_tell_that_it_holds_more_often(
    wrapped: float, kept: float, other: float, bought: bool
) -> None:
    """20,000 draws are good to 0.98 / sqrt(20,000) = 0.007, to one digit: 0.992 is as good as 0.999.

    Source of the error of a share: the normal approximation, 1.96 sqrt(p (1 - p) / n), widest at a half.
    """
    usual = replace(chance(1.0, kept, 1.0, min(wrapped, kept)), belt=parse_designation("6PK1690"))
    best = chance(1.0, max(other, 0.96), 2.0, other)
    found = best_of((usual, best), usual.belt, sampling_error(20_000))
    assert (found == usual) == bought and best_of((usual, best)) == best


@for_each(
    (0.5, 0.3, True), (0.499, 0.3, False), (1.0, 0.1, True), (1.0, 0.099, False), (1.0, 0.0, False),
    (1.0, None, False),
)  # fmt: skip
def test_worth_buying_from_one_in_two_and_with_a_reserve(inside: float, with_reserve: float, worth: bool) -> None:
    """The bounds are our own choice."""
    assert chance(inside, with_reserve, -3.0).worth_buying == worth


def test_no_belt_is_best_where_none_has_a_chance() -> None:
    assert best_of((chance(0.0, 0.0, -40.0),)) is None and best_of(()) is None


@for_each(
    (0.0, "0 %"), (0.0004, "under 0.1 %"), (0.125, "12.5 %"), (0.5, "50.0 %"), (0.999, "99.9 %"),
    (0.99996, "over 99.9 %"), (1.0, "100 %"),
)  # fmt: skip
def test_certainty_is_said_only_where_every_draw_agrees(value: float, words: str) -> None:
    assert percent(value) == words


def test_belts_come_shortest_first_and_a_reserve_is_never_likelier_than_going_on() -> None:
    belts = tolerance_of(route_of(railcar()), 1000).belts
    assert [belt.line_mm for belt in belts] == sorted(belt.line_mm for belt in belts)
    assert len(belts) > 5
    assert all(belt.with_reserve is not None and belt.with_reserve <= belt.inside for belt in belts)


def test_only_listed_belts_are_looked_at_and_a_named_one_always() -> None:
    given = replace(railcar(), stock=(parse_designation("6PK1690"),))
    assert [belt.designation for belt in tolerance_of(route_of(given), 500).belts] == ["6PK1690"]
    far = tolerance_of(route_of(with_belt(given, length_mm=2500.0)), 500)
    assert [(belt.designation, belt.inside > 0.5) for belt in far.belts] == [("6PK1690", True), ("6PK2500", False)]


def test_a_stretch_belt_has_a_chance_where_its_band_holds_the_path() -> None:
    """With no error of measuring only the belt's own tolerance is drawn, 5 mm either way: uniform, so by lengths.

    Path 600 + 100 pi = 914.159 mm; 1 to 3 % stretch holds it for belts of 914.159 / 1.03 to 914.159 / 1.01 mm.
    """
    stretch = with_belt(two_fixed(300.0, "6PK"), stretch_fit=(0.01, 0.03))
    listed = tuple(replace(stretch.belt, length_mm=length) for length in (905.0, 906.0))
    given = replace(stretch, stock=listed, uncertainty=NO_ERRORS)
    found = tolerance_of(route_of(given), 20_000).belts
    assert [belt.designation for belt in found] == ["6PK905", "6PK906"]
    longest = (600.0 + 100.0 * math.pi) / 1.01
    for belt, line in zip(found, (905.0, 906.0), strict=True):
        # Four sampling errors of a share near a half.
        assert belt.inside == pytest.approx((longest - (line - 5.0)) / 10.0, abs=4.0 * 0.5 / 20_000**0.5)
        assert belt.with_reserve == belt.inside


# The batch of drawn layouts against the single engine: every draw is the layout that `check` judges.


DRAWS = 24


def marked() -> Layout:
    swing = railcar().pulleys["tensioner"].adjuster
    assert isinstance(swing, Arm)
    marks = (float(np.radians(270.0)), float(np.radians(296.0)))
    return with_pulley(railcar(), "tensioner", adjuster=replace(swing, marks_rad=marks))


CASES: dict[str, Callable[[], Layout]] = {
    "railcar": railcar,
    "marks": marked,
    "slide": DRIVES["slide"],
    "workboat": DRIVES["workboat"],
    "turns back": lambda: shipped("too_tight"),
    "past the turning point": lambda: with_pulley(
        railcar(), "tensioner", adjuster=arm((-150.0, 215.0), 85.0, (200.0, 330.0), at_rad=float(np.radians(285.0)))
    ),
}


def written(given: Layout, drawn: Circuit, k: int) -> Layout:
    """One draw as a layout of its own, in the direction of travel that is judged."""
    pulleys = {}
    for i, pulley in enumerate(drawn.pulleys):
        radius = float(drawn.radius[i, k]) - (given.belt.back_mm or 0.0) * pulley.on_back
        own = replace(pulley, diameter_mm=2.0 * radius, reading="line")
        if pulley.adjuster is None:
            own = replace(own, at_mm=(float(drawn.centre[i][k, 0]), float(drawn.centre[i][k, 1])))
        else:
            own = replace(own, adjuster=held(drawn, k, pulley.adjuster))
        pulleys[pulley.name] = own
    return replace(given, pulleys={**given.pulleys, **pulleys}, route=tuple(pulleys))


def held(drawn: Circuit, k: int, given: Arm | Slide) -> Arm | Slide:
    track = drawn.track
    assert track is not None
    x, y = map(float, track.origin[k])
    first, last = (float(np.broadcast_to(stop, drawn.shape)[k]) for stop in track.travel)
    at = float(track.nominal[k])
    if track.along is not None:
        x1, y1 = map(float, track.centre_at(np.asarray(track.travel[1]))[k])
        return Slide((x, y), (x1, y1), at / last)
    assert isinstance(given, Arm)
    marks = None if track.marks is None else (float(track.marks[0][k]), float(track.marks[1][k]))
    return Arm((x, y), float(track.lever[k]), (first, last), at, marks, given.spring)


@for_each(*CASES)
def test_every_draw_is_the_layout_that_check_judges(name: str) -> None:
    """Same needed length, window, marks, fitting slack and wraps as `route_of` on the draw written as a layout."""
    given = CASES[name]()
    route, drawn, _ = drawn_of(given, DRAWS)
    home, found = nearest_sound(drawn)
    assert found.all()
    travel = travel_round(drawn, home)
    window = window_of(given, drawn, travel)
    length = np.full(DRAWS, 0.5 * (window.shortest.mean() + window.longest.mean()))
    wraps = drawn.loop_at(setting_for(drawn, travel, window, length)).wrap
    for k in range(DRAWS):
        single = route_of(written(given, drawn, k))
        assert [p.name for p in single.pulleys] == [p.name for p in route.pulleys]
        assert single.travel is not None and single.window is not None
        own = single.window
        batch = [window.shortest, window.longest, window.short_end, window.long_end, window.fitting]
        wanted = [own.shortest, own.longest, own.short_end, own.long_end, own.fitting]
        assert [float(each[k]) for each in batch] == pytest.approx(wanted, abs=1e-5)
        assert window.last_over[k] == own.last_over
        if single.needed_mm is not None:
            assert float(drawn.base.length[k]) == pytest.approx(single.needed_mm, abs=1e-9)
        setting = setting_for(single.circuit, single.travel, own, length[k : k + 1])
        assert wraps[k] == pytest.approx(single.circuit.loop_at(float(setting[0])).wrap, abs=1e-6)
        assert bool(travel.whole[k]) == bool(single.travel.whole)
        assert bool(travel.turns_back[k]) == bool(single.travel.turns_back)


def test_draws_without_a_path_are_those_that_check_refuses() -> None:
    given = replace(railcar(), uncertainty=Uncertainty(position_mm=60.0))
    _, drawn, _ = drawn_of(given, 60)
    _, exists = nearest_sound(drawn)
    assert 5 < exists.sum() < 55
    for k in range(60):
        layout = written(given, drawn, k)
        try:
            # The other way round may be sound where the judged one is not.
            sound = [p.name for p in route_of(layout).pulleys] == [p.name for p in drawn.pulleys]
        except NoBeltPath:
            sound = False
        assert bool(exists[k]) == sound, k
