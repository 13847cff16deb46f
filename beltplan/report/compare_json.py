"""A comparison as JSON: fixed keys, unknown values null, every number finite."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from beltplan.belts.take_up import take_up_percent
from beltplan.checks.finding import SEVERITIES
from beltplan.report.compare_rows import best_stock, compare_verdict, smallest_reserve_mm
from beltplan.report.json_lines import json_text
from beltplan.report.json_result import finding_of
from beltplan.report.words import CAUTION
from beltplan.studies.compare import Column, Comparison, HubPull, Judged, ShaftSpeed, Wrap
from beltplan.studies.ranking import RULE, Margin
from beltplan.tension.worst import WorstPoint

Object = dict[str, Any]

UNKNOWN: Mapping[str, None] = dict.fromkeys(
    (
        *("belt", "best_stock", "adjuster_position", "reserve_mm", "take_up_percent", "wrap", "slip_dry", "slip_wet"),
        *("alternators", "hub_load", "clearance", "margin", "counts", "findings"),
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
        "caution": CAUTION,
    }
    return json_text(result)


def _column(column: Column, rank: int, path: str) -> Object:
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


def _judged(judged: Judged) -> Object:
    return {
        "belt": judged.route.designation,
        "best_stock": best_stock(judged),
        "adjuster_position": judged.route.position,
        "reserve_mm": smallest_reserve_mm(judged),
        "take_up_percent": take_up_percent(judged.route),
        "wrap": _wrap(judged.wrap),
        "slip_dry": _slip(judged, judged.dry),
        "slip_wet": _slip(judged, judged.wet),
        "alternators": [_speed(speed) for speed in judged.alternators],
        "hub_load": _hub(judged.hub),
        "clearance": _clearance(judged),
        "margin": _margin(judged.margin),
        "counts": {severity: judged.count(severity) for severity in SEVERITIES},
        "findings": [finding_of(finding) for finding in judged.findings],
    }


def _wrap(wrap: Wrap | None) -> Object | None:
    if wrap is None:
        return None
    return {
        "pulley": wrap.pulley,
        "wrap_deg": wrap.wrap_deg,
        "least_deg": wrap.least_deg,
        "over_deg": wrap.over_deg,
    }


def _slip(judged: Judged, point: WorstPoint | None) -> Object | None:
    """A slip use of null at a named pulley means a slack strand."""
    if point is None or judged.operation is None:
        return None
    duty = judged.operation.duties[point.duty]
    return {"pulley": point.pulley, "slip_use": _finite(point.use), "rpm": point.rpm, "duty": duty}


def _speed(speed: ShaftSpeed) -> Object:
    return {"pulley": speed.pulley, "idle_rpm": speed.idle_rpm, "max_rpm": speed.max_rpm}


def _hub(hub: HubPull | None) -> Object | None:
    return None if hub is None else {"pulley": hub.pulley, "load_N": hub.load_N}


def _clearance(judged: Judged) -> Object | None:
    gap = judged.gap
    if gap is None:
        return None
    return {"gap_mm": gap.value_mm, "first": gap.first, "second": gap.second, "limit_mm": gap.bound.limit}


def _margin(margin: Margin | None) -> Object | None:
    """A share of null with its place named means a slack strand."""
    return None if margin is None else {"share": _finite(margin.share), "of": margin.of, "where": margin.where}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
