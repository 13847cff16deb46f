"""A spring by what a torque wrench read: scipy's straight line, and the drive with it. Invented readings."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import linregress

from beltplan.checks.card import card_of
from beltplan.checks.doubts import DOUBT, RISING_SPRING
from beltplan.checks.every_check import findings_of
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import ArmSpring, WrenchReadings
from beltplan.drive.route import route_of
from beltplan.report.check_json import result_of
from beltplan.report.full_text import set_words
from beltplan.report.screen import Footnotes
from beltplan.squeal.readings import Heard
from beltplan.squeal.study import squealing_of
from tests.drive.loaded_drives import SWING, seven
from tests.for_each import for_each

ROWS = ((266.0, 36.1, 29.8), (275.0, 33.0, 26.6), (284.0, 29.2, 23.9), (297.0, 25.4, 20.0))
"""The path grows longer as the angle grows, so that the torque falls."""


def spring_of(rows: tuple[tuple[float, float, float], ...]) -> ArmSpring:
    read = WrenchReadings(rows)
    return ArmSpring(read.torque_Nm, read.middle_deg, abs(read.slope_Nm_per_deg), read)


def drive(rows: tuple[tuple[float, float, float], ...] = ROWS) -> Layout:
    return seven(replace(SWING, spring=spring_of(rows)))


@for_each(*range(20))
def test_the_line_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = tuple(zip(*rng.uniform((0.0, 30.0, 10.0), (90.0, 60.0, 30.0), (rng.integers(2, 9), 3)).T, strict=True))
    read, (angle, up, down) = WrenchReadings(rows), np.array(rows).T
    line = linregress(angle, 0.5 * (up + down))
    at = line.intercept + line.slope * angle
    assert read.slope_Nm_per_deg == pytest.approx(line.slope, abs=1e-9)
    assert read.torque_Nm == pytest.approx(line.intercept + line.slope * read.middle_deg, rel=1e-9)
    assert read.off_Nm == pytest.approx(np.abs(0.5 * (up + down) - at).max(), abs=1e-9)


def test_the_drive_runs_as_if_the_spring_had_been_stated() -> None:
    """Only the friction is its own: (36.1 + 33 + 29.2 + 25.4 - 29.8 - 26.6 - 23.9 - 20) / 224 = 0.1045."""
    read, stated = (plan_of(drive()), plan_of(seven(replace(SWING, spring=replace(spring_of(ROWS), readings=None)))))
    assert read.tension is not None and stated.tension is not None and read.operation and stated.operation
    assert read.tension.each_N == stated.tension.each_N
    assert read.tension.friction[0] == pytest.approx(23.4 / 224.0)
    low, high = (end.preload_factor for end in read.operation.ends or ())
    assert (low, high) == pytest.approx((1.0 - 23.4 / 224.0, 1.0 + 23.4 / 224.0))
    assert stated.tension.friction[0] == 0.15


@for_each((1.0, "less"), (-1.0, "more"))
def test_the_torque_of_a_spring_is_said_to_fall_or_to_grow_as_it_does(way: float, word: str) -> None:
    """The same arm read the other way round: the path grows longer as the angle falls."""
    plan = plan_of(drive(tuple((281.0 + way * (angle - 281.0), up, down) for angle, up, down in ROWS)))
    assert plan.tension is not None
    slope = linregress([281.0 + way * (row[0] - 281.0) for row in ROWS], _means()).slope
    assert f"{abs(slope):.3g} {word} a degree" in set_words(plan, plan.tension, Footnotes()) and (slope < 0.0) == (
        way > 0
    )


def test_report_card_and_json_say_where_the_spring_comes_from() -> None:
    plan = plan_of(drive())
    assert plan.tension is not None
    words, line = set_words(plan, plan.tension, Footnotes()), linregress([row[0] for row in ROWS], _means())
    assert (
        "10 % friction in the arm" in words and "the line through 4 `readings` of the file: 28 Nm at 280.5 deg" in words
    )
    assert (
        f"{-line.slope:.3g} less a degree" in words
        and "damping ratio 21 %, half of which is the 10 % friction, one way" in words
    )
    off = np.abs(_means() - line.intercept - line.slope * np.array([row[0] for row in ROWS])).max()
    assert f"they lie up to {off:.2f} Nm off that line" in words
    told = result_of(plan)["adjuster"]["spring_read"]
    assert told["readings"] == 4 and told["off_line_Nm"] == pytest.approx(off)
    assert told["damping_ratio_percent"] == pytest.approx(200.0 * 23.4 / 224.0)
    card = card_of(plan)
    assert card.tension is not None and "spring.readings" in card.tension.levels[-1].source


def _means() -> np.ndarray:
    return np.array([0.5 * (up + down) for _, up, down in ROWS])


def test_a_spring_that_jams_on_its_way_back_leaves_no_tension_at_the_low_end() -> None:
    """Nothing pushes at 100 % friction: the card tells no tone of it, and only a free tensioner is advised."""
    plan = plan_of(drive(tuple((angle, up, 0.0) for angle, up, _ in ROWS)))
    tension = card_of(plan).tension
    assert tension is not None and [level.name for level in tension.levels] == ["by its spring"]
    lost = {
        each.reading.change.partition(", though then ")[0]
        for each in squealing_of(plan, Heard()).weighed
        if each.cause.name == "slip_low"
    }
    assert lost - {""} == {"a tensioner that moves freely"}


def test_two_angles_are_told_to_have_no_check() -> None:
    plan = plan_of(drive(ROWS[::3]))
    assert plan.tension is not None
    assert "a third angle would check it" in set_words(plan, plan.tension, Footnotes())


@for_each(
    (ROWS, []),
    (tuple((561.0 - angle, up, down) for angle, up, down in ROWS), ["rise toward longer path"]),
    ((*ROWS[:3], (297.0, 29.4, 24.0)), ["off one line, "]),
)
def test_readings_that_no_spring_gives_are_asked_after(
    rows: tuple[tuple[float, float, float], ...], words: list[str]
) -> None:
    """Mirrored angles make a spring that grows; one torque read 4 Nm too large lies off the line of the others."""
    asked = (DOUBT.name, RISING_SPRING.name)
    found = [each for each in findings_of(route_of(drive(rows)), None) if each.check in asked]
    assert [(each.severity, each.subject) for each in found] == [("caution", "tensioner")] * len(words)
    assert all(part in each.message for part, each in zip(words, found, strict=True))


@pytest.mark.parametrize(("share", "asked"), [(0.99, False), (1.01, True)])
def test_edges_of_readings_off_one_line(share: float, asked: bool) -> None:
    """Off by d, -2 d and d from a line of 28 Nm in the middle: its slope is the same, and 2 d is 5 % of 28 Nm."""
    off = 0.5 * share * 0.05 * 28.0
    means = [(270.0, 31.5 + off), (280.0, 28.0 - 2.0 * off), (290.0, 24.5 + off)]
    found = findings_of(route_of(drive(tuple((angle, 1.1 * mean, 0.9 * mean) for angle, mean in means))), None)
    assert any(each.check == DOUBT.name and "off one line" in each.message for each in found) is asked
