"""`beltplan vibration`: its screen, its JSON, its picture."""

import json
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson

from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY
from beltplan.vibration.picture import chart_of
from beltplan.vibration.report import vibration_report
from beltplan.vibration.study import vibration_of
from tests.cli.running import Runner
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import operation
from tests.for_each import for_each
from tests.shipped import FOLDER, SHIPPED_LAYOUTS

RAILCAR = FOLDER / "railcar.yaml"


def test_the_answer_comes_first(run: Runner) -> None:
    ran = run("vibration", RAILCAR)
    assert (ran.code, ran.err) == (0, "")
    told = " ".join(ran.out.split())
    assert "FIRST MODE 50 Hz (alternator, compressor, crane_pump, water_pump together): the firing meets it at" in told
    assert re.search(r"WORST at \d+ rpm, duty 'on the road', the tension of guide to crank swings \d+ N below", told)
    assert ran.out.index("KEEP AWAY FROM") < ran.out.index("MODES") < ran.out.index("what would move it")
    assert ran.out.index("what would move it") < ran.out.index("ASSUMED") < ran.out.index("SAFETY")


def test_a_grip_is_no_verdict_where_the_swing_of_the_crank_is_assumed(run: Runner, here: Path) -> None:
    """What `check` finds no problem must not read as one: the railcar tells no swing, and here it is measured."""
    Path("swung.yaml").write_text(RAILCAR.read_text().replace("cylinders: 6", "cylinders: 6, swing_deg: 0.44"))
    assumed, measured = (" ".join(run("vibration", file).out.split()) for file in (RAILCAR, "swung.yaml"))
    worth = "TRUE IF the crank swings 0.44 deg either way at idle, which is only assumed (b): before you believe it"
    assert worth in assumed and "TRUE IF" not in measured
    assert all("of its wet grip (1 slips; 0.39 in steady running)" in told for told in (assumed, measured))


def test_how_the_swing_of_a_crank_is_learnt_from_the_speed_of_its_teeth(run: Runner) -> None:
    """The angle is the integral of the speed; here by scipy, of an engine that fires twice a turn at 750 rpm."""
    assert "57.3 x (highest - lowest) / (highest + lowest) / firings a turn" in " ".join(
        run("words", "swing_deg").out.split()
    )
    turns = np.linspace(0.0, 1.0, 2001)
    rpm = 750.0 * (1.0 + 0.03 * np.cos(2.0 * np.pi * 2.0 * turns))
    angle_deg = 360.0 * cumulative_simpson(rpm / 750.0, x=turns, initial=0.0) - 360.0 * turns
    told = 57.3 * (rpm.max() - rpm.min()) / (rpm.max() + rpm.min()) / 2.0
    assert np.abs(angle_deg).max() == pytest.approx(told, rel=1e-3)


def test_what_even_firing_leaves_out_is_told(run: Runner, tmp_path: Path) -> None:
    """Unit pulses over the two turns of a four-stroke, by numpy's FFT: of two cylinders every second harmonic, but
    270 deg apart the first, second and third; at n rpm the k-th is k n / 120 Hz.
    """
    (one := tmp_path / "one.yaml").write_text(RAILCAR.read_text().replace("cylinders: 6", "cylinders: 1"))
    told = "even firing: else, as in most V-twins, a mode is met at 120 x its Hz / 1, 2, 3 ... rpm too"
    assert told in run("vibration", RAILCAR).out and "even firing" not in run("vibration", one).out
    even, uneven = (np.abs(np.fft.rfft(np.isin(np.arange(720), fired)))[1:5] for fired in ([0, 360], [0, 270]))
    assert even == pytest.approx([0.0, 2.0, 0.0, 2.0]) and uneven == pytest.approx([0.765, 1.414, 1.848, 0.0], abs=1e-3)


def test_full_tells_free_modes_and_spans(run: Runner) -> None:
    short, full = (run("vibration", RAILCAR, *more).out for more in ((), ("--full",)))
    assert "all as one" in full and "SPANS" in full and "do not let the engine dwell" in " ".join(full.split())
    assert "all as one" not in short and "SPANS" not in short and "more: --full" in short


def test_a_tensioner_is_moved_in_the_units_of_the_file(run: Runner) -> None:
    told = run("vibration", FOLDER / "workboat.yaml").out
    assert re.search(r"1\.18 in (left|right|up|down)", told) and "30 mm" not in told  # 30 mm / 25.4, ISO 80000-3


@for_each(*SHIPPED_LAYOUTS, ids=lambda path: path.stem)
def test_every_layout_has_an_answer_within_the_width(run: Runner, path: Path) -> None:
    ran = run("vibration", path)
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 100
    assert not re.search(r"\b(nan|inf|None)\b", ran.out)


def test_ranges_that_overlap_are_told_as_one_and_the_chart_reaches_all_that_is_met(run: Runner) -> None:
    """Twice the firing meets a second mode on the flank of the first one's peak: one row with both reasons."""
    file = RAILCAR.with_name("orchard_sprayer.yaml")
    table = run("vibration", file).out.partition("KEEP AWAY FROM")[2].partition("swing: ")[0]
    rows = re.findall(r"(?m)^ *(\d+)(?: to (\d+))?  (.*)$", table)
    assert len(rows) == 2 and all(int(one[1] or one[0]) < int(other[0]) for one, other in pairwise(rows))
    assert "firing, mode 1; twice the firing, mode 2" in rows[1][2]
    found = vibration_of(operation(read_layout(str(file)).layout))
    assert found is not None
    met = [hertz for hertz in found.held.frequency_Hz.tolist() if found.met_at_rpm(hertz, 2) is not None]
    upper, _ = chart_of(found, "").axes
    assert max(met) > found.firings * found.rpm[-1] / 60.0 * 1.15 and upper.get_ylim()[1] > max(met)
    assert {f"{found.met_at_rpm(hertz, 2):.0f}" for hertz in met} <= {text.get_text() for text in upper.texts}


def test_json_holds_modes_and_every_state(run: Runner) -> None:
    told = json.loads(run("vibration", RAILCAR, "--json").out, parse_constant=pytest.fail)
    assert (told["units"], told["not_judged"], told["caution"]) == ("mm", None, SAFETY)
    assert [mode["crank"] for mode in told["modes"]] == ["fixed"] * 7 + ["free"] * 8
    first = told["modes"][0]
    # Frozen from our own answer (modes are held against scipy in `tests/drive`); six cylinders fire three times a turn.
    assert first["frequency_Hz"] == pytest.approx(50.1, abs=0.1)
    assert first["met_at_rpm"] == pytest.approx([first["frequency_Hz"] * 60.0 / 3.0])
    assert max(map(abs, first["shape"].values())) == pytest.approx(1.0) and first["shape"]["crank"] == 0.0
    assert any(each["low_rpm"] <= first["met_at_rpm"][0] <= each["high_rpm"] for each in told["keep_away"])
    assert len(told["forced"]) == 102 * 2 * 3  # 101 speeds and cruise
    assert set(told["forced"][0]) == {
        *("rpm", "duty", "condition", "swing_deg", "arm_deg", "tension_swing_N", "least_tension_N", "grip_utilisation")
    }
    assert [span["from"] for span in told["spans"]] == list(told["forced"][0]["swing_deg"])
    assert {"name": "crank", "value": 0.2} in told["assumed_inertias"]
    assert [finding["check"] for finding in told["findings"]] == ["drive_resonance"]
    assert set(told["trials"][0]) == {
        *("change", "frequency_Hz", "met_at_rpm", "tension_swing_N", "least_tension_N", "new_findings")
    }


def test_what_is_lacking_is_told(run: Runner, tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    file.write_text(RAILCAR.read_text().replace("cylinders: 6, ", ""))
    ran = run("vibration", file)
    assert (ran.code, ran.err) == (0, "") and "NOT JUDGED  give engine.cylinders" in ran.out
    drawn = run("vibration", file, "--picture", tmp_path / "own.png")
    assert drawn.out.splitlines()[-1] == "--picture: not drawn: give engine.cylinders"
    assert not (tmp_path / "own.png").exists()
    listed = run("vibration", file, "--json", "--picture", tmp_path / "own.png")
    assert listed.err == "--picture: not drawn: give engine.cylinders\n" and json.loads(listed.out)["modes"] is None
    told = json.loads(run("vibration", file, "--json").out)
    assert told["not_judged"] == "give engine.cylinders" and told["modes"] is None and told["forced"] is None


@for_each(("AV13", ("stiffness_N", "engine.cylinders")), ("6PJ", ("mass_kg_per_m", "stiffness_N", "engine.cylinders")))
def test_all_that_is_lacking_is_told_at_once(run: Runner, belt: str, lacking: tuple[str, ...]) -> None:
    """Of a belt that is set by hand: what its tension goes by, and what its shaking goes by."""
    text = (FOLDER / "orchard_sprayer.yaml").read_text().replace(", cylinders: 3", "")
    head, _, rest = text.partition("belt:\n")
    Path("own.yaml").write_text(f"{head}belt: {belt}\nengine:{rest.partition('engine:')[2]}")
    told = " ".join(run("vibration", "own.yaml").out.split()).partition("SAFETY")[0]
    asked = [told.find(f"give {key}") for key in lacking]
    assert -1 not in asked and asked == sorted(asked) and told.count("give ") == len(lacking)
    short = " ".join(run("check", "own.yaml").out.split())
    line = "shaking not judged: give stiffness_N under `belt` (see `beltplan words stiffness_N`); give engine.cylinders"
    assert (line in short) == (belt == "AV13")  # of the other not even slip is


def test_a_known_swing_that_slackens_the_belt_is_a_problem(run: Runner, tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    file.write_text(RAILCAR.read_text().replace("cylinders: 6", "cylinders: 6, swing_deg: 2"))
    ran = run("vibration", file)
    assert ran.code == 1 and re.search(r"problem\s+guide to crank: falls slack", ran.out)
    assert re.search(r"^FALLS SLACK .*guide to crank.* as the\s+engine fires at \d+ to \d+ rpm", ran.out, re.M | re.S)


def test_an_assumed_swing_that_slackens_the_belt_is_told_by_check_and_on_top(run: Runner, tmp_path: Path) -> None:
    """Idling just under the speed at which the firing meets the first mode."""
    file = tmp_path / "own.yaml"
    file.write_text(RAILCAR.read_text().replace("idle_rpm: 700", "idle_rpm: 950"))
    ran, checked = run("vibration", file), run("check", file)
    assert "FALLS SLACK " in ran.out.split("FIRST MODE")[0] and "only assumed" in ran.out
    assert "with --full: slack as the engine fires (assumed)\n" in checked.out
    assert re.search(
        r"note +guide to crank: falls slack .*as the engine fires.*, if\s+the", run("check", file, "--full").out, re.S
    )


def test_picture_is_the_same_each_time(run: Runner, tmp_path: Path) -> None:
    first, second = (tmp_path / f"{name}.svg" for name in "ab")
    for path in (first, second):
        assert run("vibration", RAILCAR, "--picture", path).code == 0
    assert first.read_bytes() == second.read_bytes() and len(first.read_bytes()) > 10_000


def test_the_chart_holds_what_was_found() -> None:
    """Lines of both orders over all speeds, a level a mode below the top, the span's swing by duty, its words."""
    found = vibration_of(operation(read_layout(str(RAILCAR)).layout))
    assert found is not None
    figure = chart_of(found, "")
    upper, lower = figure.axes
    lines = [np.asarray(line.get_ydata()) for line in upper.lines]
    firing = next(y for y in lines if len(y) == len(found.rpm) and y[-1] == pytest.approx(3.0 * 2400.0 / 60.0))
    assert firing[0] == pytest.approx(35.0)
    levels = sorted(float(y[0]) for y in lines if len(y) == 2 and y[0] == y[1])
    assert levels == pytest.approx(found.held.frequency_Hz[:2].tolist())
    words = [text.get_text() for text in upper.texts]
    assert {"mode 1, 50 Hz", "mode 2, 114 Hz", "firing", "twice the firing", "1003", "idle 700"} <= set(words)
    # Mode 2 is met by the firing too, where hardly anything swings: a speed is told only where the text tells it.
    rpm = {f"{met:.0f}": any(low <= met <= high for low, high, *_ in found.keep_away) for *_, met in found.meetings()}
    assert set(rpm.values()) == {True, False} and {each for each in rpm if each in words} == {r for r in rpm if rpm[r]}
    _, _, span = found.worst
    # The two duties swing so much alike that one line is seen, and told so.
    (both,) = [line for line in lower.lines if line.get_label() == "on the road, crane work"]
    every = found.shaken.span_swing_N[..., span]
    assert np.asarray(both.get_ydata()).tolist() == every[0].tolist()
    assert np.abs(every[1] - every[0]).max() < 0.01 * every.max()
    assert "guide to crank" in lower.get_ylabel()
    assert lower.get_ylabel().endswith(", N")


def test_a_chart_in_which_nothing_is_met_reaches_the_first_mode() -> None:
    """An engine so slow that neither its firing nor twice that comes to a mode."""
    layout = read_layout(str(RAILCAR)).layout
    slow = replace(layout, engine=replace(layout.engine, idle_rpm=200.0, cruise_rpm=300.0, max_rpm=400.0))
    found = vibration_of(operation(slow))
    assert found is not None and not [*found.meetings()]
    upper, _ = chart_of(found, "").axes
    assert f"mode 1, {found.first_Hz:.0f} Hz" in {text.get_text() for text in upper.texts}


def test_no_line_runs_through_words_of_the_chart_and_inches_have_pounds() -> None:
    """Words lie over all lines, each on paper of its own. A pound-force: 0.45359237 kg times 9.80665 m/s2."""
    found = vibration_of(operation(read_layout(str(RAILCAR.with_name("workboat.yaml"))).layout))
    assert found is not None
    figure = chart_of(found, "")
    upper, lower = figure.axes
    for axes in (upper, lower):
        highest = max(line.get_zorder() for line in axes.lines)
        for text in axes.texts:
            plate = text.get_bbox_patch()
            assert plate is not None and plate.get_facecolor() == (1.0, 1.0, 1.0, 1.0) and text.get_zorder() > highest
    duty, speed, span = found.worst
    (worst,) = [line for line in lower.lines if len(np.asarray(line.get_ydata())) == 1]
    newton = np.asarray(worst.get_ydata()) * 0.45359237 * 9.80665
    assert newton == pytest.approx(found.shaken.span_swing_N[duty, speed, span]) and ", lbf" in lower.get_ylabel()


def test_a_drive_whose_spring_is_too_strong_to_balance_is_not_judged(run: Runner, tmp_path: Path) -> None:
    path = tmp_path / "strong.yaml"
    path.write_text(
        RAILCAR.read_text(encoding="utf-8").replace(
            "torque_Nm: 52, at_deg: 98, rate_Nm_per_deg: 0.45", "torque_Nm: 900, at_deg: 98, rate_Nm_per_deg: 0"
        )
    )
    ran = run("vibration", path)
    assert ran.code == 0 and "NOT JUDGED" in ran.out and "no spring sets the tension" in " ".join(ran.out.split())
    assert json.loads(run("vibration", path, "--json").out)["modes"] is None


def test_a_mode_with_a_one_way_pulley_says_that_it_is_taken_as_locked() -> None:
    """A clutch that holds turns the whole rotor: the first mode is that of the drive without one."""
    given = read_layout(str(RAILCAR)).layout
    plain, one_way = (
        vibration_of(operation(with_pulley(given, "alternator", one_way=freed))) for freed in (False, True)
    )
    assert plain is not None and one_way is not None
    np.testing.assert_allclose(one_way.held.frequency_Hz, plain.held.frequency_Hz, rtol=1e-3)
    words = "The one-way pulley of alternator is taken as locked"
    told = [shown(vibration_report(each, {}), Screen(300)) for each in (plain, one_way)]
    assert [words in text for text in told] == [False, True]
