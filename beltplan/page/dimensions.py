"""Dimensions round the drawing: the place of every centre, along its left and its lower edge, under all else."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from xml.etree.ElementTree import Element

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.page.elements import element, elements_of_length, lengths
from beltplan.page.svg import Canvas
from beltplan.picture.pens import HAIRLINE, SOFT_INK
from beltplan.picture.strokes import Drawn

BAND_PT = 42.0
"""Left of the drawing and under it, for the figures."""
_BENT, _FIGURE = 36.0, 28.0
"""From the edge: where a line bends toward its figure, and where that stands."""
_APART_PT = 12.0
"""Between two figures."""


def dimensions_of(drawn: Drawn, sheet: Canvas) -> Iterator[Element]:
    """Lines from the centres to the left edge and down, each with its y or x."""
    width, height = sheet.size
    centres, places, moving = sheet.laid(drawn.loop.centre), drawn.route.loop.centre, drawn.route.circuit.moving
    spread = zip(_spread(centres[:, 0], width), _spread(centres[:, 1], height), strict=True)
    rows = zip(centres.tolist(), spread, places.tolist(), strict=True)
    for index, ((x, y), (across, up), (x_mm, y_mm)) in enumerate(rows):
        down = _leader(f"M{x:.1f} {y:.1f}V{height - _BENT:.1f}L{across:.1f} {height - _FIGURE:.1f}")
        under = _figure(x_mm, f"translate({across + 3:.1f} {height - _FIGURE + 2:.1f}) rotate(-90)")
        aside = _leader(f"M{x:.1f} {y:.1f}H{_BENT:g}L{_FIGURE + 2:g} {up:.1f}")
        left = _figure(y_mm, f"translate({_FIGURE:g} {up + 3:.1f})")
        yield element("g", down, *under, aside, *left, class_="judged" if index == moving else None)


def _leader(d: str) -> Element:
    return element("path", d=d, fill="none", stroke=HAIRLINE.colour, stroke_width=0.7)


def _figure(mm: float, transform: str) -> list[Element]:
    figures, look = [text[:-3] for text in lengths(mm)], {"font_size": 8, "fill": SOFT_INK, "text_anchor": "end"}
    return elements_of_length("text", figures[0], figures[1], **look, transform=transform)


def _spread(at: Floats, most: float) -> list[float]:
    """The places of figures that want to stand at `at`, moved until none touches another."""
    order, placed = np.argsort(at), np.array(at, dtype=float)
    for one, other in pairwise(order):
        placed[other] = max(placed[other], placed[one] + _APART_PT)
    placed[order[-1]] = min(placed[order[-1]], most - _APART_PT)
    for other, one in pairwise(order[::-1]):
        placed[one] = min(placed[one], placed[other] - _APART_PT)
    return [float(each) for each in placed]
