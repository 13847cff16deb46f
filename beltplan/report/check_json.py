"""The JSON result: the contract's keys, the drive at its operating points, and a few more."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from beltplan.checks.limits import Finding
from beltplan.drive.belt import outside_length_mm, pitch_length_mm
from beltplan.drive.fit import FittedBelt, growth_of, is_sprung
from beltplan.drive.mechanics import CONDITIONS, Condition
from beltplan.drive.operation import Cure, Operation, cures_of, inertia_kgm2, tones_Hz, worst_point
from beltplan.drive.route import Route, engine_speeds_rpm, ratios, take_up_per_unit, take_up_percent, turning_sense
from beltplan.report.assumed import loads_of
from beltplan.report.words import SAFETY, json_text, pitch_line_source, verdict_of


def operating_of(operation: Operation) -> list[Object]:
    """Strands and pulleys at idle, cruise, maximum (every duty and condition) and at each pulley's worst points."""
    points = dict.fromkeys(_named_points(operation) + _worst_points(operation))
    total_N, hub_N = operation.running.total_N, operation.running.hub_load_N
    return [
        {
            "rpm": float(operation.driver_rpm[speed]),
            "duty": operation.duties[duty],
            "condition": condition,
            "spans": _spans_at(operation, duty, speed, total_N[duty, speed].tolist()),
            "pulleys": _pulleys_at(operation, duty, speed, CONDITIONS.index(condition), hub_N[duty, speed].tolist()),
            **_setting(operation, float(operation.running.setting[duty, speed])),
        }
        for duty, speed, condition in points
    ]


def _named_points(operation: Operation) -> list[tuple[int, int, Condition]]:
    engine = operation.route.layout.engine
    named = [rpm for rpm in (engine.idle_rpm, engine.cruise_rpm, engine.max_rpm) if rpm is not None]
    speeds = [int(np.argmin(np.abs(operation.driver_rpm - rpm))) for rpm in named]
    return [(d, s, condition) for s in speeds for d in range(len(operation.duties)) for condition in CONDITIONS]


def _worst_points(operation: Operation) -> list[tuple[int, int, Condition]]:
    if not operation.carries_load:
        return []
    every = [
        worst_point(operation, operation.use, i, condition)
        for i in range(len(operation.route.pulleys))
        for condition in CONDITIONS
    ]
    return [(point.duty, point.speed, point.condition) for point in every if point.use > 0.0]


def _spans_at(operation: Operation, duty: int, speed: int, total_N: list[float]) -> list[Object]:
    rows = zip(operation.route.strands, total_N, operation.running.tractive_N[duty, speed].tolist(), strict=True)
    return [
        {"from": start.name, "to": end.name, "tension_N": total, "tractive_N": tractive}
        for (start, end), total, tractive in rows
    ]


def _pulleys_at(operation: Operation, duty: int, speed: int, condition: int, hub_N: list[list[float]]) -> list[Object]:
    torque, use = operation.running.torque_Nm[duty, speed].tolist(), operation.use[condition, duty, speed].tolist()
    return [
        {
            "name": pulley.name,
            "torque_Nm": torque[i] + 0.0,  # no minus before a zero
            "slip_use": use[i] if math.isfinite(use[i]) else None,
            "hub_load_N": hub_N[i],
        }
        for i, pulley in enumerate(operation.route.pulleys)
    ]


def _setting(operation: Operation, setting: float) -> Object:
    adjuster = operation.route.circuit.adjuster
    if adjuster is None:
        return {"arm_deg": None, "slide_mm": None}
    return {"arm_deg": math.degrees(setting)} if adjuster.kind == "arm" else {"slide_mm": setting}


def slip_of(operation: Operation) -> list[Object]:
    """The worst use of every loaded pulley in every condition, where it happens, and the wrap that would cure it."""
    loaded = [i for i, pulley in enumerate(operation.route.pulleys) if i == 0 or pulley.load is not None]
    return [
        {
            "name": point.pulley,
            "condition": condition,
            "slip_use": point.use if math.isfinite(point.use) else None,
            "rpm": point.rpm,
            "duty": operation.duties[point.duty],
            "extra_wrap_deg": None if point.extra_wrap_rad is None else math.degrees(point.extra_wrap_rad),
        }
        for i in loaded * operation.carries_load
        for condition in CONDITIONS
        for point in (worst_point(operation, operation.use, i, condition),)
    ]


def revving_of(operation: Operation) -> Object | None:
    """How fast the engine changes speed, and what turns with every driven pulley; None where no rate is given."""
    rate = operation.route.layout.engine.rev_up_rpm_per_s
    if rate is None:
        return None
    rows = [
        {"name": pulley.name, "inertia_kgm2": inertia_kgm2(pulley), "assumed": pulley.inertia_kgm2 is None}
        for pulley in operation.route.pulleys[1:]
    ]
    return {"rev_up_rpm_per_s": rate, "inertias": rows}


def cures_json(operation: Operation) -> list[Object]:
    """What tension would bring the worst use down, by condition: spring torque in Nm, spring force or tension in N.

    A spring's are those of the layout, at its own angle or place; its rate grows with it.
    """
    return [_cure(cure) for cure in cures_of(operation)]


def _cure(cure: Cure) -> Object:
    torque = cure.holds == "spring torque"
    scale = 1000.0 if torque else 1.0
    rate = None if cure.rate is None else cure.rate / scale
    return {
        "condition": cure.condition,
        "by": cure.holds,
        "unit": "Nm" if torque else "N",
        "now": cure.now / scale,
        "wanted": None if cure.push is None else cure.push * cure.now / scale,
        "at": cure.at,
        "rate_now": rate,
        "rate_wanted": None if cure.push is None or rate is None else cure.push * rate,
    }


def stopped_of(operation: Operation) -> Object:
    """The drive at rest: tension, strand frequencies, hub loads [x, y] by the pulley's name."""
    stopped = operation.stopped
    return {
        "tension_N": float(stopped.total_N.mean()),
        "spans": [
            {"from": start.name, "to": end.name, "frequency_Hz": hertz}
            for (start, end), hertz in zip(operation.route.strands, tones_Hz(operation), strict=True)
        ],
        "hub_load_N": {
            pulley.name: hub for pulley, hub in zip(operation.route.pulleys, stopped.hub_load_N.tolist(), strict=True)
        },
        **_setting(operation, float(stopped.setting)),
    }


# The JSON result: the contract's keys, and a few more beside them.

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
        "caution": SAFETY,
    }


def _belt(route: Route) -> Object:
    belt, acceptable, asked = route.layout.belt, route.acceptable_mm, route.to_ask_for_mm
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
        "ask_for_mm": None if asked is None else list(asked),
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
