"""How far off a changed pulley may sit, roughly, before it is judged on rings round it."""

import math

import pytest

from beltplan.cure.trials import _roughly_mm
from beltplan.drive.route import route_of
from tests.checks.drives import two


def test_a_wrap_that_no_small_step_changes_does_not_bound_the_room() -> None:
    """By hand: both spans of two equal pulleys turn alike, so the moved one keeps its wrap to first order; the other's
    has 180 - 120 deg to spare, and turns by the step over the span of 300 mm.
    """
    assert _roughly_mm(route_of(two()), 1) == pytest.approx(300.0 * math.pi / 3.0)
