"""From what was heard to the causes of this layout, most likely first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from beltplan.checks.plan import Plan
from beltplan.squeal.causes import CAUSES, Cause
from beltplan.squeal.readings import Heard, Reading, Word

RULE = (
    "Most likely first: what fits what was heard, then what a check says something of, then the smallest margin of the "
    "number to its limit, as a share of the limit. A wrap stands behind where the pulley's own slip is known, "
    "and last what is ruled out. Heard at idle, steady slip is read there"
)
_SAME = 9
"""Decimals of a margin by which places are told apart: what rounding makes of equal ones orders nothing."""


@dataclass(frozen=True, eq=False)
class Weighed:
    """A cause at one place: its number, and what of that which was heard it does not fit."""

    cause: Cause
    reading: Reading
    unfit: tuple[str, ...]

    @property
    def near(self) -> bool:
        """Whether its check has anything to say."""
        return bool(self.reading.severity)


@dataclass(frozen=True, eq=False)
class Squealing:
    """The answer: every cause at every place, most likely first, and what is not judged.

    command: the words that name the layout for another command.
    """

    plan: Plan
    heard: Heard
    command: str
    weighed: tuple[Weighed, ...]

    @cached_property
    def telling(self) -> tuple[Weighed, ...]:
        """Those of which a check has something to say, and of every other cause the nearest place."""
        nearest = {each.cause.name: each for each in reversed(self.weighed)}
        return tuple(each for each in self.weighed if each.near or each is nearest[each.cause.name])

    @property
    def likely(self) -> Weighed | None:
        """The first that fits and of which its check has something to say; a wrap is none where slip is known."""
        first = next(iter(self.weighed), None)
        return first if first is not None and first.near and not any(_behind(first)) else None

    @property
    def any_near(self) -> bool:
        """Whether a check has something to say, so that there is something to cure."""
        return any(each.near and each.cause.checks for each in self.weighed)

    @cached_property
    def not_judged(self) -> tuple[tuple[str, tuple[Cause, ...]], ...]:
        """What is missing, and the causes that are not judged, or not everywhere, for want of it."""
        lacking: dict[str, list[Cause]] = {}
        for cause in CAUSES:
            for words in cause.missing(self.plan):
                lacking.setdefault(words, []).append(cause)
        return tuple((words, tuple(causes)) for words, causes in lacking.items())


def squealing_of(plan: Plan, heard: Heard, command: str = "LAYOUT") -> Squealing:
    """Weigh every cause for a plan."""
    return Squealing(plan, heard, command, tuple(sorted(_weighed(plan, heard), key=_rank)))


def _weighed(plan: Plan, heard: Heard) -> Iterator[Weighed]:
    for cause in CAUSES:
        water = [f"water {heard.water}"] if heard.water not in (None, cause.water) else []
        for reading in cause.read(plan, heard):
            unfit = [word for word in heard.when if word not in cause.fits or word in reading.never]
            yield Weighed(cause, reading, (*unfit, *water))


def fits_of(weighed: Weighed) -> tuple[Word, ...]:
    """When a cause can be heard at this place."""
    return tuple(word for word in weighed.cause.fits if word not in weighed.reading.never)


def _behind(weighed: Weighed) -> tuple[bool, bool, bool]:
    """What puts a cause behind others: it is ruled out, is not heard so here, or its pulley's slip says more."""
    reading = weighed.reading
    return reading.margin == math.inf, bool(weighed.unfit) or not fits_of(weighed), reading.rests_on_slip


def _rank(weighed: Weighed) -> tuple[tuple[bool, bool, bool], bool, float, int, str]:
    reading = weighed.reading
    order = round(reading.margin, _SAME), CAUSES.index(weighed.cause), reading.where
    return _behind(weighed), not weighed.near, *order
