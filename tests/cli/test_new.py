"""`beltplan new`: a layout to begin with, and never over another file."""

import json
from pathlib import Path

import pytest

from tests.cli.running import Runner


def test_what_it_writes_can_be_checked_and_says_that_its_numbers_are_invented(run: Runner, here: Path) -> None:
    ran = run("new", "mine.yaml")
    assert (ran.code, ran.err) == (0, "") and "mine.yaml written, lengths in mm: " in ran.out
    checked = run("check", "mine.yaml", "--json")
    assert (checked.code, checked.err) == (0, "")
    assert not [f for f in json.loads(checked.out)["findings"] if f["severity"] != "note"]
    assert "INVENTED" in Path("mine.yaml").read_text(encoding="utf-8").splitlines()[0]


@pytest.mark.parametrize("content", ["my own work", ""])
def test_an_existing_file_is_never_touched(run: Runner, here: Path, content: str) -> None:
    Path("mine.yaml").write_text(content)
    ran = run("new", "mine.yaml")
    assert (ran.code, ran.out) == (2, "") and "exists already" in ran.err
    assert Path("mine.yaml").read_text() == content


@pytest.mark.parametrize("place", ["gone/mine.yaml", "folder", "nul\0.yaml"])
def test_places_that_cannot_be_written(run: Runner, here: Path, place: str) -> None:
    Path("folder").mkdir()
    ran = run("new", place)
    assert (ran.code, ran.out) == (2, "") and "allowed: " in ran.err and "Traceback" not in ran.err
    assert list(here.rglob("*")) == [here / "folder"]


def test_a_dangling_link_is_not_followed(run: Runner, here: Path) -> None:
    Path("mine.yaml").symlink_to(here / "elsewhere.yaml")
    assert run("new", "mine.yaml").code == 2
    assert not (here / "elsewhere.yaml").exists()


def test_measurements_to_begin_with(run: Runner, here: Path) -> None:
    for more, units in ([], "mm"), (["--units", "in"], "in"):
        ran = run("new", f"{units}.yaml", "--measurements", *more)
        assert (ran.code, ran.err) == (0, "") and f"beltplan measure {units}.yaml" in ran.out
        text = Path(f"{units}.yaml").read_text(encoding="utf-8")
        assert f"written, lengths in {units}: " in ran.out and f"\nunits: {units} " in text
        assert "INVENTED" in text.splitlines()[0]
    again = run("new", "mm.yaml", "--measurements")
    assert (again.code, again.out) == (2, "") and "exists already" in again.err


def test_measurements_to_begin_with_are_no_layout_yet_and_make_one(run: Runner, here: Path) -> None:
    run("new", "mine.yaml", "--measurements")
    checked = run("check", "mine.yaml")
    assert (checked.code, checked.out) == (2, "")
    assert len(checked.err.splitlines()) == 1 and "`beltplan measure mine.yaml --write layout.yaml`" in checked.err
    assert run("measure", "mine.yaml", "--write", "layout.yaml").code == 0
    checked = run("check", "layout.yaml", "--json")
    assert (checked.code, checked.err) == (0, "")
    assert not [f for f in json.loads(checked.out)["findings"] if f["severity"] != "note"]
    assert run("tolerance", "layout.yaml").code == 0
