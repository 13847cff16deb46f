"""The study of a drive that shakes: where lines cross, what is tried, how far assumed inertias move it."""

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from beltplan.checks.every_check import SHAKEN
from beltplan.checks.plan import plan_of
from beltplan.checks.shaking import DRIVE_RESONANCE, TENSION_SWING
from beltplan.drive.forced import crank_swing_rad
from beltplan.drive.layout import CrankSwing
from beltplan.drive.mechanics import frequency_Hz
from beltplan.drive.pulleys import Arm
from beltplan.layoutfile.layout_file import read_layout
from beltplan.vibration.study import FLAPS, NEAR_PEAK, Vibration, spread_Hz, trials_of, vibration_of
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import ENGINE, operation, seven
from tests.for_each import for_each
from tests.shipped import FOLDER

CASES = Path(__file__).parents[1] / "cases"
CALM = replace(ENGINE, idle_rpm=600.0)


@lru_cache(maxsize=4)
def _shipped(name: str) -> Vibration:
    found = vibration_of(operation(read_layout(str(FOLDER / f"{name}.yaml")).layout))
    assert found is not None
    return found


def _seven(deg: float = 0.5, cylinders: int = 4) -> Vibration:
    """The same swing at every speed."""
    swing = CrankSwing((deg, deg), (600.0, 5500.0))
    found = vibration_of(operation(seven(engine=replace(CALM, swing_deg=swing, cylinders=cylinders))))
    assert found is not None
    return found


@for_each(("railcar", 50.1, 1002.0), ("workboat", 50.6, 1518.0))
def test_first_mode_of_the_demos_against_an_independent_model(name: str, hertz: float, rpm: float) -> None:
    """About 50 Hz at 1002 rpm, and 51 at 1518: another model of ours, frozen; some inertias assumed."""
    found = _shipped(name)
    first = float(found.held.frequency_Hz[0])
    assert first == pytest.approx(hertz, abs=0.1)
    assert found.met_at_rpm(first) == pytest.approx(rpm, abs=2.0)


def test_the_speeds_are_those_of_check_over_the_whole_range() -> None:
    found = _seven()
    assert found.rpm is found.operation.driver_rpm and found.rpm[[0, -1]].tolist() == [600.0, 5500.0]
    assert found.shaken is found.operation.shaken


def test_a_mode_is_met_inside_the_range_only() -> None:
    """Two firings a turn: 20 Hz at 600 rpm, 183.3 at 5500; their double at half of the speed."""
    found = _seven()
    assert [found.met_at_rpm(hertz) for hertz in (19.9, 20.0, 183.0)] == [None, 600.0, pytest.approx(5490.0)]
    assert found.met_at_rpm(200.0, 2) == pytest.approx(3000.0)


def test_spans_are_met_where_an_order_has_their_frequency() -> None:
    """Each crossing found again from the formula of a moving string, at that speed."""
    found = _shipped("camper")
    duty, mass, told = found.worst[0], found.operation.mechanics.mass_kg_per_m, 0
    state = found.operation.running
    orders = {"firing": 2.0, "twice the firing": 4.0}
    orders |= {f"turning of {p.name}": r for p, r in zip(found.route.pulleys, found.route.ratios.tolist(), strict=True)}
    for span in range(len(found.route.pulleys)):
        total = state.total_N[duty, :, span]
        for each in found.span_meetings(span):
            speed = each.rpm / 60.0 * 2.0 * np.pi * 0.0795
            tension, length = (
                np.asarray(np.interp(each.rpm, found.rpm, v)) for v in (total, state.loop.span[duty, :, span])
            )
            own = float(frequency_Hz(tension, mass, length, np.array(speed)))
            assert orders[each.by] * each.rpm / 60.0 == pytest.approx(own, rel=2e-3)
            told += 1
    assert told > 10


def test_a_span_flaps_where_the_firing_is_twice_its_own_and_pulls_hard_enough() -> None:
    """From a swing of 8 % of the mean: four times a damping of 2 %, common practice, no source."""
    hard, soft = _seven(1.0, 8), _seven(0.001, 8)
    flapping = [(i, each) for i in range(7) for each in hard.span_meetings(i) if each.by == FLAPS]
    assert flapping and not [each for i in range(7) for each in soft.span_meetings(i) if each.by == FLAPS]
    for span, each in flapping:
        assert 4.0 * each.rpm / 60.0 == pytest.approx(2.0 * each.hertz, rel=1e-3)
        share = hard.shaken.span_swing_N[0, :, span] / hard.shaken.mean_N[0, :, span]
        assert np.interp(each.rpm, hard.rpm, share) > 0.08


def test_range_round_a_peak() -> None:
    """As far as the swing is 0.71 of its peak: at both ends it just is, and beyond no more."""
    found = _shipped("railcar")
    low, high, *_ = next(each for each in found.keep_away if each[0] <= 1003.0 <= each[1])
    swing = found.shaken.span_swing_N.max(axis=(0, 2))
    ends = [int(np.flatnonzero(found.rpm == rpm)[0]) for rpm in (low, high)]
    assert low < 1003.0 < high
    assert (swing[ends[0] : ends[1] + 1] >= NEAR_PEAK * swing.max()).all()
    assert swing[ends[0] - 1] < NEAR_PEAK * swing.max() > swing[ends[1] + 1]


def test_a_meeting_between_two_speeds_far_apart_has_no_range() -> None:
    """At 327 rpm, more than a tenth from either speed that is looked at: there is no peak to look for."""
    found = _shipped("railcar")
    wide = replace(found, operation=replace(found.operation, driver_rpm=np.linspace(290.0, 8000.0, len(found.rpm))))
    assert np.abs(wide.rpm / 327.0 - 1.0).min() > 0.1
    hertz = 327.0 * found.firings / 60.0
    held = replace(found.held, frequency_Hz=np.full_like(found.held.frequency_Hz, hertz))
    assert 327.0 not in [low for low, *_ in replace(wide, held=held).keep_away]


@for_each("camper", "orchard_sprayer", "railcar")
def test_every_speed_that_falls_slack_is_to_be_kept_away_from(name: str) -> None:
    """Also where idle and the highest speed, or one between, is taken as slack, far from any mode."""
    found = _shipped(name)
    least = found.shaken.least_N.copy()
    least[0, [0, 70, -1], 0] = -1.0
    found = replace(found, shaken=replace(found.shaken, span_swing_N=found.shaken.mean_N - least))
    slack = found.rpm[(least <= 0.0).any(axis=(0, 2))]
    assert slack.size >= 3
    assert all(any(low <= rpm <= high for low, high, *_ in found.keep_away) for rpm in slack)
    told = {low: because for low, _, because, _ in found.keep_away}[found.rpm[0]]
    assert told.startswith("falls slack, ")
    assert all(high < low for (_, high, *_), (low, *_) in pairwise(found.keep_away))
    assert found.slack_at.endswith(f" and {found.rpm[-1]:.0f} rpm")


def test_slack_at_idle_names_the_mode_that_is_met_just_under_it() -> None:
    """f = n x firings / 60: the first mode at 0.97 of idle by the firing; at 0.8 of it none is near."""
    found = _shipped("railcar")
    idle, held = float(found.rpm[0]), found.held
    for share, told in ((0.97, f"firing meets mode 1 at {0.97 * idle:.0f}"), (0.8, "no mode met")):
        hertz = np.array([share * idle * found.firings / 60.0])
        assert replace(found, held=replace(held, frequency_Hz=hertz)).met_beside(idle, idle + 5.0) == told


def test_what_is_tried_does_what_it_says() -> None:
    """A stiffer belt and half the inertia raise the first mode; a stronger spring raises tension, not the mode."""
    found = _shipped("railcar")
    tried = trials_of(found)
    first = float(found.held.frequency_Hz[0])
    assert float(tried["a belt 1.5 times as stiff"].held.frequency_Hz[0]) > 1.1 * first
    assert "half the inertia at alternator" in tried
    lighter = vibration_of(operation(with_pulley(found.route.layout, "alternator", inertia_kgm2=0.002)))
    assert lighter is not None
    halved = tried["half the inertia at alternator"]
    np.testing.assert_allclose(halved.held.frequency_Hz, lighter.held.frequency_Hz)
    stronger = tried["a spring 1.3 times as strong"]
    assert float(stronger.held.frequency_Hz[0]) == pytest.approx(first, rel=0.01)
    assert stronger.shaken.mean_N.min() > found.shaken.mean_N.min()
    ((words, moved),) = [(words, each) for words, each in tried.items() if words.startswith("tensioner 30 mm")]
    own, there = (each.route.layout.pulleys["tensioner"].adjuster for each in (found, moved))
    assert own is not None and there is not None and own.kind == there.kind == "arm"
    assert np.hypot(*np.subtract(there.pivot_mm, own.pivot_mm)) == pytest.approx(30.0) and words.endswith(" 30 mm left")


def test_a_trial_says_what_check_has_against_it() -> None:
    """As `check` of the changed layout finds it; of the tensioner's ways one without a new problem, if there is one."""
    layout = read_layout(str(FOLDER / "workboat.yaml")).layout
    before = plan_of(layout).findings
    found = _shipped("workboat")
    for words, each in trials_of(found).items():
        own = [f for f in plan_of(each.route.layout).findings if f.severity != "note" and f.check not in SHAKEN]
        told = {f.issue for f in each.worse_than(found)}
        assert told == {f.issue for f in own} - {f.issue for f in before if f.severity != "note"}, words
    ((_, moved),) = [pair for pair in trials_of(found).items() if pair[0].startswith("tensioner 30 mm")]
    assert moved.worse_than(found) and not [f for f in moved.worse_than(found) if f.severity == "problem"]


def test_assumed_inertias_twice_and_half() -> None:
    """All but the spring's part: of all inertias twice, the first mode is down by root two, of half up by it."""
    low, high = spread_Hz(_seven()) or (0.0, 0.0)
    first = float(_seven().held.frequency_Hz[0])
    assert low == pytest.approx(first / np.sqrt(2.0)) and high == pytest.approx(first * np.sqrt(2.0))
    given = _seven().route.layout
    for name in given.route:
        given = with_pulley(given, name, inertia_kgm2=0.002)
    held = given.pulleys["tensioner"].adjuster
    assert isinstance(held, Arm)
    known = vibration_of(operation(with_pulley(given, "tensioner", adjuster=replace(held, inertia_kgm2=0.002))))
    assert known is not None and spread_Hz(known) is None


def test_the_worst_moment_is_where_the_least_tension_is_left() -> None:
    found = _shipped("camper")
    left = found.shaken.least_N / found.shaken.mean_N
    assert left[found.worst] == left.min() <= 0.0
    assert found.slack_at == "874 to 1244 rpm"  # frozen: as the tension of every span falls


@for_each(None, "low bracket", "high bracket", "inboard")
def test_check_and_vibration_tell_one_worst_moment(variant: str | None) -> None:
    """Of the same speeds, by the same share: not the span with least N, where another falls nearer to nothing."""
    run_of = operation(read_layout(str(CASES / "carrier.yaml"), variant).layout)
    found = vibration_of(run_of)
    (told,) = TENSION_SWING.of_operation(run_of)
    assert found is not None
    least, mean = (float(each[found.worst]) for each in (found.shaken.least_N, found.shaken.mean_N))
    assert told.subject == found.route.circuit.span_name(found.worst[-1])
    assert told.value == pytest.approx(least / mean)
    assert f"falls to {least:.0f} N of {mean:.0f} N" in told.wrong or least <= 0.0


@for_each(0.7, 0.93, 1.02, 1.2)
def test_an_idle_on_the_first_mode_is_tried_a_little_higher(share: float) -> None:
    """f = n x firings / 60. Told where it is within a tenth; there the firing is a tenth clear, and no faster than that
    to ten rpm; the crank swings at a speed as it did.
    """
    layout = read_layout(str(FOLDER / "railcar.yaml")).layout
    met = _shipped("railcar").firing_rpm(_shipped("railcar").first_Hz)
    beside = replace(layout, engine=replace(layout.engine, idle_rpm=met / share))
    found = vibration_of(operation(beside))
    assert found is not None
    tried = {words: each for words, each in trials_of(found).items() if words.startswith("idle at")}
    told = [each.wrong for each in DRIVE_RESONANCE.of_operation(found.operation) if each.severity != "note"]
    assert len(tried) == len(told) == (abs(share - 1.0) < 0.1)
    for words, each in tried.items():
        faster = each.rpm[0]
        assert 0.9 >= met / faster > 0.9 - 10.0 / faster
        assert words == f"idle at {faster:.0f} rpm, not {met / share:.0f}"
        assert told[0].endswith(f"; it is clear of it from {faster:.0f} rpm")
        assert not [f for f in DRIVE_RESONANCE.of_operation(each.operation) if f.wrong.startswith("idle")]
        swings = [crank_swing_rad(one.route.layout.engine, np.array(2.0 * met)) for one in (found, each)]
        assert swings[0].tolist() == pytest.approx(swings[1].tolist())


def test_slack_in_two_ranges_is_told_as_two() -> None:
    found = _shipped("orchard_sprayer")
    slack = (found.shaken.least_N <= 0.0).any(axis=(0, 2))
    assert np.count_nonzero(np.diff(slack.astype(int)) == 1) == 2 and found.slack_at.count(" to ") == 2
