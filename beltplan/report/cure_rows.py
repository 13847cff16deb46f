"""What is told of a layout before and after a cure: the same rows in text, picture and JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from beltplan.checks.wrap import least_wrap
from beltplan.report.compare_rows import SLACK, UNKNOWN, smallest_reserve_mm
from beltplan.report.words import verdict_of
from beltplan.studies.compare import Judged
from beltplan.studies.cure import Cures


@dataclass(frozen=True)
class ConcernedWrap:
    """The wrap of a pulley that a problem is about; None where it has no least, or is not on the belt."""

    pulley: str
    wrap_deg: float | None
    least_deg: float | None


def concerned(cures: Cures) -> tuple[str, ...]:
    """Pulleys on the belt that the problems to be cured are about."""
    names = {part for f in cures.before.findings if f.severity == "problem" for part in (f.subject, *f.parts)}
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
        ("cautions", *(str(judged.count("caution")) for judged in both)),
    ]
    rows += [_wrap_row(name, both) for name in concerned(cures)]
    rows += [
        ("worst slip use, wet", *(_slip(judged) for judged in both)),
        ("belt", *(judged.route.designation or UNKNOWN for judged in both)),
        ("smallest reserve, mm", *(_number(smallest_reserve_mm(judged), 1) for judged in both)),
    ]
    return tuple((label, first, second) for label, first, second in rows)


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
    if cures.healthy:
        return f"nothing to cure: it {verdict_of(cures.before.findings)}"
    if cures.best is not None:
        how = {1: "one change", 2: "two changes"}.get(len(cures.best.changes), f"{len(cures.best.changes)} changes")
        count = cures.before.count("problem")
        gone = {1: "the problem is", 2: "both problems are"}.get(count, f"all {count} problems are") + " gone"
        return f"it can be cured by {how}: {gone} and no new one appears"
    left = "every change tried leaves at least as many problems"
    if cures.nearest is not None:
        left = f"the nearest leaves {cures.nearest.judged.count('problem')} of {cures.before.count('problem')} problems"
    return f"no small change that was tried cures it, alone or in pairs; {left}"
