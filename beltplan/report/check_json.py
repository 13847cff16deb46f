"""The JSON result: the contract's keys, the drive at its operating points, and a few more."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from beltplan.checks.lengths import lengths_of
from beltplan.checks.limits import Finding
from beltplan.checks.margin import Margin
from beltplan.checks.plan import Adjusted, HubLoad, Plan, points_of
from beltplan.checks.tension import hub_moment_Nm
from beltplan.drive.belt import outside_length_mm, pitch_length_mm
from beltplan.drive.fit import FittedBelt
from beltplan.drive.inertias import inertia_kgm2
from beltplan.drive.layout import Layout
from beltplan.drive.loads import AlternatorLoad, PumpLoad
from beltplan.drive.mechanics import CONDITIONS, Condition, friction_of
from beltplan.drive.operation import HEAT_SOURCE, Operation, TensionCure, WorstPoint, heat_N
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.report.words import SAFETY, fields_of, finite, head_of, json_text, pitch_line_source

_Object = dict[str, Any]


def _operating_of(operation: Operation) -> list[_Object]:
    """Spans and pulleys at idle, cruise, maximum (every duty and condition) and at each pulley's worst points; the
    same at both ends of the tension's band.
    """
    ends = zip(("low", "high"), operation.ends or (), strict=False)
    every = [("nominal", operation), *ends]
    return [each for at, run in every for each in _points_of(at, run, points_of(run))]


def _points_of(at: str, operation: Operation, points: tuple[tuple[int, int, Condition], ...]) -> Iterator[_Object]:
    running, route = operation.running, operation.route
    total_N, hub_N = running.total_N, running.hub_load_N
    for duty, speed, condition in points:
        there = (duty, speed)
        spans = zip(route.spans, total_N[there].tolist(), running.tractive_N[there].tolist(), strict=True)
        # No minus before a zero.
        torques = (running.torque_Nm[there] + 0.0).tolist()
        uses = operation.utilisation[CONDITIONS.index(condition)][there].tolist()
        pulleys = zip(route.pulleys, torques, uses, hub_N[there].tolist(), strict=True)
        yield {
            "rpm": float(operation.driver_rpm[speed]),
            "duty": operation.duties[duty],
            "condition": condition,
            "at": at,
            "spans": [
                {"from": start.name, "to": end.name, "tension_N": total, "tractive_N": tractive}
                for (start, end), total, tractive in spans
            ],
            "pulleys": [
                {"name": pulley.name, "torque_Nm": torque, "slip_use": finite(used), "hub_load_N": load}
                for pulley, torque, used, load in pulleys
            ],
            **_setting(operation, float(running.setting[there])),
        }


def _setting(operation: Operation, setting: float) -> _Object:
    adjuster = operation.route.circuit.adjuster
    if adjuster is None:
        return {"arm_deg": None, "slide_mm": None}
    return {"arm_deg": math.degrees(setting)} if adjuster.kind == "arm" else {"slide_mm": setting}


def _worst(point: WorstPoint, operation: Operation) -> _Object:
    route = operation.route
    return {
        "name": point.pulley,
        "condition": point.condition,
        "slip_use": finite(point.utilisation),
        "friction": friction_of(route.layout.belt, route.pulleys[point.index], point.condition),
        "rpm": point.rpm,
        "duty": operation.duties[point.duty],
        "extra_wrap_deg": None if point.extra_wrap_rad is None else math.degrees(point.extra_wrap_rad),
    }


def _revving_of(plan: Plan, operation: Operation) -> _Object | None:
    rate = operation.route.layout.engine.rev_up_rpm_per_s
    if rate is None:
        return None
    rows = [
        {"name": pulley.name, "inertia_kgm2": inertia_kgm2(pulley), "assumed": pulley.inertia_kgm2 is None}
        for pulley in operation.route.pulleys[1:]
    ]
    slip = [{**_worst(point, operation), "engine": point.when} for point in plan.revving]
    return {"rev_up_rpm_per_s": rate, "inertias": rows, "slip": slip}


def _cure(cure: TensionCure, stood: bool) -> _Object:
    """What tension would bring the worst use down: spring torque in Nm, spring force or tension in N.

    A spring's are those of the layout, at its own angle or place; its rate grows with it.
    """
    torque = cure.holds == "spring torque"
    scale = 1000.0 if torque else 1.0
    rate = None if cure.rate is None else cure.rate / scale
    return {
        "condition": cure.condition,
        "by": cure.holds,
        "unit": "Nm" if torque else "N",
        "now": cure.now / scale,
        "wanted": None if cure.preload_factor is None else cure.preload_factor * cure.now / scale,
        "at": cure.at,
        "rate_now": rate,
        "rate_wanted": None if cure.preload_factor is None or rate is None else cure.preload_factor * rate,
        "belt_stands": None if cure.preload_factor is None else stood,
    }


def _stopped_of(plan: Plan, operation: Operation) -> _Object:
    return {
        "tension_N": None if plan.tension is None else plan.tension.each_N,
        "spans": [{"from": span.start, "to": span.end, "frequency_Hz": span.hertz} for span in plan.spans],
        "hub_load_N": {hub.pulley: hub.stopped_N.tolist() for hub in plan.hubs},
        **_setting(operation, float(operation.stopped.setting)),
    }


# The JSON result: the contract's keys, and a few more beside them.


def result_text(plan: Plan) -> str:
    return json_text(result_of(plan))


def result_of(plan: Plan) -> _Object:
    route, operation = plan.route, plan.operation
    return {
        **head_of(plan.layout, plan.verdict),
        "belt": _belt(plan),
        "pulleys": _pulleys(plan),
        "spans": [
            {"from": each.start, "to": each.end, "length_mm": each.length_mm}
            | {"low_end_N": each.low_N, "high_end_N": each.high_N}
            for each in plan.spans
        ],
        "adjuster": _adjuster(plan.adjuster, route),
        "stock": [_stock(fitted) for fitted in route.stock],
        "findings": [finding_of(finding) for finding in plan.findings],
        "loads": [{"name": p.name, "assumed": _assumed(p)} for p in route.pulleys if p.load is not None],
        "operating": None if operation is None else _operating_of(operation),
        "stopped": None if operation is None else _stopped_of(plan, operation),
        "heat": _heat(plan),
        "slip": operation and [_worst(point, operation) for row in plan.slip for point in row.points],
        "revving": None if operation is None else _revving_of(plan, operation),
        "hubs": [_hub(plan.route.pulleys[hub.index], hub) for hub in plan.hubs],
        "cures": None if operation is None else [_cure(*cure) for cure in plan.cures],
        **_bolted(plan.layout),
        "caution": SAFETY,
    }


def _bolted(layout: Layout) -> _Object:
    holes = [
        {"pulley": name, "hole": hole, "x_mm": x, "y_mm": y, "diameter_mm": size}
        for name, pulley in layout.pulleys.items() for hole, (x, y), size in pulley.mounted.bolts
    ]  # fmt: skip
    marks = [
        {"name": mark.name, "x_mm": mark.at_mm[0], "y_mm": mark.at_mm[1], "uncertainty_mm": mark.uncertainty_mm}
        for mark in layout.marks
    ]
    return {key: found for key, found in (("holes", holes), ("marks", marks)) if found}


def _hub(pulley: Pulley, hub: HubLoad) -> _Object:
    bent = None if pulley.overhang_mm is None else float(hub_moment_Nm(pulley, np.asarray(hub.high_N)))
    return {"name": hub.pulley, "highest_N": hub.maximum_N, "high_end_N": hub.high_N, "high_end_Nm": bent}


def _heat(plan: Plan) -> _Object | None:
    """What the heat of the block adds to a belt set by hand; None where no block is given or a spring takes it up."""
    block, heat = plan.layout.block, heat_N(plan.layout, plan.route.circuit)
    if block is None or heat is None:
        return None
    rise = {"rise_K": block.rise_K, "rise_assumed": block.rise_assumed}
    return {"material": block.material, **rise, "adds_N": heat, "source": HEAT_SOURCE}


def _assumed(pulley: Pulley) -> _Object:
    load, values = pulley.load, _Object()
    if pulley.usual_load is not None:
        values["load"] = pulley.usual_load.words
    if isinstance(load, AlternatorLoad | PumpLoad) and "efficiency" in load.assumed:
        values["efficiency"] = load.efficiency
    if isinstance(load, AlternatorLoad) and "output" in load.assumed:
        values["output"] = {"rpm": list(load.output_rpm), "A": list(load.output_A)}
    return values


def _belt(plan: Plan) -> _Object:
    route, belt, lengths = plan.route, plan.layout.belt, lengths_of(plan)
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
        "acceptable_mm": _ends(route.acceptable_mm),
        "will_do_mm": _ends(lengths.good_mm if lengths else None),
        "no_problem_mm": _ends(lengths.sound_mm if lengths else None),
        "ask_for_mm": _ends(route.to_ask_for_mm),
    }


def _ends(interval: tuple[float, float] | None) -> list[float] | None:
    return None if interval is None else list(interval)


def _pulleys(plan: Plan) -> list[_Object]:
    return [
        {
            **fields_of(row.pulley, "name", "role", "belt_side"),
            **dict(zip(("x_mm", "y_mm"), row.at_mm, strict=True)),
            **fields_of(row, "wrap_deg", "ratio", "turns"),
            "rpm": {name: row.rpm.get(name) for name in ("idle", "cruise", "max")},
        }
        for row in plan.pulleys
    ]


def _adjuster(adjuster: Adjusted | None, route: Route) -> _Object | None:
    travel, window = route.travel, route.window
    if adjuster is None or travel is None or window is None:
        return None
    arm, growth = adjuster.is_arm, adjuster.growth
    return {
        "name": adjuster.pulley.name,
        "kind": "arm" if arm else "slide",
        "sprung": adjuster.sprung,
        "shortest_mm": window.shortest,
        "longest_mm": window.longest,
        "whole_travel": bool(travel.whole),
        "position": route.position,
        "arm_deg": adjuster.setting if arm else None,
        "slide_mm": None if arm else adjuster.setting,
        "take_up_mm_per_deg": adjuster.take_up_mm if arm else None,
        "take_up_mm_per_mm": None if arm else adjuster.take_up_mm,
        "take_up_percent": adjuster.take_up_percent,
        "wear_percent": 100.0 * growth.wear,
        "set_stretch_percent": None if growth.set is None else 100.0 * growth.set,
        **_spring_read(adjuster.pulley),
    }


def _spring_read(pulley: Pulley) -> _Object:
    """The spring of a tensioner that a torque wrench read, and how far the readings lie off its line; else nothing."""
    spring = None if pulley.adjuster is None else pulley.adjuster.spring
    if spring is None or spring.readings is None:
        return {}
    read = spring.readings
    numbers = {"torque_Nm": read.torque_Nm, "at_deg": spring.at_deg, "rate_Nm_per_deg": spring.rate_Nm_per_deg}
    fit = {"readings": len(read.rows), "off_line_Nm": read.off_Nm, "damping_ratio_percent": 200.0 * read.friction}
    return {"spring_read": numbers | fit}


def _stock(fitted: FittedBelt) -> _Object:
    return {
        "designation": fitted.designation,
        "length_mm": fitted.line_mm,
        "position": fitted.position,
        "judged": fitted.verdict,
        **fields_of(fitted, "short_reserve_mm", "long_reserve_mm"),
        "reasons": list(fitted.reasons),
    }


def finding_of(finding: Finding) -> _Object:
    keys = ("check", "severity", "subject", "value", "limit", "unit", "message", "advice", "source")
    return fields_of(finding, *keys) | {"unit": finding.unit or None}


def margin_of(margin: Margin | None) -> _Object | None:
    """A worst margin; a share of null with its place named means a slack span."""
    return None if margin is None else {"share": finite(margin.share), **fields_of(margin, "of", "where")}


def highest_utilisation_of(plan: Plan, point: WorstPoint | None) -> _Object | None:
    """The highest grip utilisation of a condition; a use of null at a named pulley means a slack span."""
    if point is None or plan.operation is None:
        return None
    duty = plan.operation.duties[point.duty]
    told = {"pulley": point.pulley, "slip_use": finite(point.utilisation), "rpm": point.rpm, "duty": duty}
    return {**told, "engine": point.when}
