"""Starts to settle from: points laid one after the other where loci cross, every mirror solution kept."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, norm
from beltplan.measure.loci import Chance, Loci
from beltplan.measure.network import Network, PlacedImage
from beltplan.measure.readings import Distance

_SEED = 20_261
_DRAWS = 12
_MOST_SETTLED = 64
"""Starts that are settled; the likeliest first."""
_ALIKE_START_MM = 8.0
_WIDTH = 48
"""Part layouts that are followed side by side."""
_BRANCHES = 4
_APART_MM = 4.0
"""Places nearer than this are one."""
_ROUGHNESS_MM = 3.0
_WORST = 30.0
"""Most that one locus counts against a place, in squares of _ROUGHNESS_MM: one misread tape shuts nothing out."""


class _Start(NamedTuple):
    """A part layout. places: (points, 2) mm, NaN where not laid yet. against: how much speaks against it.

    drawn: whether a place in it was taken by chance.
    """

    places: Floats
    against: float = 0.0
    drawn: bool = False

    def open(self, wanted: Bools) -> Bools:
        return np.asarray(wanted & np.isnan(self.places[:, 0]))

    def with_place(self, point: int, at: Floats, against: float, drawn: bool = False) -> _Start:
        places = self.places.copy()
        places[point] = at
        return _Start(places, self.against + against, self.drawn or drawn)


@lru_cache(maxsize=1)
def laid_layouts(network: Network) -> tuple[Floats, ...]:
    """Layouts by crossings of what was measured, each (points, 2) mm: the likeliest first, even if one is misread."""
    kept: list[Floats] = []
    for start in starts_of(network, _SEED, _DRAWS):
        # They differ in more than where they stand: all are shifted to their first point.
        own = start.places - start.places[0]
        if not kept or float(norm(np.array(kept) - own).max(axis=1).min()) > _ALIKE_START_MM:
            kept.append(own)
    return tuple(kept[:_MOST_SETTLED])


def starts_of(network: Network, seed: int, draws: int) -> list[_Start]:
    """Whole layouts to settle from, the likeliest first.

    Where no two loci cross for any point, one is laid by chance on what it has, and all is laid `draws` times over.
    Points that no chain of readings ties to the origin lie in one way only: none of theirs is better than another.
    """
    rng, tied = np.random.default_rng(seed), network.tied
    origin = _Start(np.full((network.points, 2), np.nan)).with_place(network.origin, np.zeros(2), 0.0)
    found = _laid(network, origin, tied, Chance(rng, 0.0))
    for draw in range(1, draws if any(start.drawn for start in found) else 1):
        found += _laid(network, origin, tied, Chance(rng, TURN * draw / draws))
    rest = _laid(network, found[0], ~tied, Chance(rng, 0.0))[0].places[~tied]
    for start in found:
        start.places[~tied] = rest
    return sorted(found, key=lambda start: start.against)


def _laid(network: Network, start: _Start, wanted: Bools, chance: Chance) -> list[_Start]:
    beam = [_first(network, start, wanted, chance)]
    while beam[0].open(wanted).any():
        grown = [new for start in beam for new in _grown(network, start, wanted, chance)]
        beam = sorted(grown, key=lambda start: start.against)[:_WIDTH]
    return beam


def _first(network: Network, start: _Start, wanted: Bools, chance: Chance) -> _Start:
    """The start itself where anything can be laid from it, else the image that gives most places at once."""
    every = (loci_of(network, start.places, point) for point in _most_tied(network, start, wanted))
    if any(len(loci.crossings()) for loci in every):
        return start
    images = [each for each in network.images if wanted[each.points].all()]
    scaled = [(image, scale) for image in images if (scale := _scale_of(network, image)) is not None]
    if not scaled or not start.open(wanted).any():
        return start
    image, scale = max(scaled, key=lambda each: len(each[0].points))
    turn = np.exp(1j * chance.angle_rad()) / scale
    laid = turn * ((image.at[:, 0] + 1j * image.at[:, 1]) - complex(*image.at[0]))
    places = np.where(wanted[:, None], np.nan, start.places)
    places[image.points] = np.stack((laid.real, laid.imag), axis=-1)
    return _Start(places, drawn=True)


def _scale_of(network: Network, placed: PlacedImage) -> float | None:
    """px for one mm: known, or by the distances between places on the image; None where nothing tells it."""
    if placed.image.model == "rigid":
        return placed.image.px_per_mm
    where = {network.names[point]: at for point, at in zip(placed.points, placed.at, strict=True)}
    ratios = [
        float(norm(where[each.first] - where[each.second]) / apart)
        for each in network.readings
        if isinstance(each, Distance)
        and (apart := each.apart_mm(network.radii_mm)) > 0.0
        and where.keys() >= {*each.points}
    ]
    return float(np.median(ratios)) if ratios and placed.image.model == "similar" else None


def loci_of(network: Network, places: Floats, point: int) -> Loci:
    """Where a point may lie by the points that are laid. places: (points, 2) mm, NaN where not laid."""
    laid = np.isfinite(places[:, 0])
    curves = tuple(curve(places[other]) for other, curve in network.ties[point] if laid[other])
    spots = (image.spot(places, laid, point) for image in network.images)
    return Loci(curves, tuple(spot for spot in spots if spot is not None))


def _most_tied(network: Network, start: _Start, wanted: Bools) -> list[int]:
    """The open points, those that laid ones tie most first; counted, since to find their loci takes long."""
    laid = np.isfinite(start.places[:, 0])
    counts = network.neighbours @ laid + sum(image.tells(laid) for image in network.images)
    points = np.flatnonzero(start.open(wanted))
    return [int(point) for point in points[np.argsort(-counts[points], kind="stable")]]


def _grown(network: Network, start: _Start, wanted: Bools, chance: Chance) -> list[_Start]:
    points = _most_tied(network, start, wanted)
    for point in points:
        loci = loci_of(network, start.places, point)
        places = loci.crossings()
        if len(places):
            return _branches(start, point, places, loci)
    drawn = loci_of(network, start.places, points[0]).drawn(chance)
    return [start.with_place(points[0], drawn, 0.0, drawn=True)]


def _branches(start: _Start, point: int, places: Floats, loci: Loci) -> list[_Start]:
    miss = np.stack([locus.miss_mm(places) for locus in loci.every])
    against = np.sum(np.minimum((miss / _ROUGHNESS_MM) ** 2, _WORST), axis=0)
    kept, spots = list[int](), (places[:, 0] + 1j * places[:, 1]).tolist()
    for i in np.argsort(against, kind="stable").tolist():
        if len(kept) < _BRANCHES and all(abs(spots[i] - spots[j]) > _APART_MM for j in kept):
            kept.append(i)
    return [start.with_place(point, places[i], float(against[i])) for i in kept]
