"""Does the alternator give what is asked of it, from idle to the engine's highest speed?"""

from __future__ import annotations

from dataclasses import replace
from math import floor

import numpy as np

from beltplan.checks.limits import OWN, Check, Finding, Severity, begun
from beltplan.checks.pulleys import minimum_diameter
from beltplan.drive.loads import OUTPUT_SOURCE, OUTPUT_WORDS, AlternatorLoad
from beltplan.drive.operation import duties_of
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.vectors import Floats

_ROUNDING_A = 1e-6
_METERED = 0.995
"""From this share of what is asked on no clamp meter tells that any is missing: common practice, no source."""


def _current_findings(route: Route) -> list[Finding]:
    """Alternators that give less than is asked at any speed of the engine; a problem where they do so at every speed.

    A current without `output` or `rated_A` is what a clamp meter read, and a usual load asks for nothing in particular.
    """
    acting = {name for names in duties_of(route.layout).values() for name in names}
    speeds, found = route.layout.engine.speeds_rpm, []
    for pulley, ratio in zip(route.pulleys, route.ratios.tolist(), strict=True):
        load = pulley.own_load
        if isinstance(load, AlternatorLoad) and load.output_rpm and pulley.name in acting:
            found += _short(route, pulley, load, ratio, speeds)
    return found


def _short(route: Route, pulley: Pulley, load: AlternatorLoad, ratio: float, speeds: dict[str, float]) -> list[Finding]:
    rpm = _turning_points_rpm(load, ratio, speeds)
    gives = np.interp(ratio * rpm, load.output_rpm, load.output_A)
    short = gives < _METERED * load.current_A
    if not short.any():
        return []
    never = bool(short.all()) and {"idle", "max"} <= speeds.keys()
    severity: Severity = "problem" if never else "caution"
    least = int(np.argmin(gives))
    told = {name: at for name, at in speeds.items() if short[rpm == at].any()}
    told = {name: told[name] for name in ("idle", "cruise") if name in told} or {"": float(rpm[least])}
    parts = [
        _missing_words(load, ratio, told),
        f"at {rpm[np.argmax(gives)]:.0f} rpm, its best, it gives {_amperes(gives.max())}: it never carries the load"
        if never
        else _enough_words(load.current_A, rpm, gives),
    ]
    advice, source = [_pulley_words(route, pulley, load, ratio, speeds)] if "idle" in told else [], OWN
    if "output" in load.assumed:
        advice.append("its output is assumed from `rated_A`: give `output` from its sheet")
        source = f"assumed output: {OUTPUT_WORDS}, {OUTPUT_SOURCE}"
    numbers = (float(gives[least]), load.current_A, "A", float(gives[least]) / load.current_A - 1.0)
    wrong = ". ".join([parts[0], *map(begun, filter(None, parts[1:]))])
    return [CURRENT.find(severity, pulley.name, wrong, "; ".join(advice), source=source, numbers=numbers)]


def _turning_points_rpm(load: AlternatorLoad, ratio: float, speeds: dict[str, float]) -> Floats:
    """Engine speeds, rising, between which the output runs straight: those named, and the curve's own between them."""
    named = speeds.values()
    own = (rpm / ratio for rpm in load.output_rpm)
    between = {at for at in own if "idle" in speeds and "max" in speeds and min(named) < at < max(named)}
    return np.array(sorted({*named, *between}))


def _missing_words(load: AlternatorLoad, ratio: float, told: dict[str, float]) -> str:
    words = list[str]()
    for name, rpm in told.items():
        gives = float(np.interp(ratio * rpm, load.output_rpm, load.output_A))
        at = f"at {name} ({rpm:.0f} rpm)" if name else f"at {rpm:.0f} rpm"
        missing, current = _amperes(load.current_A - gives), _amperes(gives)
        if load.current_A - gives < 10.0:  # so that what is given and what is missing add up as they are read
            current = f"{gives:.1f} A"
        asked = f"of the {_amperes(load.current_A)} asked, the battery {missing}"
        words.append(f"{at} {current}, the battery {missing}" if words else f"{at} it gives {current} {asked}")
    return "; ".join(words)


def _enough_words(asked_A: float, rpm: Floats, gives: Floats) -> str:
    enough = gives >= asked_A - _ROUNDING_A
    if not enough.any():
        return ""
    first = int(np.argmax(enough))
    last = first + int(np.argmin(enough[first:])) - 1 if not enough[first:].all() else len(rpm) - 1
    words = f"enough from {_crossing(asked_A, rpm, gives, first - 1, first):.0f} rpm"
    return words if last == len(rpm) - 1 else f"{words} to {_crossing(asked_A, rpm, gives, last + 1, last):.0f}"


def _crossing(asked_A: float, rpm: Floats, gives: Floats, short: int, enough: int) -> float:
    if short < 0:
        return float(rpm[enough])
    share = (asked_A - gives[short]) / (gives[enough] - gives[short])
    return float(rpm[short] + share * (rpm[enough] - rpm[short]))


def _pulley_words(route: Route, pulley: Pulley, load: AlternatorLoad, ratio: float, speeds: dict[str, float]) -> str:
    """The largest pulley in whole mm by which it would be enough at idle, and how fast it turns then at the most."""
    shaft, output, asked_A = np.array(load.output_rpm), np.array(load.output_A), _METERED * load.current_A
    enough = output >= asked_A
    if not enough.any():
        return f"no pulley helps: it never gives more than {_amperes(output.max())}"
    first, belt = int(np.argmax(enough)), route.layout.belt
    wanted = _crossing(asked_A, shaft, output, first - 1, first) / speeds["idle"]
    pitch = pulley.pitch_radius_mm(belt)
    # As the table of pulleys tells it, and not as it may be written: over the rim.
    now = pulley.line_diameter_mm(belt)
    diameter = floor(now + 2.0 * pitch * (ratio / wanted - 1.0)) if wanted > 0.0 else 0
    other = replace(pulley, diameter_mm=pulley.diameter_mm + diameter - now)
    least = minimum_diameter(route.layout, pulley)
    size = f"{diameter} mm{' effective diameter' * (now != pulley.diameter_mm)}"
    if diameter < least.ample:
        more = f"allows {least.limit:g}" if diameter < least.limit else f"should have {least.ample:.3g}"
        allows = f"a pulley of {size} would do, but {belt.kind_words} {more} mm or more"
        return f"{allows}: a larger {route.layout.driver.name} pulley, a higher idle or another alternator"
    if not (diameter > 0 and other.pitch_radius_mm(belt) > 0.0):
        return "no pulley helps"
    words = f"a pulley of {size} would do at idle"
    if "max" not in speeds:
        return words
    turning = ratio * pitch / other.pitch_radius_mm(belt) * speeds["max"]
    over = "" if pulley.max_rpm is None or turning <= pulley.max_rpm else f", over its {pulley.max_rpm:g}"
    return f"{words}, and turn {turning:.0f} rpm at {speeds['max']:.0f} of the engine{over}"


def _amperes(current: float) -> str:
    return f"{current:.0f} A" if current >= 10.0 else f"{current:.2g} A"


CURRENT = Check(
    "current",
    "an alternator that gives less than is asked of it at some speed of the engine; a problem where at all of them",
    _current_findings,
)
