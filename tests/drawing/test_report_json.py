"""The export as JSON, read by the standard library: sums, keys, null where unknown, the table's own numbers."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import replace
from io import StringIO
from typing import Any

import pytest

from beltplan.drawing.content import Content, csv_text, export_json
from beltplan.drawing.study import Spot
from beltplan.report.words import SAFETY
from tests.drawing import exports
from tests.for_each import for_each
from tests.report.results import read_back

EVERY = for_each(*exports.contents(), ids=lambda content: content.heading)


def _read(content: Content) -> dict[str, Any]:
    text = export_json(content)
    assert text.isascii() and text.endswith("}\n")
    return read_back(text)


@EVERY
def test_lengths_sum_to_the_path(content: Content) -> None:
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
