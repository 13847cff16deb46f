"""The whole sheet of a tolerance picture: answers, lengths and chances, wraps, measurements, caution."""

from __future__ import annotations

from beltplan.plots.palette import INK, SOFT_INK
from beltplan.plots.routing_scene import MARGIN_PT, WIDTH_PT
from beltplan.plots.scene import Item, Scene
from beltplan.plots.sheet import Paragraph, column, height_pt, rule
from beltplan.plots.tolerance_chart import length_chart, length_chart_height_pt
from beltplan.plots.tolerance_rows import ROW_PT, share_rows, told, wrap_rows
from beltplan.studies.tolerance import Tolerance

INSIDE_PT = WIDTH_PT - 2.0 * MARGIN_PT
GAP_PT = 34.0
HALF_PT = 0.5 * (INSIDE_PT - GAP_PT)
CAUTION = (
    "A planning aid from the measurements and errors given, never an approval; engine off, battery disconnected, "
    "keep clear of a sprung arm, guards back on."
)

Answers = tuple[tuple[str, str], ...]
"""What the study answers, each with its heading."""


def tolerance_scene(study: Tolerance, answers: Answers) -> Scene:
    """A tolerance study as a scene; a scene unit is a point, the top left corner inside the margins is the origin."""
    head = _head(study, answers)
    y = -height_pt(head, INSIDE_PT) - 6.0
    items: list[Item] = [*column(head, 0.0, 0.0, INSIDE_PT, 1.0), rule(0.0, y, INSIDE_PT)]
    about = _chart_words(study)
    items += column(about, 0.0, y, INSIDE_PT, 1.0)
    y -= height_pt(about, INSIDE_PT) + 6.0
    items += length_chart(study, 0.0, y, INSIDE_PT)
    y -= length_chart_height_pt()
    items.append(rule(0.0, y, INSIDE_PT))
    rows, y = _rows(study, y)
    foot = _foot(study)
    items += [*rows, rule(0.0, y, INSIDE_PT), *column(foot, 0.0, y, INSIDE_PT, 1.0)]
    y -= height_pt(foot, INSIDE_PT)
    return Scene((-MARGIN_PT, y - MARGIN_PT, INSIDE_PT + MARGIN_PT, MARGIN_PT), 1.0, tuple(items))


def _head(study: Tolerance, answers: Answers) -> tuple[Paragraph, ...]:
    layout = study.route.layout
    variant = "" if layout.variant is None else f" - {layout.variant}"
    words = [Paragraph(layout.title + variant, 17.0, INK, True, name="title")]
    for i, (lead, text) in enumerate(answers):
        words.append(Paragraph(f"{lead.capitalize()}: {text}", 10.5, INK if i < 2 else SOFT_INK, i < 2, 3.0, "answer"))
    return tuple(words)


def _chart_words(study: Tolerance) -> tuple[Paragraph, ...]:
    line = study.route.layout.belt.profile.line_name
    about = "Over: how often each length comes out at the design setting. Under: the chance of each stock belt"
    if study.windows is None:
        about += " that its length tolerance, or its stretch, holds the path."
    else:
        about += ", dark with its reserves in hand (and as a figure), light to go on at all. "
        about += "Red: the window of the layout as given; dashed: where a good belt's length ends."
    return (
        Paragraph(f"{line.capitalize()} length, mm: needed, and bought", 12.0, INK, True, 6.0, "heading"),
        Paragraph(about, 9.0, SOFT_INK, name="about"),
    )


def _rows(study: Tolerance, top: float) -> tuple[list[Item], float]:
    right = HALF_PT + GAP_PT
    wraps, shares = _wrap_words(study), _share_words(study)
    items: list[Item] = [
        *column(wraps, 0.0, top, HALF_PT, 1.0),
        *column(shares, right, top, HALF_PT, 1.0),
    ]
    y = top - max(height_pt(words, HALF_PT) for words in (wraps, shares)) - 2.0
    items += [*wrap_rows(study, 0.0, y, HALF_PT), *share_rows(study, right, y, HALF_PT)]
    return items, y - ROW_PT * max(len(study.wraps), len(told(study))) - 8.0


def _wrap_words(study: Tolerance) -> tuple[Paragraph, ...]:
    belt = next((belt.designation for belt in study.belts if belt.belt == study.fitted), "")
    if not study.wraps:
        return (Paragraph("Wrap: no belt to judge it by", 12.0, INK, True, 6.0, "heading"),)
    return (
        Paragraph("Wrap, deg" if study.windows is None else f"Wrap with {belt}, deg", 12.0, INK, True, 6.0, "heading"),
        Paragraph("Bar: 19 of 20 draws; dark: their mean; red: the least.", 9.0, SOFT_INK, name="about"),
    )


def _share_words(study: Tolerance) -> tuple[Paragraph, ...]:
    if not told(study):
        return (Paragraph("Measurements: no spread to share out", 12.0, INK, True, 6.0, "heading"),)
    return (
        Paragraph("Which measurement matters", 12.0, INK, True, 6.0, "heading"),
        Paragraph("Share of the variance of the needed length, first order.", 9.0, SOFT_INK, name="about"),
    )


def _foot(study: Tolerance) -> tuple[Paragraph, ...]:
    return (
        Paragraph(f"{study.draws} draws, seed {study.seed}.", 9.0, SOFT_INK, before_pt=5.0, name="draws"),
        Paragraph(CAUTION, 10.0, INK, True, 2.0, "caution"),
    )
