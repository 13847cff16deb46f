"""One rule of units: the file's own, or those asked for, on every screen and in every picture; JSON stays in mm."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from beltplan.picture import painter
from beltplan.picture.scene import Label, Scene
from tests.cli.running import ROOT, Runner

pytestmark = pytest.mark.usefixtures("less_is_judged")
RAILCAR, CAMPER, BUGGY = (str(ROOT / "layouts" / f"{name}.yaml") for name in ("railcar", "camper", "buggy_measured"))
"""The last in inches."""
COMMANDS = {
    "check": ("check", RAILCAR, "--full", "--picture", "a.svg", "--slip-picture", "b.svg"),
    "route": ("route", RAILCAR, "--full", "--picture", "a.svg"),
    "place": ("place", RAILCAR, "--pulley", "alternator", "--step", "40", "--full", "--picture", "a.svg"),
    "compare": ("compare", RAILCAR, str(ROOT / "layouts" / "workboat.yaml"), "--full", "--picture", "a.svg"),
    "squeal": ("squeal", RAILCAR, "--full"),
    "cure": ("cure", CAMPER, "--full", "--picture", "a.svg", "--write", "cured.yaml"),
    "tolerance": ("tolerance", RAILCAR, "--draws", "300", "--full", "--picture", "a.svg"),
    "export": ("export", RAILCAR, "--out", "a.csv"),
    "fit": ("fit", RAILCAR),
    "page": ("page", RAILCAR, "--out", "a.html"),
    "measure": ("measure", BUGGY, "--full", "--picture", "a.svg", "--write", "found.yaml"),
}
_BESIDE = re.compile(r"\d mm \([^)]*\bin\b|\([\d., to]+ (?:in|mm)\)")
_OTHER = {"in": re.compile(r"\d mm\b"), "mm": re.compile(r"\.\d+ in\b(?! steady)")}
_AS_READ = re.compile(r"READINGS .* sigmas:")
"""What a tape read stays as it was read."""


def bare(text: str, units: str) -> bool:
    """Whether a length stands in the other unit alone, without the one asked for beside it in brackets."""
    return _OTHER[units].search(_BESIDE.sub("", text)) is not None


@pytest.fixture
def texts(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every text of the pictures that are drawn from now on."""
    found: list[str] = []
    real = painter.figure_of

    def taken_down(scene: Scene) -> object:
        found.extend(item.text for item in scene.items if isinstance(item, Label))
        return real(replace(scene, items=()))  # painted empty: the words are all that is asked

    monkeypatch.setattr(painter, "figure_of", taken_down)
    return found


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("command", list(COMMANDS))
def test_text_and_picture_are_in_the_units_asked_for(
    run: Runner, here: Path, texts: list[str], command: str, units: str
) -> None:
    ran = run(*COMMANDS[command], "--units", units)
    assert ran.code in (0, 1) and ran.out and ran.err == ""
    told = _AS_READ.sub("", " ".join(ran.out.split())).split(". ")
    drawn = [text for text in texts if " mm" in text or " in" in text]
    assert any(f" {units}" in text for text in told)
    assert [text for text in [*told, *drawn] if bare(text, units)] == []


def test_the_option_is_no_change_of_the_layout(run: Runner, here: Path) -> None:
    """What is written reads back in the file's own units, and the box of a search is in them."""
    for command in ("cure", "measure"):
        run(*COMMANDS[command], "--units", "mm" if command == "measure" else "in")
    assert "units: mm" in (here / "cured.yaml").read_text(encoding="utf-8")
    assert "units: in" in (here / "found.yaml").read_text(encoding="utf-8")
    box = ("--pulley", "alternator", "--within", "-130,-110,400,420", "--json")
    assert run("place", RAILCAR, *box).out == run("place", RAILCAR, *box, "--units", "in").out
