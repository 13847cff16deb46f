"""Names of drawings in a text that goes to another folder; what they must lead to is the file system's own answer."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml

from beltplan.layoutfile.edits import CannotEdit, with_files_from
from tests.for_each import for_each

TEXT = """\
# the block, traced
obstacles:
  block: {file: parts/block.csv, at: [0, 0]}   # keep this
  hose:
    file: "höse.svg"
  round: {circle: {at: [0, 0], diameter: 3}}
  fixed: {file: /somewhere/else.dxf}
  empty: {file: }
variants:
  low: {obstacles: {block: {file: ../low.csv}}}
  none:
route: [file, obstacles]
"""


def test_every_relative_name_leads_where_it_led(tmp_path: Path) -> None:
    old, new = tmp_path / "job", tmp_path / "out" / "deep"
    moved = with_files_from(TEXT, str(old), str(new))
    before, after = yaml.safe_load(TEXT), yaml.safe_load(moved)
    for keys in (("obstacles", "block"), ("obstacles", "hose"), ("variants", "low", "obstacles", "block")):
        was, now = before, after
        for key in keys:
            was, now = was[key], now[key]
        assert os.path.normpath(new / now["file"]) == os.path.normpath(old / was["file"])
        assert not os.path.isabs(now["file"])
        was["file"] = now["file"] = ""
    assert after == before, "nothing else has changed"
    assert moved.count("\n") == TEXT.count("\n") and "# keep this" in moved and "/somewhere/else.dxf" in moved


def test_in_the_same_folder_nothing_changes(tmp_path: Path) -> None:
    assert with_files_from(TEXT, str(tmp_path), str(tmp_path)) == TEXT


def test_an_aliased_obstacle_is_rewritten_once(tmp_path: Path) -> None:
    text = "obstacles: {a: &a {file: block.csv}, b: *a}\nvariants: {v: {obstacles: {c: *a}}}\n"
    moved = with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out"))
    assert moved == text.replace("block.csv", '"../job/block.csv"')


def test_a_name_over_several_lines_is_not_edited(tmp_path: Path) -> None:
    text = "obstacles:\n  a:\n    file: |-\n      block.csv\n"
    with pytest.raises(CannotEdit, match="line 3: the name of a file over several lines"):
        with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out"))


@for_each("", "5", "[]", "obstacles:", "obstacles: 3", "obstacles: {a: 3}", "variants: [1]")
def test_texts_without_drawings(tmp_path: Path, text: str) -> None:
    assert with_files_from(text, str(tmp_path / "job"), str(tmp_path / "out")) == text
