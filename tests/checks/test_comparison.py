"""The rule of the ranking: by hand on small cases, as laws on random ones, and margins in closed form.

Limits met here: least wrap 120 deg of crankshaft and alternator, clearance 10 mm, all common practice, no source;
slip use 1, slip formula of Euler and Shigley.
"""

import math
from collections.abc import Sequence
from dataclasses import astuple, replace
from functools import cache
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.checks.comparison import RULE, Comparison, about, compare, order_of, ranks_of
from beltplan.checks.limits import Finding, demanded
from beltplan.checks.margin import Margin, worst_margin
from beltplan.checks.plan import RankKey, plan_of, plan_on
from beltplan.checks.tension import SPAN_TENSION
from beltplan.drive.layout import Engine, Layout, Polygon
from beltplan.drive.loads import TorqueLoad
from beltplan.drive.mechanics import Condition
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_every_layout, read_layout
from beltplan.routes.report import margin_words
from tests.checks.drives import BACK_MM, layout, pulley, route, sliding, swinging, two
from tests.cure.drives import revving_camper
from tests.drive.drives import on_slide as two_on_slide
from tests.drive.drives import with_pulley
from tests.drive.loaded_drives import ENGINE, on_slide, seven
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS

GOOD, CAREFUL, BAD = RankKey(0, 0, 0.1), RankKey(0, 2, 0.9), RankKey(1, 0, 0.9)
RANK_KEYS = st.lists(
    st.one_of(
        st.none(),
        st.builds(RankKey, st.integers(0, 2), st.integers(0, 2), st.sampled_from([None, -math.inf, -0.5, 0.0, 0.25])),
    ),
    min_size=1,
    max_size=8,
)


def margin(layout: Layout) -> Margin | None:
    return plan_of(layout).margin


@for_each(
    ([BAD, CAREFUL, GOOD], (2, 1, 0), (3, 2, 1)),
    ([GOOD, RankKey(0, 0, 0.2)], (1, 0), (2, 1)),
    ([None, BAD], (1, 0), (2, 1)),
    ([BAD, GOOD, BAD], (1, 0, 2), (2, 1, 2)),
    ([GOOD, GOOD, BAD], (0, 1, 2), (1, 1, 3)),
    ([RankKey(1, 0, -math.inf), RankKey(1, 0, -5.0)], (1, 0), (2, 1)),
    ([RankKey(0, 0, 0.1), RankKey(0, 0, 0.1 + 4e-7)], (0, 1), (1, 1)),
    ([RankKey(0, 0, 0.1), RankKey(0, 0, 0.1 + 6e-7)], (1, 0), (2, 1)),
    ([RankKey(0, 0, None), RankKey(0, 0, -9.0)], (1, 0), (2, 1)),
    ([None, None], (0, 1), (1, 1)),
)
def test_rule_by_hand(rank_keys: Sequence[RankKey | None], order: tuple[int, ...], ranks: tuple[int, ...]) -> None:
    assert (order_of(rank_keys), ranks_of(rank_keys)) == (order, ranks)


@given(RANK_KEYS, st.randoms(use_true_random=False))
def test_the_order_given_decides_nothing_but_ties(rank_keys: list[RankKey | None], random: object) -> None:
    shuffled = list(range(len(rank_keys)))
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    ranks, again = ranks_of(rank_keys), ranks_of([rank_keys[i] for i in shuffled])
    assert again == tuple(ranks[i] for i in shuffled)


@given(RANK_KEYS)
def test_ranks_rise_along_the_order_and_ties_keep_the_order_given(rank_keys: list[RankKey | None]) -> None:
    order, ranks = order_of(rank_keys), ranks_of(rank_keys)
    assert sorted(order) == list(range(len(rank_keys)))
    assert [ranks[i] for i in order] == sorted(ranks)
    assert all(i < j for i, j in pairwise(order) if ranks[i] == ranks[j])
    assert all(ranks[i] == ranks[j] for i, a in enumerate(rank_keys) for j, b in enumerate(rank_keys) if a == b)


@given(st.integers(0, 3), st.integers(0, 3), st.floats(-2.0, 2.0))
def test_one_problem_or_caution_more_is_never_better(problems: int, cautions: int, share: float) -> None:
    own = RankKey(problems, cautions, share)
    for worse in (RankKey(problems + 1, 0, 9.0), RankKey(problems, cautions + 1, 9.0), None):
        assert order_of([worse, own]) == (1, 0)


def test_findings_are_counted_and_notes_are_not() -> None:
    findings = [Finding("wrap", s, "crank", "words", "test") for s in ("problem", "caution", "caution", "note")]
    plan = replace(plan_of(two()), findings=tuple(findings))
    assert plan.margin is not None and plan.rank_key == RankKey(1, 2, plan.margin.share)


def test_margin_of_a_wrap() -> None:
    # Two equal pulleys: 180 deg on each, 120 wanted of both: (180 - 120) / 120. The crank is named first.
    found = margin(two())
    assert found is not None and (found.of, found.where) == ("wrap", "crank")
    assert found.share == pytest.approx(0.5)


def test_margin_of_a_clearance() -> None:
    # A plate 4 mm from the belt's back: (4 - 10) / 10.
    y = 50.0 + BACK_MM + 4.0
    plate = Polygon("plate", ((140.0, y), (160.0, y), (160.0, y + 30.0), (140.0, y + 30.0)))
    found = margin(two(obstacles=(plate,)))
    assert found is not None and (found.of, found.where) == ("clearance", "crank to far / plate")
    assert found.share == pytest.approx(-0.6)


def test_margin_of_slip_is_what_is_left_to_slipping_when_wet() -> None:
    """1 - use, the highest of all duties and speeds; wrap and clearance asked for so little that they do not count."""
    lax = {"min_wrap_deg": {"": 1.0}, "min_clearance_mm": {"": 0.1}, "min_strand_gap_mm": {"": 0.1}}
    layout = seven(limits={**lax, "min_rim_gap_mm": {"": 0.1}})
    operation = operation_of(route_of(layout))
    assert operation is not None
    wet, found = operation.utilisation[1], margin(layout)
    assert found is not None and found.of == "slip when wet"
    assert found.share == pytest.approx(1.0 - float(wet.max()))
    assert found.where == operation.route.pulleys[int(np.argmax(wet.max(axis=(0, 1))))].name


def test_what_a_belt_lacks_of_its_reserves_counts_as_a_share_of_its_window() -> None:
    lacking = read_layout("tests/cases/hand_set_1425.yaml", None).layout
    plan = plan_of(lacking)
    laid, found = plan.route, worst_margin(plan.route, plan.operation, plan.gaps)
    assert laid.judged is not None and laid.window is not None and found is not None
    assert (found.of, found.where) == ("reserve", "AV13x1425")
    missing = laid.window.long_end - laid.judged.line_mm * (1.0 + laid.window.growth.total)
    missing -= lacking.belt.tolerance_of(laid.judged.line_mm)
    assert found.share == pytest.approx(missing / (laid.window.longest - laid.window.shortest)) and missing < 0.0


def test_margin_of_slip_counts_what_the_engine_does_when_it_changes_speed() -> None:
    """The camper with a weak spring: the crank slips on revs, so the worst margin is negative; by the drive itself."""
    layout = revving_camper(13.9, 4500.0)
    operation = operation_of(route_of(layout))
    assert operation is not None
    changed, found = operation.revving, margin(layout)
    assert changed is not None and found is not None
    assert (found.of, found.where) == ("slip when wet and revving", "crank")
    assert found.share == pytest.approx(1.0 - float(changed[1][1].max())) and found.share < 0.0


def test_slip_is_left_out_without_loads_and_a_slack_span_is_the_worst_of_all() -> None:
    found = margin(seven(loads={}))
    assert found is not None and found.of != "slip when wet"
    slack = margin(on_slide(tension_N=230.0))
    assert slack is not None and (slack.of, slack.share) == ("slip when wet", -math.inf)
    hangs = [plan_of(given).goes_slack for given in (on_slide(tension_N=230.0), on_slide(tension_N=1000.0), two())]
    assert hangs == [True, False, False], "of the last no engine is known"


def test_no_problem_stands_beside_a_good_margin() -> None:
    """1000 N set in every span, 600 N allowed: beyond the limit by two thirds of it, and nothing else by as much."""
    found = margin(replace(on_slide(tension_N=1000.0, loads={}), limits={"max_strand_N": {"": 600.0}}))
    assert found is not None and found.of == "span tension" and found.share == pytest.approx(-2.0 / 3.0)
    assert margin_words(found) == f"span tension of {found.where}, 66.7 % beyond its limit"


def _pulled(torque_Nm: float, most_N: float) -> Layout:
    """Two pulleys of 104 mm on the pitch line, set to 666 N, 133 / 111 of it new (US Army TM 9-2320-312-24-2)."""
    loaded = with_pulley(two_on_slide(tension_N=666.0), "generator", load=TorqueLoad(torque_Nm))
    return replace(loaded, engine=ENGINE, limits={"max_strand_N": {"": most_N}, "max_slip_use_design": {"": 9.0}})


def test_a_caution_beyond_what_is_recommended_stands_beside_no_good_margin() -> None:
    """Half of 20 Nm / 52 mm more in the tight span of a new belt. Beside a problem, that one's margin is told."""
    high_N = 666.0 * 133.0 / 111.0 + 0.5 * 20.0 / 0.052
    plan = plan_of(_pulled(20.0, 900.0))
    assert (plan.count("problem"), plan.count("caution")) == (0, 1) and plan.short_is_caution
    assert plan.margin is not None
    assert plan.margin.share == pytest.approx(1.0 - high_N / 900.0, abs=1e-3) and plan.margin.of == "span tension"
    failing = plan_of(
        replace(_pulled(20.0, 900.0), limits={**_pulled(20.0, 900.0).limits, "min_wrap_deg": {"": 181.0}})
    )
    assert failing.margin is not None and failing.margin.share == pytest.approx(-1.0 / 181.0)


def _pull(made: Comparison, *, shared: bool) -> list[Finding]:
    every = (made.shared,) if shared else map(made.own, made.columns)
    return [each for found in every for each in found if each.check == SPAN_TENSION.name]


def test_a_caution_is_told_for_all_columns_only_against_the_same_limit() -> None:
    """Of 23 Nm half of 23 Nm / 52 mm is 221 N."""
    made = compare([("a", _pulled(20.0, 900.0)), ("b", _pulled(23.0, 900.0))])
    (told,) = _pull(made, shared=True)
    assert told.wrong.endswith("; b 1019 N") and not _pull(made, shared=False)
    # How much less tension does is of one layout: it is told for none.
    assert "would do" not in told.advice and told.advice.startswith("less tension, more ribs, or less load")
    made = compare([("a", _pulled(20.0, 900.0)), ("b", _pulled(23.0, 950.0))])
    first, second = _pull(made, shared=False)
    assert "90 N over the recommended 900 N" in first.wrong and "69 N over the recommended 950 N" in second.wrong
    assert not _pull(made, shared=True)


def test_with_other_advice_a_caution_is_each_columns_own() -> None:
    """Where the belt slips besides, less tension is no help against a pull over the same limit."""
    made = compare([("a", _pulled(24.0, 1000.0)), ("b", _pulled(28.0, 1000.0))])
    first, second = _pull(made, shared=False)
    assert first.advice.startswith("less tension") and "Less tension is no help" in second.advice
    assert not _pull(made, shared=True)


def test_how_much_of_an_advice_does_makes_no_other_finding_and_another_advice_does() -> None:
    slip = Finding("slip", "problem", "fan", "slips", "here", 1.2, 1.0, advised=("more tension",))
    assert about(replace(slip, amount="; 400 N would do")) == about(slip)
    assert about(replace(slip, advised=(*slip.advised, "; more wrap alone will not do"))) != about(slip)


def test_a_limit_of_zero_has_no_share() -> None:
    nothing = {key: {"": 0.0} for key in ("min_wrap_deg", "min_clearance_mm", "min_strand_gap_mm", "min_rim_gap_mm")}
    assert margin(two(limits=nothing)) is None


def test_the_rule_names_all_that_it_looks_at_in_its_order() -> None:
    places = [RULE.index(word) for word in ("problems", "cautions", "worst margin", "order given")]
    assert places == sorted(places)
    assert all(word in RULE for word in ("wrap", "grip used when wet", "clearance", "share of that limit", "reserves"))


# Comparisons: each column is what `check` says of the same layout, and the order in which they come does not matter.
# Layouts of the project's own folder and small invented drives whose numbers are plane geometry.


EVERY = [
    (f"{path.stem} {file.layout.variant or ''}", file.layout)
    for path in SHIPPED_LAYOUTS
    for file in read_every_layout(str(path))
]
OVERLAPPING = layout(pulley("crank", "crankshaft", 0, 0), pulley("far", "alternator", 90, 0))


@cache
def shipped() -> Comparison:
    return compare(EVERY)


def told(findings: tuple[Finding, ...]) -> list[str]:
    """All that findings say, so that they can be set against others."""
    return [repr(astuple(finding)) for finding in findings]


@for_each(*range(len(EVERY)))
def test_a_column_is_what_the_checks_say_of_the_layout_alone(index: int) -> None:
    name, given = EVERY[index]
    column = shipped().columns[index]
    alone = route_of(given)
    operation = operation_of(alone)
    judged = column.plan
    assert judged is not None and column.name == name and column.refusal == ()
    assert told(judged.findings) == told(plan_on(alone).findings)
    assert judged.route.designation == alone.designation and judged.route.position == alone.position
    wraps = {p.name: float(w) for p, w in zip(alone.pulleys, np.degrees(alone.loop.wrap), strict=True)}
    assert wraps[judged.wrap.name] == pytest.approx(judged.wrap.wrap_deg)
    assert (operation is None) == (judged.hub is None)
    if operation is not None and judged.dry is not None and judged.wet is not None and judged.hub is not None:
        assert (judged.dry.utilisation, judged.wet.utilisation) == (
            operation.utilisation[0].max(),
            operation.utilisation[1].max(),
        )
        stopped = np.linalg.norm(operation.stopped.hub_load_N, axis=-1)
        assert judged.hub.maximum_N == pytest.approx(max(float(operation.hub_size_N.max()), float(stopped.max())))


def test_the_ranking_of_the_shipped_layouts_follows_the_rule_read_from_its_words() -> None:
    """Counted afresh from the findings: problems, then cautions, then the larger worst margin."""
    made = shipped()

    def key(index: int) -> tuple[int, int, float]:
        judged = made.columns[index].plan
        assert judged is not None and judged.margin is not None
        kinds = [finding.severity for finding in judged.findings]
        return kinds.count("problem"), kinds.count("caution"), -judged.margin.share

    assert list(made.order) == sorted(range(len(made.columns)), key=key)
    assert made.best is made.columns[made.order[0]]


@for_each(*((each,) for each in list(permutations(range(4)))[::5]))
def test_the_order_of_the_layouts_does_not_change_the_ranking(order: tuple[int, ...]) -> None:
    named = [("long", two(500.0)), ("near", two(104.0)), ("none", OVERLAPPING), ("plain", two())]
    first, again = compare(named), compare([named[i] for i in order])
    wanted = {column.name: rank for column, rank in zip(first.columns, first.ranks, strict=True)}
    assert {column.name: rank for column, rank in zip(again.columns, again.ranks, strict=True)} == wanted
    assert len(set(wanted.values())) == 4
    assert [first.columns[i].name for i in first.order] == [again.columns[i].name for i in again.order]


def test_the_same_layout_again_and_the_same_elsewhere_are_ties() -> None:
    moved = layout(pulley("crank", "crankshaft", 70.0, -40.0), pulley("far", "alternator", 370.0, -40.0))
    made = compare([("a", two()), ("b", two()), ("c", moved), ("worse", two(104.0))])
    assert (made.ranks, made.order) == ((1, 1, 1, 4), (0, 1, 2, 3))


def test_least_wrap_over_its_limit_by_hand() -> None:
    """Radii 100 and 40 mm, 300 mm apart: the small one has pi - 2 asin(60 / 300) of wrap, 120 wanted."""
    judged = compare([("a", two(300.0, 200.0, 80.0))]).best.plan
    assert judged is not None
    assert (judged.wrap.name, judged.wrap.minimum_deg) == ("far", 120.0)
    assert judged.wrap.over_deg == pytest.approx(180.0 - 2.0 * np.degrees(np.arcsin(60.0 / 300.0)) - 120.0)


def test_alternator_speeds_by_hand() -> None:
    """Equal pulleys turn alike; without speeds of the engine nothing is known."""
    engine = Engine(idle_rpm=700.0, max_rpm=3000.0)
    judged = compare([("a", two(engine=engine))]).best.plan
    assert judged is not None
    (speed,) = judged.alternators
    assert speed.name == "far" and [speed.rpm["idle"], speed.rpm["max"]] == pytest.approx([700.0, 3000.0])
    bare = compare([("a", two())]).best.plan
    assert bare is not None
    assert [own.rpm for own in bare.alternators] == [{}]


def test_no_belt_path_is_a_column_that_says_why_and_comes_last() -> None:
    made = compare([("none", OVERLAPPING), ("slips", two(104.0)), ("good", two())])
    assert made.ranks == (3, 2, 1) and made.columns[0].plan is None
    (fault,) = made.columns[0].refusal
    assert fault.pulleys == ("crank", "far") and "overlap" in fault.got
    assert made.own(made.columns[0]) == ()


def test_all_without_a_path() -> None:
    made = compare([("a", OVERLAPPING), ("b", OVERLAPPING)])
    assert made.best.plan is None and made.ranks == (1, 1) and made.shared == ()


def test_findings_of_all_are_told_apart_from_those_of_one() -> None:
    made = compare([("a", two(500.0)), ("b", two(500.0, beside=(pulley("spare", "idler", 250, 300, 60),)))])
    assert {finding.check for finding in made.shared} >= {"free_strand"}
    first, second = (made.own(column) for column in made.columns)
    assert {finding.check for finding in first} == set()
    assert {finding.subject for finding in second} == {"spare"}
    for column, own in zip(made.columns, (first, second), strict=True):
        assert column.plan is not None
        assert sorted(told(column.plan.findings)) == sorted(told((*made.shared, *own)))


def test_slip_stands_beside_slip_of_the_same_kind_alone() -> None:
    """A use by the design friction and one in the wet are two numbers: the smaller is not the better layout."""
    alone = compare([("a", two(500.0))]).columns[0]
    assert alone.plan is not None
    plan = alone.plan

    def shared(*kinds: tuple[Condition, bool, float]) -> list[str]:
        found = [
            Finding("slip", "caution", "crank", f"uses {use}", "", use, 1.0, "of its grip", condition=kind, low=low)
            for kind, low, use in kinds
        ]
        plans = [replace(plan, findings=(each,)) for each in found]
        columns = tuple(replace(alone, name=name, outcome=each) for name, each in zip("ab", plans, strict=True))
        return [f.wrong for f in Comparison(columns, (0, 1), (1, 2)).shared]

    assert shared(("design", False, 1.11), ("wet", False, 0.82)) == []
    assert shared(("wet", True, 1.02), ("wet", False, 0.95)) == []
    assert shared(("wet", False, 0.95), ("wet", False, 0.82)) == ["uses 0.95; b 0.82 wet"]
    assert shared(("design", False, 1.3), ("design", False, 1.1)) == ["uses 1.3; b 1.10 by the design friction"]


def test_the_number_of_another_column_has_its_unit() -> None:
    alone = compare([("a", two(500.0))]).columns[0]
    assert alone.plan is not None
    found = [Finding("drive_resonance", "caution", "belt", f"{v}", "", v, 10.0, "% clear") for v in (0.5, 3.17)]
    plans = [replace(alone.plan, findings=(each,)) for each in found]
    columns = tuple(replace(alone, name=name, outcome=plan) for name, plan in zip("ab", plans, strict=True))
    assert [f.wrong for f in Comparison(columns, (0, 1), (1, 2)).shared] == ["0.5; b 3.17 % clear"]
    assert demanded(two(500.0), "drive_resonance_percent").unit == "% clear"


def test_shared_is_what_the_last_one_has_too() -> None:
    made = compare([("a", two(500.0)), ("b", two(500.0)), ("c", two(300.0))])
    assert "free_strand" not in {finding.check for finding in made.shared} and made.shared
    assert "free_strand" in {finding.check for finding in made.own(made.columns[0])}


def test_the_largest_pull_may_be_that_of_the_engine_stopped() -> None:
    """Set by hand and without loads: running, m v^2 takes its share of the tension off the hubs."""
    judged = compare([("a", on_slide(tension_N=300.0, loads={}))]).best.plan
    assert judged is not None and judged.operation is not None and judged.hub is not None
    stopped = np.linalg.norm(judged.operation.stopped.hub_load_N, axis=-1)
    assert judged.hub.maximum_N == pytest.approx(float(stopped.max()))
    assert judged.hub.maximum_N > float(judged.operation.hub_size_N.max())
    assert judged.hub.pulley == judged.route.pulleys[int(stopped.argmax())].name


def test_one_layout_shares_nothing() -> None:
    made = compare([("a", two(500.0))])
    assert made.shared == () and made.best.plan is not None
    assert told(made.own(made.best)) == told(made.best.plan.findings)


@for_each(sliding(), swinging(90.0), seven(), seven(loads={}))
def test_a_layout_alone_is_the_best_of_itself(given: Layout) -> None:
    made = compare([("a", given)])
    assert (made.order, made.ranks) == ((0,), (1,)) and made.best.layout == given
    assert made.best.plan is not None and made.best.plan.route.designation == route(given).designation


def test_without_loads_slip_is_not_known() -> None:
    judged = compare([("a", seven(loads={})), ("b", replace(seven(), title="other"))])
    bare, loaded = (column.plan for column in judged.columns)
    assert bare is not None and loaded is not None
    assert bare.dry is None and bare.wet is None and bare.hub is not None
    assert loaded.dry is not None and loaded.wet is not None and loaded.wet.utilisation > loaded.dry.utilisation


def test_what_others_have_of_a_shared_finding_is_told_by_size_and_only_where_its_words_tell_a_number() -> None:
    """Both belts lack reserve: how much, without a sign. That a span falls slack has no number to hold another to."""
    short = [read_layout(f"tests/cases/hand_set_{mm}.yaml").layout for mm in (1425, 1449)]
    found = compare([("first", short[0]), ("second", short[1])])
    (reserve,) = (each for each in found.shared if each.check == "reserve")
    lacks = [
        next(f.value for f in column.plan.findings if f.check == "reserve") for column in found.columns if column.plan
    ]
    assert lacks[0] is not None and lacks[1] is not None and max(lacks[0], lacks[1]) < 0.0
    assert reserve.wrong.endswith(f"; second {abs(lacks[1]):.1f} mm")
    camper = [read_layout("layouts/camper.yaml", variant).layout for variant in (None, "with idler")]
    (swing,) = (f for f in compare([("base", camper[0]), ("idler", camper[1])]).shared if f.check == "tension_swing")
    assert "; idler" not in swing.wrong and swing.value is not None
