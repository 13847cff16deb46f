"""The whole sheet of a measured drive: answers, drawing to scale, legend, caution."""

from __future__ import annotations

from beltplan.plots.legend import legend_height_pt, legend_items
from beltplan.plots.measure_ellipses import Ellipses, drawing_box, ellipses_of
from beltplan.plots.measure_ground import Ghost, Numbered, geometry_box, ghosts_of, numbered_of
from beltplan.plots.measure_labels import label_items
from beltplan.plots.measure_legend import measure_entries
from beltplan.plots.measure_strokes import (
    cross_items,
    doubted_items,
    ellipse_items,
    ghost_items,
    ground_items,
    reading_items,
)
from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.routing_scene import AIR_PT, MARGIN_PT, WIDTH_PT, scale_pt
from beltplan.plots.scene import Item, Scene
from beltplan.plots.sheet import Paragraph, column, extent, height_pt, rule
from beltplan.studies.measuring import Measuring

INSIDE_PT = WIDTH_PT - 2.0 * MARGIN_PT
LEVEL_PAST_PT = 30.0
"""How far the level line goes past the outermost points."""
CAUTION = (
    "A planning aid from the readings given, never an approval. Engine off, key out, battery disconnected while "
    "measuring; keep clear of a sprung arm; guards back on."
)
NUMBERED_LEADS = ("MISREAD", "SUSPECT")

Answers = tuple[tuple[str, str], ...]
"""What the study answers, each with its heading; one MISREAD or SUSPECT for each reading in doubt, in its order."""


def measure_scene(found: Measuring, answers: Answers) -> Scene:
    """A measured drive as a scene in mm."""
    box = drawing_box(found)
    unit_pt = scale_pt(box)
    half, middle = 0.5 * WIDTH_PT / unit_pt, 0.5 * (box[0] + box[2])
    inner = (middle - half + MARGIN_PT / unit_pt, middle + half - MARGIN_PT / unit_pt)
    numbered, ghosts = numbered_of(found), ghosts_of(found)
    ellipses = ellipses_of(found, box, unit_pt)
    drawing = drawing_items(found, numbered, ghosts, ellipses, unit_pt, inner)
    reach = extent(drawing, unit_pt)
    head = _head(found, answers, ellipses)
    top = reach[3] + (height_pt(head, INSIDE_PT) + AIR_PT) / unit_pt
    entries = measure_entries(found, numbered, ghosts, ellipses, unit_pt)
    y = reach[1] - AIR_PT / unit_pt
    items = [*drawing, *column(head, inner[0], top, INSIDE_PT, unit_pt), rule(inner[0], y, INSIDE_PT / unit_pt)]
    y -= 4.0 / unit_pt
    items += legend_items(entries, inner[0], y, INSIDE_PT, unit_pt)
    y -= (legend_height_pt(entries, INSIDE_PT) + 2.0) / unit_pt
    foot = _foot(found, ellipses)
    items += [rule(inner[0], y, INSIDE_PT / unit_pt), *column(foot, inner[0], y, INSIDE_PT, unit_pt)]
    y -= height_pt(foot, INSIDE_PT) / unit_pt
    margin = MARGIN_PT / unit_pt
    return Scene((middle - half, y - margin, middle + half, top + margin), unit_pt, tuple(items))


def drawing_items(
    found: Measuring,
    numbered: tuple[Numbered, ...],
    ghosts: tuple[Ghost, ...],
    ellipses: Ellipses,
    unit_pt: float,
    edges: tuple[float, float],
) -> list[Item]:
    """The drawing itself with its labels, back to front. edges: that no label passes, mm."""
    box, past = geometry_box(found), LEVEL_PAST_PT / unit_pt
    across = (box[0] - past, box[2] + past)
    return [
        *ellipse_items(ellipses),
        *ground_items(found, across),
        *reading_items(found, numbered),
        *doubted_items(found, numbered, unit_pt),
        *ghost_items(ghosts, unit_pt),
        *(item for centre in found.centres for item in cross_items(centre, unit_pt)),
        *label_items(found, numbered, ghosts, ellipses, unit_pt, edges, across[1]),
    ]


def _head(found: Measuring, answers: Answers, ellipses: Ellipses) -> tuple[Paragraph, ...]:
    words = [Paragraph(found.measured.title, 17.0, INK, True, name="title")]
    number = 0
    for i, (lead, text) in enumerate(answers):
        number += lead in NUMBERED_LEADS
        named = f"{lead.capitalize()} {number}" if lead in NUMBERED_LEADS else lead.capitalize()
        bold = i == 0 or lead in NUMBERED_LEADS
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
        f"Seen from the front, facing the pulleys: x right, y up, mm from {found.measured.origin}. "
        f"Drawn to scale{', but for the ellipses' if ellipses.times != 1.0 else ''}. "
        "\N{PLUS-MINUS SIGN}: one standard deviation in x, in y."
    )
    return (
        Paragraph(frame, 9.0, SOFT_INK, before_pt=5.0, name="frame"),
        Paragraph(CAUTION, 10.0, INK, True, 2.0, "caution"),
    )
