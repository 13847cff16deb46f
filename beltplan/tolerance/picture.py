"""The picture of a tolerance study: answers, lengths and chances, wraps, measurements, caution."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from beltplan.checks.belt import unlisted_words
from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.geometry.vectors import Floats
from beltplan.picture.chart import Axes
from beltplan.picture.page import INSIDE_PT, MARGIN_PT, Page, Paragraph, column, height_pt
from beltplan.picture.painter import paint
from beltplan.picture.routing import title_words
from beltplan.picture.scene import (
    AXIS,
    BELT_BACK,
    BELT_EDGE,
    BELT_RIBS,
    HAIRLINE,
    INK,
    LIMIT,
    LITTLE_IN_HAND,
    LOW_LIMIT,
    METAL_EDGE,
    PAPER,
    PROBLEM,
    SLIPS,
    SOFT_INK,
    Item,
    Label,
    Pen,
    Scene,
    Shape,
    Stroke,
    rectangle,
    text_width_pt,
)
from beltplan.report.words import TOLERANCE_SAFETY
from beltplan.tolerance.study import BeltChance, Contribution, Tolerance, WrapSpread, fitted_words, percent

_HISTOGRAM_PT, _CHANCE_PT = 120.0, 96.0
_ZONE_PT, _BETWEEN_PT, _FOOT_PT = 14.0, 22.0, 44.0
_SIDE_PT = 34.0
_BINS = 72
_SMALL_PT = 8.0
_WIDEST_BAR_PT = 16.0
_EDGE_MM = 2.0
_TICKS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
_MOST_TICKS = 14
_HISTOGRAM_EDGE = Pen(METAL_EDGE, 0.5)


def _length_chart_height_pt() -> float:
    """Height of both panels with their words."""
    return _ZONE_PT + _HISTOGRAM_PT + _BETWEEN_PT + _CHANCE_PT + _FOOT_PT


def _length_chart(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """Both panels from a top left corner; a scene unit is a point."""
    x = length_range(study)
    upper = top - _ZONE_PT
    histogram = Axes((left + _SIDE_PT, upper - _HISTOGRAM_PT, left + width_pt, upper), x, (0.0, 1.05))
    below = histogram.box[1] - _BETWEEN_PT
    chances = Axes((left + _SIDE_PT, below - _CHANCE_PT, left + width_pt, below), x, (0.0, 1.03))
    return [
        *_zones(study, histogram),
        *_zones(study, chances),
        *_zone_words(study, histogram),
        *_bars(study, histogram),
        *_level_lines(chances),
        *_chance_bars(study, chances),
        *_length_ticks(histogram, study.route.layout.units),
    ]


def length_range(study: Tolerance) -> tuple[float, float]:
    """Lengths from left to right edge: all that is needed, the window, and the belts shown."""
    found = [belt.line_mm for belt in study.foremost]
    if study.route.window is not None:
        found += [study.route.window.shortest, study.route.window.longest]
    if study.needed_mm.size:
        found += [float(end) for end in np.percentile(study.needed_mm, (0.1, 99.9))]
    low, high = min(found, default=0.0), max(found, default=1.0)
    edge = _EDGE_MM + 0.06 * (high - low)
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
    words = ["too short", "little reserve", "good", "little reserve", "too long"]
    told = words if good is not None else [words[0], words[1], words[4]]
    labels = []
    for text, start, end in zip(told, edges[:-1], edges[1:], strict=True):
        first, last = _across(axes, start), _across(axes, end)
        if text_width_pt(text, _SMALL_PT) + 4.0 <= last - first:
            at = (0.5 * (first + last), axes.box[3] + 4.0)
            labels.append(Label(text, at, _SMALL_PT, SOFT_INK, align="center", name="zone"))
    return labels


def histogram_of(study: Tolerance, low: float, high: float) -> tuple[Floats, Floats]:
    """Draws by needed length: counts (bins) and edges (bins + 1) mm."""
    counts, edges = np.histogram(study.needed_mm, _BINS, (low, high))
    return counts.astype(float), edges


def _bars(study: Tolerance, axes: Axes) -> list[Item]:
    if not study.needed_mm.size:
        return [Label("no path at the design setting", _middle(axes), _SMALL_PT, INK, align="center", name="histogram")]
    counts, edges = histogram_of(study, *axes.x)
    ends = zip(counts / counts.max(), edges[:-1], edges[1:], strict=True)
    return [
        Shape((axes.at(rectangle((a, 0.0, b, height))),), BELT_BACK, _HISTOGRAM_EDGE, name="histogram")
        for height, a, b in ends
        if height > 0.0
    ]


def _middle(axes: Axes) -> tuple[float, float]:
    return (0.5 * (axes.box[0] + axes.box[2]), 0.5 * (axes.box[1] + axes.box[3]))


def _length_ticks(axes: Axes, units: Units) -> list[Item]:
    unit_mm = MM_PER_INCH if units == "in" else 1.0
    first, last = (end / unit_mm for end in axes.x)
    step = next((step for step in _TICKS if (last - first) / step <= _MOST_TICKS), _TICKS[-1])
    items: list[Item] = []
    for k in range(int(np.ceil(first / step)), int(last / step) + 1):
        x, y = _across(axes, step * k * unit_mm), axes.box[1]
        items.append(Stroke(np.array([(x, y), (x, y - 3.0)]), AXIS, "tick"))
        if axes.box[0] + 14.0 < x < axes.box[2] - 14.0:
            items.append(Label(f"{step * k:.6g}", (x, y - 12.0), _SMALL_PT, SOFT_INK, align="center", name="length"))
    return items


def _level_lines(axes: Axes) -> list[Item]:
    items: list[Item] = []
    for share in (0.0, 0.5, 1.0):
        ends = axes.across(share)
        items.append(Stroke(ends, Pen(METAL_EDGE, 0.4), "level"))
        at = (float(ends[0, 0]) - 4.0, float(ends[0, 1]) - 2.8)
        items.append(Label(f"{100 * share:.0f} %", at, _SMALL_PT, SOFT_INK, align="right", name="level"))
    return items


def _chance_bars(study: Tolerance, axes: Axes) -> list[Item]:
    if not study.foremost:
        asked = study.route.to_ask_for_mm is not None
        words = unlisted_words(study.route.layout.belt.profile) if asked else "no belt on the list has a chance"
        return [Label(words, _middle(axes), _SMALL_PT, INK, align="center", name="chance")]
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
    return max(1.5, min([_WIDEST_BAR_PT, *(0.7 * (b - a) for a, b in pairwise(places))]))


def _labelled(study: Tolerance, axes: Axes) -> list[BeltChance]:
    """The belts that there is room to label, the one to buy, or the nearest, before the others."""
    taken: list[tuple[float, float]] = []
    kept = []
    for belt in sorted(study.foremost, key=lambda belt: (belt != study.nearest, belt != study.chosen, -belt.inside)):
        half = 0.5 * max(text_width_pt(text, _SMALL_PT, True) for text in _chart_texts(belt)) + 3.0
        middle = _across(axes, belt.line_mm)
        if all(middle + half <= low or middle - half >= high for low, high in taken):
            taken.append((middle - half, middle + half))
            kept.append(belt)
    return kept


def _chart_texts(belt: BeltChance) -> tuple[str, str]:
    chance = belt.inside if belt.with_reserve is None else belt.with_reserve
    return belt.designation, percent(chance)


def _belt_labels(study: Tolerance, belt: BeltChance, axes: Axes) -> list[Label]:
    nearest, x = belt == study.nearest, _across(axes, belt.line_mm)
    lines = (*_chart_texts(belt), *(["nearest" if study.best is None else "buy"] if nearest else []))
    return [
        Label(text, (x, axes.box[1] - 11.0 * (i + 1)), _SMALL_PT, INK, nearest, "center", f"belt {belt.designation}")
        for i, text in enumerate(lines)
    ]


# Rows of a tolerance picture: the wrap of every pulley against its least, and what each measurement adds.

_ROW_PT, _TEXT_PT, _BAR_PT = 27.0, 8.5, 7.0
_MOST_ROWS = 10
_WHOLE_DEG = 45.0


def _wrap_rows(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """One row a pulley: what 19 of 20 wraps lie between, their mean, and the least as an upright line."""
    most = _WHOLE_DEG * np.ceil(max((_reach(wrap) for wrap in study.wraps), default=_WHOLE_DEG) / _WHOLE_DEG)
    items: list[Item] = []
    for i, wrap in enumerate(study.wraps):
        y = top - i * _ROW_PT
        items += _row_texts(wrap.pulley, _wrap_row(wrap), left, y, width_pt, bool(wrap.under), f"wrap {wrap.pulley}")
        items += _wrap_bar(wrap, left, y - _ROW_PT + 5.0, width_pt / float(most), width_pt)
    return items


def _reach(wrap: WrapSpread) -> float:
    return max(wrap.band_deg[1], wrap.minimum_deg or 0.0)


def _wrap_row(wrap: WrapSpread) -> str:
    words = f"{wrap.band_deg[0]:.1f} to {wrap.band_deg[1]:.1f}"
    if wrap.minimum_deg is None or wrap.under is None:
        return words
    words += f", min {wrap.minimum_deg:.0f}"
    return words + (f": {percent(wrap.under)} under" if wrap.under > 0.0 else "")


def _wrap_bar(wrap: WrapSpread, left: float, low: float, pt_per_deg: float, width_pt: float) -> list[Item]:
    middle, name = low + 0.5 * _BAR_PT, f"wrap {wrap.pulley}"
    first, last, mean = (left + pt_per_deg * angle for angle in (*wrap.band_deg, wrap.mean_deg))
    items: list[Item] = [
        Stroke(np.array([(left, middle), (left + width_pt, middle)]), HAIRLINE),
        Shape((rectangle((first, low, last, low + _BAR_PT)),), BELT_BACK, BELT_EDGE, name=name),
        Shape((rectangle((mean - 0.8, low, mean + 0.8, low + _BAR_PT)),), BELT_RIBS, name=name),
    ]
    if wrap.minimum_deg is not None:
        x = left + pt_per_deg * wrap.minimum_deg
        items.append(Stroke(np.array([(x, low - 2.0), (x, low + _BAR_PT + 2.0)]), LIMIT, f"least {wrap.pulley}"))
    return items


def told(study: Tolerance) -> tuple[Contribution, ...]:
    """The measurements that are shown: the largest shares of the variance."""
    rows = () if study.first is None else study.first.contributions
    return tuple(row for row in rows if row.share)[:_MOST_ROWS]


def _share_rows(study: Tolerance, left: float, top: float, width_pt: float) -> list[Item]:
    """One row a measurement, the largest share of the variance first; the bar's whole width is the largest."""
    rows = told(study)
    largest = max((row.share or 0.0 for row in rows), default=1.0)
    items: list[Item] = []
    for i, row in enumerate(rows):
        y, share = top - i * _ROW_PT, row.share or 0.0
        words, low = percent(share), y - _ROW_PT + 5.0
        items += _row_texts(row.measurement.words, words, left, y, width_pt, False, f"share {i}")
        box = (left, low, left + width_pt * share / largest, low + _BAR_PT)
        items.append(Shape((rectangle(box),), BELT_RIBS if i == 0 else BELT_BACK, BELT_EDGE, name=f"share {i}"))
    return items


def _row_texts(name: str, words: str, left: float, top: float, width_pt: float, bad: bool, tag: str) -> list[Item]:
    y = top - _TEXT_PT - 2.0
    room = width_pt - text_width_pt(words, _TEXT_PT, bad) - 8.0
    return [
        Label(_cut(name, room), (left, y), _TEXT_PT, INK, name=tag),
        Label(words, (left + width_pt, y), _TEXT_PT, PROBLEM if bad else SOFT_INK, bad, "right", tag),
    ]


def _cut(text: str, room_pt: float) -> str:
    shown = text
    while len(shown) > 1 and text_width_pt(shown, _TEXT_PT) > room_pt:
        shown = f"{shown.removesuffix('...')[:-1]}..."
        if shown == "...":
            break
    return shown


# The whole sheet of a tolerance picture: answers, lengths and chances, wraps, measurements, caution.

_GAP_PT = 34.0
_HALF_PT = 0.5 * (INSIDE_PT - _GAP_PT)

_Answers = tuple[tuple[str, str], ...]
"""What the study answers, each with its heading."""


def tolerance_scene(study: Tolerance, answers: _Answers) -> Scene:
    """A tolerance study as a scene; a scene unit is a point, the top left corner inside the margins is the origin."""
    page = Page(0.0, 0.0, INSIDE_PT, 1.0)
    page.text(*_head(study, answers))
    page.skip(6.0)
    page.rule()
    page.text(*_chart_words(study))
    page.skip(6.0)
    page.items += _length_chart(study, 0.0, page.y, INSIDE_PT)
    page.skip(_length_chart_height_pt())
    page.rule()
    rows, page.y = _rows(study, page.y)
    page.items += rows
    page.rule()
    page.text(*_foot(study))
    frame = (-MARGIN_PT, page.y - MARGIN_PT, INSIDE_PT + MARGIN_PT, MARGIN_PT)
    return Scene(frame, 1.0, tuple(page.items))


def _head(study: Tolerance, answers: _Answers) -> tuple[Paragraph, ...]:
    words = [Paragraph(title_words(study.route.layout), 17.0, INK, True, name="title")]
    for i, (lead, text) in enumerate(answers):
        words.append(Paragraph(f"{lead.capitalize()}: {text}", 10.5, INK if i < 2 else SOFT_INK, i < 2, 3.0, "answer"))
    return tuple(words)


def _chart_words(study: Tolerance) -> tuple[Paragraph, ...]:
    layout = study.route.layout
    heading = f"{layout.belt.profile.line_name.capitalize()} length, {layout.units}: needed, and bought"
    about = "Over: how often each length comes out at the design setting. Under: the chance of each stock belt"
    if study.windows is None:
        about += " that its length tolerance, or its stretch, holds the path."
    else:
        about += ", dark with full reserve (and as a figure), light that it can be fitted at all. "
        about += "Red: the window of the layout as given; dashed: where a good belt's length ends."
    return (
        Paragraph(heading, 12.0, INK, True, 6.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _rows(study: Tolerance, top: float) -> tuple[list[Item], float]:
    right = _HALF_PT + _GAP_PT
    wraps, shares = _wrap_words(study), _share_words(study)
    items: list[Item] = [
        *column(wraps, 0.0, top, _HALF_PT, 1.0),
        *column(shares, right, top, _HALF_PT, 1.0),
    ]
    y = top - max(height_pt(words, _HALF_PT) for words in (wraps, shares)) - 2.0
    items += [*_wrap_rows(study, 0.0, y, _HALF_PT), *_share_rows(study, right, y, _HALF_PT)]
    return items, y - _ROW_PT * max(len(study.wraps), len(told(study))) - 8.0


def _wrap_words(study: Tolerance) -> tuple[Paragraph, ...]:
    belt = fitted_words(study).removesuffix(",")
    if not study.wraps:
        return (Paragraph("Wrap: no belt to judge it by", 12.0, INK, True, 6.0, "heading"),)
    return (
        Paragraph("Wrap, deg" if study.windows is None else f"Wrap with {belt}, deg", 12.0, INK, True, 6.0, "heading"),
        Paragraph("Bar: 19 of 20 draws; dark: their mean; red: the minimum.", 9.0, SOFT_INK, name="about"),
    )


def _share_words(study: Tolerance) -> tuple[Paragraph, ...]:
    if not told(study):
        return (Paragraph("Measurements: no spread to share out", 12.0, INK, True, 6.0, "heading"),)
    return (
        Paragraph("Which measurement matters", 12.0, INK, True, 6.0, "heading"),
        Paragraph("Share of the variance of the path length, first order.", 9.0, SOFT_INK, name="about"),
    )


def _foot(study: Tolerance) -> tuple[Paragraph, ...]:
    return (
        Paragraph(f"{study.draws} draws, seed {study.seed}.", 9.0, SOFT_INK, before_pt=5.0, name="draws"),
        Paragraph(TOLERANCE_SAFETY, 10.0, INK, True, 2.0, "caution"),
    )


# A tolerance study as a picture file.


def draw_tolerance(study: Tolerance, answers: _Answers, path: str) -> None:
    """Write the picture of a tolerance study; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending, OSError where the file cannot be written.
    """
    paint(tolerance_scene(study, answers), path)
