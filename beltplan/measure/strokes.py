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
from beltplan.picture.routing import scale_pt
from beltplan.picture.scene import (
    Box,
    Item,
    Label,
    Shape,
    Stroke,
    View,
    box_about,
    box_round,
    box_round_discs,
    circle,
    cross,
    seen_box,
)

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
        severity: Severity = "problem" if self.left_out else "caution"
        return Mark(self.number, Finding("reading", severity, self.reading.words, "", ""))


@dataclass(frozen=True, eq=False)
class Drawing:
    """A measured drive as it is drawn, places and lines in points. found: what is drawn, mm."""

    found: Measuring

    @cached_property
    def numbered(self) -> tuple[Numbered, ...]:
        """What was misread, then what is suspected, numbered from 1 as the study lists them."""
        errors = self.found.errors
        out = len(errors.gross_errors)
        both = (*errors.gross_errors, *errors.suspects)
        return tuple(Numbered(number, each.reading, number <= out) for number, each in enumerate(both, 1))

    @cached_property
    def ghosts(self) -> tuple[tuple[str, tuple[float, float]], ...]:
        """Where points lie in the mirror solutions, mm, MOST_GHOSTS of them, no place twice."""
        kept: list[tuple[str, tuple[float, float]]] = []
        for mirror in self.found.mirrors:
            for name, at in zip(mirror.points, mirror.places, strict=True):
                if all(name != other or math.dist(at, there) > _SAME_MM for other, there in kept):
                    kept.append((name, at))
        return tuple(kept[:MOST_GHOSTS])

    @cached_property
    def least_box(self) -> Box:
        """The box round all points, rims and ghosts, mm; never of no size."""
        found = self.found
        discs = [(*centre.at_mm, found.rims_mm.get(centre.name, 0.0)) for centre in found.centres]
        every = np.array([*discs, *((*at, 0.0) for _, at in self.ghosts)])
        low, high = np.reshape(box_round_discs(every), (2, 2))
        return box_about(0.5 * (low + high), *np.maximum(high - low, _LEAST_SPAN_MM).tolist())

    @cached_property
    def box(self) -> Box:
        """What the drawing holds, mm: grown to show the ellipses to scale as far as may be."""
        least = self.least_box
        most = np.reshape(_grown(least, _GROWTH * max(least[2] - least[0], least[3] - least[1])), (2, 2))
        low, high = np.reshape(box_round(np.concatenate((np.reshape(least, (2, 2)), *self.whole.values()))), (2, 2))
        return box_round(np.stack((np.maximum(low, most[0]), np.minimum(high, most[1]))))

    @cached_property
    def view(self) -> View:
        return View(scale_pt(self.box))

    @cached_property
    def whole(self) -> dict[str, Floats]:
        """The outline of each standard ellipse to scale, (n, 2) mm, by point; none of an exact place."""
        round_once = from_angle(np.linspace(0.0, TURN, _ELLIPSE_STEPS, endpoint=False))
        wide = [centre for centre in self.found.centres if centre.widest_mm > 0.0]
        return {centre.name: centre.at_mm + round_once @ centre.half_axes_mm for centre in wide}

    @cached_property
    def times(self) -> float:
        """How many times larger than life the ellipses are drawn."""
        longest = max(self.found.centres, key=lambda centre: centre.widest_mm)
        return enlargement(longest.widest_mm, self.view.pt_per_mm)

    @cached_property
    def _enlarged(self) -> dict[str, Floats]:
        own = ((name, self.at(name), self.view.at(outline)) for name, outline in self.whole.items())
        return {name: at + self.times * (outline - at) for name, at, outline in own}

    @cached_property
    def _edge(self) -> shapely.Polygon:
        return shapely.box(*_grown(seen_box(self.box, self.view), ELLIPSE_PT))

    @cached_property
    def cut(self) -> tuple[str, ...]:
        return tuple(name for name, each in self._enlarged.items() if not self._edge.covers(shapely.Polygon(each)))

    @cached_property
    def outlines(self) -> dict[str, Floats]:
        held = {name: shapely.intersection(shapely.Polygon(self._enlarged[name]), self._edge) for name in self.cut}
        return self._enlarged | {name: shapely.get_coordinates(each.exterior)[:-1] for name, each in held.items()}

    def at(self, name: str) -> Floats:
        """Where a point is drawn; a loose one by a guess."""
        return self.view.at(self.found.centre(name).at_mm)

    def rim(self, name: str) -> float:
        return self.view.pt_per_mm * self.found.rims_mm.get(name, 0.0)

    def wide_pt(self, centre: Centre) -> float:
        """Half the long axis of its ellipse, as it is drawn."""
        return self.times * self.view.pt_per_mm * centre.widest_mm

    def ends(self, reading: Reading) -> Floats | None:
        """The line by which a reading is drawn, (n, 2); None for one at a point."""
        places = (np.array(self.found.centre(name).at_mm) for name in reading.points)
        line = reading.drawn(self.found.rims_mm, *places)
        return None if line is None else self.view.at(line)

    @cached_property
    def lines(self) -> list[tuple[Checked, Floats]]:
        pairs = [(each, self.ends(each.reading)) for each in self.found.checked]
        return [(each, ends) for each, ends in pairs if ends is not None]

    @cached_property
    def residuals(self) -> list[tuple[Checked, Floats]]:
        """The lines whose residuals are lettered where there is room, the worst first."""
        doubted, least = {each.reading for each in self.numbered}, _LEAST_SHOWN[self.found.measured.units]
        rows = [
            (each, ends)
            for each, ends in self.lines
            if each.share is not None and abs(each.error) >= least and each.reading not in doubted
        ]
        return sorted(rows, key=lambda row: -(row[0].share or 0.0))[:_MOST_RESIDUALS]


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
            Shape((circle(drawing.view.at(at), GHOST_PT),), "", pens.GHOST_PLACE, name=f"ghost {name}")
            for name, at in drawing.ghosts
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
    if not centre.is_undetermined:
        return [*cross(at, CROSS_PT, pens.FOUND_CROSS, f"place {centre.name}")]
    return question_items(at, f"loose {centre.name}", pens.PAPER)


def question_items(at: Floats, name: str = "legend", fill: str = "") -> list[Item]:
    x, y = at.tolist()
    mark = Label("?", (x, y - MIDDLE_EM * 12.0), 12.0, pens.INK, True, "center", name)
    return [Shape((circle(at, RING_PT),), fill, pens.LOOSE_RING, name=name), mark]
