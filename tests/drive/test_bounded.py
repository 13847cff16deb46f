"""Bounds of many layouts in many states against every state by itself, where the balance is a line or a parabola.

Of errors e0 + e1 x + e2 x^2 and tensions t0 + t1 x + t2 x^2, each a sum over what a state is made of, x is the root of
the first: school algebra.
"""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive.settling import _bounded
from tests.for_each import for_each

TRUSTED, STRAIGHT = 1.5, 1e-5
"""Half widths of its nodes, as far as a polynomial is trusted, and the share of its slope that its last coefficient may
have: our own."""


@for_each((1, 0.0, 0.03), (5, 0.0, 0.25), (1, 0.02, 0.15), (5, -0.02, 0.3))
def test_what_is_relied_on_lies_within_its_nodes_and_between_its_bounds(block: int, bend: float, tight: float) -> None:
    rng, layouts, states = np.random.default_rng(8), 600, 12
    state = np.vstack((np.ones(states), rng.uniform(-1.0, 1.0, (3, states))))
    error, first = np.zeros((4, 4, layouts)), np.zeros((4, 4, layouts))
    error[0], error[1] = rng.uniform(-0.15, 0.15, (4, layouts)), rng.uniform(-0.05, 0.05, (4, layouts))
    error[0, 0], error[1, 0] = np.repeat(rng.uniform(-2.2, 2.2, layouts // block), block), 1.0
    first[0], first[1] = rng.uniform(-60.0, 60.0, (4, layouts)), rng.uniform(-20.0, 20.0, (4, layouts))
    first[0, 0], error[2, 0], first[2, 1] = 500.0, bend, 100.0 * bend
    error *= 3.0  # of no meaning: a balance of nothing
    e0, e1, e2, _ = state.T @ error
    share = -e0 / e1 if bend == 0.0 else (np.sqrt(e1**2 - 4.0 * e0 * e2) - e1) / (2.0 * e2)
    tension = (state.T @ first * np.stack((np.ones_like(share), share, share**2, share**3))).sum(axis=0)
    starts = np.arange(0, layouts, block)
    sure, (least, most) = _bounded(error, first, state, starts)
    farthest = np.maximum.reduceat(np.abs(share).max(axis=0), starts)
    assert (farthest[sure] <= TRUSTED + 5.0 * abs(bend)).all() and sure[farthest <= TRUSTED * (1.0 - tight)].all()
    assert 0.3 < sure.mean() < 0.95
    low, high = (of.reduceat(tension, starts, axis=1) for of in (np.minimum, np.maximum))
    assert (least <= low + 1e-9)[:, sure].all() and (most >= high - 1e-9)[:, sure].all()
    if block == 1:
        wide = 1200.0 * abs(bend) + 1e-6
        assert (least[:, sure], most[:, sure]) == (
            pytest.approx(low[:, sure], abs=wide), pytest.approx(high[:, sure], abs=wide),
        )  # fmt: skip
    for last, some in ((0.8, True), (1.3, False)):
        error[3, 0] = last * STRAIGHT * 3.0
        assert _bounded(error, first, state, starts)[0].any() == some
