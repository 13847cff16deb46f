"""What a picture is made of: strokes, shapes, labels and charts in points on one sheet; how wide letters are."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import matplotlib
import numpy as np
from matplotlib.ft2font import FT2Font

from beltplan.geometry.loops import arc
from beltplan.geometry.vectors import TURN, Floats, Ints
from beltplan.picture.pens import Pen
from beltplan.report.words import KEPT, unbroken

_ASCENT_EM = 0.78
"""Room over the baseline: capitals with an accent stand 0.93 high, but rarely; brackets and letters 0.76."""
_DESCENT_EM = 0.25
_EM = 2048
"""Units of the font in the height of a letter: widths are read at this size, so that they are whole."""


def font_file(bold: bool) -> Path:
    """The font of all pictures. It comes with matplotlib: no search over the machine's fonts."""
    return Path(matplotlib.get_data_path(), "fonts", "ttf", "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")


@lru_cache(maxsize=2)
def _font(bold: bool) -> FT2Font:
    font = FT2Font(str(font_file(bold)))
    font.set_size(_EM, 72)
    return font


@lru_cache(maxsize=4096)
def _letter_em(letter: str, bold: bool) -> float:
    known = _font(bold).get_char_index(ord(letter)) != 0
    return _font(bold).load_char(ord(letter if known else "@")).linearHoriAdvance / 65536 / _EM


def text_width_pt(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a line of text, points; accents are taken off their letters, a letter that the font lacks is wide."""
    letters = (letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter))
    return size_pt * sum(_letter_em(letter, bold) for letter in letters)


def one_line(text: str) -> str:
    """Text without line breaks and letters that cannot be printed; keys and commands in plain quotes."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text.replace("`", "'")).split())


def cut_to(text: str, width_pt: float, size_pt: float, bold: bool = False, tail: str = "") -> str:
    """A text on one line that ends in dots where it is too wide; what follows it, the tail, is not cut."""
    shown, dots = one_line(text), ""
    while shown and text_width_pt(f"{shown}{dots}{tail}", size_pt, bold) > width_pt:
        shown, dots = shown[:-1].rstrip(), "..."
    return f"{shown}{dots}{tail}"


@lru_cache(maxsize=1024)
def wrapped(text: str, width_pt: float, size_pt: float, bold: bool = False) -> tuple[str, ...]:
    """Text broken into lines no wider than `width_pt`, no number torn from its unit; a wider word is cut, after '_' or
    '-' if it can."""
    lines, line = [], ""
    for word in unbroken(one_line(text)).split(" "):
        longer = f"{line} {word}".strip(" ")
        if line and text_width_pt(longer, size_pt, bold) > width_pt:
            lines.append(line)
            longer = word
        *full, line = _pieces(longer, width_pt, size_pt, bold)
        lines += full
    return tuple(each.replace(KEPT, " ") for each in (*lines, line))


def _pieces(word: str, width_pt: float, size_pt: float, bold: bool) -> list[str]:
    if text_width_pt(word, size_pt, bold) <= width_pt or len(word) < 2:
        return [word]
    keep = max(n for n in range(1, len(word)) if n == 1 or text_width_pt(word[:n], size_pt, bold) <= width_pt)
    joint = max(word.rfind("_", 0, keep), word.rfind("-", 0, keep)) + 1
    keep = joint or keep
    return [word[:keep], *_pieces(word[keep:], width_pt, size_pt, bold)]


# Everything drawn is in points on the sheet, in the order in which it is drawn.

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""
Point = tuple[float, float]
Align = Literal["left", "center", "right"]


@dataclass(frozen=True, eq=False)
class View:
    """Where mm of a layout stand on the sheet, points: so many a mm, from where its origin is."""

    pt_per_mm: float = 1.0
    origin: Point = (0.0, 0.0)

    def at(self, points_mm: Floats | Point) -> Floats:
        """Points on the sheet of points in mm, (..., 2)."""
        return np.asarray(self.pt_per_mm * np.asarray(points_mm) + self.origin)

    @property
    def back(self) -> View:
        x, y = self.origin
        return View(1.0 / self.pt_per_mm, (-x / self.pt_per_mm, -y / self.pt_per_mm))


IN_MM = View()
"""The layout as it is."""


@dataclass(frozen=True)
class Stroke:
    """An open chain of points, (n, 2). name: what it stands for."""

    points: Floats
    pen: Pen
    name: str = ""

    def seen(self, view: View) -> Stroke:
        return replace(self, points=view.at(self.points))

    @property
    def box(self) -> Box:
        return box_round(self.points)


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

    def seen(self, view: View) -> Shape:
        return replace(self, rings=tuple(map(view.at, self.rings)))

    @property
    def box(self) -> Box:
        return box_round(self.rings[0])


@dataclass(frozen=True)
class Label:
    """One line of text. at: the point on its baseline that `align` names."""

    text: str
    at: Point
    size_pt: float
    colour: str
    bold: bool = False
    align: Align = "left"
    name: str = ""

    def seen(self, view: View) -> Label:
        x, y = view.at(self.at).tolist()
        return replace(self, at=(x, y))

    @property
    def box(self) -> Box:
        """Box that the text needs; a little too large."""
        width = text_width_pt(self.text, self.size_pt, self.bold)
        left = self.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[self.align] * width
        return (left, self.at[1] - _DESCENT_EM * self.size_pt, left + width, self.at[1] + _ASCENT_EM * self.size_pt)


@dataclass(frozen=True)
class Raster:
    """A grid of flat colours. box: its edges; cells: (rows, columns), lowest row first, numbers of `colours`.

    A negative number leaves the cell empty.
    """

    box: Box
    cells: Ints
    colours: tuple[str, ...]
    name: str = ""

    def seen(self, view: View) -> Raster:
        return replace(self, box=seen_box(self.box, view))


@dataclass(frozen=True)
class Chart:
    """A panel of matplotlib's own axes. box: its frame; draw: what draws on the axes."""

    box: Box
    draw: Callable[[Any], None]
    name: str = ""

    def seen(self, view: View) -> Chart:
        return replace(self, box=seen_box(self.box, view))


Item = Stroke | Shape | Raster | Label | Chart


@dataclass(frozen=True)
class Scene:
    """A picture to be painted.

    frame: its edges, points. title, about: what it shows, for who cannot see it. view: where its layout stands.
    """

    frame: Box
    items: tuple[Item, ...] = ()
    title: str = ""
    about: str = ""
    view: View = View()

    @property
    def size_pt(self) -> Point:
        left, bottom, right, top = self.frame
        return right - left, top - bottom

    @property
    def labels(self) -> tuple[Label, ...]:
        return tuple(item for item in self.items if isinstance(item, Label))

    def named(self, name: str) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.name == name)


def seen(items: Iterable[Item], view: View) -> list[Item]:
    """The same things where a view puts them; letters and pens keep their size."""
    return [item.seen(view) for item in items]


def seen_box(box: Box, view: View) -> Box:
    return box_round(view.at(np.reshape(box, (2, 2))))


def circle(centre: Point | Floats, radius: float) -> Floats:
    """Points once round a circle, the first not repeated; (n, 2)."""
    return arc(centre, radius, 0.0, TURN)[:-1]


def rectangle(box: Box) -> Floats:
    """Corners of a box, counter-clockwise; (4, 2)."""
    left, bottom, right, top = box
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top)])


def box_round(points: Floats) -> Box:
    (left, bottom), (right, top) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return left, bottom, right, top


def box_round_discs(discs: Floats, *more: Floats) -> Box:
    """The box round discs, (n, 3): centre and radius of each; and round more points, (m, 2)."""
    middle, radius = discs[:, :2], discs[:, 2:]
    return box_round(np.concatenate((middle - radius, middle + radius, *more)))


def grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def box_about(at: Point | Floats, width: float, height: float) -> Box:
    x, y = (float(value) for value in at)
    return (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)


def extent(items: Iterable[Item]) -> Box:
    return box_round(np.array([item.box for item in items]).reshape(-1, 2))


def cross(at: Point | Floats, reach: float, pen: Pen, name: str = "") -> list[Stroke]:
    arms = reach * np.eye(2)
    return [Stroke(np.stack((at - arm, at + arm)), pen, name) for arm in arms]


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
