"""Plain text tables, and paragraphs that stay inside the width."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

WIDTH = 98
LEAST_CUT = 8
"""No column is cut shorter than this."""


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> list[str]:
    """Lines of a table: the first `left` columns flush left, the others flush right.

    Where the table is wider than the page, columns are cut with an ellipsis: words before the name in the
    first one, that before numbers.
    """
    cells = [list(heads), *[list(row) for row in rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(heads))]
    for i in (*range(left - 1, -1, -1), *range(left, len(widths))):
        over = sum(widths) + 2 * (len(widths) - 1) - WIDTH
        widths[i] = min(widths[i], max(LEAST_CUT, widths[i] - max(over, 0)))
    return [_line(row, widths, left) for row in cells]


def _line(row: Sequence[str], widths: Sequence[int], left: int) -> str:
    shown = [cell if len(cell) <= width else cell[: width - 1] + "…" for cell, width in zip(row, widths, strict=True)]
    parts = [
        cell.ljust(w) if i < left else cell.rjust(w) for i, (cell, w) in enumerate(zip(shown, widths, strict=True))
    ]
    return "  ".join(parts).rstrip()


def paragraph(text: str, first: str = "", rest: str = "") -> list[str]:
    """Text broken to the width, with a lead on the first line and one on the others."""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest or " " * len(first))
