"""Charts in matplotlib's own axes, rows of words with a chart between them, and lines of equal value over a grid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from beltplan.drive.belt import MM_PER_INCH
from beltplan.drive.layout import Units
from beltplan.geometry.vectors import Bools, Floats
from beltplan.picture import pens
from beltplan.picture.page import MARK_PT, MIDDLE_EM, Laid, Mark
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Box, Chart, Item, Label, cut_to


def line_of(pen: Pen) -> dict[str, Any]:
    return {"color": pen.colour, "linewidth": pen.width_pt, "linestyle": (0.0, pen.dash) if pen.dash else "-"}


def rule_axes(box_mm: Box, units: Units, axes: Any) -> None:
    """Rule a panel over a box of the layout: its units below and at the left, the others above and at the right."""
    ticks, per_mm = MaxNLocator(9, steps=[1, 2, 5, 10]), {"mm": 1.0, "in": 1.0 / MM_PER_INCH}
    other: Units = "in" if units == "mm" else "mm"
    over = per_mm[other] / per_mm[units]
    left, bottom, right, top = (edge * per_mm[units] for edge in box_mm)
    both = (lambda own: own * over, lambda told: told / over)
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    axes.grid(**line_of(Pen(pens.RULE, 0.4)))
    sides = (
        (axes.xaxis, f"x, {units}", (left, right)),
        (axes.yaxis, f"y, {units}", (bottom, top)),
        (axes.secondary_xaxis("top", functions=both).xaxis, f"x, {other}", (left * over, right * over)),
        (axes.secondary_yaxis("right", functions=both).yaxis, f"y, {other}", (bottom * over, top * over)),
    )
    for side, words, (low, high) in sides:
        side.set_label_text(words)
        side.set_ticks([tick for tick in ticks.tick_values(low, high) if low <= tick <= high])


@dataclass(frozen=True)
class Row:
    """A row: its name, figures after the chart, marks after the name. bad: whether it fails."""

    name: str
    figures: tuple[str, ...]
    marks: tuple[Mark, ...] = ()
    bad: bool = False


_ROW_PT, _WORDS_PT, _AXIS_PT = 18.0, 9.0, 34.0


@dataclass(frozen=True)
class RowChart:
    """Rows of words with a chart on one scale between them: row i has its middle at y = i, downward.

    heads: over the figures; names_pt, figures_pt: widths of the names and of each column of figures.
    """

    rows: Sequence[Row]
    heads: tuple[str, ...]
    draw: Callable[[Any], None]
    names_pt: float
    figures_pt: tuple[float, ...]
    name: str

    def laid(self, left: float, top: float, width: float) -> Laid:
        count, first = len(self.rows), top - (_ROW_PT if any(self.heads) else 4.0)
        start = left + width - sum(self.figures_pt)
        lefts = start + np.cumsum((0.0, *self.figures_pt))[:-1]
        box = (left + self.names_pt, first - count * _ROW_PT, start - 16.0, first)
        items: list[Item] = [Chart(box, self._drawn, self.name)]
        heads = zip(self.heads, lefts.tolist(), strict=True)
        items += [_word(words, x, top - 0.5 * _ROW_PT, pens.SOFT_INK, f"{self.name} head") for words, x in heads]
        for i, row in enumerate(self.rows):
            y = first - (i + 0.5) * _ROW_PT
            room = self.names_pt - 12.0 - MARK_PT * len(row.marks)
            items.append(_word(cut_to(row.name, room, _WORDS_PT), left, y, pens.INK, f"{self.name} {row.name}"))
            end = left + self.names_pt - 8.0 - MARK_PT * len(row.marks)
            for k, mark in enumerate(row.marks):
                items += mark.drawn((end + (k + 0.5) * MARK_PT, y), f"mark {row.name}")
            colour = pens.PROBLEM if row.bad else pens.INK
            for words, x, wide in zip(row.figures, lefts.tolist(), self.figures_pt, strict=True):
                shown = cut_to(words, wide, _WORDS_PT, row.bad)
                items.append(_word(shown, x, y, colour, f"{self.name} {row.name}", row.bad))
        return items, first - count * _ROW_PT - _AXIS_PT

    def _drawn(self, axes: Any) -> None:
        axes.set_ylim(len(self.rows) - 0.5, -0.5)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        across = axes.get_yaxis_transform()
        axes.hlines(range(len(self.rows)), 0.0, 1.0, transform=across, zorder=0, **line_of(pens.HAIRLINE))
        self.draw(axes)


def _word(words: str, x: float, y: float, colour: str, name: str, bold: bool = False) -> Label:
    return Label(words, (x, y - MIDDLE_EM * _WORDS_PT), _WORDS_PT, colour, bold, name=name)


# Lines of equal value over a grid, as chains of points.


def contour_chains(x: Floats, y: Floats, values: Floats, level: float) -> list[Floats]:
    """Where values cross a level. x: (columns), y: (rows), values: (rows, columns), NaN where there is none.

    Returns chains of points, each (n, 2), longest first.
    """
    known = values[np.isfinite(values)]
    if min(values.shape) < 2 or not len(known) or not known.min() < level <= known.max():
        return []
    drawn = Figure().add_subplot().contour(x, y, np.ma.masked_invalid(values), levels=[level])
    chains = [np.asarray(chain) for chain in drawn.allsegs[0] if len(chain) > 1]
    return sorted(chains, key=lambda chain: -chain_length(chain))


def chain_length(chain: Floats) -> float:
    return float(np.hypot(*np.diff(chain, axis=0).T).sum())


def outline_chains(x: Floats, y: Floats, inside: Bools) -> list[Floats]:
    """The edges of a region; inside: (rows, columns), whether a place belongs to it."""
    # A frame of places outside closes the edge of a region that reaches the end of the grid.
    framed = np.pad(np.asarray(inside, dtype=float), 1)
    ends = ((x, x[1] - x[0]), (y, y[1] - y[0]))
    wide_x, wide_y = (np.concatenate(([at[0] - step], at, [at[-1] + step])) for at, step in ends)
    return contour_chains(wide_x, wide_y, framed, 0.5)
