"""What a picture is made of: strokes, shapes and labels in one plane; how wide letters are; colours and pens."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, Ints, from_angle

_UNITS_PER_EM = 2048
_ASCENT_EM = 0.78
"""Room over the baseline: capitals with an accent stand 0.93 high, but rarely; brackets and letters 0.76."""
_DESCENT_EM = 0.25
_BOLD = 1.24
"""Bold letters are at most this much wider (J, capital, is 1.26; no word is all J)."""
_UNKNOWN = 2100
"""Width taken for a letter that is not listed: the widest listed."""

# Source: horizontal advance widths in the font file DejaVuSans.ttf, which comes with matplotlib.
_LETTERS_BY_WIDTH = {
    563: "'",
    569: "ijl\u0131",
    604: "IJ",
    651: " ,.\u00b7\u00a0",
    690: "/:;\\|",
    721: "f",
    739: "-",
    799: "()[]",
    803: "t",
    821: "!",
    842: "r",
    942: '"',
    1024: "*_`\u00b0\u2013",
    1067: "s",
    1075: "z",
    1087: "?",
    1126: "c",
    1141: "L",
    1178: "F",
    1186: "k",
    1212: "vxy",
    1235: "P",
    1251: "TY",
    1253: "o",
    1255: "a",
    1260: "e",
    1290: "\u00df",
    1294: "E",
    1298: "hnu",
    1300: "Sbdgpq",
    1303: "$0123456789{}",
    1343: "K",
    1401: "AV",
    1403: "XZ",
    1405: "B",
    1423: "R",
    1430: "C",
    1499: "U",
    1532: "N",
    1540: "H",
    1577: "D",
    1587: "G",
    1597: "&",
    1612: "OQ\u00d8",
    1675: "w",
    1716: "#+<=>^~\u00d7\u00b1",
    1767: "M",
    1946: "%",
    1995: "m",
    2025: "W",
    2048: "@",
}
_WIDTHS = {letter: width for width, letters in _LETTERS_BY_WIDTH.items() for letter in letters}


def text_width_pt(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a line of text, points; accents are taken off their letters, unknown letters count as the widest."""
    letters: str | list[str] = text
    if not text.isascii():
        letters = [letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter)]
    units = sum([_WIDTHS.get(letter, _UNKNOWN) for letter in letters])
    return units / _UNITS_PER_EM * size_pt * (_BOLD if bold else 1.0)


def one_line(text: str) -> str:
    """Text without line breaks and without letters that cannot be printed."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


@lru_cache(maxsize=1024)
def wrapped(text: str, width_pt: float, size_pt: float, bold: bool = False) -> tuple[str, ...]:
    """Text broken into lines no wider than `width_pt`; a wider word is cut, after '_' or '-' if it can."""
    lines, line = [], ""
    for word in one_line(text).split(" "):
        longer = f"{line} {word}".strip()
        if line and text_width_pt(longer, size_pt, bold) > width_pt:
            lines.append(line)
            longer = word
        *full, line = _pieces(longer, width_pt, size_pt, bold)
        lines += full
    return (*lines, line)


def _pieces(word: str, width_pt: float, size_pt: float, bold: bool) -> list[str]:
    if text_width_pt(word, size_pt, bold) <= width_pt or len(word) < 2:
        return [word]
    keep = max(n for n in range(1, len(word)) if n == 1 or text_width_pt(word[:n], size_pt, bold) <= width_pt)
    joint = max(word.rfind("_", 0, keep), word.rfind("-", 0, keep)) + 1
    keep = joint or keep
    return [word[:keep], *_pieces(word[keep:], width_pt, size_pt, bold)]


# What a picture is made of: strokes, shapes and labels in one plane, in the order in which they are drawn.

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""
Point = tuple[float, float]
Align = Literal["left", "center", "right"]

_CIRCLE_STEP_RAD = 0.05


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
        return (left, self.at[1] - _DESCENT_EM * em, left + width, self.at[1] + _ASCENT_EM * em)


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
    count = max(2, int(np.ceil(abs(sweep_rad) / _CIRCLE_STEP_RAD)) + 1)
    return np.asarray(centre + radius * from_angle(start_rad + np.linspace(0.0, sweep_rad, count)))


def circle(centre: Point | Floats, radius: float) -> Floats:
    """Points once round a circle, the first not repeated; (n, 2)."""
    return arc(centre, radius, 0.0, TURN)[:-1]


def rectangle(box: Box) -> Floats:
    """Corners of a box, counter-clockwise; (4, 2)."""
    left, bottom, right, top = box
    return np.array([(left, bottom), (right, bottom), (right, top), (left, top)])


def box_round(points: Floats) -> Box:
    """The box round points, (n, 2)."""
    (left, bottom), (right, top) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return left, bottom, right, top


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


# Colours and pens of the pictures: few, told apart by lightness as well, so that grey prints can be read.

INK = "#16202b"
SOFT_INK = "#4a5662"
PAPER = "#ffffff"
_RULE = "#b9c2cb"
METAL = "#eef1f4"
METAL_EDGE = "#5b6773"
BELT_RIBS = "#16324f"
BELT_BACK = "#a9c4dd"
WRAP = "#0b6fa4"
OBSTACLE = "#dfdfdc"
_OBSTACLE_EDGE = "#77776f"
ADJUSTER = "#8a4f9e"
PROBLEM = "#a4161a"
CAUTION = "#f2b233"

RIM = Pen(METAL_EDGE, 1.1)
DRIVER_RIM = Pen(INK, 2.6)
GROOVE_RING = Pen(METAL_EDGE, 0.5)
SPARE_RIM = Pen(METAL_EDGE, 0.9, (5.0, 3.5))
BELT_EDGE = Pen(BELT_RIBS, 0.7)
FOLLOWED_LINE = Pen(BELT_RIBS, 0.5)
WRAP_ARC = Pen(WRAP, 1.8)
WRAP_END = Pen(WRAP, 0.7)
TURNING = Pen(INK, 1.3)
TRAVEL = Pen(ADJUSTER, 1.5)
GHOST_SHORT = Pen(ADJUSTER, 0.9, (4.0, 2.5))
GHOST_LONG = Pen(ADJUSTER, 1.1, (1.0, 2.0))
ARM = Pen(ADJUSTER, 4.0)
LEADER = Pen(SOFT_INK, 0.6)
OUTLINE = Pen(_OBSTACLE_EDGE, 0.9)
HAIRLINE = Pen(_RULE, 0.8)
SCALE_BAR = Pen(INK, 2.0)

UNLAID_LINE = Pen(BELT_RIBS, 1.6)
WRONG_LINE = Pen(PROBLEM, 3.0, (7.0, 2.5))
MISSING_LINE = Pen(PROBLEM, 2.4, (1.5, 2.5))
"""A belt that cannot be laid: what is wrong thick and in dashes of its own."""

BELT_LINE = Pen(BELT_BACK, 3.6)
PULLEY_LINE = Pen(METAL_EDGE, 1.0)
FORCE = "#a33b0b"
FORCE_HALO = Pen(PAPER, 1.4)
FORCE_AT_REST = "#f4d3bd"
FORCE_AT_REST_EDGE = Pen(FORCE, 0.6)

WET = Pen(WRAP, 2.1)
DRY = Pen(INK, 1.3, (6.0, 2.5))
DESIGN = Pen(SOFT_INK, 1.0, (1.0, 2.0))
OTHER_WET = Pen(WRAP, 0.6)
OTHER_DRY = Pen(INK, 0.5, (6.0, 2.5))
SLIPS = "#f8e6e4"
LITTLE_IN_HAND = "#fbf0d2"
LIMIT = Pen(PROBLEM, 1.3)
LOW_LIMIT = Pen(METAL_EDGE, 0.8, (3.0, 1.5))
SPEED_LINE = Pen(_RULE, 0.7)
AXIS = Pen(INK, 0.8)

BELT_CLASSES = ("#f5e48f", "#cfe08e", "#aed89c", "#7fc3ac", "#5aa9b8", "#4a8abd", "#4f66ae")
"""Belt lengths on a map, shorter to longer: lighter to darker, so that grey prints keep the order."""
PATH_BUT_PROBLEM = "#f1f1ef"
PLACE_EDGE = Pen(INK, 0.9)
CAUTION_FREE_EDGE = Pen(INK, 2.2)
EQUAL_MARGIN = Pen(SOFT_INK, 0.8, (4.0, 2.0))

FOUND_RIM = Pen(METAL_EDGE, 0.8)
FOUND_CROSS = Pen(INK, 1.4)
DISTANCE_READ = Pen(BELT_BACK, 1.1)
ANGLE_READ = Pen(ADJUSTER, 1.7, (1.7, 4.0))
OFFSET_READ = Pen(BELT_BACK, 1.1, (6.0, 2.0, 1.5, 2.0))
LOOP_READ = Pen(BELT_BACK, 0.8, (1.2, 3.2))
LEVEL_LINE = Pen(_RULE, 0.9, (9.0, 4.0))
ELLIPSE = "#d3e4f1"
ELLIPSE_EDGE = Pen(WRAP, 0.8)
MISREAD_LINE = Pen(PROBLEM, 2.4, (7.0, 3.0))
SUSPECT_LINE = Pen(FORCE, 1.9, (3.0, 2.0))
LOOSE_RING = Pen(INK, 1.2, (2.5, 2.0))
GHOST_PLACE = Pen(ADJUSTER, 1.2, (2.5, 1.5))
"""Measured places: what was read thin, what is in doubt thick and in dashes of its own."""

PRINT_BELT_LINE = Pen(INK, 0.9)
PRINT_BELT_FACE = Pen(SOFT_INK, 0.35)
PRINT_RIM = Pen(METAL_EDGE, 0.5)
PRINT_CROSS = Pen(INK, 0.35)
PRINT_ADJUSTER = Pen(ADJUSTER, 0.5, (5.0, 3.0))
PRINT_STOP = Pen(ADJUSTER, 0.35)
PRINT_OBSTACLE = Pen(_OBSTACLE_EDGE, 0.6, (9.0, 2.0, 1.5, 2.0))
PRINT_SCALE = Pen(INK, 0.5)
PRINT_LEADER = Pen(SOFT_INK, 0.35, (1.5, 1.5))
PRINT_JOIN = Pen(INK, 0.35)
PRINT_CUT = Pen(SOFT_INK, 0.4)
PRINT_EDGE = Pen(SOFT_INK, 0.4, (0.8, 2.4))
PRINT_FRAME = Pen(_RULE, 0.4)
"""Full scale prints: thin, as a print is punched through and costs ink."""
