"""The map of one pulley under the drawing: where it could sit, the darker the larger the margin."""

from __future__ import annotations

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.picture.scene import Raster
from beltplan.place.study import CAUTION, bounds_of, grid_of, place_map

PLACES = 4_000
"""As many are judged in well under a second."""
SHADES = ("#deebf4", "#b5d0e4", "#84aed0", "#4f87b6", "#235f94")
"""Margins up to each of `STEPS`, and over them all: light to dark, in grey too."""
STEPS = (0.02, 0.05, 0.1, 0.2)


def map_of(layout: Layout, name: str) -> Raster:
    """The map of a pulley with a place of its own; empty where a place has a problem."""
    low, high = bounds_of(layout)
    step_mm = float(np.ceil(np.sqrt((high[0] - low[0]) * (high[1] - low[1]) / PLACES)))
    grid = grid_of(low, high, step_mm, layout.pulleys[name].at_mm)
    found = place_map(layout, name, grid)
    margin = np.nan_to_num(found.field("margin"), nan=0.0)
    cells = np.where(found.states >= CAUTION, np.digitize(margin, STEPS), -1)
    half = 0.5 * step_mm
    x, y = grid.x_mm, grid.y_mm
    box = (float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half)
    return Raster(box, cells, SHADES, "map")
