"""Cures ranked and put together by kind: the best, the smallest, what leaves margin; and the cautions left and made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf

from beltplan.checks.limits import CAUTION_BAND, Finding, demanded, problems_of
from beltplan.checks.plan import Plan
from beltplan.checks.slip import SLIP
from beltplan.cure.changes import Changes, Disturbance, Key, disturbance, key_of
from beltplan.cure.trials import Issue, Most, Trial, issues_in, issues_of

_Worth = tuple[tuple[int, int], int, tuple[bool, int]]
_Rank = tuple[int, int, _Worth, int, Disturbance]


@dataclass(frozen=True, eq=False)
class Remedy:
    """Of cures of the same families and targets the best by `rank_of`; or what comes nearest to a cure, alone.

    smallest: the one that disturbs least, None where that is the best. ample: where the best leaves no margin, the best
    of those that do; else, of those with as few cautions, the farthest from slipping; None where that is the best.
    """

    trial: Trial
    smallest: Trial | None = None
    ample: Trial | None = None

    @property
    def plan(self) -> Plan:
        return self.trial.plan


@dataclass(frozen=True)
class _Cautions:
    """Cautions after a change. left: there before, as problem or caution; made: new.

    edge: those left of what was to be cured: the problems, or the cautions where there was no problem.
    """

    left: tuple[Finding, ...]
    made: tuple[Finding, ...]
    edge: tuple[Finding, ...]


def cautions_of(before: Sequence[Finding], after: Sequence[Finding]) -> _Cautions:
    """The cautions among the findings after a change, by what there was before it."""
    found = [finding for finding in after if finding.severity == "caution"]
    known, wanted = issues_of(before, "problem", "caution"), issues_of(wanted_of(before))
    left = tuple(f for f in found if issues_in(f) & known)
    made = tuple(f for f in found if not issues_in(f) & known)
    return _Cautions(left, made, tuple(f for f in left if issues_in(f) & wanted))


def wanted_of(before: Sequence[Finding]) -> tuple[Finding, ...]:
    """What is to be cured: the problems; where there are none, the cautions."""
    problems, cautions = (tuple(each for each in before if each.severity == s) for s in ("problem", "caution"))
    return problems or cautions


def near_of(trial: Trial) -> frozenset[Issue]:
    """The cautions of a trial that leave no margin.

    A pulley that does not come near slipping in the wet has margin, though it slips by the design friction.
    """
    cautions = issues_of(trial.findings, "caution")
    return frozenset((check, name) for check, name in cautions if check != SLIP.name or not _grips(trial, name))


def leaves_margin(trial: Trial, before: Sequence[Finding]) -> bool:
    """Whether no problem is left, and nothing that was to be cured without margin."""
    return not trial.problems and not near_of(trial) & issues_of(wanted_of(before))


def _grips(trial: Trial, name: str) -> bool:
    bound = demanded(trial.layout, "max_slip_use", (name, trial.layout.pulleys[name].role))
    return trial.wet_utilisation.get(name, inf) <= bound.ample


def gains_grip(trial: Trial, best: Trial, finding: Finding) -> bool:
    """Whether what slips by a finding of the best has margin in the wet after a trial alone, at that same tension."""
    names = [name for check, name in issues_in(finding) if check == SLIP.name]
    if finding.low:
        return all(low_use(trial, finding, name) <= 1.0 / CAUTION_BAND for name in names)
    return all(_grips(trial, name) and not _grips(best, name) for name in names) and bool(names)


def low_use(trial: Trial, finding: Finding, pulley: str) -> float:
    """How much of its grip a pulley uses in the wet at the lowest tension; inf where no finding is told of that."""
    every = trial.plan.slip if finding.check == SLIP.name else ()
    return next((slip.low.utilisation for slip in every if slip.pulley == pulley and slip.low), inf)


def rank_of(trial: Trial, before: Trial) -> _Rank:
    """What cures are ranked by: problems; where there was one, how many changes; what they leave; how much farther off
    its place what is added or moved may come to sit than it stays good; disturbance.
    """
    many = together(trial.changes) if before.problems else 0
    return trial.counts[0], many, worth_of(trial, before), trial.off_mm, disturbance(trial.changes)


def smallness(trial: Trial) -> tuple[int, tuple[int, ...], int, float]:
    """How little a cure disturbs; of like changes first what can be hung as exactly as it must be."""
    many, families, far = disturbance(trial.changes)
    return many, families, trial.off_mm, far


def worth_of(trial: Trial, before: Trial) -> _Worth:
    """What cures leave: problems and cautions; new or worse ones; margin of what was to be cured, and of all."""
    margin = (not leaves_margin(trial, before.findings), len(near_of(trial)))
    return trial.counts, len(trial.issues - before.issues) + len(trial.worse(before)), margin


def almost_of(before: Trial, trials: Sequence[Trial]) -> Trial | None:
    """Where nothing cures what comes nearest: of as many problems those least short, to a hundredth of their limits;
    without a problem fewer cautions, the least of them new or worse. None where nothing comes nearer.
    """
    known = [trial for trial in trials if trial.whole and trial.counts[0] == before.counts[0]]
    if before.problems:
        nearer = [trial for trial in known if _short(trial) < _short(before)]
        return min(nearer, key=lambda trial: (_short(trial), disturbance(trial.changes)), default=None)
    fewer = [trial for trial in known if trial.counts < before.counts]
    return min(fewer, key=lambda trial: (*worth_of(trial, before)[:2], _lost(trial, before)), default=None)


def _short(trial: Trial) -> float:
    """How far its problems are beyond their limits, as shares of these."""
    return round(sum(-max(each.margin, -_NO_NUMBER) for each in problems_of(trial.findings)), 2)


def _lost(trial: Trial, before: Trial) -> tuple[float, Disturbance]:
    """How much worse the cautions are that it makes worse, and how far it goes."""
    lost = sum(was.margin - now.margin for now, was in trial.worse(before).items())
    return round(lost, 2), disturbance(trial.changes)


_NO_NUMBER = 10.0
"""What is asked before all else counts for so many limits."""


def at_slip(trial: Trial) -> dict[str, float]:
    """Pulleys just under slipping in the wet, with the grip that they use: within a tenth, as other limits count."""
    return {name: used for name, used in trial.wet_utilisation.items() if 1.0 / CAUTION_BAND < used < 1.0}


def together(changes: Changes) -> int:
    """How many changes go together, beside a belt that follows from them."""
    return sum(change.family != "belt" for change in changes) or 1


def _does_as_well(trial: Trial, other: Trial) -> bool:
    """Whether a trial leaves no finding that another does not, nor more of them, and no less margin."""
    # Of one that comes to more not all is known.
    least = trial.counts <= other.counts and trial.problems <= other.problems
    return least and trial.issues <= other.issues and near_of(trial) <= near_of(other)


def lean(trial: Trial, judge: Callable[[Changes, Most], Trial | None]) -> Trial:
    """The smallest part of a set of changes that does as well as the whole: none in it can be spared."""
    for count in range(1, len(trial.changes)):
        for part in combinations(trial.changes, count):
            alone = judge(part, trial.counts)
            if alone is not None and len(alone.changes) <= count and _does_as_well(alone, trial):
                return alone
    return trial


def remedies_of(cures: Sequence[Trial], before: Trial) -> tuple[Remedy, ...]:
    """Of each kind of cure the best, the best of all first."""
    groups: dict[Key, list[Trial]] = {}
    for trial in sorted(cures, key=lambda trial: rank_of(trial, before)):
        groups.setdefault(key_of(trial.changes), []).append(trial)
    return tuple(_remedy(group, before) for group in groups.values())


def _remedy(ranked: Sequence[Trial], before: Trial) -> Remedy:
    best, smallest = ranked[0], min(ranked, key=smallness)
    # Where the belt is pulled too much with the best, what pulls it more is no safer.
    least = [trial for trial in ranked if not trial.worse(best)]
    ample = next((trial for trial in least if leaves_margin(trial, before.findings)), None) or _grippiest(least)
    return Remedy(best, None if smallest is best else smallest, None if ample is best else ample)


def _grippiest(ranked: Sequence[Trial]) -> Trial:
    """Of those with as few cautions as the best the one farthest from slipping in the wet where the best is near it."""
    near = [name for check, name in near_of(ranked[0]) if check == SLIP.name]
    alike = [trial for trial in ranked if trial.counts == ranked[0].counts]
    return min(alike, key=lambda trial: sum(trial.wet_utilisation.get(name, inf) for name in near))
