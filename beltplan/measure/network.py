"""The least-squares network of what was measured: its rows, and how well it holds its points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints, norm
from beltplan.measure.least_squares import Settled, circle_through, settle
from beltplan.measure.readings import Between, Direction, Distance, Measured, Offset, Picture, Size
from beltplan.measure.sightings import (
    NO_RADIUS,
    PARAMETERS,
    POINTS_NEEDED,
    Directions,
    Distances,
    Offsets,
    Sheet,
    Sizes,
    fitted,
    placed,
)

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


# How well a network holds its points: covariances, what nothing holds, and how far each measurement is checked.


@dataclass(frozen=True, eq=False)
class Precision:
    """What follows from the slopes of a settled network, for measurements of just their stated deviations.

    covariance: (size, size), nought for the origin, of no meaning for what is loose. loose: (points) whether nothing
    holds a point. redundancy: (m) share of an error of each measurement that shows in its own misfit, 0 where nothing
    checks it. tied: (m, m) covariance of the misfits, each over its deviation.
    """

    covariance: Floats
    loose: Bools
    redundancy: Floats
    tied: Floats


def precision_of(network: Network, at: Settled) -> Precision:
    """How well a settled network is held, to first order.

    Source: covariance and redundancy numbers of least squares, Baarda 1968 (from memory); textbook results, checked
    against drawn errors in the tests.
    """
    free = np.flatnonzero(network.free)
    slopes = at.slopes[:, free]
    scale = np.sqrt(np.sum(slopes**2, axis=0))
    scale = np.where(scale > 0.0, scale, 1.0)
    left, strength, right = np.linalg.svd(slopes / scale, full_matrices=True)
    strength = np.concatenate((strength, np.zeros(len(free) - len(strength))))
    held = strength > SINGULAR * max(float(strength.max(initial=0.0)), 1e-300)
    inverse = right[held].T / strength[held] / scale[:, None]
    covariance = np.zeros((network.size, network.size))
    covariance[np.ix_(free, free)] = inverse @ inverse.T
    share = left[:, : len(strength)][:, held[: left.shape[1]]]
    tied = np.eye(len(slopes)) - share @ share.T
    loose = _loose(network, free, right[~held].T / scale[:, None])
    return Precision(covariance, loose, np.clip(np.diagonal(tied), 0.0, 1.0), tied)


def _loose(network: Network, free: Ints, unheld: Floats) -> Bools:
    """unheld: (free unknowns, d) directions that change no misfit, in the unknowns' own units."""
    moves = np.zeros(network.size)
    moves[free] = np.max(np.abs(np.linalg.qr(unheld)[0]), axis=1, initial=0.0)
    return np.asarray(moves[: 2 * network.points].reshape(-1, 2).max(axis=1) > LOOSE)


def without_turn(places: Floats, covariance: Floats) -> Floats:
    """A covariance of places, (2 n, 2 n), with a common turn about (0, 0) taken out. places: (n, 2) mm.

    Source: S-transformation, Baarda 1973 (from memory): projection along the motion that is taken out.
    """
    return _without(_turn(places)[:, None], covariance)


def without_motion(places: Floats, covariance: Floats) -> Floats:
    """The same with a common shift taken out as well."""
    shifts = np.tile(np.eye(2), (len(places), 1))
    return _without(np.column_stack((shifts, _turn(places - places.mean(axis=0)))), covariance)


def _turn(away: Floats) -> Floats:
    return np.stack((-away[:, 1], away[:, 0]), axis=-1).reshape(-1)


def _without(motions: Floats, covariance: Floats) -> Floats:
    """motions: (2 n, m)."""
    kept = np.eye(len(motions)) - motions @ np.linalg.pinv(motions)
    return np.asarray(kept @ covariance @ kept.T)


# The least-squares network of what was measured, and which of its rows belong to which reading.

EXACT_RAD = 1e-6
"""Deviation of a line that is level by definition: 0.0005 mm over half a metre."""
RIMS: dict[Between, float] = {"centres": 0.0, "outside": 1.0, "gap": -1.0}
Unit = Literal["mm", "deg", "px"]


@dataclass(frozen=True)
class Pick:
    """A place picked on a picture; of a rim point with its number on that rim, from 1."""

    point: str
    picture: str
    rim_place: int | None = None


Source = Distance | Direction | Offset | Size | Pick


@dataclass(frozen=True, eq=False)
class Reading:
    """One thing that was read, and the rows of the network that it makes. deviation: one standard deviation, `unit`."""

    source: Source
    rows: tuple[int, ...]
    unit: Unit
    deviation: float

    @property
    def words(self) -> str:
        """What was read, in words: crank - alternator."""
        return words_of(self.source)


def words_of(source: Source) -> str:
    """What was read, in words."""
    if isinstance(source, Distance):
        way = "" if source.between == "centres" else f", {source.between}"
        return f"{source.first} - {source.second}{way}"
    if isinstance(source, Direction):
        return f"angle {source.first} - {source.second}"
    if isinstance(source, Offset):
        return f"{source.axis} of {source.point} from {source.datum}"
    if isinstance(source, Size):
        return f"diameter of {source.pulley}"
    rim = "" if source.rim_place is None else f"rim point {source.rim_place} of "
    return f"{rim}{source.point} on {source.picture}"


@dataclass(frozen=True, eq=False)
class Surveyed:
    """A network with the readings behind its rows. radii: names of the pulleys whose rims count, in its order."""

    network: Network
    readings: tuple[Reading, ...]
    radii: tuple[str, ...]


def surveyed(measured: Measured, turn_rad: float = 0.0) -> Surveyed:
    """The network of what was measured.

    turn_rad: the angle at which `level_taken` is laid, where nothing says what is level.
    """
    number = {name: i for i, name in enumerate(measured.points)}
    radii = _radii_needed(measured)
    place = {name: 2 * len(number) + i for i, name in enumerate(radii)}
    sizes = [size for size in measured.sizes if size.pulley in place]
    kinds: list[Kind] = [
        _distances(measured.distances, number, place),
        _directions(measured.directions, number),
        _level(measured, number, turn_rad),
        _offsets(measured.offsets, number),
        _sizes(sizes, place),
    ]
    size = 2 * len(number) + len(radii)
    for picture in measured.pictures:
        sheet = _sheet(picture, number, place, size)
        kinds.append(sheet)
        size = sheet.angles.stop
    start = np.array([_start_radius(measured, name) for name in radii], dtype=float)
    network = Network(len(number), number[measured.origin], start, tuple(kinds), size)
    return Surveyed(network, _readings(measured, sizes, kinds), radii)


def _radii_needed(measured: Measured) -> tuple[str, ...]:
    over_rims = [name for each in measured.distances if each.between != "centres" for name in (each.first, each.second)]
    traced = [name for picture in measured.pictures for name in picture.rims]
    return tuple(dict.fromkeys((*over_rims, *traced)))


def _start_radius(measured: Measured, name: str) -> float:
    size = next((size for size in measured.sizes if size.pulley == name), None)
    if size is not None:
        return size.diameter_mm / 2.0
    picture = next((p for p in measured.pictures if name in p.rims and p.model == "rigid"), None)
    return 50.0 if picture is None else circle_through(np.array(picture.rims[name]))[1] / picture.px_per_mm


def _numbers(names: list[str], number: dict[str, int]) -> Ints:
    return np.array([number[name] for name in names], dtype=int)


def _distances(given: tuple[Distance, ...], number: dict[str, int], place: dict[str, int]) -> Distances:
    rims = np.array([RIMS[each.between] for each in given])
    return Distances(
        _numbers([each.first for each in given], number),
        _numbers([each.second for each in given], number),
        np.array([each.value_mm for each in given]),
        np.array([each.deviation_mm for each in given]),
        rims,
        _rim_places([each.first for each in given], rims.tolist(), place),
        _rim_places([each.second for each in given], rims.tolist(), place),
    )


def _rim_places(names: list[str], rims: list[float], place: dict[str, int]) -> Ints:
    return np.array([place[name] if rim else NO_RADIUS for name, rim in zip(names, rims, strict=True)], dtype=int)


def _directions(given: tuple[Direction, ...], number: dict[str, int]) -> Directions:
    return Directions(
        _numbers([each.first for each in given], number),
        _numbers([each.second for each in given], number),
        np.array([each.value_rad for each in given]),
        np.array([each.deviation_rad for each in given]),
    )


def _level(measured: Measured, number: dict[str, int], turn_rad: float) -> Directions:
    taken = level_taken(measured) if measured.frame_is_open else None
    line, angle = (measured.level, 0.0) if taken is None else (taken, turn_rad)
    given = () if line is None else (Direction(*line, angle, EXACT_RAD),)
    return _directions(given, number)


def level_taken(measured: Measured) -> tuple[str, str] | None:
    """The line that is laid level where nothing says which is: the origin and the first point measured from it."""
    ends = [(each.first, each.second) for each in measured.distances]
    ends += [(measured.origin, name) for picture in measured.pictures for name in picture.places]
    ends += [(measured.origin, name) for name in measured.points]
    tied = (
        second if first == measured.origin else first for first, second in ends if measured.origin in (first, second)
    )
    return next(((measured.origin, name) for name in tied if name != measured.origin), None)


def _offsets(given: tuple[Offset, ...], number: dict[str, int]) -> Offsets:
    return Offsets(
        _numbers([each.datum for each in given], number),
        _numbers([each.point for each in given], number),
        np.array([0 if each.axis == "x" else 1 for each in given], dtype=int),
        np.array([each.value_mm for each in given]),
        np.array([each.deviation_mm for each in given]),
    )


def _sizes(given: list[Size], place: dict[str, int]) -> Sizes:
    values = np.array([(each.diameter_mm / 2.0, each.deviation_mm / 2.0) for each in given]).reshape(-1, 2)
    return Sizes(np.array([place[each.pulley] for each in given], dtype=int), values[:, 0], values[:, 1])


def _sheet(picture: Picture, number: dict[str, int], place: dict[str, int], first: int) -> Sheet:
    rims = [(name, at) for name, points in picture.rims.items() for at in points]
    return Sheet(
        picture.model,
        picture.px_per_mm,
        _numbers(list(picture.places), number),
        np.array(list(picture.places.values()), dtype=float).reshape(-1, 2),
        _numbers([name for name, _ in rims], number),
        np.array([place[name] for name, _ in rims], dtype=int),
        np.array([at for _, at in rims], dtype=float).reshape(-1, 2),
        picture.deviation_px,
        first,
        first + PARAMETERS[picture.model],
    )


def _readings(measured: Measured, sizes: list[Size], kinds: list[Kind]) -> tuple[Reading, ...]:
    distances, directions, level, offsets, _, *_ = (kind.count for kind in kinds)
    first = (0, distances, distances + directions + level, distances + directions + level + offsets)
    found = [Reading(each, (first[0] + i,), "mm", each.deviation_mm) for i, each in enumerate(measured.distances)]
    found += [
        Reading(each, (first[1] + i,), "deg", float(np.degrees(each.deviation_rad)))
        for i, each in enumerate(measured.directions)
    ]
    found += [Reading(each, (first[2] + i,), "mm", each.deviation_mm) for i, each in enumerate(measured.offsets)]
    found += [Reading(each, (first[3] + i,), "mm", each.deviation_mm) for i, each in enumerate(sizes)]
    row = first[3] + len(sizes)
    for picture in measured.pictures:
        for pick in _picks(picture):
            found.append(Reading(pick, (row, row + 1), "px", picture.deviation_px))
            row += 2
    return tuple(found)


def _picks(picture: Picture) -> list[Pick]:
    rims = [Pick(name, picture.name, i) for name, points in picture.rims.items() for i in range(1, len(points) + 1)]
    return [*(Pick(name, picture.name) for name in picture.places), *rims]
