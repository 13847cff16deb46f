"""Radii that follow from a measured pulley."""

from dataclasses import astuple, replace

import numpy as np
import pytest
from scipy.differentiate import derivative

from beltplan.drive.belt import Belt
from beltplan.drive.layout import Engine, Layout, Rotation, deviations_of
from beltplan.drive.profiles import PROFILES
from beltplan.drive.pulleys import (
    DEVIATIONS_SOURCE,
    TAPE_AND_CALIPERS,
    Adjuster,
    Arm,
    ArmSpring,
    Pulley,
    Slide,
    SlideSpring,
    Uncertainty,
)
from beltplan.drive.route import route_of
from tests.drive.drives import arm, fixed, pulley, railcar, with_pulley
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


# Arms and slides: where they put the pulley, and how it moves with the setting.


ARM = arm((-150.0, 215.0), 85.0, (265.0, 300.0))
SLIDE = Slide((10.0, 20.0), (40.0, 60.0))


def test_arm_of_an_angle() -> None:
    np.testing.assert_allclose(ARM.track.centre_at(np.array(np.pi)), [-235.0, 215.0])
    np.testing.assert_allclose(
        ARM.track.centre_at(np.radians([270.0, 360.0, 450.0])), [[-150, 130], [-65, 215], [-150, 300]]
    )


def test_slide_of_a_distance() -> None:
    assert SLIDE.length_mm == 50.0
    np.testing.assert_allclose(SLIDE.track.centre_at(np.array([0.0, 25.0, 50.0])), [[10, 20], [25, 40], [40, 60]])


@pytest.mark.parametrize("adjuster", [ARM, SLIDE], ids=["arm", "slide"])
def test_motion_is_the_derivative_of_place(adjuster: Adjuster) -> None:
    """Against scipy's numeric derivative."""
    for setting in np.linspace(*adjuster.travel, 5):
        for axis in (0, 1):
            found = derivative(
                lambda s, axis=axis: adjuster.track.centre_at(s)[..., axis], setting, initial_step=0.1, order=8
            )
            assert adjuster.track.motion_at(np.array(setting))[axis] == pytest.approx(float(found.df), abs=1e-7)


@pytest.mark.parametrize("adjuster", [ARM, SLIDE], ids=["arm", "slide"])
def test_lever_is_how_far_a_unit_moves_the_pulley(adjuster: Adjuster) -> None:
    motion = adjuster.track.motion_at(np.linspace(*adjuster.travel, 7))
    assert motion.shape == (7, 2)
    np.testing.assert_allclose(np.linalg.norm(motion, axis=-1), adjuster.lever_mm)


def test_nominal_is_as_given_else_the_middle() -> None:
    assert np.degrees(ARM.nominal) == pytest.approx((265.0 + 300.0) / 2.0)
    assert Arm((0.0, 0.0), 80.0, (1.0, 2.0), at_rad=1.2).nominal == 1.2
    assert SLIDE.nominal == SLIDE.middle == 25.0
    assert Slide((10.0, 20.0), (40.0, 60.0), at=0.1).nominal == pytest.approx(5.0)


def test_a_slide_at_its_start_is_not_at_its_middle() -> None:
    assert Slide((10.0, 20.0), (40.0, 60.0), at=0.0).nominal == 0.0


def test_travel_and_marks() -> None:
    assert np.degrees(ARM.travel) == pytest.approx((265.0, 300.0))
    assert SLIDE.travel == (0.0, 50.0)
    assert SLIDE.track.marks is None
    marks = arm((0.0, 0.0), 80.0, (0.0, 90.0), marks_rad=(0.2, 0.9)).track.marks
    assert marks is not None and np.array(marks).tolist() == [0.2, 0.9]


@pytest.mark.parametrize(("longer", "expected_Nm"), [(1, [26.0, 22.5, 29.5]), (-1, [26.0, 29.5, 22.5])])
def test_arm_spring_falls_toward_longer_path(longer: int, expected_Nm: list[float]) -> None:
    """26 Nm at 285 deg, 0.35 Nm for each degree: 10 deg on either side."""
    sprung = arm((0.0, 0.0), 85.0, (265.0, 300.0), spring=ArmSpring(26.0, 285.0, -0.35))
    preload_factor = sprung.spring_force_at(np.radians([285.0, 295.0, 275.0]), longer)
    np.testing.assert_allclose(preload_factor / 1000.0, expected_Nm)


@pytest.mark.parametrize(("longer", "expected_N"), [(1, [300.0, 200.0, 400.0]), (-1, [300.0, 400.0, 200.0])])
def test_slide_spring_falls_toward_longer_path(longer: int, expected_N: list[float]) -> None:
    sprung = Slide((0.0, 0.0), (60.0, 0.0), spring=SlideSpring(300.0, 30.0, 10.0))
    np.testing.assert_allclose(sprung.spring_force_at(np.array([30.0, 40.0, 20.0]), longer), expected_N)


def test_a_spring_never_pulls_back_and_no_spring_never_pushes() -> None:
    slack = Slide((0.0, 0.0), (60.0, 0.0), spring=SlideSpring(100.0, 0.0, 10.0))
    assert slack.spring_force_at(np.array([9.0, 11.0]), 1).tolist() == [10.0, 0.0]
    assert SLIDE.spring_force_at(np.array([9.0, 11.0]), 1).tolist() == [0.0, 0.0]
    assert ARM.spring_force_at(np.array(4.9), 1) == 0.0


# How fast and which way everything turns.


def test_a_60_mm_generator_on_a_190_mm_crankshaft_turns_about_three_times_as_fast() -> None:
    """(190 + 2 x 2) / (60 + 2 x 2) = 3.03: ISO 9981:2020, 5.4, b_e 2 mm 'may be used to calculate the speed ratio'."""
    assert round(float(route_of(railcar()).ratios[-1]), 2) == 3.03


def test_ratios_of_ribs_and_back() -> None:
    """Back: outside radius + 1.1 mm to the cord (common practice, no source)."""
    expected = [1.0, 97.0 / 37.1, 97.0 / 67.0, 97.0 / 39.1, 97.0 / 32.0]
    np.testing.assert_allclose(route_of(railcar()).ratios, expected)


def test_pulleys_on_the_back_turn_the_other_way() -> None:
    route = route_of(railcar())
    assert [route.layout.turns_of(p) for p in route.pulleys] == [
        "clockwise", "counterclockwise", "clockwise", "counterclockwise", "clockwise"
    ]  # fmt: skip
    other = route_of(railcar(rotation="counterclockwise"))
    assert other.layout.turns_of(other.layout.pulleys["guide"]) == "clockwise"


def test_belt_speed() -> None:
    """A pitch radius of 97 mm at 3000 rpm: 50 turns a second of 2 pi 0.097 m."""
    assert route_of(railcar()).belt_speed_m_per_s(3000.0) == pytest.approx(50.0 * 2.0 * np.pi * 0.097)


def test_engine_speeds_by_name() -> None:
    assert Engine(idle_rpm=750.0, max_rpm=2600.0).speeds_rpm == {"idle": 750.0, "max": 2600.0}


# Whose uncertainty holds: the pulley's own, the layout's, or the usual one (common practice, no source).


def test_usual_values_hold_where_nothing_is_said_and_are_called_common_practice() -> None:
    given = railcar()
    assert astuple(deviations_of(given)) == astuple(TAPE_AND_CALIPERS) == (1.0, 0.2, 0.5)
    assert not given.uncertainty.says_anything
    assert DEVIATIONS_SOURCE == "common practice, no source"


def test_a_pulley_wins_over_the_layout_key_by_key_and_nought_is_a_value() -> None:
    given = with_pulley(
        replace(railcar(), uncertainty=Uncertainty(position_mm=2.0, angle_deg=0.0)),
        "pump",
        uncertainty=Uncertainty(position_mm=0.0),
    )
    assert given.uncertainty.says_anything and given.pulleys["pump"].uncertainty.says_anything
    assert astuple(deviations_of(given)) == (2.0, 0.2, 0.0)
    assert astuple(deviations_of(given, given.pulleys["guide"])) == (2.0, 0.2, 0.0)
    assert astuple(deviations_of(given, given.pulleys["pump"])) == (0.0, 0.2, 0.0)


# What follows from a layout as given.


def test_pulleys_on_and_off_the_belt() -> None:
    given = railcar()
    spare = replace(given, pulleys={**given.pulleys, "spare": pulley("spare", 0, 0, 50)})
    assert [p.name for p in spare.routed] == ["crank", "tensioner", "pump", "guide", "generator"]
    assert [p.name for p in spare.unrouted] == ["spare"]


def test_driver_and_adjusted() -> None:
    given = railcar()
    adjusted = given.adjusted
    assert given.driver.name == "crank"
    assert adjusted is not None
    assert adjusted.name == "tensioner"
    assert fixed().adjusted is None


def _rotating(rotation: Rotation) -> Layout:
    return replace(railcar(), rotation=rotation)


@pytest.mark.parametrize(("rotation", "sense"), [("clockwise", -1), ("counterclockwise", 1)])
def test_pulleys_inside_turn_as_the_driver_and_those_on_the_back_do_not(rotation: Rotation, sense: int) -> None:
    given = _rotating(rotation)
    assert given.rotation_sense == given.loop_sense == sense
    assert given.sense_of(given.pulleys["pump"]) == sense
    assert given.sense_of(given.pulleys["guide"]) == -sense


def test_a_driver_on_the_back_turns_against_the_loop() -> None:
    given = with_pulley(fixed(), "crank", belt_side="back")
    assert given.rotation_sense == -1
    assert given.loop_sense == 1
    assert given.sense_of(given.pulleys["crank"]) == -1
    assert given.sense_of(given.pulleys["pump"]) == 1
