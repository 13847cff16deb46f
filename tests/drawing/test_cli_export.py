"""`beltplan export`: every ending, exit status, refusals in words, files whole or absent."""

from __future__ import annotations

import csv
import json
import math
import os
import random
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
import svgpathtools
import yaml
from ezdxf.filemanagement import readfile

from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner, process
from tests.for_each import for_each
from tests.fuzz.extremes import extreme

WORKBOAT = str(ROOT / "layouts" / "workboat.yaml")
TOO_TIGHT = str(ROOT / "layouts" / "too_tight.yaml")
ENDINGS = ("dxf", "svg", "csv", "json")


def _length(path: Path) -> float:
    if path.suffix == ".dxf":
        parts = readfile(path).modelspace().query('*[layer=="belt_line"]')
        arcs = [math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360.0) * e.dxf.radius for e in parts.query("ARC")]
        return math.fsum([*arcs, *(e.dxf.start.distance(e.dxf.end) for e in parts.query("LINE"))])
    if path.suffix == ".svg":
        paths, kinds = svgpathtools.svg2paths(str(path))
        return next(float(p.length()) for p, kind in zip(paths, kinds, strict=True) if kind["d"].endswith("Z"))
    text = path.read_text(encoding="utf-8")
    rows = json.loads(text)["parts"] if path.suffix == ".json" else list(csv.DictReader(text.splitlines()))
    return math.fsum(float(row["length_mm"]) for row in rows if row["layer"] == "belt_line")


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_ending(run: Runner, here: Path, ending: str) -> None:
    """6PK1840 is judged, as the README shows: 1840 mm of belt on its effective line."""
    ran = run("export", WORKBOAT, "--out", f"w.{ending}", "--units", "mm")
    assert (ran.code, ran.err) == (0, "") and list(here.iterdir()) == [here / f"w.{ending}"]
    assert f"WRITTEN  w.{ending}: " in ran.out and "path as drawn 1840.0 mm" in " ".join(ran.out.split())
    assert "SAFETY  Engine off" in ran.out
    assert _length(here / f"w.{ending}") == pytest.approx(1840.0, abs=1e-6)


@pytest.mark.parametrize("ending", ENDINGS)
def test_with_problems_it_is_written_and_says_so(run: Runner, here: Path, ending: str) -> None:
    ran = run("export", TOO_TIGHT, "--out", f"t.{ending}")
    assert (ran.code, ran.err) == (1, "") and "finds 15 problems" in ran.out
    text = (here / f"t.{ending}").read_text(encoding="utf-8")
    assert ending == "csv" or "15 problems" in text


@pytest.mark.parametrize("name", ["A.DXF", "ä ö.dxf", "a.b.Dxf"])
def test_names_of_files(run: Runner, here: Path, name: str) -> None:
    assert run("export", EXAMPLE, "--out", name).code == 0
    assert readfile(here / name).dxfversion == "AC1009"


def test_a_variant(run: Runner, here: Path) -> None:
    """By the README, 6PK1765 is the best belt of this variant."""
    ran = run("export", WORKBOAT, "--variant", "alternator low", "--out", "low.json")
    found = json.loads((here / "low.json").read_text(encoding="utf-8"))
    assert ran.code == 0 and "(variant: alternator low)" in ran.out
    assert (found["variant"], found["belt"]) == ("alternator low", "6PK1765")


def test_an_existing_file_is_overwritten_only_by_force_and_as_a_whole(run: Runner, here: Path) -> None:
    """A drawing may have been gone on with, as a layout; so it is told as of one."""
    (here / "w.svg").write_text("x" * 100_000, encoding="utf-8")
    ran = run("export", WORKBOAT, "--out", "w.svg")
    assert ran.code == 2 and (here / "w.svg").stat().st_size == 100_000
    assert ran.err == "--out: got 'w.svg', which exists already; allowed: a name that is not taken, or --force\n"
    assert run("export", WORKBOAT, "--out", "w.svg", "--force").code == 0
    assert ElementTree.parse(here / "w.svg").getroot().tag.endswith("svg")
    first = (here / "w.svg").read_bytes()
    assert run("export", WORKBOAT, "--out", "w.svg", "--force").code == 0 and (here / "w.svg").read_bytes() == first


@for_each(
    ("w.pdf", "--out: got 'w.pdf'; allowed: a file name ending in .dxf, .svg, .csv or .json"),
    (".dxf", "--out: got '.dxf'; allowed: a file name ending in"),
    ("w.dxf/", "--out: got 'w.dxf/'; allowed: a file name ending in"),
    ("x" * 300 + ".csv", "which cannot be written ("),
)
def test_refused_names(run: Runner, here: Path, out: str, told: str) -> None:
    (here / "folder.dxf").mkdir(exist_ok=True)
    ran = run("export", WORKBOAT, "--out", out)
    assert (ran.code, ran.out) == (2, "") and told in ran.err and "Traceback" not in ran.err
    assert [path.name for path in here.rglob("*")] == ["folder.dxf"]


def test_the_layouts_own_file_is_not_overwritten(run: Runner, here: Path) -> None:
    """JSON is YAML too, so a layout may have this ending."""
    text = json.dumps(yaml.safe_load(EXAMPLE.read_text(encoding="utf-8")))
    (here / "own.json").write_text(text, encoding="utf-8")
    (here / "other.json").symlink_to("own.json")
    for name in ("own.json", "./own.json", "other.json"):
        ran = run("export", "own.json", "--out", name)
        assert (ran.code, ran.out) == (2, "") and "allowed: another file than the layout's own" in ran.err
    assert (here / "own.json").read_text(encoding="utf-8") == text


@pytest.mark.parametrize("ending", ["dxf", "svg", "csv"])
def test_the_drawing_of_an_obstacle_is_not_overwritten(run: Runner, here: Path, ending: str) -> None:
    """Of a variant's too, though another one is written; a file beside it may be written."""
    drawings = {
        "csv": "0,0\n10,0\n10,10\n",
        "svg": '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h9v9z"/></svg>',
        "dxf": "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n5\n0\nENDSEC\n0\nEOF\n",
    }
    block = here / f"block.{ending}"
    block.write_text(drawings[ending])
    obstacles = f"{{obstacles: {{block: {{file: block.{ending}, at: [0, 300]}}}}}}"
    Path("layout.yaml").write_text(PROBLEM + f"variants: {{blocked: {obstacles}}}\n")
    for name in (f"block.{ending}", f"./block.{ending}", str(block)):
        ran = run("export", "layout.yaml", "--out", name, "--force")
        assert (ran.code, ran.out) == (2, "")
        assert "allowed: another file than the drawing of an obstacle in this layout" in ran.err
    assert block.read_text() == drawings[ending]
    assert run("export", "layout.yaml", "--out", f"other.{ending}").code == 1


def test_nothing_is_left_where_writing_breaks_off(run: Runner, here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (here / "w.dxf").write_text("old", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    ran = run("export", WORKBOAT, "--out", "w.dxf", "--force")
    assert (ran.code, ran.out) == (2, "") and "cannot be written (No space left on device)" in ran.err
    assert [path.name for path in here.iterdir()] == ["w.dxf"] and (here / "w.dxf").read_text() == "old"


def test_words_of_a_file_that_try_to_break_another(run: Runner, here: Path) -> None:
    name = '<b>&"é" %%d \\U+0041 ^'
    text = PROBLEM.replace("far", f"'{name}'") + "title: 'T <b> & \"ü\" %%c'\n"
    (here / "layout.yaml").write_text(text, encoding="utf-8")
    for ending in ENDINGS:
        assert run("export", "layout.yaml", "--out", f"n.{ending}").code == 1
    assert ElementTree.parse(here / "n.svg").getroot()[0].text == 'T <b> & "ü" %%c'
    assert {part["name"] for part in json.loads((here / "n.json").read_text())["parts"]} >= {name, "crank"}
    assert readfile(here / "n.dxf").audit().errors == []


def test_extreme_layouts_come_back_whole(run: Runner, here: Path) -> None:
    """Drives that touch, lie in one line, are tiny or huge: written in every form alike, or refused in every form."""
    rng, written = random.Random(5), 0
    for _ in range(30):
        (here / "layout.yaml").write_bytes(extreme(rng))
        (code,) = {run("export", "layout.yaml", "--out", f"x.{ending}", "--force").code for ending in ENDINGS}
        if code == 2:
            continue
        written += 1
        path = json.loads((here / "x.json").read_text(encoding="utf-8"))["path_mm"]
        assert [_length(here / f"x.{ending}") for ending in ENDINGS] == pytest.approx([path] * 4, abs=1e-6, rel=0)
        assert readfile(here / "x.dxf").audit().fixes == []
    assert written > 5


@pytest.mark.skipif(sys.platform == "win32", reason="file names are not bytes there")
def test_a_file_name_that_is_no_text(here: Path) -> None:
    ran = process(["export", WORKBOAT, "--out", b"\xff.csv"], here)
    assert (ran.code, ran.err) == (0, "") and os.listdir(b".") == [b"\xff.csv"] and "\\udcff.csv" in ran.out


def test_only_the_form_that_is_wanted_is_loaded(here: Path) -> None:
    code = (
        "import sys; from beltplan.cli.main import main; "
        f"main(['export', {WORKBOAT!r}, '--out', 'w.csv']); "
        "print([m for m in sys.modules if m.startswith(('matplotlib', 'xml.etree', 'beltplan.report.export_dxf'))])"
    )
    assert process([], here, code).out.endswith("[]\n")


@for_each("=1+1", "+1", "-1", "@sum", "a=1")
def test_no_table_program_computes_a_name(run: Runner, here: Path, name: str) -> None:
    """Common practice, no source: an apostrophe makes a text of it; numbers, negative ones too, stay numbers."""
    Path("layout.yaml").write_text(PROBLEM.replace("far", json.dumps(name)))
    assert run("export", "layout.yaml", "--out", "out.csv", "--force").code == 1
    cells = {cell for row in csv.reader(Path("out.csv").read_text().splitlines()) for cell in row}
    assert (name if name == "a=1" else f"'{name}") in cells
    assert all(float(cell) < 0.0 for cell in cells if cell and cell[0] in "=+-@")
