"""A change tried out: what is left by the checks, with the belt that goes on where the named one does not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Finding, Severity
from beltplan.checks.plan import plan_of
from beltplan.cure.moves import other_diameter
from beltplan.cure.trials import Judge, Trial, issues_of, trial_of, untried
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from tests.cure.drives import layout_of
from tests.for_each import for_each


@for_each("camper", "too_tight", "railcar")
def test_no_change_leaves_what_check_finds(name: str) -> None:
    layout = layout_of(name)
    laid = route_of(layout)
    findings = findings_of(laid, operation_of(laid))
    trial = trial_of((), layout)
    assert trial is not None
    assert trial.problems == issues_of(findings, "problem")
    assert trial.issues == issues_of(findings, "problem", "caution") == untried(plan_of(layout)).issues
    assert trial.counts == tuple(sum(f.severity == s for f in findings) for s in ("problem", "caution"))
    assert trial.belt == laid.designation
    assert not trial.cures(trial), "a change that changes nothing cures nothing"


def test_without_a_path_there_is_no_trial() -> None:
    assert trial_of((other_diameter("compressor", 900.0, 150.0),), layout_of("railcar")) is None


def test_a_named_belt_that_goes_on_no_more_gives_way_to_the_best_that_does() -> None:
    layout = layout_of("railcar")
    named = replace(layout, belt=replace(layout.belt, length_mm=2050.0))
    trial = trial_of((other_diameter("crank", 250.0, 190.0),), named)
    assert trial is not None
    assert [change.family for change in trial.changes] == ["diameter", "belt"]
    laid = route_of(trial.layout)
    free = route_of(replace(trial.layout, belt=replace(layout.belt, length_mm=None)))
    assert laid.judged is not None and free.judged is not None
    assert laid.judged.belt.length_mm == free.judged.belt.length_mm != 2050.0


def test_a_named_belt_that_still_goes_on_is_kept() -> None:
    layout = layout_of("railcar")
    named = replace(layout, belt=replace(layout.belt, length_mm=2050.0))
    trial = trial_of((other_diameter("crank", 191.0, 190.0),), named)
    assert trial is not None and len(trial.changes) == 1
    assert trial.layout.belt.length_mm == 2050.0


@for_each(
    (("problem",), (), True),
    (("problem",), ("caution", "caution"), True),
    (("problem", "problem"), ("problem",), False),
    (("caution", "caution"), ("caution",), True),
    (("caution",), ("caution",), False),
    (("caution",), ("problem",), False),
    (("problem", "caution"), ("caution",), True),
)
def test_what_cures(before: tuple[Severity, ...], after: tuple[Severity, ...], cures: bool) -> None:
    """Problems first; where there is none, cautions."""
    old, new = (Trial((), layout_of("railcar"), tuple(_finding(s) for s in some)) for some in (before, after))
    assert new.cures(old) == cures


def _finding(severity: Severity) -> Finding:
    return Finding("wrap", severity, "crank", "message", "source")


def test_wet_use_is_the_worse_of_steady_running_and_revving() -> None:
    layout = layout_of("camper")
    trial, operation = trial_of((), layout), operation_of(route_of(layout))
    assert trial is not None and operation is not None
    names = [pulley.name for pulley in operation.route.pulleys]
    changed = operation.revving
    assert changed is not None
    worst = np.maximum(operation.utilisation[1].max(axis=(0, 1)), changed[1][1].max(axis=(0, 1, 2)))
    assert trial.wet_utilisation == pytest.approx(dict(zip(names, worst, strict=True)))


@for_each(((0, 9),), ((2, 0),), ((2, 9),), ((3, 9),))
def test_where_there_is_too_much_wrong_no_more_is_asked(most: tuple[int, int]) -> None:
    """The camper has three problems, two of them of wrap, and a caution; slip is asked last."""
    whole = trial_of((), layout_of("camper"))
    assert whole is not None and whole.counts == (3, 1)
    part = trial_of((), layout_of("camper"), most)
    assert part is not None
    assert part.counts > most or part.counts == whole.counts
    assert part.issues <= whole.issues
    assert ("slip", "crank") in whole.problems
    assert (("slip", "crank") in part.problems) == (most > (2, 0))


def test_a_trial_that_was_cut_short_is_judged_anew_where_more_is_asked() -> None:
    """What is known of it by then is no answer to a larger question; to a smaller one it is."""
    judged: list[int] = []
    judge = Judge(layout_of("camper"), judged.append)
    part = judge((), (0, 9))
    assert part is not None and not part.whole
    assert judge((), (0, 3)) is part and len(judged) == 1
    whole = judge((), (3, 1))
    assert whole is not None and whole.whole and whole.counts == (3, 1)
    assert judge(()) is whole and len(judged) == 2


def test_a_span_pulled_too_much_is_the_same_problem_after_an_idler_splits_it() -> None:
    """The worst span then has another name; that one hangs slack is another problem."""
    pulled = Finding("strand_tension", "problem", "a to b", "1600 N of pull", "", 1600.0, 1080.0, "N")
    slack = Finding("strand_tension", "problem", "a to b", "hangs slack", "")
    split = replace(pulled, subject="a to added")
    assert issues_of([pulled]) == issues_of([split]) != issues_of([slack])
