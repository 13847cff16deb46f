"""One-way pulleys by harmonic balance, against the drive marched through time, and their own limits."""

from math import cos

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from beltplan.drive.forced import Rotors, _widest, answer_of, carried_share, overrun
from tests.drive.shaken import March
from tests.drive.test_forced import CHAIN, FIRST_RAD_PER_S, INERTIA, LOSS, RUN, STATE
from tests.for_each import for_each, mostly_long

GENERATOR, ROTOR_KGM2 = 4, 0.0031


def _rotors(torque_Nm: float) -> Rotors:
    return Rotors((GENERATOR,), np.array([ROTOR_KGM2]), np.array([torque_Nm]))


@pytest.mark.parametrize(("share", "torque_Nm"), mostly_long([(0.9, 1.0), (1.05, 2.0), (1.2, 0.4)], 0, 2))
def test_against_the_drive_in_time(share: float, torque_Nm: float) -> None:
    """The ring carries its rotor through a stiff one-way drag: tensions come out up to a fifth too high, nearer
    than without the one-way pulley.
    """
    crank, speed = (3e-3,), share * FIRST_RAD_PER_S
    march = March(RUN, STATE, INERTIA, speed, crank, LOSS, 0.0, GENERATOR, ROTOR_KGM2, torque_Nm)
    found = overrun(CHAIN, _rotors(torque_Nm), np.array(speed), np.array(crank), np.array(0.0), LOSS)
    _, spans = march.steady(found)
    carried = answer_of(CHAIN, np.array(speed), np.array(crank), np.array(0.0), LOSS)
    worst = int(np.abs(spans[0]).argmax())
    own, without, true = (float(np.abs(each[0, worst])) for each in (found.spans_N, carried.spans_N, spans))
    assert 1.0 < own / true < 1.2
    assert abs(own - true) < 0.7 * abs(without - true)


def test_a_rotor_that_never_runs_ahead_is_one_without_a_one_way_pulley() -> None:
    given = (np.array([0.5 * FIRST_RAD_PER_S]), np.array([[1e-4, 2e-5]]), np.array([0.3]), LOSS)
    many = Rotors((GENERATOR,), np.array([ROTOR_KGM2]), np.array([[50.0]]))
    np.testing.assert_allclose(overrun(CHAIN, many, *given).moved, answer_of(CHAIN, *given).moved, rtol=1e-9)


def test_a_rotor_without_load_leaves_its_ring_alone() -> None:
    given = (np.array([FIRST_RAD_PER_S]), np.array([[1e-3, 1e-4]]), np.array([0.3]), LOSS)
    ring = CHAIN.mass.copy()
    ring[GENERATOR] -= ROTOR_KGM2
    alone = answer_of(type(CHAIN)(ring, CHAIN.stretch, CHAIN.span_N_per_m, CHAIN.held), *given)
    many = Rotors((GENERATOR,), np.array([ROTOR_KGM2]), np.array([[0.0]]))
    np.testing.assert_allclose(overrun(CHAIN, many, *given).moved, alone.moved, rtol=1e-6)


@for_each(0.05, 0.7)
def test_share_that_is_carried_against_a_rotor_in_time(load: float) -> None:
    """A ring of speed cos(t) drags a rotor of inertia 1 through a very stiff one-way drag; scipy's solve_ivp."""
    drag = 3000.0

    def passed(t: float, speed: float) -> float:
        return drag * max(cos(t) - speed, 0.0)

    times = 25.0 * np.pi + 2.0 * np.pi * np.arange(4000) / 4000
    found = solve_ivp(
        lambda t, y: [passed(t, y[0]) - load], (0.0, times[-1]), [1.0], "Radau", times, max_step=0.05, rtol=1e-8
    )
    values = np.array([passed(t, speed) for t, speed in zip(found.t, found.y[0], strict=True)])
    share = (values * np.exp(-1j * times)).mean() * 2.0 / 1j
    assert values.mean() == pytest.approx(load, abs=1e-3)
    assert abs(complex(carried_share(np.array(load))) - share) < 0.01


@for_each(0.02, 0.05, 0.3, 0.7, 0.95)
def test_share_that_is_carried_is_the_first_harmonic_of_what_its_ring_passes_on(load: float) -> None:
    """Let go where its ring slows as it would alone, caught where the speeds meet (scipy's brentq): load - sin t from
    there on, by scipy's quad.
    """
    leaves = np.arcsin(load)
    ends = leaves + 2.0 * np.pi
    meets = brentq(lambda t: np.cos(t) - np.cos(leaves) + load * (t - leaves), np.pi - leaves, ends - 1e-9)
    share, _ = quad(lambda t: (load - np.sin(t)) * np.exp(-1j * t) / (1j * np.pi), meets, ends, complex_func=True)
    assert abs(complex(carried_share(np.array(load))) - share) < 3e-5


def test_the_more_a_rotor_is_loaded_the_more_of_it_is_carried() -> None:
    """Down to next to no load: the longer it is dragged, the sooner the two speeds meet."""
    assert (np.diff(carried_share(np.linspace(0.0, 1.0, 1025)).real) > 0.0).all()


def test_two_one_way_pulleys_that_are_carried_or_not() -> None:
    """One that never leaves beside one without load: as the drive with the first whole and the second bare."""
    given = (np.array([FIRST_RAD_PER_S]), np.array([[1e-3]]), np.array([0.3]), LOSS)
    both = Rotors((GENERATOR, 6), np.array([ROTOR_KGM2, 0.002]), np.array([[500.0, 0.0]]))
    bare = CHAIN.mass.copy()
    bare[6] -= 0.002
    alone = answer_of(type(CHAIN)(bare, CHAIN.stretch, CHAIN.span_N_per_m, CHAIN.held), *given)
    np.testing.assert_allclose(overrun(CHAIN, both, *given).moved, alone.moved, rtol=1e-6)


def test_the_widest_balance_of_a_ring_is_a_root() -> None:
    """Against scipy's brentq beside it: where what moves the ring, less what of its rotor is carried, is its speed."""
    given = np.random.default_rng(7)
    alone, brake = given.uniform(0.5, 3.0, 60), given.uniform(0.05, 0.9, 60)
    drag = given.uniform(0.0, 0.6, 60) * np.exp(1j * given.uniform(-3.0, 3.0, 60))
    brake *= alone / np.abs(1.0 - drag)
    found = _widest(alone, drag, brake)

    def over(speed: float, i: int) -> float:
        carried = carried_share(np.array([brake[i] / speed]))[0]
        return float(alone[i] / abs(1.0 - drag[i] * carried) - speed)

    roots = [brentq(over, 0.97 * each, 1.03 * each, args=(i,)) for i, each in enumerate(found.tolist())]
    np.testing.assert_allclose(found, roots, rtol=4e-4)
