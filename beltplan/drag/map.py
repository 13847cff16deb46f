"""The map of one pulley under the drawing: where it could sit, the darker the larger the margin."""

from __future__ import annotations

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.picture.pens import MARGINS
from beltplan.picture.scene import Raster
from beltplan.place.study import bounds_of, grid_of, place_map

PLACES = 4_000
"""As many are judged in well under a second."""


def map_of(layout: Layout, name: str) -> Raster:
    """The map of a pulley with a place of its own; empty where a place has a problem."""
    low, high = bounds_of(layout)
    step_mm = float(np.ceil(np.sqrt((high[0] - low[0]) * (high[1] - low[1]) / PLACES)))
    shaded = place_map(layout, name, grid_of(low, high, step_mm, layout.pulleys[name].at_mm)).shaded
    return Raster(shaded.box, shaded.classes, MARGINS, "map")
