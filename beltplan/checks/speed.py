"""Does anything turn too fast or too slowly?"""

from __future__ import annotations

import numpy as np

from beltplan.belts.pulleys import Pulley
from beltplan.belts.route import Route
from beltplan.belts.speeds import belt_speed_m_per_s, ratios
from beltplan.checks.finding import Finding, judge, plain
from beltplan.checks.limits import OWN, Bound, bound_for

CHECK = "rpm"
MEANING = "a pulley over its max_rpm at the engine's highest speed, or under its min_rpm at idle"
BELT_CHECK = "belt_speed"
BELT_MEANING = "belt speed over what the profile is made for"


def rpm_findings(route: Route) -> list[Finding]:
    """Shaft speeds against what each pulley's maker allows and needs."""
    return [
        finding
        for pulley, ratio in zip(route.pulleys, np.asarray(ratios(route)), strict=True)
        for finding in _too_fast(route, pulley, float(ratio)) + _too_slow(route, pulley, float(ratio))
    ]


def _too_fast(route: Route, pulley: Pulley, ratio: float) -> list[Finding]:
    if pulley.max_rpm is None:
        return []
    engine = route.layout.engine.max_rpm
    if engine is None:
        return [_not_judged(pulley, "max_rpm", "engine.max_rpm")]
    rpm = ratio * engine
    message = f"{rpm:.0f} rpm at the engine's {engine:g}, {pulley.max_rpm:g} allowed: a larger pulley slows it"
    return judge(CHECK, pulley.name, rpm, Bound("upper", pulley.max_rpm, "rpm", OWN), message, (pulley.name,))


def _too_slow(route: Route, pulley: Pulley, ratio: float) -> list[Finding]:
    if pulley.min_rpm is None:
        return []
    engine = route.layout.engine.idle_rpm
    if engine is None:
        return [_not_judged(pulley, "min_rpm", "engine.idle_rpm")]
    rpm = ratio * engine
    message = f"{rpm:.0f} rpm at {engine:g} idle, {pulley.min_rpm:g} needed: a smaller pulley speeds it up"
    return judge(CHECK, pulley.name, rpm, Bound("lower", pulley.min_rpm, "rpm", OWN), message, (pulley.name,))


def _not_judged(pulley: Pulley, key: str, missing: str) -> Finding:
    return plain(CHECK, "note", pulley.name, f"{key} not judged: {missing} is not given", OWN, (pulley.name,))


def belt_speed_findings(route: Route) -> list[Finding]:
    """Belt speed at the engine's highest speed against the profile's."""
    engine, profile = route.layout.engine.max_rpm, route.layout.belt.profile
    if engine is None:
        return [plain(BELT_CHECK, "note", "belt", "speeds not judged: engine.max_rpm is not given", OWN)]
    default = Bound("upper", profile.top_speed_m_per_s, "m/s", profile.sources["top_speed_m_per_s"])
    driver = route.pulleys[0]
    bound = bound_for(route.layout, "max_belt_speed_m_per_s", (driver.name,), driver.role, default) or default
    speed = belt_speed_m_per_s(route, engine)
    message = (
        f"{speed:.0f} m/s at {engine:g} rpm, {bound.limit:g} is the most for {profile.name}: a smaller driving pulley"
    )
    return judge(BELT_CHECK, "belt", speed, bound, message)
