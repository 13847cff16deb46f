"""What `template` and `export` say of the file that they wrote."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from beltplan.checks.plan import Plan
from beltplan.drawing.content import DRAWN_LAYERS, FRAME, Content, belt_words, counts_of, problem_words
from beltplan.drawing.control import (
    STOP,
    Control,
    checked_words,
    control_words,
    counted,
    doubt_words,
    laid_off_mm,
    place_words,
)
from beltplan.drawing.study import Spot
from beltplan.drive.layout import Layout, Units
from beltplan.report.answer import report_of, title_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table
from beltplan.report.words import SAFETY, head_of, json_text

if TYPE_CHECKING:
    from beltplan.drawing.paper import Page
    from beltplan.drawing.picture import Template
    from beltplan.drawing.strokes import Drawing

_PRINT_WORDS = (
    'at 100 %, one-sided, no "fit to page"; measure the check scales first, {scale}, along and across, on every sheet. '
    "Where one is off, do not punch through that sheet"
)
_JOIN_WORDS = (
    "cut each sheet along its line at left and top; lay it over the sheets before it so that equal letters meet; tape"
)
_NO_PAPER = "no paper on the list holds it on one sheet"
_LEAD = " " * len("WRITTEN  ")


def template_report(plan: Plan, template: Template, path: str, one_sheet: Sequence[str]) -> Report:
    """What was written and what `check` found, what to measure on it, then how to print and to join.

    one_sheet: papers that hold it on one sheet, the smallest first.
    """
    tiling, drawing, units = template.tiling, template.drawing, plan.layout.units
    sheets = f"{counted(len(template.pages), 'sheet')} of {tiling.sheet.words}"
    tiles = f"{counted(tiling.rows, 'row')} of {counted(tiling.columns, 'column')}"
    blank = "; ".join(f"row {row + 1}, column {column + 1}" for row, column in template.left_out)
    alone = f"on {', '.join(one_sheet)} it is one sheet: --paper {one_sheet[0]}" if one_sheet else _NO_PAPER
    more = (f"blank and so not printed: {blank}" if blank else "", alone if len(template.pages) > 1 else "")
    doubt = doubt_words(plan.layout)
    written: list[Block] = [
        title_of(plan.layout),
        Paragraph(f"{path}: {sheets}, {tiles}, exactly 1:1", "WRITTEN  "),
        *(Paragraph(words, _LEAD) for words in more if words),
        Paragraph(checked_words(plan.findings).removeprefix("Check ").rstrip("."), "CHECK    "),
        *([Paragraph(": ".join(filter(None, (STOP, doubt))), _LEAD)] if plan.count("problem") or doubt else []),
    ]
    control = control_words(drawing.controls(), units)
    printed = [
        Paragraph(_PRINT_WORDS.format(scale="100 mm" if units == "mm" else "4 in"), "PRINT    "),
        *([Paragraph(_JOIN_WORDS, "JOIN     ")] if len(template.pages) > 1 else []),
        *([Paragraph(control.removeprefix("Measure ").rstrip("."), "MEASURE  ")] if control else []),
    ]
    return report_of(units, [written, _only_blocks(plan.layout, drawing), printed], Footnotes(), full=False, more="")


def _only_blocks(layout: Layout, drawing: Drawing) -> list[Block]:
    if drawing.only is None:
        return []
    units, off = layout.units, ""
    if len(drawing.datums) > 1:
        off_mm = laid_off_mm(layout, drawing.datums, drawing.own)
        off = f": what is drawn is then right to {off_mm:.1f} mm (one standard deviation)"
    laid = " and ".join(f"{spot.name} {place_words(spot.at_mm, units)}" for spot in drawing.datums)
    centres = [f"{spot.name} {place_words(spot.at_mm, units)}" for spot in drawing.others]
    rest = "; ".join((*centres, *_off_the_sheets(drawing)))
    return [
        Paragraph(", ".join(drawing.only), "ONLY     "),
        *([Paragraph(f"laid on {laid}{off}", _LEAD)] if laid else []),
        *([Paragraph(f"not drawn: {rest}", _LEAD)] if rest else []),
    ]


def _off_the_sheets(drawing: Drawing) -> list[str]:
    """Names of the obstacles that no sheet shows."""
    return [name for name, pieces in drawing.beside.items() if not pieces]


def template_json(plan: Plan, template: Template, path: str, one_sheet: Sequence[str]) -> str:
    """The same as JSON text in plain ASCII.

    sheets: those printed, their window as [left, bottom, right, top]; left_out: blank ones. control: what to measure
    first. one_sheet: papers that hold it on one sheet, the smallest first.
    """
    layout, tiling, drawing = plan.layout, template.tiling, template.drawing
    windows = [(page, tiling.window(page), template.controls(page)) for page in template.pages]
    return json_text(
        {
            **head_of(layout, plan.verdict),
            "file": path,
            "paper": tiling.sheet.paper.name,
            "across": tiling.sheet.across,
            "rows": tiling.rows,
            "columns": tiling.columns,
            "sheets": [
                {**_number(page), "window_mm": list(window), "control": next(iter(_distances(controls)), None)}
                for page, window, controls in windows
            ],
            "left_out": [_number(page) for page in template.left_out],
            "control": _distances(drawing.controls()),
            "only": drawing.only,
            "datum_points": _points(drawing.datums),
            "not_drawn": _points(drawing.others),
            "obstacles_not_drawn": _off_the_sheets(drawing),
            "one_sheet": list(one_sheet),
            "caution": SAFETY,
        }
    )


def _number(page: Page) -> dict[str, Any]:
    return {"row": page[0] + 1, "column": page[1] + 1}


def _distances(controls: Sequence[Control]) -> list[dict[str, Any]]:
    return [{"from": each.start.name, "to": each.end.name, "length_mm": each.length_mm} for each in controls]


def _points(spots: Sequence[Spot]) -> list[dict[str, Any]]:
    return [{"name": spot.name, "x_mm": spot.at_mm[0], "y_mm": spot.at_mm[1]} for spot in spots]


# What `export` says of the file that it wrote: form, verdict, belt, layers, caution.

Form = Literal["dxf", "svg", "csv", "json"]

FORM_WORDS: dict[Form, str] = {
    "dxf": "DXF, ASCII, release 12",
    "svg": "SVG",
    "csv": "a table, a row for each part and each edge of an outline; y up, degrees counter-clockwise from x",
    "json": "JSON, the numbers of the table with layers and caution",
}
DRAWN: tuple[Form, ...] = ("dxf", "svg")
"""Forms with words in them, each on its own layer."""


def export_report(content: Content, path: str, form: Form, units: Units) -> Report:
    """What was written and what `check` found, then what is on which layer."""
    what = problem_words(content) or content.plan.verdict
    beware = ". Open it in mm, not in inches" if units == "in" else ""
    written: list[Block] = [
        Paragraph(content.heading),
        Paragraph(f"{path}: {FORM_WORDS[form]}; {FRAME}{beware}", "WRITTEN  "),
        Paragraph(what, "CHECK    "),
        Paragraph(belt_words(content), "BELT     "),
    ]
    layers = "LAYERS   " + ("each with a colour of its own" if form in DRAWN else "in the column or key `layer`")
    parts: list[Sequence[Block]] = [written, [layers, Table(_COLUMNS, _rows(content, form))]]
    return report_of(units, parts, Footnotes(), full=False, more="")


_COLUMNS = (
    *(Column("layer", left=True), Column("what", left=True, drop=1)),
    *(Column("parts"), Column("length", decimals_mm=1)),
)


def _rows(content: Content, form: Form) -> list[tuple[Cell, ...]]:
    counts = counts_of(content.parts)
    rows: list[tuple[Cell, ...]] = []
    for layer in DRAWN_LAYERS:
        if layer.name in counts:
            count, length = counts[layer.name]
            rows.append((layer.name, layer.meaning, f"{count}", length or None))
        elif form in DRAWN:
            rows.append((layer.name, layer.meaning, None, None))
    return rows
