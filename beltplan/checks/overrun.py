"""Does the moving pulley run into another between its usable travel and the stop that the file gives?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.limits import demanded
from beltplan.drive.fit import is_arm, setting_words
from beltplan.drive.route import Route
from beltplan.drive.travel import TOUCHING_MM
from beltplan.geometry.vectors import Floats, norm

_SAMPLES = 2001
"""Settings looked at on a piece of travel: between two of them a gap is as good as straight."""


@dataclass(frozen=True)
class Overrun:
    """A pulley that the moving one comes nearer to past an end of the usable travel, on the way to its stop.

    pulleys: both. end: the adjuster's position there, 0 or 1. least_mm: between centres at that end; apart_mm: the
    least beyond it. overlap_mm: of the rims there, negative where they stay apart. where: the place of that, in words.
    advice: the stop to make.
    """

    other: str
    pulleys: frozenset[str]
    end: float
    least_mm: float
    apart_mm: float
    overlap_mm: float
    where: str
    advice: str

    @property
    def overlaps(self) -> bool:
        return self.overlap_mm > TOUCHING_MM


def overruns(route: Route) -> tuple[Overrun, ...]:
    """Every pulley that comes nearer beyond an end past which the belt has no path any more."""
    travel, adjuster = route.travel, route.circuit.adjuster
    if travel is None or adjuster is None:
        return ()
    stops, others = adjuster.travel, [i for i in range(len(route.pulleys)) if i != route.circuit.moving]
    ends = ((travel.low_lost, travel.low, min(stops)), (travel.high_lost, travel.high, max(stops)))
    every = (_overrun(route, other, float(end), stop) for lost, end, stop in ends if lost for other in others)
    return tuple(run for run in every if run.apart_mm < run.least_mm)


def _overrun(route: Route, other: int, end: float, stop: float) -> Overrun:
    beyond = _apart(route, other, np.linspace(end, stop, _SAMPLES))
    nearest, rims = int(beyond.argmin()), float(route.circuit.rim[[other, route.circuit.moving or 0]].sum())
    name = "the arm's stop" if is_arm(route.circuit) else "the slot's end"
    where = f"{'at' if nearest == _SAMPLES - 1 else 'on the way to'} {name} ({setting_words(route.circuit, stop)})"
    position = 0.0 if route.travel is None else float(route.travel.position(end))
    apart, names = float(beyond[nearest]), [route.pulleys[i].name for i in (other, route.circuit.moving or 0)]
    advice = _stop_words(route, other, rims, end, "begin" if stop < end else "end")
    return Overrun(names[0], frozenset(names), position, float(beyond[0]), apart, rims - apart, where, advice)


def _stop_words(route: Route, other: int, rims: float, end: float, verb: str) -> str:
    """The first place from that end of the usable travel at which the rims have their minimum gap."""
    if route.travel is None or route.moving is None:
        return ""
    least = demanded(route.layout, "min_rim_gap_mm", (route.pulleys[other].name, route.moving.name)).limit
    back = float(route.travel.high if end == route.travel.low else route.travel.low)
    settings = np.linspace(end, back, _SAMPLES)
    gap = _apart(route, other, settings) - rims
    first = int(np.argmax(gap >= least))
    if gap[first] < least:
        return "nowhere on the travel is the gap wide enough: move one of them"
    near = slice(max(first - 1, 0), first + 1)
    place = setting_words(route.circuit, float(np.interp(least, gap[near], settings[near])))
    stop = f"set the arm's stop at {place}" if is_arm(route.circuit) else f"{verb} the slot at {place}"
    return f"{stop}: there the gap is {max(least, float(gap[0])):.1f} mm"


def _apart(route: Route, other: int, setting: Floats) -> Floats:
    centre = route.circuit.centre_at(setting)
    return norm(centre[..., route.circuit.moving or 0, :] - centre[..., other, :])
