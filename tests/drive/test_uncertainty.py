"""Whose uncertainty holds: the pulley's own, the layout's, or the usual one (common practice, no source)."""

from __future__ import annotations

from dataclasses import astuple, replace

from beltplan.drive.layout import deviations_of
from beltplan.drive.pulleys import DEVIATIONS_SOURCE, TAPE_AND_CALIPERS, Uncertainty
from tests.drive.drives import railcar, with_pulley


def test_usual_values_hold_where_nothing_is_said_and_are_called_common_practice() -> None:
    given = railcar()
    assert astuple(deviations_of(given)) == astuple(TAPE_AND_CALIPERS) == (1.0, 0.2, 0.5)
    assert not given.uncertainty.says_anything
    assert DEVIATIONS_SOURCE == "common practice, no source"


def test_a_pulley_wins_over_the_layout_key_by_key_and_nought_is_a_value() -> None:
    given = with_pulley(
        replace(railcar(), uncertainty=Uncertainty(position_mm=2.0, angle_deg=0.0)),
        "pump",
        uncertainty=Uncertainty(position_mm=0.0),
    )
    assert given.uncertainty.says_anything and given.pulleys["pump"].uncertainty.says_anything
    assert astuple(deviations_of(given)) == (2.0, 0.2, 0.0)
    assert astuple(deviations_of(given, given.pulleys["guide"])) == (2.0, 0.2, 0.0)
    assert astuple(deviations_of(given, given.pulleys["pump"])) == (0.0, 0.2, 0.0)
