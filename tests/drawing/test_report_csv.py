"""The table of parts read back by csv and numpy: lengths, places, units in the names, words that cannot break it."""

from __future__ import annotations

import csv
import math
from io import StringIO

import numpy as np
import pytest

from beltplan.drawing.content import Content, csv_text
from beltplan.drawing.study import Arc, Outline, Ring, Spot
from tests.drawing import exports
from tests.for_each import for_each

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
