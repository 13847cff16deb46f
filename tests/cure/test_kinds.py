"""Cures ranked, put together by kind, and their cautions told apart.

Findings are made up; the rules are the project's own.
"""

from dataclasses import replace
from itertools import pairwise

import pytest

from beltplan.checks.limits import Bound, Finding, Severity
from beltplan.checks.plan import plan_of
from beltplan.checks.pulleys import SMALL_PULLEY
from beltplan.checks.pulleys import WRAP as WRAP_CHECK
from beltplan.checks.slip import SLIP as SLIP_CHECK
from beltplan.checks.tension import SPAN_TENSION
from beltplan.cure.changes import Changes, other_belt, tensioned
from beltplan.cure.kinds import (
    almost_of,
    cautions_of,
    lean,
    leaves_margin,
    near_of,
    rank_of,
    remedies_of,
    together,
    worth_of,
)
from beltplan.cure.moves import moved, other_diameter
from beltplan.cure.report import left_words
from beltplan.cure.study import _as_well, _chosen, cures_of
from beltplan.cure.trials import Judge, Trial
from beltplan.drive.loads import TorqueLoad
from tests.cure.drives import layout_of
from tests.drive.drives import on_slide, with_pulley
from tests.drive.loaded_drives import ENGINE
from tests.for_each import for_each


def finding(check: str, subject: str, severity: Severity = "caution") -> Finding:
    return Finding(check, severity, subject, "message", "source")


WRAP, SLIP = finding("wrap", "crank", "problem"), finding("slip", "crank", "problem")
BEFORE = Trial((), layout_of("railcar"), (WRAP, SLIP, finding("reserve", "belt")))
STILL, OLD, NEW = finding("wrap", "crank"), finding("reserve", "belt"), finding("wrap", "guide")


def larger(step: float, *after: Finding, name: str = "crank", wet: float = 0.5) -> Trial:
    return Trial((other_diameter(name, 100.0 + step, 100.0),), BEFORE.layout, after, None, {"crank": wet})


def test_cautions_are_left_or_made_and_some_are_of_what_was_to_be_cured() -> None:
    found = cautions_of(BEFORE.findings, (STILL, OLD, NEW, finding("wrap", "guide", "note")))
    assert (found.left, found.made, found.edge) == ((STILL, OLD), (NEW,), (STILL,))


def test_without_a_problem_every_caution_left_is_of_what_was_to_be_cured() -> None:
    found = cautions_of((OLD, STILL), (OLD, NEW))
    assert (found.left, found.made, found.edge) == ((OLD,), (NEW,), (OLD,))


@pytest.mark.parametrize(("wet", "margin"), [(0.79, True), (0.81, False)])
def test_slip_by_the_design_friction_alone_leaves_margin(wet: float, margin: bool) -> None:
    """A fifth in hand in the wet: the table's own number."""
    trial = larger(5.0, finding("slip", "crank"), wet=wet)
    assert leaves_margin(trial, BEFORE.findings) == margin
    assert near_of(trial) == (frozenset() if margin else {("slip", "crank")})


def test_wrap_near_its_limit_leaves_no_margin_whatever_the_grip() -> None:
    trial = larger(5.0, STILL, OLD)
    assert near_of(trial) == {("wrap", "crank"), ("reserve", "belt")}
    assert not leaves_margin(trial, BEFORE.findings)
    assert leaves_margin(larger(5.0, OLD), BEFORE.findings), "the reserve was no problem, so not what was to be cured"


@pytest.mark.parametrize("wet", [0.79, 0.81])
def test_steady_slip_and_slip_on_revs_of_a_pulley_are_one_issue(wet: float) -> None:
    """A problem on revs that is a caution of steady slip afterwards is left, not made; and the other way round."""
    before = (finding("slip_on_revs", "crank", "problem"), finding("slip", "guide"))
    after = (finding("slip", "crank"), finding("slip_on_revs", "guide"))
    found = cautions_of(before, after)
    assert (found.left, found.made, found.edge) == (after, (), after[:1])
    trial = larger(5.0, after[0], wet=wet)
    assert leaves_margin(trial, before) == (wet < 0.8) and near_of(trial) == (
        frozenset() if wet < 0.8 else {("slip", "crank")}
    )
    revving = larger(5.0, finding("slip_on_revs", "crank"), wet=wet)
    assert leaves_margin(revving, before) == (wet < 0.8) and near_of(revving) == near_of(trial)


def test_where_nothing_is_a_problem_no_belt_without_reserve_is_proposed() -> None:
    """Two cautions for one is fewer, but not where the one is a belt that lacks reserve; for a problem it is a cure."""
    healthy = Trial((), BEFORE.layout, (finding("wrap", "crank"), finding("slip", "crank")))
    assert larger(5.0, NEW).cures(healthy) and not larger(5.0, OLD).cures(healthy)
    assert larger(5.0, OLD).cures(BEFORE)
    lacking = Trial((), BEFORE.layout, (OLD, finding("slip", "crank")))
    assert larger(5.0, OLD).cures(lacking), "it lacked reserve before"


def test_cures_rank_by_problems_number_cautions_margin_and_then_disturbance() -> None:
    pair = Trial((*larger(1.0).changes, *larger(1.0, name="guide").changes), BEFORE.layout, (STILL,))
    ranked = [
        larger(30.0),
        larger(40.0, finding("slip", "crank")),
        larger(5.0, OLD),
        larger(10.0, OLD),
        Trial((moved("guide", (1.0, 0.0), False),), BEFORE.layout, (STILL,)),
        larger(1.0, OLD, NEW),
        replace(pair, findings=()),
        pair,
        larger(1.0, WRAP),
    ]
    ranks = [rank_of(trial, BEFORE) for trial in ranked]
    assert all(one < other for one, other in pairwise(ranks))
    healthy = Trial((), BEFORE.layout, (OLD, STILL, NEW))
    assert rank_of(pair, healthy) < rank_of(larger(1.0, OLD, NEW), healthy), "of cautions alone, what leaves the fewest"


def test_a_belt_that_follows_from_a_change_is_not_counted_with_it() -> None:
    belt = other_belt(BEFORE.layout.belt, 10.0)
    one = larger(5.0).changes
    assert [
        together(changes) for changes in ((belt,), one, (*one, belt), (*one, *larger(1.0, name="guide").changes))
    ] == [1, 1, 1, 2]


def test_of_a_kind_the_best_the_smallest_and_the_one_with_margin() -> None:
    edge, two, far = larger(5.0, STILL), larger(20.0, OLD, NEW), larger(30.0, OLD)
    (kind,) = remedies_of([two, edge, far], BEFORE)
    assert (kind.trial, kind.smallest, kind.ample) == (far, edge, None)
    (kind,) = remedies_of([two, edge], BEFORE)
    assert (kind.trial, kind.smallest, kind.ample) == (edge, None, two)
    (kind,) = remedies_of([edge], BEFORE)
    assert (kind.trial, kind.smallest, kind.ample) == (edge, None, None)


@pytest.mark.parametrize(("more_N", "safer"), [(1500.0, False), (1450.0, True)])
def test_what_pulls_a_belt_more_that_is_pulled_too_much_is_no_safer(more_N: float, safer: bool) -> None:
    bound = Bound("upper", 1440.0, "N", "180 N a rib: common practice, no source", only_caution=True)
    (pulled,), (more,) = (SPAN_TENSION.judge("span", each, bound, "pulled") for each in (1450.0, more_N))
    best, other = larger(5.0, STILL, pulled), larger(9.0, more, OLD, NEW)
    (kind,) = remedies_of([other, best], BEFORE)
    assert (kind.trial, kind.ample) == (best, other if safer else None)


def test_kinds_come_in_the_rank_of_their_best() -> None:
    crank, guide = larger(5.0, OLD, NEW), larger(30.0, OLD, name="guide")
    assert [kind.trial for kind in remedies_of([crank, guide], BEFORE)] == [guide, crank]


def test_where_none_leaves_margin_the_farthest_from_slipping_stands_beside_the_best() -> None:
    slip = finding("slip", "crank")
    near, far = larger(5.0, slip, wet=0.95), larger(10.0, slip, wet=0.85)
    worse = larger(20.0, slip, OLD, wet=0.81)
    (kind,) = remedies_of([far, worse, near], BEFORE)
    assert (kind.trial, kind.ample) == (near, far)


def test_a_small_pulley_is_not_made_smaller_to_take_another_caution_away() -> None:
    """Against two findings of a pulley of 76 and of 75 mm under the recommended 90 mm of a belt bent over its back."""
    bound = Bound("lower", 60.0, "mm", "SAE J1596", 90.0)
    (small,), (smaller,), gap = (
        *(SMALL_PULLEY.judge("guide", size, bound, "small") for size in (76.0, 75.0)),
        Finding("clearance", "caution", "a / b", "near", ""),
    )
    before, less, other = (Trial((), BEFORE.layout, told) for told in ((small, gap), (smaller,), (small,)))
    assert less.worse(before) == {smaller: small} and not less.cures(before)
    assert not other.worse(before) and other.cures(before)


def set_to(tension_N: float) -> Trial:
    made = tensioned("pulley", tension_N / 666.0, f"set the belt to {tension_N:.0f} N")
    return Trial((made,), BEFORE.layout, ())


@for_each(
    (570.0, 1080.0, "slip of crank (at the lowest tension) 1.43 of its grip (sooner than before)"),
    (810.0, 1349.0, "span tension of a to b 1349 N (before: 1101 N)"),
    (680.0, 1110.0, ""),
)
def test_a_caution_that_stays_and_gets_worse_is_told_with_both_numbers(set_N: float, pull_N: float, told: str) -> None:
    """Slackened to 402 N a belt slips alike whatever it was set to: set to less it is there sooner. 9 N of 1080 N more
    are less than a hundredth: frozen.
    """
    at_most = Bound("upper", 1080.0, "N", "180 N a rib: common practice, no source", only_caution=True)
    grip = Bound("upper", 1.0, "of its grip", "Euler", only_caution=True)

    def found(pull: float) -> tuple[Finding, ...]:
        (slips,) = SLIP_CHECK.judge("crank", 1.43, grip, "slips")
        return replace(slips, low=True, condition="wet"), *SPAN_TENSION.judge("a to b", pull, at_most, "pulled")

    before = Trial((), BEFORE.layout, (*found(1101.0), OLD))
    after = replace(set_to(set_N), findings=found(pull_N), wet_utilisation={"crank": 0.7})
    assert after.counts < before.counts and after.cures(before) is (told == "")
    assert len(after.worse(before)) == (told != "")
    left = f"{after.counts[1]} caution{'s' * (after.counts[1] > 1)} left"
    assert left_words(before, after, named=True) == left + (f"; worse: {told}" if told else "")
    worse, tie = (replace(after, findings=some) for some in (after.findings, found(1101.0)[: len(after.findings)]))
    assert not told or worth_of(worse, before) > worth_of(replace(tie, changes=()), before), "ranked behind it"


def test_the_smallest_cure_is_the_smallest_though_it_makes_a_caution_worse() -> None:
    """A belt is less than a pulley: what it makes worse is told beside it."""
    bound = Bound("lower", 140.0, "deg", "the layout file", 154.0)
    (was,), (now,) = (WRAP_CHECK.judge("guide", wrap, bound, "little") for wrap in (145.0, 143.0))
    before = replace(BEFORE, findings=(WRAP, was))
    pulley, belt = larger(5.0, STILL), Trial((other_belt(BEFORE.layout.belt, 25.0),), BEFORE.layout, (STILL, now))
    best = replace(larger(30.0), changes=(moved("guide", (20.0, 0.0), False),))
    assert belt.worse(before) == {now: was}
    chosen = _chosen(plan_of(BEFORE.layout), remedies_of([best, pulley, belt], before), ())
    assert chosen.best is not None and (chosen.best.trial, chosen.smallest) == (best, belt)


def wrapped(wrap_deg: float, name: str = "guide") -> tuple[Finding, ...]:
    bound = Bound("lower", 120.0, "deg", "the layout file")
    return tuple(WRAP_CHECK.judge(name, wrap_deg, bound, "little"))


def test_of_problems_that_stay_the_nearest_is_the_least_short_of_its_limits() -> None:
    before = replace(BEFORE, findings=wrapped(90.0))
    near, far, more = larger(30.0, *wrapped(100.0)), larger(5.0, *wrapped(95.0)), larger(5.0, *wrapped(119.0), WRAP)
    assert almost_of(before, [far, more, near]) is near
    assert almost_of(before, [larger(5.0, *wrapped(80.0))]) is None, "farther off"
    assert almost_of(before, [near, larger(20.0, *wrapped(100.1))]) is not near, "as near, and a smaller change"
    assert almost_of(before, [replace(near, whole=False)]) is None, "not all is known of it"


def test_of_cautions_the_nearest_leaves_fewer_and_makes_the_least_worse() -> None:
    (was,), (worse,), (worst,) = wrapped(130.0), wrapped(128.0), wrapped(122.0)
    before = Trial((), BEFORE.layout, (was, OLD, STILL))
    some, most, none = larger(9.0, worse, OLD), larger(5.0, worst, OLD), larger(1.0, was, OLD, STILL)
    assert not some.cures(before) and not most.cures(before)
    assert almost_of(before, [most, some, none]) is some
    assert almost_of(before, [none, larger(5.0, WRAP)]) is None


def test_of_two_small_changes_of_a_kind_the_one_that_can_be_hung_exactly_enough_is_the_smallest() -> None:
    """One that must hang 2 mm nearer to its place than a tape brings it; a change of another kind is smaller yet."""
    exact, easy, pulley = (
        Trial(changes, BEFORE.layout, (OLD, STILL))
        for changes in (*((moved("guide", (far, 0.0), False),) for far in (3.0, 4.0)), larger(5.0).changes)
    )
    best = Trial((moved("guide", (20.0, 0.0), False),), BEFORE.layout, ())
    vars(exact)["off_mm"] = 2
    (kind,) = remedies_of([exact, easy, best], BEFORE)
    assert (kind.trial, kind.smallest) == (best, easy)
    assert _chosen(plan_of(BEFORE.layout), (kind,), ()).smallest is easy
    vars(pulley)["off_mm"] = 9
    assert _chosen(plan_of(BEFORE.layout), remedies_of([pulley, easy, best], BEFORE), ()).smallest is pulley


def test_no_change_of_a_sound_drive_makes_worse_what_it_leaves() -> None:
    """Two pulleys of 104 mm on the pitch line, set to 666 N: 133 / 111 of it new (US Army TM 9-2320-312-24-2), and half
    of 28 Nm / 52 mm more in the tight span. Slackened to 67 N a rib (the same source) it slips.
    """
    given = with_pulley(on_slide(tension_N=666.0), "generator", load=TorqueLoad(28.0), plane_mm=0.0)
    given = replace(with_pulley(given, "crank", plane_mm=0.0), engine=ENGINE)
    found = cures_of(replace(given, limits={"max_strand_N": {"": 1000.0}, "max_slip_use_design": {"": 9.0}}))
    (pull,) = (each.value or 0.0 for each in found.before.findings if each.check == SPAN_TENSION.name)
    assert pull == pytest.approx(666.0 * 133.0 / 111.0 + 0.5 * 28.0 / 0.052, abs=0.1)
    assert found.healthy and found.before.count("caution") == 3 and found.listed
    told = [trial for each in found.listed for trial in (each.trial, each.smallest, each.ample) if trial]
    for plan in (plan_of(trial.layout) for trial in told):
        held = plan.layout.pulleys["generator"].adjuster
        pulls = [each.value or 0.0 for each in plan.findings if each.check == SPAN_TENSION.name]
        assert max(pulls, default=0.0) <= pull * 1.01
        assert held is not None and ((held.tension_N or 0.0) >= 666.0 or not any(each.low for each in plan.findings))


def test_of_a_set_the_smallest_part_that_does_as_well_is_kept() -> None:
    """The crank alone leaves what all three leave; the guide alone leaves a caution more."""
    crank, guide, pump = (larger(5.0, name=name).changes for name in ("crank", "guide", "pump"))
    left = {crank: (OLD,), guide: (OLD, NEW)}

    def judge(changes: Changes, most: tuple[float, float]) -> Trial | None:
        return Trial(changes, BEFORE.layout, left[changes]) if changes in left else None

    whole = Trial((*guide, *crank, *pump), BEFORE.layout, (OLD,))
    assert lean(whole, judge).changes == crank
    assert lean(replace(whole, findings=()), judge).changes == whole.changes, "no part leaves as little"


def test_a_part_with_more_cautions_is_not_kept_for_its_slip_may_not_have_been_judged() -> None:
    """Reserve lacking at both stops is one issue, two findings: judging ends where there are more than of the whole."""
    part, other = (larger(5.0, name=name).changes for name in ("crank", "guide"))
    whole = Trial((*part, *other), BEFORE.layout, (OLD,))

    def judge(changes: Changes, most: tuple[float, float]) -> Trial | None:
        assert most == (0, 1)
        return Trial(changes, BEFORE.layout, (OLD, OLD))

    assert lean(whole, judge) is whole


def test_what_slips_with_the_tension_low_is_helped_only_by_what_takes_that_away() -> None:
    """Not by less use of grip at the tension set: a belt set higher is due to be tightened again at the same one."""
    low, more = replace(finding("slip", "crank"), low=True), other_diameter("crank", 110.0, 100.0)
    best = Trial((), BEFORE.layout, (low,), None, {"crank": 0.95})
    same, gone = (Trial((more,), BEFORE.layout, left, None, {"crank": 0.7}) for left in ((low,), ()))
    assert _as_well(best, [same], BEFORE, Judge(BEFORE.layout, print)) == ()
    assert _as_well(best, [same, gone], BEFORE, Judge(BEFORE.layout, print)) == ((low, gone),)


def test_one_caution_for_another_is_no_help_unless_what_slips_gains_margin() -> None:
    """0.8 of the table of limits."""
    slip, more = finding("slip", "crank"), other_diameter("crank", 110.0, 100.0)

    def told(was: float, now: float, *left: Finding) -> bool:
        best = Trial((), BEFORE.layout, (slip,), None, {"crank": was})
        return bool(_as_well(best, [Trial((more,), BEFORE.layout, left, None, {"crank": now})], BEFORE, alone))

    alone = Judge(BEFORE.layout, print)
    assert told(0.95, 0.75, NEW) and told(0.95, 0.85) and told(0.7, 0.6)
    assert not told(0.95, 0.85, NEW) and not told(0.7, 0.6, NEW)
