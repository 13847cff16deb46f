"""Spans as strings. Published: f = sqrt(T / m) / (2 l) at rest; (w^2 - c^2) / (2 l w) moving (Sack 1954)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drive.mechanics import frequency_at_rest_Hz, frequency_running_Hz

TENSIONS, SPANS = st.floats(20.0, 3000.0), st.floats(30.0, 900.0)


def test_string_of_plain_numbers() -> None:
    """400 N on 0.01 kg/m: waves at 200 m/s, there and back over 0.5 m in 5 ms."""
    assert float(frequency_at_rest_Hz(np.array(400.0), 0.01, np.array(500.0))) == pytest.approx(200.0, rel=1e-14)


@given(TENSIONS, SPANS)
def test_standing_still_is_the_limit_of_slow_travel(tension: float, span: float) -> None:
    rest = frequency_at_rest_Hz(np.array(tension), 0.105, np.array(span))
    np.testing.assert_allclose(frequency_running_Hz(np.array(tension), 0.105, np.array(span), np.array(0.0)), rest)


@given(TENSIONS, SPANS, st.floats(0.01, 0.999))
def test_moving_string(tension: float, span: float, share: float) -> None:
    """A wave runs the span at w + c one way and w - c the other: the time of both is the period of the first mode."""
    wave, length = np.sqrt(tension / 0.105), span / 1000.0
    period = length / (wave * (1.0 + share)) + length / (wave * (1.0 - share))
    found = frequency_running_Hz(np.array(tension), 0.105, np.array(span), share * wave)
    assert float(found) == pytest.approx(1.0 / period, rel=1e-9)


@pytest.mark.parametrize("share", [1.0, 1.5])
def test_travelling_as_fast_as_its_waves(share: float) -> None:
    wave = np.sqrt(300.0 / 0.105)
    assert float(frequency_running_Hz(np.array(300.0), 0.105, np.array(400.0), share * wave)) < 1e-6


@pytest.mark.parametrize("tension", [0.0, -50.0])
def test_slack_span_has_no_tone(tension: float) -> None:
    with np.errstate(all="raise"):
        assert float(frequency_at_rest_Hz(np.array(tension), 0.1, np.array(300.0))) == 0.0
        assert float(frequency_running_Hz(np.array(tension), 0.1, np.array(300.0), np.array(10.0))) == 0.0
