"""An export as a table for other programs: one row a part, but one an edge of an outline; units in the names."""

from __future__ import annotations

import csv
from io import StringIO

from beltplan.report.export_content import Content
from beltplan.report.export_numbers import COLUMNS, decimal, rows_of


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
    return decimal(value) if isinstance(value, float) else value or ""
