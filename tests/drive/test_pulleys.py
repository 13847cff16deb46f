"""Radii that follow from a measured pulley."""

from __future__ import annotations

from dataclasses import replace

import pytest

from beltplan.drive.belt import Belt
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import Pulley
from tests.for_each import for_each

PK, PJ = Belt(PROFILES["PK"], 6), Belt(PROFILES["PJ"], 6)
RIBBED = Pulley("pump", "water_pump", 130.0)
SMOOTH = Pulley("guide", "idler", 76.0, belt_side="back")


def test_rim_reading_of_a_grooved_pulley_lies_under_its_effective_diameter() -> None:
    """0.385 mm on the diameter, from the groove of ISO 9982:2021, table 2."""
    read = replace(RIBBED, reading="rim")
    assert read.line_diameter_mm(PK) == pytest.approx(130.0 + 0.385)
    assert read.rim_radius_mm(PK) == pytest.approx(65.0)
    assert RIBBED.rim_radius_mm(PK) == pytest.approx(65.0 - 0.385 / 2.0)


def test_smooth_pulley_is_measured_as_it_is() -> None:
    assert replace(SMOOTH, reading="rim").line_diameter_mm(PK) == 76.0
    assert SMOOTH.rim_radius_mm(PK) == 38.0


def test_line_radius() -> None:
    assert RIBBED.line_radius_mm(PK) == 65.0
    assert SMOOTH.line_radius_mm(PK) == pytest.approx(38.0 + 2.2)
    assert SMOOTH.line_radius_mm(replace(PJ, back_over_rim_mm=2.0)) == pytest.approx(38.0 + 2.0 - 0.19)


def test_line_radius_on_the_back_needs_the_back() -> None:
    with pytest.raises(ValueError, match="PJ"):
        SMOOTH.line_radius_mm(PJ)


@pytest.mark.parametrize(("name", "depth_mm"), [("AV10", 8.0 / 3.0), ("AV13", 9.0 / 3.0)])
def test_an_automotive_v_belt_pulls_at_its_cord_under_the_rim(name: str, depth_mm: float) -> None:
    """Derived from memory, low confidence: flush with the rim, the cord a third of its height (ISO 2790) deep."""
    belt, groove = Belt(PROFILES[name]), Pulley("dynamo", "alternator", 80.0)
    assert groove.pitch_radius_mm(belt) == pytest.approx(40.0 - depth_mm, abs=0.04)
    assert groove.pitch_radius_mm(replace(belt, cord_below_back_mm=2.0)) == pytest.approx(38.0)
    assert groove.pitch_radius_mm(replace(belt, cord_below_back_mm=2.0, back_over_rim_mm=1.5)) == pytest.approx(39.5)
    assert groove.pitch_radius_mm(belt) < groove.line_radius_mm(belt) == groove.rim_radius_mm(belt) == 40.0


@pytest.mark.parametrize("diameter_mm", [1.0, 6.0])
def test_a_cord_never_runs_at_no_radius(diameter_mm: float) -> None:
    """A groove that is smaller than the cord is deep turns nothing backwards, and divides nothing by zero."""
    assert Pulley("tiny", "other", diameter_mm).pitch_radius_mm(Belt(PROFILES["AV13"])) > 0.0


def test_pitch_radius() -> None:
    """Grooved: d_e + 2 b_e with b_e 2 mm (ISO 9981:2020, 5.4). Smooth: 1.1 mm over the face, common practice."""
    assert RIBBED.pitch_radius_mm(PK) == pytest.approx(67.0)
    assert SMOOTH.pitch_radius_mm(PK) == pytest.approx(39.1)
    assert SMOOTH.pitch_radius_mm(replace(PK, cord_below_back_mm=0.8)) == pytest.approx(38.8)


def test_climb_is_the_ribs_and_the_flange() -> None:
    """PK's rib height of 2.35 mm is from memory."""
    assert RIBBED.climb_mm(PK) == 2.35
    assert replace(RIBBED, flange_mm=3.0).climb_mm(PK) == pytest.approx(2.35 + 3.0)


@for_each(("idler", True), ("tensioner", True), ("fan", False))
def test_guides_carry_nothing(role: str, guides: bool) -> None:
    assert replace(RIBBED, role=role).guides_only is guides  # type: ignore[arg-type]
