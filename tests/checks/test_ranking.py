"""The rule of the ranking: by hand on small cases, as laws on random ones, and margins in closed form.

Limits met here: least wrap 120 deg of crankshaft and alternator, clearance 10 mm, all common practice, no source;
slip use 1, slip formula of Euler and Shigley.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from beltplan.checks.comparison import RULE, order_of, ranks_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Margin, RankKey, plan_of
from beltplan.drive.layout import Layout, Polygon
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.routes.report import margin_words
from tests.checks.drives import BACK_MM, two
from tests.cure.drives import revving_camper
from tests.drive.loaded_drives import on_slide, seven
from tests.for_each import for_each

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
    laid, found = route_of(lacking), margin(lacking)
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
    assert (found.of, found.where) == ("slip when wet, revving", "crank")
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


def test_a_limit_of_zero_has_no_share() -> None:
    nothing = {key: {"": 0.0} for key in ("min_wrap_deg", "min_clearance_mm", "min_strand_gap_mm", "min_rim_gap_mm")}
    assert margin(two(limits=nothing)) is None


def test_the_rule_names_all_that_it_looks_at_in_its_order() -> None:
    places = [RULE.index(word) for word in ("problems", "cautions", "worst margin", "order given")]
    assert places == sorted(places)
    assert all(word in RULE for word in ("wrap", "grip used when wet", "clearance", "share of that limit", "reserves"))
