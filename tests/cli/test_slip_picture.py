"""`beltplan check --slip-picture`: drawn, refused in words, nothing left half-written."""

import json
from pathlib import Path

import pytest

from tests.cli.running import PROBLEM, ROOT, Runner
from tests.for_each import for_each

pytestmark = pytest.mark.usefixtures("drawn")
NO_LOADS = (ROOT / "tests" / "cases" / "no_loads.yaml").read_text()
CAMPER = str(ROOT / "layouts" / "camper.yaml")


def test_both_pictures_in_one_run_with_json(run: Runner, here: Path) -> None:
    ran = run("check", CAMPER, "--picture", "a.png", "--slip-picture", "b.png", "--json")
    assert ran.err == "" and ran.out.startswith("{")
    assert sorted(path.name for path in here.iterdir()) == ["a.png", "b.png"]


@for_each(PROBLEM, NO_LOADS, ids=["belt too short", "no speeds"])
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
