"""Friction and strength of the belt; sources beside each number."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from beltplan.drive.belt import Friction, parse_designation
from beltplan.drive.layout import Block, Layout
from beltplan.drive.mechanics import (
    CONDITIONS,
    deflection_mm,
    entering,
    friction_of,
    frictions,
    grip_utilisation,
    hub_load_N,
    is_slack,
    mechanics_of,
    missing_values,
    rises_N,
    stretching_mm,
)
from beltplan.drive.operation import heat_N, tension_band
from beltplan.drive.pulleys import Slide, SlideSpring
from beltplan.drive.route import route_of
from beltplan.geometry.loops import close_loop
from beltplan.geometry.pieces import pieces_of
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.schema import key_at
from tests.drive.drives import fixed, pulley, with_belt
from tests.drive.loaded_drives import on_slide, operation, seven
from tests.for_each import for_each

GROOVED, BACK = pulley("pump", 0, 0, 100), pulley("guide", 0, 0, 80, belt_side="back")


def test_mass_and_stiffness_go_by_the_rib() -> None:
    """0.105 kg/m and about 170 kN for six ribs: Beikmann, Perkins and Ulsoy 1996, from memory, medium confidence."""
    six, three = mechanics_of(parse_designation("6PK")), mechanics_of(parse_designation("3PK"))
    assert six is not None and three is not None
    assert six.mass_kg_per_m == pytest.approx(0.105)
    assert six.stiffness_N == pytest.approx(170_000.0, rel=0.02)
    assert six.span_limit_N == 2.0 * three.span_limit_N == 6 * 180.0  # common practice, no source


@for_each(("PH", 15), ("PJ", 25), ("PK", 50), ("PL", 100), ("PM", 225))
def test_forces_a_rib_go_with_the_force_at_which_the_profile_is_measured(name: str, newton: float) -> None:
    """ISO 9982, from memory, medium confidence: force of one span a rib; tensions in PK's proportion, derived."""
    belt = replace(parse_designation(f"4{name}"), mass_kg_per_m=0.1, stiffness_N=1e5)
    mechanics = mechanics_of(belt)
    assert mechanics is not None and mechanics.measuring_N == 4 * newton
    assert mechanics.hand_set_N == pytest.approx(4 * newton * 111.0 / 50.0)
    assert mechanics.span_limit_N == pytest.approx(4 * newton * 180.0 / 50.0)  # PK's: common practice, no source


@for_each(("6PK", 667, 801), ("8PK", 890, 1068), ("AV13", 445, 578))
def test_hand_set_tension_is_that_of_a_run_in_belt(name: str, used_N: float, new_N: float) -> None:
    """US Army TM 9-2320-312-24-2, specifications, table 3: set after running in, +-44 N; new +-111 N.

    The V-belt of 13.9 mm: used 445 +-44, new 578 +-111 N.
    """
    mechanics = mechanics_of(replace(parse_designation(name), stiffness_N=1e5))
    assert mechanics is not None and mechanics.hand_set_N == pytest.approx(used_N, abs=2.5)
    assert mechanics.hand_set_N < new_N < mechanics.span_limit_N


def test_own_values_replace_the_defaults() -> None:
    belt = with_belt(fixed(), mass_kg_per_m=0.2, stiffness_N=9e4).belt
    mechanics = mechanics_of(belt)
    assert mechanics is not None and (mechanics.mass_kg_per_m, mechanics.stiffness_N) == (0.2, 9e4)


@for_each(("6PH", 90), ("6PJ", 150), ("6PK", 300), ("6PL", 600), ("6PM", 1350))
def test_measuring_force_goes_by_the_profile(belt: str, newton: float) -> None:
    """15, 25, 50, 100 and 225 N a rib and span: ISO 9982, from memory, medium confidence."""
    assert parse_designation(belt).measuring_N == newton


@for_each(("4PK", 0.07), ("8PK", 0.14), ("AV10", 0.08), ("AV13", 0.12), ("A", 0.11), ("B", 0.19))
def test_mass_of_the_whole_belt(written: str, mass_kg_per_m: float) -> None:
    """PK 0.0175 kg/m a rib, Beikmann 1996, from memory, medium confidence; a V-belt from memory, medium confidence."""
    mechanics = mechanics_of(replace(parse_designation(written), stiffness_N=8e4))
    assert mechanics is not None and mechanics.mass_kg_per_m == pytest.approx(mass_kg_per_m)


@for_each(("6PK", ()), ("AV13", ("stiffness_N",)), ("4PL", ("mass_kg_per_m", "stiffness_N")))
def test_what_must_be_given_is_named(written: str, missing: tuple[str, ...]) -> None:
    belt = parse_designation(written)
    assert missing_values(belt) == missing
    assert (mechanics_of(belt) is None) == bool(missing)
    assert missing_values(replace(belt, mass_kg_per_m=0.1, stiffness_N=8e4)) == ()


def test_a_belt_that_is_locked_asks_for_no_stiffness_and_a_sprung_one_does() -> None:
    belt, slide = parse_designation("AV13"), Slide((0.0, 0.0), (9.0, 0.0))
    assert missing_values(belt, slide) == () and mechanics_of(belt, slide) is not None
    sprung = replace(slide, spring=SlideSpring(300.0, 5.0, 2.0))
    assert missing_values(belt, sprung) == ("stiffness_N",) and mechanics_of(belt, sprung) is None
    assert missing_values(parse_designation("4PL"), slide) == ("mass_kg_per_m",)


@for_each(("6PK", 40.0), ("AV13", 36.0), ("B", 36.0))
def test_the_wedge_goes_by_the_angle_of_the_groove(written: str, groove_deg: float) -> None:
    """Shigley, eq. 17-7 ff.: f = mu / sin(half the angle). ISO 9982 40 deg, SAE J636 36 deg, IP-20 34 to 38 deg."""
    belt = replace(parse_designation(written), friction=Friction(dry=0.9, design=0.5))
    wedge = np.sin(np.radians(groove_deg) / 2.0)
    assert friction_of(belt, BACK, "dry") == pytest.approx(0.9 * wedge)
    assert friction_of(belt, GROOVED, "dry") == 0.9
    assert friction_of(belt, BACK, "design") == pytest.approx(0.5 * wedge)


def test_default_friction_in_the_groove_and_on_the_back() -> None:
    """Memory, low confidence: mu 0.35 in a 40 deg groove, 0.35 dry and 0.2 wet on the back; wet 0.65 of dry (Sheng).

    Design: 4 : 1 at half a turn (IP-26), 5 : 1 for V-belts (Shigley); on the back scaled as dry, 0.35 x 0.4413.
    """
    ribs = frictions(parse_designation("6PK"), (GROOVED, BACK))
    wedge = frictions(parse_designation("B"), (GROOVED, BACK))
    assert CONDITIONS[:2] == ("dry", "wet")
    assert ribs[:2].tolist() == [[1.0, 0.35], [0.65, 0.2]] == wedge[:2].tolist()
    assert 0.6 <= ribs[1, 0] / ribs[0, 0] <= 0.7  # Sheng, Lee, Narravula and Song 2011: 30-40 % below
    assert ribs[2] == pytest.approx([np.log(4.0) / np.pi, 0.35 * np.log(4.0) / np.pi], abs=5e-4)
    assert wedge[2] == pytest.approx([np.log(5.0) / np.pi, 0.154], abs=5e-4)


def test_unknown_belt_has_no_mechanics() -> None:
    assert mechanics_of(parse_designation("4PL")) is None


def test_design_friction_is_four_to_one_at_half_a_turn() -> None:
    """ARPM/RMA IP-26, from memory, high confidence; five to one for V-belts, Shigley."""
    ribs, wedge = parse_designation("6PK"), parse_designation("AV13")
    assert np.exp(friction_of(ribs, GROOVED, "design") * np.pi) == pytest.approx(4.0)
    assert np.exp(friction_of(wedge, GROOVED, "design") * np.pi) == pytest.approx(5.0, rel=1e-3)


def test_wedge_of_the_back_is_taken_off_again() -> None:
    """Shigley, eq. 17-7 ff.: f = mu / sin(groove angle / 2); a 40 deg groove multiplies by 2.92."""
    belt = with_belt(fixed(), friction=Friction(wet=0.5)).belt
    assert friction_of(belt, GROOVED, "wet") == 0.5
    assert friction_of(belt, BACK, "wet") == pytest.approx(0.5 / 2.9238, rel=1e-4)
    assert friction_of(belt, BACK, "dry") == 0.35  # untouched default, from memory, low confidence


def test_what_is_told_of_a_given_factor_on_the_back_holds() -> None:
    """Given the very default, wet, the back of PK has more than is assumed of it: told beside the key."""
    told = key_at("belt.friction").meaning
    given = replace(parse_designation("6PK"), friction=Friction(wet=0.65))
    assert f"{friction_of(given, BACK, 'wet'):.2f} for wet 0.65" in told
    assert f"where {friction_of(parse_designation('6PK'), BACK, 'wet'):.2f} is assumed" in told


# The plain formulas: rises, shares, slip, hub loads. Laws of statics and of Euler's formula.


LOOP = close_loop(
    np.array([[0.0, 0.0], [400.0, 60.0], [150.0, 330.0], [140.0, 180.0]]),
    np.array([80.0, 40.0, 60.0, 30.0]),
    np.array([1.0, 1.0, 1.0, -1.0]),
)
WRAPS, FRICTIONS, LOWS = st.floats(0.2, 4.0), st.floats(0.1, 1.5), st.floats(1.0, 2000.0)


def test_rises_add_up_round_the_loop() -> None:
    """Plain arithmetic: 10 Nm on 50 mm is 200 N, 6 Nm on 30 mm is 200 N; what the driver 'takes' is not asked."""
    rise = rises_N(np.array([-99.0, 10.0, 0.0, 6.0]), np.array([80.0, 50.0, 40.0, 30.0]))
    np.testing.assert_allclose(rise, [0.0, 200.0, 200.0, 400.0])


def test_what_stretches_is_span_and_half_arcs() -> None:
    parts = stretching_mm(pieces_of(list(LOOP.centre), LOOP.radius, LOOP.sense))
    assert float(sum(parts)) == pytest.approx(float(LOOP.length), rel=1e-14)
    arc = LOOP.wrap * LOOP.radius
    assert float(parts[0]) == pytest.approx(float(LOOP.span[0] + 0.5 * (arc[0] + arc[1])), rel=1e-14)
    assert float(parts[-1]) == pytest.approx(float(LOOP.span[-1] + 0.5 * (arc[-1] + arc[0])), rel=1e-14)


@given(FRICTIONS, WRAPS, LOWS, st.sampled_from([0.99, 1.01]))
def test_edges_of_slip(friction: float, wrap: float, low: float, utilisation: float) -> None:
    """Euler: P_high = P_low exp(f wrap) just slips; a hundredth less or more does not, and does."""
    high = low * np.exp(utilisation * friction * wrap)
    for pair in ((low, high), (high, low)):
        found = grip_utilisation(np.array(pair[0]), np.array(pair[1]), np.array(friction), np.array(wrap))
        assert float(found) == pytest.approx(utilisation, rel=1e-9)
        assert (float(found) < 1.0) == (utilisation < 1.0)


@for_each((0.0, np.inf), (-20.0, np.inf), (1e-300, 700.0))
def test_slack_side_without_tension(low: float, expected: float) -> None:
    """The grip needed goes beyond all bounds as the slack side goes to nothing, and stays there."""
    with np.errstate(divide="raise", invalid="raise"):
        utilisation = float(grip_utilisation(np.array(300.0), np.array(low), np.array(0.3), np.array(3.0)))
    assert utilisation >= expected


def test_equal_tensions_use_no_grip() -> None:
    for tension in (300.0, 0.0, -5.0):
        assert float(grip_utilisation(np.array(tension), np.array(tension), np.array(0.3), np.array(3.0))) == 0.0


def test_a_load_without_wrap_slips() -> None:
    assert float(grip_utilisation(np.array(300.0), np.array(200.0), np.array(0.3), np.array(0.0))) == np.inf


@given(st.floats(10.0, 2000.0))
def test_hub_load_of_equal_spans(tension: float) -> None:
    """Statics: 2 T sin(wrap / 2) along the bisector of the spans, towards the belt's side."""
    pull = hub_load_N(LOOP, np.full(4, tension))
    np.testing.assert_allclose(np.hypot(*pull.T), 2.0 * tension * np.sin(LOOP.wrap / 2.0), rtol=1e-9)
    arriving = LOOP.direction[[3, 0, 1, 2]]
    np.testing.assert_allclose((pull * (LOOP.direction + arriving)).sum(axis=-1), 0.0, atol=1e-8 * tension)
    # The belt pulls a pulley away from the middle of its own arc.
    middle = LOOP.arrival + LOOP.start - 2.0 * LOOP.centre
    assert ((pull * middle).sum(axis=-1)[LOOP.wrap < np.pi] < 0.0).all()


@given(st.lists(st.floats(-500.0, 2000.0), min_size=4, max_size=4))
def test_hub_loads_of_a_closed_loop_cancel(tension: list[float]) -> None:
    """Newton's third law: every span pulls both its ends alike."""
    np.testing.assert_allclose(hub_load_N(LOOP, np.array(tension)).sum(axis=0), 0.0, atol=1e-9)


def test_entering_and_slack() -> None:
    spans = np.array([1.0, 0.0, -3.0, np.nan])
    np.testing.assert_array_equal(entering(spans), [np.nan, 1.0, 0.0, -3.0])
    np.testing.assert_array_equal(is_slack(spans), [False, True, True, True])


# How far a pressed span gives: against the least energy of a stretched string, found by scipy.
# F = 4 T d / l + 8 EA d^3 / l^3 is the law of a string that is pressed a little; the string here bends as far as it
# will.


NODES = 9
"""Between the ends, the middle one pressed."""


def pressed_mm(press_N: float, tension_N: float, span_mm: float, stiffness_N: float, loop_mm: float) -> float:
    """Of a chain of straight pieces between fixed ends, a part of a loop that slides: where its energy is least."""
    step = span_mm / (NODES + 1)

    def energy(down_mm: Floats) -> tuple[float, Floats]:
        """And its slopes."""
        drops = np.diff(down_mm, prepend=0.0, append=0.0)
        pieces = np.hypot(step, drops)
        longer = pieces.sum() - span_mm
        pull = drops / pieces * (tension_N + stiffness_N / loop_mm * longer)
        slopes = pull[:-1] - pull[1:]
        slopes[NODES // 2] -= press_N
        work = press_N * down_mm[NODES // 2]
        return float(tension_N * longer + 0.5 * stiffness_N / loop_mm * longer**2 - work), slopes

    start = np.interp(np.arange(1, NODES + 1), [0, (NODES + 1) / 2, NODES + 1], [0.0, 0.03 * span_mm, 0.0])
    found = minimize(energy, start, jac=True, method="BFGS", options={"gtol": 1e-6})
    return float(found.x[NODES // 2])


@for_each(
    (798.0, 350.0, 168_000.0, 1500.0),  # a new 6PK, the loop sharing the stretch
    (402.0, 350.0, 168_000.0, 1500.0),  # the same, to be set again
    (666.0, 300.0, 168_000.0, 300.0),  # the span alone
    (400.0, 371.0, 60_000.0, 1400.0),  # a V-belt
    (480.0, 233.0, 0.0, 2000.0),  # a spring keeps its tension
    (120.0, 500.0, 28_000.0, 1200.0),
)  # fmt: skip
@pytest.mark.parametrize("press_N", [20.0, 98.0])
def test_a_stretched_string(
    press_N: float, tension_N: float, span_mm: float, stiffness_N: float, loop_mm: float
) -> None:
    given = (np.array(each) for each in (press_N, tension_N, span_mm, stiffness_N * span_mm / loop_mm))
    found = float(deflection_mm(*given))
    # What the law leaves out grows with (d / l)^2: twice of it at most.
    share = found / span_mm
    expected = pressed_mm(press_N, tension_N, span_mm, stiffness_N, loop_mm)
    assert found == pytest.approx(expected, rel=2.0 * share**2 + 2e-4)
    assert abs(found / expected - 1.0) < 0.05, "as far as it is used"


def test_the_law_holds_as_it_is_written_over_many_at_once() -> None:
    rng = np.random.default_rng(4)
    press, tension, span = rng.uniform(1.0, 200.0, 50), rng.uniform(50.0, 1500.0, (7, 50)), rng.uniform(80.0, 700.0, 50)
    stiffness = 10.0 ** rng.uniform(-6.0, 7.0, (7, 1))
    down = deflection_mm(press, tension, span, stiffness)
    law = 4.0 * tension * down / span + 8.0 * stiffness * down**3 / span**3
    np.testing.assert_allclose(law, np.broadcast_to(press, law.shape), rtol=1e-9)


# The heat of the block in a belt set by hand: dT = EA (a_block - a_belt) rise, as held against a drive that grows.
# Expansion: aluminium 23e-6, cast iron 11e-6 a kelvin, any handbook. EA of 6PK: 6 x 28 kN (from memory, medium
# confidence); the belt's own growth is taken as 0 (common practice, no source). Drives invented.


ALUMINIUM, FROST = Block("aluminium", 80.0), Block("aluminium", -40.0)
EA_N = 6 * 28_000.0


def heated(block: Block, **more: float) -> Layout:
    return replace(on_slide(**more), block=block)


def added(given: Layout) -> float | None:
    return heat_N(given, route_of(given).circuit)


def test_a_drive_that_grows_stretches_its_belt_by_so_much() -> None:
    """Law: scale the drive by 1 + a rise, and the path is longer by that share; the belt is not."""
    cold = on_slide()
    grown = 1.0 + 23e-6 * 80.0

    def longer(at: tuple[float, float]) -> tuple[float, float]:
        return at[0] * grown, at[1] * grown

    pulleys = {
        name: replace(p, diameter_mm=p.diameter_mm * grown, at_mm=p.at_mm and longer(p.at_mm))
        for name, p in cold.pulleys.items()
    }
    slide = cold.pulleys["tensioner"].adjuster
    assert isinstance(slide, Slide)
    moved = replace(slide, start_mm=longer(slide.start_mm), end_mm=longer(slide.end_mm))
    hot = replace(cold, pulleys={**pulleys, "tensioner": replace(pulleys["tensioner"], adjuster=moved)})
    ours, theirs = (route_of(each).circuit.base.length for each in (cold, hot))
    # The belt's back and cord do not grow with the metal: that is the rest.
    assert EA_N * (theirs / ours - 1.0) == pytest.approx(added(heated(ALUMINIUM)), rel=0.02)


def test_heat_raises_the_high_end_and_cold_lowers_the_low_one() -> None:
    set_N = 6 * 111.0
    low, high = 67.0 / 111.0, 133.0 / 111.0
    for block, ends in ((ALUMINIUM, (low, high + 309.12 / set_N)), (FROST, (low - 154.56 / set_N, high))):
        given = heated(block)
        assert tension_band(given, route_of(given).circuit) == pytest.approx(ends)
    tight = operation(heated(ALUMINIUM)).ends
    assert tight is not None
    np.testing.assert_allclose(tight[1].stopped.total_N, 6 * 133.0 + EA_N * 23e-6 * 80.0)


def test_a_factor_on_the_set_tension_leaves_the_heat_as_it_is() -> None:
    given = heated(ALUMINIUM)
    low, high = tension_band(given, route_of(given).circuit, 2.0) or (0.0, 0.0)
    assert high * 6 * 111.0 == pytest.approx(2.0 * 6 * 133.0 + EA_N * 23e-6 * 80.0)
    assert low == pytest.approx(2.0 * 67.0 / 111.0)


def test_a_belt_that_frost_lets_hang_slack() -> None:
    """Its lowest tension is none, and all that carries load slips there."""
    given = heated(replace(FROST, rise_K=-150.0), tension_N=300.0)
    assert (tension_band(given, route_of(given).circuit) or (1.0,))[0] == 0.0
    ends = operation(given).ends
    assert ends is not None and np.isinf(ends[0].utilisation).any() and not np.isnan(ends[0].utilisation).any()


def test_a_spring_takes_it_up() -> None:
    given = replace(seven(), block=ALUMINIUM)
    assert added(given) is None
    assert tension_band(given, route_of(given).circuit) == tension_band(seven(), route_of(seven()).circuit)
