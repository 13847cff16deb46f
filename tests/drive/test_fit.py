"""Which belt fits: the edges of good and marginal, worked by hand from the rule.

Good: L - tolerance - fitting slack >= shortest and L + tolerance + growth <= longest, where growth is wear and, set by
hand, the stretch from the measuring force to the set tension (Hooke: (T_set - T_measuring) / EA). Fitting slack is the
least over the fixed pulleys of wrap x height to climb over the rim (dL/dr = wrap, plane geometry; the rule itself is
common practice, no source). Tolerance of PK: the greater of 5 mm and 0.5 %; wear 0.7 %; rib height 2.35 mm.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.belt import Belt
from beltplan.drive.fit import (
    BeltGrowth,
    FittedBelt,
    Window,
    acceptable_lengths,
    fitted_in_window,
    fitted_on_fixed,
    is_sprung,
    left_words,
    seat_mm,
    stretch_lengths,
    window_of,
    with_any_length,
)
from beltplan.drive.layout import Layout
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Slide, SlideSpring
from beltplan.drive.route import route_of
from beltplan.drive.travel import Circuit, Travel, circuit_of, travel_of
from beltplan.layoutfile.layout_file import read_layout
from tests.drive.drives import arm, fixed, on_slide, railcar, with_belt, with_pulley
from tests.for_each import for_each

PK = Belt(PROFILES["PK"], 6)
SHORTEST, LONGEST = 600.0 + 100.0 * np.pi, 720.0 + 100.0 * np.pi
FITTING = np.pi * 2.35
SPRING = SlideSpring(force_N=300.0, at_mm=30.0, rate_N_per_mm=2.0)
EPSILON = 1e-6
OVER = np.array(0)


def _parts(layout: Layout) -> tuple[Circuit, Travel, Window[float]]:
    circuit = circuit_of(layout)
    travel = travel_of(circuit)
    assert travel is not None
    return circuit, travel, window_of(layout, circuit, travel).single


def _fit(layout: Layout, *lengths: float) -> tuple[FittedBelt, ...]:
    stocked = replace(layout, stock=tuple(replace(layout.belt, length_mm=length) for length in lengths))
    return fitted_in_window(stocked, *_parts(layout))


def test_window_of_two_equal_pulleys_on_a_slide() -> None:
    circuit, _, window = _parts(on_slide())
    assert (window.shortest, window.longest) == pytest.approx((SHORTEST, LONGEST))
    assert (window.short_end, window.long_end) == (window.shortest, window.longest)
    assert window.fitting == pytest.approx(FITTING)
    assert circuit.pulleys[window.last_over].name == "crank"
    assert window.growth.wear == 0.007


def test_belt_goes_last_over_the_fixed_pulley_that_asks_least() -> None:
    """The guide: fixed, and its wrap of 78 deg x 2.35 mm is the least; the tensioner has less wrap but moves."""
    circuit, travel, window = _parts(railcar())
    wrap = circuit.loop_at(travel.short).wrap
    assert circuit.pulleys[window.last_over].name == "guide"
    assert window.fitting == pytest.approx(float(wrap[3]) * 2.35)
    assert wrap[1] < wrap[3]


def test_a_flange_is_climbed_too() -> None:
    flanged = with_pulley(railcar(), "guide", flange_mm=5.0)
    circuit, travel, window = _parts(flanged)
    wrap = circuit.loop_at(travel.short).wrap
    assert circuit.pulleys[window.last_over].name == "crank"
    assert window.fitting == pytest.approx(float(wrap[0]) * 2.35)
    assert wrap[0] == wrap[[0, 2, 4]].min()


@for_each(({"tension_N": 468.0}, 0.008), ({"tension_N": 300.0}, 0.007), ({"spring": SPRING}, 0.007))
def test_edges_of_good(more: dict[str, Any], growth: float) -> None:
    """Both must take 0.7 % of wear up; set by hand to 168 N over the measuring force of 300 N, 168 / 168000 more."""
    layout, wear = on_slide(**more), growth
    least = SHORTEST + FITTING + 5.0
    most = min((LONGEST - 5.0) / (1.0 + wear), LONGEST / (1.0 + 0.005 + wear))
    lengths = [least - EPSILON, least + EPSILON, most - EPSILON, most + EPSILON]
    judged = {belt.line_mm: belt.verdict for belt in _fit(layout, *lengths)}
    assert [judged[length] for length in lengths] == ["marginal", "good", "good", "marginal"]
    assert acceptable_lengths(layout.belt, _parts(layout)[2]) == pytest.approx((least, most))
    assert is_sprung(circuit_of(layout)) is ("spring" in more)


def test_edges_of_the_window() -> None:
    lengths = [SHORTEST - EPSILON, SHORTEST + EPSILON, LONGEST - EPSILON, LONGEST + EPSILON]
    fitted = _fit(on_slide(), *lengths)
    assert {belt.line_mm for belt in fitted} == set(lengths[1:3])
    assert {belt.verdict for belt in fitted} == {"marginal"}


def test_reserves_and_reasons() -> None:
    (short,) = _fit(on_slide(tension_N=468.0), SHORTEST + 2.0)
    assert short.short_reserve_mm == pytest.approx(2.0 - 5.0 - FITTING)
    assert short.long_reserve_mm == pytest.approx(118.0 - 5.0 - 0.008 * (SHORTEST + 2.0))
    assert short.reserve_mm == short.short_reserve_mm
    assert short.reasons == ("10.4 mm too little travel to the short stop for length tolerance and fitting",)
    (long,) = _fit(on_slide(spring=SPRING), LONGEST - 2.0)
    missing = 2.0 - 0.012 * (LONGEST - 2.0)
    assert long.long_reserve_mm == pytest.approx(missing)
    assert long.reasons == (f"{-missing:.1f} mm too little travel to the long stop for length tolerance and wear",)
    (locked,) = _fit(on_slide(tension_N=468.0), LONGEST - 2.0)
    words = "for length tolerance, stretch to the set tension, and wear"
    assert locked.reasons == (f"{-2.0 + 0.013 * (LONGEST - 2.0):.1f} mm too little travel to the long stop {words}",)
    assert _fit(on_slide(), 970.0)[0].reasons == ()


def test_place_on_the_travel() -> None:
    """Half the change of path length, for two equal pulleys."""
    (fitted,) = _fit(on_slide(), SHORTEST + 45.0)
    assert fitted.setting == pytest.approx(22.5)
    assert fitted.position == pytest.approx(22.5 / 60.0)


def test_order_good_first_then_larger_reserve() -> None:
    lengths = [SHORTEST + 1.0, 930.0, 970.0, 1000.0, LONGEST - 1.0]
    fitted = _fit(on_slide(tension_N=300.0), *lengths)
    assert [belt.verdict for belt in fitted] == ["good"] * 3 + ["marginal"] * 2
    # Reserves: 970 has 43, 1000 has 22, 930 has 3.3; then -11.4 (too short) and -11.4 (too long), a hair apart.
    assert [round(belt.line_mm, 1) for belt in fitted] == [970.0, 1000.0, 930.0, 915.2, 1033.2]


def test_order_of_equal_reserves_is_the_shorter_first() -> None:
    layout = with_belt(fixed(), tolerance_mm=5.0)
    stock = tuple(replace(layout.belt, length_mm=length) for length in (1003.0, 997.0))
    fitted = fitted_on_fixed(replace(layout, stock=stock), 1000.0)
    assert [(belt.line_mm, belt.reserve_mm) for belt in fitted] == [(997.0, 2.0), (1003.0, 2.0)]


def test_reserves_run_to_the_marks() -> None:
    """Marks at 270 and 290 deg inside stops at 265 and 300: the window stays, the reserves shrink."""
    marked = arm((-150.0, 215.0), 85.0, (265.0, 300.0), marks_rad=tuple(np.radians([290.0, 270.0])))
    plain, (circuit, _, window) = _parts(railcar())[2], _parts(with_pulley(railcar(), "tensioner", adjuster=marked))
    ends = circuit.loop_at(np.radians([270.0, 290.0])).length
    assert (window.shortest, window.longest) == (plain.shortest, plain.longest)
    assert (window.short_end, window.long_end) == pytest.approx(tuple(ends))


def test_marks_outside_the_usable_travel_count_from_its_ends() -> None:
    marked = arm((-150.0, 215.0), 85.0, (265.0, 300.0), marks_rad=tuple(np.radians([250.0, 310.0])))
    *_, window = _parts(with_pulley(railcar(), "tensioner", adjuster=marked))
    assert (window.short_end, window.long_end) == pytest.approx((window.shortest, window.longest))


@given(
    st.floats(300.0, 3000.0), st.floats(0.0, 150.0), st.floats(0.0, 8.0),
    st.sampled_from([0.0, 0.007, 0.015]), st.sampled_from([None, 0.0, 3.0]),
)  # fmt: skip
def test_acceptable_interval_is_where_belts_are_good(
    shortest: float, width: float, fitting: float, wear: float, tolerance: float | None
) -> None:
    """Just inside either end a belt is judged good, just outside marginal, for short belts and long ones."""
    layout = with_belt(on_slide(), tolerance_mm=tolerance)
    circuit, travel, _ = _parts(layout)
    window = Window(
        shortest - 50.0, shortest + width + 50.0, shortest, shortest + width, fitting, OVER, BeltGrowth(wear, None)
    )  # fmt: skip
    interval = acceptable_lengths(layout.belt, window)

    def judged(length: float) -> str:
        stocked = replace(layout, stock=(replace(layout.belt, length_mm=length),))
        return fitted_in_window(stocked, circuit, travel, window)[0].verdict

    if interval is None:
        assert {judged(length) for length in np.linspace(shortest, shortest + width, 9)} == {"marginal"}
        return
    least, most = interval
    assert judged(least - EPSILON) == judged(most + EPSILON) == "marginal"
    if most - least > 2.0 * EPSILON:
        assert judged(least + EPSILON) == judged(most - EPSILON) == "good"


def test_no_interval_in_a_window_narrower_than_its_reserves() -> None:
    assert acceptable_lengths(PK, Window(1000.0, 1010.0, 1000.0, 1010.0, 3.0, OVER, BeltGrowth(0.0, 0.0))) is None


@for_each(
    (900.0, True), (895.0 + EPSILON, True), (895.0 - EPSILON, False), (905.0 - EPSILON, True),
                     (905.0 + EPSILON, False),
)  # fmt: skip
def test_without_an_adjuster_only_the_tolerance_band_helps(length: float, fits: bool) -> None:
    """PK below 1000 mm: 5 mm either way."""
    layout = fixed()
    fitted = fitted_on_fixed(replace(layout, stock=(replace(layout.belt, length_mm=length),)), 900.0)
    assert [belt.verdict for belt in fitted] == (["marginal"] if fits else [])
    assert all(belt.position is None and belt.setting is None and belt.reasons for belt in fitted)


def test_without_an_adjuster_no_ordinary_belt_is_good() -> None:
    assert stretch_lengths(fixed().belt, 900.0) is None


@for_each(900.0, 999.0, 1000.0, 1003.0, 2000.0)
def test_acceptable_interval_of_a_stretch_belt(needed: float) -> None:
    layout = with_belt(fixed(), stretch_fit=(0.01, 0.02))
    interval = stretch_lengths(layout.belt, needed)
    assert interval is not None
    least, most = interval
    lengths = (least - EPSILON, least + EPSILON, most - EPSILON, most + EPSILON)
    stock = tuple(replace(layout.belt, length_mm=length) for length in lengths)
    assert {belt.line_mm for belt in fitted_on_fixed(replace(layout, stock=stock), needed)} == set(lengths[1:3])


def test_a_stretch_fit_belt_is_good_within_its_band() -> None:
    """Stretched 1 to 2 %: for a path of 1020 mm from 1000 to 1009.9 mm."""
    layout = with_belt(fixed(), stretch_fit=(0.01, 0.02))
    stock = tuple(replace(layout.belt, length_mm=length) for length in (999.9, 1000.2, 1005.0, 1009.8, 1010.0))
    fitted = fitted_on_fixed(replace(layout, stock=stock), 1020.0)
    assert [(belt.line_mm, belt.verdict) for belt in fitted] == [(1005.0, "good"), (1000.2, "good"), (1009.8, "good")]
    assert fitted[0].short_reserve_mm == pytest.approx(1005.0 * 1.02 - 1020.0)
    assert fitted[0].long_reserve_mm == pytest.approx(1020.0 - 1005.0 * 1.01)


def test_seat_of_a_belt_without_adjuster() -> None:
    """A stretch belt sits at the middle of what it may be stretched."""
    assert seat_mm(replace(PK, length_mm=1000.0)) == 1000.0
    assert seat_mm(replace(PK, length_mm=1000.0, stretch_fit=(0.01, 0.02))) == pytest.approx(
        1000.0 * (1.01 + 1.02) / 2.0
    )


def test_designation_of_a_fitted_belt() -> None:
    assert _fit(on_slide(), 970.0)[0].designation == "6PK970"


def test_growth_of_a_v_belt_set_by_hand_and_sprung() -> None:
    """Wear 1.5 %, common practice, no source. Stretch is Hooke's; without a stiffness it is left out, not guessed."""
    unknown = replace(on_slide(tension_N=500.0), belt=Belt(PROFILES["AV13"]))
    known = with_belt(unknown, stiffness_N=60_000.0)
    sprung = replace(on_slide(spring=SPRING), belt=known.belt)
    stretch = (500.0 - PROFILES["AV13"].measuring_force_N) / 60_000.0
    assert _parts(unknown)[2].growth == BeltGrowth(0.015, None) and BeltGrowth(0.015, None).total == 0.015
    assert _parts(known)[2].growth == BeltGrowth(0.015, stretch)
    assert _parts(known)[2].growth.total == pytest.approx(0.015 + stretch)
    assert _parts(sprung)[2].growth == BeltGrowth(0.015, 0.0)


def test_a_belt_set_loosely_never_counts_as_shorter_than_it_is() -> None:
    assert BeltGrowth(0.007, -0.002).total == pytest.approx(0.005)
    assert BeltGrowth(0.007, -0.5).total == 0.0


@for_each((1423.0, "good"), (1425.0, "marginal"), (1449.0, "marginal"))
def test_the_sprayers_good_lengths_end_where_it_can_still_be_tightened(length: float, judged: str) -> None:
    """Longest path 1457.0 mm / (1 + 0.5 % tolerance + 1.5 % wear + (400 - 200) / 60000) is near 1424 mm, by hand."""
    given = read_layout("layouts/orchard_sprayer.yaml", None).layout
    (fitted,) = route_of(with_belt(replace(given, stock=()), length_mm=length)).stock
    assert fitted.verdict == judged


def test_slide_given_backward_has_the_same_window() -> None:
    forward, backward = _parts(on_slide())[2], _parts(on_slide((360.0, 0.0), (300.0, 0.0)))[2]
    assert (forward.shortest, forward.longest) == pytest.approx((backward.shortest, backward.longest))
    assert isinstance(on_slide().pulleys["generator"].adjuster, Slide)


@for_each(on_slide(), railcar())
def test_of_any_length_the_one_with_the_most_in_hand(layout: Layout) -> None:
    """Both reserves are equal there: L - tolerance - fitting - short end = long end - L - tolerance - growth L."""
    circuit, travel, window = _parts(layout)
    most = (window.long_end + window.short_end + window.fitting) / (2.0 + window.growth.total)
    best = fitted_in_window(with_any_length(layout), circuit, travel, window)[0]
    assert abs(best.line_mm - most) <= 0.5 + EPSILON and best.line_mm == round(best.line_mm)


@for_each(((300.0, 360.0),), ((360.0, 300.0),))
def test_how_far_it_is_to_both_ends_is_told_by_the_adjusters_own_way(ends: tuple[float, float]) -> None:
    """A slide of 60 mm whose short end is nearer to the other pulley; an arm from 265 to 300 deg, short first."""
    circuit, travel, _ = _parts(on_slide(*((x, 0.0) for x in ends)))
    at = 20.0 if ends[0] < ends[1] else 40.0
    assert left_words(circuit, travel, at) == "20.0 mm from the short and 40.0 mm from the long stop"
    swung = _parts(railcar())[:2]
    assert left_words(*swung, float(np.radians(275.0))) == "10.0 deg from the short and 25.0 deg from the long stop"
