"""The least-squares network of what was measured: its equations, and how well it holds its points."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, groupby
from typing import NamedTuple

import numpy as np

from beltplan.geometry.vectors import Bools, Floats, Ints, norm
from beltplan.measure.images import PARAMETERS, POINTS_NEEDED, fitted, mapped, placed
from beltplan.measure.least_squares import Settled, circle_near, settle
from beltplan.measure.loci import Circle, Curve
from beltplan.measure.readings import Direction, Image, Measured, Pick, Reading, Unknowns
from beltplan.progress import Progress, unseen

_SINGULAR = 1e-7
"""Directions that change the residuals by a smaller share than this of the most telling one are not held."""
_MOVES = 1e-4
"""A point that moves by more than this in a direction that nothing holds is undetermined."""
_SURE_MM, _WIDEST_MM, _BENT = 5.0, 1e4, 5.0
"""A point held to more than the first, taken as at most the second, is thin where a reading, with the point off as
much, is off by so many of its standard deviations more than the first order says."""
EXACT_RAD = 1e-6
"""Standard deviation of a line that is level by definition: 0.0005 mm over half a metre."""
_GUESSED_RADIUS_MM = 50.0


class _Block(NamedTuple):
    """The equations of readings alike. where: places of their unknowns (m, k); given: (m, c); sd: (m).

    row, column: where the Jacobian of one row after the other goes, (rows) and (rows, k).
    """

    like: Reading
    where: Ints
    given: Floats
    sd: Floats
    row: Ints
    column: Ints


@dataclass(frozen=True, eq=False)
class PlacedImage:
    """An image in a network. numbers: where its numbers stand among the unknowns.

    points: numbers of the points that it shows (s); at: (s, 2) px: those picked, and the middles of rims not picked.
    rim: of each rim point the number of the point in the middle, and the places of radius and angle among the unknowns,
    (3, q); rim_at: (q, 2) px.
    """

    image: Image
    numbers: slice
    points: Ints
    at: Floats
    rim: Ints
    rim_at: Floats

    def faces(self, unknowns: Floats) -> bool:
        """Whether its places are seen from the front and before the horizon: a photo of them can be taken."""
        model = self.image.model
        if model != "slanted" or len(self.points) < POINTS_NEEDED[model]:
            return True
        _, by_point, _ = mapped(model, self.image.px_per_mm, unknowns[self.numbers], _places(unknowns, self.points))
        return bool((np.linalg.det(by_point) > 0.0).all())

    def lay(self, unknowns: Floats) -> None:
        """Put in its numbers, its angles and the radii of its rims, as the places of the points ask for."""
        model, scale = self.image.model, self.image.px_per_mm
        if len(self.points) < POINTS_NEEDED[model]:
            unknowns[self.numbers] = np.eye(PARAMETERS[model])[0]
            return
        numbers = fitted(model, scale, _places(unknowns, self.points), self.at)
        unknowns[self.numbers] = numbers
        point, radii, angle = self.rim
        away = placed(model, scale, numbers, self.rim_at) - _places(unknowns, point)
        unknowns[angle] = np.arctan2(away[:, 1], away[:, 0])
        for radius in np.unique(radii):
            unknowns[radius] = np.mean(norm(away[radii == radius]))

    def tells(self, laid: Bools) -> Bools:
        """Of which points it tells the place by those that are laid, (points)."""
        enough = np.count_nonzero(laid[self.points]) >= POINTS_NEEDED[self.image.model]
        return np.asarray(enough & np.isin(np.arange(len(laid)), self.points))

    def spot(self, places: Floats, laid: Bools, point: int) -> Circle | None:
        """Where a point lies by the other points that it shows, as far as they are laid; None where nothing tells."""
        if not self.tells(laid)[point]:
            return None
        model, scale, known = self.image.model, self.image.px_per_mm, laid[self.points]
        numbers = fitted(model, scale, places[self.points[known]], self.at[known])
        with np.errstate(divide="ignore", invalid="ignore"):  # on the horizon of a photo: no place
            (at,) = placed(model, scale, numbers, self.at[self.points == point])
        return Circle(at, 0.0) if np.isfinite(at).all() else None


@dataclass(frozen=True, eq=False)
class Network:
    """Points, radii, and numbers and rim angles of images as one vector of unknowns, and the readings between them.

    The point `origin` stands at (0, 0). radii_mm: those that count, before anything is settled. readings: what was
    read; rows: of each, and of what was not read but taken. size: how many unknowns there are.
    """

    names: tuple[str, ...]
    origin: int
    radii_mm: Mapping[str, float]
    readings: tuple[Reading, ...]
    rows: Mapping[Reading, tuple[int, ...]]
    blocks: tuple[_Block, ...]
    images: tuple[PlacedImage, ...]
    size: int

    @property
    def points(self) -> int:
        return len(self.names)

    @property
    def radii(self) -> slice:
        return slice(2 * self.points, 2 * self.points + len(self.radii_mm))

    @cached_property
    def free(self) -> Bools:
        """Unknowns that are really unknown: all but the origin's place, (size)."""
        free = np.ones(self.size, dtype=bool)
        free[2 * self.origin : 2 * self.origin + 2] = False
        return free

    @cached_property
    def ties(self) -> tuple[tuple[tuple[int, Callable[[Floats], Curve]], ...], ...]:
        """Of each point: the number of another, and the curve on which the point lies where that stands at a place."""
        number = {name: i for i, name in enumerate(self.names)}
        found: list[list[tuple[int, Callable[[Floats], Curve]]]] = [[] for _ in self.names]
        for _, alike in groupby(self.rows, type):
            by_end = zip(*(reading.ties(self.radii_mm) for reading in alike), strict=True)
            for own, other, curve in chain.from_iterable(by_end):
                found[number[own]].append((number[other], curve))
        return tuple(map(tuple, found))

    @cached_property
    def neighbours(self) -> Ints:
        """How many curves of each point each other one carries, (points, points)."""
        counts = np.zeros((self.points, self.points), dtype=int)
        for own, ties in enumerate(self.ties):
            np.add.at(counts[own], [other for other, _ in ties], 1)
        return counts

    @cached_property
    def tied(self) -> Bools:
        """Which points a chain of readings ties to the origin, (points): no other can ever be held."""
        joined = np.eye(self.points, dtype=bool)
        read = (np.array([*map(self.names.index, each.points)]) for each in self.rows if len(each.points) > 1)
        for many in (*read, *(image.points for image in self.images)):
            joined[np.ix_(many, many)] = True
        tied: Bools = np.arange(self.points) == self.origin
        for _ in range(self.points):
            tied = tied @ joined
        return tied

    def places(self, unknowns: Floats) -> Floats:
        return unknowns[: 2 * self.points].reshape(-1, 2)

    @cached_property
    def height(self) -> int:
        return sum(map(len, self.rows.values()))

    def equations(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """Residuals over standard deviations (..., m), reading after reading, and their Jacobian (..., m, size).

        unknowns: (..., size).
        """
        lead = unknowns.shape[:-1]
        padded = np.concatenate((unknowns, np.zeros((*lead, 1))), axis=-1)
        residuals = np.empty((*lead, self.height))
        jacobian = np.zeros((*lead, self.height, self.size + 1))
        for block in self.blocks:
            off, slopes = block.like.equations(padded[..., block.where], block.given)
            residuals[..., block.row] = (off / block.sd[:, None]).reshape(*lead, -1)
            own = (slopes / block.sd[:, None, None]).reshape(*lead, *block.column.shape)
            jacobian[..., block.row[:, None], block.column] = own
        return residuals, jacobian[..., :-1]

    def unknowns_at(self, places: Floats) -> Floats:
        """The unknowns for places of the points, (points, 2) mm: images and rims are laid as these ask for.

        The places are shifted so that the origin stands at (0, 0).
        """
        unknowns = np.zeros(self.size)
        unknowns[: 2 * self.points] = (places - places[self.origin]).reshape(-1)
        unknowns[self.radii] = list(self.radii_mm.values())
        for image in self.images:
            image.lay(unknowns)
        return unknowns


def network_of(
    names: tuple[str, ...],
    origin: str,
    readings: Sequence[Reading],
    images: Sequence[Image] = (),
    radii_mm: Mapping[str, float] | None = None,
    taken: Sequence[Reading] = (),
) -> Network:
    """The network of readings, those alike one after the other. taken: those of them that nobody read.

    images: all on which places were picked. radii_mm: those that count, as they start.
    """
    radii = dict(radii_mm or {})
    where, size = _unknowns(names, tuple(radii), images)
    ends = np.cumsum([reading.rows for reading in readings]).tolist()
    rows = {each: tuple(range(end - each.rows, end)) for each, end in zip(readings, ends, strict=True)}
    alike = [tuple(group) for _, group in groupby(readings, lambda each: (type(each), each.alike))]
    blocks = tuple(_block(each, where, rows) for each in alike)
    read = tuple(each for each in readings if each not in taken)
    return Network(
        names, names.index(origin), radii, read, rows, blocks, tuple(_placed(each, where) for each in images), size
    )


def _unknowns(names: tuple[str, ...], radii: tuple[str, ...], images: Sequence[Image]) -> tuple[Unknowns, int]:
    points = {name: 2 * i for i, name in enumerate(names)}
    first = 2 * len(names)
    size = first + len(radii)
    numbers: dict[Image, slice] = {}
    angles: dict[Pick, int] = {}
    for image in images:
        numbers[image] = slice(size, size + PARAMETERS[image.model])
        traced = [pick for pick in image.picks if pick.is_of_rim]
        angles |= {pick: i for i, pick in enumerate(traced, start=numbers[image].stop)}
        size = numbers[image].stop + len(traced)
    return Unknowns(points, {name: i for i, name in enumerate(radii, start=first)}, numbers, angles), size


def _block(alike: Sequence[Reading], where: Unknowns, rows: Mapping[Reading, tuple[int, ...]]) -> _Block:
    row = np.array([row for each in alike for row in rows[each]])
    places = np.array([each.unknowns(where) for each in alike])
    given = np.array([each.given for each in alike])
    sd = np.array([each.sd for each in alike])
    return _Block(alike[0], places, given, sd, row, np.repeat(places, alike[0].rows, axis=0))


def _placed(image: Image, where: Unknowns) -> PlacedImage:
    traced, shown = [pick for pick in image.picks if pick.is_of_rim], dict(image.places)
    for name in sorted(image.rims, key=lambda each: where.points[each]):
        if name not in shown:
            (u, v), _ = circle_near(np.array(image.rims[name]))
            shown[name] = (float(u), float(v))
    rim = [(where.points[pick.point] // 2, where.radii[pick.point], where.angles[pick]) for pick in traced]
    return PlacedImage(
        image,
        where.images[image],
        np.array([where.points[name] // 2 for name in shown], dtype=int),
        np.array(list(shown.values()), dtype=float).reshape(-1, 2),
        np.array(rim, dtype=int).reshape(-1, 3).T,
        np.array([pick.at for pick in traced], dtype=float).reshape(-1, 2),
    )


def surveyed(measured: Measured, turn_rad: float = 0.0) -> Network:
    """The network of what was measured.

    turn_rad: the angle at which `level_taken` is laid, where nothing says what is level.
    """
    over_rims = [name for each in (*measured.distances, *measured.loops) for name in each.rims]
    traced = [name for image in measured.images for name in image.rims]
    radii = {name: _start_radius(measured, name) for name in (*over_rims, *traced)}
    taken = measured.level_taken
    line, angle = (measured.level, 0.0) if taken is None else (taken, turn_rad)
    level = () if line is None else (Direction(*line, angle, EXACT_RAD),)
    diameters = (each for each in measured.diameters if each.pulley in radii)
    picks = (pick for image in measured.images for pick in image.picks)
    lengths = (*measured.distances, *measured.directions, *level, *measured.offsets, *measured.loops)
    readings = (*lengths, *diameters, *picks)
    return network_of(measured.points, measured.origin, readings, measured.images, radii, level)


def _start_radius(measured: Measured, name: str) -> float:
    read = next((each.value_mm / 2.0 for each in measured.diameters if each.pulley == name), None)
    if read is not None:
        return read
    image = next((each for each in measured.images if name in each.rims and each.model == "rigid"), None)
    return _GUESSED_RADIUS_MM if image is None else circle_near(np.array(image.rims[name]))[1] / image.px_per_mm


def settled(
    network: Network, starts: Sequence[Floats], left_out: Sequence[tuple[int, ...]], progress: Progress = unseen
) -> list[Settled]:
    """The unknowns with the least sum of squares near each start, (size), side by side.

    left_out: of each start the rows that are not looked at: their residual is given all the same, their Jacobian is
    zero.
    """
    if not len(starts):
        return []
    free = network.free
    heard = np.ones((len(starts), network.height), dtype=bool)
    for own, out in zip(heard, left_out, strict=True):
        own[list(out)] = False

    def equations(part: Floats) -> tuple[Floats, Floats]:
        residuals, jacobian = network.equations(_whole(free, part))
        return residuals, jacobian[..., free]

    whole = _whole(free, settle(equations, np.array(starts)[:, free], heard, progress).unknowns)
    residuals, jacobian = network.equations(whole)
    found = Settled(whole, residuals, jacobian * (heard[..., None] & free))
    return [found[i] for i in range(len(starts))]


def _whole(free: Bools, part: Floats) -> Floats:
    whole = np.zeros((*part.shape[:-1], len(free)))
    whole[..., free] = part
    return whole


def _places(unknowns: Floats, which: Ints) -> Floats:
    return np.stack((unknowns[2 * which], unknowns[2 * which + 1]), axis=-1)


class Precision(NamedTuple):
    """What follows from the Jacobian of a settled network, for readings of just their stated standard deviations.

    covariance: (size, size), zero for the origin, of no meaning for what is undetermined. undetermined: (points)
    whether nothing holds a point. redundancy: (m) share of an error of each row that shows in its own residual, 0 where
    nothing checks it. tied: (m, m) covariance of the residuals, each over its standard deviation.
    """

    covariance: Floats
    undetermined: Bools
    redundancy: Floats
    tied: Floats


def precision_of(network: Network, at: Settled) -> Precision:
    """How well a settled network is held, to first order.

    Source: covariance and redundancy numbers of least squares, Baarda 1968 (from memory); textbook results, checked
    against drawn errors in the tests.
    """
    free = np.flatnonzero(network.free)
    jacobian = at.jacobian[:, free]
    scale = np.sqrt(np.sum(jacobian**2, axis=0))
    scale = np.where(scale > 0.0, scale, 1.0)
    left, strength, right = np.linalg.svd(jacobian / scale, full_matrices=True)
    strength = np.concatenate((strength, np.zeros(len(free) - len(strength))))
    held = strength > _SINGULAR * max(float(strength.max(initial=0.0)), 1e-300)
    inverse = right[held].T / strength[held] / scale[:, None]
    covariance = np.zeros((network.size, network.size))
    covariance[np.ix_(free, free)] = inverse @ inverse.T
    share = left[:, : len(strength)][:, held[: left.shape[1]]]
    tied = np.eye(len(jacobian)) - share @ share.T
    # Directions that change no residual, in the unknowns' own units.
    unheld, moves = right[~held].T / scale[:, None], np.zeros(network.size)
    moves[free] = np.max(np.abs(np.linalg.qr(unheld)[0]), axis=1, initial=0.0)
    undetermined = np.asarray(moves[: 2 * network.points].reshape(-1, 2).max(axis=1) > _MOVES)
    return Precision(covariance, undetermined, np.clip(np.diagonal(tied), 0.0, 1.0), tied)


def thin_at(network: Network, at: Settled) -> Bools:
    """Which points what they are read from hardly holds across its line: the first order is none of the truth there.

    A point moves alone by one standard deviation, all others still: what its readings change beyond the first order.
    """
    own = at.jacobian[:, : 2 * network.points].reshape(-1, network.points, 2).transpose(1, 0, 2)
    strength, axes = np.linalg.eigh(own.transpose(0, 2, 1) @ own)
    sd_mm = 1.0 / np.sqrt(np.clip(strength[:, 0], _WIDEST_MM**-2, None))
    wide = np.flatnonzero(sd_mm > _SURE_MM)
    if not len(wide):
        return np.zeros(network.points, dtype=bool)
    steps = np.zeros((len(wide), network.points, 2))
    steps[np.arange(len(wide)), wide] = sd_mm[wide, None] * axes[wide, :, 0]
    moves = np.concatenate((steps.reshape(len(wide), -1), np.zeros((len(wide), network.size - 2 * network.points))), 1)
    beyond = network.equations(at.unknowns + moves)[0] - at.residuals - moves @ at.jacobian.T
    heard = np.any(at.jacobian, axis=1)
    thin = np.zeros(network.points, dtype=bool)
    thin[wide] = np.any(np.abs(beyond[:, heard]) > _BENT, axis=1)
    return thin


def without_motion(places: Floats, covariance: Floats, shifts: bool = True) -> Floats:
    """A covariance of places, (2 n, 2 n), with a common turn taken out and, where `shifts`, a common shift as well.

    places: (n, 2) mm; without shifts the turn is about (0, 0).
    Source: S-transformation, Baarda 1973 (from memory): projection along the motion that is taken out.
    """
    away = places - places.mean(axis=0) if shifts else places
    turn = np.stack((-away[:, 1], away[:, 0]), axis=-1).reshape(-1, 1)
    motions = np.hstack((np.tile(np.eye(2), (len(places), 1)), turn)) if shifts else turn
    kept = np.eye(len(motions)) - motions @ np.linalg.pinv(motions)
    return np.asarray(kept @ covariance @ kept.T)
