"""What to measure next: what sharpens the places, what is held by nothing, and what can lie elsewhere as well."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import chain, combinations
from typing import NamedTuple, TypeVar, cast

import numpy as np

from beltplan.geometry.vectors import TURN, Bools, Floats, Ints, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.network import without_motion
from beltplan.measure.readings import OPPOSITE, Direction, Distance, Measured, Reading
from beltplan.measure.solutions import CHECKED, Solution, turns_seen

_T = TypeVar("_T")
_Pair = tuple[int, int]
Hanging = tuple[Reading, tuple[str, ...]]
_MOST_ADVICE = 3
_MOVED_MM, _MOVED_SDS = 1.0, 3.0
"""A point of a mirror solution that lies nearer than both to its own place has not moved; a tape tells two solutions
apart where it differs by so many of its standard deviations."""
_PLAIN_MM = 10.0
"""A point farther than this from an axis is plainly on one side of it."""
_OFF_LINE = 0.3
"""A point is off a line where the way to it stands so much across it: the sine of 17 degrees."""
_HANGS, _CHECKS = 0.5, 0.1
"""A point hangs on a reading whose standard deviation moves it by more than this share of that of a tape; where less
than this share of an error shows in its own residual, hardly anything checks a reading, and 15 mm may go unnoticed."""
_FOLLOWS = 0.2
"""What moves by less than this share of the point that moves most hangs on something else as well."""
_TOLD_DEG = 5.0
"""An angle tells two mirror solutions apart where it differs by more than this."""
_QUARTER, _SPARSE = 0.25 * TURN, 5
"""A right angle; turns of the whole of which one is looked at."""
_QUARTERS: tuple[tuple[SeenSide, SeenSide], ...] = (
    ("above", "right"), ("above", "left"), ("below", "left"), ("below", "right"),
)  # fmt: skip


class Further(NamedTuple):
    """A distance that was not measured, and what it would do.

    before_mm, after_mm: root mean square deviation of the points that are no marks, both coordinates together, once the
    whole may turn about the origin: a belt minds how points lie to each other, not how level they stand.
    checks: readings that hardly anything else checks; hanging: the points, no marks, that lie elsewhere if those are
    misread. Both are empty where it only sharpens.
    """

    first: str
    second: str
    about_mm: float
    before_mm: float
    after_mm: float
    checks: tuple[str, ...] = ()
    hanging: tuple[str, ...] = ()


class Apart(NamedTuple):
    """A distance or an angle that tells mirrors apart: here by the places that are told, there in the image nearest it.

    Distances in mm; angles in deg, of the line from the first to the second.
    """

    first: str
    second: str
    here: float
    there: float


class Mirror(NamedTuple):
    """Points that can lie elsewhere as well for all that was measured.

    places: of each where it lies otherwise, mm. further: the distance that settles it best with its two values, or
    None where every distance between the points is the same. sides: words that settle it at a glance, by point; none
    where nothing says what is level, since then the image may be turned until they hold. picture: what would have to be
    written of a picture for it, where only that speaks against it.
    """

    points: tuple[str, ...]
    places: tuple[tuple[float, float], ...]
    further: Apart | None
    sides: dict[str, SeenSide]
    picture: str = ""


def further_of(measured: Measured, solution: Solution) -> tuple[Further, ...]:
    """The distances that check what a point hangs on, then those that sharpen the places most, the best first.

    None where any point is undetermined; none that checks where there is no spare reading at all.
    Source: a measurement of deviation s and gradient a takes Q a a' Q / (s^2 + a' Q a) off the covariance Q.
    """
    if solution.undetermined.any():
        return ()
    n, wanted = len(measured.points), np.repeat([name not in measured.marks for name in measured.points], 2)
    covariance = without_motion(solution.places, solution.precision.covariance[: 2 * n, : 2 * n], shifts=False)
    before, count = float(np.diagonal(covariance)[wanted].sum()), max(n - len(measured.marks), 1)
    sharpened = _gains(measured, solution, covariance[wanted])

    def further(pair: _Pair, checked: Sequence[Hanging] = ()) -> Further:
        (first, second), (here, there) = (measured.points[i] for i in pair), (solution.places[i] for i in pair)
        now, then = (math.sqrt(max(before - gained, 0.0) / count) for gained in (0.0, sharpened[pair]))
        hanging = dict.fromkeys(name for _, names in checked for name in names)
        checks = tuple(each.words for each, _ in checked)
        return Further(first, second, float(norm(here - there)), now, then, checks, (*hanging,))

    real = (pair for pair in sharpened if not {*pair} & by_offsets(measured))
    best_first = sorted(real, key=lambda pair: (-sharpened[pair], pair))[:_MOST_ADVICE]
    checking = (further(*each) for each in _checking(measured, solution).items())
    return (*checking, *(further(pair) for pair in best_first if sharpened[pair] > 0.0))


def _gains(measured: Measured, solution: Solution, seen_by: Floats) -> dict[_Pair, float]:
    """What each distance not measured yet takes off the sum of the variances of some values, by its pair of points.

    seen_by: the covariance of those values with the places, (k, 2 n).
    """
    covariance = solution.precision.covariance[: seen_by.shape[1], : seen_by.shape[1]]
    pairs = ((pair, _gradient(solution.places, *pair)) for pair in _unmeasured(measured, solution))
    return {
        pair: float(np.sum((seen_by @ each) ** 2)) / (measured.tape_mm**2 + float(each @ covariance @ each))
        for pair, each in pairs
        if each is not None
    }


def _checking(measured: Measured, solution: Solution) -> dict[_Pair, list[Hanging]]:
    """The distances that check what points hang on, with that; one that checks others already rather than another."""
    found = dict[_Pair, list[Hanging]]()
    planned, n = by_offsets(measured), 2 * len(measured.points)
    for reading, hanging in hanging_of(measured, solution) if solution.degrees > 0 else ():
        rows = list(solution.network.rows[reading])
        shown = _gains(measured, solution, solution.at.jacobian[rows] @ solution.precision.covariance[:, :n])
        able = [pair for pair, share in shown.items() if share > _CHECKS and not {*pair} & planned]
        if able:
            best = max(able, key=lambda pair: (pair in found, shown[pair]))
            found.setdefault(best, []).append((reading, hanging))
    return found


def hanging_of(measured: Measured, solution: Solution) -> list[Hanging]:
    """Readings that hardly anything checks, with the points that move with an error of theirs.

    Those that nothing checks come first, then those that move a point most. Marks and turns of the whole do not count.
    """
    found = list[tuple[bool, float, Reading, tuple[str, ...]]]()
    for reading in solution.network.readings:
        (row, *_) = solution.network.rows[reading]
        bare = solution.precision.redundancy[row] < _CHECKS and row not in solution.left_out
        if bare and isinstance(reading, (Distance, Direction)):
            moved = _moved_mm(measured, solution, row)
            least = max(_HANGS * measured.tape_mm, _FOLLOWS * float(moved.max(initial=0.0)))
            names = (measured.points[i] for i in np.argsort(-moved, kind="stable") if moved[i] > least)
            if own := tuple(name for name in names if name not in measured.marks):
                found.append((bool(solution.precision.redundancy[row] > CHECKED), -float(moved.max()), reading, own))
    return [(reading, own) for *_, reading, own in sorted(found, key=lambda each: each[:2])]


def only_marks_feel(measured: Measured, solution: Solution, reading: Reading) -> bool:
    """Whether an error of a pick of a mark, where hardly anything checks it, leaves all but marks where they are."""
    rows = [row for row in solution.network.rows[reading] if solution.precision.redundancy[row] < _CHECKS]
    feels = [name not in measured.marks for name in measured.points]
    least, own = _HANGS * measured.tape_mm, reading.image is not None and {*reading.points} <= {*measured.marks}
    return own and all((_moved_mm(measured, solution, row)[feels] < least).all() for row in rows)


def _moved_mm(measured: Measured, solution: Solution, row: int) -> Floats:
    """How far an error of one standard deviation in a row moves each point, but for turns of the whole."""
    n = len(measured.points)
    step = solution.precision.covariance[: 2 * n] @ solution.at.jacobian[row]
    squares = without_motion(solution.places, np.outer(step, step), shifts=False).diagonal()
    return cast(Floats, np.sqrt(np.maximum(squares.reshape(n, 2).sum(axis=1), 0.0)))


def _unmeasured(measured: Measured, best: Solution, moved: Sequence[Sequence[str]] = ()) -> list[_Pair]:
    """Pairs of held points whose distance nobody measured; marks only such as move alone somewhere and have been taped.

    moved: points that lie elsewhere in each mirror solution.
    """
    done, names = _taped(measured), measured.points
    alone = {name for own in moved if {*own} <= {*measured.marks} for name in own} & {*chain.from_iterable(done)}
    points = (i for i, name in enumerate(names) if name not in measured.marks or name in alone)
    pairs = combinations((i for i in points if not best.undetermined[i]), 2)
    return [(i, j) for i, j in pairs if frozenset((names[i], names[j])) not in done]


def by_offsets(measured: Measured) -> set[int]:
    """Points of which only offsets are read, others being taped: they may be planned, and nothing there yet."""
    if not (measured.distances or measured.images):
        return set()
    read = {name for each in (*measured.distances, *measured.directions) for name in each.points}
    read |= {name for image in measured.images for name in image.places}
    return {i for i, name in enumerate(measured.points) if name not in read and name != measured.origin}


def _gradient(places: Floats, i: int, j: int) -> Floats | None:
    apart = float(norm(places[j] - places[i]))
    if not apart > _PLAIN_MM:
        return None
    gradient = np.zeros((len(places), 2))
    gradient[j] = (places[j] - places[i]) / apart
    gradient[i] = -gradient[j]
    return gradient.reshape(-1)


def mirror_of(measured: Measured, best: Solution, other: Solution, picture: str = "") -> Mirror | None:
    """What lies elsewhere in another solution that fits as well as the best; None where nothing does."""
    names, n = measured.points, len(measured.points)
    sd = np.sqrt(np.diagonal(best.precision.covariance)[: 2 * n].reshape(n, 2).sum(axis=1))
    off = norm(best.places - other.places)
    moved = np.flatnonzero(~best.undetermined & (off > np.maximum(_MOVED_MM, _MOVED_SDS * sd)))
    if not len(moved):
        return None
    points = tuple(names[i] for i in moved)
    places = tuple((float(other.places[i, 0]), float(other.places[i, 1])) for i in moved)
    sides = ((names[i], _plain_side(best.places[i], other.places[i])) for i in moved)
    pairs, enough = _unmeasured(measured, best, [points]), _MOVED_SDS * measured.tape_mm
    tapes = _telling(names, pairs, norm, enough, best.places, other.places[None])
    return Mirror(
        points,
        places,
        tapes[0][0] if tapes else None,
        {} if measured.frame_is_open else {name: side for name, side in sides if side is not None},
        picture,
    )


def _plain_side(here: Floats, there: Floats) -> SeenSide | None:
    ahead: tuple[SeenSide, SeenSide] = ("right", "above")
    for axis, side in enumerate(ahead):
        if here[axis] * there[axis] < 0.0 and min(abs(here[axis]), abs(there[axis])) > _PLAIN_MM:
            return side if here[axis] > 0.0 else OPPOSITE[side]
    return None


class Settling(NamedTuple):
    """What settles the mirrors. words: where points are seen if the places are right. unsettled: mirrors left over.

    there: where they are seen in the mirror, where that is not each the opposite: without a level line an angle or a
    single word is not enough, but the quarters of two points are; empty where more than one mirror is left.
    """

    words: tuple[tuple[str, SeenSide], ...]
    distances: tuple[Apart, ...]
    angles: tuple[Apart, ...]
    unsettled: int
    there: tuple[tuple[str, SeenSide], ...] = ()

    @property
    def sides(self) -> tuple[dict[str, list[SeenSide]], ...]:
        """The words by point: if the places are right, then in the mirror, where that is told."""
        every = (words for words in (self.words, self.there) if words)
        return tuple({name: [word for own, word in words if own == name] for name, _ in words} for words in every)


def settling_of(measured: Measured, best: Solution, mirrors: Sequence[Mirror]) -> Settling:
    """The fewest words that settle the mirrors, then distances for what words do not settle, then angles."""
    names, here = measured.points, best.places
    there = np.repeat(here[None], len(mirrors), axis=0)
    for places, mirror in zip(there, mirrors, strict=True):
        places[[names.index(name) for name in mirror.points]] = mirror.places
    pairs = _unmeasured(measured, best, [mirror.points for mirror in mirrors])
    sides = [{*mirror.sides.items()} for mirror in mirrors]
    said = dict.fromkeys(pair for mirror in mirrors for pair in mirror.sides.items())
    told = [(pair, {i for i, own in enumerate(sides) if pair in own}) for pair in said]
    words, left = _fewest(told, set(range(len(mirrors))))
    tapes = _telling(names, pairs, norm, _MOVED_SDS * measured.tape_mm, here, there)
    distances, left = _fewest(tapes, left)
    # From the origin to every point that can be measured again, where something says what is level.
    origin = names.index(measured.origin)
    far = np.flatnonzero(~best.undetermined & (norm(here - here[origin]) > _PLAIN_MM)).tolist()
    rays = [] if measured.frame_is_open else [(origin, i) for i in far if names[i] not in measured.marks]
    lines = _telling(
        names, rays, lambda step: np.degrees(np.arctan2(step[..., 1], step[..., 0])), _TOLD_DEG, here, there, 360.0
    )
    angles, left = _fewest(lines, left)
    if not (measured.frame_is_open and left and len(far) > 1):
        return Settling(tuple(words), tuple(distances), tuple(angles), len(left))
    quarters, mirrored, settled = _by_quarters(measured, here, {i: there[i] for i in left}, far)
    return Settling(quarters, tuple(distances), (), len(left - settled), mirrored if len(left) == 1 else ())


_Words = tuple[tuple[str, SeenSide], ...]


def _by_quarters(
    measured: Measured, here: Floats, there: Mapping[int, Floats], points: Sequence[int]
) -> tuple[_Words, _Words, set[int]]:
    """The quarters in which to see two points: as they lie here, and there; and which of the others that tells apart.

    The two points are those of which the quarters tell most apart, at most of the turns at which the whole may stand.
    """
    pairs = np.array([*combinations(points, 2)])
    sights = {
        i: (_Sight.of(measured, here, at, pairs), _Sight.of(measured, at, here, pairs)) for i, at in there.items()
    }
    told = {i: np.minimum(*(sight.tells.mean(axis=1) for sight in both)) for i, both in sights.items()}
    best = int(np.argmax(np.sum([*told.values()], axis=0)))
    found = {i for i, share in told.items() if share[best] > 0.0}
    if not found:
        return (), (), found
    own, other = (sight.words(measured, pairs, best) for sight in sights[min(found)])
    return own, other, found


class _Sight(NamedTuple):
    """The quarters in which points are seen from the origin at turns of the whole, (t) rad: (points, t), from 0.

    tells: whether those of a pair cannot be seen at any turn of the other solution, (pairs, t).
    """

    turns: Floats
    quarters: Floats
    tells: Bools

    @classmethod
    def of(cls, measured: Measured, own: Floats, other: Floats, pairs: Ints) -> _Sight:
        turns = turns_seen(measured, own)[::_SPARSE]
        way, away = (np.arctan2(at[:, 1], at[:, 0]) for at in (own, other))
        quarters = np.floor((way[:, None] + turns) / _QUARTER)
        first, second = pairs.T
        # Two points in quarters may be seen apart by the angle between the middles of these, and a right angle less or
        # more.
        off = (away[second] - away[first])[:, None] - _QUARTER * (quarters[second] - quarters[first])
        return cls(turns, quarters, np.abs(np.angle(np.exp(1j * off))) > _QUARTER + math.radians(_TOLD_DEG))

    def words(self, measured: Measured, pairs: Ints, best: int) -> _Words:
        """What is seen of a pair at the least turn at which it tells."""
        (able,) = np.nonzero(self.tells[best])
        least = able[np.argmin(np.abs(np.angle(np.exp(1j * self.turns[able]))))]
        own = ((measured.points[i], _QUARTERS[int(self.quarters[i, least]) % 4]) for i in pairs[best])
        return tuple((name, word) for name, words in own for word in words)


def _telling(
    names: tuple[str, ...],
    pairs: list[_Pair],
    read: Callable[[Floats], Floats],
    enough: float,
    here: Floats,
    there: Floats,
    turn: float = math.inf,
) -> list[tuple[Apart, set[int]]]:
    """What is read between pairs, with the mirrors that it settles, those first that differ most.

    read: by steps from point to point, (..., 2). there: (mirrors, points, 2) mm. turn: what makes no difference.
    """
    found = list[tuple[float, Apart, set[int]]]()
    for i, j in pairs:
        own, other = float(read(here[j] - here[i])), read(there[:, j] - there[:, i])
        off = np.minimum(np.abs(own - other), turn - np.abs(own - other))
        settled = np.flatnonzero(off > enough)
        if len(settled):
            nearest = settled[np.argmin(off[settled])]
            apart = Apart(names[i], names[j], own, float(other[nearest]))
            found.append((-float(off[nearest]), apart, set(settled.tolist())))
    return [(apart, settled) for _, apart, settled in sorted(found, key=lambda each: each[0])]


def _fewest(settles: Iterable[tuple[_T, set[int]]], left: set[int]) -> tuple[list[_T], set[int]]:
    offered, taken = list(settles), list[_T]()
    while left and offered:
        best, settled = max(offered, key=lambda each: len(each[1] & left))
        if not settled & left:
            break
        taken.append(best)
        left = left - settled
    return taken, left


class Undetermined(NamedTuple):
    """A point that is not held. ties: how many more measurements it needs. line: what it lies nearly on a line with.

    to: held points from which no distance to it was measured, where it lies on a line the best first; where there is
    none, only an angle or an offset helps.
    """

    point: str
    ties: int
    to: tuple[str, ...]
    line: tuple[str, ...] = ()


def undetermined_of(measured: Measured, solution: Solution) -> tuple[Undetermined, ...]:
    """Points that nothing holds, with what would. A point that only moves with other such ones is named as well."""
    names, done = np.array(measured.points), _taped(measured)
    held = names[~solution.undetermined].tolist()
    found = []
    for name in names[solution.undetermined].tolist():
        untaped = tuple(other for other in held if frozenset((name, other)) not in done)
        line, off = _line(measured, solution, name, [other for other in held if other not in untaped])
        if line:
            far = [other for other in untaped if other not in measured.marks and off[other] > _OFF_LINE]
            untaped = tuple(sorted(far, key=lambda other: -off[other]))
        found.append(Undetermined(name, _ties(solution, name, {*held}), untaped[:_MOST_ADVICE], line))
    return tuple(found)


def _line(
    measured: Measured, solution: Solution, name: str, taped: Sequence[str]
) -> tuple[tuple[str, ...], Mapping[str, float]]:
    """What one was taped from, where it lies nearly on a line with that; and how far off that line each point lies.

    Off the line: the sine of the angle between it and the way to that point.
    """
    steps = solution.places - solution.places[measured.points.index(name)]
    ways = steps / np.maximum(norm(steps), _PLAIN_MM)[:, None]
    own = ways[[measured.points.index(other) for other in taped]]
    _, _, axes = np.linalg.svd(own.reshape(-1, 2))
    off = dict(zip(measured.points, np.abs(ways @ axes[-1]).tolist(), strict=True))
    return (tuple(taped) if len(taped) > 1 and max(off[other] for other in taped) < _OFF_LINE else ()), off


def _ties(solution: Solution, name: str, held: set[str]) -> int:
    """How many of its two coordinates are not read from points that are held; at least one."""
    network, own = solution.network, 2 * solution.network.names.index(name)
    tied = (each for each in network.rows if len(each.points) > 1 and {*each.points} - held == {name})
    slopes = solution.at.jacobian[[row for each in tied for row in network.rows[each]], own : own + 2]
    return max(1, 2 - int(np.linalg.matrix_rank(slopes.T @ slopes)))


def _taped(measured: Measured) -> set[frozenset[str]]:
    return {frozenset(each.points) for each in measured.distances}
