"""`beltplan measure`: the answer, the layout that is written and read by `check`, and bad options."""

import json
import os
import re
from pathlib import Path

import pytest

from beltplan.layoutfile.layout_file import read_layout
from tests.cli.running import ROOT, Ran, Runner

INCHES = """\
# Invented numbers.
title: Invented cart drive
units: in
belt: 6PK
distances:
  crank - water_pump: 8 1/2
  crank - alternator: 15 3/8
  crank - steering_pump: 9 7/8
  crank - idler: 13 5/8
  water_pump - alternator: 9 1/2
  water_pump - steering_pump: 10 1/4
  water_pump - idler: 6 3/8      # from the bolt
  steering_pump - idler: 10 1/8
  alternator - idler: 13 1/8
  alternator - steering_pump: 19 3/4
angles: {crank - alternator: 50.6}
sides: {steering_pump: left, water_pump: above}
pulleys:
  crank: {role: crankshaft, diameter: 6}
  water_pump: {role: water_pump, diameter: 4, belt_side: back}
  alternator: {role: alternator, diameter: 2.5}
  steering_pump: {role: steering_pump, diameter: 5}
  idler: {role: idler, diameter: 3}
route: [crank, steering_pump, idler, water_pump, alternator]
"""
MISREAD = INCHES.replace("19 3/4", "20 3/4")
MIRROR = INCHES.replace("sides: {steering_pump: left, water_pump: above}\n", "")
LOOSE = "\n".join(line for line in INCHES.splitlines() if "- idler" not in line or "crank - idler" in line) + "\n"
NAMES_ONLY = "distances: {a - b: 300, a - c: 400, b - c: 500}\nlevel: [a, b]\nsides: {c: above}\n"


@pytest.fixture(autouse=True)
def files(here: Path) -> None:
    """The measurements, in an empty folder."""
    for name, text in (("in", INCHES), ("misread", MISREAD), ("mirror", MIRROR), ("loose", LOOSE), ("abc", NAMES_ONLY)):
        (here / f"{name}.yaml").write_text(text, encoding="utf-8")


BEFORE = {"in.yaml", "misread.yaml", "mirror.yaml", "loose.yaml", "abc.yaml"}


def new_files() -> set[str]:
    return {path.name for path in Path().iterdir()} - BEFORE


def refused(ran: Ran) -> bool:
    return (ran.code, ran.out) == (2, "") and ran.err != "" and "Traceback" not in ran.err


def test_the_answer_and_the_exit_status(run: Runner) -> None:
    ran = run("measure", "in.yaml")
    assert (ran.code, ran.err) == (0, "") and ran.out.startswith("Invented cart drive\nFOUND    all 5 points")
    assert new_files() == set()


@pytest.mark.parametrize(
    ("name", "lead"), [("misread", "MISREAD  alternator - steering_pump, read 20 3/4 in"), ("mirror", "MIRROR   "),
                       ("loose", "OPEN     idler: ")],
)  # fmt: skip
def test_what_is_wrong_or_open_ends_with_1(run: Runner, name: str, lead: str) -> None:
    ran = run("measure", f"{name}.yaml")
    assert (ran.code, ran.err) == (1, "") and f"\n{lead}" in ran.out


def test_json(run: Runner) -> None:
    ran = run("measure", "misread.yaml", "--json")
    result = json.loads(ran.out)
    assert (ran.code, ran.err, result["written"]) == (1, "", None)
    (row,) = result["misread"]
    assert row["written"] == "20 3/4"
    assert MISREAD.splitlines()[row["line"] - 1].strip() == "alternator - steering_pump: 20 3/4"


def test_the_layout_that_is_written_holds_the_places_and_is_read_by_check(run: Runner) -> None:
    ran = run("measure", "in.yaml", "--write", "out.yaml", "--json")
    result = json.loads(ran.out)
    assert (ran.code, ran.err, result["written"], new_files()) == (0, "", "out.yaml", {"out.yaml"})
    layout = read_layout("out.yaml").layout
    for point in result["points"]:
        at = layout.pulleys[point["name"]].at_mm
        assert at == pytest.approx((point["x_mm"], point["y_mm"]), abs=0.01)
    text = Path("out.yaml").read_text(encoding="utf-8")
    assert text.startswith("# Places found by `beltplan measure` from in.yaml") and "# Invented numbers." in text
    assert "not an approval" in text and "distances" not in text
    checked = run("check", "out.yaml")
    assert checked.code in (0, 1) and checked.err == "" and checked.out.startswith("Invented cart drive")
    assert run("tolerance", "out.yaml", "--draws", "200").err == ""


def test_what_was_misread_is_noted_in_the_layout(run: Runner) -> None:
    ran = run("measure", "misread.yaml", "--write", "out.yaml")
    assert (ran.code, ran.err) == (1, "") and "WRITTEN  out.yaml" in ran.out
    text = " ".join(Path("out.yaml").read_text(encoding="utf-8").replace("\n#", " ").split())
    assert (
        "MISREAD: alternator - steering_pump, read 20 3/4 in (line " in text
        and " in too much by all the others" in text
    )
    places = [read_layout(f"{name}.yaml").layout.pulleys["idler"].at_mm for name in ("out",)]
    run("measure", "in.yaml", "--write", "right.yaml")
    right = read_layout("right.yaml").layout.pulleys["idler"].at_mm
    assert places[0] == pytest.approx(right, abs=1.5)


@pytest.mark.usefixtures("drawn")
@pytest.mark.parametrize(
    ("name", "told"), [("mirror", "more than one place"), ("loose", "no reading fixes idler yet"), ("abc", "pulleys")]
)
def test_no_layout_is_written_from_what_is_open_but_all_else_is_told(run: Runner, name: str, told: str) -> None:
    ran = run("measure", f"{name}.yaml", "--write", "out.yaml", "--picture", "p.svg")
    assert ran.code == 2 and ran.out == run("measure", f"{name}.yaml").out
    (why,) = ran.err.splitlines()
    assert why.startswith("--write: out.yaml was not written: no layout can be written from") and told in why
    assert new_files() == {"p.svg"}


def test_a_file_with_carriage_returns_for_line_ends_is_written(run: Runner) -> None:
    """One that once was never done."""
    ran = run("measure", ROOT / "tests" / "cases" / "faults" / "cr.yaml", "--write", "out.yaml")
    assert (ran.code, ran.err) == (0, "")
    layout = read_layout("out.yaml").layout
    assert layout.pulleys["far"].at_mm == pytest.approx((300.0, 100.0), abs=1.0)
    assert "distances" not in Path("out.yaml").read_text(encoding="utf-8")


def test_names_alone_are_enough_for_places(run: Runner) -> None:
    """A right angle by 3, 4, 5: b at 300, 0 and c at 0, 400."""
    result = json.loads(run("measure", "abc.yaml", "--json").out)
    places = [(point["x_mm"], point["y_mm"]) for point in result["points"]]
    assert [value for at in places for value in at] == pytest.approx([0.0, 0.0, 300.0, 0.0, 0.0, 400.0], abs=1e-3)


def test_an_existing_file_is_kept_without_force(run: Runner) -> None:
    Path("mine.yaml").write_text("precious", encoding="utf-8")
    ran = run("measure", "in.yaml", "--write", "mine.yaml")
    assert refused(ran) and "which exists already; allowed: a name that is not taken, or --force" in ran.err
    assert Path("mine.yaml").read_text(encoding="utf-8") == "precious"
    assert run("measure", "in.yaml", "--write", "mine.yaml", "--force").code == 0
    assert "Places found" in Path("mine.yaml").read_text(encoding="utf-8")


def test_the_measurements_are_never_written_over(run: Runner) -> None:
    os.symlink("in.yaml", "link.yaml")
    for path in ("in.yaml", "./in.yaml", "link.yaml"):
        ran = run("measure", "in.yaml", "--write", path, "--force")
        assert refused(ran) and "another file than the measurements' own" in ran.err
    assert Path("in.yaml").read_text(encoding="utf-8") == INCHES


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--write", "."), "--write: got '.', a folder; allowed: the name of a file"),
        (("--write", "c.png", "--picture", "c.png"), "allowed: another file than that of --picture"),
        (("--force",), "--force: got no --write beside it"),
    ],
)
def test_bad_options(run: Runner, words: tuple[str, ...], told: str) -> None:
    ran = run("measure", "in.yaml", *words)
    assert refused(ran) and told in ran.err and new_files() == set()


def test_all_bad_options_are_told_at_once(run: Runner) -> None:
    ran = run("measure", "in.yaml", "--write", "gone/a.yaml", "--picture", "p.gif")
    assert refused(ran) and "--write: got" in ran.err and "--picture: got" in ran.err


@pytest.mark.parametrize(
    ("text", "told"),
    [("title: nothing measured\n", "a file without measurements"),
     (INCHES.replace("crank - idler: 13 5/8", "crank - iddler: 0"), "iddler")],
)  # fmt: skip
def test_bad_files(run: Runner, text: str, told: str) -> None:
    Path("layout.yaml").write_text(text, encoding="utf-8")
    ran = run("measure", "layout.yaml", "--write", "out.yaml", "--picture", "p.png")
    assert refused(ran) and told in ran.err and new_files() == {"layout.yaml"}


def test_a_picture_that_cannot_be_written_is_refused_before_a_layout_is(run: Runner) -> None:
    Path("p.svg").mkdir()
    ran = run("measure", "in.yaml", "--picture", "p.svg", "--write", "out.yaml")
    assert refused(ran) and "--picture: got 'p.svg', a folder" in ran.err
    assert list(Path("p.svg").iterdir()) == [] and new_files() == {"p.svg"}


def test_lines_that_are_told_are_those_of_the_file(run: Runner) -> None:
    ran = run("measure", "in.yaml", "--full")
    rows = re.findall(r"^(\w+ - \w+)  +([\d /]+) in .* (\d+)$", ran.out, re.M)
    assert len(rows) == 10
    for pair, value, line in rows:
        assert INCHES.splitlines()[int(line) - 1].split("#")[0].strip() == f"{pair}: {value.strip()}"
