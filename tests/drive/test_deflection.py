"""How far a pressed span gives: against the least energy of a stretched string, found by scipy.

F = 4 T d / l + 8 EA d^3 / l^3 is the law of a string that is pressed a little; the string here bends as far as it will.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from beltplan.drive.mechanics import deflection_mm
from beltplan.geometry.vectors import Floats
from tests.for_each import for_each

NODES = 9
"""Between the ends, the middle one pressed."""


def pressed_mm(press_N: float, tension_N: float, span_mm: float, stiffness_N: float, loop_mm: float) -> float:
    """Of a chain of straight pieces between fixed ends, a part of a loop that slides: where its energy is least."""
    step = span_mm / (NODES + 1)

    def energy(down_mm: Floats) -> tuple[float, Floats]:
        """And its slopes."""
        drops = np.diff(down_mm, prepend=0.0, append=0.0)
        pieces = np.hypot(step, drops)
        longer = pieces.sum() - span_mm
        pull = drops / pieces * (tension_N + stiffness_N / loop_mm * longer)
        slopes = pull[:-1] - pull[1:]
        slopes[NODES // 2] -= press_N
        work = press_N * down_mm[NODES // 2]
        return float(tension_N * longer + 0.5 * stiffness_N / loop_mm * longer**2 - work), slopes

    start = np.interp(np.arange(1, NODES + 1), [0, (NODES + 1) / 2, NODES + 1], [0.0, 0.03 * span_mm, 0.0])
    found = minimize(energy, start, jac=True, method="BFGS", options={"gtol": 1e-6})
    return float(found.x[NODES // 2])


@for_each(
    (798.0, 350.0, 168_000.0, 1500.0),  # a new 6PK, the loop sharing the stretch
    (402.0, 350.0, 168_000.0, 1500.0),  # the same, to be set again
    (666.0, 300.0, 168_000.0, 300.0),  # the span alone
    (400.0, 371.0, 60_000.0, 1400.0),  # a V-belt
    (480.0, 233.0, 0.0, 2000.0),  # a spring keeps its tension
    (120.0, 500.0, 28_000.0, 1200.0),
)  # fmt: skip
@pytest.mark.parametrize("press_N", [20.0, 98.0])
def test_a_stretched_string(
    press_N: float, tension_N: float, span_mm: float, stiffness_N: float, loop_mm: float
) -> None:
    given = (np.array(each) for each in (press_N, tension_N, span_mm, stiffness_N * span_mm / loop_mm))
    found = float(deflection_mm(*given))
    # What the law leaves out grows with (d / l)^2: twice of it at most.
    share = found / span_mm
    expected = pressed_mm(press_N, tension_N, span_mm, stiffness_N, loop_mm)
    assert found == pytest.approx(expected, rel=2.0 * share**2 + 2e-4)
    assert abs(found / expected - 1.0) < 0.05, "as far as it is used"


def test_the_law_holds_as_it_is_written_over_many_at_once() -> None:
    rng = np.random.default_rng(4)
    press, tension, span = rng.uniform(1.0, 200.0, 50), rng.uniform(50.0, 1500.0, (7, 50)), rng.uniform(80.0, 700.0, 50)
    stiffness = 10.0 ** rng.uniform(-6.0, 7.0, (7, 1))
    down = deflection_mm(press, tension, span, stiffness)
    law = 4.0 * tension * down / span + 8.0 * stiffness * down**3 / span**3
    np.testing.assert_allclose(law, np.broadcast_to(press, law.shape), rtol=1e-9)
