"""Points of a plane held together by measurements: the least-squares network, and how well it holds them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.least_squares import Settled, settle
from beltplan.geometry.sheets import PARAMETERS, POINTS_NEEDED, Sheet, fitted, placed
from beltplan.geometry.sightings import Directions, Distances, Offsets, Sizes
from beltplan.geometry.vectors import Bools, Floats, Ints, norm

Kind = Distances | Directions | Offsets | Sizes | Sheet

SINGULAR = 1e-7
"""Directions that change the misfits by a smaller share than this of the most telling one are not held."""
LOOSE = 1e-4
"""A point that moves by more than this in a direction that nothing holds is loose."""


@dataclass(frozen=True, eq=False)
class Network:
    """Points, radii and sheets as one vector of unknowns, and the measurements between them.

    The point `origin` stands at (0, 0). start_radii_mm: (r) the radii before anything is settled. kinds: rows of
    measurements; a kind's rows follow those of the kinds before it. size: how many unknowns there are.
    """

    points: int
    origin: int
    start_radii_mm: Floats
    kinds: tuple[Kind, ...]
    size: int

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets among the measurements."""
        return tuple(kind for kind in self.kinds if isinstance(kind, Sheet))

    @property
    def free(self) -> Bools:
        """Unknowns that are really unknown: all but the origin's place, (size)."""
        free = np.ones(self.size, dtype=bool)
        free[2 * self.origin : 2 * self.origin + 2] = False
        return free

    @property
    def bare(self) -> Floats:
        """Unknowns with nothing in them but the radii of the start, (size)."""
        bare = np.zeros(self.size)
        bare[2 * self.points : 2 * self.points + len(self.start_radii_mm)] = self.start_radii_mm
        return bare

    def rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Misfits over deviations (m) and their slopes (m, size), kind after kind."""
        parts = [kind.rows(unknowns) for kind in self.kinds]
        return np.concatenate([misfit for misfit, _ in parts]), np.concatenate([slopes for _, slopes in parts])

    def unknowns_at(self, places: Floats) -> Floats:
        """The unknowns for places of the points, (points, 2) mm: sheets and rims are laid as these ask for.

        The places are shifted so that the origin stands at (0, 0).
        """
        unknowns = self.bare
        unknowns[: 2 * self.points] = (places - places[self.origin]).reshape(-1)
        for sheet in self.sheets:
            _lay(sheet, unknowns)
        return unknowns


def settled(network: Network, start: Floats, left_out: tuple[int, ...] = ()) -> Settled:
    """The unknowns with the least sum of squares near a start, all of them (size).

    left_out: numbers of rows that are not looked at; their misfit is given all the same, their slopes are nought.
    """
    free, out = network.free, list(left_out)

    def rows(part: Floats) -> tuple[Floats, Floats]:
        misfit, slopes = network.rows(_whole(start, free, part))
        misfit[out], slopes[out] = 0.0, 0.0
        return misfit, slopes[:, free]

    found = settle(rows, start[free])
    whole = _whole(start, free, found.unknowns)
    misfit, slopes = network.rows(whole)
    slopes[out] = 0.0
    slopes[:, ~free] = 0.0
    return Settled(whole, misfit, slopes)


def _whole(start: Floats, free: Bools, part: Floats) -> Floats:
    whole = start.copy()
    whole[free] = part
    return whole


def _lay(sheet: Sheet, unknowns: Floats) -> None:
    picked, at = sheet.picks
    if len(picked) < POINTS_NEEDED[sheet.model]:
        unknowns[sheet.numbers] = np.eye(PARAMETERS[sheet.model])[0]
        return
    numbers = fitted(sheet.model, sheet.scale, _places(unknowns, picked), at)
    unknowns[sheet.numbers] = numbers
    if len(sheet.rim_point):
        away = placed(sheet.model, sheet.scale, numbers, sheet.rim_at) - _places(unknowns, sheet.rim_point)
        unknowns[sheet.angles] = np.arctan2(away[:, 1], away[:, 0])
        for radius in np.unique(sheet.rim_radius):
            unknowns[radius] = np.mean(norm(away[sheet.rim_radius == radius]))


def _places(unknowns: Floats, which: Ints) -> Floats:
    return np.stack((unknowns[2 * which], unknowns[2 * which + 1]), axis=-1)
