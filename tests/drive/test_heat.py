"""The heat of the block in a belt set by hand: dT = EA (a_block - a_belt) rise, as held against a drive that grows.

Expansion: aluminium 23e-6, cast iron 11e-6 a kelvin, any handbook. EA of 6PK: 6 x 28 kN (from memory, medium
confidence); the belt's own growth is taken as 0 (common practice, no source). Drives invented.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.layout import Block, Layout
from beltplan.drive.operation import heat_N, tension_band
from beltplan.drive.pulleys import Slide
from beltplan.drive.route import route_of
from tests.drive.loaded_drives import on_slide, operation, seven

ALUMINIUM, FROST = Block("aluminium", 80.0), Block("aluminium", -40.0)
EA_N = 6 * 28_000.0


def heated(block: Block, **more: float) -> Layout:
    return replace(on_slide(**more), block=block)


def added(given: Layout) -> float | None:
    return heat_N(given, route_of(given).circuit)


def test_a_drive_that_grows_stretches_its_belt_by_so_much() -> None:
    """Law: scale the drive by 1 + a rise, and the path is longer by that share; the belt is not."""
    cold = on_slide()
    grown = 1.0 + 23e-6 * 80.0

    def longer(at: tuple[float, float]) -> tuple[float, float]:
        return at[0] * grown, at[1] * grown

    pulleys = {
        name: replace(p, diameter_mm=p.diameter_mm * grown, at_mm=p.at_mm and longer(p.at_mm))
        for name, p in cold.pulleys.items()
    }
    slide = cold.pulleys["tensioner"].adjuster
    assert isinstance(slide, Slide)
    moved = replace(slide, start_mm=longer(slide.start_mm), end_mm=longer(slide.end_mm))
    hot = replace(cold, pulleys={**pulleys, "tensioner": replace(pulleys["tensioner"], adjuster=moved)})
    ours, theirs = (route_of(each).circuit.base.length for each in (cold, hot))
    # The belt's back and cord do not grow with the metal: that is the rest.
    assert EA_N * (theirs / ours - 1.0) == pytest.approx(added(heated(ALUMINIUM)), rel=0.02)


def test_heat_raises_the_high_end_and_cold_lowers_the_low_one() -> None:
    set_N = 6 * 111.0
    low, high = 67.0 / 111.0, 133.0 / 111.0
    for block, ends in ((ALUMINIUM, (low, high + 309.12 / set_N)), (FROST, (low - 154.56 / set_N, high))):
        given = heated(block)
        assert tension_band(given, route_of(given).circuit) == pytest.approx(ends)
    tight = operation(heated(ALUMINIUM)).ends
    assert tight is not None
    np.testing.assert_allclose(tight[1].stopped.total_N, 6 * 133.0 + EA_N * 23e-6 * 80.0)


def test_a_factor_on_the_set_tension_leaves_the_heat_as_it_is() -> None:
    given = heated(ALUMINIUM)
    low, high = tension_band(given, route_of(given).circuit, 2.0) or (0.0, 0.0)
    assert high * 6 * 111.0 == pytest.approx(2.0 * 6 * 133.0 + EA_N * 23e-6 * 80.0)
    assert low == pytest.approx(2.0 * 67.0 / 111.0)


def test_a_belt_that_frost_lets_hang_slack() -> None:
    """Its lowest tension is none, and all that carries load slips there."""
    given = heated(replace(FROST, rise_K=-150.0), tension_N=300.0)
    assert (tension_band(given, route_of(given).circuit) or (1.0,))[0] == 0.0
    ends = operation(given).ends
    assert ends is not None and np.isinf(ends[0].utilisation).any() and not np.isnan(ends[0].utilisation).any()


def test_a_spring_takes_it_up() -> None:
    given = replace(seven(), block=ALUMINIUM)
    assert added(given) is None
    assert tension_band(given, route_of(given).circuit) == tension_band(seven(), route_of(seven()).circuit)
