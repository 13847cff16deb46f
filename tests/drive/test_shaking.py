"""A drive shaken at every speed and duty: what is told of it, held against what it is made of."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.forced import answer_of, crank_swing_rad, firing_rad_per_s
from beltplan.drive.inertias import RING_KGM2, USUAL_KGM2
from beltplan.drive.layout import CrankSwing, Layout
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.mechanics import frequency_Hz, friction_of_arm, grip_utilisation
from beltplan.drive.modes import modes_of
from beltplan.drive.operation import Operation
from beltplan.drive.shaking import Shaken, assumed_inertias, drive_chain, why_not_shaken
from beltplan.geometry.vectors import Floats
from tests.drive.drives import with_belt, with_pulley
from tests.drive.loaded_drives import ENGINE, LOADS, SLIDE_SPRING, on_slide, operation, seven, swung_generator
from tests.for_each import for_each


def _shaken(given: Layout) -> tuple[Operation, Shaken]:
    run = operation(given)
    assert run.shaken is not None
    return run, run.shaken


def test_a_crank_that_turns_evenly_shakes_nothing() -> None:
    still = replace(ENGINE, swing_deg=CrankSwing((0.0,)))
    run, shaken = _shaken(seven(engine=still))
    assert shaken.adjuster is not None
    for value in (shaken.swing, shaken.adjuster, shaken.span_swing_N):
        np.testing.assert_allclose(value, 0.0, atol=1e-9)
    np.testing.assert_allclose(shaken.least_N, run.running.tractive_N)
    high, low = (which(run.running.tractive_N, run.running.entering_N) for which in (np.maximum, np.minimum))
    steady = grip_utilisation(high, low, np.ones(()), run.running.loop.wrap)
    np.testing.assert_allclose(shaken.grip_needed, steady, atol=1e-9)


def test_the_widest_swing_is_where_the_firing_meets_the_first_mode() -> None:
    """Two firings a turn of four cylinders: at 30 times the mode's hertz, in rpm; to a twelfth, for its friction."""
    run, shaken = _shaken(seven(engine=replace(ENGINE, idle_rpm=600.0)))
    first = modes_of(drive_chain(run.route, run.mechanics, run.stopped)).frequency_Hz[0]
    worst = run.driver_rpm[int(shaken.span_swing_N[0].max(axis=-1).argmax())]
    assert worst == pytest.approx(30.0 * float(first), rel=1.0 / 12.0)


def test_swing_is_in_proportion_where_nothing_rubs() -> None:
    """Without a sprung adjuster all is linear: twice the swing, twice the answer."""
    one, two = (
        _shaken(on_slide(tension_N=500.0, engine=replace(ENGINE, swing_deg=CrankSwing((deg,)))))[1]
        for deg in (0.2, 0.4)
    )
    np.testing.assert_allclose(two.span_swing_N, 2.0 * one.span_swing_N, rtol=1e-9)
    assert one.adjuster is None


def _spring_of_seven_Nm(setting: Floats) -> Floats:
    return np.asarray(26.0 - 0.35 * (np.degrees(setting) - 285.0))


HELD: dict[str, tuple[Layout, Callable[[Floats], Floats]]] = {
    "locked": (on_slide(tension_N=900.0), np.zeros_like),
    "sprung arm": (seven(), _spring_of_seven_Nm),
    "sprung slide": (on_slide(spring=SLIDE_SPRING), lambda at_mm: 420.0 - 2.5 * (at_mm - 50.0)),
    "arm that shortens": (swung_generator(TorqueLoad(5.0)), lambda at: 75.0 - 0.2 * (175.0 - np.degrees(at))),
}
"""Drives, and the springs at their settings, by what the drives say."""


@for_each(*HELD)
def test_grip_and_tension_are_those_of_the_worst_instant(kind: str) -> None:
    """Euler: |ln(entering / leaving)| = friction x wrap, at 32 instants of the firing drawn from its harmonics. Dry
    friction holds an adjuster by a share of its spring.
    """
    given, spring = HELD[kind]
    run, shaken = _shaken(given)
    rpm = np.broadcast_to(run.driver_rpm, run.running.tractive_N.shape[:-1])
    engine, chain = run.route.layout.engine, drive_chain(run.route, run.mechanics, run.running)
    held = friction_of_arm(run.route.circuit.adjuster)[0] * spring(run.running.setting)
    answer = answer_of(chain, firing_rad_per_s(engine, rpm), crank_swing_rad(engine, rpm), held)
    turn = 2.0 * np.pi * np.arange(32)[:, None] / 32 * np.arange(1, answer.spans_N.shape[-2] + 1)
    tension_N = run.running.tractive_N[..., None, :] + (np.exp(1j * turn) @ answer.spans_N).real
    np.testing.assert_allclose(shaken.least_N, tension_N.min(axis=-2), atol=1e-9)
    tight = tension_N.min(axis=(-2, -1)) > 0.0
    needed = np.abs(np.log(np.roll(tension_N[tight], 1, axis=-1) / tension_N[tight])).max(axis=-2)
    assert tight.mean() > 0.5
    slack = (tension_N <= 0.0).any(axis=-2)
    np.testing.assert_array_equal(np.isinf(shaken.grip_needed), slack | np.roll(slack, 1, axis=-1))
    np.testing.assert_allclose(shaken.grip_needed[tight], needed / run.running.loop.wrap[tight], rtol=1e-9)


def test_a_belt_that_loses_more_swings_less() -> None:
    little, much = (_shaken(with_belt(seven(), loss_factor=loss))[1].span_swing_N.max() for loss in (0.05, 0.2))
    assert much < 0.7 * little


@pytest.mark.parametrize("given", [seven(), on_slide(spring=SLIDE_SPRING)])
def test_an_adjuster_that_sticks_does_not_swing(given: Layout) -> None:
    _, shaken = _shaken(given)
    assert shaken.adjuster is not None
    held = shaken.adjuster < 1e-12
    assert 0 < held.sum() < held.size and (shaken.adjuster[~held] > 1e-6).all()


def test_a_one_way_rotor_without_load_is_not_there() -> None:
    """It runs ahead of its ring all the time: as a generator with the inertia of the ring."""
    loads = {name: load for name, load in LOADS.items() if name != "generator"}
    given = seven(loads=loads)
    _, one_way = _shaken(with_pulley(given, "generator", one_way=True))
    _, ring = _shaken(with_pulley(given, "generator", inertia_kgm2=RING_KGM2))
    np.testing.assert_allclose(one_way.span_swing_N, ring.span_swing_N, rtol=0.02)


def test_what_is_assumed_is_named() -> None:
    run = operation(with_pulley(seven(), "pump", inertia_kgm2=0.001))
    found = assumed_inertias(run.route)
    assert found["generator"] == USUAL_KGM2["alternator"] and "pump" not in found
    assert list(found)[-1] == "tensioner: arm" and found["crank"] == 0.2
    # What is locked swings with no mass.
    assert not any(":" in name for name in assumed_inertias(operation(on_slide(tension_N=700.0)).route))


def test_why_it_cannot_be_told() -> None:
    without = seven(engine=replace(ENGINE, cylinders=None))
    assert why_not_shaken(operation(without).route) == "give engine.cylinders"
    strange = with_pulley(with_pulley(seven(), "steering", role="other"), "pump", inertia_kgm2=0.0)
    told = why_not_shaken(operation(strange).route) or ""
    assert told.startswith("give inertia_kgm2 of pump, steering: ")
    # A disc's moment of inertia is m r^2 / 2, any handbook.
    assert f"2 kg, 80 mm across, has {2.0 * 0.04**2 / 2.0:g}" in told
    assert operation(strange).shaken is None


# Spans as strings. Published: f = sqrt(T / m) / (2 l) at rest; (w^2 - c^2) / (2 l w) moving (Sack 1954).


TENSIONS, SPANS = st.floats(20.0, 3000.0), st.floats(30.0, 900.0)


def test_string_of_plain_numbers() -> None:
    """400 N on 0.01 kg/m: waves at 200 m/s, there and back over 0.5 m in 5 ms."""
    assert float(frequency_Hz(np.array(400.0), 0.01, np.array(500.0))) == pytest.approx(200.0, rel=1e-14)


@given(TENSIONS, SPANS)
def test_standing_still_is_the_limit_of_slow_travel(tension: float, span: float) -> None:
    """A still string: f = sqrt(T / m) / (2 l)."""
    rest = np.sqrt(tension / 0.105) / (2.0 * span / 1000.0)
    for still in ((), (np.array(0.0),), (np.array(1e-9),)):
        np.testing.assert_allclose(frequency_Hz(np.array(tension), 0.105, np.array(span), *still), rest)


@given(TENSIONS, SPANS, st.floats(0.01, 0.999))
def test_moving_string(tension: float, span: float, share: float) -> None:
    """A wave runs the span at w + c one way and w - c the other: the time of both is the period of the first mode."""
    wave, length = np.sqrt(tension / 0.105), span / 1000.0
    period = length / (wave * (1.0 + share)) + length / (wave * (1.0 - share))
    found = frequency_Hz(np.array(tension), 0.105, np.array(span), share * wave)
    assert float(found) == pytest.approx(1.0 / period, rel=1e-9)


@pytest.mark.parametrize("share", [1.0, 1.5])
def test_travelling_as_fast_as_its_waves(share: float) -> None:
    wave = np.sqrt(300.0 / 0.105)
    assert float(frequency_Hz(np.array(300.0), 0.105, np.array(400.0), share * wave)) < 1e-6


@pytest.mark.parametrize("tension", [0.0, -50.0])
def test_slack_span_has_no_tone(tension: float) -> None:
    with np.errstate(all="raise"):
        assert float(frequency_Hz(np.array(tension), 0.1, np.array(300.0))) == 0.0
        assert float(frequency_Hz(np.array(tension), 0.1, np.array(300.0), np.array(10.0))) == 0.0
