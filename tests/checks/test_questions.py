"""One slip of typing in a sound drive: what is asked first is what stood there before, and it is tried."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from beltplan.checks.doubts import DOUBT, low_tension_asked
from beltplan.checks.plan import plan_of
from beltplan.checks.questions import with_questions
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Pulley, Slide
from beltplan.drive.way_round import NoBeltPath
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
    ("in", "[-10 1/2, 6 1/2]", "[-1 1/2, 6 1/2]", "is a digit of hyd wrong? With `at: [-10.5, 6.5]` or so for hyd"),
    ("mm", "at: [205, 320]", "at: [205, 32]", "Is a digit of alternator wrong? With `at: [205, 320]` or so for"),
    ("mm", "120], diameter: 90, belt_side: back", "120], diameter: 90",
     "does idler run on the belt's back? With `belt_side: back` for idler"),
    ("mm", "pivot: [-164, -26]", "pivot: [-164, 26]", "has tensioner a wrong sign? With `pivot: [-164, -26]` for"),
    ("mm", "length: 80", "length: 8", "is a digit of tensioner wrong, or its unit? With `length: 80`"),
    ("mm", "diameter: 118", "diameter: 181.5", "is a digit of water_pump wrong? With `diameter: 118.5`"),
    ("mm", "diameter: 118", "diameter: 181", "is a digit of water_pump wrong? With `diameter: 118` for"),
    ("mm", "diameter: 130", "diameter: 13", "is a digit of steering_pump wrong, or its unit? With `diameter: 130`"),
    ("mm", "diameter: 62", "diameter: 6.2", "is a digit of alternator wrong, or its unit? With `diameter: 62`"),
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


@for_each(
    ("mm", "120], diameter: 90, belt_side: back", "120], diameter: 90",
     "does idler run on the belt's back? With `belt_side: back` for idler it has 1 problem (tried)"),
    ("in", "[crank, tens, hyd,", "[crank, hyd, tens,", "with hyd between tens and ac in `route` it has 1 problem (tri"),
    ("in", "hyd, ac, top_idler, wp", "hyd, top_idler, ac, wp", "with top_idler between ac and wp in `route` it has 1"),
)  # fmt: skip
def test_a_side_or_an_order_is_asked_after_beside_a_problem_that_stays(
    run: Runner, tmp_path: Path, units: str, right: str, wrong: str, told: str
) -> None:
    """A belt limited to 5 m/s runs too fast whatever the order; every shortfall of half a limit is the slip's."""
    path = tmp_path / "fast.yaml"
    text = (HERE / f"slips_{units}.yaml").read_text(encoding="utf-8").replace(right, wrong, 1)
    path.write_text(text.replace("\nlimits:", "\nlimits:\n  max_belt_speed_m_per_s: {crank: 5}"), encoding="utf-8")
    shown = " ".join(run("check", str(path)).out.split())
    assert told in shown[: shown.index("TO DO")] and "pivot" not in shown


@for_each(
    ("diameter: 2.8", "diameter: 28", "Is a digit of alt wrong, or its unit? With `diameter: 2.8` for alt"),
    ("diameter: 7.5", "diameter: 75", "Is a digit of crank wrong, or its unit? With `diameter: 7.5` for crank"),
    ("diameter: 2.8", "diameter: 712 mm", "Is a digit of alt wrong, or its unit? With `diameter: 71.2 mm` for alt"),
    ("diameter: 7.5", "diameter: 77.5", "Is a digit of crank wrong, or its unit? With `diameter: 7.5` for crank"),
)
def test_a_lost_point_comes_before_a_lost_digit_beside_a_problem_that_stays(
    run: Runner, tmp_path: Path, right: str, wrong: str, told: str
) -> None:
    """A belt limited to 5 m/s runs too fast whatever the size."""
    path = tmp_path / "fast.yaml"
    text = (HERE / "slips_in.yaml").read_text(encoding="utf-8").replace(right, wrong, 1)
    path.write_text(text.replace("\nlimits:", "\nlimits:\n  max_belt_speed_m_per_s: {crank: 5}"), encoding="utf-8")
    shown = " ".join(run("check", str(path)).err.split())
    assert f"{told} (line" in shown and "with 1 problem (tried)" in shown
    assert not re.search(r"diameter: (2|7|71 mm)`", shown)


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
    assert "more ribs and then more tension: with its 6 ribs the belt cannot take enough" in squeals


# What is asked after first: `rotation`; where trying it shows that it helps: x and y exchanged; a tension in lbf.


def _turned(layout: Layout) -> Layout:
    return replace(layout, rotation="counterclockwise" if layout.rotation == "clockwise" else "clockwise")


@for_each("railcar", "workboat", "camper")
def test_where_no_pulley_turns_as_it_must_one_finding_asks_after_the_rotation(name: str) -> None:
    right = read_layout(f"layouts/{name}.yaml").layout
    plan = plan_of(_turned(right))
    (asked,) = (each for each in plan.findings if each.check == "turns" and each.severity == "problem")
    assert asked is plan.findings[0] and asked.asks_first and asked.subject == "rotation"
    said = [pulley.name for pulley in plan.route.pulleys if pulley.turns not in (None, "either")]
    assert asked.wrong == f"none of {', '.join(said)} turns as its `turns` says" and len(said) > 1
    assert asked.advice.endswith("If not, write `rotation: clockwise`")
    assert not any(each.subject == "rotation" for each in plan_of(right).findings)


def test_a_tensioner_in_the_tight_span_asks_after_the_rotation_too() -> None:
    """Without loads and with nothing said of turning, only where the tensioner stands tells of the rotation."""
    right = read_layout("layouts/workboat.yaml").layout
    silent = {name: replace(each, turns=each.turns and "either", load=None) for name, each in right.pulleys.items()}
    given = replace(right, pulleys=silent, duties={})
    (found,) = (each for each in plan_of(_turned(given)).findings if each.severity != "note")
    assert found.check == "slack_side" and found.advice.endswith("or is `rotation` the wrong way round?")


def test_one_pulley_that_must_turn_the_other_way_is_no_question_of_the_rotation() -> None:
    first = plan_of(_turned(read_layout("layouts/orchard_sprayer.yaml").layout)).findings[0]
    assert first.check == "turns" and first.subject != "rotation"


def _exchanged(layout: Layout, name: str) -> Layout:
    (x, y) = layout.pulleys[name].at_mm or (0.0, 0.0)
    return layout.with_pulley(replace(layout.pulleys[name], at_mm=(y, x)))


def test_x_and_y_exchanged_where_a_belt_can_still_be_laid() -> None:
    """The drive works; whoever exchanges the alternator's x and y leads the belt through an obstacle."""
    right = read_layout("tests/checks/exchanged.yaml").layout
    assert with_questions(plan_of(right)).count("problem") == 0
    wrong = plan_of(_exchanged(right, "alternator"))
    first, *rest = [each for each in with_questions(wrong).findings if each.asks_first]
    assert (first.subject, first.severity, rest) == ("alternator", "note", [])
    assert first.about == f"alternator: {wrong.count('problem')} problems with the file as it is written"
    told = "are x and y of alternator exchanged? With `at: [8.65, 14.15]` for alternator it works (tried)"
    assert first.advice == told


def test_a_set_tension_in_lbf_is_asked_after_only_where_the_belt_hangs_or_slips() -> None:
    """190 lbf are 845 N (1 lbf = 4.4482 N, NIST SP 811); a rib of PK is set to 111 N, run in (TM 9-2320)."""
    right = replace(read_layout("tests/checks/exchanged.yaml").layout, own_units=frozenset())
    low = right.with_pulley(_set_to(right, 190.0))
    (first,) = (each for each in with_questions(plan_of(low)).findings if each.asks_first)
    assert (
        first.wrong.startswith("`tension_N` of 190 N is 21 % of the 888 N usual for the belt")
        and first.subject == "tensioner"
    )
    assert first.advice == "is it in lbf? Then write `190 lbf`"
    assert not any(each.asks_first for each in with_questions(plan_of(right)).findings)


@for_each((119.0, False), (121.0, True), (295.0, True), (297.0, False))
def test_edges_of_a_tension_in_lbf(tension_N: float, asked: bool) -> None:
    """Under a third of the usual 888 N, in lbf (4.4482 N, NIST SP 811) over 0.6 of it: common practice, no source."""
    layout = replace(read_layout("tests/checks/exchanged.yaml").layout, own_units=frozenset())
    layout = layout.with_pulley(_set_to(layout, tension_N))
    assert bool(low_tension_asked(layout)) == asked
    written = read_layout("tests/checks/exchanged.yaml").layout  # 190 lbf
    assert not low_tension_asked(replace(layout, own_units=written.own_units))
    assert not written.has_own_unit("pulleys", "tensioner", "role")


def test_a_low_tension_that_does_is_not_asked_after() -> None:
    """60 N hold the light load of a small drive: no span hangs slack and nothing slips."""
    light = plan_of(read_layout("tests/cases/gokart.yaml").layout)
    assert not any(each.asks_first for each in with_questions(light).findings)


def _set_to(layout: Layout, tension_N: float) -> Pulley:
    pulley = layout.pulleys["tensioner"]
    assert isinstance(pulley.adjuster, Slide)
    return replace(pulley, adjuster=replace(pulley.adjuster, tension_N=tension_N))


def _with_sign(layout: Layout, name: str, key: str, axis: int) -> Layout:
    """The layout with the other sign at one number of a pulley's place, or of an end of its slide."""
    pulley = layout.pulleys[name]
    slide = pulley.adjuster
    x, y = getattr(pulley if key == "at_mm" else slide, key)
    changed: dict[str, Any] = {key: (-x, y) if axis == 0 else (x, -y)}
    if isinstance(slide, Slide):
        return layout.with_pulley(replace(pulley, adjuster=replace(slide, **changed)))
    return layout.with_pulley(replace(pulley, **changed))


@for_each(
    ("tests/checks/exchanged.yaml", "water_pump", "at_mm", 0),
    ("tests/checks/exchanged.yaml", "tensioner", "start_mm", 0),
    ("tests/checks/exchanged.yaml", "tensioner", "end_mm", 0),
)
def test_a_lost_minus_that_still_lays_is_asked_after(path: str, name: str, key: str, axis: int) -> None:
    """What is asked is what stood there before the sign was changed."""
    right = read_layout(path).layout
    (first,) = (
        each for each in with_questions(plan_of(_with_sign(right, name, key, axis))).findings if each.asks_first
    )
    assert first.subject == name and f"has {name} a wrong sign? With `" in first.advice
    assert not [each for each in with_questions(plan_of(right)).findings if each.asks_first]


def test_a_guess_changes_no_count_of_what_was_found() -> None:
    """`compare`, `cure` and the print count without it."""
    wrong = plan_of(_exchanged(read_layout("tests/checks/exchanged.yaml").layout, "alternator"))
    asked = with_questions(wrong)
    assert len(asked.findings) > len(wrong.findings)
    assert [asked.count(each) for each in ("problem", "caution")] == [wrong.count(e) for e in ("problem", "caution")]


def test_every_angle_of_an_arm_with_its_sign_turned(run: Runner, tmp_path: Path) -> None:
    """Angles above the level typed as below it."""
    text = (HERE / "slips_mm.yaml").read_text(encoding="utf-8")
    turned = text.replace("stops: [110, 62]", "stops: [-110, -62]").replace("at_deg: 88", "at_deg: -88")
    (tmp_path / "file.yaml").write_text(turned, encoding="utf-8")
    answer = run("check", str(tmp_path / "file.yaml"))
    told = "ave the angles of tensioner a wrong sign? With `stops: [110, 62]`, `at_deg: 88`, `spring.at_deg: 88` for"
    assert told in " ".join((answer.out + answer.err).split())


_GUIDED = """\
belt: 6PK
engine: {idle_rpm: 800, max_rpm: 4000}
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 150, grooves: 6, plane: 0}
  alternator: {role: alternator, slide: {from: [0, 235], to: [0, 275]}, diameter: 60, grooves: 6, plane: 0}
  idler: {role: idler, at: [75, 150], diameter: 90, plane: 0}
route: [crank, alternator, idler]
limits: {min_wrap_deg: {crank: 160, alternator: 150}}
"""


@pytest.mark.usefixtures("less_is_judged")
@for_each(("diameter: 90", True), ("diameter: 90, grooves: 6", False), ("diameter: 90, belt_side: back", False))
def test_a_smooth_guide_left_on_the_ribs_is_asked_after_where_a_wrap_beside_it_is_little_short(
    run: Runner, here: Path, size: str, asked: bool
) -> None:
    """Inside the loop an idler takes wrap from its neighbours, on the back it gives them some: geometry."""
    Path("drive.yaml").write_text(_GUIDED.replace("diameter: 90", size))
    told, of_cure = (" ".join(run(command, "drive.yaml").out.split()) for command in ("check", "cure"))
    question = "1 problem with the file as it is written: does idler run on the belt's back? With `belt_side: back` for"
    assert (f"FIRST idler: {question}" in told) == asked, told
    # Before any change of the drive, which would cure a slip of the file with metal.
    assert (f"FIRST idler: {question}" in of_cure.partition("DO ")[0]) == asked, of_cure
    assert len(json.loads(run("cure", "drive.yaml", "--json").out)["asked_first"]) == int(asked)
    assert ("WORKS ON PAPER" in told) == ("back" in size)


@for_each((246, True), (248, False))
def test_a_guide_on_the_back_that_cures_nothing_is_told_by_the_wrap_it_gives(
    run: Runner, here: Path, least_deg: int, asked: bool
) -> None:
    """Typed as told the crank has that wrap, and still lacks: no more than half of what it did, if it is told."""
    text = _GUIDED.replace("160, alternator: 150", f"{least_deg}, alternator: {least_deg}")
    Path("drive.yaml").write_text(text)
    Path("typed.yaml").write_text(text.replace("diameter: 90", "diameter: 90, belt_side: back"))
    told, typed = (" ".join(run("check", file).out.split()) for file in ("drive.yaml", "typed.yaml"))
    (was,), (now,) = (re.findall(r"crank: ([\d.]+) deg of wrap, [\d.]+ short", each) for each in (told, typed))
    assert (2.0 * (least_deg - float(now)) <= least_deg - float(was)) == asked
    words = f"With `belt_side: back` for idler, crank has {now} deg of wrap, not {was} (tried)"
    assert (words in told) == ("FIRST" in told) == asked
