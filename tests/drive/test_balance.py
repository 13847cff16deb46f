"""Laws of the balance: what must hold whatever the drive. Statics, conservation of power, symmetry."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import root

from beltplan.drive.balance import Seat, Tensions, balance, seat_of, tensions_at
from beltplan.drive.layout import Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.pulleys import Arm, ArmSpring, Pulley
from beltplan.drive.route import route_of
from beltplan.geometry.loops import length_by_motion
from beltplan.geometry.vectors import Floats
from tests.drive import solver
from tests.drive.drives import arm, fixed, layout, mirrored, pulley, with_belt
from tests.drive.loaded_drives import (
    ENGINE,
    SLIDE_SPRING,
    SWING,
    on_slide,
    operation,
    route_and_mechanics,
    seven,
    swung_generator,
)
from tests.for_each import for_each

SPRUNG = [seven(), on_slide(spring=SLIDE_SPRING), swung_generator(TorqueLoad(6.0))]
EVERY = [*SPRUNG, on_slide(tension_N=900.0)]
DRIVES = for_each(*EVERY)


def _at(given_drive: Layout, rpm: float, torque_Nm: list[float], preload_factor: float = 1.0) -> Tensions:
    route, mechanics = route_and_mechanics(given_drive)
    return tensions_at(route, mechanics, np.array(rpm), np.array(torque_Nm), preload_factor)


@DRIVES
def test_power_taken_equals_power_given(given_drive: Layout) -> None:
    """At every speed: sum over the shafts of torque x speed is nothing, and the spans carry just that."""
    run = operation(given_drive).running
    route, _ = route_and_mechanics(given_drive)
    pitch = np.array([p.pitch_radius_mm(route.layout.belt) for p in route.pulleys])
    shaft = run.driver_rpm[..., None] * pitch[0] / pitch
    power = run.torque_Nm * shaft
    np.testing.assert_allclose(power.sum(axis=-1), 0.0, atol=1e-9 * np.abs(power).max())
    carried = (run.tractive_N - run.entering_N) * pitch / 1000.0 * shaft
    np.testing.assert_allclose(carried, power, atol=1e-8 * np.abs(power).max())


@DRIVES
def test_no_load_gives_equal_tensions(given_drive: Layout) -> None:
    n = len(given_drive.route)
    still = _at(given_drive, 1500.0, [0.0] * n)
    np.testing.assert_allclose(still.tractive_N, still.tractive_N[0], rtol=1e-12)
    assert float(still.tractive_N[0]) > 0.0


@DRIVES
def test_pull_on_the_hubs(given_drive: Layout) -> None:
    """A closed loop pulls itself nowhere; an unloaded pulley feels 2 T sin(wrap / 2), T without m v^2."""
    run = operation(given_drive).running
    np.testing.assert_allclose(run.hub_load_N.sum(axis=-2), 0.0, atol=1e-8)
    for i in np.flatnonzero(~run.torque_Nm.any(axis=(0, 1))):
        pull = np.hypot(*np.moveaxis(run.hub_load_N[..., i, :], -1, 0))
        np.testing.assert_allclose(pull, 2.0 * run.tractive_N[..., i] * np.sin(run.loop.wrap[..., i] / 2.0), rtol=1e-9)


@pytest.mark.parametrize("given_drive", SPRUNG[:2])
def test_spring_sets_the_tractive_tension_at_its_place(given_drive: Layout) -> None:
    """Virtual work: push of the spring = P |dL/dsetting|, at every speed, with the path where the spring is then."""
    run = operation(given_drive).running
    route, _ = route_and_mechanics(given_drive)
    moving, adjuster = route.circuit.moving, route.circuit.adjuster
    assert moving is not None and adjuster is not None
    motion = adjuster.track.motion_at(run.setting)
    slope = length_by_motion(run.loop.direction[..., moving - 1, :], run.loop.direction[..., moving, :], motion)
    work = run.tractive_N[..., moving] * np.abs(slope)
    np.testing.assert_allclose(work, adjuster.spring_force_at(run.setting, 1), rtol=1e-9)


def test_speed_takes_m_v2_from_a_locked_drive() -> None:
    """Khurmi and Gupta ex. 11.13, Bevan ch. 7: the total stays as set, the tractive part loses m v^2."""
    torque = [0.0, 0.0, 3.0, 0.0, 6.0, 7.0, 14.0]
    slow, fast = (_at(on_slide(tension_N=900.0), rpm, torque) for rpm in (0.0, 5000.0))
    speed = 5000.0 / 60.0 * 2.0 * np.pi * (85.0 + 2.0) / 1000.0
    np.testing.assert_allclose(slow.tractive_N - fast.tractive_N, 0.105 * speed**2, rtol=1e-9)
    np.testing.assert_allclose(slow.total_N, fast.total_N, rtol=1e-12)


def test_adjuster_left_alone_takes_a_hand_set_tension() -> None:
    """US Army TM 9-2320-312-24-2, specifications, table 3: 6 ribs after running in 667 +-44 N."""
    assert float(_at(on_slide(), 0.0, [0.0] * 7).tractive_N[0]) == pytest.approx(667.0, abs=44.0)


def test_stretch_fit_is_held_by_its_own_stretch() -> None:
    """Hooke: 1 % more than its length at 300 N, with 168 kN of stiffness, is 1980 N."""
    path = 600.0 + 100.0 * np.pi
    drive = with_belt(fixed(), length_mm=path / 1.01, stretch_fit=(0.005, 0.02))
    np.testing.assert_allclose(_at(drive, 0.0, [0.0, 0.0]).tractive_N, 300.0 + 1680.0, rtol=1e-9)


@DRIVES
def test_mirrored_drive_has_the_same_use(given_drive: Layout) -> None:
    there, here = operation(mirrored(given_drive)), operation(given_drive)
    np.testing.assert_allclose(there.utilisation, here.utilisation, rtol=1e-6)
    np.testing.assert_allclose(there.running.hub_load_N * [-1.0, 1.0], here.running.hub_load_N, rtol=1e-6, atol=1e-6)


@given(st.floats(0.5, 3.0))
def test_stiffer_spring_means_less_use(factor: float) -> None:
    weak, strong = operation(seven(), factor), operation(seven(), 1.1 * factor)
    loaded = weak.utilisation > 0.0
    assert (strong.utilisation[loaded] < weak.utilisation[loaded]).all()


def test_arm_settles_a_little_off_its_place() -> None:
    """The place is that at the measuring tension, 300 N; at 371 N the belt is longer, so the arm is further out."""
    route, _ = route_and_mechanics(seven())
    still = operation(seven()).stopped
    assert route.setting is not None and float(still.tractive_N[0]) > 300.0
    longer = route.length_mm * (float(still.tractive_N[0]) - 300.0) / 168_000.0
    assert float(still.loop.length) - route.length_mm == pytest.approx(longer, rel=1e-6)
    assert 0.0 < float(still.setting) - route.setting < np.radians(3.0)


def _stopping(beyond_rad: float) -> Tensions:
    """The drive of seven with the long stop so far beyond the place where the arm settles."""
    torque, free = [0.0, 0.0, 3.0, 0.0, 6.0, 7.0, 14.0], operation(seven()).route
    belt = {"length_mm": free.length_mm}
    settled = float(_at(with_belt(seven(), **belt), 750.0, torque).setting)
    stops = (float(np.radians(265.0)), settled + beyond_rad)
    return _at(with_belt(seven(replace(SWING, stops_rad=stops, at_rad=4.7)), **belt), 750.0, torque)


def test_tension_is_continuous_at_the_stop() -> None:
    just_off, just_on = _stopping(1e-6), _stopping(-1e-6)
    assert not just_off.at_stop and just_on.at_stop
    np.testing.assert_allclose(just_on.tractive_N, just_off.tractive_N, rtol=1e-4)


def test_held_back_by_the_stop_the_belt_is_slacker() -> None:
    assert float(_stopping(-0.02).tractive_N[0]) < 0.9 * float(_stopping(1e-6).tractive_N[0])


def test_overloaded_span_goes_slack_without_a_nan() -> None:
    """200 Nm on a pump: no tension is left on its slack side; nothing warns, and the use has no bound."""
    drive = on_slide(tension_N=400.0, loads={"cooling": TorqueLoad(200.0)})
    with np.errstate(divide="raise", invalid="raise"):
        run = operation(drive)
    assert (run.running.tractive_N[..., 0] < 0.0).all()
    assert np.isfinite(run.running.tractive_N).all()
    assert np.isinf(run.utilisation[..., 6]).all() and not np.isnan(run.utilisation).any()


def _past_the_pull(at_deg: float, length_share: float) -> Layout:
    """An arm that can swing through the place where it points along the pull of its spans."""
    swing = Arm((200.0, 0.0), 100.0, (-1.05, 1.05), float(np.radians(at_deg)), spring=ArmSpring(25.0, 30.0, 0.2))
    moved = Pulley("generator", "alternator", 70.0, adjuster=swing, load=TorqueLoad(5.0))
    drive = layout([pulley("crank", 0, 0, 170), moved, pulley("low", 150, -200, 90)], engine=ENGINE)
    window = route_and_mechanics(drive)[0].window
    assert window is not None
    length = window.shortest + length_share * (window.longest - window.shortest)
    return with_belt(drive, length_mm=length)


@for_each(40.0, -45.0)
@for_each(0.2, 0.6, 0.9, 0.97, 0.995, 0.9999)
def test_near_the_place_where_the_arm_points_along_the_pull(at_deg: float, share: float) -> None:
    """Either the belt's stretch and its tension agree, or the arm is said to be at the end of its travel."""
    drive = _past_the_pull(at_deg, share)
    route, mechanics = route_and_mechanics(drive)
    run = tensions_at(route, mechanics, np.linspace(0.0, 6000.0, 13), np.tile([0.0, 5.0, 0.0], (13, 1)))
    arc = run.loop.wrap * run.loop.radius
    weight = run.loop.span + 0.5 * (arc + np.roll(arc, -1, axis=-1))
    mean = (run.total_N * weight).sum(axis=-1) / weight.sum(axis=-1)
    stretched = route.length_mm * (1.0 + (mean - 300.0) / 168_000.0)
    np.testing.assert_allclose(stretched, run.loop.length, rtol=1e-8)
    assert np.abs(run.tractive_N).max() < 20_000.0


def test_turned_drive_has_the_same_use() -> None:
    """A quarter turn of the whole drive about the crankshaft: arms and places turn, nothing else changes."""
    swing = arm((-215.0, -150.0), 85.0, (355.0, 390.0), at_rad=float(np.radians(375.0)), spring=None)
    turned_spring = ArmSpring(26.0, 375.0, 0.35)
    given_drive = seven()
    turned = {
        name: replace(p, adjuster=replace(swing, spring=turned_spring)) if p.at_mm is None
        else replace(p, at_mm=(-p.at_mm[1], p.at_mm[0]))
        for name, p in given_drive.pulleys.items()
    }  # fmt: skip
    there = operation(replace(given_drive, pulleys=turned))
    np.testing.assert_allclose(there.utilisation, operation(given_drive).utilisation, rtol=1e-6)


@for_each(*SPRUNG[:2], EVERY[-1])
def test_many_places_in_one_balance_are_each_as_alone(given_drive: Layout) -> None:
    """The batch form and the single form are the same function over leading axes."""
    steering = given_drive.pulleys["steering"].at_mm
    assert steering is not None
    moved = [replace(given_drive.pulleys["steering"], at_mm=(steering[0] + dx, steering[1])) for dx in (0.0, 5.0, -4.0)]
    drives = [replace(given_drive, pulleys={**given_drive.pulleys, "steering": each}) for each in moved]
    pairs = [route_and_mechanics(drive) for drive in drives]
    mechanics, seats = pairs[0][1], [seat_of(route) for route, _ in pairs]
    rpm, torque = np.array([700.0, 2500.0]), np.tile(np.linspace(0.0, 6.0, len(given_drive.route)), (2, 1))

    def row(name: str) -> Floats:
        return np.array([[float(getattr(seat, name)) for seat in seats]])

    every = (np.stack(places)[None] for places in zip(*(seat.circuit.centre for seat in seats), strict=True))
    circuit = seats[0].circuit.moved(dict(enumerate(every)))
    ends = (row("length_mm"), row("setting"), row("short"), row("long"))
    together = balance(Seat(circuit, seats[0].pitch_radius_mm, *ends), mechanics, rpm[:, None], torque[:, None])
    for k, (route, _) in enumerate(pairs):
        alone = tensions_at(route, mechanics, rpm, torque)
        np.testing.assert_allclose(together.tractive_N[:, k], alone.tractive_N, rtol=1e-9)
        np.testing.assert_allclose(together.setting[:, k], alone.setting, rtol=1e-9)


# The whole balance against an answer written anew in `solver`: arm, slide, lock, loaded arm, at a stop.


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


@for_each(2e4, 1e6)
def test_a_locked_drive_shares_its_tension_whatever_the_belts_stiffness(stiffness_N: float) -> None:
    """Rubber between two locked ends: what each span holds of it, unstretched, is as long as its part of the path over
    1 + T / EA, and all of it stays. Solved for either of two stiffnesses 50 times apart, by scipy; how much further the
    spans stretch is left out by the formula of the trade, so it is off by a share T / EA of what loads change.
    """
    given = on_slide(tension_N=700.0)
    setting = float(_ours(given, 0.0, TORQUES[0]).setting)
    for rpm, torque in STATES[1:9]:
        drive = _drive(given, rpm, torque, lambda s: SLIDE_START + s * ALONG)
        laid = solver.lay(drive, setting)
        arc = laid.wrap * drive.line
        length = laid.span + 0.5 * (arc + np.roll(arc, -1))

        def equations(total: Floats, drive: solver.Drive = drive, length: Floats = length) -> Floats:
            held = length / (1.0 + total / stiffness_N)
            lost = held.sum() - length.sum() / (1.0 + 700.0 / stiffness_N)
            return np.append(solver.shaft_balance(drive, total - drive.mv2) / 1e4, lost * stiffness_N / 1e6)

        found = root(equations, np.full(len(length), 700.0), tol=1e-13)
        assert np.abs(found.fun).max() < 1e-9
        mechanics = replace(route_and_mechanics(given)[1], known_stiffness_N=None)
        ours = tensions_at(route_of(given), mechanics, np.array(rpm), np.array(torque)).total_N
        loads = np.ptp(found.x)
        np.testing.assert_allclose(ours, found.x, atol=1e-6 + 0.5 * loads * found.x.max() / stiffness_N)


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
