"""The picture of a measured drive: answers, drawing to scale with its labels, legend, caution."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from beltplan.checks.limits import Severity
from beltplan.drive.layout import Units
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle
from beltplan.measure.strokes import (
    CROSS_PT,
    ELLIPSE_PT,
    GHOST_PT,
    MOST_GHOSTS,
    PENS,
    RING_PT,
    Drawing,
    Numbered,
    question_items,
    strokes_of,
)
from beltplan.measure.study import Centre, Measuring
from beltplan.measure.values import quantity
from beltplan.measure.words import Answers
from beltplan.picture import pens
from beltplan.picture.labels import ALONG, Anchor, KeepOut, LabelBlock, Line, Writer, name_lines
from beltplan.picture.legend import disc_entry, line_symbol, scale_bar
from beltplan.picture.page import Block, Entry, Paragraph, Symbol, figure, legend, mark_shape, page_of
from beltplan.picture.routing import edges_of
from beltplan.picture.scene import Item, Point, Scene, Shape, cross, seen_box
from beltplan.report.screen import length_text
from beltplan.report.words import MEASURED_SAFETY

_LEVEL_PAST_PT = 30.0
"""How far the level line goes past the outermost points."""
_NAME_PT, _TEXT_PT, _RESIDUAL_PT = 10.5, 8.5, 8.0
_NAME_WIDTH_PT = 130.0
_OUTLINE_STEP = 4
"""Every so manyth corner of an ellipse is enough to keep labels off its outline."""
_NUMBERED_LEADS = ("MISREAD", "SUSPECT")
_SD = "\N{PLUS-MINUS SIGN}"


def measure_scene(found: Measuring, answers: Answers) -> Scene:
    drawing = Drawing(found)
    around, points = seen_box(drawing.box, drawing.view), seen_box(drawing.least_box, drawing.view)
    across = (points[0] - _LEVEL_PAST_PT, points[2] + _LEVEL_PAST_PT)
    items = [*strokes_of(drawing, across), *_label_items(drawing, edges_of(around), across[1])]
    blocks: list[Block] = [
        Paragraph(found.measured.title, 17.0, pens.INK, True, name="title"),
        *_answers(answers),
        *(Paragraph(text, 9.5, pens.INK, before_pt=2.5, name="ellipses") for text in _ellipse_head(drawing)),
        figure(items, around),
        *legend(_entries(drawing)),
        Paragraph(_frame_words(drawing), 9.0, pens.SOFT_INK, before_pt=5.0, name="frame"),
        Paragraph(MEASURED_SAFETY, 10.0, pens.INK, True, 2.0, "caution"),
    ]
    about = " ".join(f"{lead.capitalize()}: {text}." for lead, text in answers)
    return page_of(blocks, found.measured.title, about, drawing.view.pt_per_mm)


def _answers(answers: Answers) -> list[Block]:
    words, count = list[Block](), 0
    for i, (lead, text) in enumerate(answers):
        count += lead in _NUMBERED_LEADS
        named = f"{lead.capitalize()} {count}" if lead in _NUMBERED_LEADS else lead.capitalize()
        bold = i == 0 or lead in _NUMBERED_LEADS
        colour = pens.INK if bold else pens.SOFT_INK
        words.append(Paragraph(f"{named}: {text}", 9.5, colour, bold, 2.5, "answer"))
    return words


def _ellipse_head(drawing: Drawing) -> list[str]:
    larger = f"Ellipses are drawn {drawing.times:g} times larger than the errors that they show."
    names = ", ".join(drawing.cut)
    cut = f"The drawing is too small for the error of {names}: the ellipse is cut off at its edge."
    return [*([larger] if drawing.times != 1.0 else []), *([cut] if names else [])]


def _frame_words(drawing: Drawing) -> str:
    measured, larger = drawing.found.measured, drawing.times != 1.0
    return (
        f"Seen from the front, facing the pulleys: x right, y up, {measured.units} from {measured.origin}. "
        f"Drawn to scale{', but for the ellipses' if larger else ''}. "
        "\N{PLUS-MINUS SIGN}: one standard deviation in x, in y."
    )


# The legend.


def _entries(drawing: Drawing) -> list[Entry]:
    found, numbered = drawing.found, drawing.numbered
    few = f", {MOST_GHOSTS} of them" if len(drawing.ghosts) == MOST_GHOSTS else ""
    how = "to scale" if drawing.times == 1.0 else f"drawn {drawing.times:g} times larger"
    how += ", cut off at the edge" if drawing.cut else ""
    kinds = {each.reading.kind for each, _ in drawing.lines}
    unit = {"mm": "mm", "in": "inches"}[found.measured.units]
    figures = f"; figure: error in {unit}, + reads long" if drawing.residuals else ""
    held: list[tuple[object, Entry]] = [
        (True, scale_bar(drawing.view.pt_per_mm, found.measured.units)),
        (True, Entry("place found", lambda at: cross(at, CROSS_PT, pens.FOUND_CROSS), 14.0)),
        (drawing.outlines, Entry(f"one standard deviation, {how}", _ellipse, 24.0)),
        *(
            (kind in kinds, Entry(words + (figures if kind == "distance" else ""), line_symbol(pen)))
            for kind, (words, pen) in PENS.items()
        ),
        (found.rims_mm, disc_entry("rim", pens.FOUND_RIM, "")),
        (True, Entry("level, through the origin", line_symbol(pens.LEVEL_LINE))),
        (any(each.left_out for each in numbered), Entry("misread, left out", _doubted(True))),
        (not all(each.left_out for each in numbered), Entry("suspected: one of these is wrong", _doubted(False))),
        (any(c.is_undetermined for c in found.centres), Entry("not held by the readings", question_items, 20.0)),
        (
            drawing.ghosts,
            disc_entry(f"where it may lie instead (mirror solution{few})", pens.GHOST_PLACE, "", GHOST_PT),
        ),
    ]
    return [entry for holds, entry in held if holds]


def _doubted(left_out: bool) -> Symbol:
    severity: Severity = "problem" if left_out else "caution"
    line = line_symbol(pens.MISREAD_LINE if left_out else pens.SUSPECT_LINE)
    return lambda at: [*line(at), mark_shape(severity, at)]


def _ellipse(at: Floats) -> list[Item]:
    outline = at + from_angle(np.linspace(0.0, TURN, 40, endpoint=False)) * np.array((11.0, 6.0))
    return [Shape((outline,), pens.ELLIPSE, pens.ELLIPSE_EDGE)]


# The labels: names with places, residuals on their lines, marks, mirror solutions.


def _label_items(drawing: Drawing, edges: Point, level_x: float) -> list[Item]:
    """Every label. edges: left and right edge of the page; level_x: where the level line ends."""
    found, reach = drawing.found, _reaches(drawing)
    middle = drawing.view.at(found.places).mean(axis=0)
    writer = Writer(_keep_out(drawing, edges, reach))
    for each in drawing.numbered:
        _write_mark(writer, drawing, each)
    for centre in sorted(found.centres, key=lambda centre: -reach[centre.name]):
        writer.beside(
            _point_block(centre, found.measured.units), Anchor.away(drawing.at(centre.name), reach[centre.name], middle)
        )
    for name, at in drawing.ghosts:
        lines = name_lines(f"or {name}", _TEXT_PT, _NAME_WIDTH_PT, pens.SOFT_INK, False)
        block = LabelBlock(tuple(replace(line, name=f"ghost {name}") for line in lines))
        writer.beside(block, Anchor.away(drawing.view.at(at), GHOST_PT, middle))
    level = LabelBlock((Line("level", _TEXT_PT, pens.SOFT_INK, name="level"),))
    level_at = (level_x, float(drawing.at(found.measured.origin)[1]))
    writer.beside(level, Anchor(level_at, 0.0, 0.5 * np.pi), longest_pt=0.0)
    for checked, ends in drawing.residuals:
        # How much it reads too much: in the units of lengths, or deg.
        words, unit = quantity(checked.error, checked.reading.unit, found.measured.units).split()
        words += "\N{DEGREE SIGN}" * (unit == "deg")
        line = Line(words, _RESIDUAL_PT, pens.SOFT_INK, name=f"residual {checked.reading.words}")
        writer.on_line(LabelBlock((line,)), _points(ends), _apart(writer, ends))
    return writer.items


def _write_mark(writer: Writer, drawing: Drawing, numbered: Numbered) -> None:
    """The mark of a reading in doubt, on its line where there is room, else beside it."""
    block, ends = LabelBlock((), (numbered.mark,), f"mark {numbered.number}"), drawing.ends(numbered.reading)
    if ends is None:
        writer.beside(block, Anchor(drawing.at(numbered.reading.points[0]), RING_PT, 0.5))
    elif not writer.on_line(block, _points(ends), _apart(writer, ends), plate=False):
        writer.beside(block, *(Anchor(at, 0.0, 0.0) for at in _points(ends)))


def _points(ends: Floats) -> list[Floats]:
    way = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(ends, axis=0).T))))
    return [np.array([np.interp(share * way[-1], way, line) for line in ends.T]) for share in ALONG]


def _apart(writer: Writer, ends: Floats) -> Bools:
    """Which of the strips kept clear lie not between the same ends."""
    strips = writer.keep_out.strips
    same, turned = (np.isclose(strips, ends[[a, b]]).all(axis=(1, 2)) for a, b in ((0, -1), (-1, 0)))
    return np.asarray(~(same | turned))


def _point_block(centre: Centre, units: Units) -> LabelBlock:
    """What is written at a point: its name, bold but for a mark; its place; how sure it is."""
    colour = pens.SOFT_INK if centre.mark else pens.INK
    lines = name_lines(centre.name, _NAME_PT, _NAME_WIDTH_PT, colour, not centre.mark)
    if centre.is_undetermined:
        return LabelBlock(
            (*lines, Line("not held: drawn by a guess", _TEXT_PT, pens.SOFT_INK, name=f"at {centre.name}"))
        )
    x, y, *sds = (length_text(each, 1, units) for each in (*centre.at_mm, centre.sd_x_mm or 0.0, centre.sd_y_mm or 0.0))
    lines.append(Line(f"{x}, {y} {units}", _TEXT_PT, pens.INK, name=f"at {centre.name}"))
    if centre.sd_mm:
        words = f"{', '.join(f'{_SD}{each}' for each in sds)} {units}"
        lines.append(Line(words, _TEXT_PT, pens.SOFT_INK, name=f"deviation {centre.name}"))
    return LabelBlock(tuple(lines))


def _reaches(drawing: Drawing) -> dict[str, float]:
    """How far round each point labels keep clear: rim, cross, and an ellipse that is not large."""
    reach = {}
    for centre in drawing.found.centres:
        wide, least = drawing.wide_pt(centre), RING_PT if centre.is_undetermined else CROSS_PT
        reach[centre.name] = max(least, drawing.rim(centre.name), wide if wide <= ELLIPSE_PT else 0.0)
    return reach


def _keep_out(drawing: Drawing, edges: Point, reach: dict[str, float]) -> KeepOut:
    """Points, mirror solutions and rings; lines of readings, the level, and the outlines of large ellipses."""
    found, at_points = drawing.found, [e.reading for e in drawing.numbered if drawing.ends(e.reading) is None]
    discs = [(*drawing.at(centre.name), reach[centre.name]) for centre in found.centres]
    discs += [(*drawing.view.at(at), GHOST_PT) for mirror in found.mirrors for at in mirror.places]
    every = np.array(discs + [(*drawing.at(reading.points[0]), RING_PT) for reading in at_points])
    level = float(drawing.at(found.measured.origin)[1])
    pieces = (piece for _, ends in drawing.lines for piece in np.stack((ends[:-1], ends[1:]), axis=1))
    lines = [*pieces, np.array([(edges[0], level), (edges[1], level)])]
    for centre in found.centres:
        if drawing.wide_pt(centre) > ELLIPSE_PT:
            ring = drawing.outlines[centre.name][::_OUTLINE_STEP]
            lines += list(np.stack((ring, np.roll(ring, -1, axis=0)), axis=1))
    ends = np.array(lines)
    return KeepOut(every, ends, np.full(len(ends), 0.8), *edges)
