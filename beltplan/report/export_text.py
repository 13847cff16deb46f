"""What `export` says of the file that it wrote: form, verdict, belt, layers, caution."""

from __future__ import annotations

from typing import Literal

from beltplan.report.export_content import FRAME, Content, belt_words, problem_words
from beltplan.report.export_layers import DRAWN_LAYERS, NAMES, NOTES
from beltplan.report.export_numbers import counts_of
from beltplan.report.tables import paragraph, table
from beltplan.report.words import CAUTION

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
    return "\n".join([*lines, *paragraph(CAUTION, "CAUTION  ")])


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
