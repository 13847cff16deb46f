"""The legend of a measured drive: only what the picture really holds."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.plots.legend import Entry, Symbol, scale_bar
from beltplan.plots.marks import mark_shape
from beltplan.plots.measure_ellipses import Ellipses
from beltplan.plots.measure_ground import MOST_GHOSTS, Ghost, Numbered, lines_of, residuals_of, rims_of
from beltplan.plots.measure_ground import is_loose as loose
from beltplan.plots.measure_strokes import CROSS_PT, GHOST_PT
from beltplan.plots.palette import (
    ANGLE_READ,
    DISTANCE_READ,
    ELLIPSE,
    ELLIPSE_EDGE,
    FOUND_CROSS,
    FOUND_RIM,
    GHOST_PLACE,
    INK,
    LEVEL_LINE,
    LOOSE_RING,
    MISREAD_LINE,
    OFFSET_READ,
    SUSPECT_LINE,
)
from beltplan.plots.scene import Item, Label, Pen, Shape, Stroke, circle
from beltplan.studies.measured import Direction, Distance, Offset
from beltplan.studies.measuring import Measuring


def measure_entries(
    found: Measuring, numbered: tuple[Numbered, ...], ghosts: tuple[Ghost, ...], ellipses: Ellipses, unit_pt: float
) -> list[Entry]:
    """What the legend holds."""
    entries = [scale_bar(unit_pt), Entry("place found", _cross, 14.0)]
    if ellipses.outlines:
        entries.append(Entry(f"one standard deviation, {ellipse_words(ellipses)}", _ellipse, 24.0))
    entries += _line_entries(found, numbered)
    if rims_of(found):
        entries.append(Entry("rim", _ring(FOUND_RIM, 8.0), 18.0))
    entries.append(Entry("level, through the origin", _line(LEVEL_LINE)))
    if any(each.left_out for each in numbered):
        entries.append(Entry("misread, left out", _doubted(True)))
    if not all(each.left_out for each in numbered):
        entries.append(Entry("suspected: one of these is wrong", _doubted(False)))
    if any(loose(centre) for centre in found.centres):
        entries.append(Entry("not held by the readings", _question, 20.0))
    if ghosts:
        few = f", {MOST_GHOSTS} of them" if len(ghosts) == MOST_GHOSTS else ""
        entries.append(Entry(f"where it may lie instead (mirror image{few})", _ring(GHOST_PLACE, GHOST_PT), 14.0))
    return entries


def ellipse_words(ellipses: Ellipses) -> str:
    """How large the ellipses are drawn."""
    how = "to scale" if ellipses.times == 1.0 else f"drawn {ellipses.times:g} times larger"
    return how + (", cut off at the edge" if ellipses.cut else "")


def _line_entries(found: Measuring, numbered: tuple[Numbered, ...]) -> list[Entry]:
    sources = [each.reading.source for each, _ in lines_of(found)]
    figures = "; figure: mm that it reads too much" if residuals_of(found, numbered) else ""
    kinds = (
        (Distance, f"distance{figures}", DISTANCE_READ),
        (Direction, "angle", ANGLE_READ),
        (Offset, "offset", OFFSET_READ),
    )
    return [Entry(words, _line(pen)) for kind, words, pen in kinds if any(isinstance(each, kind) for each in sources)]


def _line(pen: Pen) -> Symbol:
    def draw(at: Floats, pt: float) -> list[Item]:
        half = np.array((15.0 * pt, 0.0))
        return [Stroke(np.stack((at - half, at + half)), pen)]

    return draw


def _ring(pen: Pen, radius_pt: float) -> Symbol:
    return lambda at, pt: [Shape((circle(at, radius_pt * pt),), "", pen)]


def _doubted(left_out: bool) -> Symbol:
    pen = MISREAD_LINE if left_out else SUSPECT_LINE

    def draw(at: Floats, pt: float) -> list[Item]:
        return [*_line(pen)(at, pt), mark_shape("problem" if left_out else "caution", at, 1.0 / pt)]

    return draw


def _cross(at: Floats, pt: float) -> list[Item]:
    arms = (np.array((CROSS_PT * pt, 0.0)), np.array((0.0, CROSS_PT * pt)))
    return [Stroke(np.stack((at - arm, at + arm)), FOUND_CROSS) for arm in arms]


def _ellipse(at: Floats, pt: float) -> list[Item]:
    outline = at + from_angle(np.linspace(0.0, TURN, 40, endpoint=False)) * np.array((11.0 * pt, 6.0 * pt))
    return [Shape((outline,), ELLIPSE, ELLIPSE_EDGE)]


def _question(at: Floats, pt: float) -> list[Item]:
    ring = Shape((circle(at, 8.0 * pt),), "", LOOSE_RING)
    baseline = (float(at[0]), float(at[1]) - 3.6 * pt)
    return [ring, Label("?", baseline, 10.0, INK, True, "center", "legend")]
