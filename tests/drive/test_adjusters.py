"""Arms and slides: where they put the pulley, and how it moves with the setting."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.differentiate import derivative

from beltplan.drive.pulleys import Adjuster, Arm, ArmSpring, Slide, SlideSpring
from tests.drive.drives import arm

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
