"""`beltplan compare`: columns, exit status, refusals, JSON, pictures, and what the README shows of it."""

import json
import os
from pathlib import Path

import pytest

from tests.cli.running import EXAMPLE, OVERLAPPING, PROBLEM, ROOT, Runner
from tests.for_each import for_each

WORKBOAT = str(ROOT / "layouts" / "workboat.yaml")
CAMPER = str(ROOT / "layouts" / "camper.yaml")
VARIED = PROBLEM + "variants:\n  overlapping: {pulleys: {crank: {at: [300, 0], diameter: 130}}}\n  same: {}\n"
"""A problem, a variant whose pulleys overlap all over the slide, and one that changes nothing."""


def columns(run: Runner, *layouts: object) -> dict[str, dict[str, object]]:
    ran = run("compare", *layouts, "--json")
    assert ran.err == "" and ran.code in (0, 1)
    return {column["name"]: column for column in json.loads(ran.out, parse_constant=pytest.fail)["columns"]}


def test_base_and_variants_in_the_order_of_the_file(run: Runner) -> None:
    found = columns(run, WORKBOAT)
    assert list(found) == ["base", "alternator low", "sides swapped"]
    assert [column["variant"] for column in found.values()] == [None, "alternator low", "sides swapped"]


def test_several_files_each_with_its_variants(run: Runner) -> None:
    found = columns(run, CAMPER, WORKBOAT)
    names = ["camper", "camper: with idler", "workboat", "workboat: alternator low", "workboat: sides swapped"]
    assert list(found) == names
    assert [column["file"] for column in found.values()] == [CAMPER] * 2 + [WORKBOAT] * 3


def test_files_of_one_name_and_a_variant_called_base(run: Runner, here: Path) -> None:
    for folder in ("a", "b"):
        (here / folder).mkdir()
        (here / folder / "drive.yaml").write_text(PROBLEM + "variants: {base: {}}\n")
    assert list(columns(run, "a/drive.yaml")) == ["base", "base (2)"]
    found = columns(run, "a/drive.yaml", "b/drive.yaml")
    assert list(found) == ["a/drive.yaml", "a/drive.yaml: base", "b/drive.yaml", "b/drive.yaml: base"]


def test_every_column_is_what_check_says_of_it(run: Runner) -> None:
    for name, column in columns(run, CAMPER).items():
        variant = [] if name == "base" else ["--variant", name]
        alone = json.loads(run("check", CAMPER, *variant, "--json").out)
        assert (column["verdict"], column["findings"]) == (alone["verdict"], alone["findings"])
        assert (
            column["belt"] == alone["belt"]["designation"] and column["best_stock"] == alone["stock"][0]["designation"]
        )
        assert column["adjuster_position"] == alone["adjuster"]["position"]
        assert column["take_up_percent"] == alone["adjuster"]["take_up_percent"]
        speeds = {row["name"]: row["rpm"] for row in alone["pulleys"] if row["role"] == "alternator"}
        assert isinstance(column["alternators"], list)
        told = {row["pulley"]: (row["idle_rpm"], row["max_rpm"]) for row in column["alternators"]}
        assert told == {pulley: (rpm["idle"], rpm["max"]) for pulley, rpm in speeds.items()}


def test_exit_status_is_that_of_the_best(run: Runner, here: Path) -> None:
    Path("bad.yaml").write_text(PROBLEM)
    assert run("compare", "bad.yaml").code == 1
    assert run("compare", "bad.yaml", EXAMPLE).code == 0 == run("compare", EXAMPLE, "bad.yaml").code
    assert run("compare", WORKBOAT).code == 0


def test_no_belt_path_is_a_column_while_another_can_be_judged(run: Runner, here: Path) -> None:
    Path("none.yaml").write_text(OVERLAPPING)
    ran = run("compare", "none.yaml", EXAMPLE)
    assert (ran.code, ran.err) == (0, "")
    assert "no belt path" in ran.out and "overlap" in ran.out
    found = columns(run, "none.yaml", EXAMPLE)
    assert found["none"]["verdict"] == "no belt path" and found["none"]["findings"] is None
    assert found["none"]["rank"] == len(found)


CROSSED = EXAMPLE.read_text() + "  signed: {pulleys: {guide: {at: [0, -245]}}}\n"
"""The example with a wrong sign in a variant."""


def test_what_was_tried_for_a_path_is_told_as_check_tells_it(run: Runner, here: Path) -> None:
    Path("crossed.yaml").write_text(CROSSED)
    alone, text = run("check", "crossed.yaml", "--variant", "signed"), run("compare", "crossed.yaml")
    _, mark, mend = " ".join(alone.err.split()).partition(". Has guide")
    assert alone.code == 2 and "(tried)" in mend and mark + mend in " ".join(text.out.split())
    assert columns(run, "crossed.yaml")["signed"]["mend"] == mark[2:] + mend
    assert columns(run, "crossed.yaml")["base"]["mend"] is None


@pytest.mark.usefixtures("drawn")
def test_no_belt_path_anywhere_is_refused_with_file_and_line_and_drawn_all_the_same(run: Runner, here: Path) -> None:
    Path("none.yaml").write_text(OVERLAPPING + "variants: {same: {}}\n")
    ran = run("compare", "none.yaml", "--picture", "p.png")
    assert (ran.code, ran.out) == (2, "") and (here / "p.png").read_bytes().startswith(b"\x89PNG")
    assert ran.err.startswith("none.yaml:3: pulleys.crank, pulleys.far: crank and far overlap")
    assert len(ran.err.splitlines()) == 1


def test_a_variant_without_a_path_and_one_that_changes_nothing(run: Runner, here: Path) -> None:
    Path("varied.yaml").write_text(VARIED)
    found = columns(run, "varied.yaml")
    assert found["overlapping"]["verdict"] == "no belt path" and found["overlapping"]["rank"] == 3
    assert found["base"]["rank"] == found["same"]["rank"] == 1
    assert {key: value for key, value in found["base"].items() if key not in ("name", "variant")} == {
        key: value for key, value in found["same"].items() if key not in ("name", "variant")
    }


def test_the_order_of_files_changes_no_rank(run: Runner) -> None:
    files = [CAMPER, WORKBOAT, str(EXAMPLE)]
    first, again = columns(run, *files), columns(run, *reversed(files))
    assert {name: column["rank"] for name, column in first.items()} == {n: c["rank"] for n, c in again.items()}


@pytest.mark.parametrize("again", ["a.yaml", "./a.yaml", "link.yaml"])
def test_a_layout_given_twice_is_a_fault(run: Runner, here: Path, again: str) -> None:
    Path("a.yaml").write_text(PROBLEM)
    os.symlink("a.yaml", "link.yaml")
    ran = run("compare", "a.yaml", again)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == f"LAYOUT: got {again!r} twice; allowed: each layout once\n"


def test_faults_of_every_file_in_one_run(run: Runner, here: Path) -> None:
    Path("a.yaml").write_text(PROBLEM.replace("diameter: 100}", "diameter: -5}"))
    Path("b.yaml").write_text(PROBLEM + "variants: {odd: {belt: 6XY}}\n")
    ran = run("compare", "a.yaml", "gone.yaml", "b.yaml", WORKBOAT)
    assert (ran.code, ran.out) == (2, "")
    heads = [line.split(": got ")[0] for line in ran.err.splitlines()]
    assert heads == [
        "a.yaml:3: pulleys.crank.diameter",
        "there is no file gone.yaml in this folder",
        "b.yaml:6: variants.odd.belt",
    ]


BAD = [
    ([], "usage: beltplan compare"),
    (["--json"], "usage: beltplan compare"),
    ([WORKBOAT, "--variant", "base"], "compare has no option --variant"),
    (["folder"], "'folder' is a folder"),
    (["nul\0.yaml"], "'nul\\x00.yaml' cannot be read: embedded null byte"),
]


@for_each(*BAD)
def test_bad_input(run: Runner, here: Path, arguments: list[str], words: str) -> None:
    (here / "folder").mkdir(exist_ok=True)
    before = sorted(here.rglob("*"))
    ran = run("compare", *arguments)
    assert (ran.code, ran.out) == (2, "") and ran.err.startswith(words) and "Traceback" not in ran.err
    assert sorted(here.rglob("*")) == before
