"""Where points are seen, and the turn that makes it so; turns against shapely.affinity."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPoint, affinity, get_coordinates

from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.readings import Direction, Measured
from beltplan.measure.solutions import is_as_seen, turn_seen, turned
from tests.for_each import for_each

POINTS = ("crank", "pump", "fan")
AT = np.array([(0.0, 0.0), (-100.0, 200.0), (150.0, 120.0)])
QUARTERS: dict[str, tuple[SeenSide, ...]] = {"pump": ("above", "left"), "fan": ("above", "right")}
LEVEL = Direction("crank", "fan", 0.6, 0.01)


def _measured(sides: dict[str, tuple[SeenSide, ...]], directions: tuple[Direction, ...] = ()) -> Measured:
    return Measured("m", POINTS, "crank", directions=directions, sides=sides)


@for_each(-3.0, -1.0, 0.5, 2.0, 3.1)
def test_turned_is_a_turn(angle: float) -> None:
    reference = get_coordinates(affinity.rotate(MultiPoint(AT), angle, origin=(0.0, 0.0), use_radians=True))
    assert turned(AT, angle) == pytest.approx(reference, abs=1e-9)


@for_each(*np.linspace(-3.1, 3.1, 23))
def test_an_open_frame_is_turned_until_all_lie_as_they_are_seen(angle: float) -> None:
    """The true places turned by any angle: some turn puts every point back into its quarter."""
    places = turned(AT, float(angle))
    turn = turn_seen(_measured(QUARTERS), places)
    assert turn is not None and -np.pi <= turn <= np.pi
    assert is_as_seen(_measured(QUARTERS, (LEVEL,)), turned(places, turn)), "where nothing may be turned"
    assert is_as_seen(_measured(QUARTERS), places)


def test_the_turn_is_amid_those_that_do() -> None:
    """The pump at 116.6 deg may be turned -26.6 to 63.4, the fan at 38.7 deg -38.7 to 51.3: amid -26.6 to 51.3."""
    turn = turn_seen(_measured(QUARTERS), AT)
    assert turn is not None
    assert np.degrees(turn) == pytest.approx(0.5 * (51.34 - 26.57), abs=0.5)


@for_each(*np.linspace(-3.1, 3.1, 11))
def test_no_turn_makes_a_mirror_image_right(angle: float) -> None:
    mirrored = turned(AT * (1.0, -1.0), float(angle))
    assert turn_seen(_measured(QUARTERS), mirrored) is None
    assert not is_as_seen(_measured(QUARTERS), mirrored)


def test_a_frame_that_is_fixed_is_not_turned() -> None:
    fixed = _measured(QUARTERS, (LEVEL,))
    assert turn_seen(fixed, AT) == 0.0
    assert turn_seen(fixed, turned(AT, 2.0)) is None


def test_nothing_said_is_always_so() -> None:
    assert turn_seen(_measured({}), AT) == 0.0
    assert is_as_seen(_measured({}), -AT)
    assert turn_seen(_measured({"crank": ("left",)}), AT) is None, "the origin lies on no side of itself"
