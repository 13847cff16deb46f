"""A comparison as text and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from beltplan.checks.comparison import RULE, Column, Comparison
from beltplan.checks.limits import SEVERITIES
from beltplan.checks.plan import HubLoad, OnBelt, Plan
from beltplan.report.check_json import finding_of, highest_utilisation_of, margin_of
from beltplan.report.findings_text import findings_lines
from beltplan.report.rows import (
    MARKS,
    NO_PATH,
    Row,
    best_stock,
    compare_rows,
    compare_verdict,
    smallest_reserve_mm,
    unjudged_words,
)
from beltplan.report.words import SAFETY, WIDTH, json_text, paragraph

_LABEL_WIDTH, _GAP = 25, 2
_MOST_COLUMNS, _WIDEST = 4, 34
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
    return "\n".join([*lines, *paragraph(SAFETY, "CAUTION  ")])


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
    blocks = -(-len(names) // _MOST_COLUMNS)
    per = -(-len(names) // blocks)
    width = min(_WIDEST, (WIDTH - _LABEL_WIDTH) // per - _GAP)
    return [_block(rows, names, range(i, min(i + per, len(names))), width) for i in range(0, len(names), per)]


def _block(rows: Sequence[Row], names: Sequence[str], which: range, width: int) -> list[str]:
    head = _lines("", [names[i] for i in which], width)
    ruled = "-" * (_LABEL_WIDTH + len(which) * (width + _GAP))
    return [*head, ruled, *(line for row in rows for line in _lines(row.label, [row.cells[i] for i in which], width))]


def _lines(label: str, cells: Sequence[str], width: int) -> list[str]:
    """One row: words that are wider than their column go on below."""
    columns = [_wrapped(label, _LABEL_WIDTH), *(_wrapped(cell, width) for cell in cells)]
    height = max(map(len, columns))
    filled = [column + [""] * (height - len(column)) for column in columns]
    gap = " " * _GAP
    return [
        (words[0].ljust(_LABEL_WIDTH) + "".join(gap + cell.ljust(width) for cell in words[1:])).rstrip()
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


# A comparison as JSON: fixed keys, unknown values null, every number finite.

_Object = dict[str, Any]

UNKNOWN: Mapping[str, None] = dict.fromkeys(
    (
        *("belt", "best_stock", "adjuster_position", "reserve_mm", "take_up_percent", "wrap", "slip_dry", "slip_wet"),
        *("slip_revving", "alternators", "hub_load", "clearance", "margin", "counts", "findings"),
    )
)
"""What is null in a column without a belt path."""


def compare_json(comparison: Comparison, files: tuple[str, ...]) -> str:
    """The whole comparison as one JSON object in plain ASCII. files: the path of every column's file."""
    columns = zip(comparison.columns, comparison.ranks, files, strict=True)
    result = {
        "columns": [_column(column, rank, path) for column, rank, path in columns],
        "ranking": [comparison.columns[i].name for i in comparison.order],
        "rule": RULE,
        "caution": SAFETY,
    }
    return json_text(result)


def _column(column: Column, rank: int, path: str) -> _Object:
    return {
        "name": column.name,
        "file": path,
        "title": column.layout.title,
        "variant": column.layout.variant,
        "rank": rank,
        "verdict": compare_verdict(column),
        "no_path": [
            {"pulleys": list(fault.pulleys), "got": fault.got, "allowed": fault.allowed} for fault in column.refusal
        ],
        **(UNKNOWN if column.judged is None else _judged(column.judged)),
    }


def _judged(judged: Plan) -> _Object:
    return {
        "belt": judged.route.designation,
        "best_stock": best_stock(judged),
        "adjuster_position": judged.route.position,
        "reserve_mm": smallest_reserve_mm(judged),
        "take_up_percent": None if judged.adjuster is None else judged.adjuster.take_up_percent,
        "wrap": _wrap(judged.wrap),
        "slip_dry": highest_utilisation_of(judged, judged.dry),
        "slip_wet": highest_utilisation_of(judged, judged.wet),
        "slip_revving": highest_utilisation_of(judged, judged.revving_wet),
        "alternators": [_speed(speed) for speed in judged.alternators],
        "hub_load": _hub(judged.hub),
        "clearance": _clearance(judged),
        "margin": margin_of(judged.margin),
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in judged.findings],
    }


def _wrap(wrap: OnBelt | None) -> _Object | None:
    if wrap is None:
        return None
    return {
        "pulley": wrap.name,
        "wrap_deg": wrap.wrap_deg,
        "least_deg": wrap.minimum_deg,
        "over_deg": wrap.over_deg,
    }


def _speed(alternator: OnBelt) -> _Object:
    return {
        "pulley": alternator.name,
        "idle_rpm": alternator.rpm["idle"],
        "max_rpm": alternator.rpm["max"],
    }


def _hub(hub: HubLoad | None) -> _Object | None:
    return None if hub is None else {"pulley": hub.pulley, "load_N": hub.maximum_N}


def _clearance(judged: Plan) -> _Object | None:
    gap = judged.gap
    if gap is None:
        return None
    return {"gap_mm": gap.value_mm, "first": gap.first, "second": gap.second, "limit_mm": gap.bound.limit}
