"""What the engine's firing does to a drive: findings at either side of their limits, and what they rest on."""

from dataclasses import replace

import numpy as np
import pytest

from beltplan.checks.every_check import CHECKS, answers
from beltplan.checks.limits import Finding
from beltplan.checks.shaking import ARM_TRAVEL, DRIVE_RESONANCE, GIVE_THE_SWING, SWING_SLIP, TENSION_SWING, tension_left
from beltplan.drive.layout import CrankSwing, Engine, Layout
from beltplan.drive.modes import modes_of
from beltplan.drive.operation import Operation
from beltplan.drive.shaking import Shaken, drive_chain
from tests.drive.drives import with_belt, with_pulley
from tests.drive.loaded_drives import ENGINE, on_slide, operation, seven
from tests.for_each import for_each

KNOWN = with_pulley(seven(), "generator", inertia_kgm2=0.0035)


def _engine(**more: object) -> Engine:
    return replace(ENGINE, **{"idle_rpm": 600.0, **more})  # type: ignore[arg-type]


def _swung(deg: float, given: Layout = KNOWN) -> Operation:
    return operation(replace(given, engine=_engine(swing_deg=CrankSwing((deg,)))))


def _first_rpm() -> float:
    """Where two firings a turn meet the first mode."""
    run = operation(KNOWN)
    return 30.0 * float(modes_of(drive_chain(run.route, run.mechanics, run.stopped)).frequency_Hz[0])


@for_each("idle_rpm", "cruise_rpm")
@for_each(-0.101, -0.099, 0.099, 0.101)
def test_a_mode_near_idle_or_cruise(name: str, off: float) -> None:
    """10 % either way, common practice, no source: a caution inside, a note where the engine passes through."""
    speeds = {"idle_rpm": 300.0, "cruise_rpm": 3000.0, name: _first_rpm() / (1.0 + off)}
    found = DRIVE_RESONANCE.of_operation(operation(replace(KNOWN, engine=_engine(**speeds))))
    if abs(off) < 0.1:
        assert [f.severity for f in found] == ["caution"] and found[0].value == pytest.approx(100.0 * abs(off))
    else:
        # Under idle the engine never comes to it.
        assert [f.severity for f in found] == ([] if name == "idle_rpm" and off < 0.0 else ["note"])


@for_each(
    (0.2, 0.3, 0.5, []),
    (0.2, 0.3, 0.998, []),
    (0.2, 0.3, 1.002, ["note"]),
    (0.905, 5.0, 12.0, ["note"]),
    (1.15, 2.0, 3.0, []),
    (0.95, 1.05, 3.0, ["caution"]),
)
def test_a_mode_is_told_once_if_the_engine_comes_to_it(
    idle: float, cruise: float, most: float, told: list[str]
) -> None:
    """Speeds as shares of that at which it is met; the highest speed is only passed through."""
    met = _first_rpm()
    engine = _engine(idle_rpm=idle * met, cruise_rpm=cruise * met, max_rpm=most * met)
    assert _severities(DRIVE_RESONANCE.of_operation(operation(replace(KNOWN, engine=engine)))) == told


@for_each(50.0, 100.0, 150.0)
def test_the_idle_that_is_clear_of_a_mode_is_told_where_one_is(percent: float) -> None:
    """By hand: 1 - met / idle comes to 1 at no idle, so that none is clear of a mode by 100 % of its speed."""
    met = _first_rpm()
    limits = {"drive_resonance_percent": {"": percent}}
    layout = replace(KNOWN, engine=_engine(idle_rpm=met, cruise_rpm=None), limits=limits)
    (found,) = DRIVE_RESONANCE.of_operation(operation(layout))
    assert found.severity == "caution"
    told = f"; it is clear of it from {10.0 * np.ceil(2.0 * met / 10.0):.0f} rpm"
    assert found.wrong.endswith(told if percent == 50.0 else " Hz")


def _deg_for(share: float, given: Layout = KNOWN) -> float:
    """The swing at which the least tension is that share of its mean, by halving."""
    low, high = 0.0, 8.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        shaken = _swung(middle, given).shaken
        assert shaken is not None
        low, high = (middle, high) if (shaken.least_N / shaken.mean_N).min() > share else (low, middle)
    return low


@for_each((0.049, "problem"), (0.051, "caution"), (0.149, "caution"), (0.151, None))
def test_tension_that_falls_near_nothing(share: float, severity: str | None) -> None:
    """A problem under 5 % of the mean, a caution under 15 %: common practice, no source."""
    found = TENSION_SWING.of_operation(_swung(_deg_for(share)))
    assert [f.severity for f in found] == ([severity] if severity else [])
    assert all(f.value == pytest.approx(share, abs=1e-6) for f in found)


def _severities(found: list[Finding]) -> list[str]:
    return [finding.severity for finding in found]


def test_what_is_assumed_weighs_less() -> None:
    """All inertias assumed: a caution at most. The swing assumed: a note, that names what it rests on."""
    given = _swung(4.0)
    assert _severities(TENSION_SWING.of_operation(given)) == ["problem"]
    assert _severities(TENSION_SWING.of_operation(_swung(4.0, seven()))) == ["caution"]
    (note,) = TENSION_SWING.of_operation(operation(replace(KNOWN, engine=_engine(cylinders=3, idle_rpm=1300.0))))
    assert note.severity == "note" and "1.8 deg either way at idle" in note.wrong and note.advice == GIVE_THE_SWING


@for_each(
    ({}, "", []),
    ({2: 0.5}, "falls to 0 N of 100 N as", [2]),
    ({2: 0.0}, "falls slack as", [2]),
    ({2: -1.0, 3: 0.0, 4: 4.0}, "(and 1 more span)", [2, 3]),
    ({0: -1.0, 1: -2.0, 4: 4.0, 6: 0.0}, "(and 2 more spans)", [1, 0, 6]),
    ({5: 4.0, 6: 14.0, 0: 16.0}, "(and 1 more span)", [5, 6]),
)
def test_the_span_that_keeps_least_is_told_with_others_alike(
    least: dict[int, float], told: str, spans: list[int]
) -> None:
    """Of 100 N in each; where one falls slack only slack ones are counted. 15 % is a caution, common practice."""
    run = _swung(0.3)
    assert run.shaken is not None
    mean = np.full_like(run.shaken.mean_N, 100.0)
    left = 0.5 * mean
    for span, value in least.items():
        left[-1, -1, span] = value
    found = TENSION_SWING.of_operation(_shaken_so(run, replace(run.shaken, mean_N=mean, span_swing_N=mean - left)))
    assert [part for each in found for part in each.parts] == [run.route.circuit.span_name(span) for span in spans]
    assert all(told in each.wrong and ("more" in told) == ("more" in each.wrong) for each in found)


def _shaken_so(run: Operation, shaken: Shaken) -> Operation:
    other = replace(run)
    vars(other)["shaken"] = shaken
    return other


def test_a_slack_span_is_told_in_short_also_where_the_swing_is_assumed() -> None:
    """Nothing of its tension is left: the whole limit is missed. One that keeps some is a note among others."""
    calm = replace(KNOWN, limits={"min_swung_tension": {"": 0.99}}, engine=_engine(cylinders=6))
    slack = replace(KNOWN, engine=_engine(cylinders=3, idle_rpm=1300.0))
    for given, told in ((slack, True), (calm, False)):
        (note,) = TENSION_SWING.of_operation(operation(given))
        assert (note.severity, note.misses_all, "falls slack" in note.wrong) == ("note", told, told)


def test_a_pulley_that_slips_for_a_moment() -> None:
    """Of a belt with little grip; in steady running it holds."""
    poor = with_belt(KNOWN, friction=replace(KNOWN.belt.friction, dry=0.45, wet=0.4))
    (found,) = SWING_SLIP.of_operation(_swung(0.3, poor))
    run = _swung(0.3, poor)
    names = [pulley.name for pulley in run.route.pulleys]
    assert run.shaken is not None and found.value is not None
    index = names.index(found.subject)
    assert run.utilisation[:2, :, :, index].max() < 1.0 < found.value
    assert found.value == pytest.approx(float(run.shaken.grip_needed[..., index].max()) / 0.45, rel=0.2)
    duty, speed = np.unravel_index(int(run.shaken.grip_needed[..., index].argmax()), run.shaken.grip_needed.shape[:2])
    assert f"({run.utilisation[0, duty, speed, index]:.2f} in steady running)" in found.wrong
    assert SWING_SLIP.of_operation(_swung(0.0, poor)) == []


@for_each((0.99, True), (1.01, False))
def test_what_slips_steadily_is_not_told_as_slipping_for_a_moment(steadily: float, told: bool) -> None:
    """1 is slip (Euler); all others slip steadily."""
    poor = with_belt(KNOWN, friction=replace(KNOWN.belt.friction, dry=0.45, wet=0.4))
    run = _swung(0.3, poor)
    (found,) = SWING_SLIP.of_operation(run)
    index = [pulley.name for pulley in run.route.pulleys].index(found.subject)
    steady = np.full_like(run.utilisation, 2.0)
    steady[..., index] = steadily
    other = replace(run)
    vars(other)["utilisation"] = steady
    now = SWING_SLIP.of_operation(other)
    assert [each.subject for each in now] == [found.subject] * told


@for_each((0.39, None), (0.41, "caution"), (0.44, "caution"), (0.46, "problem"))
def test_slip_for_a_moment_weighs_less_when_only_wet(grip: float, severity: str | None) -> None:
    """Of a grip of 0.45 dry and 0.40 wet (Euler: 1 of it is slip), at one speed. One that slips steadily at any speed
    is told elsewhere.
    """
    poor = with_belt(KNOWN, friction=replace(KNOWN.belt.friction, dry=0.45, wet=0.4))
    run = _swung(0.3, poor)
    assert run.shaken is not None
    need = np.full_like(run.shaken.grip_needed, 0.02)
    need[0, 1, 2] = grip
    other, steady = _shaken_so(run, replace(run.shaken, grip_needed=need)), np.full_like(run.utilisation, 0.5)
    vars(other)["utilisation"] = steady
    found = SWING_SLIP.of_operation(other)
    assert _severities(found) == ([severity] if severity else [])
    assert [each.subject for each in found] == [run.route.pulleys[2].name] * len(found)
    steady[:, 0, 0, 2] = 1.01
    assert SWING_SLIP.of_operation(other) == []


def test_a_span_that_falls_slack_is_told_instead_of_slip() -> None:
    run = _swung(6.0)
    assert SWING_SLIP.of_operation(run) == [] and "falls slack" in TENSION_SWING.of_operation(run)[0].wrong


@for_each((0.89, None), (0.95, "caution"), (1.05, "problem"))
def test_an_arm_that_swings_into_its_stop(share: float, severity: str | None) -> None:
    """Its swing against the way that is left: the lower stop is put there."""
    run = _swung(1.0)
    assert run.shaken is not None and run.shaken.adjuster is not None
    swing, setting, travel = run.shaken.adjuster, run.running.setting, run.route.travel
    assert travel is not None
    widest = np.unravel_index(int(swing.argmax()), swing.shape)
    low = setting[widest] - swing[widest] / share
    assert travel.low < low
    nearer = replace(run, route=replace(run.route, travel=replace(travel, low=low)))
    found = ARM_TRAVEL.of_operation(nearer)
    assert [f.severity for f in found if f.severity != "note"] == ([severity] if severity else [])


def test_without_cylinders_nothing_is_told() -> None:
    run = operation(replace(KNOWN, engine=replace(ENGINE, cylinders=None)))
    checks = (DRIVE_RESONANCE, TENSION_SWING, SWING_SLIP, ARM_TRAVEL)
    assert [finding for check in checks for finding in check.of_operation(run)] == []


def test_what_is_left_of_a_tension_is_a_share_of_its_mean() -> None:
    """By hand; one that hangs slack as it runs has nothing to lose, and next to none counts as 1 N."""
    shaken = operation(KNOWN).shaken
    assert shaken is not None
    mean, least = np.array([200.0, 200.0, 0.5, 0.0, -5.0]), np.array([50.0, -20.0, 0.25, -3.0, -9.0])
    assert tension_left(replace(shaken, mean_N=mean, span_swing_N=mean - least)).tolist() == [
        0.25,
        -0.1,
        0.25,
        1.0,
        1.0,
    ]


def test_a_locked_drive_has_no_arm_to_swing() -> None:
    assert ARM_TRAVEL.of_operation(_swung(1.0, on_slide(tension_N=500.0))) == []


@for_each(None, CrankSwing((1.5,)))
def test_what_has_nothing_but_notes_to_say_need_not_be_asked(swing: CrankSwing | None) -> None:
    """On an assumed swing; on a given one every check is."""
    run = operation(replace(KNOWN, engine=_engine(swing_deg=swing)))

    def told(notes: bool) -> list[tuple[str, str, str]]:
        every = [each for found in answers(run.route, lambda: run, notes) for each in found]
        return [(each.check, each.severity, each.wrong) for each in every]

    serious = [each for each in told(True) if each[1] != "note"]
    assert [each for each in told(False) if each[1] != "note"] == serious
    assert len(told(False)) == len(told(True)) if swing else len(told(False)) < len(told(True))
    by_swing = {check.name for check in CHECKS if check.by_swing}
    assert bool(by_swing & {name for name, *_ in serious}) == bool(swing)


def test_the_arm_is_told_where_it_comes_nearest_to_its_stop_not_where_it_swings_most() -> None:
    """4 deg of 10 deg to its stop, and 2.9 deg of 3 deg."""
    run = _swung(1.0)
    assert run.shaken is not None and run.shaken.adjuster is not None and run.route.travel is not None
    low, middle = run.route.travel.low, 0.5 * (run.route.travel.low + run.route.travel.high)
    swing = np.full_like(run.shaken.adjuster, np.radians(0.1))
    setting = np.full_like(run.running.setting, middle)
    swing[0, 3], setting[0, 3] = np.radians(4.0), low + np.radians(10.0)
    swing[0, 7], setting[0, 7] = np.radians(2.9), low + np.radians(3.0)
    other = replace(run, running=replace(run.running, setting=setting))
    (found,) = ARM_TRAVEL.of_operation(_shaken_so(other, replace(run.shaken, adjuster=swing)))
    assert f"swings 2.9 deg either way at {run.driver_rpm[7]:.0f} rpm" in found.wrong
    assert "with 3.0 deg to its stop" in found.wrong
