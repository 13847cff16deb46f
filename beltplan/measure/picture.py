"""The picture of a measured drive: answers, drawing to scale, legend, caution."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, from_angle
from beltplan.measure.labels import label_items
from beltplan.measure.strokes import (
    CROSS_PT,
    GHOST_PT,
    MOST_GHOSTS,
    PENS,
    Drawing,
    Ellipses,
    cross_items,
    doubted_items,
    drawing_box,
    drawing_of,
    ellipse_items,
    geometry_box,
    ghost_items,
    ground_items,
    lines_of,
    reading_items,
    residuals_of,
    rims_of,
)
from beltplan.measure.study import Measuring
from beltplan.measure.words import Answers
from beltplan.picture.legend import line_symbol, scale_bar
from beltplan.picture.page import Entry, Page, Paragraph, Symbol, edges_of, mark_shape, page_round
from beltplan.picture.painter import picture_bytes
from beltplan.picture.picture_file import ending_or_error
from beltplan.picture.routing import scale_pt
from beltplan.picture.scene import (
    ELLIPSE,
    ELLIPSE_EDGE,
    FOUND_CROSS,
    FOUND_RIM,
    GHOST_PLACE,
    INK,
    LEVEL_LINE,
    LOOSE_RING,
    MISREAD_LINE,
    SOFT_INK,
    SUSPECT_LINE,
    Item,
    Label,
    Pen,
    Scene,
    Shape,
    Stroke,
    circle,
)
from beltplan.report.words import MEASURED_SAFETY

_LEVEL_PAST_PT = 30.0
"""How far the level line goes past the outermost points."""
_NUMBERED_LEADS = ("MISREAD", "SUSPECT")


def _measure_entries(drawing: Drawing) -> list[Entry]:
    """What the legend holds."""
    found, ellipses, numbered = drawing.found, drawing.ellipses, drawing.numbered
    entries = [scale_bar(drawing.unit_pt, found.measured.units), Entry("place found", _cross, 14.0)]
    if ellipses.outlines:
        entries.append(Entry(f"one standard deviation, {ellipse_words(ellipses)}", _ellipse, 24.0))
    entries += _line_entries(drawing)
    if rims_of(found):
        entries.append(Entry("rim", _ring(FOUND_RIM, 8.0), 18.0))
    entries.append(Entry("level, through the origin", line_symbol(LEVEL_LINE)))
    if any(each.left_out for each in numbered):
        entries.append(Entry("misread, left out", _doubted(True)))
    if not all(each.left_out for each in numbered):
        entries.append(Entry("suspected: one of these is wrong", _doubted(False)))
    if any(centre.is_undetermined for centre in found.centres):
        entries.append(Entry("not held by the readings", _question, 20.0))
    if drawing.ghosts:
        few = f", {MOST_GHOSTS} of them" if len(drawing.ghosts) == MOST_GHOSTS else ""
        entries.append(Entry(f"where it may lie instead (mirror solution{few})", _ring(GHOST_PLACE, GHOST_PT), 14.0))
    return entries


def ellipse_words(ellipses: Ellipses) -> str:
    """How large the ellipses are drawn."""
    how = "to scale" if ellipses.times == 1.0 else f"drawn {ellipses.times:g} times larger"
    return how + (", cut off at the edge" if ellipses.cut else "")


def _line_entries(drawing: Drawing) -> list[Entry]:
    drawn = {each.reading.kind for each, _ in lines_of(drawing.found)}
    figures = f"; figure: {drawing.found.measured.units} that it reads too much" if residuals_of(drawing) else ""
    return [
        Entry(words + (figures if kind == "distance" else ""), line_symbol(pen))
        for kind, (words, pen) in PENS.items()
        if kind in drawn
    ]


def _ring(pen: Pen, radius_pt: float) -> Symbol:
    return lambda at, pt: [Shape((circle(at, radius_pt * pt),), "", pen)]


def _doubted(left_out: bool) -> Symbol:
    pen = MISREAD_LINE if left_out else SUSPECT_LINE

    def draw(at: Floats, pt: float) -> list[Item]:
        return [*line_symbol(pen)(at, pt), mark_shape("problem" if left_out else "caution", at, 1.0 / pt)]

    return draw


def _cross(at: Floats, pt: float) -> list[Item]:
    arms = (np.array((CROSS_PT * pt, 0.0)), np.array((0.0, CROSS_PT * pt)))
    return [Stroke(np.stack((at - arm, at + arm)), FOUND_CROSS) for arm in arms]


def _ellipse(at: Floats, pt: float) -> list[Item]:
    outline = at + from_angle(np.linspace(0.0, TURN, 40, endpoint=False)) * np.array((11.0 * pt, 6.0 * pt))
    return [Shape((outline,), ELLIPSE, ELLIPSE_EDGE)]


def _question(at: Floats, pt: float) -> list[Item]:
    ring = Shape((circle(at, 8.0 * pt),), "", LOOSE_RING)
    baseline = (float(at[0]), float(at[1]) - 3.6 * pt)
    return [ring, Label("?", baseline, 10.0, INK, True, "center", "legend")]


def measure_scene(found: Measuring, answers: Answers) -> Scene:
    """A measured drive as a scene in mm."""
    box = drawing_box(found)
    unit_pt = scale_pt(box)
    edges = edges_of(box, unit_pt)
    drawing = drawing_of(found, box, unit_pt)

    def foot(page: Page) -> None:
        page.rule()
        page.skip(4.0)
        page.legend(_measure_entries(drawing))
        page.skip(2.0)
        page.rule()
        page.text(*_foot(found, drawing.ellipses))

    return page_round(_drawing_items(drawing, edges), _head(found, answers, drawing.ellipses), foot, edges, unit_pt)


def _drawing_items(drawing: Drawing, edges: tuple[float, float]) -> list[Item]:
    """The drawing itself with its labels, back to front. edges: that no label passes, mm."""
    found, unit_pt = drawing.found, drawing.unit_pt
    box, past = geometry_box(found), _LEVEL_PAST_PT / unit_pt
    across = (box[0] - past, box[2] + past)
    return [
        *ellipse_items(drawing.ellipses),
        *ground_items(found, across),
        *reading_items(drawing),
        *doubted_items(drawing),
        *ghost_items(drawing.ghosts, unit_pt),
        *(item for centre in found.centres for item in cross_items(centre, unit_pt)),
        *label_items(drawing, edges, across[1]),
    ]


def _head(found: Measuring, answers: Answers, ellipses: Ellipses) -> tuple[Paragraph, ...]:
    words = [Paragraph(found.measured.title, 17.0, INK, True, name="title")]
    number = 0
    for i, (lead, text) in enumerate(answers):
        number += lead in _NUMBERED_LEADS
        named = f"{lead.capitalize()} {number}" if lead in _NUMBERED_LEADS else lead.capitalize()
        bold = i == 0 or lead in _NUMBERED_LEADS
        words.append(Paragraph(f"{named}: {text}", 9.5, INK if bold else SOFT_INK, bold, 2.5, "answer"))
    words += [Paragraph(text, 9.5, INK, before_pt=2.5, name="ellipses") for text in _ellipse_words(ellipses)]
    return tuple(words)


def _ellipse_words(ellipses: Ellipses) -> list[str]:
    """What must be known of the ellipses before they are looked at."""
    larger = f"Ellipses are drawn {ellipses.times:g} times larger than the errors that they show."
    names = ", ".join(ellipses.cut)
    cut = f"The drawing is too small for the error of {names}: the ellipse is cut off at its edge."
    return [*([larger] if ellipses.times != 1.0 else []), *([cut] if ellipses.cut else [])]


def _foot(found: Measuring, ellipses: Ellipses) -> tuple[Paragraph, ...]:
    frame = (
        f"Seen from the front, facing the pulleys: x right, y up, {found.measured.units} from {found.measured.origin}. "
        f"Drawn to scale{', but for the ellipses' if ellipses.times != 1.0 else ''}. "
        "\N{PLUS-MINUS SIGN}: one standard deviation in x, in y."
    )
    return (
        Paragraph(frame, 9.0, SOFT_INK, before_pt=5.0, name="frame"),
        Paragraph(MEASURED_SAFETY, 10.0, INK, True, 2.0, "caution"),
    )


def measure_picture(found: Measuring, answers: Answers, path: str) -> bytes:
    """The picture as the content of a file; the file's ending says which kind: png, svg or pdf.

    Raises ValueError for another ending.
    """
    return picture_bytes(measure_scene(found, answers), ending_or_error(path))
