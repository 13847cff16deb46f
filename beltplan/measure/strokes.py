"""The drawing of a measured drive: what it stands on, rims, readings as lines, ellipses, crosses, marks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.path import Path
from matplotlib.transforms import Bbox

from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.measure.readings import Reading
from beltplan.measure.study import Centre, Checked, Measuring
from beltplan.picture.page import NUMBER_PT, mark_shape
from beltplan.picture.scene import (
    ANGLE_READ,
    DISTANCE_READ,
    ELLIPSE,
    ELLIPSE_EDGE,
    FOUND_CROSS,
    FOUND_RIM,
    GHOST_PLACE,
    INK,
    LEVEL_LINE,
    LOOP_READ,
    LOOSE_RING,
    MISREAD_LINE,
    OFFSET_READ,
    PAPER,
    SUSPECT_LINE,
    Box,
    Item,
    Label,
    Pen,
    Point,
    Shape,
    Stroke,
    circle,
    rectangle,
)

_LEAST_SPAN_MM = 100.0
MOST_GHOSTS = 10
_SAME_MM = 1.0
_MOST_RESIDUALS = 24
_LEAST_SHOWN = 0.05
"""A residual that would be lettered as zero is not."""


ELLIPSE_PT = 26.0
"""Half the longest axis of the largest ellipse on paper, at most, where ellipses are drawn larger than life."""
_GROWTH = 0.5
"""The drawing grows by this share of its longer side, at most, to show the ellipses whole."""
_ELLIPSE_STEPS = 120
CROSS_PT = 6.0
GHOST_PT = 5.0
RING_PT = 9.0
PENS: Mapping[str, tuple[str, Pen]] = {
    "distance": ("distance", DISTANCE_READ),
    "angle": ("angle", ANGLE_READ),
    "offset": ("offset", OFFSET_READ),
    "loop": ("loop laid round", LOOP_READ),
}
"""The legend's word and the pen for each kind of reading that is drawn as a line."""


@dataclass(frozen=True)
class Numbered:
    """A reading that was left out or is suspected, with the number by which the picture calls it."""

    number: int
    reading: Reading
    left_out: bool


@dataclass(frozen=True)
class Ghost:
    """Where a point may lie instead, mm."""

    name: str
    at: tuple[float, float]


def numbered_of(found: Measuring) -> tuple[Numbered, ...]:
    """What was misread, then what is suspected, numbered from 1 as the study lists them."""
    both = (*((each, True) for each in found.errors.gross_errors), *((each, False) for each in found.errors.suspects))
    return tuple(Numbered(number, each.reading, out) for number, (each, out) in enumerate(both, 1))


def ghosts_of(found: Measuring) -> tuple[Ghost, ...]:
    """Where points lie in the mirror solutions, MOST_GHOSTS of them, no place twice."""
    kept: list[Ghost] = []
    for mirror in found.mirrors:
        for name, at in zip(mirror.points, mirror.places, strict=True):
            if all(name != other.name or math.dist(at, other.at) > _SAME_MM for other in kept):
                kept.append(Ghost(name, at))
    return tuple(kept[:MOST_GHOSTS])


def rims_of(found: Measuring) -> dict[str, float]:
    """Radius over the rim by pulley, mm, as far as known."""
    return found.rims_mm


def at_of(found: Measuring, name: str) -> Floats:
    """Where a point is drawn, (2) mm; a loose one by a guess."""
    return np.array(found.centre(name).at_mm)


def ends_of(found: Measuring, reading: Reading) -> Floats | None:
    """The line by which a reading is drawn, (n, 2) mm: two points, or three for an offset; None for one at a point."""
    return reading.drawn(found.rims_mm, *(at_of(found, name) for name in reading.points))


def lines_of(found: Measuring) -> list[tuple[Checked, Floats]]:
    """Readings with the lines by which they are drawn, in the order of the file."""
    pairs = [(each, ends_of(found, each.reading)) for each in found.checked]
    return [(each, ends) for each, ends in pairs if ends is not None]


def residuals_of(drawing: Drawing) -> list[tuple[Checked, Floats]]:
    """The lines whose residuals are lettered where there is room, the worst first."""
    doubted = {each.reading for each in drawing.numbered}
    rows = [
        (each, ends)
        for each, ends in lines_of(drawing.found)
        if each.share is not None and abs(each.error) >= _LEAST_SHOWN and each.reading not in doubted
    ]
    return sorted(rows, key=lambda row: -(row[0].share or 0.0))[:_MOST_RESIDUALS]


def geometry_box(found: Measuring) -> Box:
    """The box round all points, rims and ghosts, mm; never of no size."""
    rims = rims_of(found)
    discs = [(*centre.at_mm, rims.get(centre.name, 0.0)) for centre in found.centres]
    discs += [(*ghost.at, 0.0) for ghost in ghosts_of(found)]
    every = np.array(discs)
    low = (every[:, :2] - every[:, 2:]).min(axis=0)
    high = (every[:, :2] + every[:, 2:]).max(axis=0)
    missing = np.maximum(_LEAST_SPAN_MM - (high - low), 0.0) / 2.0
    (x0, y0), (x1, y1) = low - missing, high + missing
    return (float(x0), float(y0), float(x1), float(y1))


@dataclass(frozen=True, eq=False)
class Ellipses:
    """times: how many times larger than life, 1 or more. outlines: (n, 2) mm, by point. cut: those cut off."""

    times: float
    outlines: Mapping[str, Floats]
    cut: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Drawing:
    """A measured drive as it is drawn. unit_pt: points on paper for one mm."""

    found: Measuring
    numbered: tuple[Numbered, ...]
    ghosts: tuple[Ghost, ...]
    ellipses: Ellipses
    unit_pt: float


def drawing_of(found: Measuring, box: Box, unit_pt: float) -> Drawing:
    return Drawing(found, numbered_of(found), ghosts_of(found), ellipses_of(found, box, unit_pt), unit_pt)


def drawing_box(found: Measuring) -> Box:
    """The box round all points, rims and mirror solutions, grown to hold the ellipses to scale as far as may be, mm."""
    box = geometry_box(found)
    x0, y0, x1, y1 = _grown(box, _GROWTH * max(box[2] - box[0], box[3] - box[1]))
    outlines = [outline for name in _known(found) if (outline := ellipse_outline(found, name, 1.0)) is not None]
    every = np.concatenate((np.array(box).reshape(2, 2), *outlines))
    low, high = np.maximum(every.min(axis=0), (x0, y0)), np.minimum(every.max(axis=0), (x1, y1))
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def ellipses_of(found: Measuring, box: Box, unit_pt: float) -> Ellipses:
    """The ellipses in a drawing of that box. unit_pt: points on paper for one mm."""
    whole = {name: outline for name in _known(found) if (outline := ellipse_outline(found, name, 1.0)) is not None}
    times = enlargement(max((reach_mm(found, name, whole[name]) for name in whole), default=0.0), unit_pt)
    edge = _grown(box, ELLIPSE_PT / unit_pt)
    centres = {name: at_of(found, name) for name in whole}
    drawn = {name: centres[name] + times * (outline - centres[name]) for name, outline in whole.items()}
    cut = tuple(name for name, outline in drawn.items() if not _is_inside(outline, edge))
    return Ellipses(times, {**drawn, **{name: _cut_off(drawn[name], edge) for name in cut}}, cut)


def ellipse_outline(found: Measuring, name: str, times: float) -> Floats | None:
    """The outline of a place's standard ellipse, so many times larger, (n, 2) mm; None for an exact place."""
    values, axes = np.linalg.eigh(_covariance(found, name))
    if not values[-1] > 0.0:
        return None
    round_once = from_angle(np.linspace(0.0, TURN, _ELLIPSE_STEPS, endpoint=False))
    half = times * np.sqrt(np.maximum(values, 0.0))
    outline: Floats = at_of(found, name) + (round_once * half) @ axes.T
    return outline


def enlargement(longest_mm: float, unit_pt: float) -> float:
    """How many times larger ellipses are drawn: 1, 2 or 5 times a power of ten, so that the largest can be seen.

    Never less than 1: a large error must not look smaller than a small one.
    """
    most = ELLIPSE_PT / (longest_mm * unit_pt) if longest_mm > 0.0 else 1.0
    if not most > 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9))


def _known(found: Measuring) -> list[str]:
    return [centre.name for centre in found.centres if not centre.is_undetermined]


def _covariance(found: Measuring, name: str) -> Floats:
    first = 2 * found.measured.points.index(name)
    return found.covariance_mm2[first : first + 2, first : first + 2]


def reach_mm(found: Measuring, name: str, outline: Floats) -> float:
    """How far an outline reaches from the point of that name."""
    return float(np.hypot(*(outline - at_of(found, name)).T).max())


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _is_inside(outline: Floats, box: Box) -> bool:
    return bool(np.all(outline >= box[:2]) and np.all(outline <= box[2:]))


def _cut_off(outline: Floats, box: Box) -> Floats:
    """What lies in the box of an outline whose middle does, (n, 2)."""
    closed = Path(np.concatenate((outline, outline[:1])), closed=True)
    corners: Floats = np.asarray(closed.clip_to_bbox(Bbox.from_extents(*box)).vertices, dtype=float)
    return corners


def ground_items(found: Measuring, across: tuple[float, float]) -> list[Item]:
    """What lies behind: the level line through the origin between two x, and the rims that are known."""
    y = float(at_of(found, found.measured.origin)[1])
    items: list[Item] = [Stroke(np.array([(across[0], y), (across[1], y)]), LEVEL_LINE, "level")]
    rims = rims_of(found)
    return items + [
        Shape((circle(at_of(found, name), rims[name]),), "", FOUND_RIM, name=f"rim {name}") for name in rims
    ]


def reading_items(drawing: Drawing) -> list[Item]:
    """Every reading that has a line; those in doubt are drawn by `doubted_items`."""
    doubted = {each.reading for each in drawing.numbered}
    return [
        Stroke(ends, PENS[each.reading.kind][1], f"read {each.reading.words}")
        for each, ends in lines_of(drawing.found)
        if each.reading not in doubted
    ]


def doubted_items(drawing: Drawing) -> list[Item]:
    """Misread and suspected readings, thick; at a point that was picked or traced a ring."""
    items: list[Item] = []
    found, radius = drawing.found, RING_PT / drawing.unit_pt
    for each in drawing.numbered:
        pen = MISREAD_LINE if each.left_out else SUSPECT_LINE
        ends, name = ends_of(found, each.reading), f"doubted {each.number}"
        if ends is not None:
            items.append(Stroke(ends, pen, name))
        else:
            at = at_of(found, each.reading.points[0])
            items.append(Shape((circle(at, radius),), "", pen, name=name))
    return items


def mark_items(each: Numbered, at: Point, unit_pt: float) -> list[Item]:
    """The numbered mark of a reading in doubt: an octagon where it was left out, a diamond where it is suspected."""
    name = f"mark {each.number}"
    colour = PAPER if each.left_out else INK
    baseline = (at[0], at[1] - 0.36 * NUMBER_PT / unit_pt)
    return [
        mark_shape("problem" if each.left_out else "caution", at, unit_pt, name),
        Label(str(each.number), baseline, NUMBER_PT, colour, True, "center", name),
    ]


def ellipse_items(ellipses: Ellipses) -> list[Item]:
    """The standard ellipse of every place that is not exact."""
    return [
        Shape((outline,), ELLIPSE, ELLIPSE_EDGE, name=f"ellipse {name}") for name, outline in ellipses.outlines.items()
    ]


def cross_items(centre: Centre, unit_pt: float) -> list[Item]:
    """A cross at a place; a ring of dashes with a question mark at a loose point."""
    at = np.array(centre.at_mm)
    if centre.is_undetermined:
        baseline = (centre.x_mm, centre.y_mm - 4.2 / unit_pt)
        ring = Shape((circle(at, RING_PT / unit_pt),), PAPER, LOOSE_RING, name=f"loose {centre.name}")
        return [ring, Label("?", baseline, 12.0, INK, True, "center", f"loose {centre.name}")]
    reach = CROSS_PT / unit_pt
    arms = (np.array((reach, 0.0)), np.array((0.0, reach)))
    return [Stroke(np.array([at - arm, at + arm]), FOUND_CROSS, f"place {centre.name}") for arm in arms]


def ghost_items(ghosts: tuple[Ghost, ...], unit_pt: float) -> list[Item]:
    """Hollow circles of dashes where points may lie instead."""
    return [
        Shape((circle(ghost.at, GHOST_PT / unit_pt),), "", GHOST_PLACE, name=f"ghost {ghost.name}") for ghost in ghosts
    ]


def plate(box: tuple[float, float, float, float]) -> Shape:
    """Paper under a label that stands on a line."""
    return Shape((rectangle(box),), PAPER, name="plate")


def along(ends: Floats, share: float) -> Floats:
    """The point at a share of the way along a line, (2)."""
    way = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(ends, axis=0).T))))
    return np.array([np.interp(share * way[-1], way, ends[:, axis]) for axis in (0, 1)])
