"""`beltplan check --slip-picture`: drawn, refused in words, nothing left half-written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import PROBLEM, ROOT, Runner
from tests.cli.test_check import MAGIC

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


def test_a_layout_without_tension_is_refused_in_words_and_draws_nothing(run: Runner, here: Path) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    ran = run("check", "layout.yaml", "--picture", "a.png", "--slip-picture", "b.png")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [here / "layout.yaml"])
    assert "--slip-picture: " in ran.err and "allowed: a layout whose tension can be computed: " in ran.err


def test_a_place_that_cannot_be_written(run: Runner, here: Path) -> None:
    ran = run("check", CAMPER, "--slip-picture", "gone/slip.png")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "--slip-picture: got 'gone/slip.png', which cannot be written" in ran.err
