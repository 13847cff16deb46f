"""Limits held against whole arrays of values, and what they come to at every place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.checks.limits import Bound
from beltplan.geometry.vectors import Bools, Floats


@dataclass(frozen=True)
class Threshold:
    """A `Bound` for arrays: a problem beyond `problem` (None: never), a caution beyond `caution`; margin from `limit`.

    reached: whether a value that just reaches one of these is beyond it.
    Two of them with the same numbers are equal, so that values may be put together before they are judged.
    """

    lower: bool
    limit: float
    problem: float | None
    caution: float
    reached: bool = False

    def beyond(self, values: Floats, at: float) -> Bools:
        """Which values lie on the bad side of a number."""
        beyond = values < at if self.lower else values > at
        return np.asarray(beyond | (values == at) if self.reached else beyond)

    def margin(self, values: Floats) -> Floats:
        """Distance from the limit on the good side, as a share of it; the limit must not be 0."""
        distance = values - self.limit if self.lower else self.limit - values
        return np.asarray(distance / abs(self.limit))


def threshold_of(bound: Bound) -> Threshold:
    """The numbers at which a bound changes its verdict."""
    problem = None if bound.only_caution else bound.limit
    return Threshold(bound.kind == "lower", bound.limit, problem, bound.ample, bound.reached)


class Tally:
    """What every place comes to, judged value by value: problem and caution, and the smallest margin with its name.

    worst: number of the name in `names`, -1 where nothing has a margin. own_margin: the smallest of what is not the
    same at every place.
    """

    def __init__(self, count: int, names: tuple[str, ...]) -> None:
        self.names = names
        self.problem = np.zeros(count, dtype=bool)
        self.caution = np.zeros(count, dtype=bool)
        self.margin = np.full(count, np.inf)
        self.own_margin = np.full(count, np.inf)
        self.worst = np.full(count, -1, dtype=np.int16)

    def judge(self, values: Floats, threshold: Threshold, name: str = "") -> None:
        """Hold values, (N) or a single one for all, against a limit; only what has a name counts for the margin."""
        if threshold.problem is not None:
            self.problem |= threshold.beyond(values, threshold.problem)
        self.caution |= threshold.beyond(values, threshold.caution)
        if name and threshold.limit:
            margin = np.broadcast_to(threshold.margin(values), self.margin.shape)
            self.worst[margin < self.margin] = self.names.index(name)
            np.minimum(self.margin, margin, out=self.margin)
            if np.size(values) > 1:
                np.minimum(self.own_margin, margin, out=self.own_margin)
