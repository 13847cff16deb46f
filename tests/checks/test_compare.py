"""Comparisons: each column is what `check` says of the same layout, and the order in which they come does not matter.

Layouts of the project's own folder and small invented drives whose numbers are plane geometry.
"""

from __future__ import annotations

from dataclasses import astuple, replace
from functools import cache
from itertools import permutations

import numpy as np
import pytest

from beltplan.checks.comparison import Comparison, compare
from beltplan.checks.limits import Finding
from beltplan.checks.plan import plan_on
from beltplan.drive.layout import Engine, Layout
from beltplan.drive.operation import operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_every_layout
from tests.checks.drives import layout, pulley, route, sliding, swinging, two
from tests.drive.loaded_drives import on_slide, seven
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS

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
    judged = column.judged
    assert judged is not None and column.name == name and column.refusal == ()
    assert told(judged.findings) == told(plan_on(alone).findings)
    assert judged.route.designation == alone.designation and judged.route.position == alone.position
    wraps = {p.name: float(w) for p, w in zip(alone.pulleys, np.degrees(alone.loop.wrap), strict=True)}
    assert judged.wrap is not None and wraps[judged.wrap.name] == pytest.approx(judged.wrap.wrap_deg)
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
        judged = made.columns[index].judged
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
    judged = compare([("a", two(300.0, 200.0, 80.0))]).best.judged
    assert judged is not None and judged.wrap is not None
    assert (judged.wrap.name, judged.wrap.minimum_deg) == ("far", 120.0)
    assert judged.wrap.over_deg == pytest.approx(180.0 - 2.0 * np.degrees(np.arcsin(60.0 / 300.0)) - 120.0)


def test_alternator_speeds_by_hand() -> None:
    """Equal pulleys turn alike; without speeds of the engine nothing is known."""
    engine = Engine(idle_rpm=700.0, max_rpm=3000.0)
    judged = compare([("a", two(engine=engine))]).best.judged
    assert judged is not None
    (speed,) = judged.alternators
    assert speed.name == "far" and [speed.rpm["idle"], speed.rpm["max"]] == pytest.approx([700.0, 3000.0])
    bare = compare([("a", two())]).best.judged
    assert bare is not None
    assert [own.rpm for own in bare.alternators] == [{}]


def test_no_belt_path_is_a_column_that_says_why_and_comes_last() -> None:
    made = compare([("none", OVERLAPPING), ("slips", two(104.0)), ("good", two())])
    assert made.ranks == (3, 2, 1) and made.columns[0].judged is None
    (fault,) = made.columns[0].refusal
    assert fault.pulleys == ("crank", "far") and "overlap" in fault.got
    assert made.own(made.columns[0]) == ()


def test_all_without_a_path() -> None:
    made = compare([("a", OVERLAPPING), ("b", OVERLAPPING)])
    assert made.best.judged is None and made.ranks == (1, 1) and made.shared == ()


def test_findings_of_all_are_told_apart_from_those_of_one() -> None:
    made = compare([("a", two(500.0)), ("b", two(500.0, beside=(pulley("spare", "idler", 250, 300, 60),)))])
    assert {finding.check for finding in made.shared} >= {"free_strand"}
    first, second = (made.own(column) for column in made.columns)
    assert {finding.check for finding in first} == set()
    assert {finding.subject for finding in second} == {"spare"}
    for column, own in zip(made.columns, (first, second), strict=True):
        assert column.judged is not None
        assert sorted(told(column.judged.findings)) == sorted(told((*made.shared, *own)))


def test_shared_is_what_the_last_one_has_too() -> None:
    made = compare([("a", two(500.0)), ("b", two(500.0)), ("c", two(300.0))])
    assert "free_strand" not in {finding.check for finding in made.shared} and made.shared
    assert "free_strand" in {finding.check for finding in made.own(made.columns[0])}


def test_the_largest_pull_may_be_that_of_the_engine_stopped() -> None:
    """Set by hand and without loads: running, m v^2 takes its share of the tension off the hubs."""
    judged = compare([("a", on_slide(tension_N=300.0, loads={}))]).best.judged
    assert judged is not None and judged.operation is not None and judged.hub is not None
    stopped = np.linalg.norm(judged.operation.stopped.hub_load_N, axis=-1)
    assert judged.hub.maximum_N == pytest.approx(float(stopped.max()))
    assert judged.hub.maximum_N > float(judged.operation.hub_size_N.max())
    assert judged.hub.pulley == judged.route.pulleys[int(stopped.argmax())].name


def test_one_layout_shares_nothing() -> None:
    made = compare([("a", two(500.0))])
    assert made.shared == () and made.best.judged is not None
    assert told(made.own(made.best)) == told(made.best.judged.findings)


@for_each(sliding(), swinging(90.0), seven(), seven(loads={}))
def test_a_layout_alone_is_the_best_of_itself(given: Layout) -> None:
    made = compare([("a", given)])
    assert (made.order, made.ranks) == ((0,), (1,)) and made.best.layout == given
    assert made.best.judged is not None and made.best.judged.route.designation == route(given).designation


def test_without_loads_slip_is_not_known() -> None:
    judged = compare([("a", seven(loads={})), ("b", replace(seven(), title="other"))])
    bare, loaded = (column.judged for column in judged.columns)
    assert bare is not None and loaded is not None
    assert bare.dry is None and bare.wet is None and bare.hub is not None
    assert loaded.dry is not None and loaded.wet is not None and loaded.wet.utilisation > loaded.dry.utilisation
