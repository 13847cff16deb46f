"""The grid of places that a map looks at, in mm of the layout."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.geometry.vectors import Floats

ROUND_MM = 150.0
"""How far round the layout's pulleys the default grid reaches."""
USUAL_PLACES = 40_000
MOST_PLACES = 4_000_000


@dataclass(frozen=True)
class Grid:
    """Places from `low` on in steps of `step_mm`, up to `high` at most; row by row, x first."""

    low: tuple[float, float]
    high: tuple[float, float]
    step_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        columns, rows = (
            math.floor((high - low) / self.step_mm + 1e-9) + 1 for low, high in zip(self.low, self.high, strict=True)
        )
        return rows, columns

    @property
    def count(self) -> int:
        """How many places there are."""
        rows, columns = self.shape
        return rows * columns

    @property
    def x_mm(self) -> Floats:
        """Columns."""
        return np.asarray(self.low[0] + self.step_mm * np.arange(self.shape[1]), dtype=np.float64)

    @property
    def y_mm(self) -> Floats:
        """Rows."""
        return np.asarray(self.low[1] + self.step_mm * np.arange(self.shape[0]), dtype=np.float64)

    def points(self) -> Floats:
        """Every place, (rows x columns, 2) mm."""
        x, y = np.meshgrid(self.x_mm, self.y_mm)
        return np.stack((x.ravel(), y.ravel()), axis=-1)


def bounds_of(layout: Layout) -> tuple[tuple[float, float], tuple[float, float]]:
    """Lower left and upper right corner of the box round every pulley's rim, and `ROUND_MM` more; mm."""
    discs = [(p.at_mm, p.rim_radius_mm(layout.belt)) for p in layout.pulleys.values() if p.at_mm is not None]
    for pulley in layout.routed:
        if pulley.adjuster is not None:
            ends = pulley.adjuster.centre_at(np.array(pulley.adjuster.travel))
            discs += [((float(x), float(y)), pulley.rim_radius_mm(layout.belt)) for x, y in ends]
    lows = [min(at[i] - radius for at, radius in discs) - ROUND_MM for i in (0, 1)]
    highs = [max(at[i] + radius for at, radius in discs) + ROUND_MM for i in (0, 1)]
    return (lows[0], lows[1]), (highs[0], highs[1])


def places_in(low: tuple[float, float], high: tuple[float, float], step_mm: float) -> float:
    """About how many places a grid over a box would have, however small the step."""
    return ((high[0] - low[0]) / step_mm + 1.0) * ((high[1] - low[1]) / step_mm + 1.0)


def grid_of(
    low: tuple[float, float], high: tuple[float, float], step_mm: float | None, through: tuple[float, float] | None
) -> Grid:
    """A grid over a box.

    step_mm: None for about `USUAL_PLACES`. through: a place that shall be one of the grid, None to begin at `low`.
    """
    if step_mm is None:
        step_mm = _round_step(math.sqrt((high[0] - low[0]) * (high[1] - low[1]) / USUAL_PLACES))
    if through is not None:
        first = [at - step_mm * math.floor((at - least) / step_mm) for at, least in zip(through, low, strict=True)]
        low = (first[0], first[1])
    return Grid(low, high, step_mm)


def _round_step(step_mm: float) -> float:
    """To two digits, so that it can be said."""
    return float(f"{step_mm:.2g}")
