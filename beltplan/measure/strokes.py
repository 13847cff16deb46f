"""The drawing of a measured drive: what it stands on, rims, readings as lines, ellipses, crosses, rings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from beltplan.checks.limits import Finding, Severity
from beltplan.drive.belt import MM_PER_INCH
from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.measure.readings import Reading
from beltplan.measure.study import Centre, Checked, Measuring
from beltplan.picture import pens
from beltplan.picture.page import MIDDLE_EM, Mark
from beltplan.picture.pens import Pen
from beltplan.picture.scene import Box, Item, Label, Shape, Stroke, View, box_about, box_round, circle, cross

_LEAST_SPAN_MM = 100.0
MOST_GHOSTS = 10
_SAME_MM = 1.0
_MOST_RESIDUALS = 24
_LEAST_SHOWN = {"mm": 0.05, "in": 0.005 * MM_PER_INCH}
"""A residual that would be lettered as zero is not."""
ELLIPSE_PT = 26.0
"""Half the longest axis of the largest ellipse on paper, at most, where ellipses are drawn larger than life."""
_GROWTH = 0.5
"""The drawing grows by this share of its longer side, at most, to show the ellipses whole."""
_ELLIPSE_STEPS = 120
CROSS_PT, GHOST_PT, RING_PT = 6.0, 5.0, 9.0
PENS: Mapping[str, tuple[str, Pen]] = {
    "distance": ("distance", pens.DISTANCE_READ),
    "angle": ("angle", pens.ANGLE_READ),
    "offset": ("offset", pens.OFFSET_READ),
    "loop": ("loop laid round", pens.LOOP_READ),
}
"""The legend's word and the pen for each kind of reading that is drawn as a line."""


@dataclass(frozen=True)
class Numbered:
    """A reading that was left out or is suspected, with the number by which the picture calls it."""

    number: int
    reading: Reading
    left_out: bool

    @property
    def mark(self) -> Mark:
        """An octagon where it was left out, a diamond where it is suspected."""
        severity: Severity = "problem" if self.left_out else "caution"
        return Mark(self.number, Finding("reading", severity, self.reading.words, "", ""))


@dataclass(frozen=True)
class Ghost:
    """Where a point may lie instead, mm."""

    name: str
    at: tuple[float, float]


def numbered_of(found: Measuring) -> tuple[Numbered, ...]:
    """What was misread, then what is suspected, numbered from 1 as the study lists them."""
    both = (*((each, True) for each in found.errors.gross_errors), *((each, False) for each in found.errors.suspects))
    return tuple(Numbered(number, each.reading, out) for number, (each, out) in enumerate(both, 1))


def ghosts_of(found: Measuring) -> tuple[Ghost, ...]:
    """Where points lie in the mirror solutions, MOST_GHOSTS of them, no place twice."""
    kept: list[Ghost] = []
    for mirror in found.mirrors:
        for name, at in zip(mirror.points, mirror.places, strict=True):
            if all(name != other.name or math.dist(at, other.at) > _SAME_MM for other in kept):
                kept.append(Ghost(name, at))
    return tuple(kept[:MOST_GHOSTS])


def geometry_box(found: Measuring) -> Box:
    """The box round all points, rims and ghosts, mm; never of no size."""
    discs = [(*centre.at_mm, found.rims_mm.get(centre.name, 0.0)) for centre in found.centres]
    every = np.array([*discs, *((*ghost.at, 0.0) for ghost in ghosts_of(found))])
    low = (every[:, :2] - every[:, 2:]).min(axis=0)
    high = (every[:, :2] + every[:, 2:]).max(axis=0)
    return box_about(0.5 * (low + high), *np.maximum(high - low, _LEAST_SPAN_MM).tolist())


# Ellipses of one standard deviation, and a drawing that holds them.


@dataclass(frozen=True, eq=False)
class Ellipses:
    """times: how many times larger than life, 1 or more. outlines: (n, 2) mm, by point. cut: those cut off."""

    times: float
    outlines: Mapping[str, Floats]
    cut: tuple[str, ...]


def _outlines(found: Measuring) -> dict[str, Floats]:
    known = [centre.name for centre in found.centres if not centre.is_undetermined]
    return {name: outline for name in known if (outline := ellipse_outline(found, name)) is not None}


def ellipse_outline(found: Measuring, name: str) -> Floats | None:
    """The outline of a place's standard ellipse to scale, (n, 2) mm; None for an exact place."""
    first = 2 * found.measured.points.index(name)
    values, axes = np.linalg.eigh(found.covariance_mm2[first : first + 2, first : first + 2])
    if not values[-1] > 0.0:
        return None
    round_once = from_angle(np.linspace(0.0, TURN, _ELLIPSE_STEPS, endpoint=False))
    return np.asarray(found.centre(name).at_mm + (round_once * np.sqrt(np.maximum(values, 0.0))) @ axes.T)


def drawing_box(found: Measuring) -> Box:
    """The box round all points, rims and mirror solutions, grown to hold the ellipses to scale as far as may be, mm."""
    box = geometry_box(found)
    least, most = (
        np.reshape(box, (2, 2)),
        np.reshape(_grown(box, _GROWTH * max(box[2] - box[0], box[3] - box[1])), (2, 2)),
    )
    low, high = np.reshape(box_round(np.concatenate((least, *_outlines(found).values()))), (2, 2))
    return box_round(np.stack((np.maximum(low, most[0]), np.minimum(high, most[1]))))


def ellipses_of(found: Measuring, box: Box, pt_per_mm: float) -> Ellipses:
    """The ellipses in a drawing of that box."""
    whole, centres = _outlines(found), {centre.name: np.array(centre.at_mm) for centre in found.centres}
    reach = (float(np.hypot(*(whole[name] - centres[name]).T).max()) for name in whole)
    times = enlargement(max(reach, default=0.0), pt_per_mm)
    edge = shapely.box(*_grown(box, ELLIPSE_PT / pt_per_mm))
    drawn = {name: centres[name] + times * (outline - centres[name]) for name, outline in whole.items()}
    cut = tuple(name for name, outline in drawn.items() if not edge.covers(shapely.Polygon(outline)))
    held = {name: shapely.intersection(shapely.Polygon(drawn[name]), edge) for name in cut}
    return Ellipses(times, drawn | {n: shapely.get_coordinates(area.exterior)[:-1] for n, area in held.items()}, cut)


def enlargement(longest_mm: float, pt_per_mm: float) -> float:
    """How many times larger ellipses are drawn: 1, 2 or 5 times a power of ten, so that the largest can be seen.

    Never less than 1: a large error must not look smaller than a small one.
    """
    most = ELLIPSE_PT / (longest_mm * pt_per_mm) if longest_mm > 0.0 else 1.0
    if not most > 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9))


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


# All of it on paper.


@dataclass(frozen=True, eq=False)
class Drawing:
    """A measured drive as it is drawn. box: what the drawing holds, mm; places and lines are in points."""

    found: Measuring
    box: Box
    view: View

    @cached_property
    def numbered(self) -> tuple[Numbered, ...]:
        return numbered_of(self.found)

    @cached_property
    def ghosts(self) -> tuple[Ghost, ...]:
        return ghosts_of(self.found)

    @cached_property
    def ellipses(self) -> Ellipses:
        return ellipses_of(self.found, self.box, self.view.pt_per_mm)

    @cached_property
    def outlines(self) -> dict[str, Floats]:
        """The ellipses on paper, by point."""
        return {name: self.view.at(outline) for name, outline in self.ellipses.outlines.items()}

    def at(self, name: str) -> Floats:
        """Where a point is drawn; a loose one by a guess."""
        return self.view.at(self.found.centre(name).at_mm)

    def rim(self, name: str) -> float:
        """Radius over the rim of a pulley, 0 where it is not known."""
        return self.view.pt_per_mm * self.found.rims_mm.get(name, 0.0)

    def ends(self, reading: Reading) -> Floats | None:
        """The line by which a reading is drawn, (n, 2); None for one at a point."""
        places = (np.array(self.found.centre(name).at_mm) for name in reading.points)
        line = reading.drawn(self.found.rims_mm, *places)
        return None if line is None else self.view.at(line)

    @property
    def lines(self) -> list[tuple[Checked, Floats]]:
        """Readings with the lines by which they are drawn, in the order of the file."""
        pairs = [(each, self.ends(each.reading)) for each in self.found.checked]
        return [(each, ends) for each, ends in pairs if ends is not None]

    @property
    def residuals(self) -> list[tuple[Checked, Floats]]:
        """The lines whose residuals are lettered where there is room, the worst first."""
        doubted, least = {each.reading for each in self.numbered}, _LEAST_SHOWN[self.found.measured.units]
        rows = [
            (each, ends)
            for each, ends in self.lines
            if each.share is not None and abs(each.error) >= least and each.reading not in doubted
        ]
        return sorted(rows, key=lambda row: -(row[0].share or 0.0))[:_MOST_RESIDUALS]


def strokes_of(drawing: Drawing, across: tuple[float, float]) -> list[Item]:
    """All but the labels, back to front. across: x from which to which the level line runs."""
    found, y = drawing.found, float(drawing.at(drawing.found.measured.origin)[1])
    return [
        *(Shape((o,), pens.ELLIPSE, pens.ELLIPSE_EDGE, name=f"ellipse {n}") for n, o in drawing.outlines.items()),
        Stroke(np.array([(across[0], y), (across[1], y)]), pens.LEVEL_LINE, "level"),
        *(
            Shape((circle(drawing.at(name), drawing.rim(name)),), "", pens.FOUND_RIM, name=f"rim {name}")
            for name in found.rims_mm
        ),
        *_reading_items(drawing),
        *(
            Shape((circle(drawing.view.at(ghost.at), GHOST_PT),), "", pens.GHOST_PLACE, name=f"ghost {ghost.name}")
            for ghost in drawing.ghosts
        ),
        *(item for centre in found.centres for item in _cross_items(centre, drawing.at(centre.name))),
    ]


def _reading_items(drawing: Drawing) -> list[Item]:
    """Every reading that has a line; over them, thick, those in doubt: at a point that was picked or traced a ring."""
    doubted = {each.reading for each in drawing.numbered}
    items: list[Item] = [
        Stroke(ends, PENS[each.reading.kind][1], f"read {each.reading.words}")
        for each, ends in drawing.lines
        if each.reading not in doubted
    ]
    for each in drawing.numbered:
        pen, name = pens.MISREAD_LINE if each.left_out else pens.SUSPECT_LINE, f"doubted {each.number}"
        ends = drawing.ends(each.reading)
        ring = circle(drawing.at(each.reading.points[0]), RING_PT)
        items.append(Shape((ring,), "", pen, name=name) if ends is None else Stroke(ends, pen, name))
    return items


def _cross_items(centre: Centre, at: Floats) -> list[Item]:
    """A cross at a place; a ring of dashes with a question mark at a loose point."""
    if not centre.is_undetermined:
        return [*cross(at, CROSS_PT, pens.FOUND_CROSS, f"place {centre.name}")]
    return question_items(at, f"loose {centre.name}", pens.PAPER)


def question_items(at: Floats, name: str = "legend", fill: str = "") -> list[Item]:
    """A ring with a question mark."""
    x, y = at.tolist()
    mark = Label("?", (x, y - MIDDLE_EM * 12.0), 12.0, pens.INK, True, "center", name)
    return [Shape((circle(at, RING_PT),), fill, pens.LOOSE_RING, name=name), mark]
