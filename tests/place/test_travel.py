"""The usable travel at many places against `travel_of` of each layout by itself, cut short or whole."""

from __future__ import annotations

import numpy as np
import pytest

from beltplan.drive import travel as drive_travel
from beltplan.drive.travel import circuit_of, travel_of, travel_round
from beltplan.geometry.vectors import Bools, Floats
from beltplan.place.judge import Moving, moving_of
from beltplan.place.study import STATES, judged_places
from tests.for_each import for_each
from tests.place.drives import DRIVES, moved_to, places_round, shipped

CUTTING = ("seven pulleys, beside the arm", "beside an arm, obstacles", "the driver", "V-belt on a slide")


def _mover(name: str) -> Moving:
    layout, pulley = DRIVES[name]
    return moving_of(layout, (pulley,), ())


def _sound(mover: Moving, places: Floats) -> Bools:
    return mover.at(places).sound_at(mover.circuit.nominal, frozenset(mover.moved))


@for_each(*CUTTING)
def test_the_same_travel_as_alone(name: str) -> None:
    mover = _mover(name)
    places = places_round(mover.layout, 800, 5)[:, None]
    places = places[_sound(mover, places)]
    travels = travel_round(mover.at(places), mover.circuit.nominal)
    # All that are cut, and some that are whole.
    cut = np.flatnonzero(~travels.whole)
    assert len(cut) > 3
    for i in (*cut[:20], *np.flatnonzero(travels.whole)[:8]):
        layout = moved_to(mover.layout, DRIVES[name][1], places[i, 0])
        alone = travel_of(circuit_of(layout))
        assert alone is not None and alone.whole == travels.whole[i] and alone.at_nominal
        low, high = sorted((alone.short, alone.long))
        span = abs(np.subtract(*mover.circuit.adjuster.travel)) if mover.circuit.adjuster else 1.0
        assert travels.low[i] == pytest.approx(low, abs=1e-8 * span)
        assert travels.high[i] == pytest.approx(high, abs=1e-8 * span)


def test_sampling_finely_everywhere_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Law: places taken on nine samples have the travel that 121 give."""
    mover = _mover("seven pulleys, beside the arm")
    places = places_round(mover.layout, 2500, 8)[:, None]
    places = places[_sound(mover, places)]
    few = travel_round(mover.at(places), mover.circuit.nominal)
    monkeypatch.setattr(drive_travel, "FEW", 121)
    many = travel_round(mover.at(places), mover.circuit.nominal)
    np.testing.assert_array_equal(few.whole, many.whole)
    np.testing.assert_allclose(few.low, many.low, atol=1e-8)
    np.testing.assert_allclose(few.high, many.high, atol=1e-8)
    assert len(places) > 300


def test_a_path_through_the_place_of_another_pulley_is_none() -> None:
    mover = _mover("seven pulleys, far from the arm")
    at = np.array([[shipped("railcar").pulleys["crank"].at_mm], [shipped("railcar").pulleys["alternator"].at_mm]])
    assert _sound(mover, at).tolist() == [False, True]


def test_what_stays_must_leave_a_path() -> None:
    layout, pulley = DRIVES["seven pulleys, far from the arm"]
    here = np.array([[layout.pulleys[pulley].at_mm]])
    # The guide put on top of the crankshaft: whatever the alternator does, two rims overlap.
    stuck = moved_to(layout, "guide", (0.0, 0.0))
    states = [STATES[judged_places(given, (pulley,), here).state[0]] for given in (layout, stuck)]
    assert states[0] != "no path" and states[1] == "no path"
