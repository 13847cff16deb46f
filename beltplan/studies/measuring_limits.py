"""How large a misfit chance alone would make: what lies beyond it is a misreading, or a wrong deviation."""

from __future__ import annotations

import math
from statistics import NormalDist

FALSE_ALARM = 0.01
"""Chance that a set of measurements with nothing wrong in it is found suspicious, of each of the two tests."""
POWER = 0.80
"""Chance with which an error that 'would show' does show."""
CHECKED = 0.02
"""A reading of less redundancy than this is checked by nothing worth the name."""
SOURCE = "common practice, no source"


def sum_limit(degrees: int, chance: float = FALSE_ALARM) -> float:
    """The sum of squared misfits that chance exceeds so rarely; inf without a degree of freedom.

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
    """What the squared misfit of any one reading exceeds so rarely, of so many that are looked at.

    degrees: rows of the reading. Source: the chance is shared out among the readings (Bonferroni).
    """
    return sum_limit(degrees, FALSE_ALARM / max(readings, 1))


def shows_at(readings: int, deviation: float, redundancy: float) -> float | None:
    """The smallest error of a reading that shows with a chance of POWER; None where none ever does.

    deviation: of the reading; the answer is in its unit. redundancy: share of the error that shows in its own misfit.
    Source: internal reliability, Baarda 1968 (from memory).
    """
    if not redundancy > CHECKED:
        return None
    size = math.sqrt(single_limit(readings)) + NormalDist().inv_cdf(POWER)
    return size * deviation / math.sqrt(redundancy)
