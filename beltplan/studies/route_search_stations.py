"""Which sides of the belt each pulley may have, and every pulley on each of them as arrays: stations for a belt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from beltplan.belts.circuit import TOUCHING_MM, place_of
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley, Side
from beltplan.belts.routing import PathFault
from beltplan.geometry.distances import Band, band_to_point
from beltplan.geometry.loops import overlap, tangent
from beltplan.geometry.pieces import Strand
from beltplan.geometry.vectors import Bools, Floats, Ints, left_normal


@dataclass(frozen=True, eq=False)
class Stations:
    """Every pulley on every side that it may have: s stations, the driver's the first; p pulleys.

    pulleys: of each station, on its side. of: (s) index of its pulley in `names`. centre: (s, 2) mm, an adjusted pulley
    at its nominal place; radius, rim: (s) mm; sense: (s). needed: (p) whether a pulley must be on the belt.
    """

    pulleys: tuple[Pulley, ...]
    names: tuple[str, ...]
    of: Ints
    centre: Floats
    radius: Floats
    rim: Floats
    sense: Floats
    needed: Bools
    turning: int

    @property
    def apart(self) -> Bools:
        """Whether two stations are of different pulleys, (s, s)."""
        return np.asarray(self.of[:, None] != self.of)

    def on_every_side(self, found: Bools) -> Bools:
        """What holds for a pulley on whichever side it is, (..., s) -> (..., p)."""
        return np.stack([found[..., self.of == i].all(axis=-1) for i in range(len(self.names))], axis=-1)


@dataclass(frozen=True, eq=False)
class Field:
    """What lies between stations. strands: (s, s), from the first to the second, NaN where there is no tangent.

    cuts: (s, s, s), whether that strand cuts through the rim of a third station. clash: (s, s), whether two rims
    overlap. free: (s, s), whether a route may hold that strand at all.
    """

    stations: Stations
    strands: Strand
    cuts: Bools
    clash: Bools
    free: Bools


def side_of_turning(layout: Layout, pulley: Pulley) -> Side | None:
    """The side that gives a pulley the turning it demands; None where it demands none."""
    if pulley.turns in (None, "either"):
        return None
    return "ribbed" if (1 if pulley.turns == "counterclockwise" else -1) == layout.loop_sense else "back"


def wanted_sides(layout: Layout, pulley: Pulley) -> tuple[Side, ...]:
    """Sides that a pulley's work allows, whatever its surface: by its turning, else as written."""
    if pulley.drives:
        return (pulley.belt_side,)
    by_turning = side_of_turning(layout, pulley)
    if by_turning is not None:
        return (by_turning,)
    return get_args(Side) if pulley.side_open else (pulley.belt_side,)


def allowed_sides(layout: Layout, pulley: Pulley) -> tuple[Side, ...]:
    """Sides that its work and its surface allow: no grooves on the back, nor a back of unknown height."""
    no_back = not pulley.drives and (pulley.grooves is not None or layout.belt.back_mm is None)
    return tuple(side for side in wanted_sides(layout, pulley) if not (side == "back" and no_back))


def stations_of(layout: Layout) -> Stations:
    """Every pulley of a layout on every side that it may have."""
    named = sorted(layout.pulleys.values(), key=lambda pulley: not pulley.drives)
    each = [(i, _on(pulley, side)) for i, pulley in enumerate(named) for side in allowed_sides(layout, pulley)]
    pulleys = tuple(pulley for _, pulley in each)
    return Stations(
        pulleys,
        tuple(pulley.name for pulley in named),
        np.array([i for i, _ in each]),
        np.array([place_of(pulley) for pulley in pulleys], dtype=float),
        np.array([pulley.line_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([pulley.rim_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([layout.sense_of(pulley) for pulley in pulleys], dtype=float),
        np.array([not pulley.optional for pulley in named]),
        layout.loop_sense,
    )


def _on(pulley: Pulley, side: Side) -> Pulley:
    return replace(pulley, belt_side=side, side_open=False)


def field_of(stations: Stations) -> Field:
    """Lay every strand from every station to every other, and see what it meets."""
    strands, apart = _strands(stations), stations.apart
    clash = _clash(stations) & apart
    # Of a strand from i to j, station k counts where it is of a third pulley.
    third = apart[:, None, :] & apart[None, :, :]
    gap = band_to_point(Band(_spread(strands), 0.0, 0.0), stations.centre)
    cuts = third & (gap < stations.rim - TOUCHING_MM)
    # A needed pulley that is cut on whichever side leaves no route for that strand.
    barred = (stations.on_every_side(cuts) & stations.needed).any(axis=-1)
    return Field(stations, strands, cuts, clash, apart & ~clash & ~barred & np.isfinite(strands.length))


def _strands(stations: Stations) -> Strand:
    step = np.where(stations.apart[..., None], stations.centre - stations.centre[:, None], np.nan)
    signed = stations.sense * stations.radius
    direction, length = tangent(step, signed[:, None] - signed)
    start = stations.centre[:, None] - signed[:, None, None] * left_normal(direction)
    return Strand(start, direction, length)


def _spread(strands: Strand) -> Strand:
    return Strand(strands.start[:, :, None], strands.direction[:, :, None], strands.length[:, :, None])


def _clash(stations: Stations) -> Bools:
    depth, pairs = overlap(stations.centre, stations.rim)
    clash = np.zeros((len(stations.of), len(stations.of)), dtype=bool)
    for (i, j), deep in zip(pairs, depth, strict=True):
        clash[i, j] = clash[j, i] = deep > TOUCHING_MM
    return clash


def impossible(layout: Layout) -> tuple[PathFault, ...]:
    """Pulleys for which no side of the belt will do."""
    return tuple(
        PathFault((pulley.name,), *_why_no_side(layout, pulley))
        for pulley in layout.pulleys.values()
        if not allowed_sides(layout, pulley) and not pulley.optional
    )


def _why_no_side(layout: Layout, pulley: Pulley) -> tuple[str, str]:
    must = f"a pulley that must turn {pulley.turns}, so on the belt's back" if pulley.turns else "a pulley on the back"
    if pulley.grooves is not None:
        return f"{must}, with {pulley.grooves} grooves", "a smooth face on the belt's back, or another turning"
    return f"{must}, of unknown height", "back_over_rim_mm of the belt, measured"
