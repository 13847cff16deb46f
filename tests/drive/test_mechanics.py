"""Friction and strength of the belt; sources beside each number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.belt import Friction, parse_designation
from beltplan.drive.mechanics import CONDITIONS, friction_of, frictions, mechanics_of, missing_values
from tests.drive.drives import fixed, pulley, with_belt
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
    assert ribs[:2].tolist() == [[1.0, 0.35], [0.65, 0.2]] == wedge[:2].tolist()
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


def test_wet_lies_a_third_under_dry() -> None:
    """Sheng, Lee, Narravula and Song 2011: 30-40 % below."""
    dry, wet, _ = frictions(parse_designation("6PK"), (GROOVED, BACK))
    assert CONDITIONS[:2] == ("dry", "wet")
    assert 0.6 <= wet[0] / dry[0] <= 0.7
    assert wet[1] < dry[1]
