"""The worst point of each pulley and its cures, proved by solving the drive again with the cure in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.belts.adjusters import ArmSpring
from beltplan.belts.layout import Layout
from beltplan.belts.loads import TorqueLoad
from beltplan.tension.mechanics import CONDITIONS, Condition
from beltplan.tension.strands import slip_use
from beltplan.tension.worst import push_wanted, worst_point
from tests.tension.drives import SLIDE_SPRING, SWING, on_slide, operation, seven

DRIVES = [seven(), on_slide(spring=SLIDE_SPRING), on_slide(tension_N=600.0)]


@pytest.mark.parametrize("given", DRIVES)
@pytest.mark.parametrize("condition", CONDITIONS)
def test_tension_that_would_do(given: Layout, condition: Condition) -> None:
    before = operation(given)
    push = push_wanted(before, condition)
    assert push is not None
    after = operation(given, push).use[CONDITIONS.index(condition)].max()
    assert float(after) == pytest.approx(0.8, rel=1e-3)


@pytest.mark.parametrize("given", DRIVES)
def test_worst_point_is_the_highest_use(given: Layout) -> None:
    run = operation(given)
    point = worst_point(run, run.use, 6, "wet")
    assert point.use == run.use[1, :, :, 6].max() == run.use[1, point.duty, point.speed, 6]
    assert point.rpm == run.driver_rpm[point.speed]
    assert point.pulley == "cooling"


def test_extra_wrap_that_would_do() -> None:
    """With the same tensions and that much more wrap, the slip formula gives 0.8."""
    run = operation(on_slide(tension_N=500.0))
    point = worst_point(run, run.use, 0, "design")
    assert point.extra_wrap_rad is not None and point.extra_wrap_rad > 0.0
    high, low = run.running.entering_N[point.duty, point.speed, 0], run.running.tractive_N[point.duty, point.speed, 0]
    friction = np.log(4.0) / np.pi  # 4 : 1 at half a turn
    use = slip_use(high, low, np.asarray(friction), np.asarray(point.wrap_rad + point.extra_wrap_rad))
    assert float(use) == pytest.approx(0.8, rel=1e-9)


def test_no_extra_wrap_where_there_is_enough() -> None:
    run = operation(seven())
    assert worst_point(run, run.use, 2, "dry").extra_wrap_rad == 0.0


def test_no_wrap_helps_a_slack_strand() -> None:
    run = operation(on_slide(tension_N=400.0, loads={"cooling": TorqueLoad(200.0)}))
    point = worst_point(run, run.use, 6, "dry")
    assert point.extra_wrap_rad is None and np.isinf(point.use)


def test_spring_that_is_spent_where_it_stands_is_no_cure() -> None:
    """Its torque has fallen to nothing long before the arm gets there: any factor of nothing is nothing."""
    spent = seven(replace(SWING, spring=ArmSpring(5.0, 266.0, 2.0)))
    assert push_wanted(operation(spent), "dry") is None


def test_nothing_is_wanted_without_load() -> None:
    assert push_wanted(operation(seven(loads={})), "dry") is None
