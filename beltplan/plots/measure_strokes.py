"""The drawing of a measured drive itself: rims, readings as lines, ellipses, crosses, mirror images, marks."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.plots.marks import NUMBER_PT, mark_shape
from beltplan.plots.measure_ellipses import Ellipses
from beltplan.plots.measure_ground import (
    Ghost,
    Numbered,
    at_of,
    ends_of,
    is_loose,
    lines_of,
    point_of,
    rims_of,
)
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
    PAPER,
    SUSPECT_LINE,
)
from beltplan.plots.scene import Item, Label, Pen, Point, Shape, Stroke, circle, rectangle
from beltplan.studies.measured import Direction, Offset
from beltplan.studies.measured_network import Source
from beltplan.studies.measuring import Centre, Measuring

CROSS_PT = 6.0
GHOST_PT = 5.0
RING_PT = 9.0


def ground_items(found: Measuring, across: tuple[float, float]) -> list[Item]:
    """What lies behind: the level line through the origin between two x, and the rims that are known."""
    y = float(at_of(found, found.measured.origin)[1])
    items: list[Item] = [Stroke(np.array([(across[0], y), (across[1], y)]), LEVEL_LINE, "level")]
    rims = rims_of(found)
    return items + [
        Shape((circle(at_of(found, name), rims[name]),), "", FOUND_RIM, name=f"rim {name}") for name in rims
    ]


def reading_items(found: Measuring, numbered: tuple[Numbered, ...]) -> list[Item]:
    """Every reading that has a line; those in doubt are drawn by `doubted_items`."""
    doubted = {each.reading for each in numbered}
    return [
        Stroke(ends, pen_of(each.reading.source), f"read {each.reading.words}")
        for each, ends in lines_of(found)
        if each.reading not in doubted
    ]


def pen_of(source: Source) -> Pen:
    """How a reading is drawn."""
    if isinstance(source, Direction):
        return ANGLE_READ
    return OFFSET_READ if isinstance(source, Offset) else DISTANCE_READ


def doubted_items(found: Measuring, numbered: tuple[Numbered, ...], unit_pt: float) -> list[Item]:
    """Misread and suspected readings, thick; at a point that was picked or traced a ring."""
    items: list[Item] = []
    for each in numbered:
        pen = MISREAD_LINE if each.left_out else SUSPECT_LINE
        ends, name = ends_of(found, each.reading), f"doubted {each.number}"
        if ends is not None:
            items.append(Stroke(ends, pen, name))
        else:
            at = at_of(found, point_of(each.reading) or found.measured.origin)
            items.append(Shape((circle(at, RING_PT / unit_pt),), "", pen, name=name))
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
    at = np.array((centre.x_mm, centre.y_mm))
    if is_loose(centre):
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
    return np.asarray(ends[0] + share * (ends[-1] - ends[0]))
