"""What `template` and `export` say of the file that they wrote."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan
from beltplan.drawing.content import DRAWN_LAYERS, FRAME, NAMES, NOTES, Content, belt_words, counts_of, problem_words
from beltplan.report.words import SAFETY, paragraph, table

_PRINT_WORDS = (
    'at 100 %, one-sided, no "fit to page"; then measure the check scale first: 100 mm and 4 in, along and across, '
    "on every sheet. If one is off, the sheet is waste: do not punch through it"
)
_JOIN_WORDS = (
    "cut off the left and the top of each sheet along the line; row by row, lay every sheet over those before it, its "
    "cut edge on their dotted line and marks of the same letter on one another; tape; then measure one long distance "
    "between two centres against the numbers on the print"
)


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
        return f"DO NOT PUNCH YET: check found {found}."
    return f"Check found {found}: read {_them(counts)} before you cut metal."


def _them(counts: Sequence[tuple[int, str]]) -> str:
    return "it" if sum(count for count, _ in counts) == 1 else "them"


def template_text(plan: Plan, printed: Printed) -> str:
    """The whole report as plain text, no line over 100 columns."""
    sheets = f"{_counted(printed.sheets, 'sheet')} of {printed.sheet}"
    tiles = f"{_counted(printed.rows, 'row')} of {_counted(printed.columns, 'column')}"
    lines = [
        *paragraph(plan.layout.title + (f" (variant: {plan.layout.variant})" if plan.layout.variant else "")),
        *paragraph(f"{printed.path}: {sheets}, {tiles}, exactly 1:1", "WRITTEN  "),
        *_left_out(printed),
        *_one_sheet(printed),
        *paragraph(f"{checked_words(plan.findings)} Verdict: {plan.verdict}", "CHECK    "),
        *paragraph(_PRINT_WORDS, "PRINT    "),
        *(paragraph(_JOIN_WORDS, "JOIN     ") if printed.sheets > 1 else ()),
        "",
        *paragraph(SAFETY, "CAUTION  "),
    ]
    return "\n".join(lines)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _left_out(printed: Printed) -> list[str]:
    if not printed.left_out:
        return []
    by_row = {row: [column for at, column in printed.left_out if at == row] for row, _ in printed.left_out}
    places = "; ".join(f"row {row}, {_columns(columns)}" for row, columns in by_row.items())
    return paragraph(f"nothing is on {places}", "LEFT OUT ")


def _columns(columns: Sequence[int]) -> str:
    runs: list[list[int]] = []
    for column in columns:
        if runs and column == runs[-1][-1] + 1:
            runs[-1].append(column)
        else:
            runs.append([column])
    words = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return f"column{'' if len(columns) == 1 else 's'} {', '.join(words)}"


def _one_sheet(printed: Printed) -> list[str]:
    if printed.sheets == 1:
        return []
    if not printed.one_sheet:
        return paragraph("no paper on the list holds it on one sheet", "LARGER   ")
    papers = " or ".join(filter(None, (", ".join(printed.one_sheet[:-1]), printed.one_sheet[-1])))
    return paragraph(f"on {papers} it is one sheet: --paper {printed.one_sheet[0]}", "LARGER   ")


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


def export_text(content: Content, path: str, form: Form) -> str:
    """The report on an export as plain text."""
    problems = problem_words(content)
    lines = [
        *paragraph(content.heading),
        *paragraph(f"{path}: {FORM_WORDS[form]}; {FRAME}", "WROTE    "),
        *paragraph(content.verdict, "VERDICT  "),
        *([] if problems is None else paragraph(problems, "PROBLEM  ")),
        *paragraph(belt_words(content), "BELT     "),
        "",
        "LAYERS   " + ("each with a colour of its own" if form in DRAWN else "in the column or key `layer`"),
        *table(["layer", "what", "parts", "length mm"], _rows(content, form), left=2),
        "",
    ]
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


def _rows(content: Content, form: Form) -> list[list[str]]:
    counts = counts_of(content.parts)
    rows: list[list[str]] = []
    for layer in DRAWN_LAYERS:
        count, length = counts[layer.name]
        if layer.name not in (NAMES, NOTES):
            rows.append([layer.name, layer.meaning, f"{count}", f"{length:.3f}" if length else "-"])
        elif form in DRAWN:
            rows.append([layer.name, layer.meaning, "-", "-"])
    return rows
