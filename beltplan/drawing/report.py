"""What `template` and `export` say of the file that they wrote."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.content import DRAWN_LAYERS, FRAME, NAMES, NOTES, Content, belt_words, counts_of, problem_words
from beltplan.drive.layout import Units
from beltplan.report.answer import report_of, title_of
from beltplan.report.screen import Block, Cell, Column, Footnotes, Paragraph, Report, Table

_PRINT_WORDS = (
    'at 100 %, one-sided, no "fit to page"; measure the check scales first, 100 mm (and 4 in), along and across, on '
    "every sheet. Where one is off, do not punch through that sheet"
)
_JOIN_WORDS = (
    "cut each sheet along its line at left and top; lay it over the sheets before it so that equal letters meet; tape. "
    "Then measure one long distance between two centres against the numbers on the print"
)


_LEAD = " " * len("WRITTEN  ")
DO_NOT_PUNCH = "DO NOT PUNCH YET"


@dataclass(frozen=True)
class Printed:
    """What was written. sheet: paper and how it lies; left_out: (row, column) from 1 of sheets with nothing on them.

    one_sheet: papers that hold it on one sheet, the smallest first.
    """

    path: str
    sheet: str
    rows: int
    columns: int
    sheets: int
    left_out: tuple[tuple[int, int], ...]
    one_sheet: tuple[str, ...]


def checked_words(findings: Sequence[Finding]) -> str:
    """What `check` found, for the print: how many problems and cautions."""
    counts = [(sum(f.severity == severity for f in findings), severity) for severity in ("problem", "caution")]
    found = " and ".join(_counted(count, severity) for count, severity in counts if count)
    if not found:
        return "Check found nothing against it."
    if counts[0][0]:
        return f"{DO_NOT_PUNCH}: check found {found}."
    return f"Check found {found}: read {_them(counts)} before you cut metal."


def _them(counts: Sequence[tuple[int, str]]) -> str:
    return "it" if sum(count for count, _ in counts) == 1 else "them"


def template_report(plan: Plan, printed: Printed) -> Report:
    """What was written and what `check` found, then how to print and to join."""
    sheets = f"{_counted(printed.sheets, 'sheet')} of {printed.sheet}"
    tiles = f"{_counted(printed.rows, 'row')} of {_counted(printed.columns, 'column')}"
    written: list[Block] = [
        title_of(plan.layout),
        Paragraph(f"{printed.path}: {sheets}, {tiles}, exactly 1:1", "WRITTEN  "),
        *(Paragraph(words, _LEAD) for words in (_blank(printed), _one_sheet(printed)) if words),
        Paragraph(checked_words(plan.findings).removeprefix("Check "), "CHECK    "),
    ]
    joined = [Paragraph(_JOIN_WORDS, "JOIN     ")] if printed.sheets > 1 else []
    parts: list[Sequence[Block]] = [written, [Paragraph(_PRINT_WORDS, "PRINT    "), *joined]]
    return report_of(plan.layout.units, parts, Footnotes(), full=False, more="")


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _blank(printed: Printed) -> str:
    if not printed.left_out:
        return ""
    by_row = {row: [column for at, column in printed.left_out if at == row] for row, _ in printed.left_out}
    places = "; ".join(f"row {row}, {_columns(columns)}" for row, columns in by_row.items())
    return f"blank sheets not printed: {places}"


def _columns(columns: Sequence[int]) -> str:
    runs: list[list[int]] = []
    for column in columns:
        if runs and column == runs[-1][-1] + 1:
            runs[-1].append(column)
        else:
            runs.append([column])
    words = [f"{run[0]} to {run[-1]}" if len(run) > 2 else " and ".join(map(str, run)) for run in runs]
    listed = " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
    return f"column{'' if len(columns) == 1 else 's'} {listed}"


def _one_sheet(printed: Printed) -> str:
    if printed.sheets == 1:
        return ""
    if not printed.one_sheet:
        return "no paper on the list holds it on one sheet"
    papers = " or ".join(filter(None, (", ".join(printed.one_sheet[:-1]), printed.one_sheet[-1])))
    return f"on {papers} it is one sheet: --paper {printed.one_sheet[0]}"


# What `export` says of the file that it wrote: form, verdict, belt, layers, caution.

Form = Literal["dxf", "svg", "csv", "json"]

FORM_WORDS: dict[Form, str] = {
    "dxf": "DXF, ASCII, release 12",
    "svg": "SVG",
    "csv": "a table, one row a part, one an edge of an outline; y up, degrees counter-clockwise from x",
    "json": "JSON, the numbers of the table with layers and caution",
}
DRAWN: tuple[Form, ...] = ("dxf", "svg")
"""Forms with words in them, each on its own layer."""


def export_report(content: Content, path: str, form: Form, units: Units) -> Report:
    """What was written and what `check` found, then what is on which layer."""
    what = problem_words(content) or content.verdict
    written: list[Block] = [
        Paragraph(content.heading),
        Paragraph(f"{path}: {FORM_WORDS[form]}; {FRAME}", "WRITTEN  "),
        Paragraph(what, "CHECK    "),
        Paragraph(belt_words(content), "BELT     "),
    ]
    layers = "LAYERS   " + ("each with a colour of its own" if form in DRAWN else "in the column or key `layer`")
    parts: list[Sequence[Block]] = [written, [layers, Table(_COLUMNS, _rows(content, form))]]
    return report_of(units, parts, Footnotes(), full=False, more="")


_COLUMNS = (
    *(Column("layer", left=True), Column("what", left=True, drop=1)),
    *(Column("parts"), Column("length", decimals_mm=3)),
)


def _rows(content: Content, form: Form) -> list[tuple[Cell, ...]]:
    counts = counts_of(content.parts)
    rows: list[tuple[Cell, ...]] = []
    for layer in DRAWN_LAYERS:
        count, length = counts[layer.name]
        if layer.name not in (NAMES, NOTES):
            rows.append((layer.name, layer.meaning, f"{count}", length or None))
        elif form in DRAWN:
            rows.append((layer.name, layer.meaning, None, None))
    return rows
