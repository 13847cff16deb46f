"""What a picture is made of: strokes, shapes and labels in one plane, in the order in which they are drawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, Ints, from_angle
from beltplan.plots.lettering import ASCENT_EM, DESCENT_EM, text_width_pt

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""
Point = tuple[float, float]
Align = Literal["left", "center", "right"]

CIRCLE_STEP_RAD = 0.05


@dataclass(frozen=True)
class Pen:
    """How a line looks. width_pt: points on paper; dash: lengths on and off in points, empty for a whole line.

    phase_pt: how far into its dashes a line begins.
    """

    colour: str
    width_pt: float = 1.0
    dash: tuple[float, ...] = ()
    phase_pt: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """An open chain of points, (n, 2) in scene units. name: what it stands for."""

    points: Floats
    pen: Pen
    name: str = ""


@dataclass(frozen=True)
class Shape:
    """A closed area. rings: outline first, then its holes, each (n, 2) without the first point repeated.

    fill: colour, or '' for none. hatched: whether thin slanting lines fill it as well.
    """

    rings: tuple[Floats, ...]
    fill: str = ""
    pen: Pen | None = None
    hatched: bool = False
    name: str = ""


@dataclass(frozen=True)
class Label:
    """One line of text. at: the point on its baseline that `align` names, scene units."""

    text: str
    at: Point
    size_pt: float
    colour: str
    bold: bool = False
    align: Align = "left"
    name: str = ""

    def box(self, unit_pt: float) -> Box:
        """Box that the text needs, scene units, for a scene of `unit_pt` points a unit; a little too large."""
        em = self.size_pt / unit_pt
        width = text_width_pt(self.text, self.size_pt, self.bold) / unit_pt
        left = self.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[self.align] * width
        return (left, self.at[1] - DESCENT_EM * em, left + width, self.at[1] + ASCENT_EM * em)


@dataclass(frozen=True)
class Raster:
    """A grid of flat colours. box: its edges; cells: (rows, columns), lowest row first, numbers of `colours`.

    A negative number leaves the cell empty.
    """

    box: Box
    cells: Ints
    colours: tuple[str, ...]
    name: str = ""


Item = Stroke | Shape | Raster | Label


@dataclass(frozen=True)
class Scene:
    """A picture to be painted. frame: its edges in scene units; unit_pt: points on paper of one scene unit."""

    frame: Box
    unit_pt: float
    items: tuple[Item, ...] = field(default=())

    @property
    def size_pt(self) -> Point:
        """Width and height on paper."""
        left, bottom, right, top = self.frame
        return (right - left) * self.unit_pt, (top - bottom) * self.unit_pt

    @property
    def labels(self) -> tuple[Label, ...]:
        """Every line of text."""
        return tuple(item for item in self.items if isinstance(item, Label))

    def named(self, name: str) -> tuple[Item, ...]:
        """Everything drawn under one name."""
        return tuple(item for item in self.items if item.name == name)


def moved(items: Iterable[Item], x: float, y: float) -> list[Item]:
    """The same things elsewhere, scene units."""
    by = np.array((x, y))
    return [_moved(item, by) for item in items]


def _moved(item: Item, by: Floats) -> Item:
    if isinstance(item, Label):
        return replace(item, at=(item.at[0] + float(by[0]), item.at[1] + float(by[1])))
    if isinstance(item, Stroke):
        return replace(item, points=item.points + by)
    if isinstance(item, Raster):
        (left, bottom, right, top), (x, y) = item.box, (float(by[0]), float(by[1]))
        return replace(item, box=(left + x, bottom + y, right + x, top + y))
    return replace(item, rings=tuple(ring + by for ring in item.rings))


def arc(centre: Point | Floats, radius: float, start_rad: float, sweep_rad: float) -> Floats:
    """Points along an arc from an angle through a signed sweep, both ends included; (n, 2)."""
    count = max(2, int(np.ceil(abs(sweep_rad) / CIRCLE_STEP_RAD)) + 1)
    return np.asarray(centre + radius * from_angle(start_rad + np.linspace(0.0, sweep_rad, count)))


def circle(centre: Point | Floats, radius: float) -> Floats:
    """Points once round a circle, the first not repeated; (n, 2)."""
    return arc(centre, radius, 0.0, TURN)[:-1]


def rectangle(box: Box) -> Floats:
    """Corners of a box, counter-clockwise; (4, 2)."""
    left, bottom, right, top = box
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top)])


def arrow_head(tip: Point | Floats, direction: Floats, length: float) -> Floats:
    """Corners of a slim triangle that points along a unit vector; (3, 2)."""
    back = np.asarray(tip) - length * direction
    across = 0.42 * length * np.array([-direction[1], direction[0]])
    return np.array([np.asarray(tip), back + across, back - across])


def broad_arrow(tail: Point | Floats, along: Floats, shaft: float, head: float) -> Floats:
    """Outline of an arrow with a shaft of some width, (7, 2): the tail lies between the first and the last point.

    along: from tail to tip. head: its length; a short arrow is all head.
    """
    length = float(np.hypot(along[0], along[1]))
    unit = along / length if length > 0.0 else np.array((1.0, 0.0))
    across, head = np.array((-unit[1], unit[0])), min(head, length)
    start, tip = np.asarray(tail, dtype=float), np.asarray(tail) + along
    neck, half, wing = tip - head * unit, 0.5 * shaft * across, (0.5 * shaft + 0.3 * head) * across
    return np.array([start + half, neck + half, neck + wing, tip, neck - wing, neck - half, start - half])
