"""Is a reading misread? Which one, by how much, and would a whole inch or ten millimetres explain it?"""

from __future__ import annotations

from dataclasses import dataclass
from operator import itemgetter

import numpy as np

from beltplan.studies.measured_network import Reading, Surveyed
from beltplan.studies.measuring_limits import CHECKED, single_limit, sum_limit
from beltplan.studies.measuring_solutions import Solution, solved

MOST_MISREAD = 3
TRIED = 10
"""Readings, the most suspicious first, that are left out one at a time."""
STARTS = 6
"""Other solutions from which the rest is settled again: a misreading may have made a mirror image look better."""
NO_WORSE = 10.83
"""A reading whose absence leaves a sum larger by more than this is not to blame: chi-squared, 1 in 1000, 1 degree."""
INCH_MM, TEN_MM, TEN_DEG = 25.4, 10.0, 10.0
MOST_STEPS = 12
TOLERATED = 3.0
"""An error explains itself by whole steps where it lies within so many of its deviations of them."""

Trial = tuple[Reading, Solution]


@dataclass(frozen=True, eq=False)
class Misread:
    """A reading that does not fit the others. error: how much it reads too much, with its deviation, in its unit.

    steps: the whole number of `step` (an inch, ten millimetres, ten degrees) that explains it, 0 where none does.
    """

    reading: Reading
    error: float
    deviation: float
    step: float
    steps: int


@dataclass(frozen=True, eq=False)
class Judged:
    """The solution that holds after misreadings are left out.

    misread: left out, since nothing else explains the misfit. suspects: readings of which one is wrong, none of them
    left out, since the others cannot tell which. fits: whether what is left agrees with its deviations.
    """

    solution: Solution
    misread: tuple[Misread, ...] = ()
    suspects: tuple[Misread, ...] = ()
    fits: bool = True


def judged(survey: Surveyed, solutions: tuple[Solution, ...], in_inches: bool) -> Judged:
    """Look for misreadings, one after the other, until the rest fits; where it never does, name those most suspicious.

    solutions: the best first.
    """
    best, blamed, doubted = solutions[0], list[Trial](), list[Trial]()
    while not fits(survey, best):
        trials = _without_one(survey, best, solutions)
        able = _able(survey, trials)
        doubted = doubted or able or trials[:MOST_MISREAD]
        if not trials or len(able) > 1 or len(blamed) == MOST_MISREAD:
            return Judged(solutions[0], (), _told(survey, doubted, in_inches), False)
        blamed.append(trials[0])
        best = trials[0][1]
    last = [(reading, best) for reading, _ in blamed]
    return Judged(best, _told(survey, last, in_inches))


def fits(survey: Surveyed, solution: Solution) -> bool:
    """Whether the misfits are such as chance alone makes: all of them together, and each by itself."""
    if solution.degrees < 1:
        return True
    worst = max((strength for _, strength in _strengths(survey, solution)), default=0.0)
    return solution.cost <= sum_limit(solution.degrees) and worst <= 1.0


def _strengths(survey: Surveyed, solution: Solution) -> list[tuple[Reading, float]]:
    """Readings with how much the sum would fall without each, over what chance would make of it; largest first."""
    found = []
    count = sum(own.rows[0] not in solution.left_out for own in survey.readings)
    for reading in survey.readings:
        if reading.rows[0] not in solution.left_out:
            fall = _fall(solution, list(reading.rows))
            found.append((reading, fall / single_limit(count, len(reading.rows))))
    return sorted(found, key=itemgetter(1), reverse=True)


def _fall(solution: Solution, rows: list[int]) -> float:
    """How much the sum of squares would fall without some rows, to first order; 0 where nothing checks them."""
    misfit, tied = solution.at.misfit[rows], solution.precision.tied[np.ix_(rows, rows)]
    if not np.linalg.eigvalsh(tied)[0] > CHECKED:
        return 0.0
    return float(misfit @ np.linalg.solve(tied, misfit))


def _without_one(survey: Surveyed, best: Solution, solutions: tuple[Solution, ...]) -> list[Trial]:
    """The most suspicious readings, each left out in turn, with the best that is left; the best first."""
    starts = (best, *solutions[:STARTS])
    trials = []
    for reading, strength in _strengths(survey, best)[:TRIED]:
        if strength > 0.0:
            out = (*best.left_out, *reading.rows)
            ends = [solved(survey, start.at.unknowns, out) for start in starts]
            held = [end for end in ends if end.loose.sum() <= best.loose.sum()]
            trials += [(reading, min(held, key=lambda end: end.cost))] if held else []
    return sorted(trials, key=lambda trial: trial[1].cost)


def _able(survey: Surveyed, trials: list[Trial]) -> list[Trial]:
    """Those whose absence alone makes the rest fit, and about as well as that of the best."""
    return [trial for trial in trials if fits(survey, trial[1]) and trial[1].cost <= trials[0][1].cost + NO_WORSE]


def _told(survey: Surveyed, trials: list[Trial], in_inches: bool) -> tuple[Misread, ...]:
    return tuple(_misread(survey, reading, solution, in_inches) for reading, solution in trials)


def _misread(survey: Surveyed, reading: Reading, solution: Solution, in_inches: bool) -> Misread:
    """How far a reading is off, by a solution in which it has no say; of a place on a picture the larger coordinate."""
    misfit, slopes = survey.network.rows(solution.at.unknowns)
    row = max(reading.rows, key=lambda each: abs(misfit[each]))
    spread = 1.0 + float(slopes[row] @ solution.precision.covariance @ slopes[row])
    error, deviation = -reading.deviation * float(misfit[row]), reading.deviation * float(np.sqrt(spread))
    step, steps = _steps(error, deviation, reading, in_inches)
    return Misread(reading, error, deviation, step, steps)


def _steps(error: float, deviation: float, reading: Reading, in_inches: bool) -> tuple[float, int]:
    inches_first = (INCH_MM, TEN_MM) if in_inches else (TEN_MM, INCH_MM)
    for step in {"mm": inches_first, "deg": (TEN_DEG,), "px": ()}[reading.unit]:
        steps = round(error / step)
        near = abs(error - steps * step) <= TOLERATED * deviation
        # Where the deviation is wide, some whole number of steps always lies near: it explains nothing.
        if 0 < abs(steps) <= MOST_STEPS and near and TOLERATED * deviation < 0.5 * step:
            return step, steps
    return 0.0, 0
