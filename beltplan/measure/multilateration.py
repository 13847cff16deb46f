"""Points laid one after the other where loci cross, every mirror solution kept: starts for the network."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import TURN, Floats, norm
from beltplan.measure.loci import Chance, Loci
from beltplan.measure.network import Network, PlacedImage

_WIDTH = 48
"""Part layouts that are followed side by side."""
_BRANCHES = 4
_APART_MM = 0.5
"""Places nearer than this are one."""
_ROUGHNESS_MM = 3.0
_WORST = 30.0
"""Most that one locus counts against a place, in squares of ROUGHNESS_MM: one misread tape shuts nothing out."""


@dataclass(frozen=True, eq=False)
class _Start:
    """A part layout. places: (points, 2) mm, NaN where not laid yet. against: how much speaks against it.

    drawn: whether a place in it was taken by chance.
    """

    places: Floats
    against: float = 0.0
    drawn: bool = False

    @property
    def whole(self) -> bool:
        return bool(np.isfinite(self.places[:, 0]).all())

    def with_place(self, point: int, at: Floats, against: float, drawn: bool = False) -> _Start:
        places = self.places.copy()
        places[point] = at
        return _Start(places, self.against + against, self.drawn or drawn)


def starts_of(network: Network, seed: int, draws: int) -> list[_Start]:
    """Whole layouts to settle from, the likeliest first.

    Where no two loci cross for any point, one is laid by chance on what it has, and all is laid `draws` times over.
    """
    rng = np.random.default_rng(seed)
    found = _laid(network, Chance(rng, 0.0))
    for draw in range(1, draws if any(start.drawn for start in found) else 1):
        found += _laid(network, Chance(rng, TURN * draw / draws))
    return sorted(found, key=lambda start: start.against)


def _laid(network: Network, chance: Chance) -> list[_Start]:
    beam = [_first(network, chance)]
    while not beam[0].whole:
        grown = [new for start in beam for new in _grown(network, start, chance)]
        beam = sorted(grown, key=lambda start: start.against)[:_WIDTH]
    return beam


def _first(network: Network, chance: Chance) -> _Start:
    """The origin alone where anything can be laid from it, else the image that gives most places at once."""
    start = _Start(np.full((network.points, 2), np.nan)).with_place(network.origin, np.zeros(2), 0.0)
    if _next(network, start) is not None:
        return start
    images = [(image, scale) for image in network.images if (scale := _scale_of(network, image)) is not None]
    if not images:
        return start
    image, scale = max(images, key=lambda each: len(each[0].points))
    turn = np.exp(1j * chance.angle_rad()) / scale
    laid = turn * ((image.at[:, 0] + 1j * image.at[:, 1]) - complex(*image.at[0]))
    places = np.full((network.points, 2), np.nan)
    places[image.points] = np.stack((laid.real, laid.imag), axis=-1)
    return _Start(places, drawn=True)


def _scale_of(network: Network, placed: PlacedImage) -> float | None:
    """px for one mm: known, or by the distances between places on the image; None where nothing tells it."""
    if placed.image.model == "rigid":
        return placed.image.px_per_mm
    where = {network.names[point]: at for point, at in zip(placed.points, placed.at, strict=True)}
    ratios = [
        float(norm(where[reading.points[0]] - where[reading.points[1]]) / apart)
        for reading in network.readings
        if (apart := reading.apart_mm(network.radii_mm)) is not None
        and apart > 0.0
        and where.keys() >= {*reading.points}
    ]
    return float(np.median(ratios)) if ratios and placed.image.model == "similar" else None


def loci_of(network: Network, places: Floats, point: int) -> Loci:
    """Where a point may lie by the points that are laid. places: (points, 2) mm, NaN where not laid."""
    laid = np.isfinite(places[:, 0])
    curves = tuple(curve(places[other]) for other, curve in network.ties[point] if laid[other])
    spots = (image.spot(places, laid, point) for image in network.images)
    return Loci(curves, tuple(spot for spot in spots if spot is not None))


def _next(network: Network, start: _Start) -> tuple[int, Floats, Loci] | None:
    """The open point with the most loci of those that cross, where they do, and the loci; None where none cross."""
    loci = {point: loci_of(network, start.places, point) for point in _open(start)}
    for point in sorted(loci, key=lambda each: -len(loci[each].every)):
        places = loci[point].crossings()
        if len(places):
            return point, places, loci[point]
    return None


def _open(start: _Start) -> list[int]:
    return [int(point) for point in np.flatnonzero(np.isnan(start.places[:, 0]))]


def _grown(network: Network, start: _Start, chance: Chance) -> list[_Start]:
    found = _next(network, start)
    if found is not None:
        return _branches(start, *found)
    loci = {point: loci_of(network, start.places, point) for point in _open(start)}
    point = max(loci, key=lambda each: len(loci[each].every))
    return [start.with_place(point, loci[point].drawn(chance), 0.0, drawn=True)]


def _branches(start: _Start, point: int, places: Floats, loci: Loci) -> list[_Start]:
    miss = np.stack([locus.miss_mm(places) for locus in loci.every])
    against = np.sum(np.minimum((miss / _ROUGHNESS_MM) ** 2, _WORST), axis=0)
    kept: list[int] = []
    for i in np.argsort(against, kind="stable").tolist():
        if all(float(norm(places[i] - places[j])) > _APART_MM for j in kept):
            kept.append(i)
    return [start.with_place(point, places[i], float(against[i])) for i in kept[:_BRANCHES]]
