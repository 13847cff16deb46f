"""The JSON result: the contract's keys, and a few more beside them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from beltplan.belts.fit import FittedBelt, growth_of, is_sprung
from beltplan.belts.lengths import outside_length_mm, pitch_length_mm
from beltplan.belts.route import Route
from beltplan.belts.speeds import engine_speeds_rpm, ratios, turning_sense
from beltplan.belts.take_up import take_up_per_unit, take_up_percent
from beltplan.checks.finding import Finding
from beltplan.report.assumed_loads import loads_of
from beltplan.report.json_lines import json_text
from beltplan.report.tension_json import cures_json, operating_of, revving_of, slip_of, stopped_of
from beltplan.report.words import CAUTION, pitch_line_source, verdict_of
from beltplan.tension.operation import Operation

Object = dict[str, Any]


def result_text(route: Route, findings: tuple[Finding, ...], operation: Operation | None) -> str:
    """The whole result as one JSON object in plain ASCII, every number finite; what is unknown is null."""
    return json_text(result_of(route, findings, operation))


def result_of(route: Route, findings: tuple[Finding, ...], operation: Operation | None) -> Object:
    """The result as plain values; mm, deg, N, Nm, rpm, Hz."""
    return {
        "title": route.layout.title,
        "variant": route.layout.variant,
        "verdict": verdict_of(findings),
        "units": "mm",
        "belt": _belt(route),
        "pulleys": _pulleys(route),
        "spans": _spans(route),
        "adjuster": _adjuster(route),
        "stock": [_stock(fitted) for fitted in route.stock],
        "findings": [finding_of(finding) for finding in findings],
        "loads": loads_of(route.pulleys),
        "operating": None if operation is None else operating_of(operation),
        "stopped": None if operation is None else stopped_of(operation),
        "slip": None if operation is None else slip_of(operation),
        "revving": None if operation is None else revving_of(operation),
        "cures": None if operation is None else cures_json(operation),
        "caution": CAUTION,
    }


def _belt(route: Route) -> Object:
    belt, acceptable = route.layout.belt, route.acceptable_mm
    return {
        "profile": belt.profile.name,
        "ribs": belt.ribs,
        "designation": route.designation,
        "length_mm": route.length_mm,
        "needed_mm": route.needed_mm,
        "length_line": belt.profile.line_name,
        "pitch_line_mm": belt.pitch_line_mm,
        "pitch_line_source": pitch_line_source(belt),
        "pitch_length_mm": pitch_length_mm(belt, route.length_mm),
        "outside_length_mm": outside_length_mm(belt, route.length_mm),
        "acceptable_mm": None if acceptable is None else list(acceptable),
    }


def _pulleys(route: Route) -> list[Object]:
    speeds = engine_speeds_rpm(route)
    rows = zip(route.pulleys, route.loop.centre, np.degrees(route.loop.wrap), ratios(route), strict=True)
    return [
        {
            "name": pulley.name,
            "role": pulley.role,
            "belt_side": pulley.belt_side,
            "x_mm": float(centre[0]),
            "y_mm": float(centre[1]),
            "wrap_deg": float(wrap),
            "ratio": float(ratio),
            "turns": turning_sense(route, pulley),
            "rpm": {name: None if rpm is None else float(rpm * ratio) for name, rpm in speeds.items()},
        }
        for pulley, centre, wrap, ratio in rows
    ]


def _spans(route: Route) -> list[Object]:
    return [
        {"from": start.name, "to": end.name, "length_mm": float(span)}
        for (start, end), span in zip(route.strands, route.loop.span, strict=True)
    ]


def _adjuster(route: Route) -> Object | None:
    adjuster, pulley, travel, setting = route.circuit.adjuster, route.moving, route.travel, route.setting
    if adjuster is None or pulley is None or travel is None or setting is None:
        return None
    slope, growth = take_up_per_unit(route) or 0.0, growth_of(route.layout.belt, route.circuit)
    arm = adjuster.kind == "arm"
    return {
        "name": pulley.name,
        "kind": adjuster.kind,
        "sprung": is_sprung(route.circuit),
        "shortest_mm": travel.shortest_mm,
        "longest_mm": travel.longest_mm,
        "whole_travel": travel.whole,
        "position": route.position,
        "arm_deg": math.degrees(setting) if arm else None,
        "slide_mm": None if arm else setting,
        "take_up_mm_per_deg": math.radians(slope) if arm else None,
        "take_up_mm_per_mm": None if arm else slope,
        "take_up_percent": take_up_percent(route),
        "wear_percent": 100.0 * growth.wear,
        "set_stretch_percent": None if growth.set is None else 100.0 * growth.set,
    }


def _stock(fitted: FittedBelt) -> Object:
    return {
        "designation": fitted.designation,
        "length_mm": fitted.line_mm,
        "position": fitted.position,
        "judged": fitted.judged,
        "short_reserve_mm": fitted.short_reserve_mm,
        "long_reserve_mm": fitted.long_reserve_mm,
        "reasons": list(fitted.reasons),
    }


def finding_of(finding: Finding) -> Object:
    """One finding as plain values."""
    return {
        "check": finding.check,
        "severity": finding.severity,
        "subject": finding.subject,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit or None,
        "message": finding.message,
        "source": finding.source,
    }
