"""Modes of turning: laws that hold for any drive, and the adjuster's stiffness against differences."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.balance import Tensions
from beltplan.drive.layout import Layout
from beltplan.drive.modes import Chain, chain_of, modes_of, spans_N_per_m, turning_m
from beltplan.drive.operation import Operation
from beltplan.drive.pulleys import Arm, Slide
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Floats
from tests.drive.drives import arm, with_belt
from tests.drive.loaded_drives import SLIDE_SPRING, SPRING, on_slide, operation, seven
from tests.drive.shaken import locked

INERTIAS = st.lists(st.floats(2e-4, 0.05), min_size=7, max_size=7).map(np.array)
UNLOADED = operation(seven(loads={}))
SLIDING = operation(on_slide(spring=SLIDE_SPRING))
RAD = 2.0 * np.pi


def _radius(run: Operation) -> Floats:
    return np.array([pulley.pitch_radius_mm(run.route.layout.belt) for pulley in run.route.pulleys])


def _chain(run: Operation, inertia: Floats, state: Tensions | None = None, swings: float | None = 0.002) -> Chain:
    return chain_of(run.route.circuit, state or run.stopped, _radius(run), inertia, swings, run.mechanics.stiffness_N)


@given(INERTIAS, st.booleans(), st.sampled_from([UNLOADED, SLIDING]))
def test_shapes_are_orthogonal_in_inertia_and_in_stiffness(inertia: Floats, free: bool, run: Operation) -> None:
    chain = _chain(run, inertia)
    modes = modes_of(chain, free)
    square = (RAD * modes.frequency_Hz) ** 2
    np.testing.assert_allclose(modes.shape.T @ np.diag(chain.mass) @ modes.shape, np.eye(len(square)), atol=1e-9)
    stiff = modes.shape.T @ chain.stiffness @ modes.shape
    np.testing.assert_allclose(stiff, np.diag(square), atol=1e-8 * square[-1])


@given(INERTIAS, st.booleans())
def test_squares_sum_to_the_trace(inertia: Floats, free: bool) -> None:
    chain, first = _chain(UNLOADED, inertia), 0 if free else 1
    square = (RAD * modes_of(chain, free).frequency_Hz) ** 2
    assert square.sum() == pytest.approx((np.diag(chain.stiffness) / chain.mass)[first:].sum(), rel=1e-9)


@given(INERTIAS, st.lists(st.floats(-1.0, 1.0), min_size=8, max_size=8).filter(lambda x: np.abs(x).max() > 0.1))
def test_rayleighs_quotient_lies_between_the_lowest_and_the_highest(inertia: Floats, trial: list[float]) -> None:
    chain, vector = _chain(UNLOADED, inertia), np.array(trial)
    square = (RAD * modes_of(chain, crank_free=True).frequency_Hz) ** 2
    quotient = vector @ chain.stiffness @ vector / (chain.mass * vector**2).sum()
    assert square[0] - 1e-6 * square[-1] <= quotient <= square[-1] * (1.0 + 1e-9)


@given(INERTIAS)
def test_shares_of_energy_sum_to_one(inertia: Floats) -> None:
    """Of a mode without a spring's part all that is stored is in the spans, as much as moves: Rayleigh."""
    chain, locked = _chain(UNLOADED, inertia), _chain(UNLOADED, inertia, swings=None)
    np.testing.assert_allclose(modes_of(chain).energy.sum(axis=0), 1.0, rtol=1e-9)
    modes = modes_of(locked)
    stored = locked.span_N_per_m @ (locked.stretch @ modes.shape) ** 2
    np.testing.assert_allclose(stored, (RAD * modes.frequency_Hz) ** 2, rtol=1e-9)


@given(INERTIAS)
def test_one_mode_of_turning_as_one_where_crank_and_arm_are_free(inertia: Floats) -> None:
    """All rims run as fast as the belt, and no span stretches; with a crank that is held there is none."""
    run = UNLOADED
    free, held = (modes_of(_chain(run, inertia, swings=None), each) for each in (True, False))
    assert free.frequency_Hz[0] < 1e-5 * free.frequency_Hz[1] and held.frequency_Hz[0] > 1.0
    rims = free.shape[:, 0] * _radius(run)
    np.testing.assert_allclose(rims / rims[0], 1.0, rtol=1e-6)


def test_modes_do_not_know_the_speed() -> None:
    """A spring holds the tractive tension; a belt without weight moves no arm, where nothing takes torque."""
    run = operation(with_belt(seven(loads={}), mass_kg_per_m=1e-9))
    running, stopped = (
        modes_of(_chain(run, np.full(7, 0.002), each)).frequency_Hz for each in (run.running, run.stopped)
    )
    np.testing.assert_allclose(running, np.broadcast_to(stopped, running.shape), rtol=1e-6)


@given(INERTIAS, st.booleans())
def test_twice_the_inertia_lowers_every_mode_by_root_two(inertia: Floats, free: bool) -> None:
    one, two = (modes_of(_chain(UNLOADED, k * inertia, swings=k * 0.002), free).frequency_Hz for k in (1.0, 2.0))
    np.testing.assert_allclose(one[1:], np.sqrt(2.0) * two[1:], rtol=1e-9)


def test_springs_in_series() -> None:
    """An idler of hardly any inertia between two spans makes of them one: 1 / k = 1 / k1 + 1 / k2."""
    springs, radius = np.array([3e5, 2e5, 4e5]), np.array([80.0, 30.0, 50.0])
    three = Chain(np.array([0.1, 1e-12, 0.003]), turning_m(radius), springs, None)
    series = np.array([1.0 / (1.0 / 3e5 + 1.0 / 2e5), 4e5])
    two = Chain(np.array([0.1, 0.003]), turning_m(radius[[0, 2]]), series, None)
    first = [modes_of(each, crank_free=True).frequency_Hz[1] for each in (three, two)]
    assert first[0] == pytest.approx(first[1], rel=1e-6)


def _turned(given: Layout, mirrored: bool) -> Layout:
    """The same drive in a mirror, or turned by 30 deg."""
    turn = np.radians(30.0)

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = point
        if mirrored:
            return (-x, y)
        return (float(x * np.cos(turn) - y * np.sin(turn)), float(x * np.sin(turn) + y * np.cos(turn)))

    def angle(rad: float) -> float:
        return np.pi - rad if mirrored else rad + turn

    pulleys = {}
    for name, own in given.pulleys.items():
        held = own.adjuster
        if isinstance(held, Arm):
            stops = (angle(held.stops_rad[0]), angle(held.stops_rad[1]))
            spring = replace(SPRING, at_deg=float(np.degrees(angle(np.radians(SPRING.at_deg)))))
            held = replace(held, pivot_mm=at(held.pivot_mm), stops_rad=stops, spring=spring, at_rad=angle(held.nominal))
        pulleys[name] = replace(own, at_mm=None if own.at_mm is None else at(own.at_mm), adjuster=held)
    return replace(given, pulleys=pulleys, rotation="counterclockwise" if mirrored else given.rotation)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_mirror_or_a_turn_changes_nothing(mirrored: bool) -> None:
    inertia, other = np.linspace(1e-3, 7e-3, 7), operation(_turned(seven(), mirrored))
    own = modes_of(_chain(operation(seven()), inertia)).frequency_Hz
    assert [p.name for p in other.route.pulleys] == list(seven().route)
    np.testing.assert_allclose(modes_of(_chain(other, inertia)).frequency_Hz, own, rtol=1e-6)


@pytest.mark.parametrize("given", [seven(), on_slide(spring=SLIDE_SPRING)])
def test_what_holds_the_adjuster_against_differences(given: Layout) -> None:
    """Spring and tensions oppose its movement as the balance of torques changes with it; tensions as they are."""
    run = operation(given)
    adjuster, moving, state = run.route.circuit.adjuster, run.route.circuit.moving, run.stopped
    assert adjuster is not None and moving is not None and run.route.travel is not None
    longer = 1 if run.route.travel.long > run.route.travel.short else -1
    unit = 1.0 if isinstance(adjuster, Arm) else 1e3

    def opposed(setting: float) -> float:
        """N m, or N: the pull of both spans less the spring's push."""
        loop, spring = run.route.circuit.loop_at(setting), adjuster.spring_force_at(np.asarray(setting), longer)
        along = loop.direction[moving - 1] - loop.direction[moving]
        pull = float(along @ adjuster.track.motion_at(np.asarray(setting))) * float(state.tractive_N[moving])
        return (pull - longer * float(spring)) * 1e-3 * unit

    step = 1e-4 * unit
    at = float(state.setting)
    expected = (opposed(at + step) - opposed(at - step)) / (2.0 * step) * unit
    assert abs(opposed(at)) < 1e-4 * abs(float(adjuster.spring_force_at(np.asarray(at), longer)))
    found = _chain(run, np.full(7, 0.002)).held
    assert float(np.asarray(found)) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("given", [seven(), on_slide(spring=SLIDE_SPRING)])
def test_the_share_of_the_adjuster_is_the_paths_own_derivative(given: Layout) -> None:
    """Both spans together grow as the whole path does; m for a rad, or for a m."""
    run = operation(given)
    own = run.route.circuit.slope_at(run.stopped.setting)
    unit = 1.0 if isinstance(run.route.circuit.adjuster, Slide) else 1e-3
    assert _chain(run, np.full(7, 0.002)).stretch[:, -1].sum() == pytest.approx(unit * float(own))


def test_what_stretches_with_a_span() -> None:
    """EA / l of the span alone, and with half of both arcs: two wheels of 100 mm radius, 600 mm apart."""
    loop = close_loop(np.array([[0.0, 0.0], [600.0, 0.0]]), np.full(2, 100.0), np.ones(2))
    np.testing.assert_allclose(spans_N_per_m(loop, 1e5), 1e5 / 0.6)
    np.testing.assert_allclose(spans_N_per_m(loop, 1e5, arcs=0.5), 1e5 / (0.6 + 0.1 * np.pi))


def test_a_locked_adjuster_is_one_that_stands_still() -> None:
    inertia = np.full(7, 0.003)
    still, without = locked(_chain(UNLOADED, inertia)), _chain(UNLOADED, inertia, swings=None)
    heavy = modes_of(_chain(UNLOADED, inertia, swings=1e6)).frequency_Hz
    np.testing.assert_allclose(modes_of(still).frequency_Hz, modes_of(without).frequency_Hz)
    np.testing.assert_allclose(heavy[1:], modes_of(still).frequency_Hz, rtol=1e-4)


def test_an_arm_across_the_pull_is_held_by_its_spring_alone() -> None:
    """Where no tension pulls on it, only what its spring loses counts: 0.35 N m per deg are 20.05 N m per rad."""
    run = operation(seven(arm((-150.0, 215.0), 85.0, (265.0, 300.0), at_rad=float(np.radians(285.0)), spring=SPRING)))
    slack = replace(run.stopped, tractive_N=np.zeros(7))
    assert float(np.asarray(_chain(run, np.full(7, 0.002), slack).held)) == pytest.approx(0.35 * 180.0 / np.pi)
