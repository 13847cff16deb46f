"""What `export` says: the file, its unit, layers with parts and lengths, problems, caution."""

from __future__ import annotations

import re

from beltplan.drawing.content import Content
from beltplan.drawing.report import DRAWN, FORM_WORDS, Form, export_report
from beltplan.drive.layout import Units
from beltplan.report.screen import Screen, shown
from beltplan.report.words import SAFETY_IN_SHORT
from tests.drawing import exports
from tests.for_each import for_each


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
    assert "DO NOT CUT" not in said(exports.shipped("workboat"), "w.csv", "csv")


def test_inches_and_a_narrow_window() -> None:
    text = said(exports.shipped("workboat"), "w.dxf", "dxf", "in", 72)
    assert max(map(len, text.splitlines())) <= 72
    # 1840 mm / 25.4
    assert "72.44 in" in text and re.search(r"^belt_line .* 12 +72\.44$", text, re.MULTILINE) and "length in" in text
    assert "not in inches" in text and "not in inches" not in said(exports.shipped("workboat"), "w.dxf", "dxf")
