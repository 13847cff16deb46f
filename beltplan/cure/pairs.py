"""Pairs of changes: which go together, screened in batches, and which of them are worth judging."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from beltplan.cure.changes import FAMILIES, Changes, Family, Key, applied, disturbance, key_of
from beltplan.cure.screen import NEARLY, Screen
from beltplan.cure.trials import Trial
from beltplan.drive.layout import Layout
from beltplan.drive.travel import Circuit, circuit_of, stacked
from beltplan.geometry.vectors import Floats

PARTNERS: dict[Family, int] = {"belt": 2, "rib": 1, "order": 4, "shim": 1, "spring": 4, "one_way": 2}
PARTNERS |= {"diameter": 10, "move": 10, "idler": 14}
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
    # An added idler comes last: the order is made of the pulleys that there were.
    couples = combinations(_partners(singles, bool(before.problems)), 2)
    unlike = [(one, other) for one, other in couples if key_of(one.changes) != key_of(other.changes)]
    together = sorted(unlike, key=lambda couple: (_left(couple), disturbance(_both(couple))))
    looked_at = together[: min(_MOST_SCREENED, 6 * most)]
    changes = [*map(_both, looked_at)]
    short = _shortfalls([applied(each, before.layout) for each in changes], screen, done)
    laid = np.flatnonzero(np.isfinite(short)).tolist()
    ranked = sorted(laid, key=lambda i: (_left(looked_at[i]), max(short[i], NEARLY)))
    return tuple(changes[i] for i in ranked[:most]), len(looked_at)


def companions_of(best: Trial, singles: Sequence[Trial], most: int) -> tuple[Changes, ...]:
    """Changes with one more beside it, that may take away what it leaves; the most promising first."""
    kept = kept_of(best)
    ranked = sorted(singles, key=lambda trial: (len(trial.issues & best.issues), disturbance(trial.changes)))
    own = set(key_of(best.changes))
    others = [each for each in ranked if len(each.changes) == 1 and own.isdisjoint(key_of(each.changes))]
    return tuple((*kept, *trial.changes) for trial in _few_of_each(others, every="spring")[:most])


def kept_of(best: Trial) -> Changes:
    """The changes beside which another is tried: a belt that followed from them follows anew."""
    return tuple(change for change in best.changes if change.family != "belt") or best.changes


def _partners(singles: Sequence[Trial], problems: bool) -> list[Trial]:
    alone = {key_of(trial.changes) for trial in singles if not (trial.problems if problems else trial.issues)}
    left = [trial for trial in singles if len(trial.changes) == 1 and key_of(trial.changes) not in alone]
    few = _few_of_each(sorted(left, key=lambda trial: trial.nearness))
    families = ([trial for trial in few if trial.changes[0].family == family] for family in FAMILIES)
    return [trial for family, own in zip(FAMILIES, families, strict=True) for trial in own[: PARTNERS[family]]]


def _few_of_each(ranked: Sequence[Trial], every: Family | None = None) -> list[Trial]:
    """The first of each family and target. every: a family of which none is left out."""
    taken: Counter[Key] = Counter()
    found = []
    for trial in ranked:
        taken[key_of(trial.changes)] += 1
        if taken[key_of(trial.changes)] <= A_TARGET or trial.changes[0].family == every:
            found.append(trial)
    return found


def _both(couple: tuple[Trial, Trial]) -> Changes:
    return (*couple[0].changes, *couple[1].changes)


def _left(couple: tuple[Trial, Trial]) -> tuple[int, int]:
    """How many problems neither of the two solves, and how many problems and cautions."""
    one, other = couple
    return len(one.problems & other.problems), len(one.issues & other.issues)


def _shortfalls(layouts: Sequence[Layout], screen: Screen, done: Callable[[], None]) -> Floats:
    """How far each falls short, the nearer way round, the adjuster at its design setting; (N)."""
    short = np.full(len(layouts), np.inf)
    groups: defaultdict[tuple[tuple[str, str], ...], list[tuple[int, Circuit]]] = defaultdict(list)
    for i, layout in enumerate(layouts):
        for circuit in (circuit_of(layout, way) for way in (False, True)):
            groups[tuple((pulley.name, pulley.belt_side) for pulley in circuit.pulleys)].append((i, circuit))
    for members in groups.values():
        index = np.array([i for i, _ in members])
        path = stacked([replace(circuit, moving=None, track=None) for _, circuit in members])
        np.minimum.at(short, index, screen.shortfall(path).short)
        done()
    return short
