"""What a picture of a measured drive stands on: its places, rims, lines, marks, and the box round them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.plots.scene import Box
from beltplan.studies.measured import Direction, Distance, Offset, Size
from beltplan.studies.measured_network import Pick, Reading
from beltplan.studies.measuring import Centre, Checked, Measuring

LEAST_SPAN_MM = 100.0
MOST_GHOSTS = 10
SAME_MM = 1.0
MOST_RESIDUALS = 24
LEAST_SHOWN = 0.05
"""A residual that would be lettered as nought is not."""


@dataclass(frozen=True)
class Numbered:
    """A reading that was left out or is suspected, with the number by which the picture calls it."""

    number: int
    reading: Reading
    left_out: bool


@dataclass(frozen=True)
class Ghost:
    """Where a point may lie instead, mm."""

    name: str
    at: tuple[float, float]


def numbered_of(found: Measuring) -> tuple[Numbered, ...]:
    """What was misread, then what is suspected, numbered from 1 as the study lists them."""
    both = (*((each, True) for each in found.judged.misread), *((each, False) for each in found.judged.suspects))
    return tuple(Numbered(number, each.reading, out) for number, (each, out) in enumerate(both, 1))


def ghosts_of(found: Measuring) -> tuple[Ghost, ...]:
    """Where points lie in the mirror images, MOST_GHOSTS of them, no place twice."""
    kept: list[Ghost] = []
    for mirror in found.mirrors:
        for name, at in zip(mirror.points, mirror.places, strict=True):
            if all(name != other.name or math.dist(at, other.at) > SAME_MM for other in kept):
                kept.append(Ghost(name, at))
    return tuple(kept[:MOST_GHOSTS])


def rims_of(found: Measuring) -> dict[str, float]:
    """Radius over the rim by pulley, mm, as far as known."""
    read = {size.pulley: 0.5 * size.diameter_mm for size in found.measured.sizes}
    settled = {size.pulley: 0.5 * size.diameter_mm for size in found.sizes}
    names = {centre.name for centre in found.centres if not is_loose(centre)}
    return {name: radius for name, radius in (read | settled).items() if name in names and radius > 0.0}


def is_loose(centre: Centre) -> bool:
    """Whether nothing holds a point."""
    return centre.deviation_mm is None


def at_of(found: Measuring, name: str) -> Floats:
    """Where a point is drawn, (2) mm; a loose one by a guess."""
    centre = found.centre(name)
    return np.array((centre.x_mm, centre.y_mm))


def ends_of(found: Measuring, reading: Reading) -> Floats | None:
    """The line by which a reading is drawn, (n, 2) mm: two points, or three for an offset; None for one at a point."""
    source = reading.source
    if isinstance(source, Distance | Direction):
        return np.array([at_of(found, source.first), at_of(found, source.second)])
    if isinstance(source, Offset):
        start, end = at_of(found, source.datum), at_of(found, source.point)
        corner = np.array((end[0], start[1]))
        return np.array([start, corner]) if source.axis == "x" else np.array([corner, end])
    return None


def point_of(reading: Reading) -> str | None:
    """The point at which a reading is drawn that has no line."""
    source = reading.source
    return source.point if isinstance(source, Pick) else source.pulley if isinstance(source, Size) else None


def lines_of(found: Measuring) -> list[tuple[Checked, Floats]]:
    """Readings with the lines by which they are drawn, in the order of the file."""
    pairs = [(each, ends_of(found, each.reading)) for each in found.checked]
    return [(each, ends) for each, ends in pairs if ends is not None]


def residuals_of(found: Measuring, numbered: tuple[Numbered, ...]) -> list[tuple[Checked, Floats]]:
    """The lines whose residuals are lettered where there is room, the worst first."""
    doubted = {each.reading for each in numbered}
    rows = [
        (each, ends)
        for each, ends in lines_of(found)
        if each.share is not None and abs(each.residual) >= LEAST_SHOWN and each.reading not in doubted
    ]
    return sorted(rows, key=lambda row: -(row[0].share or 0.0))[:MOST_RESIDUALS]


def geometry_box(found: Measuring) -> Box:
    """The box round all points, rims and ghosts, mm; never of no size."""
    rims = rims_of(found)
    discs = [(centre.x_mm, centre.y_mm, rims.get(centre.name, 0.0)) for centre in found.centres]
    discs += [(*ghost.at, 0.0) for ghost in ghosts_of(found)]
    every = np.array(discs)
    low = (every[:, :2] - every[:, 2:]).min(axis=0)
    high = (every[:, :2] + every[:, 2:]).max(axis=0)
    missing = np.maximum(LEAST_SPAN_MM - (high - low), 0.0) / 2.0
    (x0, y0), (x1, y1) = low - missing, high + missing
    return (float(x0), float(y0), float(x1), float(y1))
