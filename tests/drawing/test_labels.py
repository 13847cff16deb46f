"""How far parts reach, by shapely; and that words stand clear of the marks that they name."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiPoint

from beltplan.drawing.content import HEIGHT_MM, Content, bounds_of, extent_of, labels_of
from beltplan.drawing.study import Arc, Line, Outline, Ring, Spot
from tests.drawing import exports
from tests.for_each import for_each

ANGLES = st.floats(-8.0, 8.0)


@given(start=ANGLES, sweep=st.floats(-math.tau, math.tau))
def test_an_arc_reaches_as_far_as_its_points(start: float, sweep: float) -> None:
    """Shapely's bounds of 2000 points on it: 30 mm (1 - cos(tau / 4000)) is less than 1e-4 mm, chords leave 0.002."""
    arc = Arc("adjuster", "a", (5.0, -7.0), 30.0, start, sweep)
    drawn = LineString([arc.place_at(float(share)) for share in np.linspace(0.0, 1.0, 2001)])
    assert np.ravel(bounds_of([arc])) == pytest.approx(drawn.bounds, abs=2.1e-3)


def test_other_parts() -> None:
    assert np.ravel(bounds_of([Ring("pulleys", "a", (1.0, 2.0), 3.0)])) == pytest.approx((-2.0, -1.0, 4.0, 5.0))
    assert bounds_of([Spot("centres", "a", (1.0, 2.0))]) == ((1.0, 2.0), (1.0, 2.0))
    assert bounds_of([Line("belt_line", "a", (1.0, 9.0), (4.0, 2.0))]) == ((1.0, 2.0), (4.0, 9.0))
    corners = ((0.0, 1.0), (5.0, -2.0), (3.0, 8.0))
    assert np.ravel(bounds_of([Outline("obstacles", "a", corners)])) == pytest.approx(MultiPoint(corners).bounds)


@for_each(*exports.contents()[:9], ids=lambda content: content.heading)
def test_notes_stand_one_under_another_below_all_parts(content: Content) -> None:
    notes = [label for label in labels_of(content) if label.layer == "notes"]
    heights = [label.at_mm[1] for label in notes]
    assert all(above - below >= HEIGHT_MM for above, below in pairwise(heights))
    assert heights[0] + HEIGHT_MM < bounds_of(content.parts)[0][1]
    assert extent_of(content)[0][1] < heights[-1]


@for_each(*exports.contents()[:9], ids=lambda content: content.heading)
def test_every_pulley_obstacle_and_pivot_has_its_name_once(content: Content) -> None:
    names = sorted(label.text for label in labels_of(content) if label.layer == "names")
    wanted = {part.name for part in content.parts if part.layer in ("pulleys", "obstacles", "centres", "marks")}
    assert names == sorted(wanted)
