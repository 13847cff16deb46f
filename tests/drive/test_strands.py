"""The plain formulas: rises, shares, slip, hub loads. Laws of statics and of Euler's formula."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.mechanics import entering, grip_utilisation, hub_load_N, is_slack, rises_N, stretching_mm
from beltplan.geometry.loops import close_loop, pieces_of
from tests.for_each import for_each

LOOP = close_loop(
    np.array([[0.0, 0.0], [400.0, 60.0], [150.0, 330.0], [140.0, 180.0]]),
    np.array([80.0, 40.0, 60.0, 30.0]),
    np.array([1.0, 1.0, 1.0, -1.0]),
)
WRAPS, FRICTIONS, LOWS = st.floats(0.2, 4.0), st.floats(0.1, 1.5), st.floats(1.0, 2000.0)


def test_rises_add_up_round_the_loop() -> None:
    """Plain arithmetic: 10 Nm on 50 mm is 200 N, 6 Nm on 30 mm is 200 N; what the driver 'takes' is not asked."""
    rise = rises_N(np.array([-99.0, 10.0, 0.0, 6.0]), np.array([80.0, 50.0, 40.0, 30.0]))
    np.testing.assert_allclose(rise, [0.0, 200.0, 200.0, 400.0])


def test_what_stretches_is_span_and_half_arcs() -> None:
    parts = stretching_mm(pieces_of(list(LOOP.centre), LOOP.radius, LOOP.sense))
    assert float(sum(parts)) == pytest.approx(float(LOOP.length), rel=1e-14)
    arc = LOOP.wrap * LOOP.radius
    assert float(parts[0]) == pytest.approx(float(LOOP.span[0] + 0.5 * (arc[0] + arc[1])), rel=1e-14)
    assert float(parts[-1]) == pytest.approx(float(LOOP.span[-1] + 0.5 * (arc[-1] + arc[0])), rel=1e-14)


@given(FRICTIONS, WRAPS, LOWS, st.sampled_from([0.99, 1.01]))
def test_edges_of_slip(friction: float, wrap: float, low: float, utilisation: float) -> None:
    """Euler: P_high = P_low exp(f wrap) just slips; a hundredth less or more does not, and does."""
    high = low * np.exp(utilisation * friction * wrap)
    for pair in ((low, high), (high, low)):
        found = grip_utilisation(np.array(pair[0]), np.array(pair[1]), np.array(friction), np.array(wrap))
        assert float(found) == pytest.approx(utilisation, rel=1e-9)
        assert (float(found) < 1.0) == (utilisation < 1.0)


@for_each((0.0, np.inf), (-20.0, np.inf), (1e-300, 700.0))
def test_slack_side_without_tension(low: float, expected: float) -> None:
    """The grip needed goes beyond all bounds as the slack side goes to nothing, and stays there."""
    with np.errstate(divide="raise", invalid="raise"):
        utilisation = float(grip_utilisation(np.array(300.0), np.array(low), np.array(0.3), np.array(3.0)))
    assert utilisation >= expected


def test_equal_tensions_use_no_grip() -> None:
    for tension in (300.0, 0.0, -5.0):
        assert float(grip_utilisation(np.array(tension), np.array(tension), np.array(0.3), np.array(3.0))) == 0.0


def test_a_load_without_wrap_slips() -> None:
    assert float(grip_utilisation(np.array(300.0), np.array(200.0), np.array(0.3), np.array(0.0))) == np.inf


@given(st.floats(10.0, 2000.0))
def test_hub_load_of_equal_spans(tension: float) -> None:
    """Statics: 2 T sin(wrap / 2) along the bisector of the spans, towards the belt's side."""
    pull = hub_load_N(LOOP, np.full(4, tension))
    np.testing.assert_allclose(np.hypot(*pull.T), 2.0 * tension * np.sin(LOOP.wrap / 2.0), rtol=1e-9)
    arriving = LOOP.direction[[3, 0, 1, 2]]
    np.testing.assert_allclose((pull * (LOOP.direction + arriving)).sum(axis=-1), 0.0, atol=1e-8 * tension)
    # The belt pulls a pulley away from the middle of its own arc.
    middle = LOOP.arrival + LOOP.start - 2.0 * LOOP.centre
    assert ((pull * middle).sum(axis=-1)[LOOP.wrap < np.pi] < 0.0).all()


@given(st.lists(st.floats(-500.0, 2000.0), min_size=4, max_size=4))
def test_hub_loads_of_a_closed_loop_cancel(tension: list[float]) -> None:
    """Newton's third law: every span pulls both its ends alike."""
    np.testing.assert_allclose(hub_load_N(LOOP, np.array(tension)).sum(axis=0), 0.0, atol=1e-9)


def test_entering_and_slack() -> None:
    spans = np.array([1.0, 0.0, -3.0, np.nan])
    np.testing.assert_array_equal(entering(spans), [np.nan, 1.0, 0.0, -3.0])
    np.testing.assert_array_equal(is_slack(spans), [False, True, True, True])
