"""The cures as text, rows and JSON: the answer first, the width kept, the numbers those of the layouts themselves.

What the shipped layouts come to (wraps, grip used, sizes of cures, counts) is frozen from our own answers: how it is
computed is checked in `tests/drive/test_balance.py` and `tests/checks`. Conversions are by definition, 25.4 mm an
inch, and by 1.35582 Nm a ft-lb (NIST SP 811, B.8).
"""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from beltplan.checks.limits import Bound, Finding, Severity
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.pulleys import WRAP
from beltplan.checks.slip import SLIP
from beltplan.checks.tension import SPAN_TENSION
from beltplan.cure.changes import Change, other_belt, words_of
from beltplan.cure.kinds import Remedy, gains_grip, together
from beltplan.cure.moves import other_diameter
from beltplan.cure.report import (
    _placing_words,
    answer_of,
    as_well_words,
    concerned,
    cure_json,
    cure_report,
    cure_words,
    left_words,
    side_by_side,
)
from beltplan.cure.study import RULE, Cures, cures_of
from beltplan.cure.trials import Trial, issue_of, untried
from beltplan.drive.belt import format_designation, parse_designation
from beltplan.drive.layout import CrankSwing
from beltplan.drive.mounts import Mark
from beltplan.report.answer import NOTHING_WRITTEN, Written
from beltplan.report.screen import Screen, in_units, shown
from beltplan.report.words import SAFETY, SAFETY_IN_SHORT
from tests.cure.drives import carrier_cures, case_cures, chirping, cures, layout_of, movable_railcar
from tests.for_each import for_each

EVERY: dict[str, Callable[[], Cures]] = {
    "cured": lambda: cures("camper"),
    "several": movable_railcar,
    "not cured": lambda: cures("too_tight"),
    "cautions": lambda: cures("railcar"),
    "edge": lambda: carrier_cures(7.0),
    "cautions that stay": lambda: cures("orchard_sprayer"),
    "clean": lambda: cures("workboat"),
}


@pytest.fixture(params=list(EVERY))
def found(request: pytest.FixtureRequest) -> Cures:
    return EVERY[request.param]()


def cure_text(found: Cures, written: Written = NOTHING_WRITTEN, full: bool = True) -> str:
    return shown(cure_report(found, written, full), Screen())


def rows_of(found: Cures) -> dict[str, tuple[str, ...]]:
    """Before and after the best, by label."""
    assert found.best is not None
    return dict(side_by_side(found).table.rows)


def joined(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_no_line_is_too_long_and_the_caution_stands_last(found: Cures) -> None:
    text = cure_text(found)
    assert max(map(len, text.splitlines())) <= 100
    narrow = shown(cure_report(found, full=True), Screen(72))
    assert max(map(len, narrow.splitlines())) <= 72
    assert joined(text).endswith(SAFETY) and cure_text(found, full=False).endswith(f"\nSAFETY  {SAFETY_IN_SHORT}")


def test_the_answer_stands_first(found: Cures) -> None:
    lines = cure_text(found).splitlines()
    assert lines[0] == found.layout.title
    assert answer_of(found).startswith(lines[1].lower()[:60].rstrip()) and lines[1][:2].isupper()


def test_every_cure_is_told_with_the_smallest_and_the_one_with_margin_of_its_kind_and_the_rule() -> None:
    found = movable_railcar()
    text, short = joined(cure_text(found)), joined(cure_text(found, full=False))
    for remedy in found.listed:
        assert words_of(remedy.trial.changes) in text and words_of(remedy.trial.changes) in short
    for remedy in found.listed[1:]:
        for what, trial in (("smallest", remedy.smallest), ("with margin", remedy.ample)):
            assert trial is None or f"{what}: {words_of(trial.changes)}" in text
    assert joined(RULE) in text


@pytest.mark.parametrize("swing_deg", [0.0, 2.0])
def test_what_falls_slack_by_the_engine_and_is_not_cured_sends_to_vibration(swing_deg: float) -> None:
    """A one-way pulley does not calm the railcar, and changes of the engine's side are not tried."""
    layout = layout_of("railcar")
    found = cures_of(replace(layout, engine=replace(layout.engine, swing_deg=CrankSwing((swing_deg,)))))
    assert ("beltplan vibration" in answer_of(found)) == (swing_deg > 0.0 and found.best is None)
    assert (found.best is None and not found.healthy) == (swing_deg > 0.0)


def test_what_cannot_be_cured_is_said_with_all_that_was_tried() -> None:
    found = cures("too_tight")
    text = joined(cure_text(found))
    assert "NO SMALL CHANGE that was tried cures it; the nearest" in text
    assert (
        f"nearest leaves {found.nearest.plan.count('problem') if found.nearest else 0} problems instead of 15" in text
    )
    for tried in found.tried:
        assert f"{tried.looked_at} {tried.judged} {tried.cured}" in text
    assert "NEAREST move steering_pump" in text
    # Three changes go together at the most: a further run goes on from them.
    assert found.nearest is not None and together(found.nearest.trial.changes) == 3
    assert "NEXT write it (`--write FILE`); then `beltplan cure FILE` looks for more changes beside these" in text
    written = Written("nearer.yaml", asked='nearer.yaml --variant "low mount"')
    assert 'NEXT `beltplan cure nearer.yaml --variant "low mount"` looks' in joined(cure_text(found, written))
    fewer = replace(found.nearest.trial, changes=found.nearest.trial.changes[:1])
    assert "NEXT" not in cure_text(replace(found, nearest=replace(found.nearest, trial=fewer)))
    assert "common practice, no source: 65 mm, 75 mm, 90 mm" in text


@for_each((2, 0, "2 problems instead of 15"), (2, 1, "3 problems instead of 15"), (0, 1, "1 problem instead of 15"))
def test_problems_that_stay_and_those_that_come_are_counted_together(stay: int, come: int, said: str) -> None:
    """A span that an added idler splits has another name, and is pulled as hard as before."""
    found = cures("too_tight")
    assert found.nearest is not None
    old = [finding for finding in found.before.findings if finding.severity == "problem"][:stay]
    new = [replace(found.before.findings[0], severity="problem", subject=f"new {i}") for i in range(come)]
    trial = replace(found.nearest.trial, findings=(*old, *new))
    assert answer_of(replace(found, nearest=replace(found.nearest, trial=trial))).endswith(
        f"; the nearest leaves {said}"
    )


def test_a_search_that_leaves_much_out_says_so() -> None:
    found = cures("workboat")
    assert "NOT ALL" not in cure_text(found, full=False) + cure_text(cures("camper"), full=False)
    assert " an idler that fits only in a place narrower" in joined(cure_text(cures("too_tight"), full=False))
    text = joined(cure_text(replace(found, share=0.25), full=False))
    assert "NOT ALL of 0 changes and pairs looked at, 0 were judged by every check" in text
    assert f"judging all takes too long with {len(found.layout.route)} pulleys" in text


def test_nothing_to_cure() -> None:
    text = cure_text(cures("workboat"), Written(remark="so"))
    assert "NOTHING TO CURE: it works on paper: nothing found against it\nNO FILE  written: so" in text
    assert "TRIED" not in text


def test_where_there_are_only_cautions_they_are_told_and_cured() -> None:
    text = joined(cure_text(cures("railcar")))
    assert "LEAVE IT: there is no problem to cure; one change would take away 1 of 2 cautions COULD fit" in text
    assert (
        "BEFORE the cautions; there is no problem caution" in text and "caution compressor: 128.0 deg of wrap" in text
    )


def test_of_two_added_idlers_it_is_told_which_has_which_name() -> None:
    found = case_cures("a_belt_stock")
    assert found.best is not None
    first, second = (name for name in found.best.plan.layout.pulleys if name not in found.layout.pulleys)
    told = f"; the first idler is {first} and the second idler is {second}"
    assert f"{told}; the belt" in joined(cure_text(found))
    # So in every other line that tells a cure, as SMALLEST.
    assert told in cure_words(found, found.best.trial)


def test_cautions_that_all_go_are_told_by_their_number() -> None:
    """Put together by hand: the best leaves nothing, of two cautions and of one."""
    found = cures("railcar")
    assert found.best is not None and len(found.wanted) == 2
    bare = replace(found.best, trial=replace(found.best.trial, findings=()))
    for count, words in ((2, "both cautions"), (1, "its caution")):
        before = replace(found.before, findings=found.wanted[:count])
        told = answer_of(replace(found, before=before, listed=(bare,)))
        assert told == f"leave it: there is no problem to cure; one change would take away {words}"


def test_where_no_pulley_may_be_moved_that_is_told() -> None:
    """Once: where nothing cures, beside the answer, with the key to give."""
    none = "no pulley is `movable_mm`, so none was moved"
    assert none in joined(cure_text(cures("railcar"))) and none not in joined(cure_text(movable_railcar()))
    assert none not in joined(cure_text(cures("railcar"), full=False))
    uncured = replace(cures("camper"), listed=(), smallest=None, as_well=())
    for full in (False, True):
        assert joined(cure_text(uncured, full=full)).count(f"NOT ALL {none}: give `movable_mm` to one that") == 1
        assert joined(cure_text(uncured, full=full)).count(none) == 1


def test_where_the_height_of_the_back_is_not_known_it_is_told_that_no_idler_was_tried_on_it() -> None:
    told = "no idler was tried on the belt's back: give `back_over_rim_mm` of the belt, measured"
    found = cures("orchard_sprayer")
    assert found.layout.belt.back_mm is None and told in joined(cure_text(found, full=False))
    measured = replace(found.layout, belt=replace(found.layout.belt, back_over_rim_mm=0.5))
    assert told not in joined(cure_text(replace(found, layout=measured)))
    assert told not in joined(cure_text(cures("camper"))) + joined(cure_text(cures("workboat")))


def test_where_nothing_cures_the_nearest_is_told_with_what_stands_in_its_way() -> None:
    """Two cautions fewer, and one worse; of problems each that stays, with its number before, the worst first."""
    found, made = cures("orchard_sprayer"), (other_diameter("alternator", 52.0, 62.0),)
    bound = Bound("upper", 1800.0, "N", "180 N a rib: common practice, no source", only_caution=True)
    ((was,), (now,)) = (SPAN_TENSION.judge("a to b", pull, bound, "pulled") for pull in (1822.0, 1849.0))
    before = replace(found.before, findings=(was, *found.wanted))
    trial = Trial(made, found.layout, (now,))
    text = joined(cure_text(replace(found, before=before, almost=trial), full=False))
    assert "leaves fewer than 4 cautions and makes none worse NEAREST fit a pulley of 52 mm on alternator" in text
    assert "(now 62 mm): 1 caution left; worse: span tension of a to b 1849 N (before: 1822 N)" in text

    asked = Bound("lower", 120.0, "deg", "the layout file")
    short, less, far, new = (
        WRAP.judge(name, wrap, asked, f"{wrap} deg of wrap")[0]
        for name, wrap in (("crank", 90.0), ("crank", 99.0), ("fan", 20.0), ("pump", 50.0))
    )
    before = replace(found.before, findings=(short, far, short))
    trial = replace(trial, findings=(less, new, far))
    text = joined(cure_text(replace(found, before=before, almost=trial), full=False))
    assert (
        "NEAREST fit a pulley of 52 mm on alternator (now 62 mm) BUT fan: 20.0 deg of wrap (before: 20.0 deg); " in text
    )
    assert "; pump: 50.0 deg of wrap (no problem before); and 1 more NOT ALL" in text
    text = joined(cure_text(replace(found, before=before, almost=replace(trial, findings=(less,))), full=False))
    assert "BUT crank: 99.0 deg of wrap (before: 90.0 deg) NOT ALL" in text
    (near,) = WRAP.judge("fan", 125.0, asked, "near its minimum")
    dearer = replace(
        found, before=replace(before, findings=(short, was)), almost=replace(trial, findings=(less, now, near))
    )
    assert (
        "BUT crank: 99.0 deg of wrap (before: 90.0 deg); new: wrap of fan; worse: span tension of a to b "
        "1849 N (before: 1822 N) NOT ALL" in joined(cure_text(dearer, full=False))
    ), "the price is told whole"


def test_a_single_caution_that_stays_is_told_in_the_singular() -> None:
    found = cures("orchard_sprayer")
    one = replace(found, before=replace(found.before, findings=found.wanted[:1]))
    assert answer_of(one).endswith("no small change that was tried takes its caution away")


def test_cautions_that_no_change_takes_away_are_told_too() -> None:
    text = joined(cure_text(cures("orchard_sprayer")))
    assert "LEAVE IT: there is no problem to cure; no small change that was tried leaves fewer than 3 cautions" in text
    assert "makes none worse" not in text and "NEAREST" not in text, "no change leaves fewer, whatever it makes worse"
    assert (text.count(" caution crank"), text.count(" caution alternator")) == (1, 2) and "TRIED" in text


def test_what_is_cured_to_a_caution_is_told_in_the_same_sentence() -> None:
    """The carrier's crankshaft: in the wet it has a fifth in hand, by the design friction it would slip still."""
    text = joined(cure_text(carrier_cures(7.0)))
    assert "CURED by one change, with 3 cautions left; now a caution: slip of crank (by the design" in text
    assert "crank: slips by the" in text and "(was a problem)" in text
    assert "SMALLEST fit a spring of 1.2 times the force on tensioner: 8.4 Nm (6.2 ft-lb) (now 7 Nm" in text
    assert "now a caution: slip of crank (0.98 wet)" in text


@for_each("several", "edge", "cured")
def test_no_cure_is_told_without_the_cautions_that_were_problems(name: str) -> None:
    found = EVERY[name]()
    trials = [
        trial for remedy in found.listed for trial in (remedy.trial, remedy.smallest, remedy.ample) if trial is not None
    ]
    assert trials
    for trial in trials:
        still = trial.issues & {issue_of(finding) for finding in found.wanted}
        assert ("now a caution" in left_words(untried(found.before), trial)) == bool(still)
        assert all(f"{check.replace('_', ' ')} of {who}" in cure_words(found, trial) for check, who in still)


def test_what_is_left_stands_on_a_line_of_its_own_without_what_check_advises() -> None:
    text = cure_text(carrier_cures(7.0), full=False)
    left = text.split("\nLEFT     ")[1].split("\nAS WELL")[0].split("\nSMALLEST")[0].splitlines()
    found = carrier_cures(7.0).best
    assert found is not None
    cautions = found.trial.findings
    begun = [line for line in left if not line.startswith(" " * 11)]
    assert len(begun) == len(cautions) == 3, "a caution begins on a line that is not hung"
    for finding in cautions:
        assert f"{finding.subject}: {finding.wrong}"[:40] in joined(text)
        advice = in_units(finding.advice, "in")[:22]
        assert advice == "" or not any(advice in line for line in left)


def test_the_smallest_cure_is_not_told_once_more_among_the_others() -> None:
    found = movable_railcar()
    *_, other = found.listed
    shown = replace(found, smallest=other.trial)
    assert joined(cure_text(shown, full=False)).count(words_of(other.trial.changes)) == 1


def test_a_cure_that_shares_changes_with_the_best_tells_only_what_is_other() -> None:
    found, first, *others = cures("camper"), *(other_diameter("crank", 105.0 + i, 100.0) for i in range(4))
    assert found.best is not None
    best = replace(found, listed=(replace(found.best, trial=replace(found.best.trial, changes=(first, *others[:2]))),))
    for changes, words in (
        ((first, others[1], others[2]), f"as DO, but in place of its second change: {others[2].words}: "),
        ((first, others[2]), f"as DO, but in place of its second and third change: {others[2].words}: "),
        ((first, *others), f"as DO, and {others[2].words}: "),
        ((others[2],), f"{others[2].words}: "),
        ((first,), f"{first.words}: "),
    ):
        assert cure_words(best, Trial(changes, found.layout, ())).startswith(words)


def test_what_leaves_margin_of_the_same_kind_stands_beside_the_best() -> None:
    """Put together by hand: a best at the edge, one of its kind that leaves margin at the price of more cautions."""
    found = carrier_cures(7.0)
    assert found.best is not None and found.smallest is not None
    ample = found.best.trial
    best = Remedy(found.smallest, ample=ample)
    shown = replace(found, listed=(best,), smallest=None, as_well=())
    text = joined(cure_text(shown))
    assert "times the force on tensioner: 13.1 Nm (9.7 ft-lb) (now 7 Nm, 5.2 ft-lb): 3 cautions left" in text
    assert "with margin: fit a spring of 1.87 times" in text
    assert "SAFER" not in joined(cure_text(replace(shown, listed=(Remedy(found.smallest),))))


def test_a_belt_is_named_once() -> None:
    """The change that names it, or the belt that follows from other changes: not both."""
    found, belt = cures("camper"), replace(layout_of("camper").belt, length_mm=1725.0)
    name = format_designation(belt)
    other = Trial((other_belt(belt, 5.0),), found.layout, (), name)
    assert cure_words(found, other).count(name) == 1
    assert cure_words(found, replace(other, changes=(other_diameter("crank", 105.0, 100.0),))).count(name) == 1


def test_on_one_screen_stand_the_answer_and_each_further_cure_in_a_sentence() -> None:
    text = cure_text(cures("camper"), full=False)
    assert len(text.splitlines()) <= 40 and text.count("\nproblems ") == 1
    assert "\nSMALLEST add a smooth idler of 65 mm" in text
    assert not {"TRIED", "BEFORE", "Order:"} & set(text.split()) and "more: --full" in text
    other = cure_text(cures("railcar"), full=False)
    assert "COULD    fit a pulley of 160 mm on compressor (now 150 mm); buy 8PK2060 instead of 8PK2050" in other
    assert re.search(r"\nOTHER CHANGES, the best first.*\n 2 (?:fit|add|take|move) ", other)


@for_each("railcar", "carrier")
def test_no_number_of_the_cures_is_left_out_unexplained(name: str) -> None:
    """Those that stand above by a word of their own are named by it."""
    found = cures(name) if name == "railcar" else case_cures(name)
    told = cure_text(found, full=False).partition("\nOTHER ")[2].partition("\n\n")[0]
    listed = {int(number) for number in re.findall(r"^ ?(\d+) (?=\w)", told, re.MULTILINE)}
    above = dict(re.findall(r"(\d+) is (\w+)", told.splitlines()[0]))
    assert {*listed, *map(int, above)} == set(range(1, len(found.listed) + 1)) and not listed & set(map(int, above))
    assert above["1"] == ("COULD" if found.healthy else "DO") and ("SMALLEST" in above.values()) == (name == "carrier")


def test_lengths_are_told_in_the_unit_asked_for() -> None:
    found = cures("railcar")
    found = replace(found, layout=replace(found.layout, units="in"))
    text = joined(cure_text(found, full=False))
    assert (
        "fit a pulley of 6.30 in (160 mm) on compressor (now 5.91 in)" in text
        and "smallest reserve, in 0.42 0.37" in text
    )
    pictured = side_by_side(found)
    assert pictured.to_do.startswith("Could: fit a pulley of 6.30 in (160 mm) on compressor (now 5.91 in); ")
    assert ("smallest reserve, in", ("0.42", "0.37")) in pictured.table.rows


def test_the_rows_hold_what_the_layouts_come_to() -> None:
    found = cures("camper")
    assert found.best is not None
    assert concerned(found) == ("crank", "house_alternator")
    rows = rows_of(found)
    assert rows["problems"] == ("3", "0")
    assert rows["belt"] == (found.before.route.designation, found.best.plan.route.designation)
    assert rows["wrap of crank, deg, min 120"][0] == "115.4"
    assert rows["grip used, wet"][0] == "1.13" and rows["  at"][0] == "crank, revving"


def read(found: Cures) -> dict[str, Any]:
    def refuse(word: str) -> None:
        raise AssertionError(word)

    result: dict[str, Any] = json.loads(cure_json(found, "layout.yaml"), parse_constant=refuse)
    return result


def test_json_has_the_same_keys_whatever_was_found(found: Cures) -> None:
    result = read(found)
    assert list(result) == [
        *("file", "title", "variant", "answer", "asked_first", "healthy", "cured", "before", "cures", "found"),
        *("smallest", "as_well", "nearest", "almost", "tried", "rule", "written", "made_worse", "caution"),
    ]
    state = ["verdict", "counts", "belt", "reserve_mm", "wraps", "slip_wet", "findings"]
    cautions = ["cautions_left", "cautions_made", "cautions_still", "cautions_worse", "covers"]
    assert list(result["before"]) == state
    for remedy in [*result["cures"], *([result["nearest"]] if result["nearest"] else [])]:
        assert list(remedy) == ["changes", *state, *cautions, "leaves_margin", "smallest", "with_margin"]
        others = [other for other in (remedy["smallest"], remedy["with_margin"]) if other]
        assert all(list(other) == ["changes", "counts", "belt", *cautions, "leaves_margin"] for other in others)
        assert all(list(change) == ["family", "target", "size", "words"] for change in remedy["changes"])


def test_json_tells_the_cure_of_the_camper() -> None:
    found = cures("camper")
    result = read(found)
    assert (result["healthy"], result["cured"], result["before"]["counts"]["problem"]) == (False, True, 3)
    best = result["cures"][0]
    assert best["counts"]["problem"] == 0 and best["changes"][0]["family"] == "idler"
    assert [wrap["pulley"] for wrap in best["wraps"]] == ["crank", "house_alternator"]
    assert best["slip_wet"]["slip_use"] < 1.0 < result["before"]["slip_wet"]["slip_use"]


def test_json_carries_what_the_text_says_of_cautions_and_margin() -> None:
    result = read(carrier_cures(7.0))
    (best, *_), slip = result["cures"], {"check": "slip", "subject": "crank"}
    assert best["leaves_margin"] and best["cautions_still"] == [slip] and best["with_margin"] is None
    assert len(best["cautions_left"]) + len(best["cautions_made"]) == best["counts"]["caution"] == 3
    smallest = result["smallest"]
    assert smallest == best["smallest"] and not smallest["leaves_margin"]
    assert smallest["counts"] == {"problem": 0, "caution": 4} and len(smallest["cautions_left"]) == 4
    assert [change["size"] for change in smallest["changes"]] == [0.2]
    assert result["as_well"]
    for other in result["as_well"]:
        assert other["against"] in best["cautions_left"] + best["cautions_made"]
        assert other["counts"]["caution"] < best["counts"]["caution"]


def test_what_goes_with_the_best_names_its_belt_and_what_is_left_of_the_pulley() -> None:
    """Frozen. The camper's idler leaves 0.78 in the wet on revs, which is margin: a spring beside it, 0.65, only trades
    the slip by the design friction for a span pulled too much.
    """
    assert as_well_words(cures("camper")) == []
    told, _ = as_well_words(carrier_cures(9.5, "squeal"))
    assert told.startswith("against slip of crank (0.94 wet): fit a spring of 2 times")
    assert told.endswith(": 0.66 wet then; 2 cautions left"), "what check says"
    (other,) = as_well_words(carrier_cures(7.0))
    assert other.startswith("against wrap of compressor: lead the belt in the order")
    assert other.endswith(", with an 8PK2760: 2 cautions left")


def test_what_goes_with_the_best_against_slip_at_the_lowest_tension_tells_the_grip_at_that_tension() -> None:
    """As the table of `check --full` has it, wet low; by Euler it is more than the grip at the tension that is set."""
    found = carrier_cures(9.5, "squeal")
    (finding, trial), *_ = found.as_well
    steady = (replace(finding, check="slip", condition="wet", low=True), trial)
    # Told so where the set tension leaves margin.
    assert found.best is not None
    best = replace(found.best, trial=replace(found.best.trial, wet_utilisation={finding.subject: 0.5}))
    (told,) = as_well_words(replace(found, listed=(best,), as_well=(steady,)))
    (slip,) = (each for each in plan_of(trial.layout).slip if each.pulley == finding.subject)
    assert slip.low is not None and slip.low.utilisation > slip.wet.utilisation
    assert f": {slip.low.utilisation:.2f} wet then, at the lowest tension; 2 cautions" in told
    assert 1.1 * slip.low.utilisation < 1.0 and gains_grip(trial, best.trial, steady[0])
    _, (_, order) = found.as_well
    assert not gains_grip(order, best.trial, steady[0]), "1.007 at the lowest tension"


def test_an_added_pulley_with_little_wrap_to_spare_is_to_be_placed_well() -> None:
    """Moved by d across a span of l that turns by d / l; its wrap by both, as vectors. 3 mm is our own choice."""
    best = cures("camper").best
    assert best is not None
    *_, added = best.plan.pulleys
    turn = (best.plan.route.loop.direction / best.plan.route.loop.span[:, None])[-2:].sum(axis=0)
    for near_mm, told in ((2.9, True), (3.1, False)):
        least = added.wrap_deg - np.degrees(near_mm * np.hypot(*turn))
        asked = replace(best.plan.layout, limits={"min_wrap_deg": {added.name: float(least)}})
        trial = untried(plan_of(asked))
        words = _placing_words(trial, cures("camper").layout, why=True)
        own = "; place added_idler within 2.9 mm, or there is a problem: wrap of added_idler"
        assert (
            words == own * told
            and cure_words(cures("camper"), trial).count("; place added_idler within 2.9 mm: ") == told
        )
        assert _placing_words(trial, asked) == ""


def test_slip_on_revs_is_told_before_and_after_by_its_own_use() -> None:
    """The camper on a weak spring: 1.11 of the crank's grip while the engine speeds up, 0.92 steadily; frozen."""
    found = chirping()
    assert found.best is not None and found.best.plan.revving_wet is not None
    rows = rows_of(found)
    after = f"{found.best.plan.revving_wet.utilisation:.2f}"
    assert rows["grip used, wet"] == ("1.11", after) and rows["  at"] == ("crank, revving",) * 2
    assert answer_of(found).endswith(f"now a caution: slip of crank ({after} wet and revving)")
    slip = read(found)["before"]["slip_wet"]
    assert slip["engine"] == "speeds up" and slip["slip_use"] == pytest.approx(1.11, abs=0.005)


def test_json_of_cautions_alone_is_healthy_and_has_cures() -> None:
    result = read(cures("railcar"))
    assert (result["healthy"], result["cured"]) == (True, False)
    assert result["cures"][0]["counts"] == {"problem": 0, "caution": 1, "note": 1}  # that of the first mode


def test_more_cautions_than_before_are_told_so_and_new_ones_are_counted() -> None:
    """By hand: one caution before; the cure leaves it and makes another."""
    found = cures("camper")
    assert found.best is not None
    kept, *_ = (each for each in found.before.findings if each.severity == "caution")
    trial = replace(found.best.trial, findings=(kept, replace(kept, subject="crank")))
    told = replace(found, listed=(replace(found.best, trial=trial),))
    assert answer_of(told) == "cured by one change, with 2 cautions instead of 1, 1 of them new"


def test_an_added_idler_that_covers_a_mark_says_so() -> None:
    """A mark 44 mm from the centre of the idler of 90 mm, and one 46 mm from it."""
    found = cures("camper")
    assert found.best is not None
    idler = found.best.trial.layout.pulleys["added_idler"]
    x, y = idler.at_mm or (0.0, 0.0)
    marks = tuple(Mark(f"hole_{off}", (x + off, y)) for off in (44, 46))
    marked = replace(found.best.trial, layout=replace(found.best.trial.layout, marks=marks))
    told = replace(found, listed=(replace(found.best, trial=marked),))
    assert "; added_idler then covers mark hole_44; buy 6PK2060" in side_by_side(told).to_do
    assert "hole_46" not in cure_text(told) and read(told)["cures"][0]["covers"] == [
        {"pulley": "added_idler", "mark": "hole_44"}
    ]
    # What it covers already is no news of the change.
    assert read(replace(told, layout=marked.layout))["cures"][0]["covers"] == []


def _remedy(trial: Trial, plan: Plan) -> Remedy:
    own = replace(trial)
    vars(own)["plan"] = plan
    return Remedy(own)


@for_each(
    ("6PK1990", "6PK2060", False, "; buy 6PK2060 instead of 6PK1990."),
    ("6PK2060", "6PK2060", False, "; the belt stays 6PK2060."),
    (None, "6PK2060", False, "; buy 6PK2060."),
    ("6PK1990", None, False, ""),
    ("6PK1990", "6PK2060", True, ""),
)
def test_the_belt_to_buy_follows_what_to_do(was: str | None, now: str | None, belt_changed: bool, said: str) -> None:
    """Where it stays it is said to stay; where a change names it, it is not named again."""
    found = cures("camper")
    assert found.best is not None

    def plan(name: str | None) -> Plan:
        own = found.before.route
        if name is None:
            return replace(found.before, route=replace(own, judged=None))
        assert own.judged is not None
        return replace(found.before, route=replace(own, judged=replace(own.judged, belt=parse_designation(name))))

    changes: tuple[Change, ...] = (other_diameter("crank", 105.0, 100.0),)
    changes += (other_belt(layout_of("camper").belt, 5.0),) if belt_changed else ()
    best = _remedy(replace(found.best.trial, changes=changes, layout=found.layout, route=None), plan(now))
    told = side_by_side(replace(found, before=plan(was), listed=(best,))).to_do
    assert told.startswith(f"Do: {words_of(changes)}"[:60])
    assert told.endswith(said or f"{words_of(changes)}."[-20:]) and ("; buy" in told or "stays" in told) == bool(said)


def test_what_the_nearest_leaves_are_its_problems_and_what_was_there_is_told_with_full() -> None:
    found = cures("too_tight")
    assert found.nearest is not None
    one = next(each for each in found.before.findings if each.severity == "problem")
    left = [replace(one, subject=f"bend_{i}", parts=()) for i in range(3)]
    judged = replace(found.before, findings=(one, *left, replace(one, severity="caution", subject="a_caution")))
    told = replace(found, nearest=_remedy(found.nearest.trial, judged))
    short, full = (
        cure_text(told, full=each).partition("LEFT     the problems that it leaves")[2] for each in (False, True)
    )
    assert short.count(" bend_") == full.partition("BEFORE")[0].count(" bend_") == 3
    # The three are the change's own making; the one that was there before is not.
    words = " ".join(short.split())
    assert words.count("; no problem before") == 3 and one.about in words and f"{one.about}; new" not in words
    assert "BEFORE" not in short and "BEFORE   the problems to be cured" in full and "a_caution" not in short + full


@for_each(
    ("", "", False, "no caution left"),
    ("a", "a", False, "1 caution left"),
    ("ab", "ab", False, "2 cautions left"),
    ("a", "b", False, "1 caution, 1 of them new"),
    ("a", "ab", False, "2 cautions instead of 1, 1 of them new"),
    ("a", "ab", True, "2 cautions, new: wrap of b"),
    ("abc", "ad", True, "2 cautions, new: wrap of d"),
    ("A", "a", False, "1 caution left; now a caution: wrap of a"),
    ("Ab", "abc", True, "3 cautions, new: wrap of c; now a caution: wrap of a"),
)
def test_what_a_cure_leaves_in_words(before: str, after: str, named: bool, said: str) -> None:
    """A letter is a pulley with a caution of its wrap, a capital one with a problem; cautions are counted once."""
    found = cures("camper")
    assert found.best is not None
    one = found.before.findings[0]

    def wraps(letters: str) -> tuple[Finding, ...]:
        severities: dict[bool, Severity] = {True: "problem", False: "caution"}
        return tuple(
            replace(one, check="wrap", subject=each.lower(), parts=(), severity=severities[each.isupper()])
            for each in letters
        )

    # Without a problem the cautions are what is to be cured, so that none of them is told as still one.
    trial = replace(found.best.trial, findings=wraps(after), wet_utilisation={})
    assert left_words(replace(untried(found.before), findings=wraps(before)), trial, named) == said


@for_each(
    *((0.9, "", ""), (0.92, "", "; just under slipping: crank 0.92 wet"), (1.0, "", ""), (0.92, "crank", "")),
    *((0.998, "", "; just under slipping: crank 0.998 wet"), (0.998, "crank", "")),
)
def test_what_is_just_under_slipping_is_told(used: float, edge: str, said: str) -> None:
    """From a tenth under the limit on, as other limits count; not again where slip is still a caution."""
    found = cures("camper")
    assert found.best is not None
    one = found.before.findings[0]
    was = [replace(one, check="slip", subject="crank", parts=(), severity="problem")]
    now = [replace(each, severity="caution") for each in was if edge]
    trial = replace(found.best.trial, findings=tuple(now), wet_utilisation={"crank": used})
    words = left_words(replace(untried(found.before), findings=tuple(was)), trial)
    still = f"1 caution left; now a caution: slip of crank ({used} wet)" if edge else "no caution left"
    assert words == (still if edge else f"{still}{said}")


@for_each((True, " (at the lowest tension)"), (False, ""))
def test_a_slip_that_is_worse_is_told_by_one_number(low: bool, where: str) -> None:
    """Beside its own use that in the wet at the set tension, 0.99, would read as a second one of the same slip."""
    found, bound = cures("camper"), Bound("upper", 1.0, "of its grip", "Euler", only_caution=True)
    assert found.best is not None
    was, now = (replace(SLIP.judge("crank", use, bound, "slips")[0], low=low, condition="wet") for use in (1.05, 1.07))
    trial = replace(found.best.trial, findings=(now,), wet_utilisation={"crank": 0.8})
    told = left_words(replace(untried(found.before), findings=(was,)), trial, named=True)
    assert told == f"1 caution left; worse: slip of crank{where} 1.07 of its grip (before: 1.05 of its grip)"
