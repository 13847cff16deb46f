"""Every way in which points can lie for what was measured, mirror solutions among them, and how far chance reaches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from beltplan.geometry.loops import overlap
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.least_squares import Progress, Settled, unseen
from beltplan.measure.loci import Chance, Loci
from beltplan.measure.network import Network, PlacedImage, Precision, precision_of, settled, thin_at
from beltplan.measure.readings import Distance, Measured

_TURNS = 720
"""Turns of the whole that are tried where nothing says what is level: half a degree apart."""
_TOWARD: dict[SeenSide, float] = {"right": 0.0, "above": 0.25 * TURN, "left": 0.5 * TURN, "below": 0.75 * TURN}
_SEED = 20_261
_DRAWS = 12
_MOST_SETTLED = 64
"""Starts that are settled; the likeliest first."""
_ALIKE_START_MM = 8.0
_RING_MM = 200.0
_DEEP = 3.0
"""Rims overlap where they do by more than so many standard deviations of a tape."""
_SAME_MM = 0.05
"""Settled places nearer than this are the same."""
FALSE_ALARM = 0.01
"""Chance that a set of measurements with nothing wrong in it is found suspicious, of each of the two tests."""
POWER = 0.80
"""Chance with which an error that 'would show' does show."""
CHECKED = 0.02
"""A reading of less redundancy than this is checked by nothing worth the name."""
SOURCE = "common practice, no source"


def is_as_seen(measured: Measured, places: Floats) -> bool:
    """Whether points lie where they are seen, (points, 2) mm from the origin; in an open frame, turned somehow."""
    return not contradicted(measured, places)


def contradicted(measured: Measured, places: Floats) -> list[tuple[str, SeenSide]]:
    """The words of `sides` that places speak against, by point; in an open frame, turned so that these are fewest."""
    words, agree = _seen(measured, places)
    turn = int(np.argmax(agree.sum(axis=0)))
    return [word for word, holds in zip(words, agree[:, turn], strict=True) if not holds]


def turn_seen(measured: Measured, places: Floats) -> float | None:
    """How far to turn the whole, rad, so that points lie where they are seen; None where no turn does.

    0 where the frame is not open, since then nothing may be turned; else the middle of the range that does.
    """
    agree = np.all(_seen(measured, places)[1], axis=0)
    if agree.all() or not agree.any():
        return 0.0 if agree.all() else None
    # Every word holds over half a turn, so that all of them hold over one range.
    return float(np.angle(np.sum(np.exp(1j * TURN / _TURNS * np.flatnonzero(agree)))))


def _seen(measured: Measured, places: Floats) -> tuple[list[tuple[str, SeenSide]], Bools]:
    """The words of `sides`, by point, and which of them hold at every turn of the whole that may be, (words, t)."""
    held = not measured.sides or not measured.frame_is_open
    turns = TURN * np.arange(1 if held else _TURNS) / _TURNS
    where = dict(zip(measured.points, places, strict=True))
    words = [(name, word) for name, own in measured.sides.items() for word in own]
    # A place turned by an angle lies on a side where it lies on that side turned back.
    agree = [from_angle(_TOWARD[word] - turns) @ where[name] > 0.0 for name, word in words]
    return words, np.array(agree, dtype=bool).reshape(len(words), len(turns))


def rims_clash(measured: Measured, places: Floats) -> bool:
    """Whether two rims that were read lie in each other by more than chance makes of a tape: nothing is mounted so."""
    radii = {each.pulley: 0.5 * each.value_mm for each in measured.diameters if each.pulley in measured.points}
    own = places[[measured.points.index(name) for name in radii]]
    depth, _ = overlap(own, np.array([*radii.values()]))
    return bool(np.any(depth > _DEEP * measured.tape_mm))


def turned(places: Floats, turn_rad: float) -> Floats:
    cosine, sine = np.cos(turn_rad), np.sin(turn_rad)
    return np.asarray(places @ np.array(((cosine, sine), (-sine, cosine))))


@dataclass(frozen=True, eq=False)
class Solution:
    """One way in which the points can lie. left_out: rows that had no say."""

    network: Network
    at: Settled
    left_out: tuple[int, ...] = ()

    @property
    def places(self) -> Floats:
        return self.network.places(self.at.unknowns)

    @cached_property
    def precision(self) -> Precision:
        """How well it is held: worked out when it is asked for, since most solutions are only tried."""
        return precision_of(self.network, self.at)

    @property
    def can_be(self) -> bool:
        """Whether it was reached at all, and its photos can have been taken from the front."""
        return math.isfinite(self.cost) and all(image.faces(self.at.unknowns) for image in self.network.images)

    @property
    def cost(self) -> float:
        return float(np.sum(np.delete(self.at.residuals, list(self.left_out)) ** 2))

    @property
    def degrees(self) -> int:
        """Readings more than are needed: degrees of freedom."""
        return round(float(np.sum(self.precision.redundancy))) - len(self.left_out)

    @cached_property
    def undetermined(self) -> Bools:
        """Which points nothing holds, or what they are read from hardly holds across its line; never the origin."""
        loose = self.precision.undetermined | thin_at(self.network, self.at)
        return np.asarray(loose & (np.arange(self.network.points) != self.network.origin))


def solutions_of(measured: Measured, network: Network, progress: Progress = unseen) -> tuple[Solution, ...]:
    """Every solution that was found, the least sum of squares first; of equals one in which no rims overlap, then the
    one with more points above.

    Those that do not lie where the user sees them come last.
    """
    # A ring is a start that is always finite.
    ring = _RING_MM * from_angle(np.linspace(0.0, TURN, network.points, endpoint=False))
    starts = [*laid_layouts(network), ring]
    with np.errstate(all="ignore"):  # a start may lie where a photo sees its horizon: it is dropped below
        ends = solved(network, [network.unknowns_at(places) for places in starts], [()] * len(starts), progress)
    ends = sorted((end for end in ends if math.isfinite(end.cost)), key=lambda end: end.cost)
    ends = [end for end in ends if end.can_be] or ends
    held = ~ends[0].undetermined
    ranked = sorted(unlike(ends, held, _SAME_MM), key=lambda end: rank_of(measured, end, held))
    return tuple(sorted(ranked, key=lambda end: (*rank_of(measured, end, held)[:2], rims_clash(measured, end.places))))


def unlike(ends: Iterable[Solution], held: Bools, near_mm: float) -> list[Solution]:
    """Each once: the first of those whose points that are held lie so near."""
    kept = list[Solution]()
    for end in ends:
        if all(norm(end.places - other.places)[held].max(initial=0.0) > near_mm for other in kept):
            kept.append(end)
    return kept


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


def solved(
    network: Network, starts: Sequence[Floats], left_out: Sequence[tuple[int, ...]], progress: Progress = unseen
) -> list[Solution]:
    """The solution near each start (size), without the rows that are left out for it."""
    ends = settled(network, starts, left_out, progress)
    for i, end in enumerate(ends):
        if (right := _right_side_out(network, end.unknowns)) is not None:
            ends[i : i + 1] = settled(network, (right,), left_out[i : i + 1])
    return [Solution(network, end, out) for end, out in zip(ends, left_out, strict=True)]


def _right_side_out(network: Network, unknowns: Floats) -> Floats | None:
    """The same with no radius below zero, its rim points on the other side; None where none is.

    A rim point at a radius of -r lies where that at r and half a turn on does: the residuals cannot tell.
    """
    below = network.radii.start + np.flatnonzero(unknowns[network.radii] < 0.0)
    if not len(below):
        return None
    right = unknowns.copy()
    right[below] *= -1.0
    for image in network.images:
        _, radii, angles = image.rim
        right[angles] += np.pi * np.isin(radii, below)
    return right


def rank_of(measured: Measured, end: Solution, held: Bools) -> tuple[bool, float, int]:
    """Smaller is better: as it is seen, then the sum of squares, then more of the points above that are held."""
    return not is_as_seen(measured, end.places), round(end.cost, 6), -points_above(end.places[held])


def points_above(places: Floats) -> int:
    return int(np.count_nonzero(places[:, 1] > _SAME_MM))


def sum_limit(degrees: int, chance: float = FALSE_ALARM) -> float:
    """The sum of squared residuals that chance exceeds so rarely; inf without a degree of freedom.

    Source: chi-squared quantile; Wilson and Hilferty 1931 for three and more (Abramowitz and Stegun 26.4.17), closed
    forms for one and two.
    """
    if degrees < 1:
        return math.inf
    if degrees == 1:
        return NormalDist().inv_cdf(1.0 - chance / 2.0) ** 2
    if degrees == 2:
        return -2.0 * math.log(chance)
    part = 2.0 / (9.0 * degrees)
    return degrees * (1.0 - part + NormalDist().inv_cdf(1.0 - chance) * math.sqrt(part)) ** 3


def single_limit(readings: int, degrees: int = 1) -> float:
    """What the squared residual of any one reading exceeds so rarely, of so many that are looked at.

    degrees: rows of the reading. Source: the chance is shared out among the readings (Bonferroni).
    """
    return sum_limit(degrees, FALSE_ALARM / max(readings, 1))


def shows_at(readings: int, sd: float, redundancy: float) -> float | None:
    """The smallest error of a reading that shows with a chance of POWER; None where none ever does.

    sd: of the reading; the answer is in its unit. redundancy: share of the error that shows in its own residual.
    Source: internal reliability, Baarda 1968 (from memory).
    """
    if not redundancy > CHECKED:
        return None
    size = math.sqrt(single_limit(readings)) + NormalDist().inv_cdf(POWER)
    return size * sd / math.sqrt(redundancy)


def fits(solution: Solution) -> bool:
    """Whether the residuals are such as chance alone makes: all of them together, and each reading by itself."""
    if solution.degrees < 1 or solution.cost > sum_limit(solution.degrees):
        return solution.degrees < 1
    rows = (list(solution.network.rows[each]) for each in solution.network.readings)
    heard = [own for own in rows if own[0] not in solution.left_out]
    return all(fall_of(solution, own) <= single_limit(len(heard), len(own)) for own in heard)


def fall_of(solution: Solution, rows: list[int]) -> float:
    """How much the sum of squares would fall without some rows, to first order; 0 where nothing checks them."""
    residuals, tied = solution.at.residuals[rows], solution.precision.tied[np.ix_(rows, rows)]
    if not np.linalg.eigvalsh(tied)[0] > CHECKED:
        return 0.0
    return float(residuals @ np.linalg.solve(tied, residuals))


# Starts: points laid one after the other where loci cross, every mirror solution kept.

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
