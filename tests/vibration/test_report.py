"""What is told of a drive that shakes, against the arrays of the study, and words by hand."""

import json
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from beltplan.geometry.vectors import Bools, Floats
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import Screen, shown
from beltplan.vibration.report import moves, vibration_json, vibration_report
from beltplan.vibration.study import Vibration, trials_of, vibration_of
from tests.drive.loaded_drives import operation
from tests.for_each import for_each
from tests.shipped import FOLDER


@cache
def _found(name: str) -> Vibration:
    found = vibration_of(operation(read_layout(str(FOLDER / f"{name}.yaml")).layout))
    assert found is not None
    return found


def _told(found: Vibration, full: bool = False) -> str:
    return shown(vibration_report(found, {}, full), Screen(400))


@for_each(
    ({1: 0.5}, "{1}"),
    ({1: 0.5, 2: 0.3}, "{1}, {2} together"),
    ({1: 0.3, 2: 0.5}, "{2}, {1} together"),
    ({1: -0.5, 2: -0.3}, "{1}, {2} together"),
    ({1: 0.5, 2: -0.3}, "{1} against {2}"),
    ({1: -0.5, 2: 0.3, 3: -0.15}, "{1}, {3} against {2}"),
    ({1: 0.5, 2: 0.101, 3: 0.099}, "{1}, {2} together"),
    ({1: 0.5, -1: 0.4}, "{1}, with arm of {arm}"),
    ({1: 0.3, 2: -0.2, -1: 0.4}, "{1} against {2}, with arm of {arm}"),
    ({1: 0.3, 2: 0.2, -1: -0.4}, "{1}, {2}, with arm of {arm}"),
    ({-1: 0.9, 1: 0.05}, "arm of {arm}"),
)
def test_what_moves_in_a_mode_by_its_share_of_the_energy(energy: dict[int, float], words: str) -> None:
    """A tenth or more, those that move most first; a negative share turns against. -1 is the arm, told apart."""
    found = _found("railcar")
    assert found.route.moving is not None
    share, shape = np.zeros_like(found.held.energy), np.zeros_like(found.held.shape)
    for i, own in energy.items():
        share[i, 1], shape[i, 1] = abs(own), np.sign(own)
    modes = replace(found.held, energy=share, shape=shape)
    names = [pulley.name for pulley in found.route.pulleys]
    assert moves(found, modes, 1) == words.format(*names, arm=found.route.moving.name)
    assert moves(found, replace(modes, crank_free=True), 1) == moves(found, modes, 1)
    assert moves(found, replace(modes, crank_free=True), 0) == "all as one"


@for_each((0.99, "between cruise and maximum"), (1.01, "between idle and cruise"), (None, "between idle and maximum"))
def test_where_in_its_range_the_engine_meets_the_first_mode(cruise: float | None, words: str) -> None:
    """60 f / (cylinders / 2) in rpm; under it or over it the range of the engine is told."""
    found = _found("railcar")
    met = 60.0 * float(found.held.frequency_Hz[0]) / (6 / 2.0)
    told = _told(_at_speeds(found, found.rpm, None if cruise is None else cruise * met))
    assert f"the firing meets it at {met:.0f} rpm, {words}" in told
    for rpm in (found.rpm + met, found.rpm * (0.9 * met / found.rpm[-1])):
        outside = f"the firing meets it at {met:.0f} rpm, outside the {rpm[0]:.0f} to {rpm[-1]:.0f} rpm of the engine"
        assert outside in _told(_at_speeds(found, rpm, None))


def _at_speeds(found: Vibration, rpm: Floats, cruise_rpm: float | None) -> Vibration:
    """The same state, told of other speeds."""
    route = found.route
    engine = replace(route.layout.engine, cruise_rpm=cruise_rpm)
    other = replace(found.operation, driver_rpm=rpm, route=replace(route, layout=replace(route.layout, engine=engine)))
    vars(other)["shaken"] = found.operation.shaken
    return replace(found, operation=other)


@for_each("railcar", "camper")
def test_json_tells_the_arrays_of_the_study(name: str) -> None:
    """A shape is told in degrees where the pulley that turns most turns one; the arm by the same measure."""
    found = _found(name)
    told = json.loads(vibration_json(found, {"as it is": found}))
    names, k = [pulley.name for pulley in found.route.pulleys], len(found.route.pulleys)
    for modes, rows in ((found.held, told["modes"][: found.held.frequency_Hz.size]),
                        (found.free, told["modes"][found.held.frequency_Hz.size :])):  # fmt: skip
        assert len(rows) == modes.frequency_Hz.size
        for number, row in enumerate(rows):
            shape = modes.shape[:, number]
            one = np.abs(shape[:k]).max()
            assert list(row["shape"].values()) == pytest.approx((shape[:k] / one).tolist(), rel=1e-6, abs=1e-6)
            assert row["arm_deg"] == pytest.approx(shape[k] / one, abs=1e-6) and list(row["shape"]) == names
            own = row["frequency_Hz"]
            met = [60.0 * own / (each * found.firings) for each in (1, 2)]
            inside = [rpm for rpm in met if found.rpm[0] <= rpm <= found.rpm[-1]]
            assert row["met_at_rpm"] == pytest.approx(inside, rel=1e-6)
    (trial,) = told["trials"]
    assert trial["tension_swing_N"] == pytest.approx(found.shaken.span_swing_N.max(), rel=1e-6)
    assert trial["least_tension_N"] == pytest.approx(found.shaken.least_N[found.worst], rel=1e-6)
    assert trial["frequency_Hz"] == told["modes"][0]["frequency_Hz"]
    for at in (0, 77, -1):
        row = told["forced"][at]
        duty, speed = found.operation.duties.index(row["duty"]), int(np.abs(found.rpm - row["rpm"]).argmin())
        assert row["tension_swing_N"] == pytest.approx(found.shaken.span_swing_N[duty, speed].max(), rel=1e-6)
        assert row["least_tension_N"] == pytest.approx(found.shaken.least_N[duty, speed].min(), abs=1e-6)
        swing = np.degrees(found.shaken.swing[duty, speed])
        assert list(row["swing_deg"].values()) == pytest.approx(swing.tolist(), abs=1e-6)
        grip = float(found.grip(row["condition"])[duty, speed].max())
        assert row["grip_utilisation"] == (pytest.approx(grip, rel=1e-6) if np.isfinite(grip) else None)


def test_speeds_to_keep_away_from_are_those_where_a_tension_swings_by_15_percent() -> None:
    """Each row read back: its swing, mean and least are those at that speed in the duty that leaves least."""
    found, seen = _found("camper"), 0
    wide: Bools = np.any(found.shaken.span_swing_N >= 0.15 * found.shaken.mean_N, axis=(0, 2))
    wanted = [rpm for *_, rpm in found.meetings() if wide[np.abs(found.rpm - rpm).argmin()]]
    names = [found.route.circuit.span_name(i) for i in range(len(found.route.pulleys))]
    table = _told(found).partition("KEEP AWAY FROM")[2].partition("swing: how far")[0].splitlines()
    at = list[tuple[float, float]]()
    for line in table[2:]:
        cells = [cell.strip() for cell in line.split("  ") if cell.strip()]
        if len(cells) != 6:
            continue
        low, _, high = cells[0].partition(" to ")
        at.append((float(low), float(high or low)))
        assert ("flaps" in cells[1]) or any(at[-1][0] - 0.6 <= rpm <= at[-1][1] + 0.6 for rpm in wanted)
        if high:
            continue
        speed, span = int(np.abs(found.rpm - float(low)).argmin()), names.index(cells[2])
        left = found.shaken.least_N[:, speed] / found.shaken.mean_N[:, speed]
        duty, least = int(left.min(axis=1).argmin()), float(found.shaken.least_N[:, speed].flat[left.argmin()])
        assert left[duty, span] == left.min()
        assert [float(cell) for cell in cells[3:5]] == pytest.approx(
            [found.shaken.span_swing_N[duty, speed, span], found.shaken.mean_N[duty, speed, span]], abs=0.6
        )
        assert cells[5] == ("slack" if least <= 0.0 else f"{least:.0f}")
        seen += 1
    assert seen > 0 and len(at) == len(set(at)) and at == sorted(at)
    assert wanted and all(any(low - 0.6 <= rpm <= high + 0.6 for low, high in at) for rpm in wanted)


def test_what_is_left_of_the_tension_is_told_where_any_is_left() -> None:
    found = {name: _found(name) for name in ("railcar", "camper", "workboat")}
    assert {bool(each.shaken.least_N[each.worst] > 0.0) for each in found.values()} == {True, False}
    for each in found.values():
        least = float(each.shaken.least_N[each.worst])
        told = _told(each).partition("WORST")[2].splitlines()[0]
        assert (f": {least:.0f} N" in told and "is left at its lowest" in told) == (least > 0.0), told
        assert ("falls slack" in told) == (least <= 0.0)


@for_each("railcar", "../tests/cases/carrier")
def test_at_the_worst_moment_the_pulley_is_told_that_uses_most_grip_then(name: str) -> None:
    """Of the carrier it is the alternator, which `check` finds to slip as the engine fires; never the driver alone."""
    found = _found(name)
    duty, speed, _ = found.worst
    told = re.search(r"For that moment (\S+) uses ([\d.]+) of its wet grip", _told(found))
    grips = dict(zip([p.name for p in found.route.pulleys], found.grip("wet")[duty, speed].tolist(), strict=True))
    assert told is not None and float(told[2]) == pytest.approx(max(grips.values()), abs=0.0051)
    assert told[1] == max(grips, key=lambda each: grips[each]) == ("crank" if name == "railcar" else "alternator")


def test_a_worst_speed_that_is_none_to_keep_away_from_says_why() -> None:
    """Where it lies in none of the ranges of the table, by more than a step of the speeds; any speed taken."""
    said = set[bool]()
    for speed in range(0, len(_found("camper").rpm), 10):
        found = replace(_found("camper"))
        found.__dict__["worst"] = (found.worst[0], speed, found.worst[2])
        told, step = _told(found), float(found.rpm[1] - found.rpm[0])
        table = told.partition("KEEP AWAY FROM")[2].partition("swing: how far")[0]
        ranges = [(float(low), float(high or low)) for low, high in re.findall(r"(?m)^ *(\d+)(?: to (\d+))?  ", table)]
        near = any(low - step - 0.5 <= found.rpm[speed] <= high + step + 0.5 for low, high in ranges)
        worst = float(found.rpm[speed])
        words = f"WORST, at {worst:.0f} rpm, is none of these: {found.met_beside(worst, worst)}"
        assert ranges and (words in " ".join(told.split())) != near
        said.add(near)
    assert said == {True, False}


@for_each((1.0, False), (0.45, True), (0.3, False))
def test_a_range_that_goes_on_past_what_falls_slack_says_why(scale: float, said: bool) -> None:
    """Half the swing is slack only near its peak, and 0.7 of it goes on to both sides; less leaves nothing slack."""
    found = _found("camper")
    found = replace(found, shaken=replace(found.shaken, span_swing_N=scale * found.shaken.span_swing_N))
    told = " ".join(_told(found).split())
    assert ("a range: swing at least 0.7 of its peak, or slack" in told) == said
    assert bool(found.slack_at) == (scale > 0.4)


def test_a_trial_that_check_has_something_against_is_named_under_the_table() -> None:
    found = _found("workboat")
    trials = trials_of(found)
    told = " ".join(shown(vibration_report(found, trials), Screen(400)).split())
    (words,) = [words for words in trials if words.startswith("tensioner 30 mm")]
    assert "`check` then finds more against it: tensioner 1.18 in left, 2 cautions" in told and words.endswith("left")
    (told,) = [each for each in json.loads(vibration_json(found, trials))["trials"] if each["change"] == words]
    assert [each["severity"] for each in told["new_findings"]] == ["caution"] * 2
