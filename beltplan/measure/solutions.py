"""Every way in which points can lie for what was measured, mirror solutions among them, and how far chance reaches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

import numpy as np

from beltplan.geometry.loops import overlap
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.least_squares import Settled
from beltplan.measure.network import Network, Precision, precision_of, settled, thin_at
from beltplan.measure.readings import Measured, Reading
from beltplan.measure.starts import laid_layouts
from beltplan.progress import Progress, unseen

_TURNS = 720
"""Turns of the whole that are tried where nothing says what is level: half a degree apart."""
_TOWARD: dict[SeenSide, float] = {"right": 0.0, "above": 0.25 * TURN, "left": 0.5 * TURN, "below": 0.75 * TURN}
_RING_MM = 200.0
_DEEP = 3.0
"""Rims overlap where they do by more than so many standard deviations of a tape."""
_SAME_MM = 0.05
"""Settled places nearer than this are the same."""
FALSE_ALARM = 0.01
"""Chance that a set of measurements with nothing wrong in it is found suspicious, of each of the two tests."""
SUSPECTED = 0.03
"""The same for a reading that is asked for again, and not left out: our own choice, 3 sigmas among eleven readings."""
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
    turns = turns_seen(measured, places)
    if len(turns) in (0, _TURNS):
        return 0.0 if len(turns) else None
    # Every word holds over half a turn, so that all of them hold over one range.
    return float(np.angle(np.sum(np.exp(1j * turns))))


def turns_seen(measured: Measured, places: Floats) -> Floats:
    """Turns of the whole, rad, at which points lie where they are seen, (t); 0 alone where it may not be turned."""
    return np.flatnonzero(np.all(_seen(measured, places)[1], axis=0)) * TURN / _TURNS


def _seen(measured: Measured, places: Floats) -> tuple[list[tuple[str, SeenSide]], Bools]:
    """The words of `sides`, by point, and which of them hold at every turn of the whole that may be, (words, t)."""
    turns = TURN * np.arange(_TURNS if measured.frame_is_open else 1) / _TURNS
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
        """Whether it was reached, no rim is less than nothing, and its photos can have been taken from the front."""
        unknowns, network = self.at.unknowns, self.network
        reached = math.isfinite(self.cost) and bool(np.all(unknowns[network.radii] > 0.0))
        return reached and all(image.faces(unknowns) for image in network.images)

    @property
    def cost(self) -> float:
        return float(np.sum(np.delete(self.at.residuals, list(self.left_out)) ** 2))

    @property
    def degrees(self) -> int:
        """Readings more than are needed: degrees of freedom."""
        return round(float(np.sum(self.precision.redundancy))) - len(self.left_out)

    def share(self, reading: Reading) -> float | None:
        """How far off a reading is, in standard deviations of what chance makes of it; None where nothing checks it."""
        rows = list(self.network.rows[reading])
        redundancy = self.precision.redundancy[rows]
        if rows[0] in self.left_out or not np.min(redundancy) > CHECKED:
            return None
        return float(np.max(np.abs(self.at.residuals[rows]) / np.sqrt(redundancy)))

    @property
    def enlarged(self) -> float:
        """How many times larger standard deviations are by the residuals than by the accuracies, at least once."""
        return max(1.0, math.sqrt(self.cost / self.degrees)) if self.degrees > 0 else 1.0

    @property
    def rare(self) -> float:
        """The share of a reading, in standard deviations, over which it is a suspect, of as many as there are."""
        return math.sqrt(single_limit(len(self.at.residuals), chance=SUSPECTED))

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


def single_limit(readings: int, degrees: int = 1, chance: float = FALSE_ALARM) -> float:
    """What the squared residual of any one reading exceeds so rarely, of so many that are looked at.

    degrees: rows of the reading. Source: the chance is shared out among the readings (Bonferroni).
    """
    return sum_limit(degrees, chance / max(readings, 1))


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
