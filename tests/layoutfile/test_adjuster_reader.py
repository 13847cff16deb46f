"""Arms, slides and springs. Source: whole turns change no angle, plane geometry; pi rad = 180 deg."""

import math
from pathlib import Path

import pytest

from beltplan.drive.pulleys import Arm, Slide
from beltplan.layoutfile.layout_file import read_layout
from beltplan.layoutfile.pulley_reader import into_travel
from tests.for_each import for_each
from tests.layoutfile.samples import PLAIN, faults_of, written

ARM = "arm: {pivot: [-150, 215], length: 85, stops: [265, 300], at_deg: 285}"
SPRING = "spring: {torque_Nm: 26, at_deg: 285, rate_Nm_per_deg: 0.35}"
FORCE = "spring: {force_N: 500, at_mm: 12, rate_N_per_mm: 4}"
SLIDE = PLAIN.replace(ARM, "slide: {from: [-100, 100], to: [-60, 130]}").replace(SPRING, FORCE)


def arm_of(folder: Path, arm: str, spring: str = SPRING) -> Arm:
    """The arm read from that text."""
    text = PLAIN.replace(ARM, arm).replace(SPRING, spring)
    adjuster = read_layout(written(folder, text)).layout.pulleys["tight"].adjuster
    assert isinstance(adjuster, Arm)
    return adjuster


@for_each(
    (285.0, (265.0, 300.0), 285.0), (-75.0, (265.0, 300.0), 285.0), (10.0, (350.0, 380.0), 370.0),
    (725.0, (350.0, 380.0), 365.0), (10.0, (380.0, 350.0), 370.0), (-10.0, (-20.0, 20.0), -10.0),
    (350.0, (-20.0, 20.0), -10.0), (265.0, (265.0, 300.0), 265.0), (360.0, (0.0, 360.0), 360.0),
    (264.0, (265.0, 300.0), None), (100.0, (265.0, 300.0), None),
)  # fmt: skip
def test_whole_turns_bring_an_angle_into_the_travel(
    angle: float, travel: tuple[float, float], expected: float | None
) -> None:
    assert into_travel(angle, travel) == expected


def test_marks_and_travel_past_360(tmp_path: Path) -> None:
    text = "arm: {pivot: [-150, 215], length: 85, stops: [380, 350], at_deg: 5, marks: {new: 15, worn: -5}}"
    arm = arm_of(tmp_path, text, "spring: {torque_Nm: 26, at_deg: 5, rate_Nm_per_deg: -0.35}")
    assert arm.stops_rad == pytest.approx((380 * math.pi / 180, 350 * math.pi / 180))
    assert arm.at_rad == pytest.approx(365 * math.pi / 180)
    assert arm.marks_rad == pytest.approx((375 * math.pi / 180, 355 * math.pi / 180))
    assert arm.spring is not None and (arm.spring.at_deg, arm.spring.rate_Nm_per_deg) == (365.0, 0.35)


def test_an_arm_needs_neither_spring_nor_angle(tmp_path: Path) -> None:
    arm = arm_of(tmp_path, "arm: {pivot: [-150, 215], length: 85, stops: [265, 300]}", "plane: 0")
    assert (arm.at_rad, arm.marks_rad, arm.spring) == (None, None, None)


def test_a_spring_that_was_free_outside_the_travel_keeps_its_angle(tmp_path: Path) -> None:
    arm = arm_of(tmp_path, ARM, "spring: {torque_Nm: 0, at_deg: 200, rate_Nm_per_deg: 0.35}")
    assert arm.spring is not None and arm.spring.at_deg == 200.0


def test_a_tension_set_by_hand(tmp_path: Path) -> None:
    arm = arm_of(tmp_path, ARM, "tension_N: 500")
    assert arm.tension_N == 500.0
    text = SLIDE.replace(FORCE, "tension_N: 450")
    slide = read_layout(written(tmp_path, text)).layout.pulleys["tight"].adjuster
    assert slide is not None and slide.tension_N == 450.0


def test_a_slide_without_a_place(tmp_path: Path) -> None:
    slide = read_layout(written(tmp_path, SLIDE)).layout.pulleys["tight"].adjuster
    assert isinstance(slide, Slide)
    assert (slide.at, slide.start_mm, slide.end_mm) == (None, (-100.0, 100.0), (-60.0, 130.0))


@for_each(
    ("length: 85, ", "", 10, "arm.length", "nothing"),
    ("length: 85", "length: 0", 10, "arm.length", "0"),
    ("pivot: [-150, 215]", "pivot: here", 10, "arm.pivot", "'here'"),
    ("stops: [265, 300]", "stops: [265, 265]", 10, "arm.stops", "[265, 265]"),
    ("stops: [265, 300]", "stops: [0, 361]", 10, "arm.stops", "[0, 361]"),
    ("stops: [265, 300]", "stops: [265]", 10, "arm.stops", "a list of 1"),
    ("stops: [265, 300]", "stops: [265, 1e9]", 10, "arm.stops", "1e9"),
    ("stops: [265, 300], ", "", 10, "arm.stops", "nothing"),
    ("at_deg: 285}\n    s", "at_deg: 264}\n    s", 10, "arm.at_deg", "264"),
    ("at_deg: 285}\n    s", "at: 285}\n    s", 10, "arm.at", "an unknown key"),
    ("at_deg: 285}\n    s", "marks: {new: 270}}\n    s", 10, "arm.marks.worn", "nothing"),
    ("at_deg: 285}\n    s", "marks: {new: 270, worn: 310}}\n    s", 10, "arm.marks.worn", "310"),
    ("at_deg: 285}\n    s", "marks: {new: 270, worn: 270}}\n    s", 10, "arm.marks.worn", "the same as new"),
    ("length: 85", "length: 85, tension_N: 500", 10, "arm.tension_N", "an unknown key"),
    (SPRING, SPRING + "\n    tension_N: 500", 12, "tension_N", "beside a spring"),
    (SPRING, "tension_N: 0", 11, "tension_N", "0"),
    (SPRING, "tension_N: 1e7", 11, "tension_N", "1e7"),
    (SPRING, "tension_N: .inf", 11, "tension_N", "'.inf'"),
    (SPRING, "tension_N: [500]", 11, "tension_N", "a list"),
    (ARM, "arm: 5", 10, "arm", "'5'"),
    ("torque_Nm: 26, ", "", 11, "spring.torque_Nm", "nothing"),
    ("torque_Nm: 26", "torque_Nm: -1", 11, "spring.torque_Nm", "-1"),
    ("rate_Nm_per_deg: 0.35", "rate_Nm_per_deg: 0.35, force_N: 5", 11, "spring.force_N", "an unknown key"),
    ("rate_Nm_per_deg: 0.35", "rate_Nm_per_deg: 0.35, Force_N: 5", 11, "spring.Force_N", "an unknown key"),
    ("torque_Nm: 26", "Torque_nm: 26", 11, "spring.Torque_nm", "an unknown key (write torque_Nm)"),
    (SPRING, "spring: strong", 11, "spring", "'strong'"),
    (SPRING, "spring: {readings: 5}", 11, "spring.readings", "'5'"),
    (SPRING, "spring: {readings: []}", 11, "spring.readings", "a list of 0"),
    (SPRING, "spring: {readings: [[285, 30, 24]]}", 11, "spring.readings", "readings at one angle"),
    (SPRING, "spring: {readings: [[285, 30, 24], [286.9, 29, 24]]}", 11, "spring.readings", "one angle, 285"),
    (SPRING, "spring: {readings: [[285, 30], [295, 27, 21]]}", 11, "spring.readings.1", "a list of 2"),
    (SPRING, "spring: {readings: [[285, 30, 24], 295]}", 11, "spring.readings.2", "'295'"),
    (SPRING, "spring: {readings: [[285, 30, x], [295, 27, 21]]}", 11, "spring.readings.1", "'x'"),
    (SPRING, "spring: {readings: [[285, 24, 30], [295, 27, 21]]}", 11, "spring.readings.1", "below 30 Nm with it"),
    (SPRING, "spring: {readings: [[285, 0, 0], [295, 27, 21]]}", 11, "spring.readings.1", "no torque"),
)
def test_wrong_arms(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in PLAIN
    (fault,) = faults_of(tmp_path, PLAIN.replace(old, new))
    assert (fault.line, fault.key) == (line, f"pulleys.tight.{key}")
    assert words in fault.got


def test_a_spring_read_at_angles_of_another_turn(tmp_path: Path) -> None:
    """Means 27 at 270 deg and 24 at 285: 25.5 in the middle, 0.2 less a degree."""
    arm = arm_of(tmp_path, ARM, "spring: {readings: [[-90, 30, 24], [-75, 26, 22]]}")
    assert arm.spring is not None and arm.spring.readings is not None
    assert (arm.spring.torque_Nm, arm.spring.at_deg) == (25.5, 277.5)
    assert arm.spring.rate_Nm_per_deg == pytest.approx(0.2)


@pytest.mark.parametrize("rows", ["[[270, 30, 24], [-75, 26, 22]]", "[[-90, 30, 24], [645, 26, 22]]"])
def test_readings_of_one_spring_counted_from_different_turns(tmp_path: Path, rows: str) -> None:
    """The same two as above: -75 and 645 deg are 285."""
    spring = arm_of(tmp_path, ARM, f"spring: {{readings: {rows}}}").spring
    assert spring is not None and spring.at_deg == 277.5
    assert spring.rate_Nm_per_deg == pytest.approx(0.2)


def test_one_angle_a_turn_apart_is_one_angle(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, PLAIN.replace(SPRING, "spring: {readings: [[285, 30, 24], [-75, 26, 22]]}"))
    assert fault.key == "pulleys.tight.spring.readings" and fault.got == "readings at one angle, 285 deg"


def test_every_fault_of_a_springs_readings_at_once(tmp_path: Path) -> None:
    """What is stated beside readings too."""
    spring = "spring: {torque_Nm: 26, at_deg: 285, readings: [[285, 24, 30], [295, 27]]}"
    faults = faults_of(tmp_path, PLAIN.replace(SPRING, spring))
    wrong = {fault.key.removeprefix("pulleys.tight.spring."): fault.got for fault in faults}
    assert set(wrong) == {"readings", "readings.1", "readings.2"}
    assert wrong["readings"] == "readings beside torque_Nm, at_deg"


@for_each(
    ("from: [-100, 100], ", "", 10, "slide.from", "nothing"),
    ("to: [-60, 130]", "to: [-100, 100]", 10, "slide.to", "the same point"),
    ("to: [-60, 130]", "to: [-60, 130], at: 1.1", 10, "slide.at", "1.1"),
    ("to: [-60, 130]", "to: [-60, 130], at: -0.1", 10, "slide.at", "-0.1"),
    ("to: [-60, 130]", "to: [-60, 130], stops: [1, 2]", 10, "slide.stops", "an unknown key"),
    ("to: [-60, 130]", "to: [-60, 130], tension_N: 500", 10, "slide.tension_N", "an unknown key"),
    (FORCE, FORCE + "\n    tension_N: 500", 12, "tension_N", "beside a spring"),
    (FORCE, "tension_N: x", 11, "tension_N", "'x'"),
    ("at_mm: 12, ", "", 11, "spring.at_mm", "nothing"),
    ("force_N: 500", "force_N: x", 11, "spring.force_N", "'x'"),
    ("rate_N_per_mm: 4", "rate_N_per_mm: 4, readings: [[1, 9, 8]]", 11, "spring.readings", "an unknown key"),
    ("rate_N_per_mm: 4", "rate_N_per_mm: 4, torque_Nm: 5", 11, "spring.torque_Nm", "an unknown key"),
)
def test_wrong_slides(tmp_path: Path, old: str, new: str, line: int, key: str, words: str) -> None:
    assert old in SLIDE
    (fault,) = faults_of(tmp_path, SLIDE.replace(old, new))
    assert (fault.line, fault.key) == (line, f"pulleys.tight.{key}")
    assert words in fault.got


@pytest.mark.parametrize("angle", ["-110", "250", "610"])
def test_a_free_arms_angle_outside_the_stops_is_taken_to_the_nearest_turn(tmp_path: Path, angle: str) -> None:
    arm = arm_of(tmp_path, ARM, SPRING.replace("at_deg: 285", f"at_deg: {angle}"))
    assert arm.spring is not None and arm.spring.at_deg == 250.0


def test_stops_written_across_nought_say_how_to_pass_it(tmp_path: Path) -> None:
    crossing = ARM.replace("stops: [265, 300], at_deg: 285", "stops: [350, 20], at_deg: 5")
    (fault,) = faults_of(tmp_path, PLAIN.replace(ARM, crossing))
    assert "sweeps 330 deg" in fault.allowed and "write [-10, 20]" in fault.allowed
