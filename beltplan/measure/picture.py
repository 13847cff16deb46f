"""The picture of a measured drive: answers, drawing to scale with its labels, legend, caution."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely

from beltplan.checks.limits import Finding, Severity
from beltplan.drive.layout import Units
from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.measure.readings import Reading
from beltplan.measure.study import Centre, Checked, Measuring
from beltplan.picture import pens
from beltplan.picture.labels import Anchor, KeepOut, LabelBlock, Line, Writer, name_lines
from beltplan.picture.legend import disc_entry, line_symbol, scale_bar
from beltplan.picture.page import MIDDLE_EM, Block, Entry, Mark, Paragraph, Symbol, figure, legend, mark_items, page_of
from beltplan.picture.pens import Pen
from beltplan.picture.routing import edges_of, scale_pt
from beltplan.picture.scene import (
    Box,
    Item,
    Label,
    Point,
    Scene,
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
from beltplan.report.answer import Answers
from beltplan.report.screen import length_text
from beltplan.report.words import MEASURED_SAFETY

_LEVEL_PAST_PT = 30.0
_NAME_PT, _TEXT_PT = 10.5, 8.5
_NAME_WIDTH_PT = 130.0
_NUMBERED_LEADS = ("MISREAD", "SUSPECT")
_SD = "\N{PLUS-MINUS SIGN}"
_LEAST_SPAN_MM = 100.0
_MOST_GHOSTS = 10
_ALONG = (0.35, 0.65, 0.5)
"""Where on its line the mark of a reading may stand, as shares of it: rather not amid, where another point may be."""
_ELLIPSE_PT = 26.0
"""Half the longest axis of the largest ellipse on paper, at most, where ellipses are drawn larger than life."""
_ELLIPSE_STEPS = 120
_CROSS_PT, _GHOST_PT, _RING_PT = 6.0, 5.0, 9.0
PENS: Mapping[str, tuple[str, Pen]] = {
    "distance": ("distance", pens.DISTANCE_READ),
    "angle": ("angle", pens.ANGLE_READ),
    "offset": ("offset", pens.OFFSET_READ),
    "loop": ("loop laid round", pens.LOOP_READ),
}
"""The legend's word and the pen for each kind of reading that is drawn as a line."""


def measure_scene(found: Measuring, answers: Answers) -> Scene:
    drawing = Drawing(found)
    around, points = seen_box(drawing.box, drawing.view), seen_box(drawing.least_box, drawing.view)
    across = (points[0] - _LEVEL_PAST_PT, points[2] + _LEVEL_PAST_PT)
    items = [*_strokes(drawing, across), *_label_items(drawing, edges_of(around), across[1])]
    larger = f"Ellipses are drawn {drawing.times:g} times larger than the errors that they show."
    frame = (
        f"Seen from the front, facing the pulleys: x right, y up, from {found.measured.origin}, in "
        f"{'inches' if found.measured.units == 'in' else 'mm'}. Drawn to scale"
        f"{', but for the ellipses' if drawing.times != 1.0 else ''}. {_SD}: one standard deviation in x, in y."
    )
    blocks: list[Block] = [
        *_answers(answers),
        *([Paragraph(larger, 9.5, pens.INK, before_pt=2.5, name="ellipses")] if drawing.times != 1.0 else []),
        figure(items, around),
        *legend(_entries(drawing)),
        Paragraph(frame, 9.0, pens.SOFT_INK, before_pt=5.0, name="frame"),
        Paragraph(MEASURED_SAFETY, 10.0, pens.INK, True, 2.0, "caution"),
    ]
    about = " ".join(f"{lead.capitalize()}: {text}." if lead else f"{text}." for lead, text in answers)
    return page_of(found.measured.title, blocks, about, drawing.view.pt_per_mm)


def _answers(answers: Answers) -> list[Block]:
    words, count = list[Block](), 0
    for i, (lead, text) in enumerate(answers):
        count += lead in _NUMBERED_LEADS
        named = f"{lead.capitalize()} {count}" if lead in _NUMBERED_LEADS else lead.capitalize()
        bold = i == 0 or lead in _NUMBERED_LEADS
        colour = pens.INK if bold else pens.SOFT_INK
        words.append(Paragraph(f"{named}: {text}" if lead else text, 9.5, colour, bold, 2.5, "answer"))
    return words


# The legend.


def _entries(drawing: Drawing) -> list[Entry]:
    found, numbered = drawing.found, drawing.numbered
    few = f", {_MOST_GHOSTS} of them" if len(drawing.ghosts) == _MOST_GHOSTS else ""
    how = "to scale" if drawing.times == 1.0 else f"drawn {drawing.times:g} times larger"
    kinds = {each.reading.kind for each, _ in drawing.lines}
    held: list[tuple[object, Entry]] = [
        (True, scale_bar(drawing.view.pt_per_mm, found.measured.units)),
        (True, Entry("place found", lambda at: cross(at, _CROSS_PT, pens.FOUND_CROSS), 14.0)),
        (drawing.outlines, Entry(f"one standard deviation, {how}", _ellipse, 24.0)),
        *((kind in kinds, Entry(words, line_symbol(pen))) for kind, (words, pen) in PENS.items()),
        (found.rims_mm, disc_entry("rim", pens.FOUND_RIM, "")),
        (True, Entry("level, through the origin", line_symbol(pens.LEVEL_LINE))),
        (any(each.left_out for each in numbered), Entry("misread, left out", _doubted(True))),
        (not all(each.left_out for each in numbered), Entry("suspected: one of these is wrong", _doubted(False))),
        (any(c.is_undetermined for c in found.centres), Entry("not held by the readings", _question_items, 20.0)),
        (
            drawing.ghosts,
            disc_entry(f"where it may lie instead (mirror solution{few})", pens.GHOST_PLACE, "", _GHOST_PT),
        ),
    ]
    return [entry for holds, entry in held if holds]


def _doubted(left_out: bool) -> Symbol:
    severity: Severity = "problem" if left_out else "caution"
    line = line_symbol(pens.MISREAD_LINE if left_out else pens.SUSPECT_LINE)
    return lambda at: [*line(at), *mark_items(severity, at)]


def _ellipse(at: Floats) -> list[Item]:
    outline = at + from_angle(np.linspace(0.0, TURN, 40, endpoint=False)) * np.array((11.0, 6.0))
    return [Shape((outline,), pens.ELLIPSE, pens.ELLIPSE_EDGE)]


# The labels: names with places, marks, mirror solutions.


def _label_items(drawing: Drawing, edges: Point, level_x: float) -> list[Item]:
    """Every label. edges: left and right edge of the page; level_x: where the level line ends."""
    found, pt_per_mm = drawing.found, drawing.view.pt_per_mm
    reach = {
        each.name: max(
            _RING_PT if each.is_undetermined else _CROSS_PT,
            drawing.rim(each.name),
            min(drawing.times * pt_per_mm * each.widest_mm, _ELLIPSE_PT),
        )
        for each in found.centres
    }
    middle = drawing.view.at(found.places).mean(axis=0)
    writer = Writer(_keep_out(drawing, edges, reach))
    for each in drawing.numbered:
        ends, block = drawing.ends(each.reading), LabelBlock((), (each.mark,), f"mark {each.mark.number}")
        if ends is None:
            writer.beside(block, Anchor(drawing.at(each.reading.points[0]), _RING_PT, 0.5))
        else:
            points = shapely.line_interpolate_point(shapely.LineString(ends), _ALONG, normalized=True)
            writer.beside(block, *(Anchor(at, 0.0, 0.0) for at in shapely.get_coordinates(points)))
    for centre in sorted(found.centres, key=lambda centre: -reach[centre.name]):
        writer.beside(
            _point_block(centre, found.measured.units), Anchor.away(drawing.at(centre.name), reach[centre.name], middle)
        )
    for name, at in drawing.ghosts:
        lines = name_lines(f"or {name}", _TEXT_PT, _NAME_WIDTH_PT, pens.SOFT_INK, False)
        block = LabelBlock(tuple(replace(line, name=f"ghost {name}") for line in lines))
        writer.beside(block, Anchor.away(drawing.view.at(at), _GHOST_PT, middle))
    level = LabelBlock((Line("level", _TEXT_PT, pens.SOFT_INK, name="level"),))
    level_at = (level_x, float(drawing.at(found.measured.origin)[1]))
    writer.beside(level, Anchor(level_at, 0.0, 0.5 * np.pi), longest_pt=0.0)
    return writer.items


def _point_block(centre: Centre, units: Units) -> LabelBlock:
    colour = pens.SOFT_INK if centre.mark else pens.INK
    lines = name_lines(centre.name, _NAME_PT, _NAME_WIDTH_PT, colour, not centre.mark)
    if centre.is_undetermined:
        return LabelBlock(
            (*lines, Line("not held: drawn by a guess", _TEXT_PT, pens.SOFT_INK, name=f"at {centre.name}"))
        )
    x, y = (length_text(each, 1, units) for each in centre.at_mm)
    lines.append(Line(f"{x}, {y} {units}", _TEXT_PT, pens.INK, name=f"at {centre.name}"))
    if centre.sd_mm:
        words = f"{', '.join(f'{_SD}{length_text(each, 2, units)}' for each in centre.sds_mm)} {units}"
        lines.append(Line(words, _TEXT_PT, pens.SOFT_INK, name=f"deviation {centre.name}"))
    return LabelBlock(tuple(lines))


def _keep_out(drawing: Drawing, edges: Point, reach: dict[str, float]) -> KeepOut:
    found, at_points = drawing.found, [e.reading for e in drawing.numbered if drawing.ends(e.reading) is None]
    discs = [(*drawing.at(centre.name), reach[centre.name]) for centre in found.centres]
    discs += [(*drawing.view.at(at), _GHOST_PT) for mirror in found.mirrors for at in mirror.places]
    every = np.array(discs + [(*drawing.at(reading.points[0]), _RING_PT) for reading in at_points])
    level = float(drawing.at(found.measured.origin)[1])
    pieces = (piece for _, ends in drawing.lines for piece in np.stack((ends[:-1], ends[1:]), axis=1))
    ends = np.array([*pieces, np.array([(edges[0], level), (edges[1], level)])])
    return KeepOut(every, ends, np.full(len(ends), 0.8), *edges)


# What the drawing stands on: places and lines in points.


class _Doubted(NamedTuple):
    mark: Mark
    reading: Reading
    left_out: bool


@dataclass(frozen=True, eq=False)
class Drawing:
    """A measured drive as it is drawn, places and lines in points. found: what is drawn, mm."""

    found: Measuring

    @cached_property
    def numbered(self) -> tuple[_Doubted, ...]:
        """The readings in doubt, with the numbers by which the picture calls them."""
        errors = self.found.errors
        doubted: list[tuple[Reading, Severity]] = [(each.reading, "problem") for each in errors.gross_errors]
        doubted += [(each.reading, "caution") for each in errors.suspects]
        marks = (Mark(i, Finding("reading", how, own.words, "", "")) for i, (own, how) in enumerate(doubted, 1))
        return tuple(_Doubted(mark, own, how == "problem") for mark, (own, how) in zip(marks, doubted, strict=True))

    @cached_property
    def ghosts(self) -> tuple[tuple[str, tuple[float, float]], ...]:
        every = [each for mirror in self.found.mirrors for each in zip(mirror.points, mirror.places, strict=True)]
        return tuple({(name, round(x), round(y)): (name, (x, y)) for name, (x, y) in every}.values())[:_MOST_GHOSTS]

    @cached_property
    def least_box(self) -> Box:
        found = self.found
        discs = [(*centre.at_mm, found.rims_mm.get(centre.name, 0.0)) for centre in found.centres]
        every = np.array([*discs, *((*at, 0.0) for _, at in self.ghosts)])
        low, high = np.reshape(box_round_discs(every), (2, 2))
        return box_about(0.5 * (low + high), *np.maximum(high - low, _LEAST_SPAN_MM).tolist())

    @cached_property
    def box(self) -> Box:
        return box_round(np.concatenate((np.reshape(self.least_box, (2, 2)), *self.whole.values())))

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
        return enlargement(max(centre.widest_mm for centre in self.found.centres), self.view.pt_per_mm)

    @cached_property
    def outlines(self) -> dict[str, Floats]:
        """Of each ellipse as it is drawn."""
        own = ((name, self.at(name), self.view.at(outline)) for name, outline in self.whole.items())
        return {name: at + self.times * (outline - at) for name, at, outline in own}

    def at(self, name: str) -> Floats:
        return self.view.at(self.found.centre(name).at_mm)

    def rim(self, name: str) -> float:
        return self.view.pt_per_mm * self.found.rims_mm.get(name, 0.0)

    def ends(self, reading: Reading) -> Floats | None:
        """The line by which a reading is drawn, (n, 2); None for one at a point."""
        places = (np.array(self.found.centre(name).at_mm) for name in reading.points)
        line = reading.drawn(self.found.rims_mm, *places)
        return None if line is None else self.view.at(line)

    @cached_property
    def lines(self) -> list[tuple[Checked, Floats]]:
        pairs = [(each, self.ends(each.reading)) for each in self.found.checked]
        return [(each, ends) for each, ends in pairs if ends is not None]


def enlargement(longest_mm: float, pt_per_mm: float) -> float:
    """How many times larger ellipses are drawn: 1, 2 or 5 times a power of ten, so that the largest can be seen.

    Never less than 1: a large error must not look smaller than a small one.
    """
    most = _ELLIPSE_PT / (longest_mm * pt_per_mm) if longest_mm > 0.0 else 1.0
    if not most > 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9))


# Rims, readings as lines, ellipses, crosses, rings.


def _strokes(drawing: Drawing, across: tuple[float, float]) -> list[Item]:
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
            Shape((circle(drawing.view.at(at), _GHOST_PT),), "", pens.GHOST_PLACE, name=f"ghost {name}")
            for name, at in drawing.ghosts
        ),
        *(item for centre in found.centres for item in _place(centre, drawing.at(centre.name))),
    ]


def _reading_items(drawing: Drawing) -> list[Item]:
    doubted = {each.reading for each in drawing.numbered}
    items: list[Item] = [
        Stroke(ends, PENS[each.reading.kind][1], f"read {each.reading.words}")
        for each, ends in drawing.lines
        if each.reading not in doubted
    ]
    for each in drawing.numbered:
        pen, name = pens.MISREAD_LINE if each.left_out else pens.SUSPECT_LINE, f"doubted {each.mark.number}"
        ends = drawing.ends(each.reading)
        ring = circle(drawing.at(each.reading.points[0]), _RING_PT)
        items.append(Shape((ring,), "", pen, name=name) if ends is None else Stroke(ends, pen, name))
    return items


def _place(centre: Centre, at: Floats) -> list[Item]:
    if centre.is_undetermined:
        return _question_items(at, f"loose {centre.name}", pens.PAPER)
    return list(cross(at, _CROSS_PT, pens.FOUND_CROSS, f"place {centre.name}"))


def _question_items(at: Floats, name: str = "legend", fill: str = "") -> list[Item]:
    x, y = at.tolist()
    mark = Label("?", (x, y - MIDDLE_EM * 12.0), 12.0, pens.INK, True, "center", name)
    return [Shape((circle(at, _RING_PT),), fill, pens.LOOSE_RING, name=name), mark]
