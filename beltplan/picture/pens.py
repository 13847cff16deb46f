"""Colours and pens of the pictures: few, told apart by lightness as well, so that grey prints can be read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Pen:
    """How a line looks. width_pt: points on paper; dash: lengths on and off in points, empty for a whole line.

    phase_pt: how far into its dashes a line begins.
    """

    colour: str
    width_pt: float = 1.0
    dash: tuple[float, ...] = ()
    phase_pt: float = 0.0


INK = "#16202b"
SOFT_INK = "#4a5662"
PAPER = "#ffffff"
RULE = "#b9c2cb"
METAL = "#eef1f4"
CHANGED = "#f7e3b8"
"""A pulley that is not as in the drawing beside it."""
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
TRAVEL = Pen(ADJUSTER, 1.5, (3.0, 1.5))
STOP_BAR = Pen(ADJUSTER, 1.5)
PIVOT = Pen(ADJUSTER, 1.8)
GHOST_SHORT = Pen(ADJUSTER, 0.9, (4.0, 2.5))
BEFORE = Pen(SOFT_INK, 1.1, (5.0, 2.0))
GHOST_LONG = Pen(ADJUSTER, 1.1, (1.0, 2.0))
ARM = Pen(ADJUSTER, 4.0)
LEADER = Pen(SOFT_INK, 0.6)
OUTLINE = Pen(_OBSTACLE_EDGE, 0.9)
HAIRLINE = Pen(RULE, 0.8)
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
SPEED_LINE = Pen(RULE, 0.7)

MARGINS = ("#f3e2c0", "#c9ddee", "#aecbe3", "#8ab5d8", "#649bc6", "#3f80b3")
"""Margins on a map, smaller to larger: light to dark, in grey too; the first is none."""
PATH_BUT_PROBLEM = "#f4f4f2"
PATTERN = "#bcb6ac"
PLACE_EDGE = Pen(INK, 0.9)
CAUTION_FREE_EDGE = Pen(INK, 2.2)
EQUAL_LENGTH = Pen(INK, 0.6)
BEST_BELT = Pen(INK, 1.3, (6.0, 2.5))

FOUND_RIM = Pen(METAL_EDGE, 0.8)
FOUND_CROSS = Pen(INK, 1.4)
DISTANCE_READ = Pen(BELT_BACK, 1.1)
ANGLE_READ = Pen(ADJUSTER, 1.7, (1.7, 4.0))
OFFSET_READ = Pen(BELT_BACK, 1.1, (6.0, 2.0, 1.5, 2.0))
LOOP_READ = Pen(BELT_BACK, 0.8, (1.2, 3.2))
LEVEL_LINE = Pen(RULE, 0.9, (9.0, 4.0))
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
PRINT_CONTROL = Pen(SOFT_INK, 0.35, (12.0, 3.0))
PRINT_JOIN = Pen(INK, 0.35)
PRINT_CUT = Pen(SOFT_INK, 0.4)
PRINT_EDGE = Pen(SOFT_INK, 0.4, (0.8, 2.4))
PRINT_FRAME = Pen(RULE, 0.4)
"""Full scale prints: thin, as a print is punched through and costs ink."""
