"""A comparison as text: the best first, then the table, the rule of the ranking, and the findings by column."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from beltplan.report.compare_rows import MARKS, NO_PATH, Row, compare_rows, compare_verdict, unjudged_words
from beltplan.report.tables import WIDTH, paragraph
from beltplan.report.text import findings_lines
from beltplan.report.words import CAUTION
from beltplan.studies.compare import Column, Comparison
from beltplan.studies.ranking import RULE

LABEL_WIDTH, GAP = 25, 2
MOST_COLUMNS, WIDEST = 4, 34
"""Columns side by side, and the widest of them; more columns stand in further blocks."""


def compare_text(comparison: Comparison) -> str:
    """The whole comparison as plain text, no line over 100 columns."""
    parts = (
        _head(comparison),
        *_tables(comparison),
        paragraph(MARKS),
        _ranking(comparison),
        *_findings(comparison),
    )
    lines = [line for part in parts if part for line in [*part, ""]]
    return "\n".join([*lines, *paragraph(CAUTION, "CAUTION  ")])


def _head(comparison: Comparison) -> list[str]:
    titles = dict.fromkeys(column.layout.title for column in comparison.columns)
    verdict = paragraph(compare_verdict(comparison.best), "VERDICT  ")
    return [*paragraph("; ".join(titles)), *paragraph(_best_words(comparison), "BEST     "), *verdict]


def _best_words(comparison: Comparison) -> str:
    names = [c.name for c, rank in zip(comparison.columns, comparison.ranks, strict=True) if rank == 1]
    alike = f"; just as good: {', '.join(names[1:])}" if len(names) > 1 else ""
    judged = comparison.best.judged
    least = ", though none is without a problem" if judged is not None and judged.count("problem") else ""
    return names[0] + least + alike


def _tables(comparison: Comparison) -> list[list[str]]:
    rows, names = compare_rows(comparison), [column.name for column in comparison.columns]
    blocks = -(-len(names) // MOST_COLUMNS)
    per = -(-len(names) // blocks)
    width = min(WIDEST, (WIDTH - LABEL_WIDTH) // per - GAP)
    return [_block(rows, names, range(i, min(i + per, len(names))), width) for i in range(0, len(names), per)]


def _block(rows: Sequence[Row], names: Sequence[str], which: range, width: int) -> list[str]:
    head = _lines("", [names[i] for i in which], width)
    ruled = "-" * (LABEL_WIDTH + len(which) * (width + GAP))
    return [*head, ruled, *(line for row in rows for line in _lines(row.label, [row.cells[i] for i in which], width))]


def _lines(label: str, cells: Sequence[str], width: int) -> list[str]:
    """One row: words that are wider than their column go on below."""
    columns = [_wrapped(label, LABEL_WIDTH), *(_wrapped(cell, width) for cell in cells)]
    height = max(map(len, columns))
    filled = [column + [""] * (height - len(column)) for column in columns]
    gap = " " * GAP
    return [
        (words[0].ljust(LABEL_WIDTH) + "".join(gap + cell.ljust(width) for cell in words[1:])).rstrip()
        for words in zip(*filled, strict=True)
    ]


def _wrapped(text: str, width: int) -> list[str]:
    lead = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(text.strip(), width, initial_indent=lead, subsequent_indent=lead + "  " if lead else "") or [
        ""
    ]


def _ranking(comparison: Comparison) -> list[str]:
    placed = [f"{comparison.ranks[i]} {comparison.columns[i].name}" for i in comparison.order]
    rule = f"Rule: {RULE}. {unjudged_words(comparison)}"
    return [*paragraph("; ".join(placed), "RANKING  "), *paragraph(rule, "  ")]


def _findings(comparison: Comparison) -> list[list[str]]:
    shared = comparison.shared
    common = [findings_lines(shared, "FINDINGS  in every column")] if shared else []
    return [*common, *(_of(comparison, column, bool(shared)) for column in comparison.columns)]


def _of(comparison: Comparison, column: Column, more: bool) -> list[str]:
    if column.refusal:
        words = (f"{', '.join(fault.pulleys)}: {fault.got}; wanted: {fault.allowed}" for fault in column.refusal)
        head = paragraph(f"{column.name}: {NO_PATH}", "FINDINGS  ")
        return [*head, *(line for text in words for line in paragraph(text, "  ", "    "))]
    return findings_lines(comparison.own(column), f"FINDINGS  {column.name}{', beside those' if more else ''}")
