"""`beltplan export`: every ending, exit status, refusals in words, files whole or absent."""

from __future__ import annotations

import csv
import json
import math
import os
import random
import re
import sys
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import svgpathtools
import yaml
from ezdxf.filemanagement import readfile

from beltplan.drawing.content import Content, csv_text, export_json
from beltplan.drawing.report import DRAWN, FORM_WORDS, Form, export_report
from beltplan.drawing.study import Arc, Outline, Ring, Spot
from beltplan.drive.layout import Units
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.cli.running import EXAMPLE, PROBLEM, ROOT, Runner, process
from tests.drawing import exports
from tests.for_each import for_each
from tests.fuzz.extremes import extreme
from tests.report.results import read_back

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


# What `export` says: the file, its unit, layers with parts and lengths, problems, caution.


def said(content: Content, path: str, form: Form, units: Units = "mm", width: int = 100) -> str:
    return shown(export_report(content, path, form, units), Screen(width))


@for_each(*FORM_WORDS)
@for_each(*exports.contents()[:9], ids=lambda content: content.heading)
def test_it_fits_the_page_and_names_file_unit_path_and_caution(form: Form, content: Content) -> None:
    text = said(content, f"out.{form}", form)
    words = " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 100
    assert f"WRITTEN out.{form}: " in words and "millimetres" in words and SAFETY_IN_SHORT in words
    assert f"path as drawn {exports.path_mm(content):.1f} mm" in words
    assert ("\nnotes" in text) == (form in DRAWN)


def test_layers_with_parts_and_lengths() -> None:
    text = said(exports.shipped("workboat"), "w.dxf", "dxf")
    rows = {line.split()[0]: line.split()[-2:] for line in text.splitlines() if re.match("[a-z_]+ ", line)}
    assert rows["belt_line"] == ["12", "1840.0"] and rows["obstacles"][0] == "6" and rows["centres"] == ["7", "-"]
    assert set(rows) >= {*exports.LAYER_NAMES, "names", "notes"}


def test_problems_are_told_in_capitals() -> None:
    text = said(exports.shipped("too_tight"), "t.csv", "csv")
    assert "CHECK    DO NOT CUT YET: beltplan check finds 15 problems in this layout" in text
    sure = exports.shipped("workboat")
    assert "DO NOT CUT" not in said(sure, "w.csv", "csv")
    route = sure.plan.route
    doubted = replace(route, layout=replace(route.layout, in_doubt="crank - idler (line 9) of m.yaml"))
    text = said(replace(sure, plan=replace(sure.plan, route=doubted)), "w.csv", "csv")
    assert "CHECK    DO NOT CUT YET: places in doubt, measure again crank - idler (line 9) of m.yaml\n" in text


def test_inches_and_a_narrow_window() -> None:
    text = said(exports.shipped("workboat"), "w.dxf", "dxf", "in", 72)
    assert max(map(len, text.splitlines())) <= 72
    # 1840 mm / 25.4
    assert "72.44 in" in text and re.search(r"^belt_line .* 12 +72\.44$", text, re.MULTILINE) and "length, in" in text
    assert "not in inches" in text and "not in inches" not in said(exports.shipped("workboat"), "w.dxf", "dxf")


# The table of parts read back by csv and numpy: lengths, places, units in the names, words that cannot break it.


EVERY = for_each(*exports.contents(), ids=lambda content: content.heading)


def _rows(content: Content) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(csv_text(content))))


def _numbers(rows: list[dict[str, str]], *names: str) -> np.ndarray:
    return np.array([[float(row[name]) for name in names] for row in rows])


@EVERY
def test_lengths_sum_to_the_path(content: Content) -> None:
    belt = [row for row in _rows(content) if row["layer"] == "belt_line"]
    assert _numbers(belt, "length_mm").sum() == pytest.approx(exports.path_mm(content), abs=exports.CLOSE_MM)


@EVERY
def test_lengths_follow_from_the_other_columns(content: Content) -> None:
    """Plane geometry: a chord from end to end; an arc is its radius times its sweep."""
    rows = _rows(content)
    straight = [row for row in rows if row["part"] in ("line", "edge")]
    x, y, x2, y2, length = _numbers(straight, "x_mm", "y_mm", "x2_mm", "y2_mm", "length_mm").T
    assert np.hypot(x2 - x, y2 - y) == pytest.approx(length, abs=1e-8)
    arcs = [row for row in rows if row["part"] == "arc"]
    radius, sweep, length = _numbers(arcs, "radius_mm", "sweep_deg", "length_mm").T
    assert np.radians(np.abs(sweep)) * radius == pytest.approx(length, abs=1e-8)


@EVERY
def test_ends_of_arcs_follow_from_centre_radius_and_angles(content: Content) -> None:
    arcs = [row for row in _rows(content) if row["part"] == "arc"]
    at, radius = _numbers(arcs, "centre_x_mm", "centre_y_mm"), _numbers(arcs, "radius_mm")
    start, sweep = np.radians(_numbers(arcs, "start_deg", "sweep_deg")).T
    for names, angle in ((("x_mm", "y_mm"), start), (("x2_mm", "y2_mm"), start + sweep)):
        places = at + radius * np.column_stack([np.cos(angle), np.sin(angle)])
        assert places == pytest.approx(_numbers(arcs, *names), abs=1e-7)


@EVERY
def test_the_belt_is_a_closed_chain(content: Content) -> None:
    belt = [row for row in _rows(content) if row["layer"] == "belt_line"]
    starts, ends = _numbers(belt, "x_mm", "y_mm"), _numbers(belt, "x2_mm", "y2_mm")
    assert np.roll(starts, -1, axis=0) == pytest.approx(ends, abs=1e-9)


@EVERY
def test_a_row_a_part_and_one_an_edge(content: Content) -> None:
    rows = _rows(content)
    edges = sum(len(part.corners_mm) for part in content.parts if isinstance(part, Outline))
    assert len(rows) == edges + sum(not isinstance(part, Outline) for part in content.parts)
    kinds = {kind: sum(row["part"] == kind for row in rows) for kind in ("arc", "circle", "point", "edge")}
    wanted = {"arc": Arc, "circle": Ring, "point": Spot}
    assert kinds == {kind: sum(isinstance(p, of) for p in content.parts) for kind, of in wanted.items()} | {
        "edge": edges
    }


def test_an_outline_is_closed_by_its_last_edge() -> None:
    rows = [row for row in _rows(exports.shipped("too_tight")) if row["part"] == "edge"]
    starts, ends = _numbers(rows, "x_mm", "y_mm"), _numbers(rows, "x2_mm", "y2_mm")
    assert (np.roll(starts, -1, axis=0) == ends).all() and len({row["name"] for row in rows}) == 1


def test_every_column_of_numbers_names_its_unit_and_what_is_unknown_is_empty() -> None:
    first, *rows = csv.reader(StringIO(csv_text(exports.shipped("camper"))))
    assert first[:3] == ["part", "layer", "name"] and all(name.endswith(("_mm", "_deg")) for name in first[3:])
    assert {len(row) for row in rows} == {len(first)}
    filled = {"line": 5, "edge": 5, "arc": 10, "circle": 4, "point": 2}
    for row in rows:
        assert sum(cell != "" for cell in row[3:]) == filled[row[0]]
        assert all(math.isfinite(float(cell)) for cell in row[3:] if cell)


def test_words_that_try_to_break_the_table() -> None:
    text = csv_text(exports.of(exports.nasty()))
    rows = list(csv.reader(StringIO(text), strict=True))
    assert {len(row) for row in rows} == {13} and "\r" not in text and text.endswith("\n")
    assert len(text.splitlines()) == len(rows)
    names = {row[2] for row in rows}
    assert any(name.startswith("Kühl & <Pumpe> \"quoted\" 'too'") and name.isprintable() for name in names)
    assert text.encode("utf-8").decode("utf-8") == text


# The export as JSON, read by the standard library: sums, keys, null where unknown, the table's own numbers.


def _read(content: Content) -> dict[str, Any]:
    text = export_json(content)
    assert text.isascii() and text.endswith("}\n")
    return read_back(text)


@EVERY
def test_lengths_of_the_json_sum_to_the_path(content: Content) -> None:
    found = _read(content)
    belt = [part["length_mm"] for part in found["parts"] if part["layer"] == "belt_line"]
    assert math.fsum(belt) == pytest.approx(found["path_mm"], abs=exports.CLOSE_MM)
    assert found["path_mm"] == pytest.approx(exports.path_mm(content), abs=1e-9)


@EVERY
def test_the_parts_are_the_rows_of_the_table(content: Content) -> None:
    rows = list(csv.DictReader(StringIO(csv_text(content))))
    for part, row in zip(_read(content)["parts"], rows, strict=True):
        assert list(part) == list(row)
        for key, value in part.items():
            assert row[key] == ("" if value is None else value if isinstance(value, str) else f"{value:.10f}")


def test_keys_and_words() -> None:
    found = _read(exports.shipped("workboat", "alternator low"))
    assert (found["units"], found["angles"], found["variant"], found["problems"]) == ("mm", "deg", "alternator low", 0)
    assert found["caution"] == SAFETY and found["verdict"].startswith("works on paper")
    assert found["frame"].endswith("x right, y up") and found["belt"] == "6PK1765"
    ill = _read(exports.shipped("too_tight"))
    assert (ill["belt"], ill["variant"], ill["problems"]) == (None, None, 15)


@EVERY
def test_layers_count_their_parts_and_lengths(content: Content) -> None:
    found = _read(content)
    assert [layer["name"] for layer in found["layers"]] == list(exports.LAYER_NAMES)
    for layer in found["layers"]:
        own = [part for part in content.parts if part.layer == layer["name"]]
        lengths = [part["length_mm"] or 0.0 for part in found["parts"] if part["layer"] == layer["name"]]
        assert layer["parts"] == len(own) and layer["length_mm"] == pytest.approx(math.fsum(lengths), abs=1e-6)


def test_words_that_try_to_break_it_and_numbers_that_are_none() -> None:
    content = exports.of(exports.nasty())
    assert _read(content)["title"] == exports.NASTY
    with pytest.raises(ValueError, match="nan"):
        export_json(replace(content, parts=(Spot("centres", "a", (0.0, math.nan)),)))
    assert json.loads(export_json(replace(content, parts=(Spot("centres", "a", (-1e-13, 5.0)),))))["parts"] == [
        {
            "part": "point", "layer": "centres", "name": "a", "x_mm": 0.0, "y_mm": 5.0, "x2_mm": None, "y2_mm": None,
            "centre_x_mm": None, "centre_y_mm": None, "radius_mm": None, "start_deg": None, "sweep_deg": None,
            "length_mm": None,
        }
    ]  # fmt: skip
