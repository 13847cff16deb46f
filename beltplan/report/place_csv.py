"""A map of places as a table for other programs: one row a place, columns named with their units."""

from __future__ import annotations

import csv
from io import StringIO

import numpy as np

from beltplan.belts.designations import format_designation
from beltplan.geometry.vectors import Floats
from beltplan.studies.place import STATES
from beltplan.studies.place_map import PlaceMap

DIGITS = 4
MARGIN_FIELDS = (("margin_percent", "margin"), ("own_margin_percent", "own_margin"))
MM_FIELDS = ("reserve_mm", "clearance_mm", "strand_gap_mm", "rim_gap_mm", "shortest_mm", "longest_mm")


def place_csv(found: PlaceMap) -> str:
    """Every place of the grid, row by row; a value that a place does not have is left empty."""
    names, columns = _columns(found)
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(names)
    writer.writerows(zip(*columns, strict=True))
    return target.getvalue()


def _columns(found: PlaceMap) -> tuple[list[str], list[list[str]]]:
    judged, count = found.judged, found.grid.count
    belt = judged.spread("belt", -1.0)[:count].astype(int)
    belts = [*(format_designation(belt) for belt in judged.belts), ""]
    columns = {
        "x_mm": _numbers(judged.places[:count, 0, 0]),
        "y_mm": _numbers(judged.places[:count, 0, 1]),
        "verdict": [STATES[state] for state in judged.state[:count]],
        "belt": [belts[max(number, -1)] for number in belt],
        "adjuster_percent": _numbers(100.0 * judged.spread("position")[:count]),
        "take_up_percent": _numbers(judged.spread("take_up_percent")[:count]),
        **{name: _numbers(judged.spread(name)[:count]) for name in MM_FIELDS},
        **{name: _numbers(100.0 * judged.spread(field)[:count]) for name, field in MARGIN_FIELDS},
        "slip_use_wet": _numbers(judged.spread("slip_wet")[:count]),
        **_wraps(found),
    }
    return list(columns), list(columns.values())


def _wraps(found: PlaceMap) -> dict[str, list[str]]:
    judged = found.judged
    columns: dict[str, list[str]] = {}
    for name in judged.pulleys[0]:
        wrap = np.full(len(judged.places), np.nan)
        for way, pulleys in zip(judged.ways, judged.pulleys, strict=True):
            wrap[way.index] = np.degrees(way.wrap_rad[:, pulleys.index(name)])
        columns[f"wrap_{name}_deg"] = _numbers(wrap[: found.grid.count])
    return columns


def _numbers(values: Floats) -> list[str]:
    return ["" if not np.isfinite(value) else f"{value:.{DIGITS}f}" for value in values.tolist()]
