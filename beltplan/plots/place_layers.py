"""The layers of a map of places: what each place comes to, by colour, and lines of equal margin over it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.designations import format_designation
from beltplan.geometry.vectors import Floats, Ints
from beltplan.plots.contours import chain_length, contour_chains, outline_chains
from beltplan.plots.palette import (
    BELT_CLASSES,
    CAUTION_FREE_EDGE,
    EQUAL_MARGIN,
    PATH_BUT_PROBLEM,
    PLACE_EDGE,
)
from beltplan.plots.scene import Box, Item, Raster, Stroke
from beltplan.studies.place import CAUTION, NO_PATH, SOUND
from beltplan.studies.place_map import PlaceMap

LEVELS_PERCENT = (2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100)
MOST_LEVELS = 4
SHORTEST_PT = 36.0
"""A line of equal margin shorter than this is left out."""


@dataclass(frozen=True)
class BeltClass:
    """Belts that share a colour. first, last: designations, the same where the class is one belt."""

    first: str
    last: str
    colour: str

    @property
    def words(self) -> str:
        """What the legend says."""
        return self.first if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True)
class Layers:
    """The layers. lines: chains of equal margin with their level in %; classes: in order of length.

    regions: outlines of the places without a problem.
    """

    items: tuple[Item, ...]
    classes: tuple[BeltClass, ...]
    lines: tuple[tuple[int, Floats], ...]
    regions: tuple[Floats, ...]


def layers_of(found: PlaceMap, view: Box, unit_pt: float) -> Layers:
    """The map, back to front: colours (no more than in `view`, mm), edges of the regions, lines of equal margin."""
    classes, numbers = _classes(found)
    colours = (PATH_BUT_PROBLEM, *(own.colour for own in classes))
    works, free = (_outlines(found, state) for state in (CAUTION, SOUND))
    lines = _lines(found, unit_pt)
    strokes = [Stroke(chain, EQUAL_MARGIN, f"margin {level} %") for level, chain in lines]
    strokes += [Stroke(chain, PLACE_EDGE, "no problem") for chain in works]
    strokes += [Stroke(chain, CAUTION_FREE_EDGE, "no caution") for chain in free]
    return Layers((_raster(found, numbers, colours, view), *strokes), classes, lines, works)


def _outlines(found: PlaceMap, state: int) -> tuple[Floats, ...]:
    if min(found.states.shape) < 2:
        return ()
    return tuple(outline_chains(found.grid.x_mm, found.grid.y_mm, found.states >= state))


def _raster(found: PlaceMap, numbers: Ints, colours: tuple[str, ...], view: Box) -> Raster:
    x, y, half = found.grid.x_mm, found.grid.y_mm, 0.5 * found.grid.step_mm
    columns = np.flatnonzero((x - half >= view[0]) & (x + half <= view[2]))
    rows = np.flatnonzero((y - half >= view[1]) & (y + half <= view[3]))
    if not len(columns) or not len(rows):
        return Raster((view[0], view[1], view[0], view[1]), np.full((1, 1), -1), colours, "map")
    x, y = x[columns], y[rows]
    box = (float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half)
    return Raster(box, numbers[np.ix_(rows, columns)], colours, "map")


def reach_of(found: PlaceMap) -> Box | None:
    """The box round every place without a problem; None where there is none."""
    rows, columns = np.nonzero(found.states >= CAUTION)
    if not len(rows):
        return None
    x, y, half = found.grid.x_mm[columns], found.grid.y_mm[rows], found.grid.step_mm
    return (float(x.min()) - half, float(y.min()) - half, float(x.max()) + half, float(y.max()) + half)


def _classes(found: PlaceMap) -> tuple[tuple[BeltClass, ...], Ints]:
    """The belts by colour, and the colour's number at every place: 0 for a path with a problem, -1 for no path."""
    works = found.states >= CAUTION
    belt = np.nan_to_num(found.field("belt"), nan=-1.0).astype(int)
    numbers = np.where(found.states > NO_PATH, 0, -1)
    groups = np.array_split(np.array(sorted(set(belt[works].tolist())), dtype=int), len(BELT_CLASSES))
    classes: list[BeltClass] = []
    held = [group for group in groups if len(group)]
    for own in held:
        colour = BELT_CLASSES[round(len(classes) * (len(BELT_CLASSES) - 1) / max(1, len(held) - 1))]
        ends = [format_designation(found.judged.belts[i]) for i in (own[0], own[-1])]
        classes.append(BeltClass(ends[0], ends[1], colour))
        numbers[works & np.isin(belt, own)] = len(classes)
    return tuple(classes), numbers


def _lines(found: PlaceMap, unit_pt: float) -> tuple[tuple[int, Floats], ...]:
    share = 100.0 * np.where(found.states >= CAUTION, found.field("own_margin"), np.nan)
    every = [(level, contour_chains(found.grid.x_mm, found.grid.y_mm, share, level)) for level in LEVELS_PERCENT]
    held = [(level, chains) for level, chains in every if chains]
    step = -(-len(held) // MOST_LEVELS) if held else 1
    return tuple(
        (level, chain)
        for level, chains in held[::-1][::step][::-1]
        for chain in chains
        if chain_length(chain) * unit_pt > SHORTEST_PT
    )
