"""The map of one pulley: what every place of a grid comes to, the best, and how far the nearest sound one is."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from beltplan.checks.limits import Finding
from beltplan.drive.layout import Layout
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.judging.stages import CAUTION, STATES, JudgedPlaces, Place, judged_places
from beltplan.progress import Progress, unseen

_ROUND_MM = 150.0
"""How far round the layout's pulleys the default grid reaches."""
_USUAL_PLACES = 40_000
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
    """Lower left and upper right corner of the box round every pulley's rim, and `_ROUND_MM` more; mm."""
    discs = [(p.at_mm, p.rim_radius_mm(layout.belt)) for p in layout.pulleys.values() if p.at_mm is not None]
    for pulley in layout.routed:
        if pulley.adjuster is not None:
            ends = pulley.adjuster.track.centre_at(np.array(pulley.adjuster.travel))
            discs += [((float(x), float(y)), pulley.rim_radius_mm(layout.belt)) for x, y in ends]
    lows = [min(at[i] - radius for at, radius in discs) - _ROUND_MM for i in (0, 1)]
    highs = [max(at[i] + radius for at, radius in discs) + _ROUND_MM for i in (0, 1)]
    return (lows[0], lows[1]), (highs[0], highs[1])


Box = tuple[tuple[float, float], tuple[float, float]]
"""Lower left and upper right corner, mm."""


def map_grid(layout: Layout, pulley: str, box: Box | None = None, step_mm: float | None = None) -> Grid:
    """The grid of one pulley's map; without a box round all pulleys, with its present place among the places."""
    return grid_of(*(box or bounds_of(layout)), step_mm, layout.pulleys[pulley].at_mm if box is None else None)


def grid_of(
    low: tuple[float, float], high: tuple[float, float], step_mm: float | None, through: tuple[float, float] | None
) -> Grid:
    """A grid over a box.

    step_mm: None for about `_USUAL_PLACES`. through: a place that shall be one of the grid, None to begin at `low`.
    """
    if step_mm is None:
        exact_mm = math.sqrt((high[0] - low[0]) * (high[1] - low[1]) / _USUAL_PLACES)
        step_mm = float(f"{exact_mm:.2g}")  # two digits can be said
    if through is not None:
        first = [at - step_mm * math.floor((at - least) / step_mm) for at, least in zip(through, low, strict=True)]
        low = (first[0], first[1])
    return Grid(low, high, step_mm)


MARGIN_STEPS = (0.0, 0.02, 0.05, 0.1, 0.2)
"""Where a map's colour changes (our own choice)."""


@dataclass(frozen=True, eq=False)
class Shaded:
    """Cells of a grid by the margin that the place decides: (rows, columns), how many of `MARGIN_STEPS` it reaches; -1
    where there is a problem.
    """

    grid: Grid
    classes: Ints

    @staticmethod
    def of(grid: Grid, good: Bools, margin: Floats) -> Shaded:
        return Shaded(grid, np.where(good, np.digitize(np.nan_to_num(margin, nan=0.0), MARGIN_STEPS), -1))

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top edge of the cells, mm."""
        x, y, half = self.grid.x_mm, self.grid.y_mm, 0.5 * self.grid.step_mm
        return float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half

    @property
    def reached(self) -> Shaded | None:
        """No more of it than holds all places without a problem; None where there is none."""
        rows, columns = np.nonzero(self.classes >= 0)
        if not len(rows):
            return None
        (r0, r1), (c0, c1) = ((int(each.min()), int(each.max())) for each in (rows, columns))
        (x, y), step = self.grid.low, self.grid.step_mm
        grid = Grid((x + c0 * step, y + r0 * step), (x + c1 * step, y + r1 * step), step)
        return Shaded(grid, self.classes[r0 : r1 + 1, c0 : c1 + 1])


@dataclass(frozen=True, eq=False)
class PlaceMap:
    """A map of one pulley. judged: the grid's places, row by row, and the present place after them."""

    layout: Layout
    pulley: str
    grid: Grid
    judged: JudgedPlaces

    @property
    def names(self) -> tuple[str, ...]:
        return self.judged.names

    @property
    def everywhere(self) -> tuple[Finding, ...]:
        return self.judged.everywhere

    @property
    def present(self) -> Place:
        """Where the pulley stands now."""
        return self.judged.place(self.grid.count)

    @property
    def counts(self) -> dict[str, int]:
        """How many places of the grid come to what."""
        found = np.bincount(self.judged.state[:-1], minlength=len(STATES))
        return {state: int(count) for state, count in zip(STATES, found, strict=True)}

    @cached_property
    def failing(self) -> dict[str, int]:
        """How many places of the grid have a problem by what, each counted under the worst that it decides; the most
        first.
        """
        return self._blamed("problem")

    @cached_property
    def cautioned(self) -> dict[str, int]:
        """The same of the places with a caution and no problem."""
        return self._blamed("caution")

    def _blamed(self, state: str) -> dict[str, int]:
        told = self.judged.failing[:-1][self.judged.state[:-1] == STATES.index(state)]
        return {cause: count for cause, count in Counter(told.tolist()).most_common() if cause}

    @property
    def best_by_belt(self) -> tuple[Place, ...]:
        """The best place for each belt that some place without a problem is judged with, best first."""
        order = self.working()
        belt = self.judged.spread("belt", -1.0)[order]
        _, first = np.unique(belt, return_index=True)
        return tuple(self.judged.place(int(order[row])) for row in np.sort(first))

    def nearest(self, state: int) -> tuple[Place, float] | None:
        """The place of the grid nearest to the present one that comes at least to a state, and how far it is, mm."""
        if self.judged.state[-1] >= state:
            return self.present, 0.0
        keep = np.flatnonzero(self.judged.state[:-1] >= state)
        if not len(keep):
            return None
        step = self.judged.places[keep, 0] - self.judged.places[-1, 0]
        away = np.hypot(step[:, 0], step[:, 1])
        first = int(np.argmin(away))
        return self.judged.place(int(keep[first])), float(away[first])

    def field(self, name: str) -> Floats:
        """One value at every place of the grid, (rows, columns); NaN where there is no path."""
        return self.judged.spread(name)[:-1].reshape(self.grid.shape)

    @property
    def states(self) -> Ints:
        """What every place comes to, (rows, columns), numbers of `STATES`."""
        return self.judged.state[:-1].reshape(self.grid.shape)

    @property
    def shaded(self) -> Shaded:
        return Shaded.of(self.grid, self.states >= CAUTION, self.field("own_margin"))

    def closer(self) -> Grid | None:
        """A finer grid round the places without a problem, two steps wider; None where there are none, or one line."""
        reached, step_mm = self.shaded.reached, 2.0 * self.grid.step_mm
        if reached is None or min(self.grid.shape) < 2:
            return None
        (x0, y0), (x1, y1) = reached.grid.low, reached.grid.high
        low = max(x0 - step_mm, self.grid.low[0]), max(y0 - step_mm, self.grid.low[1])
        high = min(x1 + step_mm, self.grid.high[0]), min(y1 + step_mm, self.grid.high[1])
        return grid_of(low, high, None, self.present.at_mm[0])

    def working(self) -> Ints:
        """Numbers of the grid's places without a problem, best first by `RULE`."""
        return self.judged.best_first(self.judged.state[:-1] >= CAUTION)


def place_map(layout: Layout, pulley: str, grid: Grid, progress: Progress = unseen) -> PlaceMap:
    """Judge every place of a grid for one pulley, fixed and on the belt."""
    present = layout.pulleys[pulley].at_mm
    if present is None:
        raise ValueError(f"pulley {pulley} has no place of its own")
    places = np.append(grid.points(), [present], axis=0)[:, None]
    return PlaceMap(layout, pulley, grid, judged_places(layout, (pulley,), places, progress))


def other_maps(found: PlaceMap, grids: Sequence[Grid], progress: Progress = unseen) -> list[PlaceMap]:
    """Judge the places of other grids for the pulley of a map, all at once, which is quicker where they are small."""
    places = (*(grid.points()[:, None] for grid in grids), found.judged.places[-1:])
    judged = found.judged.again(np.concatenate(places), progress)
    ends = np.cumsum([grid.count for grid in grids])
    rows = (np.append(np.arange(end - grid.count, end), ends[-1]) for grid, end in zip(grids, ends, strict=True))
    return [replace(found, grid=grid, judged=judged.picked(own)) for grid, own in zip(grids, rows, strict=True)]
