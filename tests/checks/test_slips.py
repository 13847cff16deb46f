"""One slip of typing in a sound drive: what is asked first is what stood there before, and it is tried."""

from __future__ import annotations

import re
from pathlib import Path

from beltplan.checks.doubts import DOUBT
from beltplan.checks.plan import plan_of
from beltplan.checks.questions import with_questions
from beltplan.drive.route import NoBeltPath
from beltplan.faults import LayoutFaults
from beltplan.layoutfile.layout_file import read_layout
from tests.cli.running import Runner
from tests.for_each import for_each

HERE = Path(__file__).parent
ROOT = HERE.parents[1]

_TRIED = [
    ("in", "hyd, ac, top_idler, wp", "hyd, top_idler, ac, wp", "with top_idler between ac and wp in `route`"),
    ("in", "[crank, tens, hyd,", "[crank, hyd, tens,", "with hyd between tens and ac in `route`"),
    ("in", "from: [-8 1/2, 1]", "from: [1, -8 1/2]", "are x and y of tens exchanged? With `from: [-8.5, 1]` for tens"),
    ("in", "[-10 1/2, 6 1/2]", "[-1 1/2, 6 1/2]", "is a digit of hyd wrong? With `at: [-10.5, 6.5]` for hyd"),
    ("mm", "at: [205, 320]", "at: [205, 32]", "Is a digit of alternator wrong? With `at: [205, 320]` for alternator"),
    ("mm", "120], diameter: 90, belt_side: back", "120], diameter: 90",
     "does idler run on the belt's back? With `belt_side: back` for idler"),
    ("mm", "pivot: [-164, -26]", "pivot: [-164, 26]", "has tensioner a wrong sign? With `pivot: [-164, -26]` for"),
    ("mm", "length: 80", "length: 8", "is a digit of tensioner wrong? With `length: 80` for tensioner"),
    ("mm", "diameter: 118", "diameter: 181.5", "is a digit of water_pump wrong? With `diameter: 118.5`"),
    ("mm", "diameter: 118", "diameter: 181", "is a digit of water_pump wrong? With `diameter: 118` for"),
    ("mm", "diameter: 130", "diameter: 13", "is a digit of steering_pump wrong? With `diameter: 130` for"),
    ("mm", "diameter: 62", "diameter: 6.2", "is a digit of alternator wrong? With `diameter: 62` for alternator it"),
]  # fmt: skip


def _check(run: Runner, folder: Path, units: str, right: str, wrong: str) -> str:
    text = (HERE / f"slips_{units}.yaml").read_text(encoding="utf-8")
    assert right in text
    path = folder / "file.yaml"
    path.write_text(text.replace(right, wrong, 1), encoding="utf-8")
    answer = run("check", str(path))
    return " ".join((answer.out + answer.err).split())


@for_each(*_TRIED)
def test_what_stood_there_is_asked_after(
    run: Runner, tmp_path: Path, units: str, right: str, wrong: str, told: str
) -> None:
    shown = _check(run, tmp_path, units, right, wrong)
    first = shown[: shown.find("TO DO") if "TO DO" in shown else None]
    assert told in first and "it works (tried)" in first[first.index(told) :]


def test_of_a_whole_file_in_another_unit_nothing_else_is_asked(run: Runner, tmp_path: Path) -> None:
    shown = _check(run, tmp_path, "mm", "units: mm", "units: in")
    assert (
        shown.count("FIRST") == 1 and "All pulleys are 62.00 in or more: are these mm? Then write `units: mm`" in shown
    )


def test_a_digit_that_would_throw_a_pulley_far_off_is_not_told(run: Runner, tmp_path: Path) -> None:
    """The x of another pulley typed twice: 51, 105 and 150 in make a belt too, but no drive is five feet high."""
    assert "digit of" not in _check(run, tmp_path, "in", "at: [-7 1/2, 15]", "at: [-2 1/2, 15]")


@for_each(("length: 80", "length: 8"), ("diameter: 130", "diameter: 13"))
def test_what_works_is_asked_alone(run: Runner, tmp_path: Path, right: str, wrong: str) -> None:
    """Neither another unit nor the same radius is asked after beside what was tried and leaves no problem."""
    shown = _check(run, tmp_path, "mm", right, wrong)
    assert shown.count("FIRST") == 1 and "it works (tried)" in shown


def test_a_try_that_leaves_problems_does_not_stand_beside_a_radius(run: Runner, tmp_path: Path) -> None:
    shown = _check(run, tmp_path, "mm", "diameter: 165", "diameter: 82.5")
    assert shown.count("FIRST") == 1 and "is 82.5 its radius? Then write `diameter: 165`" in shown


def test_no_digit_is_guessed_where_a_sign_makes_it_work(run: Runner, tmp_path: Path) -> None:
    shown = _check(run, tmp_path, "mm", "at: [-160, 345]", "at: [160, 345]")
    assert shown.count("it works (tried)") == 1 and "With `at: [-160, 345]` for vacuum_pump" in shown


def test_grooves_on_the_back_may_be_a_wrong_side(run: Runner, tmp_path: Path) -> None:
    shown = _check(run, tmp_path, "in", "belt_side: ribbed", "belt_side: back")
    assert "take out `belt_side: back`; else take out `grooves`" in shown


def test_a_sound_layout_is_not_asked_after() -> None:
    """Sound: without a problem as it stands."""
    sound = 0
    for path in sorted([*ROOT.glob("layouts/*.yaml"), *ROOT.glob("tests/cases/*.yaml"), *HERE.glob("slips_*.yaml")]):
        try:
            plan = plan_of(read_layout(str(path)).layout)
        except (LayoutFaults, NoBeltPath):
            continue
        if not plan.count("problem"):
            sound += 1
            asked = [each for each in with_questions(plan).findings if each.asks_first and each.check == DOUBT.name]
            assert asked == [], path.name
    assert sound > 10


def test_a_place_is_not_doubted_where_only_wrap_and_slip_are_wrong(run: Runner) -> None:
    """Another place would give more wrap, as any might: nothing collides, so the places may be meant as they stand."""
    shown = run("check", str(HERE / "short_of_wrap.yaml")).out
    assert "problem  crank: slips dry" in shown and "of wrap, 18.5 short" in shown
    assert "FIRST" not in shown


@for_each(("[112, 54]", False), ("[12, 120]", True), ("[112, 12]", True))
def test_pulleys_set_a_little_too_near_are_no_slip_of_typing(run: Runner, tmp_path: Path, at: str, asked: bool) -> None:
    shown = _check(run, tmp_path, "mm", "at: [112, 120]", f"at: {at}")
    assert "overlap by" in shown and ("?" in shown) == asked


def test_a_near_miss_is_no_slip_of_typing(run: Runner, tmp_path: Path) -> None:
    """2.2 deg over its minimum in the file as it is: with one of 125 it is 2.8 short, and a larger pulley would do."""
    shown = _check(run, tmp_path, "mm", "{alternator: 110}", "{alternator: 110, water_pump: 125}")
    assert "2.8 short of its minimum of 125" in shown and "FIRST" not in shown


@for_each(("rate_Nm_per_deg: 0.3", "rate_Nm_per_deg: 3"), ("torque_Nm: 26", "torque_Nm: 0.26"))
def test_a_spring_with_nothing_left_within_its_travel(run: Runner, tmp_path: Path, right: str, wrong: str) -> None:
    """The travel is 26 deg long from where the torque is given: 26 Nm - 3 Nm/deg x 26 deg is under nothing."""
    shown = _check(run, tmp_path, "mm", right, wrong)
    assert "FIRST tensioner: nothing is left of its spring at 62.0 deg, within its travel" in shown


def test_no_tension_is_advised_that_the_belt_does_not_stand(run: Runner, tmp_path: Path) -> None:
    """The set tension told for the wet is tried: with it a span comes over the belt's maximum."""
    text = (HERE / "short_of_wrap.yaml").read_text(encoding="utf-8")
    shown = " ".join(run("check", str(HERE / "short_of_wrap.yaml"), "--full").out.split())
    told = re.search(
        r"wet: a set tension of ([\d.]+) N .{,30}would bring it to 0.8; but the belt does not stand it", shown
    )
    assert told is not None
    path = tmp_path / "tighter.yaml"
    path.write_text(text.replace("tension_N: 120 lbf", f"tension_N: {told[1]}"), encoding="utf-8")
    assert "N over its maximum of 1080 N" in re.sub(
        r" \([\d.]+ lbf\)", "", " ".join(run("check", str(path)).out.split())
    )
    squeals = " ".join(run("squeal", str(HERE / "short_of_wrap.yaml"), "--when", "wet").out.split())
    assert "more ribs and then more tension: the belt stands no tension that is enough" in squeals
