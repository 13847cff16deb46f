"""The shapes of an SVG against svgpathtools, and what SVG 1.1 says of radii and lengths."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
import svgpathtools

from beltplan.geometry.vectors import Floats
from tests.for_each import for_each
from tests.outlines.drawings import circle, corners, same_shape, svg_of

UP = np.array([1.0, -1.0])
"""y runs down in an SVG and up in a layout."""

SHAPES = [
    '<polygon points="0,0 120,0 120-30 45-30 45-80.5,0,-80.5"/>',
    '<polyline points="0,0 120,0 120-30 45-30 45-80.5,0,-80.5"/>',
    '<rect x="10" y="20" width="80" height="50"/>',
    '<rect x="10" y="20" width="80" height="50" rx="12"/>',
    '<rect x="10" y="20" width="80" height="50" rx="12" ry="20"/>',
    '<circle cx="50" cy="40" r="30" transform="scale(2,1)"/>',
    '<ellipse cx="50" cy="40" rx="70" ry="20"/>',
    '<path d="M0 0C40-60 90 90 120 0A60 40 20 1 1 0 0Z"/>',
    '<g transform="rotate(20)"><g transform="translate(5,7)">'
    '<rect width="80" height="50" transform="skewX(10)"/></g></g>',
]


def by_svgpathtools(file: Path) -> Floats:
    """The one outline as svgpathtools reads it, groups and transforms included."""
    (path,) = svgpathtools.Document(str(file)).paths()
    share = np.linspace(0.0, 1.0, 3000)
    straight = np.linspace(0.0, 1.0, 2)
    points = [s.poly()(straight) if isinstance(s, svgpathtools.Line) else [s.point(t) for t in share] for s in path]
    every = np.concatenate(points)
    return np.asarray(np.column_stack((every.real, every.imag)) * UP)


@for_each(*SHAPES)
def test_shapes(tmp_path: Path, shape: str) -> None:
    read = corners(tmp_path, svg_of(tmp_path, shape))
    expected = by_svgpathtools(tmp_path / "block.svg")
    curved = len(read) > 8
    assert same_shape(read, expected, 0.02 + 0.05 if curved else 1e-9)
    assert shapely.Polygon(read).area == pytest.approx(shapely.Polygon(expected).area, rel=2e-3 if curved else 1e-9)


def test_radii_of_a_rectangle_reach_to_its_middle_at_most(tmp_path: Path) -> None:
    """SVG 1.1, section 9.2: one given radius holds for both, each at most half the side: here an ellipse is left."""
    round_one = corners(tmp_path, svg_of(tmp_path, '<rect x="10" y="20" width="80" height="50" ry="99"/>'))
    assert same_shape(
        round_one, corners(tmp_path, svg_of(tmp_path, '<ellipse cx="50" cy="45" rx="40" ry="25"/>')), 0.05
    )


def test_lengths_with_units_are_in_pixels(tmp_path: Path) -> None:
    """A circle of 1 in in a drawing whose unit is a pixel: CSS says 96 of them."""
    name = svg_of(tmp_path, '<circle cx="1in" cy="0" r="12.7mm"/>', 'width="500" height="500"')
    assert circle(tmp_path, name) == pytest.approx((25.4, 0.0, 25.4))
