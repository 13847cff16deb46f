"""`beltplan template`: what is written and said, every refusal in words, nothing left half-written."""

from __future__ import annotations

import json
import re
from itertools import product
from pathlib import Path

import pdfplumber
import pytest

from beltplan.picture.paper import PAPER_NAMES
from beltplan.picture.scene import Scene
from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner
from tests.for_each import for_each

RAILCAR = ROOT / "layouts" / "railcar.yaml"
WORKBOAT = ROOT / "layouts" / "workboat.yaml"
FAR_APART = """\
belt: 6PK
pulleys:
  crank: {{role: crankshaft, at: [0, 0], diameter: 100}}
  far: {{role: alternator, diameter: 100, slide: {{from: [{x}, {y}], to: [{x}, {up}]}}}}
route: [crank, far]
"""


def words_of(drawn: list[Scene]) -> list[str]:
    return [" ".join(label.text for label in scene.labels) for scene in drawn]


def test_writes_the_file_and_says_how_to_print_it(run: Runner, here: Path) -> None:
    """In place of an old one."""
    Path("t.pdf").write_text("old")
    ran = run("template", RAILCAR, "--out", "t.pdf", "--paper", "A2")
    assert (ran.code, ran.err) == (0, "") and list(here.iterdir()) == [here / "t.pdf"]
    said = " ".join(ran.out.split())
    with pdfplumber.open(here / "t.pdf") as pdf:
        pages = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert f"t.pdf: {len(pages)} sheets of A2" in said and "exactly 1:1" in said
    assert 'at 100 %, one-sided, no "fit to page"' in said and "measure the check scales first" in said
    assert "SAFETY" in said and "planning aid" in said and "--paper A0" in said
    assert all(len(line) <= 100 for line in ran.out.splitlines())
    assert all("railcar.yaml of 2001-09-09; beltplan " in page for page in pages)


def test_problems_end_with_1_and_stand_on_screen_and_on_every_page(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(PROBLEM)
    checked = run("check", "layout.yaml", "--json")
    ran = run("template", "layout.yaml", "--out", "t.pdf")
    assert (checked.code, ran.code, ran.err) == (1, 1, "") and "of A4" in ran.out
    count = [finding["severity"] for finding in json.loads(checked.out)["findings"]].count("problem")
    assert count >= 1
    words = f"{count} problem{'s' if count > 1 else ''}"
    assert f"found {words}" in ran.out and "DO NOT PUNCH YET" in ran.out
    assert all(f"DO NOT PUNCH YET: {words}; check the scale too" in page for page in words_of(drawn))


def test_nothing_found_is_said_too(run: Runner, here: Path, drawn: list[Scene]) -> None:
    ran = run("template", WORKBOAT, "--out", "t.pdf", "--paper", "A0")
    assert ran.code == 0 and "CHECK    found nothing against it\n" in ran.out
    assert "Check found nothing against it." in words_of(drawn)[0]


def test_variant_is_drawn_and_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    ran = run("template", WORKBOAT, "--out", "t.pdf", "--paper", "a0", "--variant", "alternator low")
    assert "of A0" in ran.out and "(variant: alternator low)" in ran.out
    assert all("alternator low" in page for page in words_of(drawn))


def test_sheets_with_nothing_on_them_are_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(FAR_APART.format(x=1000, y=1100, up=1200))
    ran = run("template", "layout.yaml", "--out", "t.pdf", "--paper", "A2")
    said = " ".join(ran.out.split())
    rows, columns = (int(said.split(word)[0].split()[-1]) for word in (" rows of", " columns, exactly"))
    found = [re.search(r"row (\d+) of \d+, column (\d+) of", page) for page in words_of(drawn)]
    printed = {(int(place[1]), int(place[2])) for place in found if place is not None}
    told = said.partition("blank sheets not printed: ")[2]
    left_out = {(int(row), int(column)) for row, column in re.findall(r"(\d+)-(\d+)", told)}
    assert left_out and printed == set(product(range(1, rows + 1), range(1, columns + 1))) - left_out


@for_each(
    (("--out", "t.png"), "--out: got 't.png'; allowed: a file name ending in .pdf"),
    (("--out", "t.pdf", "--paper", "B5"), f"--paper: got 'B5'; allowed: {', '.join(PAPER_NAMES)}"),
    (("--out", "t.pdf", "--paper", ""), "--paper: got ''"),
    ((), "the following arguments are required: --out"),
)
def test_bad_options(run: Runner, here: Path, words: tuple[str, ...], told: str) -> None:
    ran = run("template", EXAMPLE, *words)
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert told in ran.err and "Traceback" not in ran.err


def test_only_some_on_fewer_sheets_and_told_as_json(run: Runner, here: Path, drawn: list[Scene]) -> None:
    whole = json.loads(run("template", RAILCAR, "--out", "t.pdf", "--json").out)
    drawn.clear()
    ran = run("template", RAILCAR, "--out", "t.pdf", "--only", " guide,alternator,guide", "--json")
    told = json.loads(ran.out)
    assert ran.code == 0 and told["only"] == ["guide", "alternator"] and len(told["control"]) == 2
    assert len(drawn) == len(told["sheets"]) < len(whole["sheets"])
    assert all({"guide", "alternator"} & {each["from"], each["to"]} for each in told["control"])
    assert whole["only"] is None and whole["not_drawn"] == [] and len(whole["control"]) == 3


def test_unknown_names_are_told_at_once_with_what_may_be_meant(run: Runner, here: Path) -> None:
    ran = run("template", RAILCAR, "--out", "t.pdf", "--only", "gide,crank,xyz")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [])
    assert "--only: got 'gide' (did you mean guide?); allowed: crank, " in ran.err and "got 'xyz'; " in ran.err


def test_both_bad_options_are_told_at_once(run: Runner, here: Path) -> None:
    ran = run("template", EXAMPLE, "--out", "t.svg", "--paper", "A9")
    assert ran.code == 2 and "'t.svg'" in ran.err and "'A9'" in ran.err


@pytest.mark.parametrize("out", ["own.pdf", "./own.pdf", "link.pdf", "block.pdf"])
def test_what_is_read_is_not_overwritten(run: Runner, here: Path, out: str) -> None:
    """A layout may be called anything, and a link may lead from a .pdf to the drawing of an obstacle."""
    (here / "block.csv").write_text("0,0\n10,0\n10,10\n")
    text = FAR_APART.format(x=300, y=0, up=40) + "obstacles: {block: {file: block.csv, at: [0, 300]}}\n"
    (here / "own.pdf").write_text(text)
    (here / "link.pdf").symlink_to("own.pdf")
    (here / "block.pdf").symlink_to("block.csv")
    ran = run("template", "own.pdf", "--out", out)
    assert (ran.code, ran.out) == (2, "") and f"--out: got {out!r}; allowed: another file than the " in ran.err
    assert (here / "own.pdf").read_text() == text and (here / "block.pdf").is_symlink()


def test_too_many_sheets_are_refused_and_larger_papers_named(run: Runner, here: Path, drawn: list[Scene]) -> None:
    Path("layout.yaml").write_text(FAR_APART.format(x=1800, y=2600, up=2700))
    ran = run("template", "layout.yaml", "--out", "t.pdf")
    assert (ran.code, ran.out, list(here.iterdir())) == (2, "", [here / "layout.yaml"])
    assert "--paper: got 'A4', which takes" in ran.err and "allowed: at most 100 sheets" in ran.err
    assert "A0 (" in ran.err and "A4 (" not in ran.err
    named = dict(re.findall(r"(\w+) \((\d+)\)", ran.err))
    assert list(named)[-1] == "A0" and all(int(count) <= 100 for count in named.values())
    assert run("template", "layout.yaml", "--out", "t.pdf", "--paper", "A0").code in (0, 1)
    assert 1 < len(drawn) <= int(named["A0"])
