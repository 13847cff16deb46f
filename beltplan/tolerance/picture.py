"""The picture of a tolerance study: answers, belts with their chances, wraps, measurements, caution."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from beltplan.picture import pens
from beltplan.picture.chart import Row, RowChart, line_of
from beltplan.picture.page import INSIDE_PT, Block, Gap, Panel, Paragraph, Rule, page_of
from beltplan.picture.scene import Scene, text_width_pt
from beltplan.report.answer import title_words
from beltplan.report.words import TOLERANCE_SAFETY
from beltplan.tolerance.study import BeltChance, Tolerance, WrapSpread, fitted_words, percent

_BOUGHT_PT = 200.0
_ROOM = (44.0, 38.0, 8.0, 18.0)
"""Beside, under and over a chart, for the words of its axes."""
_WIDEST_BAR, _SMALL_PT = 0.022, 8.5
"""Widest bar as a share of the chart; letters of the belts."""
_EDGE_MM = 2.0
_MOST_ROWS = 10


# Belts bought: the chance of each, against the window and what must be left of it.


def _bought(study: Tolerance) -> Block:
    def draw(axes: Any) -> None:
        window = study.route.window
        lengths = [belt.line_mm for belt in study.foremost()]
        lengths += [] if window is None else [window.shortest, window.longest]
        edge = _EDGE_MM + 0.06 * (max(lengths) - min(lengths))
        low, high = min(lengths) - edge, max(lengths) + edge
        axes.set_xlim(low, high)
        axes.set_ylim(0.0, 1.03)
        axes.set_yticks([0.0, 0.5, 1.0], ["0 %", "50 %", "100 %"])
        _zones(study, axes, low, high)
        _chance_bars(study, axes, high - low)

    return Panel(draw, _BOUGHT_PT, _ROOM, "bought")


def _zones(study: Tolerance, axes: Any, low: float, high: float) -> None:
    window, good = study.route.window, study.route.acceptable_mm
    if window is None:
        return
    axes.set_facecolor(pens.SLIPS)
    axes.axvspan(window.shortest, window.longest, color=pens.LITTLE_IN_HAND, zorder=0)
    for length in (window.shortest, window.longest):
        axes.axvline(length, gid="window", **line_of(pens.LIMIT))
    if good is not None:
        axes.axvspan(*good, color=pens.PAPER, zorder=0.5)
        for length in good:
            axes.axvline(length, gid="reserve", **line_of(pens.LOW_LIMIT))
    words = ("too short", "little reserve", "full reserve", "little reserve", "too long")
    told = words if good is not None else (words[0], words[1], words[4])
    edges = [low, window.shortest, *(good or ()), window.longest, high]
    for text, (start, end) in zip(told, pairwise(edges), strict=True):
        room_pt = (end - start) / (high - low) * (INSIDE_PT - _ROOM[0] - _ROOM[2])
        if text_width_pt(text, _SMALL_PT) + 4.0 <= room_pt:
            axes.text(0.5 * (start + end), 1.06, text, ha="center", color=pens.SOFT_INK, gid="zone")


def _chance_bars(study: Tolerance, axes: Any, across: float) -> None:
    """Light: it can be fitted at all; dark: with full reserve. The belt to buy, or the nearest, is bold."""
    lengths = [belt.line_mm for belt in study.foremost()]
    width = min([_WIDEST_BAR * across, *(0.7 * (b - a) for a, b in pairwise(lengths))])
    for chances, colour, gid in (
        ([belt.inside for belt in study.foremost()], pens.BELT_BACK, "inside"),
        ([belt.with_reserve or 0.0 for belt in study.foremost()], pens.BELT_RIBS, "with reserve"),
    ):
        bars = axes.bar(lengths, chances, width, color=colour, edgecolor=pens.BELT_RIBS, linewidth=0.7, zorder=2)
        for bar in bars:
            bar.set_gid(gid)
    shown = _labelled(study, across)
    axes.set_xticks([belt.line_mm for belt in shown], ["\n".join(_words(study, belt)) for belt in shown])
    for belt, label in zip(shown, axes.get_xticklabels(), strict=True):
        label.set_fontweight("bold" if belt == study.nearest else "normal")


def _words(study: Tolerance, belt: BeltChance) -> list[str]:
    return [belt.designation, percent(belt.kept), *study.called(belt)]


def _labelled(study: Tolerance, across: float) -> list[BeltChance]:
    """The belts that there is room to label, the one to buy, or the nearest, before the others."""
    kept: list[tuple[float, float, BeltChance]] = []
    per_pt = across / (INSIDE_PT - _ROOM[0] - _ROOM[2])
    for belt in sorted(study.foremost(), key=lambda belt: (belt != study.nearest, belt != study.chosen, -belt.inside)):
        half = per_pt * (0.5 * max(text_width_pt(text, _SMALL_PT, True) for text in _words(study, belt)) + 3.0)
        low, high = belt.line_mm - half, belt.line_mm + half
        if all(high <= start or low >= end for start, end, _ in kept):
            kept.append((low, high, belt))
    return [belt for _, _, belt in kept]


# Rows: the wrap of every pulley against its minimum, and what each measurement adds.


def _wraps(study: Tolerance) -> Block:
    def draw(axes: Any) -> None:
        axes.set_xlabel("wrap, deg")
        for i, wrap in enumerate(study.wraps):
            low, high = wrap.band_deg
            axes.barh([i], [high - low], 0.42, [low], color=pens.BELT_BACK, edgecolor=pens.BELT_RIBS, gid="band")
            axes.vlines([wrap.mean_deg], i - 0.21, i + 0.21, color=pens.BELT_RIBS, linewidth=2.0)
            axes.vlines([wrap.minimum_deg], i - 0.33, i + 0.33, gid="minimum", **line_of(pens.LIMIT))
        axes.set_xlim(left=0.0)

    rows = [_wrap_row(wrap) for wrap in study.wraps]
    short = any(wrap.under for wrap in study.wraps)
    return RowChart(rows, ("19 of 20", "min", "falls short" * short), draw, 150.0, (92.0, 36.0, 66.0), "wrap")


def _wrap_row(wrap: WrapSpread) -> Row:
    low, high = wrap.band_deg
    under = percent(wrap.under) if wrap.under else ""
    # Where it is likelier to fall short than not, as a problem is marked; a small chance is told by its number.
    told = (f"{low:.1f} to {high:.1f}", f"{wrap.minimum_deg:.0f}", under)
    return Row(wrap.pulley, told, (), wrap.under > 0.5)


def _shares(study: Tolerance) -> Block:
    rows = study.shares[:_MOST_ROWS]
    shares = [row.share or 0.0 for row in rows]

    def draw(axes: Any) -> None:
        axes.barh(range(len(rows)), [100.0 * share for share in shares], 0.42, color=pens.BELT_RIBS, gid="share")
        axes.set_xlabel("share, %")
        axes.set_xlim(left=0.0)

    figures = [Row(study.words_of(row.measurement), (percent(share),)) for row, share in zip(rows, shares, strict=True)]
    return RowChart(figures, ("",), draw, 230.0, (60.0,), "share")


# The whole sheet.


def tolerance_scene(study: Tolerance, answers: Sequence[str]) -> Scene:
    """A tolerance study as a scene, what it answers over its charts; a chart that would be empty is left out."""
    if study.plan.count("problem"):
        answers = [f"Check: {study.plan.verdict}", *answers]
    wrap = "Wrap" if study.windows is None else f"Wrap with {fitted_words(study)}"
    about = "How much of the spread of the path's length each makes, as a share of its variance."
    blocks: list[Block] = [
        *(
            Paragraph(words, 10.5, pens.INK if i < 2 else pens.SOFT_INK, i < 2, 3.0, "answer")
            for i, words in enumerate(answers)
        ),
        Rule(6.0),
        *_headed("Belts that can be bought", _bought_words(study), study.belts, Gap(4.0), _bought(study), Gap(14.0)),
        *_headed(wrap, "Bar: 19 of 20 draws; dark: their mean; thin line: the minimum.", study.wraps, _wraps(study)),
        *_headed("Which measurement matters", about, study.shares, _shares(study)),
        Rule(),
        Paragraph(f"{study.draws} draws, seed {study.seed}.", 9.0, pens.SOFT_INK, before_pt=5.0, name="draws"),
        Paragraph(TOLERANCE_SAFETY, 10.0, pens.INK, True, 2.0, "caution"),
    ]
    return page_of(title_words(study.route.layout), blocks, ". ".join(answers))


def _headed(words: str, about: str, holds: object, *chart: Block) -> list[Block]:
    if not holds:
        return []
    head = Paragraph(words, 12.0, pens.INK, True, 6.0, "heading")
    return [head, Paragraph(about, 9.0, pens.SOFT_INK, name="about"), *chart]


def _bought_words(study: Tolerance) -> str:
    if study.windows is None:
        return "The chance of each stock belt that its length tolerance, or its stretch, holds the path."
    return (
        "Dark bar, and the figure under it: chance of room for wear. Light bar: chance that it can be fitted at all. "
        "Solid lines: between them a belt fits the layout as given; dashed: with full reserve."
    )
