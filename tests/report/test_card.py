"""The card as it is shown: on one screen, every line something to do or to read, and the numbers of the `Card`."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from beltplan.cli.main import main
from beltplan.report.screen import PIPE_WIDTH
from tests.cli.running import Ran, Runner
from tests.for_each import for_each
from tests.shipped import FOLDER, SHIPPED_LAYOUTS
from tests.test_cases import FOLDER as CASES
from tests.test_cases import LAYOUTS as STATUS

SCREEN = 50
"""Lines of a screen that holds a card of up to nine pulleys."""
HEADS = ("LINE UP", "FIT", "POINTER", "TENSION", "BRACKET", "SAFETY")
KEYS = {
    *("title", "variant", "verdict", "units", "belt", "line_up", "turns", "route", "fitting", "pointer", "not_known"),
    *("tension", "hubs", "caution"),
}


def _json_of(ran: Ran) -> Any:
    return json.loads(ran.out, parse_constant=pytest.fail)


def _parts(text: str) -> dict[str, str]:
    pieces = re.split(rf"^({'|'.join(HEADS)})  +", text, flags=re.MULTILINE)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def _is_actionable(text: str) -> None:
    parts, lines = _parts(text), text.splitlines()
    assert list(parts) == [head for head in HEADS if head in parts] and {"LINE UP", "FIT", "TENSION"} <= set(parts)
    assert all(len(part.split()) > 3 for part in parts.values())
    assert not any(re.search(r"  -(  |$)", line) for line in lines), "a cell that is not known"
    assert max(map(len, lines)) <= PIPE_WIDTH and not re.search(r"\b(nan|inf|None)\b", text)


@for_each(*SHIPPED_LAYOUTS, ids=lambda path: path.stem)
def test_shipped_layouts(run: Runner, path: Path) -> None:
    told, listed = run("fit", path), run("fit", path, "--json")
    assert told.code == listed.code == run("check", path, "--json").code and told.err == ""
    _is_actionable(told.out)
    assert len(told.out.splitlines()) <= SCREEN
    assert set(_json_of(listed)) == KEYS


@for_each(*(name for name in STATUS if STATUS[name] != 2 and not name.startswith("faults/")))
def test_cases(run: Runner, name: str) -> None:
    told, listed = run("fit", CASES / f"{name}.yaml"), run("fit", CASES / f"{name}.yaml", "--json")
    assert (told.code, listed.code) == (STATUS[name],) * 2
    _is_actionable(told.out)
    assert set(_json_of(listed)) == KEYS and ("TENSION  not known" in told.out) is (_json_of(listed)["tension"] is None)


def test_the_workboats_alternator_four_mm_out(run: Runner, tmp_path: Path) -> None:
    given = (FOLDER / "workboat.yaml").read_text().replace("plane: -0.015", "plane: 4 mm")
    (tmp_path / "out.yaml").write_text(given)
    told, listed = run("fit", tmp_path / "out.yaml"), _json_of(run("fit", tmp_path / "out.yaml", "--json"))
    assert "LINE UP  move alternator 0.157 in (4.00 mm) toward the engine." in told.out
    moved = {row["name"]: row["move_mm"] for row in listed["line_up"]["pulleys"] if row["move_mm"]}
    assert moved == {"alternator": -4.0}
    (tmp_path / "out.yaml").write_text(given.replace("plane: 4 mm", "plane: 1"))
    told = run("fit", tmp_path / "out.yaml")
    asked = "LINE UP is `plane` of alternator misread by a whole inch? Then write `plane: 0`. Else move alternator"
    assert f"{asked} 1.000 in" in " ".join(told.out.split())


TEXT = """\
belt: 6PK930
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100, plane: 0, overhang_mm: 50, max_moment_Nm: 60}
  far: {role: alternator, diameter: 100, slide: {from: [290, 0], to: [340, 0]}, plane: 0, overhang_mm: 30}
route: [crank, far]
"""


def test_a_card_in_full(run: Runner, here: Path) -> None:
    """2 x 666 N over 50 mm is 66.6 N m, and with a new belt 2 x 798 N 79.8 N m."""
    Path("drive.yaml").write_text(TEXT)
    told = " ".join(run("fit", "drive.yaml", "--press", "50").out.split())
    for words in (
        "new belt 798 133 ", "run in 666 111 ", "set again below 402 67 ", "press it with 50 N and",
        "Slip the belt over crank last: it needs 7.4 mm of slack; a belt of exactly its nominal length gives 35.8 mm.",
        "crank 50.0 66.6 79.8 60.0 !", "far 30.0 40.0 47.9 ask its maker",
        "In the middle of the longest span, crank to far (307.9 mm)",
    ):  # fmt: skip
        assert words in told
    listed = _json_of(run("fit", "drive.yaml", "--json"))
    assert [level["tension_N"] for level in listed["tension"]["levels"]] == [798.0, 666.0, 402.0]
    assert [(hub["moment_Nm"], hub["max_moment_Nm"]) for hub in listed["hubs"]] == [(66.6, 60.0), (39.96, None)]
    assert [(hub["high_end_N"], hub["high_end_Nm"]) for hub in listed["hubs"]] == [(1596.0, 79.8), (1596.0, 47.88)]
    assert listed["tension"]["press_N"] == 98.0


def test_on_a_slide_the_pointer_is_read_by_its_length(run: Runner, here: Path) -> None:
    """Two equal pulleys on a slide along their line: each mm of it is 2 mm of belt, in inches alike."""
    Path("drive.yaml").write_text(TEXT)
    mm, inches = (" ".join(run("fit", "drive.yaml", *units).out.split()) for units in ((), ("--units", "in")))
    assert "Push far along its slide to its short stop, `from`." in mm and "engine stopped, far stands " in mm
    assert "each mm along the slide is 2.00 mm of belt" in mm
    assert "each inch along the slide is 2.00 in of belt" in inches
    Path("turned.yaml").write_text(TEXT.replace("{from: [290, 0], to: [340, 0]}", "{from: [340, 0], to: [290, 0]}"))
    turned = " ".join(run("fit", "turned.yaml").out.split())
    assert "Push far along its slide to its short stop, `to`." in turned, "the nearer end leaves the belt most slack"


@for_each(("av13_stock", "no AV13 belt on the built-in list fits"), ("hz", "no belt on the list fits"))
def test_a_card_without_a_belt_says_why_as_check_does(run: Runner, name: str, words: str) -> None:
    """A drive that works with a belt of a supplier is not told that no belt fits."""
    told, check = (" ".join(run(command, CASES / f"{name}.yaml").out.split()) for command in ("fit", "check"))
    assert f"mm of slack; {words}" in told and f"BUY {words}" in check


def test_a_block_that_grows_hot(run: Runner, here: Path) -> None:
    """6 x 28 kN x 11e-6 x 80 is 147.8 N: iron, any handbook. What is set by hand is set cold."""
    Path("drive.yaml").write_text(TEXT + "block: {material: iron}\n")
    told = " ".join(run("fit", "drive.yaml").out.split())
    for words in (
        "engine stopped and cold", "with the iron block 80 K hotter (assumed) 148 N more", "hot, new belt 946 158 ",
        "crank 50.0 66.6 94.6 60.0 !",
    ):  # fmt: skip
        assert words in told
    Path("frost.yaml").write_text(TEXT + "block: {material: aluminium, rise_K: -50}\n")
    told = " ".join(run("fit", "frost.yaml").out.split())
    assert "50 K colder 193 N less" in told and "cold, as low as it gets 209 35 " in told


def test_a_block_is_of_no_use_where_the_adjuster_is_sprung(run: Runner, tmp_path: Path) -> None:
    path = tmp_path / "hot.yaml"
    path.write_text((FOLDER / "camper.yaml").read_text() + "\nblock: {material: aluminium, rise_K: 80}\n")
    for command in (("fit", path), ("check", path, "--full")):
        told = " ".join(run(*command).out.split())
        assert told.count("; `block` is of no use here: it counts for a belt set by hand") == 1


def test_at_a_stop_the_tension_is_not_the_springs(run: Runner) -> None:
    """As it is pressed the belt stretches: it gives less than F l / (4 T), 98 N x 1300 mm / (4 x 945 N), 33.7 mm."""
    told = run("fit", CASES / "good_tall.yaml").out
    assert "by its spring" not in told and "at that end" in told
    (level,) = _json_of(run("fit", CASES / "good_tall.yaml", "--json"))["tension"]["levels"]
    assert "not from the spring" in level["source"] and 25.0 < level["deflection_mm"] < 33.0


def test_what_is_to_be_done_first_is_told_first(run: Runner) -> None:
    told = " ".join(run("fit", CASES / "close.yaml").out.split())
    assert ": do not fit it yet, see `beltplan check`" in told
    assert "LINE UP first measure the plane of roll and ten, here taken as 0. As it stands, move alt " in told
    mm, inches = map(float, re.findall(r"move alt ([0-9.]+) mm \(([0-9.]+) in\)", told)[0])
    assert inches == pytest.approx(mm / 25.4, abs=0.0005 + 0.005 / 25.4)


def test_planes_that_are_all_the_same_are_asked_after(run: Runner, here: Path) -> None:
    """As a starter file has them, before anybody laid a straightedge."""
    Path("drive.yaml").write_text(TEXT.replace("plane: 4", "plane: 0"))
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert "LINE UP nothing to move if every `plane` is the same, as the file says: lay a straightedge across" in told


def test_tilted_faces(run: Runner, here: Path) -> None:
    """0.6 deg over 100 mm is 1.0 mm: tan 0.6 deg; no shim cures it. Both spans run along x."""
    Path("drive.yaml").write_text(TEXT.replace("plane: 0, overhang_mm: 30", "plane: 0, tilt_deg: [0.6, 0]"))
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert "LINE UP set far square, its right edge 0.60 deg (1.0 mm across its face) toward the engine." in told
    assert "No shim cures a tilt: square far first" in told and "far 0.00 0.60 0.00 crank 0.60 ! 0.33" in told
    far = _json_of(run("fit", "drive.yaml", "--json"))["line_up"]["pulleys"][1]
    assert (far["tilt_deg"], far["set_square"], far["move_mm"]) == ([0.6, 0.0], True, 0.0)


def test_of_a_tension_of_the_file_a_new_belt_is_told(run: Runner, here: Path) -> None:
    Path("drive.yaml").write_text(TEXT.replace("plane: 0, overhang_mm: 30", "plane: 0, tension_N: 600"))
    """133 of 111 N a rib: US Army TM 9-2320-312-24-2. Parallel spans pull with two tensions."""
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert "Max: new belt, 1.2 times as tight as run in" in told and "`tension_N` is too low" not in told
    (most,) = {hub["high_end_N"] for hub in _json_of(run("fit", "drive.yaml", "--json"))["hubs"]}
    assert most == pytest.approx(2 * 600.0 * 133.0 / 111.0)


def test_in_inches(run: Runner, here: Path) -> None:
    Path("drive.yaml").write_text(TEXT)
    told = run("fit", "drive.yaml", "--units", "in").out
    assert "it needs 0.29 in of" in " ".join(told.split()) and "dip, in" in told and "98 N (22 lbf)" in told


def test_a_variant(run: Runner) -> None:
    told = run("fit", FOLDER / "camper.yaml", "--variant", "with idler").out
    assert "(variant: with idler)" in told and "idler (back)" in told


def test_a_tension_under_that_at_which_a_used_belt_is_set_again_is_told_beside_the_steps(
    run: Runner, here: Path
) -> None:
    """67 N a rib (US Army TM 9-2320-312-24-2, table 4) are 402 N of six: no hub is pulled by what is only a limit."""
    Path("drive.yaml").write_text(TEXT.replace("plane: 0, overhang_mm: 30", "plane: 0, tension_N: 300"))
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert (
        "run in 300 50 " in told and "set again below 402 67 " in told and "too low, and so are the pulls below" in told
    )
    assert "set the usual 666 N" in told, "111 N a rib of six"
    assert "Max: new belt, 1.2 times as tight as run in" in told


def test_marks_and_the_rim_of_the_pointer(run: Runner, tmp_path: Path) -> None:
    given = (FOLDER / "railcar.yaml").read_text()
    given = given.replace("at_deg: 98}\n", "at_deg: 98, marks: {new: 110, worn: 90}}\n    pointer_radius_mm: 39\n", 1)
    (tmp_path / "marked.yaml").write_text(given.replace("belt: 8PK", "belt: 8PK2050"))
    told = " ".join(run("fit", tmp_path / "marked.yaml").out.split())
    assert re.search(
        r"at 101\.\d deg, 8\.\d deg \(5\.\d mm along its rim\) past the mark `new`, 11\.\d deg",
        told,
    )
    assert "Nearer `worn` the belt is longer or has stretched; nearer `new` it is shorter" in told


@for_each("0", "-3", "nan", "x", "1e9")
def test_a_press_of_nothing(run: Runner, press: str) -> None:
    ran = run("fit", FOLDER / "camper.yaml", "--press", press)
    assert (ran.code, ran.out) == (2, "") and "allowed: a force above 0 to 10000 N" in ran.err


def test_a_press_by_a_weight_of_five_kilograms(run: Runner) -> None:
    """Standard gravity, 9.80665 m/s2 (ISO 80000-3): 49.03325 N, of which the card's dip grows as of any force."""
    (level, *_), (other, *_) = (
        json.loads(run("fit", FOLDER / "railcar.yaml", "--press", press, "--json").out)["tension"]["levels"]
        for press in ("49.03325", "24.516625")
    )
    assert level["deflection_mm"] == pytest.approx(2.0 * other["deflection_mm"], rel=0.05)


def test_check_names_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(FOLDER / "camper.yaml")])
    assert "more: --full   fitting it: beltplan fit   how sure: beltplan tolerance\n" in capsys.readouterr().out


def test_pounds_a_rib_are_those_of_the_table_below(run: Runner) -> None:
    """A pound-force is 4.4482216 N by definition: of 163 N on eight ribs they are 4.58, not the 4.50 of 20 N."""
    told = run("fit", CASES / "squeal.yaml").out
    tension = json.loads(run("fit", CASES / "squeal.yaml", "--json").out)["tension"]
    rib_N = tension["levels"][0]["tension_N"] / 8.0
    assert f"({rib_N / 4.4482216:.1f} lbf) a rib" in told
