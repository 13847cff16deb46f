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
    """The layers. lines: chains of equal margin with their level in %; classes: in order of length."""

    items: tuple[Item, ...]
    classes: tuple[BeltClass, ...]
    lines: tuple[tuple[int, Floats], ...]
    box: Box


def layers_of(found: PlaceMap, unit_pt: float) -> Layers:
    """The map, back to front: colours, edges of the regions, lines of equal margin."""
    x, y = found.grid.x_mm, found.grid.y_mm
    classes, numbers = _classes(found)
    edges = [
        Stroke(chain, pen, name)
        for state, pen, name in ((CAUTION, PLACE_EDGE, "no problem"), (SOUND, CAUTION_FREE_EDGE, "no caution"))
        if len(x) > 1 and len(y) > 1
        for chain in outline_chains(x, y, found.states >= state)
    ]
    lines = _lines(found, unit_pt)
    equal = [Stroke(chain, EQUAL_MARGIN, f"margin {level} %") for level, chain in lines]
    colours = (PATH_BUT_PROBLEM, *(own.colour for own in classes))
    raster = Raster(_box(found), numbers, colours, "map")
    return Layers((raster, *equal, *edges), classes, lines, reach_of(found))


def _box(found: PlaceMap) -> Box:
    x, y, half = found.grid.x_mm, found.grid.y_mm, 0.5 * found.grid.step_mm
    return (float(x[0]) - half, float(y[0]) - half, float(x[-1]) + half, float(y[-1]) + half)


def reach_of(found: PlaceMap) -> Box:
    """The box round every place with a belt path; round the present place where there is none."""
    rows, columns = np.nonzero(found.states > NO_PATH)
    half = 0.5 * found.grid.step_mm
    if not len(rows):
        now_x, now_y = found.present.at_mm[0]
        return (now_x - half, now_y - half, now_x + half, now_y + half)
    x, y = found.grid.x_mm[columns], found.grid.y_mm[rows]
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
