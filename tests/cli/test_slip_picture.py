"""`beltplan check --slip-picture`: drawn, refused in words, nothing left half-written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import PROBLEM, ROOT, Runner
from tests.cli.test_check import MAGIC

NO_LOADS = (ROOT / "tests" / "cases" / "no_loads.yaml").read_text()
CAMPER = str(ROOT / "layouts" / "camper.yaml")


@pytest.mark.parametrize("ending", MAGIC)
def test_every_ending(run: Runner, here: Path, ending: str) -> None:
    ran = run("check", CAMPER, "--slip-picture", f"slip.{ending}")
    assert (ran.code, ran.err) == (1, "") and list(here.iterdir()) == [here / f"slip.{ending}"]
    assert (here / f"slip.{ending}").read_bytes().startswith(MAGIC[ending])


def test_both_pictures_in_one_run_with_json(run: Runner, here: Path) -> None:
    ran = run("check", CAMPER, "--picture", "a.png", "--slip-picture", "b.png", "--json")
    assert ran.err == "" and ran.out.startswith("{")
    assert sorted(path.name for path in here.iterdir()) == ["a.png", "b.png"]


@pytest.mark.parametrize("name", ["slip.gif", "slip", ""])
def test_other_endings_are_refused(run: Runner, here: Path, name: str) -> None:
    ran = run("check", CAMPER, "--slip-picture", name)
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "--slip-picture" in ran.err and all(ending in ran.err for ending in (".png", ".svg", ".pdf"))


def test_the_same_file_for_both_is_refused(run: Runner, here: Path) -> None:
    ran = run("check", CAMPER, "--picture", "a.png", "--slip-picture", "a.png")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", []) and "another file" in ran.err


@pytest.mark.parametrize("text", [PROBLEM, NO_LOADS], ids=["belt too short", "no speeds"])
def test_a_layout_without_tension_costs_this_picture_alone(run: Runner, here: Path, text: str) -> None:
    Path("layout.yaml").write_text(text)
    plain = run("check", "layout.yaml", "--picture", "a.png")
    ran = run("check", "layout.yaml", "--picture", "a.png", "--slip-picture", "b.png")
    assert (ran.code, ran.err) == (1, "") and sorted(here.iterdir()) == [here / "a.png", here / "layout.yaml"]
    assert ran.out.startswith(plain.out) and plain.code == 1
    assert ran.out.splitlines()[-1].startswith("--slip-picture: not drawn: ")
    reason = ran.out.splitlines()[-1].removeprefix("--slip-picture: not drawn: ")
    assert " ".join(plain.out.split()).count(f"slip not judged: {reason}") == 1


def test_why_it_is_not_drawn_stays_out_of_the_json(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(NO_LOADS)
    plain = run("check", "layout.yaml", "--json")
    ran = run("check", "layout.yaml", "--json", "--slip-picture", "b.png")
    assert (ran.code, ran.out) == (plain.code, plain.out) and json.loads(ran.out)
    assert ran.err == "--slip-picture: not drawn: engine.idle_rpm and engine.max_rpm are not both given\n"


def test_a_place_that_cannot_be_written(run: Runner, here: Path) -> None:
    ran = run("check", CAMPER, "--slip-picture", "gone/slip.png")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "--slip-picture: got 'gone/slip.png'; allowed: a place in a folder that exists" in ran.err
