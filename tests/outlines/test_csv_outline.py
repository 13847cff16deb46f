"""Points from CSV: headers, units, separators, decimal commas, and every row that cannot be read."""

import io
from pathlib import Path

import numpy as np

from beltplan.geometry.vectors import Floats
from tests.for_each import for_each
from tests.outlines.drawings import BLOCK, corners, csv_of, refusal, refusals

PLAIN_ROWS = "\n".join(f"{x},{y}" for x, y in BLOCK) + "\n"


def rows(separator: str, header: str = "", comma: str = ".") -> str:
    lines = [f"{x:g}{separator}{y:g}".replace(".", comma) for x, y in BLOCK]
    return "\n".join(([header] if header else []) + lines) + "\n"


def read(folder: Path, text: str | bytes, more: str = "", top: str = "") -> Floats:
    (folder / "block.csv").write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return corners(folder, "block.csv", more, top)


def test_as_numpy_reads_it(tmp_path: Path) -> None:
    """The reference is numpy's own reader of delimited text."""
    dice = np.random.default_rng(7)
    angle = np.sort(dice.uniform(0.0, 2.0 * np.pi, 90))
    points = dice.uniform(50.0, 60.0, 90)[:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    text = io.StringIO()
    np.savetxt(text, points, delimiter=",", fmt="%.9e")
    np.testing.assert_array_equal(
        read(tmp_path, text.getvalue()), np.loadtxt(io.StringIO(text.getvalue()), delimiter=",")
    )


@for_each(
    PLAIN_ROWS,
    rows(";"),
    rows("\t"),
    rows(" "),
    rows("   "),
    rows(", "),
    rows(";", comma=","),
    rows("\t", comma=","),
    rows(";", "x;y", ","),
    rows(",", "x,y"),
    rows(",", "X, Y"),
    rows(",", "x [mm],y (mm)"),
    rows(",", "x_mm,y_mm"),
    "# traced by hand\n\n" + PLAIN_ROWS.replace("\n", "\n\n  # next\n"),
    PLAIN_ROWS + f"{BLOCK[0][0]},{BLOCK[0][1]}\n",
    PLAIN_ROWS.replace("\n", "\r\n"),
    PLAIN_ROWS.replace("\n", ",0\n"),
    PLAIN_ROWS.replace("\n", ",-0.000\n"),
    PLAIN_ROWS.replace("\n", ",\n"),
    PLAIN_ROWS + "0.0,80.5\n",
    "\ufeff" + PLAIN_ROWS,
    "point,y,note,x\n" + "".join(f"{i},{y},'a; b',{x}\n" for i, (x, y) in enumerate(BLOCK)),
    'x,y\n' + "".join(f'"{x}","{y}"\n' for x, y in BLOCK),
    'x,y\n' + "".join(f'"{x:g}","{y:g}"\n'.replace(".", ",") for x, y in BLOCK),
    b"x,y,K\xfchler\n" + "".join(f"{x},{y},0\n" for x, y in BLOCK).encode(),
)  # fmt: skip
def test_ways_to_write_it(tmp_path: Path, text: str | bytes) -> None:
    np.testing.assert_array_equal(read(tmp_path, text), BLOCK)


@for_each(
    ("x,y", "", "", 1.0),
    ("x,y", "", "units: in\n", 25.4),
    ("x_mm,y_mm", "", "units: in\n", 1.0),
    ("x_in,y_in", "", "", 25.4),
    ("x,y", "units: in", "", 25.4),
    ("x,y", "units: mm", "units: in\n", 1.0),
    ("x_mm,y_mm", "units: in", "", 25.4),
)
def test_units(tmp_path: Path, header: str, more: str, top: str, mm: float) -> None:
    np.testing.assert_allclose(read(tmp_path, rows(",", header), more, top), BLOCK * mm, rtol=1e-15)


@for_each(
    ("", "no points", "a row for each point"),
    ("# nothing\n\n", "no points", "a row for each point"),
    ("x,y\n", "0 points under the header", "at least 3 points"),
    ("0,0\n1,1\n", "2 points", "at least 3 points"),
    ("x,y\n0,0\n1,x\n1,1\n", "'x' as y, at block.csv:3", "a number"),
    ("\n# c\n0,0\n1,\n1,1\n", "'' as y, at block.csv:4", "a number"),
    ("0,0\n1,1e99\n1,1\n", "'1e99' as y, at block.csv:2", "at most 1e+09"),
    ("0,0\n1,nan\n1,1\n", "'nan' as y", "a number"),
    ("0,0\n1,1_0\n1,1\n", "'1_0' as y", "a number"),
    ("0,0,5,5\n1,0,5,5\n1,1,5,5\n", "4 columns without a header (decimal commas?", "x,y; or a header"),
    ("0,0,0\n9,0,0\n9,5,2\n", "3 columns without a header (decimal commas?", "x,y; or a header"),
    ("1,0,0\n2,9,0\n3,9,9\n", "points with numbers? then a header)", "x,y; or a header"),
    ("0,5,0\n0,5,0,5\n1,2\n", "4 columns", "3, as in the first row"),
    ("a,b\n0,0\n", "the header 'a, b'", "columns x and y"),
    ("x,y_mm\n0,0\n", "the header 'x, y_mm'", "x_mm, y_mm"),
    ("x,y,x\n0,0,1\n", "the header 'x, y, x'", "each once"),
    ("0 0\n1 0\n1 a\n", "'a' as y", "a number"),
    ("x,y\n0,0\n1,1\n2,2\n", "no closed outline (1 points)", "one closed outline"),
    ("x,y\n0,0\n9,9\n9,0\n0,9\n", "crosses or touches itself near (4.5, 4.5)", "round one area"),
    ("x,y\n" + '"' + "0,0\n" * 50_000, "a row that is not CSV", "rows of x and y"),
)  # fmt: skip
def test_refusals(tmp_path: Path, text: str, got: str, allowed: str) -> None:
    (tmp_path / "block.csv").write_text(text, encoding="utf-8")
    fault = refusals(tmp_path, "block.csv")[0]
    assert got in fault.got and allowed in fault.allowed


def test_every_wrong_row_is_named_up_to_twenty(tmp_path: Path) -> None:
    (tmp_path / "block.csv").write_text("x,y\n" + "1,a\n" * 5, encoding="utf-8")
    assert [fault.got for fault in refusals(tmp_path, "block.csv")] == [
        f"'a' as y, at block.csv:{n}" for n in range(2, 7)
    ]
    (tmp_path / "block.csv").write_text("x,y\n" + "1,a\n" * 500, encoding="utf-8")
    faults = refusals(tmp_path, "block.csv")
    assert len(faults) == 21 and faults[-1].got.startswith("480 more faults in the drawing")


def test_zero_bytes_are_named(tmp_path: Path) -> None:
    (tmp_path / "block.csv").write_bytes(PLAIN_ROWS.encode("utf-16"))
    assert "UTF-16" in refusal(tmp_path, "block.csv").got


def test_a_name_in_a_csv_is_refused(tmp_path: Path) -> None:
    fault = refusal(tmp_path, csv_of(tmp_path, BLOCK), "outline: edge")
    assert "`outline` 'edge' with a CSV file" in fault.got and "no `outline`" in fault.allowed


def test_too_many_rows(tmp_path: Path) -> None:
    (tmp_path / "block.csv").write_text("0,0\n" * 300_001, encoding="utf-8")
    assert "300001 rows" in refusal(tmp_path, "block.csv").got
