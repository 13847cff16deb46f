"""How far off its place may a pulley come to sit, and how far may it before a gap or a wrap falls short?"""

from __future__ import annotations

from collections.abc import Iterator
from math import floor, inf, radians
from typing import NamedTuple

from beltplan.checks.clearance import gaps_beside
from beltplan.checks.pulleys import minimum_wrap
from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Layout, Units, deviations_of
from beltplan.drive.route import Route
from beltplan.geometry.vectors import norm

LEAST_OFF_MM = 3.0
"""So far off its place a pulley may come to sit at least, however well it was measured (our own choice)."""
_DEVIATIONS = 2.0
"""Standard deviations of a pulley's place that it may be off."""
_STEPS_OFF = 1e-9
"""A whole number of steps may come out smaller by so much."""


class Room(NamedTuple):
    """How far off, any way, a pulley may sit, mm; inf where nothing is near. why: what falls short then, in words."""

    mm: float
    why: str = ""

    def words(self, units: Units) -> str:
        return f"within {at_least_words(self.mm, units)}{self.why and f', or {self.why}'}"


def at_least_words(mm: float, units: Units) -> str:
    """A distance rounded down as it is told in those units: what keeps within it is surely well."""
    step_mm, decimals = (0.1, 1) if units == "mm" else (0.001 * MM_PER_UNIT[units], 2)
    return f"{floor(mm / step_mm + _STEPS_OFF) * step_mm:.{decimals}f} mm"


def may_be_off_mm(layout: Layout, name: str) -> float:
    """How far off its place a pulley may come to sit: two standard deviations, 3 mm at least."""
    return max(LEAST_OFF_MM, _DEVIATIONS * deviations_of(layout, layout.pulleys[name]).position_mm)


def room_of(route: Route, name: str) -> Room:
    """How far off a pulley may sit until a gap or a wrap that is well falls short.

    Source: geometry, to first order: a gap changes by no more than the step, a wrap by what its spans turn.
    """
    at = [pulley.name for pulley in route.pulleys].index(name)
    return min((room for room in (*_to_gaps(route, at), *_to_wraps(route, at)) if room.mm > 0.0), default=Room(inf))


def _to_gaps(route: Route, at: int) -> Iterator[Room]:
    for gap in gaps_beside(route, at):
        yield Room(gap.value_mm - gap.bound.limit, f"{gap.first} and {gap.second} come under their minimum gap")


def _to_wraps(route: Route, at: int) -> Iterator[Room]:
    # A span turns by the step across it over its length; at the pulley itself both spans turn.
    turn = route.loop.direction / route.loop.span[:, None]
    for i, moved in ((at - 1, [at - 1]), (at, [at - 1, at]), ((at + 1) % len(turn), [at])):
        pulley, bound = route.pulleys[i], minimum_wrap(route.layout, route.pulleys[i])
        if bound is not None:
            spare, by = float(route.loop.wrap[i]) - radians(bound.limit), float(norm(turn[moved].sum(axis=0)))
            yield Room(spare / by, f"the wrap of {pulley.name} falls under its minimum")
