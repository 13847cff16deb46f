"""Screening against the spine: one path at a time by the checks, wraps and clearances by plane geometry and shapely."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Bound, Finding, Severity
from beltplan.checks.plan import plan_of
from beltplan.cure.changes import Change, Changes, key_of
from beltplan.cure.moves import moved, other_diameter
from beltplan.cure.pairs import A_TARGET, PARTNERS, companions_of, pairs_of
from beltplan.cure.screen import NEARLY, Pool, Promise, Screen, Shortfall, as_it_stands, best_of, picked, screen_of
from beltplan.cure.trials import Issue, Judge, Trial, issues_of, trial_of, untried
from beltplan.drive.layout import Circle, Layout
from beltplan.drive.layout import Polygon as Body
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import route_of
from beltplan.drive.travel import Circuit, place_of
from beltplan.drive.way_round import NoBeltPath
from beltplan.layoutfile.layout_file import read_layout
from tests.corpus.invented import ring
from tests.cure.drives import layout_of, route
from tests.for_each import for_each


def screen(layout: Layout, **wanted: float) -> Screen:
    """wanted: wraps against slip, deg; a fifth more is ample."""
    own = {name: Bound("lower", wrap, "deg", "own", 1.2 * wrap) for name, wrap in wanted.items()}
    return Screen(replace(layout, limits={**layout.limits, "min_wrap_deg": {"": 0.0}}), own)


def bare(name: str) -> tuple[Layout, Circuit]:
    """A layout without obstacles and limits on speed, planes or wraps, and its path."""
    laid = route(name)
    pulleys = {
        key: replace(pulley, max_rpm=None, min_rpm=None, plane_mm=None) for key, pulley in laid.layout.pulleys.items()
    }
    layout = replace(laid.layout, obstacles=(), pulleys=pulleys)
    base = as_it_stands(laid)
    return layout, replace(base, pulleys=tuple(pulleys[p.name] for p in base.pulleys))


def test_a_sound_layout_falls_short_of_nothing_and_has_its_own_length() -> None:
    laid = route("railcar")
    found = screen_of(laid, operation_of(laid)).shortfall(as_it_stands(laid))
    assert found.short[0] == 0.0
    assert found.length_mm[0] == pytest.approx(float(laid.loop.length), abs=1e-9)
    assert found.tight[0] > 0.0, "the compressor's 128 deg are a caution under 132"


def test_a_path_that_is_not_sound_falls_short_without_end() -> None:
    laid = route("railcar")
    base = as_it_stands(laid)
    # The guide as it stands, and put on top of the crankshaft.
    index = [pulley.name for pulley in base.pulleys].index("guide")
    mixed = base.moved({index: np.stack((base.centre[index], base.centre[0]))})
    short = screen_of(laid, None).shortfall(mixed).short
    assert np.isfinite(short).tolist() == [True, False]


def test_the_wrap_that_is_missing_counts_as_its_share() -> None:
    layout, base = bare("railcar")
    laid = route("railcar")
    own = float(np.degrees(laid.loop.wrap[[p.name for p in laid.pulleys].index("compressor")]))
    found = screen(layout, compressor=own * 1.25).shortfall(base)
    assert found.short[0] == pytest.approx(0.2, abs=1e-9)
    assert found.tight[0] == pytest.approx(1.0 - 0.8 / 1.2, abs=1e-9)


def _revving_use(operation: Operation) -> float:
    """Highest use of the crank in the wet: while the engine speeds up, which asks more than steady running."""
    changed = operation.revving
    assert changed is not None
    utilisation = float(changed[1][1, ..., 0].max())
    assert utilisation > float(operation.utilisation[1, ..., 0].max())
    return utilisation


def test_slip_wants_more_wrap() -> None:
    laid = route("camper")
    operation = operation_of(laid)
    assert operation is not None
    by_role, by_slip = screen_of(laid, None), screen_of(laid, operation)
    utilisation = _revving_use(operation)
    assert utilisation > 1.0
    assert by_slip.grip["crank"].limit == pytest.approx(utilisation * np.degrees(laid.loop.wrap[0]))
    assert by_slip.grip["crank"].ample == pytest.approx(utilisation / 0.8 * np.degrees(laid.loop.wrap[0]))
    assert by_role.grip["crank"].limit == by_role.grip["crank"].ample == 0.0


def test_where_cautions_are_to_be_cured_ample_wraps_are_asked() -> None:
    laid = route("railcar")
    base = as_it_stands(laid)
    found = screen_of(laid, None, cautions=True).shortfall(base)
    assert found.short[0] == found.tight[0] == screen_of(laid, None).shortfall(base).tight[0] > 0.0


def test_an_added_idler_falls_short_of_its_caution_in_what_leaves_margin_alone() -> None:
    """A caution within a tenth of the limit (the project's own)."""
    layout, base = bare("railcar")
    index = [pulley.name for pulley in base.pulleys].index("guide")
    pulleys = tuple(replace(p, name="new", role="idler") if i == index else p for i, p in enumerate(base.pulleys))
    wrap = float(np.degrees(route("railcar").loop.wrap[index]))
    own = replace(layout, limits={"min_wrap_deg": {"new": wrap / 1.05, "": 0.0}})
    found = Screen(own, {}).shortfall(replace(base, pulleys=pulleys))
    assert found.short[0] == pytest.approx(0.0, abs=1e-9)
    assert found.tight[0] == pytest.approx(1.0 - 1.05 / 1.1, abs=1e-9)


@for_each(12.0, 9.0, 4.0)
def test_a_round_obstacle_beside_a_span_counts_as_shapely_measures_it(gap: float) -> None:
    """Least clearance 10 mm (common practice, no source); the distance by shapely."""
    layout, base = bare("railcar")
    loop = route("railcar").loop
    middle, away = loop.start[2] + 0.5 * loop.span[2] * loop.direction[2], loop.direction[2][::-1] * (1.0, -1.0)
    span = LineString([loop.start[2], loop.end[2]])
    outside = (
        away
        if Point(middle + 20.0 * away).distance(Point(loop.centre.mean(axis=0)))
        > span.distance(Point(loop.centre.mean(axis=0)))
        else -away
    )
    at = middle + (gap + layout.belt.outer_mm + 8.0) * outside
    hose = Circle("hose", (float(at[0]), float(at[1])), 16.0)
    measured = span.distance(Point(hose.at_mm)) - 8.0 - layout.belt.outer_mm
    assert measured == pytest.approx(gap, abs=1e-6)
    short = screen(replace(layout, obstacles=(hose,))).shortfall(base).short[0]
    assert short == pytest.approx(max(0.0, 1.0 - gap / 10.0), abs=1e-6)


KINDS = {
    "wrap": {"min_wrap_deg": 0.0},
    "small_pulley": {"min_diameter_mm": 0.0, "min_back_diameter_mm": 0.0},
    "belt_speed": {"max_belt_speed_m_per_s": 1000.0},
    "misalignment": {"max_misalignment_deg": 90.0, "max_misalignment_smooth_deg": 90.0},
    "clearance": {"min_clearance_mm": 0.0},
    "strand_gap": {"min_strand_gap_mm": 0.0},
    "rim_gap": {"min_rim_gap_mm": 0.0},
    "rpm": {},
}
"""Kinds of problem that the screen looks for, with limits that are hardly ever missed."""


def _fixed(seed: int, folder: Path) -> Layout | None:
    """A drive drawn from a seed, its faces tilted a little, its adjuster locked at the design setting; None where that
    has no path.
    """
    file, rng = folder / "ring.yaml", np.random.default_rng(seed)
    file.write_bytes(ring(seed))
    layout = read_layout(str(file)).layout
    pulleys = {
        name: replace(pulley, adjuster=None, at_mm=place_of(pulley), tilt_deg=tuple(rng.normal(0.0, 0.2, 2).tolist()))
        for name, pulley in layout.pulleys.items()
    }
    layout = replace(layout, pulleys=pulleys)
    try:
        route_of(layout)
    except NoBeltPath:
        return None
    return layout


def test_it_falls_short_of_nothing_exactly_where_check_finds_no_problem(tmp_path: Path) -> None:
    """Every kind alone, the limits of the others put where hardly anything misses them."""
    seen: Counter[tuple[str, bool]] = Counter()
    for seed in range(28):
        layout = _fixed(seed, tmp_path)
        for kind in KINDS if layout is not None else ():
            assert layout is not None
            easy = {key: {"": value} for other, own in KINDS.items() if other != kind for key, value in own.items()}
            asked = {"min_strand_gap_mm": {"": 90.0}} if kind == "strand_gap" else {}
            laid = route_of(replace(layout, limits={**easy, **asked}))
            problems = {f.check for f in findings_of(laid, None) if f.severity == "problem"} & set(KINDS)
            short = float(screen_of(laid, None).shortfall(as_it_stands(laid)).short[0])
            assert (short > 0.0) == bool(problems), f"ring {seed}, {kind}: short by {short}, problems {problems}"
            seen[kind, kind in problems] += 1
    assert {kind for kind, found in seen if found} == set(KINDS)
    assert {kind for kind, found in seen if not found} == set(KINDS)


def test_a_pulley_beside_a_span_may_come_as_near_as_check_lets_it() -> None:
    """Clearance to a pulley is 10 mm, not the 15 mm of two spans (both common practice, no source)."""
    layout, base = bare("railcar")
    loop = route("railcar").loop
    middle, span = loop.start[2] + 0.5 * loop.span[2] * loop.direction[2], LineString([loop.start[2], loop.end[2]])
    away = loop.direction[2][::-1] * (1.0, -1.0)
    inner = Point(loop.centre.mean(axis=0))
    outside = away if Point(middle + 20.0 * away).distance(inner) > span.distance(inner) else -away
    spare = replace(layout.pulleys["guide"], name="spare", diameter_mm=20.0)
    rim = spare.rim_radius_mm(layout.belt)
    for gap, short in ((12.0, 0.0), (8.0, 0.2)):
        at = middle + (gap + layout.belt.outer_mm + rim) * outside
        beside = replace(
            layout, pulleys={**layout.pulleys, "spare": replace(spare, at_mm=(float(at[0]), float(at[1])))}
        )
        assert screen(beside).shortfall(base).short[0] == pytest.approx(short, abs=1e-6)


def test_rims_too_near_a_polygon_count_as_shapely_measures_it() -> None:
    """Least rim gap 5 mm (common practice, no source); the distance by shapely. Inside the loop, off the belt."""
    layout, base = bare("railcar")
    index = [pulley.name for pulley in base.pulleys].index("crane_pump")
    x, y = base.centre[index] + (base.rim[index] + 3.0) * np.array((0.6, -0.8))
    corners = ((x, y), (x + 2.0, y - 1.0), (x + 1.0, y - 2.0))
    measured = Polygon(corners).distance(Point(base.centre[index])) - base.rim[index]
    found = screen(replace(layout, obstacles=(Body("plate", corners),)))
    apart = screen(replace(layout, obstacles=(Body("plate", corners),), limits={"min_rim_gap_mm": {"": 0.0}}))
    only_rim = found.shortfall(base).short[0] - apart.shortfall(base).short[0]
    assert only_rim == pytest.approx(1.0 - measured / 5.0, abs=1e-9)


# A change tried out: what is left by the checks, with the belt that goes on where the named one does not.


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


# Pools of changes: which are picked out to be judged. Plain made-up shortfalls; the rules are the project's own.


NOTHING = as_it_stands(route("railcar"))


def change(number: int, size: float) -> Change:
    return moved(f"p{number}", (size, 0.0), False)


def pick(short: list[float], tight: list[float], sizes: list[float], most: int) -> list[str]:
    """Targets of the changes that are picked."""
    found = Shortfall(np.array(short), np.array(tight), np.zeros(len(short)))
    return [
        promise.change.target for promise in picked(Pool(((NOTHING, None),), np.array(sizes), change), found, 0.0, most)
    ]


def test_what_has_no_path_is_never_picked() -> None:
    assert pick([np.inf] * 3, [np.inf] * 3, [1.0, 2.0, 3.0], 5) == []
    assert pick([np.inf, 0.5], [np.inf, 0.7], [1.0, 2.0], 5) == ["p1"]


def test_half_are_spread_from_the_smallest_up_and_half_are_the_best() -> None:
    count = 20
    found = pick([0.0] * count, [1.0 - 0.01 * i for i in range(count)], [float(i) for i in range(count)], 6)
    assert found[:3] == ["p0", "p9", "p19"], "the smallest, the middle, the largest"
    assert found[3:] == ["p18", "p17", "p16"], "then those with most in hand"


def test_where_all_fall_short_the_nearest_are_picked() -> None:
    assert pick([0.9, 0.2, 0.5], [1.0, 0.3, 0.6], [1.0, 9.0, 2.0], 2) == ["p1", "p2"]


def test_the_best_of_several_pools() -> None:
    small = Promise(0.0, 0.5, change(0, 1.0))
    large = Promise(NEARLY, 0.4, change(1, 50.0))
    far = Promise(0.8, 0.9, change(2, 0.1))
    assert [each.target for each in best_of([far, large, small], 3)] == ["p0", "p1", "p2"]
    assert [each.target for each in best_of([far, large, small], 2)] == ["p0", "p1"]
    # The smallest and the most promising, half of each; of an odd number one small one more.
    every = [Promise(0.0, 1.0 - 0.01 * i, change(i, 1.0 + i)) for i in range(20)]
    assert [each.target for each in best_of(every, 6)] == ["p0", "p1", "p2", "p19", "p18", "p17"]
    assert [each.target for each in best_of(every, 7)] == ["p0", "p1", "p2", "p3", "p19", "p18", "p17"]


@for_each(1, 2, 5, 50)
def test_no_more_than_asked_for_and_each_once(most: int) -> None:
    found = pick([0.0] * 9, [0.1 * i for i in range(9)], [float(9 - i) for i in range(9)], most)
    assert len(found) == len(set(found)) == min(most, 9)


# Pairs of changes: which are looked at, and in which order. What a path falls short of is the screening's own.


A, B, C = (("wrap", name) for name in ("crank", "alternator", "guide"))


def trial(change: Change, *left: Issue, severity: Severity = "problem") -> Trial:
    findings = tuple(Finding(check, severity, subject, "message", "source") for check, subject in left)
    return Trial((change,), route("railcar").layout, findings)


def pairs(*singles: Trial, most: int = 50, severity: Severity = "problem") -> tuple[tuple[Changes, ...], int]:
    laid = route("railcar")
    before = Trial((), laid.layout, (Finding("wrap", severity, "crank", "message", "source"),))
    return pairs_of(singles, before, screen_of(laid, None), most)


def larger(name: str, by: float = 5.0) -> Change:
    return other_diameter(name, {"crank": 190.0, "compressor": 150.0, "alternator": 62.0}.get(name, 95.0) + by, 95.0)


def test_two_that_solve_what_the_other_leaves_come_first() -> None:
    found, looked_at = pairs(
        trial(larger("crank"), A), trial(larger("compressor"), A, B), trial(larger("alternator"), B, C)
    )
    assert looked_at == 3
    assert key_of(found[0]) == key_of((larger("crank"), larger("alternator")))


def test_what_cures_alone_is_in_no_pair() -> None:
    found, looked_at = pairs(trial(larger("crank")), trial(larger("crank", 10.0), A), trial(larger("compressor"), A))
    assert (found, looked_at) == ((), 0)


def test_one_target_is_not_paired_with_itself_and_not_taken_too_often() -> None:
    many = [trial(larger("crank", 5.0 * i), A) for i in range(1, 8)]
    assert pairs(*many) == ((), 0)
    _, looked_at = pairs(*many, trial(larger("compressor"), B))
    assert looked_at == A_TARGET
    assert all(count >= 1 for count in PARTNERS.values())


def test_no_more_than_asked_for_and_none_without_a_path() -> None:
    huge = other_diameter("compressor", 900.0, 150.0)
    found, looked_at = pairs(trial(larger("crank"), A), trial(huge, B))
    assert (found, looked_at) == ((), 1), "a disc of 900 mm lies over its neighbours"
    found, _ = pairs(trial(larger("crank"), A), trial(larger("compressor"), B), trial(larger("guide"), C), most=2)
    assert len(found) == 2


def test_where_there_are_only_cautions_what_takes_some_away_is_paired_still() -> None:
    some = [trial(larger("crank"), A, severity="caution"), trial(larger("compressor"), B, severity="caution")]
    assert pairs(*some, severity="caution")[1] == 1
    assert pairs(*some, severity="problem")[1] == 0, "either leaves no problem, so cures alone"
    assert pairs(trial(larger("crank")), some[1], severity="caution")[1] == 0, "the first leaves nothing"


def test_beside_a_cure_comes_first_what_takes_away_what_it_leaves() -> None:
    best = trial(larger("crank"), A, severity="caution")
    useless, useful = trial(larger("compressor", 1.0), A), trial(larger("alternator", 20.0), B)
    same = trial(larger("crank", 30.0))
    found = companions_of(best, [useless, same, useful], 5)
    assert found == ((*best.changes, *useful.changes), (*best.changes, *useless.changes))
    assert companions_of(best, [useless, same, useful], 1) == found[:1]
