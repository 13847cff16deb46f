"""The whole balance against an answer written anew in `solver`: arm, slide, lock, loaded arm, at a stop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.balance import Tensions, tensions_at
from beltplan.drive.layout import Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.geometry.vectors import Floats
from tests.drive import solver
from tests.drive.loaded_drives import SLIDE_SPRING, on_slide, route_and_mechanics, seven, swung_generator
from tests.for_each import for_each

RELATIVE = 1e-6
SPEEDS = (0.0, 750.0, 2200.0, 6000.0)
# Nm by pulley in the order of the route, the driver's not used: unloaded, all, one heavy one only.
TORQUES = ((0.0,) * 7, (0.0, 0.0, 3.0, 0.0, 6.0, 7.0, 14.0), (0.0, 0.0, 0.0, 0.0, 0.0, 22.0, 0.0))
STATES = [(rpm, torque) for rpm in SPEEDS for torque in TORQUES]

# A 6PK belt, by the rib: 0.0175 kg/m, 28 kN, 50 N to measure its length. Over the effective line: pitch line 2 mm,
# back 2.2 mm; cord 1.1 mm under the back's surface (domain values of the profile; checked in tests/belts).
MASS, STIFFNESS, MEASURING = 0.105, 168_000.0, 300.0


def _drive(given: Layout, rpm: float, torque_Nm: tuple[float, ...], place: solver.Place) -> solver.Drive:
    route, _ = route_and_mechanics(given)
    pulleys = route.pulleys
    back = np.array([p.on_back for p in pulleys])
    radius = np.array([p.diameter_mm / 2.0 for p in pulleys])
    pitch = radius + np.where(back, 1.1, 2.0)
    fixed = np.array([p.at_mm or (0.0, 0.0) for p in pulleys])
    speed = rpm / 60.0 * 2.0 * np.pi * pitch[0] / 1000.0
    return solver.Drive(
        centre=fixed,
        line=radius + np.where(back, 2.2, 0.0),
        pitch=pitch,
        sense=np.where(back, 1.0, -1.0),
        moved=next(i for i, p in enumerate(pulleys) if p.adjuster is not None),
        place=place,
        torque=1000.0 * np.array(torque_Nm),
        length=route.length_mm,
        measuring=MEASURING,
        stiffness=STIFFNESS,
        mv2=MASS * speed**2,
    )


def _ours(given: Layout, rpm: float, torque_Nm: tuple[float, ...]) -> Tensions:
    route, mechanics = route_and_mechanics(given)
    return tensions_at(route, mechanics, np.array(rpm), np.array(torque_Nm))


def _on_arm(pivot: tuple[float, float], length: float) -> solver.Place:
    return lambda angle: np.array(pivot) + length * np.array([np.cos(angle), np.sin(angle)])


def _agree(ours: Tensions, tractive: Floats, setting: float) -> None:
    np.testing.assert_allclose(ours.tractive_N, tractive, rtol=RELATIVE)
    assert float(ours.setting) == pytest.approx(setting, rel=RELATIVE)
    assert not ours.at_stop


@for_each(*STATES)
def test_sprung_arm(rpm: float, torque: tuple[float, ...]) -> None:
    """Spring 26 Nm at 285 deg, less by 0.35 Nm a degree as the angle grows: there the path gets longer."""
    drive = _drive(seven(), rpm, torque, _on_arm((-150.0, 215.0), 85.0))
    spring = solver.arm_balance(np.array([-150.0, 215.0]), lambda a: 1000.0 * (26.0 - 0.35 * (np.degrees(a) - 285.0)))
    _agree(_ours(seven(), rpm, torque), *solver.solve_sprung(drive, spring, 350.0, np.radians(285.0)))


SLIDE_START, SLIDE_END = np.array([-190.0, 118.0]), np.array([-75.0, 138.0])
ALONG = (SLIDE_END - SLIDE_START) / np.hypot(*(SLIDE_END - SLIDE_START))


@for_each(*STATES)
def test_sprung_slide(rpm: float, torque: tuple[float, ...]) -> None:
    """Spring 420 N at 50 mm, less by 2.5 N a mm as it goes out: there the path gets longer."""
    given = on_slide(spring=SLIDE_SPRING)
    drive = _drive(given, rpm, torque, lambda s: SLIDE_START + s * ALONG)
    spring = solver.slide_balance(ALONG, lambda s: 420.0 - 2.5 * (s - 50.0))
    _agree(_ours(given, rpm, torque), *solver.solve_sprung(drive, spring, 350.0, 60.0))


@for_each(*STATES)
def test_locked_slide(rpm: float, torque: tuple[float, ...]) -> None:
    given = on_slide(tension_N=700.0)
    setting = float(_ours(given, 0.0, TORQUES[0]).setting)
    drive = _drive(given, rpm, torque, lambda s: SLIDE_START + s * ALONG)
    _agree(_ours(given, rpm, torque), solver.solve_locked(drive, 700.0, setting), setting)


@for_each(*SPEEDS)
@for_each(-4.0, 0.0, 5.0, 12.0)
def test_loaded_pulley_on_the_arm(rpm: float, load_Nm: float) -> None:
    """A generator that hangs on its arm leans on it with its own torque: contact forces times levers say it all."""
    given, torque = swung_generator(TorqueLoad(load_Nm)), (0.0, load_Nm, 8.0)
    drive = _drive(given, rpm, torque, _on_arm((-60.0, 330.0), 110.0))
    # Here the path gets longer as the angle falls, so the spring turns the arm clockwise.
    spring = solver.arm_balance(np.array([-60.0, 330.0]), lambda a: -1000.0 * (75.0 - 0.2 * (175.0 - np.degrees(a))))
    _agree(_ours(given, rpm, torque), *solver.solve_sprung(drive, spring, 600.0, np.radians(190.0)))


@for_each(*SPEEDS)
def test_arm_against_its_long_stop(rpm: float) -> None:
    """A belt too long for the arm's travel: as locked at the stop, with the tension that its own stretch leaves."""
    free = _ours(seven(), 750.0, TORQUES[1])
    stop = float(free.setting) - np.radians(0.5)
    given = _stopped_at(stop)
    ours = _ours(given, rpm, TORQUES[1])
    drive = _drive(given, rpm, TORQUES[1], _on_arm((-150.0, 215.0), 85.0))
    path = drive.length * (1.0 + solver.stretch(drive, solver.lay(drive, stop), np.full(7, MEASURING - drive.mv2)))
    held = MEASURING + STIFFNESS * (path / drive.length - 1.0)
    assert ours.at_stop
    np.testing.assert_allclose(ours.tractive_N, solver.solve_locked(drive, held, stop), rtol=RELATIVE)


def test_states_at_a_stop_beside_free_ones_are_those_one_by_one() -> None:
    rpm, torque = (np.array(each) for each in zip(*STATES, strict=True))
    stop = float(np.median(tensions_at(*route_and_mechanics(seven()), rpm, torque).setting))
    given = _stopped_at(stop)
    many = tensions_at(*route_and_mechanics(given), rpm, torque)
    assert 3 < many.at_stop.sum() < 9
    for i, state in enumerate(STATES):
        alone = _ours(given, *state)
        np.testing.assert_allclose(many.tractive_N[i], alone.tractive_N, rtol=1e-9)
        assert bool(many.at_stop[i]) == bool(alone.at_stop)


@for_each(*range(0, len(STATES), 3))
@for_each(-0.5, 0.02, 3.0)
def test_a_short_stop_changes_nothing_until_it_is_met(number: int, past_deg: float) -> None:
    """Then it holds the arm where it stands, and the belt, longer than it would be, pulls harder than the spring."""
    rpm, torque = (np.array(each) for each in zip(*STATES, strict=True))
    free = tensions_at(*route_and_mechanics(seven()), rpm, torque)
    stop = float(free.setting[number]) - np.radians(past_deg)
    found = tensions_at(*route_and_mechanics(_stopped_at(float(np.radians(300.0)), stop)), rpm, torque)
    met = free.setting < stop
    assert met[number] == (past_deg < 0.0)
    np.testing.assert_array_equal(found.at_stop, met)
    np.testing.assert_allclose(found.setting, np.maximum(free.setting, stop), rtol=1e-9)
    np.testing.assert_allclose(found.tractive_N[~met], free.tractive_N[~met], rtol=1e-9)
    assert (found.tractive_N[met].mean(axis=-1) > free.tractive_N[met].mean(axis=-1)).all()


def _stopped_at(long_stop_rad: float, short_stop_rad: float = float(np.radians(265.0))) -> Layout:
    given = seven()
    tensioner = given.pulleys["tensioner"]
    assert tensioner.adjuster is not None and tensioner.adjuster.kind == "arm"
    # Another travel would pick another belt: the same one is named.
    belt = replace(given.belt, length_mm=route_and_mechanics(given)[0].length_mm)
    at_rad = max(float(np.radians(275.0)), short_stop_rad)
    arm = replace(tensioner.adjuster, stops_rad=(short_stop_rad, long_stop_rad), at_rad=at_rad)
    return replace(given, belt=belt, pulleys={**given.pulleys, "tensioner": replace(tensioner, adjuster=arm)})
