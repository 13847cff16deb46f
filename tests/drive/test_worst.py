"""The worst point of each pulley and its cures, proved by solving the drive again with the cure in."""

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.mechanics import CONDITIONS, Condition, frictions, grip_utilisation
from beltplan.drive.operation import preload_factor_wanted, tension_cures_of, worst_of_all, worst_point
from beltplan.drive.pulleys import Arm, ArmSpring, Slide, SlideSpring
from tests.cure.drives import revving_camper
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import SLIDE_SPRING, SWING, on_slide, operation, seven
from tests.for_each import for_each

DRIVES = [seven(), on_slide(spring=SLIDE_SPRING), on_slide(tension_N=600.0)]


@for_each(*DRIVES)
@for_each(*CONDITIONS)
def test_tension_that_would_do(given: Layout, condition: Condition) -> None:
    before = operation(given)
    preload_factor = preload_factor_wanted(before, condition)
    assert preload_factor is not None
    after = operation(given, preload_factor).utilisation[CONDITIONS.index(condition)].max()
    assert float(after) == pytest.approx(0.8, rel=1e-3)


@for_each(*DRIVES)
def test_worst_point_is_the_highest_use(given: Layout) -> None:
    run = operation(given)
    point = worst_point(run, run.utilisation, 6, "wet")
    assert point.utilisation == run.utilisation[1, :, :, 6].max() == run.utilisation[1, point.duty, point.speed, 6]
    assert point.rpm == run.driver_rpm[point.speed]
    assert point.pulley == "cooling"


SPLIT = {"light": ("generator",), "heavy": ("generator", "steering", "cooling"), "middle": ("pump", "cooling")}


@for_each(*CONDITIONS)
@for_each(0, 2, 5)
@for_each(False, True)
def test_worst_point_is_where_no_duty_and_no_speed_is_worse(
    condition: Condition, index: int, speeding_up: bool
) -> None:
    """Euler's formula written out at every duty and speed; three duties on a sprung arm, so that wraps differ too.

    `speeding_up`: uses of another state of the same drive, 1.3 times as high, are looked up the same way.
    """
    run = operation(seven(duties=SPLIT))
    lines, grip = run.running.tractive_N, frictions(run.route.layout.belt, run.route.pulleys)
    ratio = np.abs(np.log(lines[..., index] / lines[..., index - 1]))
    friction, wrap = grip[CONDITIONS.index(condition), index], run.running.loop.wrap[..., index]
    utilisation = ratio / (friction * wrap)
    more = 1.3 if speeding_up else 1.0
    point = worst_point(run, more * run.utilisation, index, condition)
    duty, speed = np.unravel_index(utilisation.argmax(), utilisation.shape)
    assert (
        point.utilisation == pytest.approx(more * utilisation.max())
        and point.index == index
        and point.condition == condition
    )
    assert (point.duty, point.speed) == (duty, speed) and point.rpm == run.driver_rpm[speed]
    loop = run.route.circuit.loop_at(run.running.setting[duty, speed])
    assert point.wrap_rad == pytest.approx(float(loop.wrap[index]), abs=1e-12)
    wanted = ratio[duty, speed] * more / (friction * 0.8) - point.wrap_rad
    assert point.extra_wrap_rad == pytest.approx(max(0.0, wanted), abs=1e-9)


@for_each(*zip(DRIVES, ("spring torque", "spring force", "set tension"), strict=True))
def test_cures_name_what_holds_the_belt_and_what_it_gives_now(given: Layout, holds: str) -> None:
    """Virtual work with the engine stopped: push = tension x change of path with the arm (N mm) or the slide (N).

    The change of path is a difference of two lengths; a locked slide is set to 600 N. A spring is told as the layout
    gives it, at its own angle or place: it falls by its rate from there to where the adjuster stands.
    """
    run = operation(given)
    cures = tension_cures_of(run)
    at, tension = float(run.stopped.setting), run.stopped.tractive_N
    slope = np.diff([float(run.route.circuit.loop_at(at + step).length) for step in (-1e-4, 1e-4)])[0] / 2e-4
    now = 600.0 if holds == "set tension" else abs(slope) * tension.max()
    assert [cure.holds for cure in cures] == [holds] * len(cures)
    per = np.degrees(1.0) if holds == "spring torque" else 1.0
    for cure in cures:
        past = 0.0 if cure.at is None else abs(at * per - cure.at) * np.sign((at * per - cure.at) * slope)
        assert cure.now - (cure.rate or 0.0) * past == pytest.approx(now, rel=1e-6)


@pytest.mark.parametrize("given", DRIVES[:2])
def test_the_spring_that_a_cure_tells_is_one_to_write_into_the_layout(given: Layout) -> None:
    for cure in tension_cures_of(operation(given)):
        adjuster = given.pulleys["tensioner"].adjuster
        assert (
            adjuster is not None and cure.preload_factor is not None and cure.rate is not None and cure.at is not None
        )
        strength, rate = cure.preload_factor * cure.now, cure.preload_factor * cure.rate
        stronger: Arm | Slide
        if isinstance(adjuster, Arm):
            stronger = replace(adjuster, spring=ArmSpring(strength / 1000.0, cure.at, rate / 1000.0))
        else:
            stronger = replace(adjuster, spring=SlideSpring(strength, cure.at, rate))
        fitted = with_pulley(given, "tensioner", adjuster=stronger)
        worst = operation(fitted).utilisation[CONDITIONS.index(cure.condition)].max()
        assert float(worst) == pytest.approx(0.8, rel=1e-3)


@for_each(*DRIVES, on_slide(tension_N=750.0))
def test_cures_are_told_for_the_real_conditions_over_the_wanted_use(given: Layout) -> None:
    """Dry and wet over 0.8, never the cautious design friction; each cure brings its own condition to 0.8.

    The last drive is dry between 0.8 and 1.
    """
    run = operation(given)
    over = [
        name
        for name, utilisation in zip(CONDITIONS, run.utilisation.max(axis=(1, 2, 3)), strict=True)
        if utilisation > 0.8
    ]
    cures = tension_cures_of(run)
    assert over[-1] == "design" and [cure.condition for cure in cures] == over[:-1] and cures
    for cure in cures:
        assert cure.preload_factor is not None
        again = operation(given, cure.preload_factor).utilisation[CONDITIONS.index(cure.condition)].max()
        assert float(again) == pytest.approx(0.8, rel=1e-3)


REVVING = revving_camper(20.39, 3000.0, 0.2549)
"""Steadily it uses 0.73 of its grip in the wet at most; revving more than 0.8."""


def test_the_cure_by_tension_is_good_for_revving_too() -> None:
    """The drive solved again with the spring that is told: 0.8 in the wet while the engine changes speed, no more."""
    run, wet = operation(REVVING), CONDITIONS.index("wet")
    assert run.utilisation[wet].max() < 0.8
    (cure,) = tension_cures_of(run)
    assert cure.condition == "wet" and cure.preload_factor is not None and cure.preload_factor > 1.0
    changed = operation(REVVING, cure.preload_factor).revving
    assert changed is not None and float(changed[1][wet].max()) == pytest.approx(0.8, rel=1e-3)


@for_each(*CONDITIONS)
def test_the_worst_of_all_is_the_worse_of_steady_and_revving(condition: Condition) -> None:
    """Euler's formula written out for the crank in every state; the wrap is that where the arm stands then."""
    run = operation(REVVING)
    changed, friction = run.revving, frictions(run.route.layout.belt, run.route.pulleys)
    assert changed is not None
    utilisations = [
        np.abs(np.log(state.tractive_N[..., 0] / state.tractive_N[..., -1]))
        / (friction[CONDITIONS.index(condition), 0] * state.loop.wrap[..., 0])
        for state in (run.running, changed[0])
    ]
    point = worst_of_all(run, 0, condition)
    assert (
        point.utilisation == pytest.approx(max(utilisation.max() for utilisation in utilisations))
        and point.utilisation > utilisations[0].max()
    )
    assert point.when == "speeds up"
    loop = run.route.circuit.loop_at(changed[0].setting[0, point.duty, point.speed])
    assert point.wrap_rad == pytest.approx(float(loop.wrap[0]), abs=1e-12)
    assert run.highest_utilisation[CONDITIONS.index(condition), 0] == point.utilisation


def test_no_cure_without_load_and_none_where_all_is_well() -> None:
    assert tension_cures_of(operation(seven(loads={}))) == ()
    assert preload_factor_wanted(operation(seven(loads={})), "dry") is None
    assert tension_cures_of(operation(on_slide(tension_N=5000.0))) == ()


def test_extra_wrap_that_would_do() -> None:
    """With the same tensions and that much more wrap, the slip formula gives 0.8."""
    run = operation(on_slide(tension_N=500.0))
    point = worst_point(run, run.utilisation, 0, "design")
    assert point.extra_wrap_rad is not None and point.extra_wrap_rad > 0.0
    high, low = run.running.entering_N[point.duty, point.speed, 0], run.running.tractive_N[point.duty, point.speed, 0]
    friction = np.log(4.0) / np.pi  # 4 : 1 at half a turn
    utilisation = grip_utilisation(high, low, np.asarray(friction), np.asarray(point.wrap_rad + point.extra_wrap_rad))
    assert float(utilisation) == pytest.approx(0.8, rel=1e-9)


def test_no_extra_wrap_where_there_is_enough() -> None:
    run = operation(seven())
    assert worst_point(run, run.utilisation, 2, "dry").extra_wrap_rad == 0.0


def test_no_wrap_helps_a_slack_span() -> None:
    run = operation(on_slide(tension_N=400.0, loads={"cooling": TorqueLoad(200.0)}))
    point = worst_point(run, run.utilisation, 6, "dry")
    assert point.extra_wrap_rad is None and np.isinf(point.utilisation)


def test_spring_that_is_spent_where_it_stands_is_no_cure() -> None:
    """Its torque has fallen to nothing long before the arm gets there: any factor of nothing is nothing."""
    spent = seven(replace(SWING, spring=ArmSpring(5.0, 266.0, 2.0)))
    assert preload_factor_wanted(operation(spent), "dry") is None
