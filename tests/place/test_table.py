"""The table of a map: its numbers are those of the map, rounded as stated, whatever their size and sign."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import replace

import numpy as np

from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.study import grid_of, place_map
from beltplan.place.table import place_csv

WORKBOAT = read_layout("layouts/workboat.yaml", None).layout
ODD = (math.nan, math.inf, 0.0, -0.0, -0.04, 0.05, 9.96, -9.96, 99.949, 1234567.89, -1e-9, -130.0)
"""Values that letters go wrong with: nothing, no sign, a digit more by rounding."""


def test_numbers_in_the_table_are_those_of_the_map() -> None:
    """Read back by csv and float() of Python: at most half a digit off, with as many decimals as stated."""
    found = place_map(WORKBOAT, "alternator", grid_of((100.0, 200.0), (280.0, 380.0), 45.0, None))
    (way, *others) = found.judged.ways
    odd = np.resize(ODD, len(way))
    judged = replace(found.judged, ways=(replace(way, rim_gap_mm=odd), *others))
    text = b"".join(place_csv(replace(found, judged=judged))).decode()
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == found.grid.count and len(way) >= len(ODD) and text.endswith("\n")
    for row, value, x in zip(rows, judged.spread("rim_gap_mm"), judged.places[:, 0, 0], strict=False):
        shown = row["rim_gap_mm"]
        if math.isfinite(value):
            assert re.fullmatch(r"-?\d+\.\d", shown) and abs(float(shown) - value) <= 0.05 + 1e-9
            assert shown != "-0.0"
        else:
            assert shown == ""
        assert abs(float(row["x_mm"]) - x) <= 5e-5 + 1e-9
