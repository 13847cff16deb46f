"""Pairs of changes: which go together, screened in batches, and which of them are worth judging."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from beltplan.cure.changes import FAMILIES, Changes, Disturbance, Family, applied, disturbance, key_of
from beltplan.cure.screen import NEARLY, Screen
from beltplan.cure.trials import Trial
from beltplan.drive.layout import Layout
from beltplan.drive.travel import Circuit, circuit_of, stacked
from beltplan.geometry.vectors import Floats

PARTNERS = {"belt": 2, "rib": 1, "order": 4, "spring": 4, "diameter": 10, "move": 10, "idler": 14}
"""How many trials of a family are paired with others: the best."""
A_TARGET = 3
"""Of them, with the same target."""
_MOST_SCREENED = 600


def pairs_of(
    singles: Sequence[Trial], before: Trial, screen: Screen, most: int, done: Callable[[], None] = lambda: None
) -> tuple[tuple[Changes, ...], int]:
    """The pairs that are worth judging, the most promising first; and how many were looked at.

    What takes every problem away alone, by its family and target, is in no pair; where there are only cautions, what
    takes them all. A pair is promising where each change solves what the other leaves. done: called after each step.
    """
    layout, partners = before.layout, _partners(singles, bool(before.problems))
    together = sorted(_couples(partners), key=lambda couple: (_left(couple), _disturbed(couple)))
    looked_at = together[: min(_MOST_SCREENED, 6 * most)]
    changes = [(*first.changes, *second.changes) for first, second in looked_at]
    short = _shortfalls([applied(each, layout) for each in changes], screen, done)
    ranked = sorted(
        (i for i in range(len(changes)) if np.isfinite(short[i])),
        key=lambda i: (_left(looked_at[i]), short[i] > NEARLY, 0.0 if short[i] <= NEARLY else short[i], i),
    )
    return tuple(changes[i] for i in ranked[:most]), len(looked_at)


def companions_of(best: Trial, singles: Sequence[Trial], most: int) -> tuple[Changes, ...]:
    """Changes with one more beside it, that may take away what it leaves; the most promising first."""
    own = {(change.family, change.target) for change in best.changes}
    kept = tuple(change for change in best.changes if change.family != "belt") or best.changes
    taken: Counter[tuple[Family, str]] = Counter()
    found: list[Changes] = []
    for trial in sorted(singles, key=lambda trial: (len(trial.issues & best.issues), disturbance(trial.changes))):
        key = (trial.changes[0].family, trial.changes[0].target)
        if len(trial.changes) == 1 and key not in own and (taken[key] < A_TARGET or key[0] == "spring"):
            taken[key] += 1
            found.append((*kept, *trial.changes))
    return tuple(found[:most])


def _partners(singles: Sequence[Trial], problems: bool) -> list[Trial]:
    found: list[Trial] = []
    alone = {key_of(trial.changes) for trial in singles if not (trial.problems if problems else trial.issues)}
    left = [trial for trial in singles if len(trial.changes) == 1 and key_of(trial.changes) not in alone]
    for family in FAMILIES:
        own = [trial for trial in left if trial.changes[0].family == family]
        taken: Counter[str] = Counter()
        for trial in sorted(own, key=lambda trial: trial.nearness):
            target = trial.changes[0].target
            if taken[target] < A_TARGET and sum(taken.values()) < PARTNERS[family]:
                taken[target] += 1
                found.append(trial)
    return found


def _couples(partners: Sequence[Trial]) -> Iterator[tuple[Trial, Trial]]:
    for first, second in combinations(partners, 2):
        one, other = first.changes[0], second.changes[0]
        if (one.family, one.target) != (other.family, other.target):
            # An added idler comes last: the order is made of the pulleys that there were.
            yield (first, second)


def _left(couple: tuple[Trial, Trial]) -> tuple[int, int]:
    """How many problems neither of the two solves, and how many problems and cautions."""
    one, other = couple
    return len(one.problems & other.problems), len(one.issues & other.issues)


def _disturbed(couple: tuple[Trial, Trial]) -> Disturbance:
    return disturbance((*couple[0].changes, *couple[1].changes))


def _shortfalls(layouts: Sequence[Layout], screen: Screen, done: Callable[[], None]) -> Floats:
    """How far each falls short, the nearer way round, the adjuster at its design setting; (N)."""
    short = np.full(len(layouts), np.inf)
    ways = (False, True)
    groups: defaultdict[tuple[tuple[str, str], ...], list[tuple[int, Circuit]]] = defaultdict(list)
    for i, layout in enumerate(layouts):
        for circuit in (circuit_of(layout, way) for way in ways):
            groups[tuple((pulley.name, pulley.belt_side) for pulley in circuit.pulleys)].append((i, circuit))
    for members in groups.values():
        index = np.array([i for i, _ in members])
        path = stacked([replace(circuit, moving=None, track=None) for _, circuit in members])
        own = screen.shortfall(path)
        np.minimum.at(short, index, own.short)
        done()
    return short
