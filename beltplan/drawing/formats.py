"""An export as a table for other programs, and as JSON."""

from __future__ import annotations

import csv
from io import StringIO

from beltplan.drawing.content import COLUMNS, DRAWN_LAYERS, FRAME, Content, counts_of, decimal, rounded, rows_of
from beltplan.report.words import SAFETY, json_lines


def csv_text(content: Content) -> str:
    """The table with a head row; what a part does not have is left empty. Raises ValueError for a number not finite.

    The table has no room for notes: the caution, and what `check` found, stand in the command's own output.
    """
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(row[name]) for name in COLUMNS] for part in content.parts for row in rows_of(part))
    return target.getvalue()


def _cell(value: str | float | None) -> str:
    """A number, or a word led by an apostrophe where a table program would compute it."""
    if isinstance(value, float):
        return decimal(value)
    return f"'{value}" if value and value[0] in "=+-@" else value or ""


def export_json(content: Content) -> str:
    """The parts, and what must be known of them, in plain ASCII. Raises ValueError for a number that is not finite."""
    plan, meanings = content.plan, {layer.name: layer.meaning for layer in DRAWN_LAYERS}
    text = json_lines(
        {
            "title": plan.layout.title,
            "variant": plan.layout.variant,
            "verdict": plan.verdict,
            "problems": plan.count("problem"),
            "units": "mm",
            "angles": "deg",
            "frame": FRAME,
            "belt": plan.route.designation,
            "path_mm": rounded(float(plan.route.loop.length)),
            "layers": [
                {"name": name, "meaning": meanings[name], "parts": count, "length_mm": rounded(length)}
                for name, (count, length) in counts_of(content.parts).items()
            ],
            "parts": [row for part in content.parts for row in rows_of(part)],
            "caution": SAFETY,
        }
    )
    return text + "\n"
