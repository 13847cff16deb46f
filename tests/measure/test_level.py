"""A level that nothing says, or one reading alone: where an arm counts its angles from it, the answer stays open."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.measure.readings import Direction, Measured
from beltplan.measure.study import Measuring, measuring_of
from beltplan.measure.words import answers
from tests.cli.running import Runner
from tests.measure.drives import angle, every_pair, taped
from tests.measure.samples import TAPED, measured_of
from tests.shipped import FOLDER

BENCH = TAPED.replace("sides: {", "sides: {fan: right, ")
ARM, SLIDE = "arm: {length: 70, stops: [265, 300]}", "slide: {at: 0.4}"
ON_SLIDE = (
    BENCH.replace(ARM, SLIDE)
    .replace("tight.pivot", "tight.from")
    .replace("  bolt - crank", "  crank - tight.to: 300\n  pump - tight.to: 200\n  fan - tight.to: 620\n  bolt - crank")
)
ONE = "angles: {crank - pump: {value: 0, from: plumb}}"
TWO = "angles: {crank - pump: {value: 0, from: plumb}, fan - pump: 143.1}"
"""By hand: the pump stands plumb over the crank; atan(300 / 400) = 36.9 deg up from the fan to it, to the left."""
TILTED = "angles: {crank - pump: {value: 6, from: plumb}}"


def _found(folder: Path, level: str, text: str = BENCH) -> Measuring:
    return measuring_of(measured_of(folder, text.replace("level: [crank, fan]", level)).measured)


def _told(found: Measuring) -> dict[str, str]:
    return dict(answers(found))


def test_without_a_level_an_arm_leaves_all_open(tmp_path: Path) -> None:
    """The bench turns as `sides` allow, and with it, to the layout, the angles of the arm's stops."""
    found = _found(tmp_path, "")
    told = _told(found)
    assert not found.sound and not found.settled and not found.enough
    assert told["FOUND"].endswith("Still open: see OPEN and MIRROR") and "belt feels" not in told["FOUND"]
    assert told["OPEN"].startswith("nothing says what is level") and "tight's arm does" in told["OPEN"]
    assert told["NEXT"].startswith("settle which way the points lie") and "LEVEL" not in told


@pytest.mark.parametrize("level", [ONE, TILTED])
def test_one_level_reading_of_an_arm_is_not_enough(tmp_path: Path, level: str) -> None:
    """Six degrees wrong looks as good as right. By hand: 1 deg of an arm of 70 mm is 1.2 mm."""
    told = _told(_found(tmp_path, level))
    assert told["FOUND"].endswith("Still open: see OPEN")
    assert "the level hangs on angle crank - pump alone (line 15)" in told["OPEN"]
    assert told["OPEN"].endswith("1 deg off puts the pulley 1.2 mm off")
    assert told["NEXT"].startswith("hold a level along two other centres far apart")


@pytest.mark.parametrize("level", [TWO, "level: [crank, fan]"])
def test_a_second_one_or_a_line_that_is_level_closes_it(tmp_path: Path, level: str) -> None:
    found = _found(tmp_path, level)
    assert found.sound and not found.level_is_open and "OPEN" not in _told(found)


@pytest.mark.parametrize("level", ["", ONE])
def test_a_slide_does_not_mind(tmp_path: Path, level: str) -> None:
    """Both its ends are measured: they turn with the rest."""
    found = _found(tmp_path, level, ON_SLIDE)
    assert not found.level_is_open and "the level" not in _told(found)["FOUND"]


def test_what_the_belt_feels_counts_the_level_of_an_arm() -> None:
    """By hand: exact tapes and a level of 1 deg turn all points; the arm's end only shifts with its pivot.

    The turn that is common to all is taken out first: all points and that end, each by its distance from the origin.
    """
    places, arm = {"crank": (0.0, 0.0), "pump": (30.0, 290.0), "tight.pivot": (-200.0, 150.0)}, (0.0, 70.0)
    level = angle(places, ("crank", "pump"), None)
    tapes = tuple(replace(each, sd_mm=1e-4) for each in taped(places, every_pair(places), None))
    level = Direction(level.first, level.second, level.value_rad, math.radians(1.0))
    given = Measured("arm", tuple(places), "crank", tapes, directions=(level,), sides={"tight.pivot": ("left",)})
    bare, carried = measuring_of(given), measuring_of(replace(given, carried_mm={"tight.pivot": arm}))
    at = np.array([*places.values()])
    turned = np.vstack((at, at[2])) * math.radians(1.0)
    ways = np.vstack((at, at[2] + arm))
    common = float(np.sum(turned * ways) / np.sum(ways * ways))
    off = np.hypot(*(turned - common * ways).T)
    assert bare.shape_mm < 0.01 and carried.shape_mm == pytest.approx(off.max(), rel=1e-3) and off.max() > 0.8


@pytest.mark.parametrize(("angles", "code"), [(0, 2), (1, 1), (2, 0)])
def test_what_is_written(run: Runner, tmp_path: Path, angles: int, code: int) -> None:
    """Nothing without a level; with one reading of it a layout that says so. The demo's misread tape is mended here."""
    text = (FOLDER / "buggy_measured.yaml").read_text().replace("17 1/2 ", "16 1/2 ")
    head, _, tail = text.partition("angles:")
    first, second, sides = tail.splitlines()[1:]
    path = tmp_path / "buggy_measured.yaml"
    path.write_text(
        "\n".join((head.replace("file: buggy_thermostat.csv", "circle: {at: [-9, 20], diameter: 1}"), sides))
    )
    path.write_text("\n".join((path.read_text(), "angles:"[: 7 * bool(angles)], *(first, second)[:angles])))
    layout = tmp_path / "buggy.yaml"
    ran = run("measure", str(path), "--write", str(layout))
    assert ran.code == code and layout.exists() is (code < 2)
    if code == 2:
        assert "nothing says what is level, and tensioner's arm counts its angles from there" in ran.err
    else:
        assert ("# OPEN: the level hangs on" in layout.read_text()) is (code == 1)
