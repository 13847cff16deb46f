"""Plain text tables, and paragraphs that stay inside the width."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

WIDTH = 98


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], left: int = 1) -> list[str]:
    """Lines of a table: the first `left` columns flush left, the others flush right.

    Where the table is wider than the page, the widest left column is cut with an ellipsis.
    """
    cells = [list(heads), *[list(row) for row in rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(heads))]
    over = sum(widths) + 2 * (len(widths) - 1) - WIDTH
    if over > 0:
        widest = max(range(left), key=lambda i: widths[i])
        widths[widest] = max(8, widths[widest] - over)
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
