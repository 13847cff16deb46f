"""The batch of drawn layouts against the single engine: every draw is the layout that `check` judges."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from beltplan.drive.fit import setting_for, window_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Slide, Uncertainty
from beltplan.drive.route import NoBeltPath, route_of
from beltplan.drive.travel import Circuit, nearest_sound, travel_round
from tests.drive.drives import arm, railcar, with_pulley
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, drawn_of, shipped

DRAWS = 24


def marked() -> Layout:
    swing = railcar().pulleys["tensioner"].adjuster
    assert isinstance(swing, Arm)
    marks = (float(np.radians(270.0)), float(np.radians(296.0)))
    return with_pulley(railcar(), "tensioner", adjuster=replace(swing, marks_rad=marks))


CASES: dict[str, Callable[[], Layout]] = {
    "railcar": railcar,
    "marks": marked,
    "slide": DRIVES["slide"],
    "workboat": DRIVES["workboat"],
    "turns back": lambda: shipped("too_tight"),
    "past the turning point": lambda: with_pulley(
        railcar(), "tensioner", adjuster=arm((-150.0, 215.0), 85.0, (200.0, 330.0), at_rad=float(np.radians(285.0)))
    ),
}


def written(given: Layout, drawn: Circuit, k: int) -> Layout:
    """One draw as a layout of its own, in the direction of travel that is judged."""
    pulleys = {}
    for i, pulley in enumerate(drawn.pulleys):
        radius = float(drawn.radius[i, k]) - (given.belt.back_mm or 0.0) * pulley.on_back
        own = replace(pulley, diameter_mm=2.0 * radius, reading="line")
        if pulley.adjuster is None:
            own = replace(own, at_mm=(float(drawn.centre[i][k, 0]), float(drawn.centre[i][k, 1])))
        else:
            own = replace(own, adjuster=held(drawn, k, pulley.adjuster))
        pulleys[pulley.name] = own
    return replace(given, pulleys={**given.pulleys, **pulleys}, route=tuple(pulleys))


def held(drawn: Circuit, k: int, given: Arm | Slide) -> Arm | Slide:
    track = drawn.track
    assert track is not None
    x, y = map(float, track.origin[k])
    first, last = (float(np.broadcast_to(stop, drawn.shape)[k]) for stop in track.travel)
    at = float(track.nominal[k])
    if track.along is not None:
        x1, y1 = map(float, track.centre_at(np.asarray(track.travel[1]))[k])
        return Slide((x, y), (x1, y1), at / last)
    assert isinstance(given, Arm)
    marks = None if track.marks is None else (float(track.marks[0][k]), float(track.marks[1][k]))
    return Arm((x, y), float(track.lever[k]), (first, last), at, marks, given.spring)


@for_each(*CASES)
def test_every_draw_is_the_layout_that_check_judges(name: str) -> None:
    """Same needed length, window, marks, fitting slack and wraps as `route_of` on the draw written as a layout."""
    given = CASES[name]()
    route, drawn, _ = drawn_of(given, DRAWS)
    home, found = nearest_sound(drawn)
    assert found.all()
    travel = travel_round(drawn, home)
    window = window_of(given, drawn, travel)
    length = np.full(DRAWS, 0.5 * (window.shortest.mean() + window.longest.mean()))
    wraps = drawn.loop_at(setting_for(drawn, travel, window, length)).wrap
    for k in range(DRAWS):
        single = route_of(written(given, drawn, k))
        assert [p.name for p in single.pulleys] == [p.name for p in route.pulleys]
        assert single.travel is not None and single.window is not None
        own = single.window
        batch = [window.shortest, window.longest, window.short_end, window.long_end, window.fitting]
        wanted = [own.shortest, own.longest, own.short_end, own.long_end, own.fitting]
        assert [float(each[k]) for each in batch] == pytest.approx(wanted, abs=1e-5)
        assert window.last_over[k] == own.last_over
        if single.needed_mm is not None:
            assert float(drawn.base.length[k]) == pytest.approx(single.needed_mm, abs=1e-9)
        setting = setting_for(single.circuit, single.travel, own, length[k : k + 1])
        assert wraps[k] == pytest.approx(single.circuit.loop_at(float(setting[0])).wrap, abs=1e-6)
        assert bool(travel.whole[k]) == bool(single.travel.whole)
        assert bool(travel.turns_back[k]) == bool(single.travel.turns_back)


def test_draws_without_a_path_are_those_that_check_refuses() -> None:
    given = replace(railcar(), uncertainty=Uncertainty(position_mm=60.0))
    _, drawn, _ = drawn_of(given, 60)
    _, exists = nearest_sound(drawn)
    assert 5 < exists.sum() < 55
    for k in range(60):
        layout = written(given, drawn, k)
        try:
            # The other way round may be sound where the judged one is not.
            sound = [p.name for p in route_of(layout).pulleys] == [p.name for p in drawn.pulleys]
        except NoBeltPath:
            sound = False
        assert bool(exists[k]) == sound, k
