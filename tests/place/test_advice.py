"""Where to put it: how far a place stays good against brute force; the best agrees with `compare` and the map."""

import math
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt

from beltplan.api import plan_many
from beltplan.checks.comparison import compare
from beltplan.checks.every_check import findings_of
from beltplan.checks.lengths import lengths_words, sound_belt
from beltplan.checks.limits import SEVERITIES
from beltplan.checks.plan import plan_of
from beltplan.drive.belt import Belt
from beltplan.drive.layout import Layout
from beltplan.drive.loads import AlternatorLoad, TorqueLoad
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.geometry.vectors import TURN, from_angle
from beltplan.judging.running import LEFT_TO_CHECK
from beltplan.judging.stages import CAUTION, SOUND, STATES, Place, judged_places, moved
from beltplan.layoutfile.layout_file import read_layout
from beltplan.place.advice import Advice, Proof, _least_margin, advice_of, proof_of
from beltplan.place.closer import surely_mm, wanted_of
from beltplan.place.report import _proof_words, place_answers, place_report
from beltplan.place.study import Grid, PlaceMap, bounds_of, grid_of, place_map
from tests.checks.drives import belt_of, layout, pulley, sliding
from tests.drive.drives import with_pulley
from tests.for_each import for_each, mostly_long
from tests.place.drives import DRIVES, shipped

_FAILING = ("no path", "no belt fits", "problem")
MAPS = (("railcar", "compressor"), ("workboat", "alternator"), ("camper", "house_alternator"))
SHIPPED = [
    (name, pulley.name)
    for name in ("railcar", "camper", "workboat", "orchard_sprayer", "too_tight")
    for pulley in shipped(name).routed
    if pulley.adjuster is None
]

CASES = [
    path
    for path in sorted((Path(__file__).parents[1] / "cases").glob("*.yaml"))
    if "\nroute:" in (text := path.read_text("utf-8")) and "\ndistances:" not in text
]


@cache
def _map(name: str, pulley: str) -> PlaceMap:
    return _over(shipped(name), pulley, 8.0)


def _over(layout: Layout, pulley: str, step_mm: float) -> PlaceMap:
    return place_map(layout, pulley, grid_of(*bounds_of(layout), step_mm, layout.pulleys[pulley].at_mm))


@cache
def _advice(name: str, pulley: str) -> Advice:
    return advice_of(_map(name, pulley))


def test_what_places_surely_stay_as_far_as_it_counts() -> None:
    """Against scipy's exact Euclidean distance transform, less one step of the grid, and what the map's end leaves."""
    found, good = _map("workboat", "alternator"), np.random.default_rng(5).random((90, 60)) < 0.97
    grid = replace(found.grid, high=(found.grid.low[0] + 59 * 8.0, found.grid.low[1] + 89 * 8.0))
    judged = replace(found.judged, places=np.append(grid.points(), [[0.0, 0.0]], axis=0)[:, None])
    own = replace(found, grid=grid, judged=replace(judged, state=np.append(np.where(good, SOUND, CAUTION), SOUND)))
    rows, columns = np.indices(good.shape)
    ends = 8.0 * np.minimum(np.minimum(rows, 89 - rows), np.minimum(columns, 59 - columns))
    every = np.minimum(ends, np.maximum(8.0 * distance_transform_edt(good) - 8.0, 0.0)).ravel()
    for needed_mm in (3.0, 8.0, 20.0, 1e4):
        surely = surely_mm(own, own.states >= SOUND, needed_mm)
        counts = (every < needed_mm) | (surely < needed_mm)
        assert counts.sum() > 1000
        np.testing.assert_allclose(surely[counts], every[counts], atol=1e-9)


@for_each(*MAPS[1:])
def test_how_far_a_place_stays_good_is_the_first_ring_that_is_worse(name: str, pulley: str) -> None:
    """Against `plan_many` on rings of 240 places, every 0.05 mm, round the best place and the present one."""
    advice, seen = _advice(name, pulley), 0
    unit = from_angle(np.linspace(0.0, TURN, 240, endpoint=False))
    for proof in {id(each): each for each in (advice.best, advice.now) if each is not None}.values():
        for stays, worse in ((proof.problem, _FAILING), (proof.caution, (*_FAILING, "caution"))):
            if stays is None or stays.at_most_mm is None:
                continue
            radii = np.arange(0.05, stays.at_most_mm + 0.05, 0.05)
            places = np.array(proof.place.at_mm[0]) + radii[:, None, None] * unit
            found = plan_many(shipped(name), pulley, places.reshape(-1, 2)).verdict
            bad = np.isin(np.array(found).reshape(len(radii), -1), worse).any(axis=1)
            first = float(radii[np.argmax(bad)])
            assert bad.any() and stays.at_least_mm - 0.05 <= first <= stays.at_most_mm + 1e-6
            seen += 1
    assert seen


@for_each(*MAPS)
def test_how_near_a_pulley_must_sit_for_the_belt_that_is_named(name: str, pulley: str) -> None:
    """`check` of the layout with that belt alone: as good on rings within, worse somewhere on the first beyond."""
    best = _advice(name, pulley).best
    assert best is not None and best.one_belt is not None and best.plan.route.judged is not None
    near, beyond = best.one_belt.at_least_mm, best.one_belt.at_most_mm
    named = replace(shipped(name), belt=best.plan.route.judged.belt)

    def worse(radius_mm: float) -> list[bool]:
        places = np.array(best.place.at_mm[0]) + radius_mm * from_angle(np.linspace(0.0, TURN, 96, endpoint=False))
        found = np.array(plan_many(named, pulley, places).verdict)
        return list(np.isin(found, _FAILING if best.caution is None else (*_FAILING, "caution")))

    assert near <= best.surely_mm and not any(worse(0.9 * near))
    assert beyond is None or any(worse(beyond))


@for_each(*MAPS)
def test_a_finer_grid_never_finds_less_than_was_promised(name: str, pulley: str) -> None:
    """Every place of a fine ring round the best one, inside what it surely stays, is as good."""
    best = _advice(name, pulley).best
    assert best is not None
    (x, y), reach, turn = best.place.at_mm[0], best.surely_mm, np.linspace(0.0, 2.0 * np.pi, 6)[:-1]
    ring = [(x + share * reach * np.cos(a), y + share * reach * np.sin(a)) for share in (0.5, 0.95) for a in turn]
    plans = compare([(str(i), moved(shipped(name), (pulley,), [at])) for i, at in enumerate(ring)]).columns
    judged = [column.plan for column in plans if column.plan is not None]
    assert len(judged) == len(ring) and not any(plan.count("problem") for plan in judged)
    stands = sum(finding.severity == "caution" for finding in _map(name, pulley).judged.everywhere)
    assert best.caution is None or all(plan.count("caution") == stands for plan in judged)


@pytest.mark.parametrize(
    ("name", "pulley"), mostly_long(SHIPPED, *range(0, len(SHIPPED), 4)), ids=[" ".join(each) for each in SHIPPED]
)
def test_the_best_place_never_ranks_below_the_present_one(name: str, pulley: str) -> None:
    _ranks_no_lower(_over(shipped(name), pulley, 30.0))


@pytest.mark.parametrize("path", mostly_long(CASES, *range(0, len(CASES), 3)), ids=[path.stem for path in CASES])
def test_the_best_place_of_a_layout_that_once_went_wrong_neither(path: Path) -> None:
    layout = read_layout(str(path)).layout
    *_, pulley = (each.name for each in layout.routed if each.adjuster is None)
    (x0, y0), (x1, y1) = bounds_of(layout)
    _ranks_no_lower(_over(layout, pulley, float(np.sqrt((x1 - x0) * (y1 - y0) / 150.0))))


def _ranks_no_lower(found: PlaceMap) -> None:
    """By the rule of `compare`, the best place as a variant beside the file's own."""
    layout, pulley, best = found.layout, found.pulley, advice_of(found).best
    if best is None:
        own = compare([("own", layout)]).best.plan
        assert own is None or own.count("problem")
        return
    ranked = compare([("own", layout), ("best", moved(layout, (pulley,), best.place.at_mm))])
    assert ranked.ranks[1] == 1 and not best.plan.count("problem")


def test_the_best_place_has_the_largest_margin_of_those_that_stay_good() -> None:
    """By scipy's distances: no place of the map that surely stays good as far has a larger margin."""
    found, advice = _map("workboat", "alternator"), _advice("workboat", "alternator")
    best, step = advice.best, found.grid.step_mm
    assert best is not None and advice.robust and not advice.stay
    surely = step * distance_transform_edt(found.states >= SOUND) - step
    margin, own = found.field("margin"), found.field("own_margin")
    among = surely >= advice.needed_mm
    assert among.sum() > 5 and best.place.verdict == "sound"
    assert best.place.margin is not None and best.place.own_margin is not None
    assert best.place.margin >= margin[among].max() - 1e-6
    equal = among & (margin > margin[among].max() - 5e-7)
    assert best.place.own_margin > own[equal].max() + 0.01, "looked at closer than in steps of 8 mm"


@for_each((0.5, 3.0), (1.5, 3.0), (4.0, 8.0))
def test_two_standard_deviations_and_three_mm_at_least(deviation_mm: float, needed_mm: float) -> None:
    found = _map("workboat", "alternator")
    given = replace(found.layout, uncertainty=Uncertainty(position_mm=deviation_mm))
    assert advice_of(replace(found, layout=given)).needed_mm == needed_mm


def test_a_place_that_is_hard_to_meet_is_not_the_best_while_another_is_not() -> None:
    """What may be off by 16 mm needs more room round it than what may be off by 3."""
    found, near = _map("workboat", "alternator"), _advice("workboat", "alternator").best
    far = advice_of(replace(found, layout=replace(found.layout, uncertainty=Uncertainty(position_mm=8.0))))
    assert near is not None and far.best is not None and far.robust
    assert far.best.surely_mm >= 16.0 > near.surely_mm


def test_where_none_stays_good_so_far_the_one_that_does_farthest_is_named() -> None:
    found = _map("camper", "house_alternator")
    wild = advice_of(replace(found, layout=replace(found.layout, uncertainty=Uncertainty(position_mm=90.0))))
    assert wild.best is not None and not wild.robust and wild.best.problem is not None
    away = found.grid.step_mm * distance_transform_edt(found.states >= CAUTION)
    x, y = wild.best.place.at_mm[0]
    row, column = round((y - found.grid.y_mm[0]) / 8.0), round((x - found.grid.x_mm[0]) / 8.0)
    assert away[row, column] == pytest.approx(away.max()) and 0.0 < wild.best.surely_mm < away.max()


BOXES = ((117.0, 247.0, 302.0, 423.0), (137.0, 202.0, 327.0, 394.0), (160.0, 200.0, 336.0, 375.0))


def test_the_advice_hangs_on_the_layout_and_not_on_the_box_that_is_looked_in() -> None:
    """Three boxes that all hold the best place, in steps of 0.2 to 0.63 mm: the same place, margin and words."""
    layout = shipped("workboat")
    told = []
    for x0, x1, y0, y1 in BOXES:
        found = place_map(layout, "alternator", grid_of((x0, y0), (x1, y1), None, None))
        told.append(place_answers(found, advice_of(found))[:4])
    assert told[0] == told[1] == told[2] and told[0][0][1].startswith("alternator at x 6.97, y 14.07 in: ")


def test_what_may_be_lost_off_a_place_is_the_least_margin_round_it() -> None:
    """Against 4000 places drawn within 3 mm of it."""
    found, best = _map("workboat", "alternator"), _advice("workboat", "alternator").best
    assert best is not None
    rng = np.random.default_rng(6)
    off = from_angle(rng.uniform(0.0, TURN, 4000)) * 3.0 * np.sqrt(rng.uniform(0.0, 1.0, (4000, 1)))
    places = np.array(best.place.at_mm[0]) + off
    own = judged_places(found.layout, ("alternator",), places[:, None]).spread("own_margin")
    assert _least_margin(found, best.place.at_mm[0], 3.0) == pytest.approx(np.nanmin(own), abs=0.003)


def test_a_gain_that_the_error_of_placing_takes_away_is_none() -> None:
    """From the best place itself nothing is gained by a move to its neighbour."""
    best = _advice("workboat", "alternator").best
    assert best is not None
    x, y = best.place.at_mm[0]
    layout = moved(shipped("workboat"), ("alternator",), [(x + 0.4, y - 0.3)])
    grid = grid_of((x - 60.0, y - 60.0), (x + 60.0, y + 60.0), 4.0, (x, y))
    advice = advice_of(place_map(layout, "alternator", grid))
    assert advice.best is advice.now and " of margin, and 3.0 mm off it may lose " in advice.stay


def test_where_no_place_of_a_map_surely_stays_good_a_closer_one_finds_one() -> None:
    """Held against every check at 16 places all round the best one, as far off as it may be met."""
    layout, name = shipped("camper"), "house_alternator"
    found = place_map(layout, name, grid_of(*bounds_of(layout), None, layout.pulleys[name].at_mm))
    fine, closer = advice_of(found), found.closer()
    assert wanted_of(found, 3.0).state == 0 and closer is not None
    assert closer.step_mm < found.grid.step_mm / 5.0
    x, y = np.meshgrid(found.grid.x_mm, found.grid.y_mm)
    for at, low, high in zip((x, y), closer.low, (closer.x_mm[-1], closer.y_mm[-1]), strict=True):
        good = at[found.states >= CAUTION]
        assert low < good.min() and good.max() < high
    assert fine.best is not None and fine.robust
    turn = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    ring = np.array(fine.best.place.at_mm) + fine.needed_mm * np.stack((np.cos(turn), np.sin(turn)), axis=-1)
    for at_mm in ring.tolist():
        plan = plan_of(moved(layout, (name,), [tuple(at_mm)]))
        assert plan.count("problem") == 0, at_mm


_CHECKS = {
    "rim gap": ("rim_gap",), "span gap": ("strand_gap",), "reserve of the belt": ("reserve",), "fitting the belt":
    ("fitting",), "take-up": ("take_up",), "a long span": ("free_strand",), "a short span": ("short_span",),
    "pulleys out of line": ("misalignment",), "tension of a span": ("strand_tension", "tension"),
    "a slack span": ("strand_tension", "slip"), "the tensioner at a stop": ("spring",), 
    "slip": ("slip", "slip_on_revs"), "a belt to ask for": ("belt_fit",), "a part of the travel": ("travel",),
    "the spring's readings": ("rising_spring",), "resonance of a span": ("resonance",),
}  # fmt: skip


@for_each(*DRIVES)
def test_what_fails_is_what_check_finds(name: str) -> None:
    """What a problem is called is what `check` finds the problem by, and nothing else is farther beyond its limit."""
    layout, pulley = DRIVES[name]
    at = layout.pulleys[pulley].at_mm
    assert at is not None
    grid = grid_of((at[0] - 90.0, at[1] - 90.0), (at[0] + 90.0, at[1] + 90.0), 30.0, None)
    found = place_map(layout, pulley, grid)
    causes, states = found.judged.failing, found.judged.state
    if not found.judged.standing:
        assert ((causes != "") == np.isin(states, (CAUTION - 1, CAUTION))).all()
        assert sum(found.failing.values()) == found.counts["problem"]
        assert sum(found.cautioned.values()) == found.counts["caution"]
    numbers = (np.flatnonzero((causes != "") & (states == state)) for state in (CAUTION - 1, CAUTION))
    for number in (number for some in numbers for number in some[::3][:4]):
        column = compare([("moved", moved(layout, (pulley,), found.judged.places[number].tolist()))]).best.plan
        assert column is not None
        told = [f for f in column.findings if f.severity == STATES[states[number]]]
        cause = str(causes[number])
        kind, _, subject = cause.partition(" of ") if " of " in cause else cause.partition(" to ")
        checks = _CHECKS.get(cause) or _CHECKS.get(kind) or (kind.replace(" ", "_"),)
        alike = [f for f in told if f.check in checks]
        assert alike, (cause, [(f.check, f.subject) for f in told])
        if kind in ("wrap", "clearance", "hub load"):
            assert any(subject in f"{f.subject} {f.message}" for f in alike), (cause, alike)


# Plans of places: what `check` finds there is what is told, and the best one passes.


GRID = Grid((150.0, 330.0), (190.0, 370.0), 10.0)

LEFT = {check.name for check in LEFT_TO_CHECK}


def test_moved_pulleys_and_no_others() -> None:
    given = shipped("workboat")
    other = moved(given, ("alternator", "idler"), ((1.0, 2.0), (3.0, 4.0)))
    assert (other.pulleys["alternator"].at_mm, other.pulleys["idler"].at_mm) == ((1.0, 2.0), (3.0, 4.0))
    assert other.pulleys["crank"] is given.pulleys["crank"] or other.pulleys["crank"] == given.pulleys["crank"]
    assert given.pulleys["alternator"].at_mm != (1.0, 2.0)


def test_the_findings_are_those_of_check() -> None:
    place = Place(((174.0, 358.5),), "sound")
    proof = proof_of(shipped("workboat"), ("alternator",), place)
    route = route_of(with_pulley(shipped("workboat"), "alternator", at_mm=(174.0, 358.5)))
    expected = findings_of(route, operation_of(route))
    assert proof is not None
    assert [(f.check, f.subject, f.severity, f.value) for f in proof.plan.findings] == [
        (f.check, f.subject, f.severity, f.value) for f in expected
    ]


def test_no_path_no_proof() -> None:
    assert proof_of(shipped("workboat"), ("alternator",), Place(((0.0, 0.0),), "no path")) is None


def test_the_best_place_passes_in_full() -> None:
    found = place_map(shipped("workboat"), "alternator", GRID)
    best = advice_of(found).best
    assert best is not None and not best.plan.count("problem")


def test_a_tilted_face_is_judged_at_every_place_as_check_judges_it() -> None:
    """Of a tilt of 0.36 deg the spans beside it see more or less, as the place turns them: caution or not."""
    given = with_pulley(shipped("workboat"), "alternator", tilt_deg=(0.0, 0.36))
    rng = np.random.default_rng(3)
    places = np.array(given.pulleys["alternator"].at_mm) + rng.uniform(-60.0, 60.0, (24, 2))
    told = [STATES[state] for state in judged_places(given, ("alternator",), places[:, None]).state]
    checked = []
    for at in places.tolist():
        route = route_of(with_pulley(given, "alternator", at_mm=tuple(at)))
        found = {f.severity for f in findings_of(route, operation_of(route)) if f.check not in LEFT}
        checked.append("problem" if "problem" in found else "caution" if "caution" in found else "sound")
    assert told == checked and len(set(told)) > 1


def test_what_no_place_changes_is_a_problem_at_every_place() -> None:
    """An alternator that stands 100 rpm: no place changes its speed."""
    layout = with_pulley(shipped("workboat"), "alternator", max_rpm=100.0)
    found = place_map(layout, "alternator", GRID)
    assert advice_of(found).best is None
    assert ("rpm", "problem", "alternator") in [(f.check, f.severity, f.subject) for f in found.judged.everywhere]
    # It is told apart from what the places decide, which is counted as it is without it.
    assert found.judged.standing == ("rpm of alternator",)
    assert found.failing == place_map(shipped("workboat"), "alternator", GRID).failing != {}


def test_a_caution_that_no_place_changes_marks_none() -> None:
    """Short of current at idle wherever it sits: the map shows what the place decides, and the words tell the rest."""
    alternator = shipped("workboat").pulleys["alternator"].load
    assert isinstance(alternator, AlternatorLoad)
    short = with_pulley(shipped("workboat"), "alternator", load=replace(alternator, current_A=70.0))
    found, without = (place_map(layout, "alternator", GRID) for layout in (short, shipped("workboat")))
    assert [finding.check for finding in found.judged.everywhere] == ["current"]
    assert found.counts == without.counts and found.counts["sound"] > 0
    words = "".join(str(part) for part in place_report(found, advice_of(found)).blocks)
    assert "AT EVERY PLACE" in words and "70 A asked" in words


def test_a_rotor_that_slips_on_revs_has_no_place() -> None:
    """A rotor of 50 kg m2 revved up in an instant: no wrap holds that."""
    layout = with_pulley(shipped("workboat"), "alternator", inertia_kgm2=50.0)
    layout = replace(layout, engine=replace(layout.engine, rev_up_rpm_per_s=3000.0))
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_hub_that_stands_nothing_has_no_place() -> None:
    """A bearing that stands 10 N: every span pulls more."""
    layout = with_pulley(shipped("workboat"), "alternator", max_hub_load_N=10.0)
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_bearing_that_no_moment_may_bend_has_no_place() -> None:
    """1 N m at 62 mm: the belt pulls far more than 16 N wherever it runs."""
    layout = with_pulley(shipped("workboat"), "alternator", overhang_mm=62.0, max_moment_Nm=1.0)
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_drive_that_slips_everywhere_has_no_best() -> None:
    """An alternator that asks 500 N m: no wrap holds that."""
    layout = with_pulley(shipped("workboat"), "alternator", load=TorqueLoad(500.0))
    assert advice_of(place_map(layout, "alternator", GRID)).best is None


def test_a_map_without_any_place_has_no_best() -> None:
    found = place_map(shipped("workboat"), "alternator", replace(GRID, low=(-10.0, -10.0), high=(10.0, 10.0)))
    assert advice_of(found).best is None


def test_counting() -> None:
    """What `check` says with the camper's second alternator where it stands, counted by hand and by the proof."""
    route = route_of(shipped("camper"))
    seen = Counter(finding.severity for finding in findings_of(route, operation_of(route)))
    proof = proof_of(shipped("camper"), ("house_alternator",), Place((shipped_at("camper"),), "problem"))
    assert proof is not None and seen["problem"] > 0
    assert all(proof.plan.count(severity) == seen[severity] for severity in SEVERITIES)


def shipped_at(name: str) -> tuple[float, float]:
    """Where the camper's second alternator stands."""
    at = shipped(name).pulleys["house_alternator"].at_mm
    assert at is not None
    return at


def test_another_belt_is_named_where_only_that_judged_has_a_problem() -> None:
    """Discs of 200 and 60 mm at a distance D: 180 - 2 asin(70 / D) deg on the smaller, closed form of the handbooks.

    At 318 mm that is under the 155 demanded, at 357 mm over it; the belt of the first has more reserve in 300 to 360.
    """
    far = replace(sliding().pulleys["far"], diameter_mm=60.0)
    given = layout(pulley("crank", "crankshaft", 0.0, 0.0, 200.0), far, limits={"min_wrap_deg": {"far": 155.0}})

    def belt(distance: float) -> Belt:
        lean = math.asin(70.0 / distance)
        return belt_of(2.0 * distance * math.cos(lean) + math.pi * 130.0 + 140.0 * lean, given).belt

    wraps = [180.0 - 2.0 * math.degrees(math.asin(70.0 / distance)) for distance in (318.0, 357.0)]
    assert wraps[0] < 155.0 < wraps[1]
    short, long, place = belt(318.0), belt(357.0), Place(((0.0, 0.0),), "problem")
    both, alone, sound = (
        Proof(place, plan_of(replace(given, stock=belts))) for belts in ((short, long), (short,), (long,))
    )
    assert both.plan.route.judged is not None and both.plan.route.judged.belt == short
    other = sound.plan.route.designation
    assert [each.designation for each in (sound_belt(both.plan),) if each] == [other]
    assert sound_belt(alone.plan) is None is sound_belt(sound.plan)
    assert f"({other} has no problem here)" in _proof_words(both)
    # The longest with full reserve is 10 mm shorter, which makes 0.3 deg: with all of them there is a problem.
    strict = plan_of(replace(given, stock=(short, long), limits={"min_wrap_deg": {"far": wraps[1] - 0.1}}))
    assert lengths_words(strict) == f"{other} has no problem, but not full reserve: `belt: {other}` judges it"
