"""Needed length against what the drive can take, and under it the chance of every stock belt, to one axis."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.plots.chart import Axes
from beltplan.plots.lettering import text_width_pt
from beltplan.plots.palette import (
    AXIS,
    BELT_BACK,
    BELT_EDGE,
    BELT_RIBS,
    INK,
    LIMIT,
    LITTLE_IN_HAND,
    LOW_LIMIT,
    METAL_EDGE,
    PAPER,
    SLIPS,
    SOFT_INK,
)
from beltplan.plots.scene import Item, Label, Pen, Shape, Stroke, rectangle
from beltplan.studies.tolerance import Tolerance
from beltplan.studies.tolerance_belts import BeltChance, percent

HISTOGRAM_PT, CHANCE_PT = 120.0, 96.0
ZONE_PT, BETWEEN_PT, FOOT_PT = 14.0, 22.0, 44.0
SIDE_PT = 34.0
BINS = 72
SMALL_PT = 8.0
WIDEST_BAR_PT = 16.0
EDGE_MM = 2.0
TICKS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
MOST_TICKS = 14
HISTOGRAM_EDGE = Pen(METAL_EDGE, 0.5)


def length_chart_height_pt() -> float:
    """Height of both panels with their words."""
    return ZONE_PT + HISTOGRAM_PT + BETWEEN_PT + CHANCE_PT + FOOT_PT


def length_chart(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """Both panels from a top left corner; a scene unit is a point."""
    x = length_range(study)
    upper = top - ZONE_PT
    histogram = Axes((left + SIDE_PT, upper - HISTOGRAM_PT, left + width_pt, upper), x, (0.0, 1.05))
    below = histogram.box[1] - BETWEEN_PT
    chances = Axes((left + SIDE_PT, below - CHANCE_PT, left + width_pt, below), x, (0.0, 1.03))
    return [
        *_zones(study, histogram),
        *_zones(study, chances),
        *_zone_words(study, histogram),
        *_bars(study, histogram),
        *_level_lines(chances),
        *_chance_bars(study, chances),
        *_length_ticks(histogram),
    ]


def length_range(study: Tolerance) -> tuple[float, float]:
    """Lengths from left to right edge: all that is needed, the window, and the belts shown."""
    found = [belt.line_mm for belt in study.foremost]
    if study.route.window is not None:
        found += [study.route.window.shortest, study.route.window.longest]
    if study.needed_mm.size:
        found += [float(end) for end in np.percentile(study.needed_mm, (0.1, 99.9))]
    low, high = min(found, default=0.0), max(found, default=1.0)
    edge = EDGE_MM + 0.06 * (high - low)
    return low - edge, high + edge


def _zones(study: Tolerance, axes: Axes) -> list[Item]:
    window, good = study.route.window, study.route.acceptable_mm
    x0, y0, x1, y1 = axes.box
    items: list[Item] = [Shape((rectangle(axes.box),), PAPER if window is None else SLIPS)]
    if window is not None:
        first, last = (_across(axes, length) for length in (window.shortest, window.longest))
        items.append(Shape((rectangle((first, y0, last, y1)),), LITTLE_IN_HAND))
        if good is not None:
            inner = [_across(axes, length) for length in good]
            items.append(Shape((rectangle((inner[0], y0, inner[1], y1)),), PAPER))
            items += [_upright(axes, length, LOW_LIMIT, "reserve") for length in good]
        items += [_upright(axes, length, LIMIT, "window") for length in (window.shortest, window.longest)]
    return [*items, Stroke(np.array([(x0, y0), (x1, y0)]), AXIS, "axis")]


def _across(axes: Axes, length: float) -> float:
    return float(axes.upright(length)[0, 0])


def _upright(axes: Axes, length: float, pen: Pen, name: str) -> Stroke:
    return Stroke(axes.upright(length), pen, name)


def _zone_words(study: Tolerance, axes: Axes) -> list[Label]:
    window, good = study.route.window, study.route.acceptable_mm
    if window is None:
        return []
    inner = list(good) if good is not None else []
    edges = [axes.x[0], window.shortest, *inner, window.longest, axes.x[1]]
    words = ["too short", "little in hand", "good", "little in hand", "too long"]
    told = words if good is not None else [words[0], words[1], words[4]]
    labels = []
    for text, start, end in zip(told, edges[:-1], edges[1:], strict=True):
        first, last = _across(axes, start), _across(axes, end)
        if text_width_pt(text, SMALL_PT) + 4.0 <= last - first:
            at = (0.5 * (first + last), axes.box[3] + 4.0)
            labels.append(Label(text, at, SMALL_PT, SOFT_INK, align="center", name="zone"))
    return labels


def histogram_of(study: Tolerance, low: float, high: float) -> tuple[Floats, Floats]:
    """Draws by needed length: counts (bins) and edges (bins + 1) mm."""
    counts, edges = np.histogram(study.needed_mm, BINS, (low, high))
    return counts.astype(float), edges


def _bars(study: Tolerance, axes: Axes) -> list[Item]:
    if not study.needed_mm.size:
        return [Label("no path at the design setting", _middle(axes), SMALL_PT, INK, align="center", name="histogram")]
    counts, edges = histogram_of(study, *axes.x)
    ends = zip(counts / counts.max(), edges[:-1], edges[1:], strict=True)
    return [
        Shape((axes.at(rectangle((a, 0.0, b, height))),), BELT_BACK, HISTOGRAM_EDGE, name="histogram")
        for height, a, b in ends
        if height > 0.0
    ]


def _middle(axes: Axes) -> tuple[float, float]:
    return (0.5 * (axes.box[0] + axes.box[2]), 0.5 * (axes.box[1] + axes.box[3]))


def _length_ticks(axes: Axes) -> list[Item]:
    step = next((step for step in TICKS_MM if (axes.x[1] - axes.x[0]) / step <= MOST_TICKS), TICKS_MM[-1])
    items: list[Item] = []
    for k in range(int(np.ceil(axes.x[0] / step)), int(axes.x[1] / step) + 1):
        x, y = _across(axes, step * k), axes.box[1]
        items.append(Stroke(np.array([(x, y), (x, y - 3.0)]), AXIS, "tick"))
        if axes.box[0] + 14.0 < x < axes.box[2] - 14.0:
            items.append(Label(f"{step * k:.0f}", (x, y - 12.0), SMALL_PT, SOFT_INK, align="center", name="length"))
    return items


def _level_lines(axes: Axes) -> list[Item]:
    items: list[Item] = []
    for share in (0.0, 0.5, 1.0):
        ends = axes.across(share)
        items.append(Stroke(ends, Pen(METAL_EDGE, 0.4), "level"))
        at = (float(ends[0, 0]) - 4.0, float(ends[0, 1]) - 2.8)
        items.append(Label(f"{100 * share:.0f} %", at, SMALL_PT, SOFT_INK, align="right", name="level"))
    return items


def _chance_bars(study: Tolerance, axes: Axes) -> list[Item]:
    if not study.foremost:
        return [Label("no belt has a chance", _middle(axes), SMALL_PT, INK, align="center", name="chance")]
    width = _bar_width(study, axes)
    items: list[Item] = []
    for belt in study.foremost:
        middle = _across(axes, belt.line_mm)
        for chance, fill in ((belt.inside, BELT_BACK), (belt.with_reserve, BELT_RIBS)):
            if chance is not None:
                y = float(axes.across(chance)[0, 1])
                box = (middle - 0.5 * width, axes.box[1], middle + 0.5 * width, max(y, axes.box[1] + 0.3))
                items.append(Shape((rectangle(box),), fill, BELT_EDGE, name=f"chance {belt.designation}"))
    return items + [label for belt in _labelled(study, axes) for label in _belt_labels(study, belt, axes)]


def _bar_width(study: Tolerance, axes: Axes) -> float:
    places = [_across(axes, belt.line_mm) for belt in study.foremost]
    return max(1.5, min([WIDEST_BAR_PT, *(0.7 * (b - a) for a, b in pairwise(places))]))


def _labelled(study: Tolerance, axes: Axes) -> list[BeltChance]:
    """The belts that there is room to label, the one to buy, or the nearest, before the others."""
    taken: list[tuple[float, float]] = []
    kept = []
    for belt in sorted(study.foremost, key=lambda belt: (belt != study.nearest, belt != study.chosen, -belt.inside)):
        half = 0.5 * max(text_width_pt(text, SMALL_PT, True) for text in _texts(belt)) + 3.0
        middle = _across(axes, belt.line_mm)
        if all(middle + half <= low or middle - half >= high for low, high in taken):
            taken.append((middle - half, middle + half))
            kept.append(belt)
    return kept


def _texts(belt: BeltChance) -> tuple[str, str]:
    chance = belt.inside if belt.with_reserve is None else belt.with_reserve
    return belt.designation, percent(chance)


def _belt_labels(study: Tolerance, belt: BeltChance, axes: Axes) -> list[Label]:
    nearest, x = belt == study.nearest, _across(axes, belt.line_mm)
    lines = (*_texts(belt), *(["nearest" if study.best is None else "buy"] if nearest else []))
    return [
        Label(text, (x, axes.box[1] - 11.0 * (i + 1)), SMALL_PT, INK, nearest, "center", f"belt {belt.designation}")
        for i, text in enumerate(lines)
    ]
