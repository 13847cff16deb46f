"""Where a point may lie, one measurement at a time, and points laid one after the other, every mirror kept."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, cross, dot, from_angle, left_normal, norm
from beltplan.measure.network import Network
from beltplan.measure.sightings import POINTS_NEEDED, Directions, Distances, Offsets, Sheet, fitted, placed

MOST_LOCI = 7
"""Loci of one point whose crossings are looked for."""
PARALLEL = 1e-3
"""Lines that turn by less than this, rad, do not cross."""
ONE_CENTRE_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Circle:
    """At a distance from a centre."""

    centre: Floats
    radius_mm: float

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        return np.abs(norm(places - self.centre) - self.radius_mm)


@dataclass(frozen=True, eq=False)
class Straight:
    """On a line through a place along a unit vector; with `ray` only ahead of the place."""

    through: Floats
    along: Floats
    ray: bool

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        away = places - self.through
        behind = self.ray & (dot(self.along, away) < 0.0)
        return np.where(behind, norm(away), np.abs(cross(self.along, away)))


@dataclass(frozen=True, eq=False)
class Spot:
    """At a place."""

    at: Floats

    def miss_mm(self, places: Floats) -> Floats:
        """How far places lie off it, (c, 2) -> (c) mm."""
        return norm(places - self.at)


Locus = Circle | Straight | Spot


def loci_of(network: Network, places: Floats, point: int) -> list[Locus]:
    """Where a point may lie by the points that are laid. places: (points, 2) mm, NaN where not laid."""
    laid = np.isfinite(places[:, 0])
    found: list[Locus] = []
    for kind in network.kinds:
        if isinstance(kind, Distances):
            found += _circles(network, kind, places, laid, point)
        elif isinstance(kind, Directions):
            found += _rays(kind, places, laid, point)
        elif isinstance(kind, Offsets):
            found += _lines(kind, places, laid, point)
        elif isinstance(kind, Sheet):
            found += _spots(kind, places, laid, point)
    return found


def _circles(network: Network, kind: Distances, places: Floats, laid: Bools, point: int) -> list[Locus]:
    apart = np.maximum(kind.between_centres_mm(network.bare), 0.0)
    pairs = ((kind.first, kind.second), (kind.second, kind.first))
    return [
        Circle(places[other[i]], float(apart[i]))
        for own, other in pairs
        for i in np.flatnonzero((own == point) & laid[other])
    ]


def _rays(kind: Directions, places: Floats, laid: Bools, point: int) -> list[Locus]:
    along = from_angle(kind.value_rad)
    ahead = [
        Straight(places[kind.first[i]], along[i], True)
        for i in np.flatnonzero((kind.second == point) & laid[kind.first])
    ]
    behind = [
        Straight(places[kind.second[i]], -along[i], True)
        for i in np.flatnonzero((kind.first == point) & laid[kind.second])
    ]
    return [*ahead, *behind]


def _lines(kind: Offsets, places: Floats, laid: Bools, point: int) -> list[Locus]:
    axes = np.eye(2)
    found: list[Locus] = []
    for own, other, sign in ((kind.point, kind.datum, 1.0), (kind.datum, kind.point, -1.0)):
        for i in np.flatnonzero((own == point) & laid[other]):
            axis = axes[kind.axis[i]]
            found.append(Straight(places[other[i]] + sign * kind.value_mm[i] * axis, left_normal(axis), False))
    return found


def _spots(sheet: Sheet, places: Floats, laid: Bools, point: int) -> list[Locus]:
    points, at = sheet.picks
    known = laid[points]
    if point not in points or np.count_nonzero(known) < POINTS_NEEDED[sheet.model]:
        return []
    numbers = fitted(sheet.model, sheet.scale, places[points[known]], at[known])
    with np.errstate(divide="ignore", invalid="ignore"):  # on the horizon of a photo: no place
        spots = placed(sheet.model, sheet.scale, numbers, at[points == point])
    return [Spot(spot) for spot in spots if np.isfinite(spot).all()]


def crossings(loci: list[Locus]) -> Floats:
    """Every place where two loci cross or come nearest, and those that are places; (c, 2) mm."""
    spots = [locus.at for locus in loci if isinstance(locus, Spot)]
    curves = [locus for locus in loci if not isinstance(locus, Spot)][:MOST_LOCI]
    pairs = [place for first, second in combinations(curves, 2) for place in _crossing(first, second)]
    return np.array([*spots, *pairs], dtype=float).reshape(-1, 2)


def _crossing(first: Circle | Straight, second: Circle | Straight) -> list[Floats]:
    if isinstance(first, Circle):
        return _two_circles(first, second) if isinstance(second, Circle) else _line_and_circle(second, first)
    return _line_and_circle(first, second) if isinstance(second, Circle) else _two_lines(first, second)


def _two_circles(first: Circle, second: Circle) -> list[Floats]:
    step = second.centre - first.centre
    apart = float(norm(step))
    if apart < ONE_CENTRE_MM:
        return []
    along, a, b = step / apart, first.radius_mm, second.radius_mm
    if a + b < apart:
        return [first.centre + 0.5 * (a + apart - b) * along]
    if abs(a - b) > apart:
        return [first.centre + 0.5 * (a + apart + b if a > b else apart - a - b) * along]
    foot = (apart * apart + a * a - b * b) / (2.0 * apart)
    return _both_sides(first.centre + foot * along, left_normal(along), a * a - foot * foot)


def _line_and_circle(line: Straight, circle: Circle) -> list[Floats]:
    foot = line.through + dot(line.along, circle.centre - line.through) * line.along
    places = _both_sides(foot, line.along, circle.radius_mm**2 - float(norm(foot - circle.centre)) ** 2)
    ahead = [place for place in places if not line.ray or dot(line.along, place - line.through) >= 0.0]
    return ahead or places


def _two_lines(first: Straight, second: Straight) -> list[Floats]:
    turn = float(cross(first.along, second.along))
    if abs(turn) < PARALLEL:
        return []
    return [first.through + cross(second.through - first.through, second.along) / turn * first.along]


def _both_sides(foot: Floats, along: Floats, reach_sq: float) -> list[Floats]:
    reach = np.sqrt(max(reach_sq, 0.0))
    return [foot + reach * along, foot - reach * along]


# Places for points that are only known by measurements between them, laid one after the other, every mirror kept.

WIDTH = 48
"""Part layouts that are followed side by side."""
BRANCHES = 4
APART_MM = 0.5
"""Places nearer than this are one."""
ROUGHNESS_MM = 3.0
WORST = 30.0
"""Most that one locus counts against a place, in squares of ROUGHNESS_MM: one misread tape shuts nothing out."""
FAR_MM = 500.0


@dataclass(frozen=True, eq=False)
class Start:
    """A part layout. places: (points, 2) mm, NaN where not laid yet. against: how much speaks against it.

    drawn: whether a place in it was taken by chance.
    """

    places: Floats
    against: float = 0.0
    drawn: bool = False

    @property
    def whole(self) -> bool:
        """Whether every point is laid."""
        return bool(np.isfinite(self.places[:, 0]).all())

    def with_place(self, point: int, at: Floats, against: float, drawn: bool = False) -> Start:
        """The same with one more point."""
        places = self.places.copy()
        places[point] = at
        return Start(places, self.against + against, self.drawn or drawn)


@dataclass(frozen=True, eq=False)
class _Chance:
    """What is taken by chance in one drawing: angles spread evenly over the drawings, and all else."""

    rng: np.random.Generator
    first_rad: float

    def angle_rad(self) -> float:
        return self.first_rad + float(self.rng.uniform(0.0, 0.3))

    def place(self) -> Floats:
        return self.rng.uniform(-FAR_MM, FAR_MM, 2)


def starts_of(network: Network, seed: int, draws: int) -> list[Start]:
    """Whole layouts to settle from, the likeliest first.

    Where no two loci cross for any point, one is laid by chance on what it has, and all is laid `draws` times over.
    """
    rng = np.random.default_rng(seed)
    found = _laid(network, _Chance(rng, 0.0))
    for draw in range(1, draws if any(start.drawn for start in found) else 1):
        found += _laid(network, _Chance(rng, TURN * draw / draws))
    return sorted(found, key=lambda start: start.against)


def _laid(network: Network, chance: _Chance) -> list[Start]:
    beam = [_first(network, chance)]
    while not beam[0].whole:
        grown = [new for start in beam for new in _grown(network, start, chance)]
        beam = sorted(grown, key=lambda start: start.against)[:WIDTH]
    return beam


def _first(network: Network, chance: _Chance) -> Start:
    """The origin alone where anything can be laid from it, else the sheet that gives most places at once."""
    start = Start(np.full((network.points, 2), np.nan)).with_place(network.origin, np.zeros(2), 0.0)
    if _next(network, start) is not None:
        return start
    sheets = [(sheet, scale) for sheet in network.sheets if (scale := _scale_of(network, sheet)) is not None]
    if not sheets:
        return start
    sheet, scale = max(sheets, key=lambda each: len(set(each[0].picks[0])))
    points, at = sheet.picks
    turn = np.exp(1j * chance.angle_rad()) / scale
    laid = turn * ((at[:, 0] + 1j * at[:, 1]) - complex(*at[0]))
    places = np.full((network.points, 2), np.nan)
    places[points] = np.stack((laid.real, laid.imag), axis=-1)
    return Start(places, drawn=True)


def _scale_of(network: Network, sheet: Sheet) -> float | None:
    """px for one mm: known, or by the distances between places on the sheet; None where nothing tells it."""
    if sheet.model == "rigid":
        return sheet.scale
    points, at = sheet.picks
    where = dict(zip(points.tolist(), at, strict=True))
    ratios = [
        float(norm(where[int(a)] - where[int(b)]) / apart)
        for kind in network.kinds
        if isinstance(kind, Distances)
        for a, b, apart in zip(kind.first, kind.second, kind.between_centres_mm(network.bare), strict=True)
        if int(a) in where and int(b) in where and apart > 0.0
    ]
    return float(np.median(ratios)) if ratios and sheet.model == "similar" else None


def _next(network: Network, start: Start) -> tuple[int, Floats, list[Locus]] | None:
    """The open point with the most loci of those that cross, where they do, and the loci; None where none cross."""
    loci = {int(point): loci_of(network, start.places, int(point)) for point in _open(start)}
    for point in sorted(loci, key=lambda each: -len(loci[each])):
        places = crossings(loci[point])
        if len(places):
            return point, places, loci[point]
    return None


def _open(start: Start) -> list[int]:
    return [int(point) for point in np.flatnonzero(np.isnan(start.places[:, 0]))]


def _grown(network: Network, start: Start, chance: _Chance) -> list[Start]:
    found = _next(network, start)
    if found is not None:
        return _branches(start, *found)
    loci = {point: loci_of(network, start.places, point) for point in _open(start)}
    point = max(loci, key=lambda each: len(loci[each]))
    return [start.with_place(point, _by_chance(loci[point], chance), 0.0, drawn=True)]


def _branches(start: Start, point: int, places: Floats, loci: list[Locus]) -> list[Start]:
    miss = np.stack([locus.miss_mm(places) for locus in loci])
    against = np.sum(np.minimum((miss / ROUGHNESS_MM) ** 2, WORST), axis=0)
    kept: list[int] = []
    for i in np.argsort(against, kind="stable").tolist():
        if all(float(norm(places[i] - places[j])) > APART_MM for j in kept):
            kept.append(i)
    return [start.with_place(point, places[i], float(against[i])) for i in kept[:BRANCHES]]


def _by_chance(loci: list[Locus], chance: _Chance) -> Floats:
    for locus in loci:
        if isinstance(locus, Circle):
            return locus.centre + locus.radius_mm * from_angle(np.asarray(chance.angle_rad()))
        if isinstance(locus, Straight):
            return locus.through + chance.rng.uniform(0.1, 1.0) * FAR_MM * locus.along
        if isinstance(locus, Spot):
            return locus.at
    return chance.place()
