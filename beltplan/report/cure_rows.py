"""What is told of a layout before and after a cure: the same rows in text, picture and JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from beltplan.checks.finding import Finding
from beltplan.checks.slip import CHECK as SLIP
from beltplan.checks.wrap import least_wrap
from beltplan.report.compare_rows import SLACK, UNKNOWN, smallest_reserve_mm
from beltplan.report.words import verdict_of
from beltplan.studies.compare import Judged
from beltplan.studies.cure import Cures
from beltplan.studies.cure_change import words_of
from beltplan.studies.cure_kinds import cautions_of
from beltplan.studies.cure_trial import Trial


@dataclass(frozen=True)
class ConcernedWrap:
    """The wrap of a pulley that is to be cured; None where it has no least, or is not on the belt."""

    pulley: str
    wrap_deg: float | None
    least_deg: float | None


def concerned(cures: Cures) -> tuple[str, ...]:
    """Pulleys on the belt that the findings to be cured are about."""
    names = {part for finding in cures.wanted for part in (finding.subject, *finding.parts)}
    return tuple(name for name in cures.layout.route if name in names)


def wrap_of(judged: Judged, name: str) -> ConcernedWrap:
    """The wrap of a pulley of that name."""
    for pulley, wrap in zip(judged.route.pulleys, judged.route.loop.wrap, strict=True):
        if pulley.name == name:
            bound = least_wrap(judged.route.layout, pulley)
            return ConcernedWrap(name, float(np.degrees(wrap)), None if bound is None else bound.limit)
    return ConcernedWrap(name, None, None)


def cure_rows(cures: Cures, after: Judged) -> tuple[tuple[str, str, str], ...]:
    """Rows of label, before and after."""
    both = (cures.before, after)
    rows = [
        ("problems", *(str(judged.count("problem")) for judged in both)),
        ("cautions", str(cures.before.count("caution")), _cautions_after(cures, after)),
    ]
    rows += [_wrap_row(name, both) for name in concerned(cures)]
    rows += [
        ("worst slip use, wet", *(_slip(judged) for judged in both)),
        ("belt", *(judged.route.designation or UNKNOWN for judged in both)),
        ("smallest reserve, mm", *(_number(smallest_reserve_mm(judged), 1) for judged in both)),
    ]
    return tuple((label, first, second) for label, first, second in rows)


def _cautions_after(cures: Cures, after: Judged) -> str:
    made = len(cautions_of(cures.before.findings, after.findings).made)
    return f"{after.count('caution')}{f', {made} new' if made else ''}"


def _wrap_row(name: str, both: tuple[Judged, Judged]) -> tuple[str, str, str]:
    first, second = (wrap_of(judged, name) for judged in both)
    wanted = "" if first.least_deg is None else f", {first.least_deg:g} wanted"
    return f"wrap of {name}, deg{wanted}", _number(first.wrap_deg, 1), _number(second.wrap_deg, 1)


def _slip(judged: Judged) -> str:
    if judged.wet is None:
        return UNKNOWN
    return f"{_number(judged.wet.use, 2)} {judged.wet.pulley}"


def _number(value: float | None, digits: int) -> str:
    if value is None:
        return UNKNOWN
    return f"{round(value, digits) + 0.0:.{digits}f}" if math.isfinite(value) else SLACK


def answer_of(cures: Cures) -> str:
    """The answer in a sentence."""
    if cures.clean:
        return f"nothing to cure: it {verdict_of(cures.before.findings)}"
    if cures.healthy:
        return f"no problem to cure; {_taken_away(cures)}"
    if cures.best is not None:
        return f"cured by {_how(cures.best.trial)}, with {left_words(cures, cures.best.trial)}"
    left = "every change tried leaves at least as many problems"
    if cures.nearest is not None:
        left = f"the nearest leaves {cures.nearest.judged.count('problem')} of {cures.before.count('problem')} problems"
    return f"no small change that was tried cures it, alone or in pairs; {left}"


def _how(trial: Trial) -> str:
    return {1: "one change", 2: "two changes"}.get(len(trial.changes), f"{len(trial.changes)} changes")


def _taken_away(cures: Cures) -> str:
    """What the best change does to cautions, where there is no problem."""
    count = cures.before.count("caution")
    if cures.best is None:
        return f"no small change that was tried, alone or in pairs, leaves fewer than {_cautions(count)}"
    cautions = cures.cautions(cures.best.trial)
    gone = count - len(cautions.left)
    taken = (
        f"{gone} of {_cautions(count)}" if cautions.left else "its caution" if count == 1 else f"all {count} cautions"
    )
    made = f" and makes {len(cautions.made)}" if cautions.made else ""
    return f"{_how(cures.best.trial)} takes away {taken}{made}"


def left_words(cures: Cures, trial: Trial) -> str:
    """The cautions that a cure leaves and makes, and which of them are left of a problem, in one breath."""
    cautions = cures.cautions(trial)
    counted = [
        f"{_cautions(len(some))} {deed}" for some, deed in ((cautions.left, "left"), (cautions.made, "made")) if some
    ]
    edge = () if cures.healthy else dict.fromkeys(_named(finding, trial) for finding in cautions.edge)
    still = f"; still a caution: {', '.join(edge)}" if edge else ""
    return (" and ".join(counted) or "no caution left") + still


def _cautions(count: int) -> str:
    return f"{count} caution{'' if count == 1 else 's'}"


def _named(finding: Finding, trial: Trial) -> str:
    """A finding in a few words; of slip, how near it comes in the wet."""
    words = f"{finding.check.replace('_', ' ')} of {finding.subject}"
    return f"{words} ({_number(trial.wet_use.get(finding.subject), 2)} wet)" if finding.check == SLIP else words


def cure_words(cures: Cures, trial: Trial) -> str:
    """Another cure in a sentence: what is to be done, the belt where it changes, and the cautions."""
    belt = "" if trial.belt in (None, cures.before.route.designation) else f", with a {trial.belt}"
    return f"{words_of(trial.changes)}{belt}: {left_words(cures, trial)}"


def margin_words(cures: Cures) -> str | None:
    """Which of the same kind as the best leaves margin; None where the best does, or where there is no cure."""
    if cures.best is None or cures.best.kind is None or cures.best.kind.margin:
        return None
    ample = cures.best.kind.ample
    if ample is None:
        return "none of the same kind leaves more"
    most = "" if cures.leaves_margin(ample) else f"{ample_words(cures, ample)}: "
    return f"{most}{cure_words(cures, ample)}"


def ample_words(cures: Cures, ample: Trial) -> str:
    """Whether the one of its kind that goes farthest leaves margin."""
    return "with margin" if cures.leaves_margin(ample) else "the most of this kind, not enough"


def as_well_words(cures: Cures) -> tuple[str, ...]:
    """What goes with the best cure to take away a caution of it, or to leave margin."""
    done = () if cures.best is None else cures.best.changes
    return tuple(
        f"against {_named(finding, trial)}: {words_of([change for change in trial.changes if change not in done])}: "
        f"{left_words(cures, trial)}"
        for finding, trial in cures.as_well
    )
