"""Is a reading misread? Which one, by how much, and in which way?"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from beltplan.geometry.vectors import Floats
from beltplan.measure.least_squares import Progress, part_of, unseen
from beltplan.measure.misreadings import Misreading, misreading_in, steps_in
from beltplan.measure.network import Network
from beltplan.measure.readings import Measured, Reading
from beltplan.measure.solutions import (
    CHECKED,
    Solution,
    is_as_seen,
    laid_layouts,
    points_above,
    rank_of,
    single_limit,
    solved,
    sum_limit,
)

_MOST_GROSS_ERRORS = 3
_TRIED, _MOST_TRIED = 8, 24
"""Sets of readings, the most suspicious first, that are really left out: fewest and most."""
_ROUGH = 0.1
"""Share of a fall of the sum by which its first order may be wrong."""
_BEAM, _COMPARED = 40, 2
"""Sets that are enlarged by one more reading, and solutions by which sets are compared."""
_STARTS, _LAID = 5, 6
"""Solutions and bare layouts to settle the rest from again: a misreading may make a mirror solution look better."""
NO_WORSE = 10.83
"""A reading whose absence leaves a sum larger by more than this is not to blame: chi-squared, 1 in 1000, 1 degree."""


_Trial = tuple[tuple[Reading, ...], Solution]
"""Readings that are left out, and the best that is left."""


@dataclass(frozen=True, eq=False)
class GrossError:
    """A reading that does not fit the others. error: how much it reads too much, with its standard deviation, its unit.

    steps: the whole number of `step` (an inch, ten millimetres, ten degrees) that explains it, 0 where none does or
    what was written then is no reading of such a tape. misreading: what explains it as well or better.
    """

    reading: Reading
    error: float
    sd: float
    step: float
    steps: int
    misreading: Misreading | None

    @property
    def would_fit(self) -> float | None:
        """What would have been read without it, or without the steps; None where neither explains anything."""
        if self.misreading is not None:
            return self.misreading.fits
        return None if self.reading.value is None or not self.steps else self.reading.value - self.steps * self.step


@dataclass(frozen=True, eq=False)
class GrossErrorsFound:
    """The solution that holds after gross errors are left out.

    gross_errors: left out, since nothing else explains the residuals. suspects: readings of which one is wrong (or
    two, where no single one explains it), none of them left out, since the others cannot tell which. fits: whether
    what is left agrees with its standard deviations.
    """

    solution: Solution
    gross_errors: tuple[GrossError, ...] = ()
    suspects: tuple[GrossError, ...] = ()
    fits: bool = True


def gross_errors_in(
    measured: Measured, network: Network, solutions: tuple[Solution, ...], progress: Progress = unseen
) -> GrossErrorsFound:
    """Look for one misreading that explains all, then for two, then for three; name what no other explains as well.

    solutions: the best first. Those that lie as they are seen are judged, where there are such; if no misreading saves
    them and another fits, it is taken: then it is the sides that are wrong.
    """
    seen = tuple(each for each in solutions if is_as_seen(measured, each.places)) or solutions
    if fits(seen[0]):
        return GrossErrorsFound(seen[0])
    starts, first = _starts(measured, network, seen), list[_Trial]()
    for many in range(1, _MOST_GROSS_ERRORS + 1):
        own = part_of(progress, (many - 1) / _MOST_GROSS_ERRORS, many / _MOST_GROSS_ERRORS)
        trials = _without(measured, network, seen, starts, many, own)
        able = trials if trials and fits(trials[0][1]) else []
        able = [trial for trial in able if trial[1].cost <= trials[0][1].cost + NO_WORSE]
        if len(able) == 1 and able[0][1].degrees < 1:
            # Nothing is left that could disagree: that the rest fits is no evidence against what was left out.
            able = trials[:_MOST_GROSS_ERRORS]
        elif len(able) == 1 and not _blames_an_image(able[0][0]):
            return GrossErrorsFound(able[0][1], _told(network, able, measured))
        if able:
            return GrossErrorsFound(seen[0], (), _told(network, able, measured), False)
        elsewhere = next((each for each in solutions if fits(each)), None)
        if elsewhere is not None:
            return GrossErrorsFound(elsewhere)
        first = first or trials
    return GrossErrorsFound(seen[0], (), _told(network, first[:_MOST_GROSS_ERRORS], measured), False)


def _blames_an_image(readings: tuple[Reading, ...]) -> bool:
    """Whether several places of one image would be misread at once: rather the image itself is wrong."""
    images = Counter(each.image for each in readings if each.image is not None)
    return max(images.values(), default=0) > 1


def fits(solution: Solution) -> bool:
    """Whether the residuals are such as chance alone makes: all of them together, and each reading by itself."""
    if solution.degrees < 1 or solution.cost > sum_limit(solution.degrees):
        return solution.degrees < 1
    rows = (list(solution.network.rows[each]) for each in solution.network.readings)
    heard = [own for own in rows if own[0] not in solution.left_out]
    return all(_fall(solution, own) <= single_limit(len(heard), len(own)) for own in heard)


def _fall(solution: Solution, rows: list[int]) -> float:
    """How much the sum of squares would fall without some rows, to first order; 0 where nothing checks them."""
    residuals, tied = solution.at.residuals[rows], solution.precision.tied[np.ix_(rows, rows)]
    if not np.linalg.eigvalsh(tied)[0] > CHECKED:
        return 0.0
    return float(residuals @ np.linalg.solve(tied, residuals))


def _without(
    measured: Measured,
    network: Network,
    seen: tuple[Solution, ...],
    starts: list[Floats],
    many: int,
    progress: Progress,
) -> list[_Trial]:
    """The most suspicious sets of so many readings, each left out in turn, with the best that is left; best first."""
    free, trials, sets = is_as_seen(measured, seen[0].places), list[_Trial](), _suspicious(network, seen, many)
    held = ~seen[0].undetermined
    outs = [tuple(row for each in readings for row in network.rows[each]) for readings in sets]
    ends = solved(network, starts * len(sets), [out for out in outs for _ in starts], progress)
    for i, readings in enumerate(sets):
        own = ends[i * len(starts) : (i + 1) * len(starts)]
        fair = [end for end in own if end.can_be and is_as_seen(measured, end.places) >= free]
        if fair:
            trials.append((readings, min(fair, key=lambda end: rank_of(measured, end, held))))
    place = network.readings.index
    return sorted(trials, key=lambda trial: (round(trial[1].cost, 6), [place(each) for each in trial[0]]))


def _starts(measured: Measured, network: Network, seen: tuple[Solution, ...]) -> list[Floats]:
    """Unknowns to settle from without a reading: the first solutions, and layouts that it could not draw after it.

    Of those that cost the same one is the mirror solution of the other, and so its ends: the one with more above stays.
    """
    origin, held = network.origin, ~seen[0].undetermined
    laid = [places - places[origin] for places in laid_layouts(network)]
    laid = [places for places in laid if is_as_seen(measured, seen[0].places) <= is_as_seen(measured, places)][:_LAID]
    laid = sorted(laid, key=lambda places: -points_above(places[held]))
    first: dict[float, Floats] = {}
    with np.errstate(all="ignore"):  # a layout may lie where a photo sees its horizon
        for unknowns in (*(each.at.unknowns for each in seen[:_STARTS]), *map(network.unknowns_at, laid)):
            residuals, _ = network.equations(unknowns)
            first.setdefault(round(float(residuals @ residuals), 3), unknowns)
    return list(first.values())


def _suspicious(network: Network, seen: tuple[Solution, ...], many: int) -> list[tuple[Reading, ...]]:
    """Sets of readings without which least would be left, to first order; all that come near the first of them."""
    sets: list[tuple[float, tuple[int, ...]]] = [(seen[0].cost, ())]
    for _ in range(many):
        grown = {
            tuple(sorted({*own, i})) for _, own in sets[:_BEAM] for i in range(len(network.readings)) if i not in own
        }
        sets = sorted((_left(network, seen, own), own) for own in grown)
    near = sets[0][0] + 2.0 * NO_WORSE + _ROUGH * (seen[0].cost - sets[0][0]) if sets else 0.0
    kept = [own for i, (left, own) in enumerate(sets[:_MOST_TRIED]) if i < _TRIED or left <= near]
    return [tuple(network.readings[i] for i in own) for own in kept]


def _left(network: Network, seen: tuple[Solution, ...], own: tuple[int, ...]) -> float:
    rows = [row for i in own for row in network.rows[network.readings[i]]]
    return min(each.cost - _fall(each, rows) for each in seen[:_COMPARED])


def _told(network: Network, trials: list[_Trial], measured: Measured) -> tuple[GrossError, ...]:
    """Each reading once, by the best trial without it; those that more trials blame come first."""
    blamed = Counter(reading for readings, _ in trials for reading in readings)
    best = {reading: solution for readings, solution in reversed(trials) for reading in readings}
    first = {reading: i for i, (readings, _) in reversed(list(enumerate(trials))) for reading in readings}
    order = sorted(best, key=lambda reading: (-blamed[reading], first[reading]))
    return tuple(_gross_error(network, reading, best[reading], measured) for reading in order)


def _gross_error(network: Network, reading: Reading, solution: Solution, measured: Measured) -> GrossError:
    """How far a reading is off, by a solution in which it has no say; of a place on an image the larger coordinate."""
    residuals, jacobian = network.equations(solution.at.unknowns)
    row = max(network.rows[reading], key=lambda each: abs(residuals[each]))
    spread = 1.0 + float(jacobian[row] @ solution.precision.covariance @ jacobian[row])
    error, sd = -reading.sd * float(residuals[row]), reading.sd * float(np.sqrt(spread))
    step, steps = steps_in(error, sd, reading, measured.in_inches)
    off = abs(error - steps * step) if steps else np.inf
    return GrossError(reading, error, sd, step, steps, misreading_in(measured, reading, error, sd, off))
