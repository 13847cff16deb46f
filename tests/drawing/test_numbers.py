"""Numbers of parts: digits, nothing minus, nothing that is not finite; lengths of every kind of part."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.drawing.content import COLUMNS, DRAWN_LAYERS, counts_of, decimal, edges_of, rows_of
from beltplan.drawing.study import LAYERS, Arc, Line, Outline, Part, Ring, Spot
from tests.for_each import for_each

SQUARE = Outline("obstacles", "s", ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0)))
"""A triangle of 3, 4 and 5 mm, Pythagoras."""


@given(st.floats(-1e7, 1e7))
def test_digits_come_back(value: float) -> None:
    text = decimal(value)
    assert abs(float(text) - value) <= 5.1e-11 + abs(value) * 1e-15
    assert "e" not in text and (float(text) != 0.0 or not text.startswith("-"))


@for_each(math.nan, math.inf, -math.inf)
def test_no_file_holds_what_is_not_finite(value: float) -> None:
    with pytest.raises(ValueError, match="no file"):
        decimal(value)
    with pytest.raises(ValueError, match="no file"):
        list(rows_of(Spot("centres", "a", (0.0, value))))


@for_each(
    (Line("belt_line", "a", (0.0, 0.0), (3.0, 4.0)), 5.0),
    (Arc("belt_line", "a", (0.0, 0.0), 2.0, 1.0, -math.pi), 2.0 * math.pi),
    (Ring("pulleys", "a", (0.0, 0.0), 2.0), 4.0 * math.pi),
    (Spot("centres", "a", (0.0, 0.0)), 0.0),
    (SQUARE, 12.0),
)
def test_lengths(part: Part, length: float) -> None:
    """Plane geometry."""
    assert counts_of([part])[part.layer][1] == pytest.approx(length)
    assert all(tuple(row) == COLUMNS for row in rows_of(part))


def test_edges_close_an_outline() -> None:
    edges = list(edges_of(SQUARE))
    assert edges[-1] == ((4.0, 3.0), (0.0, 0.0)) and len(edges) == 3


def test_counts_by_layer() -> None:
    counts = counts_of((SQUARE, SQUARE, Spot("centres", "a", (0.0, 0.0))))
    assert counts["obstacles"] == pytest.approx((2, 24.0)) and counts["centres"] == (1, 0.0)
    assert counts["belt_line"] == (0, 0.0) and tuple(counts) == LAYERS


def test_layers_are_those_of_the_drawing_and_two_of_words() -> None:
    """DXF reference, release 12: names of letters, digits, dollar, hyphen and underline, at most 31 of them."""
    names = [layer.name for layer in DRAWN_LAYERS]
    assert names == [*LAYERS, "names", "notes"]
    assert all(len(name) <= 31 and name.isascii() and name.replace("_", "").isalnum() for name in names)
    assert all(layer.meaning for layer in DRAWN_LAYERS)
