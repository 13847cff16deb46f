"""A comparison as text and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from beltplan.checks.comparison import RULE, Column, Comparison
from beltplan.checks.limits import SEVERITIES, Finding
from beltplan.checks.plan import Plan
from beltplan.report.answer import Answers, answered, findings_blocks, report_of
from beltplan.report.check_json import finding_of, highest_utilisation_of, margin_of
from beltplan.report.rows import (
    MARKS,
    NO_PATH,
    best_stock,
    compare_rows,
    compare_verdict,
    less_given,
    less_words,
    rather_words,
    smallest_reserve_mm,
    unjudged_words,
)
from beltplan.report.screen import Block, Columns, Footnotes, Paragraph, Report
from beltplan.report.words import SAFETY, fields_of, json_text

_ONLY_FULL = ("notes", "take_up", "dry", "dry_at")
"""Rows that tell the least of which is better."""


def compare_report(comparison: Comparison, full: bool = False) -> Report:
    notes = Footnotes()
    titles = dict.fromkeys(column.layout.title for column in comparison.columns)
    rows = [row for row in compare_rows(comparison) if full or row.key not in _ONLY_FULL]
    names = tuple(column.name for column in comparison.columns)
    placed = [f"{comparison.ranks[i]} {comparison.columns[i].name}" for i in comparison.order]
    ranking = [("RANKING", "; ".join(placed))] * (len(placed) > 1) + [("", f"Rule: {RULE}.")] * full
    parts: list[list[Block]] = [
        [Paragraph("; ".join(titles)), *answered([*_best(comparison), *ranking])],
        [Columns(names, tuple((row.label, row.cells) for row in rows))],
        [Paragraph(words) for words in (MARKS * (len(names) > 1), unjudged_words(comparison)) if words],
        *_findings(comparison, notes, full),
    ]
    return report_of(comparison.columns[0].layout.units, parts, notes, full)


def _best(comparison: Comparison) -> Answers:
    names = [c.name for c, rank in zip(comparison.columns, comparison.ranks, strict=True) if rank == 1]
    alike = f"; just as good: {', '.join(names[1:])}" if len(names) > 1 else ""
    plan = comparison.best.plan
    least = ", though none is without a problem" if plan is not None and plan.count("problem") else ""
    below = filter(None, (compare_verdict(comparison.best), rather_words(comparison), less_words(comparison)))
    return [("BEST", names[0] + least + alike), *(("", words) for words in below)]


def _findings(comparison: Comparison, notes: Footnotes, full: bool) -> list[list[Block]]:

    def told(findings: Sequence[Finding], where: str) -> list[Block]:
        some = [finding for finding in findings if full or finding.severity != "note"]
        return findings_blocks(some, notes, f"TO DO  {where}") if some or full else []

    laid = " that has a belt path" if any(column.refusal for column in comparison.columns) else ""
    shared = told(comparison.shared, f"in every column{laid}") if comparison.shared else []
    more = "further, " if shared else ""
    own = (
        _refusal(column) if column.refusal else told(comparison.own(column), f"{more}for {column.name}")
        for column in comparison.columns
    )
    return [part for part in (shared, *own) if part]


def _refusal(column: Column) -> list[Block]:
    # What mends all of them is told once, in place of what is wanted.
    ends = [
        f". {column.mend}" if column.mend and not i else f"; wanted: {f.allowed}" for i, f in enumerate(column.refusal)
    ]
    words = (fault.got + end for fault, end in zip(column.refusal, ends, strict=True))
    return [Paragraph(f"TO DO  for {column.name}: {NO_PATH}"), *(Paragraph(text, "  ", "    ") for text in words)]


# A comparison as JSON: fixed keys, unknown values null, every number finite.

_Object = dict[str, Any]

WITHOUT_PATH: Mapping[str, None] = dict.fromkeys(
    (
        *("belt", "best_stock", "adjuster_position", "reserve_mm", "take_up_percent", "wrap", "slip_dry", "slip_wet"),
        *("slip_revving", "alternators", "hub_load", "clearance", "margin", "counts", "findings"),
    )
)
"""What is null in a column without a belt path."""


def compare_json(comparison: Comparison, files: tuple[str, ...]) -> str:
    columns = zip(comparison.columns, comparison.ranks, files, strict=True)
    result = {
        "columns": [_column(column, rank, path) for column, rank, path in columns],
        "ranking": [comparison.columns[i].name for i in comparison.order],
        "judged_with_less": less_given(comparison),
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
        "no_path": [fields_of(fault, "pulleys", "got", "allowed") for fault in column.refusal],
        "mend": column.mend or None,
        **(WITHOUT_PATH if column.plan is None else _judged(column.plan)),
    }


def _judged(plan: Plan) -> _Object:
    wrap, gap = plan.wrap, plan.gap
    return {
        "belt": plan.route.designation,
        "best_stock": best_stock(plan),
        "adjuster_position": plan.route.position,
        "reserve_mm": smallest_reserve_mm(plan),
        "take_up_percent": None if plan.adjuster is None else plan.adjuster.take_up_percent,
        "wrap": {
            "pulley": wrap.name,
            "wrap_deg": wrap.wrap_deg,
            "least_deg": wrap.minimum_deg,
            "over_deg": wrap.over_deg,
        },
        "slip_dry": highest_utilisation_of(plan, plan.dry),
        "slip_wet": highest_utilisation_of(plan, plan.wet),
        "slip_revving": highest_utilisation_of(plan, plan.revving_wet),
        "alternators": [
            {"pulley": own.name, "idle_rpm": own.rpm.get("idle"), "max_rpm": own.rpm.get("max")}
            for own in plan.alternators
        ],
        "hub_load": plan.hub and {"pulley": plan.hub.pulley, "load_N": plan.hub.high_N},
        "clearance": gap
        and {"gap_mm": gap.value_mm, "first": gap.first, "second": gap.second, "limit_mm": gap.bound.limit},
        "margin": margin_of(plan.margin),
        "counts": {severity: plan.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in plan.findings],
    }
