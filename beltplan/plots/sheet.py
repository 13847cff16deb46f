"""The sheet round a drawing: lines of text over and under it, in columns that break by themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.plots.lettering import wrapped
from beltplan.plots.palette import HAIRLINE
from beltplan.plots.scene import Box, Item, Label, Raster, Stroke

LINE_FACTOR = 1.35


@dataclass(frozen=True)
class Paragraph:
    """Text that may need more than one line. before_pt: room left over it."""

    text: str
    size_pt: float
    colour: str
    bold: bool = False
    before_pt: float = 0.0
    name: str = ""


def height_pt(paragraphs: tuple[Paragraph, ...], width_pt: float) -> float:
    """Height of paragraphs set to a width, points."""
    return sum(
        p.before_pt + LINE_FACTOR * p.size_pt * len(wrapped(p.text, width_pt, p.size_pt, p.bold)) for p in paragraphs
    )


def column(paragraphs: tuple[Paragraph, ...], left: float, top: float, width_pt: float, unit_pt: float) -> list[Label]:
    """Paragraphs set one under the other from a top left corner, scene units."""
    labels: list[Label] = []
    y = top
    for p in paragraphs:
        y -= p.before_pt / unit_pt
        for text in wrapped(p.text, width_pt, p.size_pt, p.bold):
            y -= LINE_FACTOR * p.size_pt / unit_pt
            at = (left, y + 0.32 * p.size_pt / unit_pt)
            labels.append(Label(text, at, p.size_pt, p.colour, p.bold, name=p.name))
    return labels


def flowed(widths_pt: tuple[float, ...], room_pt: float, gap_pt: float) -> tuple[tuple[float, int], ...]:
    """Place of entries set side by side in rows: (points from the left edge, row) of each."""
    places: list[tuple[float, int]] = []
    x, row = 0.0, 0
    for width in widths_pt:
        if x > 0.0 and x + width > room_pt:
            x, row = 0.0, row + 1
        places.append((x, row))
        x += width + gap_pt
    return tuple(places)


def rule(left: float, y: float, width: float) -> Stroke:
    """A thin line across the sheet, scene units."""
    return Stroke(np.array([(left, y), (left + width, y)]), HAIRLINE, "rule")


def extent(items: list[Item], unit_pt: float) -> Box:
    """The box round everything drawn, scene units."""
    boxes = [_box(item, unit_pt) for item in items]
    lows, highs = zip(*((box[:2], box[2:]) for box in boxes), strict=True)
    return (
        min(x for x, _ in lows),
        min(y for _, y in lows),
        max(x for x, _ in highs),
        max(y for _, y in highs),
    )


def _box(item: Item, unit_pt: float) -> Box:
    if isinstance(item, Label):
        return item.box(unit_pt)
    if isinstance(item, Raster):
        return item.box
    points = item.points if isinstance(item, Stroke) else item.rings[0]
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return (float(x0), float(y0), float(x1), float(y1))
