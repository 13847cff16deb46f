"""Does the moving pulley run into anything between its usable travel and the stop that the file gives?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache, partial

import numpy as np

from beltplan.checks.gaps import Bodies, bodies_of, gaps_over, rims_over
from beltplan.drive.fit import is_arm, setting_words
from beltplan.drive.pulleys import Arm
from beltplan.drive.route import Route, belted
from beltplan.drive.travel import TOUCHING_MM
from beltplan.geometry.vectors import Floats

_SAMPLES = 2001
"""Settings looked at on a piece of travel: between two of them a gap is as good as straight."""
_COARSE = 10
"""Of so many settings one is looked at for all gaps."""
_SHOWN_MM = 0.05
"""Less overlap than this would read as none."""


@dataclass(frozen=True)
class Overrun:
    """What the moving pulley comes nearer to past an end of the usable travel, on the way to its stop.

    between: the two, by their names in findings; other_is: what the other is. end: the adjuster's position there, 0
    or 1. end_mm: the gap of the rims at that end; least_mm: the least beyond it, negative where they overlap. where:
    the place of that, in words. stop: finds the stop to make; few of them are told.
    """

    other: str
    other_is: str
    between: frozenset[str]
    end: float
    end_mm: float
    least_mm: float
    where: str
    stop: Callable[[], str]

    @cached_property
    def advice(self) -> str:
        """The stop to make, in words."""
        return self.stop()

    @property
    def overlap(self) -> str:
        """By how much they overlap there, in words; nothing where they do not."""
        if self.least_mm >= -TOUCHING_MM:
            return ""
        if self.least_mm > -_SHOWN_MM:
            return "touch"
        # Past the middle of a body its own depth counts no further.
        return f"overlap by {'' if self.other_is == 'pulley' else 'at least '}{-self.least_mm:.1f} mm"


@lru_cache(maxsize=1)
def overruns(route: Route) -> tuple[Overrun, ...]:
    """Everything that comes nearer beyond an end of the usable travel that is no stop; two checks ask it of a route."""
    travel, adjuster = route.travel, route.circuit.adjuster
    if travel is None or adjuster is None:
        return ()
    stops = adjuster.travel
    ends = ((travel.low_cut, travel.low, min(stops)), (travel.high_cut, travel.high, max(stops)))
    return tuple(run for cut, end, stop in ends if cut for run in _past(route, float(end), stop))


def _past(route: Route, end: float, stop: float) -> Iterator[Overrun]:
    circuit, travel, moving = route.circuit, route.travel, route.circuit.moving
    if travel is None or moving is None:
        return
    back = float(travel.high if end == travel.low else travel.low)
    # First away from the usable travel, then back over it.
    settings = np.append(np.linspace(end, stop, _SAMPLES), np.linspace(end, back, _SAMPLES))
    own, bodies, back_over = route.pulleys[moving].name, bodies_of(route.layout, circuit), settings[_SAMPLES:]
    others = cache(partial(_others_hold_at, bodies, moving, back_over[::_COARSE]))
    verb, name = "begin" if end > stop else "end", "the arm's stop" if is_arm(circuit) else "the slot's end"
    for over in rims_over(bodies, circuit.path_at(settings), moving):
        beyond, usable = np.split(over.gap_mm, 2)
        nearest = int(beyond.argmin())
        if beyond[nearest] < beyond[0]:
            where = f"{'at' if nearest == _SAMPLES - 1 else 'on the way to'} {name} ({setting_words(circuit, stop)})"
            other, gaps = over.first if over.second == own else over.second, (float(beyond[0]), float(beyond[nearest]))
            between, position = frozenset({own, other}), float(travel.position(end))
            to_make = partial(_stop_words, route, usable, back_over, over.bound.limit, verb, others)
            yield Overrun(other, over.second_is, between, position, *gaps, where, to_make)


def _others_hold_at(bodies: Bodies, moving: int, settings: Floats) -> float:
    """The first setting from which on all gaps of the moving pulley have their minimum.

    Not counted are those that nowhere have it, nor what lacks at the other end, for which this stop is not to blame.
    """
    path, first = bodies.circuit.path_at(settings), 0
    for each in gaps_over(bodies, path, frozenset({moving}), near=True):
        lacks = np.broadcast_to(each.gap_mm < each.bound.limit, settings.shape)
        if lacks.any() and not lacks.all():
            first = max(first, int(lacks.argmin() if lacks[-1] else lacks.nonzero()[0][-1] + 1))
    return float(settings[first])


def _takes_the_belt(route: Route, start: float, stop: float) -> bool:
    """Whether a stop in place of an end of the usable travel leaves no belt, or none with full reserve."""
    if route.travel is None:
        return False
    travel = replace(route.travel, **{"low" if start == route.travel.low else "high": np.asarray(stop)})
    after = belted(route.layout, route.circuit, route.both_ways, travel)
    return after.acceptable_mm is None or (after.judged is None and route.judged is not None)


def _stop_words(
    route: Route, gap: Floats, settings: Floats, least: float, verb: str, others_at: Callable[[], float]
) -> str:
    """The first place from that end of the usable travel at which the rims have their minimum gap.

    others_at: from where on all other gaps have theirs.
    """
    first, start = int(np.argmax(gap >= least)), float(settings[0])
    if gap[first] < least:
        return "nowhere on the travel is the gap wide enough: move one of them"
    near = slice(max(first - 1, 0), first + 1)
    at = float(np.interp(least, gap[near], settings[near]))
    told, others = f"there the gap is {max(least, float(gap[0])):.1f} mm", others_at()
    if abs(others - start) > abs(at - start) + abs(settings[_COARSE] - start):
        at, told = others, "beyond it other gaps are too narrow"
    if _takes_the_belt(route, start, at):
        return "a stop that keeps them apart leaves too little travel for a belt: move one of them"
    place, adjuster = setting_words(route.circuit, at), route.circuit.adjuster
    given = adjuster.at_rad if isinstance(adjuster, Arm) else None
    asked = "are `stops` right, with minus below the level? Else set the arm's stop at"
    stop = f"{asked if is_arm(route.circuit) else f'{verb} the slot at'} {place}"
    outside = given is not None and abs(given - settings[-1]) > abs(at - settings[-1])
    return f"{stop}{', and `at_deg` within the stops' if outside else ''}: {told}"
