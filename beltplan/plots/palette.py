"""Colours and pens of the pictures: few, told apart by lightness as well, so that grey prints can be read."""

from __future__ import annotations

from beltplan.plots.scene import Pen

INK = "#16202b"
SOFT_INK = "#4a5662"
PAPER = "#ffffff"
RULE = "#b9c2cb"
METAL = "#eef1f4"
METAL_EDGE = "#5b6773"
BELT_RIBS = "#16324f"
BELT_BACK = "#a9c4dd"
WRAP = "#0b6fa4"
OBSTACLE = "#dfdfdc"
OBSTACLE_EDGE = "#77776f"
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
GHOST = Pen(ADJUSTER, 0.8, (3.0, 2.5))
ARM = Pen(ADJUSTER, 4.0)
LEADER = Pen(SOFT_INK, 0.6)
OUTLINE = Pen(OBSTACLE_EDGE, 0.9)
HAIRLINE = Pen(RULE, 0.8)
SCALE_BAR = Pen(INK, 2.0)
