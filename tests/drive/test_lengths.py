"""The lengths that one belt has, kept apart."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.belt import (
    Belt,
    line_length_mm,
    outside_length_mm,
    parse_designation,
    pitch_length_mm,
    rim_reading_spread_mm,
)
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Pulley
from beltplan.geometry.loops import close_loop
from tests.drive.drives import fixed, with_pulley
from tests.for_each import for_each


@for_each("6PK1500", "AV13x1500", "A1500 datum", "B1500 datum")
def test_designation_is_the_line_length(text: str) -> None:
    assert line_length_mm(parse_designation(text)) == 1500.0


@pytest.mark.parametrize(("section", "inches"), [("A", 1.3), ("B", 1.8)])
def test_inside_length_of_classical_sections(section: str, inches: float) -> None:
    """ANSI/RMA IP-20 in Machinery's Handbook, 31st ed. pp. 2575-2577: nominal inches + 1.3 (A), + 1.8 (B)."""
    assert line_length_mm(parse_designation(f"{section}660.4 inside")) == pytest.approx(660.4 + inches * 25.4)


@pytest.mark.parametrize(("section", "under_top"), [("A", 2.75), ("B", 3.5)])
def test_outside_length_of_classical_sections(section: str, under_top: float) -> None:
    """Datum width 2.75 (A) and 3.5 mm (B) under the top, ISO 4183 from memory: parallel curve, 2 pi times that."""
    belt = parse_designation(f"{section}1000 outside")
    assert line_length_mm(belt) == pytest.approx(1000.0 - 2.0 * np.pi * under_top, abs=0.01)
    assert outside_length_mm(belt, line_length_mm(belt)) == pytest.approx(1000.0)


def test_a_belt_without_a_length_has_no_line_length() -> None:
    with pytest.raises(ValueError, match="no length"):
        line_length_mm(parse_designation("6PK"))


@for_each(*PROFILES)
def test_pitch_length_is_a_parallel_curve(name: str) -> None:
    """The same drive laid at the pitch radii, by the geometry itself."""
    belt = Belt(PROFILES[name])
    centre, radius = np.array([[0.0, 0.0], [400.0, 30.0], [150.0, 300.0]]), np.array([90.0, 95.0, 100.0])
    line = float(close_loop(centre, radius, np.ones(3)).length)
    pitch = float(close_loop(centre, radius + belt.profile.pitch_line_mm, np.ones(3)).length)
    assert pitch_length_mm(belt, line) == pytest.approx(pitch, rel=1e-12)


def test_outside_length_needs_the_back() -> None:
    assert outside_length_mm(Belt(PROFILES["PK"]), 1500.0) == pytest.approx(1500.0 + 2.0 * np.pi * 2.2)
    assert outside_length_mm(Belt(PROFILES["PJ"]), 1500.0) is None


@pytest.mark.parametrize("end", [0, 1])
def test_spread_of_rim_readings_by_laying_the_loop_at_both_ends_of_the_range(end: int) -> None:
    given = fixed()
    for name in ("crank", "pump"):
        given = with_pulley(given, name, reading="rim")
    profile = given.belt.profile
    nominal = 600.0 + np.pi * given.pulleys["crank"].line_diameter_mm(given.belt)
    # Read 100 mm over the rim; the line's diameter is 100 less the rim's height over it.
    other = 600.0 + np.pi * (100.0 - profile.rim_range_mm[end])
    spread = rim_reading_spread_mm(given.belt, 2.0 * np.pi)
    assert spread[1 - end] == pytest.approx(other - nominal)
    assert spread[0] < 0.0 < spread[1]


def test_a_rim_reading_is_worth_a_fifth_of_a_mm_per_radian() -> None:
    """PK's rim lies 0.385 mm under the line, and 0 to 0.9, on the diameter: by the groove of ISO 9982:2021, table 2."""
    assert rim_reading_spread_mm(Belt(PROFILES["PK"]), 1.0) == pytest.approx((-0.385 / 2.0, (0.9 - 0.385) / 2.0))


def test_a_line_reading_is_taken_as_it_is() -> None:
    assert Pulley("crank", "crankshaft", 100.0).line_diameter_mm(Belt(PROFILES["PK"])) == 100.0
