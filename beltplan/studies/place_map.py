"""The map of one pulley: what every place of a grid comes to, the best places, and how far the nearest sound one is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from beltplan.belts.designations import format_designation
from beltplan.belts.layout import Layout
from beltplan.geometry.vectors import Bools, Floats, Ints
from beltplan.studies.place import CAUTION, STATES, JudgedPlaces, Progress, judged_places
from beltplan.studies.place_belts import NO_BELT, UNLISTED
from beltplan.studies.place_grid import Grid
from beltplan.studies.ranking import MARGIN_DIGITS

RULE = (
    "places without a caution before places with one, then the largest worst margin: the smallest distance to a limit, "
    "as a share of that limit, over every wrap, every clearance and, where loads are given, every wet slip; between "
    "equals, the same over those that the place changes"
)
"""How the best of the places without a problem is chosen, in words."""


@dataclass(frozen=True)
class Place:
    """One place of a map, with what it comes to.

    at_mm: of every pulley moved. verdict: of `STATES`. belt: designation, None where none on the list fits. margin:
    the worst, a share of its limit; margin_of: which; own_margin: the worst of those that the place changes. slip_wet:
    the highest slip use when wet. Values that a place does not have are None.
    """

    at_mm: tuple[tuple[float, float], ...]
    verdict: str
    belt: str | None = None
    position: float | None = None
    reserve_mm: float | None = None
    take_up_percent: float | None = None
    clearance_mm: float | None = None
    strand_gap_mm: float | None = None
    rim_gap_mm: float | None = None
    slip_wet: float | None = None
    margin: float | None = None
    own_margin: float | None = None
    margin_of: str | None = None

    @property
    def works(self) -> bool:
        """Whether nothing is a problem."""
        return STATES.index(self.verdict) >= CAUTION


@dataclass(frozen=True, eq=False)
class PlaceMap:
    """A map of one pulley. judged: the grid's places, row by row, and the present place after them."""

    layout: Layout
    pulley: str
    grid: Grid
    judged: JudgedPlaces

    @property
    def present(self) -> Place:
        """Where the pulley stands now."""
        return place_of(self.judged, self.grid.count)

    @property
    def counts(self) -> dict[str, int]:
        """How many places of the grid come to what."""
        found = np.bincount(self.judged.state[:-1], minlength=len(STATES))
        return {state: int(count) for state, count in zip(STATES, found, strict=True)}

    @property
    def best(self) -> Place | None:
        """The best place by `RULE`; None where every place has a problem."""
        number = best_of(self.judged, self._works())
        return None if number is None else place_of(self.judged, number)

    @property
    def best_by_belt(self) -> tuple[Place, ...]:
        """The best place for each belt that some place without a problem is judged with, best first."""
        order = self.working()
        belt = self.judged.spread("belt", -1.0)[order]
        _, first = np.unique(belt, return_index=True)
        return tuple(place_of(self.judged, int(order[row])) for row in np.sort(first))

    def nearest(self, state: int) -> tuple[Place, float] | None:
        """The place of the grid nearest to the present one that comes at least to a state, and how far it is, mm."""
        if self.judged.state[-1] >= state:
            return self.present, 0.0
        keep = np.flatnonzero(self._on_grid() & (self.judged.state >= state))
        if not len(keep):
            return None
        step = self.judged.places[keep, 0] - self.judged.places[-1, 0]
        away = np.hypot(step[:, 0], step[:, 1])
        first = int(np.argmin(away))
        return place_of(self.judged, int(keep[first])), float(away[first])

    def field(self, name: str) -> Floats:
        """One value at every place of the grid, (rows, columns); NaN where there is no path."""
        return self.judged.spread(name)[:-1].reshape(self.grid.shape)

    @property
    def states(self) -> Ints:
        """What every place comes to, (rows, columns), numbers of `STATES`."""
        return self.judged.state[:-1].reshape(self.grid.shape)

    def working(self) -> Ints:
        """Numbers of the grid's places without a problem, best first by `RULE`."""
        return in_order_of(self.judged, self._works())

    def _on_grid(self) -> Bools:
        keep = np.ones(len(self.judged.state), dtype=bool)
        keep[-1] = False
        return keep

    def _works(self) -> Bools:
        return self._on_grid() & (self.judged.state >= CAUTION)


def place_map(layout: Layout, pulley: str, grid: Grid, progress: Progress | None = None) -> PlaceMap:
    """Judge every place of a grid for one pulley, fixed and on the belt."""
    present = layout.pulleys[pulley].at_mm
    if present is None:
        raise ValueError(f"pulley {pulley} has no place of its own")
    places = np.concatenate((grid.points(), [present]))[:, None]
    return PlaceMap(layout, pulley, grid, judged_places(layout, (pulley,), places, progress))


def in_order_of(judged: JudgedPlaces, among: Bools) -> Ints:
    """Numbers of places, best first by `RULE`; of equals the first comes first."""
    keep = np.flatnonzero(among)
    margin, own = (np.round(judged.spread(name)[keep], MARGIN_DIGITS) for name in ("margin", "own_margin"))
    return np.asarray(keep[np.lexsort((-own, -margin, -judged.state[keep].astype(int)))])


def best_of(judged: JudgedPlaces, among: Bools) -> int | None:
    """Number of the best place by `RULE`; None where there is none."""
    order = in_order_of(judged, among)
    return int(order[0]) if len(order) else None


def place_of(judged: JudgedPlaces, number: int) -> Place:
    """One place by its number."""
    at = tuple((float(x), float(y)) for x, y in judged.places[number])
    verdict = STATES[int(judged.state[number])]
    for way, names in zip(judged.ways, judged.margins, strict=True):
        row = int(np.searchsorted(way.index, number)) if len(way) else 0
        if row < len(way) and way.index[row] == number and way.belt[row] != NO_BELT:
            belt = None if way.belt[row] == UNLISTED else format_designation(judged.belts[int(way.belt[row])])
            worst = int(way.worst[row])
            told: dict[str, Any] = {name: _number(getattr(way, name)[row]) for name in TOLD}
            return Place(at, verdict, belt, **told, margin_of=names[worst] if worst >= 0 else None)
    return Place(at, verdict)


TOLD = (
    "position",
    "reserve_mm",
    "take_up_percent",
    "clearance_mm",
    "strand_gap_mm",
    "rim_gap_mm",
    "margin",
    "own_margin",
    "slip_wet",
)
"""Values that are told of a place, by their names in `Place`."""


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def moved(layout: Layout, names: Sequence[str], at_mm: Sequence[tuple[float, float]]) -> Layout:
    """The layout with pulleys moved to places, mm."""
    places = zip(names, at_mm, strict=True)
    return replace(
        layout, pulleys={**layout.pulleys, **{name: replace(layout.pulleys[name], at_mm=at) for name, at in places}}
    )
