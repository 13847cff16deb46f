"""The tension part of the JSON result: the drive at its operating points, and stopped."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from beltplan.belts.inertias import inertia_kgm2
from beltplan.tension.mechanics import CONDITIONS, Condition
from beltplan.tension.operation import Operation
from beltplan.tension.tones import tones_Hz
from beltplan.tension.worst import Cure, cures_of, worst_point

Object = dict[str, Any]


def operating_of(operation: Operation) -> list[Object]:
    """Strands and pulleys at idle, cruise, maximum (every duty and condition) and at each pulley's worst points."""
    points = dict.fromkeys(_named_points(operation) + _worst_points(operation))
    total_N, hub_N = operation.running.total_N, operation.running.hub_load_N
    return [
        {
            "rpm": float(operation.driver_rpm[speed]),
            "duty": operation.duties[duty],
            "condition": condition,
            "spans": _spans(operation, duty, speed, total_N[duty, speed].tolist()),
            "pulleys": _pulleys(operation, duty, speed, CONDITIONS.index(condition), hub_N[duty, speed].tolist()),
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


def _spans(operation: Operation, duty: int, speed: int, total_N: list[float]) -> list[Object]:
    rows = zip(operation.route.strands, total_N, operation.running.tractive_N[duty, speed].tolist(), strict=True)
    return [
        {"from": start.name, "to": end.name, "tension_N": total, "tractive_N": tractive}
        for (start, end), total, tractive in rows
    ]


def _pulleys(operation: Operation, duty: int, speed: int, condition: int, hub_N: list[list[float]]) -> list[Object]:
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
