"""Every gap of whole layouts against the same belt drawn with shapely, setting by setting."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point

from beltplan.checks.clearance import PLACES, gaps_of, telling_gaps
from beltplan.checks.every_check import findings_of
from beltplan.checks.gaps import GAP_CHECK, MEASURED, _facing, _may_be_near
from beltplan.checks.limits import Finding
from beltplan.checks.margin import worst_margin
from beltplan.checks.plan import plan_of
from beltplan.cure.screen import as_it_stands, screen_of
from beltplan.cure.trials import trial_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.mounts import Hole, Mount
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import Route, route_of
from beltplan.geometry.distances import Band
from beltplan.geometry.pieces import FreeSpan
from beltplan.geometry.vectors import from_angle
from beltplan.judging.stages import STATES, judged_places
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import found, layout, pulley, sagging, sliding, two
from tests.checks.drives import route as laid
from tests.drawing.drawn_drives import shifted
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.geometry.drawn import drawn_gaps
from tests.place.drives import shipped as shipped_layout

ROOT = Path(__file__).resolve().parents[2]
SHIPPED = ("camper", "orchard_sprayer", "railcar", "too_tight", "workboat")
CHORDS_MM = 1e-3
"""How far the chords of the drawing may cut in."""


def shipped(name: str) -> Route:
    """A layout of the repository with its belt on."""
    return route_of(read_layout(str(ROOT / "layouts" / f"{name}.yaml"), None).layout)


def settings(given: Route) -> np.ndarray:
    """Those that the checks look at."""
    if given.travel is None or given.setting is None:
        return np.zeros(1)
    return np.append(np.linspace(given.travel.short, given.travel.long, PLACES), given.setting)


@for_each(*SHIPPED)
def test_shipped_layouts(name: str) -> None:
    given = shipped(name)
    gaps = {(gap.first, gap.second): gap.value_mm for gap in gaps_of(given)}
    assert len(gaps) > 20
    assert gaps == pytest.approx(drawn_gaps(given, settings(given)), abs=CHORDS_MM)


DEEP = Polygon("roof", ((-40.0, 30.0), (60.0, 40.0), (340.0, 45.0), (340.0, 220.0), (-40.0, 220.0)))


@for_each(20.0, 75.0, 110.0)
def test_spans_that_cut_through_what_is_in_the_way(wrap: float) -> None:
    """Through a polygon, an obstacle's disc and that of a pulley off the belt."""
    spare = pulley("spare", "idler", 150.0, 60.0, 40.0, belt_side="back")
    given = sagging(wrap, pulley("it", "idler", 0, 0, 80.0), obstacles=(DEEP, Circle("hose", (30.0, -45.0), 30.0)))
    bent = laid(replace(given, pulleys={**given.pulleys, "spare": spare}))
    gaps = {(gap.first, gap.second): gap.value_mm for gap in gaps_of(bent)}
    assert min(gaps.values()) < 0.0 and 0.0 in gaps.values()
    assert gaps == pytest.approx(drawn_gaps(bent, settings(bent)), abs=CHORDS_MM)


def oblong(height: float, diameter: float, narrower: float = 0.0) -> Layout:
    """Four equal pulleys 300 mm apart and that high: long spans apart by height + diameter less twice their inside.

    narrower: how much the upper ones stand in on either side.
    """
    corners = ((0.0, 0.0), (300.0, 0.0), (300.0 - narrower, height), (narrower, height))
    pulleys = (pulley(f"p{i}", "crankshaft" if i == 0 else "idler", *at, diameter) for i, at in enumerate(corners))
    # No wrap has less in hand than the gaps.
    return layout(*pulleys, limits={"min_wrap_deg": {"": 1.0}})


FAR = Polygon("far off", ((140.0, 122.2), (160.0, 122.2), (160.0, 150.0), (140.0, 150.0)))
"""70 mm over the belt of `two`: beyond what is measured at first."""


@for_each(
    *map(shipped, SHIPPED),
    laid(sliding((260.0, 0.0), (300.0, 0.0))),
    laid(two()),
    laid(two(obstacles=(FAR,))),
    laid(oblong(27.6, 20.0)),  # spans face each other at 43 mm, just inside of three times their limit
    laid(oblong(27.6, 20.0, 100.0)),
    laid(oblong(37.3, 17.3)),  # rims 20.4 mm apart are nearer, but spans at 50 mm have less of their limit in hand
    ids=[*SHIPPED, "slide", "bare", "nothing near", "spans hardly near", "one span longer", "rims hardly near"],
)
def test_what_tells_is_the_smallest_and_the_worst_of_all(given: Route) -> None:
    every, telling = gaps_of(given), telling_gaps(given)
    first, second = (min(gaps, key=lambda gap: gap.value_mm) for gaps in (every, telling))
    assert (first.subject, first.value_mm, first.position) == (second.subject, second.value_mm, second.position)
    assert worst_margin(given, None, every) == worst_margin(given, None, telling)
    exact = {(gap.first, gap.second, gap.value_mm) for gap in telling}
    others = [gap for gap in every if (gap.first, gap.second, gap.value_mm) not in exact]
    assert all(gap.value_mm >= MEASURED * gap.bound.limit for gap in others)


@for_each(*SHIPPED)
def test_what_is_left_out_as_far_is_no_finding(name: str) -> None:
    """Also where one part demands far more than all others."""
    layout = shipped(name).layout
    asked = {"min_clearance_mm": {layout.route[1]: 180.0}, "min_rim_gap_mm": {layout.route[2]: 90.0}}
    given = route_of(replace(layout, limits={**layout.limits, **asked}))
    wanted = [gap.subject for gap in gaps_of(given) if gap.bound.severity(gap.value_mm)]
    names = ("clearance", "strand_gap", "rim_gap")
    found = [finding for finding in findings_of(given, None) if finding.check in names]
    assert sorted(finding.subject for finding in found if "pivot" not in finding.subject) == sorted(wanted)
    assert len(wanted) > 3


def test_neighbours_face_each_other_past_half_a_turn() -> None:
    """A shipped layout has such a pulley, so that the drawing above tells of them too."""
    names = [
        tuple(gap.subject.split(" / ")) for name in SHIPPED for gap in gaps_of(shipped(name)) if gap.check == GAP_CHECK
    ]
    assert any(first.split(" to ")[1] == second.split(" to ")[0] for first, second in names)


@for_each(3.0, 40.0)
def test_spans_that_are_near_are_never_passed_over(far: float) -> None:
    """Random rectangles against shapely: all as near as that are measured, and of the others most are not."""
    rng, count = np.random.default_rng(3), 3000
    spans = [
        FreeSpan(rng.uniform(-150.0, 150.0, (count, 2)), from_angle(rng.uniform(0.0, 7.0, count)), lengths)
        for lengths in (rng.uniform(20.0, 150.0, count), rng.uniform(5.0, 40.0, count))
    ]
    first, second = Band(spans[0], 2.2, 2.3), Band(spans[1], 2.2, 2.3)
    apart = shapely.distance(*(shapely.polygons(np.moveaxis(band.ring, 0, -2)) for band in (first, second)))
    for told in (_may_be_near(first, second, far), _may_be_near(second, first, far)):
        assert told[apart <= far].all() and (apart <= far).sum() > 50
        assert told[apart > far].mean() < 0.2


# What holds another pulley must not stand where the tensioner's pivot and arm are. Distances by shapely.
# Widths of an arm and of a bolt or shaft: common practice, no source (ours: 15 and 10 mm either way of the middle).


WORKBOAT = shipped_layout("workboat")
HALVES_MM, GAP_MM = 15.0 + 10.0, 5.0


def _arm() -> Arm:
    adjuster = WORKBOAT.pulleys["tensioner"].adjuster
    assert isinstance(adjuster, Arm)
    return adjuster


def _on_arm(layout: Layout) -> list[Finding]:
    return [finding for finding in found(layout, "rim_gap") if finding.subject == "spare / arm of tensioner"]


def _spare(at: tuple[float, float]) -> Layout:
    spare = Pulley("spare", "idler", 60.0, at_mm=at, belt_side="back")
    return replace(WORKBOAT, pulleys={**WORKBOAT.pulleys, "spare": spare})


@pytest.mark.parametrize("share", [0.0, 0.5])
def test_an_idler_on_the_pivot_or_across_the_arm_is_a_problem(share: float) -> None:
    arm = _arm()
    tip = arm.track.centre_at(np.asarray(arm.nominal))
    x, y = np.asarray(arm.pivot_mm) + share * (tip - np.asarray(arm.pivot_mm))
    (finding,) = _on_arm(_spare((float(x), float(y))))
    assert finding.severity == "problem" and finding.parts == ("spare", "tensioner")
    deep = f"by at least {-(finding.value or 0.0):.1f} mm; the minimum gap is 5 mm"
    assert finding.about.startswith(f"spare (its bolt or shaft) and arm of tensioner overlap {deep}"), "each once"
    assert finding.value == pytest.approx(-HALVES_MM, abs=1.0) and "common practice" in finding.source


@for_each((-0.01, "problem"), (0.01, "caution"), (1.0, None))
def test_behind_the_pivot_the_gap_to_a_rim_is_asked(more: float, severity: str | None) -> None:
    """Away from the arm's middle the pivot is nearest at every angle. A caution up to a tenth over 5 mm."""
    arm, apart = _arm(), HALVES_MM + GAP_MM + more
    back = arm.middle + np.pi
    at = (arm.pivot_mm[0] + apart * np.cos(back), arm.pivot_mm[1] + apart * np.sin(back))
    assert [finding.severity for finding in _on_arm(_spare(at))] == ([] if severity is None else [severity])


@for_each((-0.01, "and pivot"), (0.01, None), (-20.0, "lies over the pivot"))
def test_a_rim_over_the_pivot_is_asked_about(more: float, says: str | None) -> None:
    """The pivot's boss, 15 mm either way, against a rim of 30 mm radius and a gap of 5 mm: a caution, never more."""
    arm, apart = _arm(), 30.0 + 15.0 + GAP_MM + more
    back = arm.middle + np.pi
    layout = _spare((arm.pivot_mm[0] + apart * np.cos(back), arm.pivot_mm[1] + apart * np.sin(back)))
    told = [f for f in found(layout, "rim_gap") if f.subject == "spare / pivot of tensioner"]
    assert [finding.severity for finding in told] == ([] if says is None else ["caution"])
    assert says is None or told[0].wrong.startswith(f"spare {says}")
    plan = plan_of(layout)
    assert plan.gap is not None and plan.margin is not None
    assert "pivot" not in plan.gap.second + plan.margin.where, "what is only asked after is no distance to rank by"


def test_the_gap_is_the_smallest_over_the_sweep() -> None:
    rng, arm = np.random.default_rng(3), _arm()
    for at in rng.uniform(-80.0, 80.0, (10, 2)) + arm.pivot_mm:
        route = route_of(_spare((float(at[0]), float(at[1]))))
        assert route.travel is not None and route.setting is not None
        settings = [*np.linspace(route.travel.short, route.travel.long, PLACES), route.setting]
        lines = [LineString([arm.pivot_mm, arm.track.centre_at(np.asarray(setting))]) for setting in settings]
        expected = min(line.distance(Point(*at)) for line in lines) - HALVES_MM
        (gap,) = (gap for gap in gaps_of(route) if gap.subject == "spare / arm of tensioner")
        assert gap.value_mm == pytest.approx(expected, abs=1e-9)


def _pivoted_on_the_idler() -> tuple[Layout, tuple[float, float]]:
    """The workboat, its tensioner in the same place on a longer arm whose pivot is where the idler is bolted on."""
    arm, at = _arm(), WORKBOAT.pulleys["idler"].at_mm
    assert at is not None
    step = arm.track.centre_at(np.asarray(arm.nominal)) - np.asarray(at)
    angle, length = float(np.arctan2(step[1], step[0])), float(np.hypot(*step))
    other = replace(arm, pivot_mm=at, length_mm=length, stops_rad=(angle - 0.05, angle + 0.05), at_rad=None)
    return with_pulley(WORKBOAT, "tensioner", adjuster=other), at


def test_no_place_and_no_cure_puts_an_idler_on_the_pivot() -> None:
    layout, at = _pivoted_on_the_idler()
    judged = judged_places(layout, ("idler",), np.array([[at], [(at[0] + 60.0, at[1])]]))
    assert STATES[judged.state[0]] == "problem" and judged.failing[0] == "rim gap"
    assert judged.failing[1] != "rim gap"
    trial = trial_of((), layout)
    assert trial is not None and ("rim_gap", "idler / arm of tensioner") in trial.problems
    route = route_of(layout)
    short = [screen_of(each, None).shortfall(as_it_stands(each)).short[0] for each in (route, route_of(WORKBOAT))]
    assert short[0] > 1.0 > short[1]


# A mount whose outline is given is metal that goes with its pulley: for check, map and cure alike.
# Gaps against those of an obstacle of the same corners (held against shapely in test_clearance.py), and by shapely.


STRAP = ((-15.0, -10.0), (15.0, -10.0), (30.0, -150.0), (0.0, -150.0))
"""From under the alternator's rim down between the spans."""
EAR = ((-160.0, -120.0), (-135.0, -120.0), (-135.0, -95.0), (-160.0, -95.0))
LUG = ((-260.0, -180.0), (-135.0, -180.0), (-135.0, -95.0), (-260.0, -95.0))
"""Far out, where some places bring them to the belt and others do not."""


def _with(outline: tuple[tuple[float, float], ...], name: str = "alternator", layout: Layout = WORKBOAT) -> Layout:
    return with_pulley(layout, name, mount=Mount((Hole((0.0, -90.0), 10.5),), outline_mm=outline))


def _as_obstacle(given: Layout, name: str) -> Layout:
    corners = given.pulleys[name].mounted.outline_mm
    bare = with_pulley(given, name, mount=None)
    return replace(bare, obstacles=(*bare.obstacles, Polygon("metal", corners)))


def _gaps(route: Route, what: str) -> dict[str, float]:
    return {gap.first: gap.value_mm for gap in gaps_of(route) if gap.second == what}


@pytest.mark.parametrize("name", ["alternator", "tensioner"])
def test_gaps_are_those_of_an_obstacle_at_its_place_but_for_its_own_rim(name: str) -> None:
    given = _with(STRAP, name)
    own = _gaps(route_of(given), f"mount of {name}")
    fixed = _gaps(route_of(_as_obstacle(given, name)), "metal")
    assert len(own) == 3 * len(given.route) - 1 and own == pytest.approx({n: g for n, g in fixed.items() if n != name})


def test_the_gap_to_another_rim_is_that_of_shapely() -> None:
    given = _with(STRAP)
    crank, at = given.pulleys["crank"], np.array(given.pulleys["alternator"].at_mm)
    disc = shapely.Point(crank.at_mm or ()).buffer(crank.rim_radius_mm(given.belt), quad_segs=2000)
    expected = shapely.Polygon(np.array(STRAP) + at).distance(disc)
    assert _gaps(route_of(given), "mount of alternator")["crank"] == pytest.approx(expected, abs=1e-3)


def test_under_its_own_rim_it_is_in_no_belts_way() -> None:
    hub = ((-10.0, -10.0), (10.0, -10.0), (0.0, 10.0))
    at = WORKBOAT.route.index("alternator")
    ends = {WORKBOAT.route[at - 1], WORKBOAT.route[(at + 1) % len(WORKBOAT.route)]}
    own = set(_gaps(route_of(_with(hub)), "mount of alternator"))
    assert "belt on alternator" not in own and not any(f"{a} to {b}" in own for a in ends for b in ["alternator"])
    assert not [finding for finding in found(_with(hub), "clearance") if "alternator" in finding.parts]


def test_without_an_outline_nothing_is_metal() -> None:
    assert not _gaps(route_of(_with(())), "mount of alternator")


def test_belt_through_it_is_a_problem_that_names_it() -> None:
    wall = ((-200.0, -60.0), (200.0, -60.0), (200.0, -70.0), (-200.0, -70.0))
    findings = found(_with(wall), "clearance")
    assert {finding.severity for finding in findings} == {"problem"}
    assert all("runs through mount of alternator" in finding.message for finding in findings)
    assert any(finding.parts[1] == "alternator" for finding in findings)


def test_the_map_finds_at_every_place_what_check_finds() -> None:
    given = _with(EAR)
    places = np.array(given.pulleys["alternator"].at_mm) + np.random.default_rng(5).uniform(-40.0, 40.0, (40, 2))
    told = [STATES[state] for state in judged_places(given, ("alternator",), places[:, None]).state]
    bare = [STATES[state] for state in judged_places(WORKBOAT, ("alternator",), places[:, None]).state]
    checked = []
    for at in places.tolist():
        route = route_of(with_pulley(given, "alternator", at_mm=tuple(at)))
        severities = {finding.severity for finding in findings_of(route, operation_of(route))}
        checked.append("problem" if "problem" in severities else "caution" if "caution" in severities else "sound")
    assert told == checked and told != bare and len(set(told)) > 1


@for_each((1000.0, 1000.0), (-1000.0, 1000.0), (-1000.0, -1000.0))
def test_the_map_is_the_same_wherever_the_origin_is(x: float, y: float) -> None:
    """Law: all moved alike, the same at every place; on both sides of both axes, with metal that comes near a span."""
    given = with_pulley(WORKBOAT, "alternator", mount=Mount(outline_mm=LUG))
    places = np.array(given.pulleys["alternator"].at_mm) + np.random.default_rng(5).uniform(-40.0, 40.0, (60, 2))
    told = judged_places(given, ("alternator",), places[:, None]).state
    away = judged_places(shifted(given, x, y), ("alternator",), places[:, None] + (x, y)).state
    assert len(set(told.tolist())) > 1
    assert away.tolist() == told.tolist()


def test_cure_screens_it_by_the_same_measure() -> None:
    wall = ((-200.0, -60.0), (200.0, -60.0), (200.0, -70.0), (-200.0, -70.0))
    routes = (route_of(_with(wall)), route_of(WORKBOAT))
    with_it, without = (screen_of(each, None).shortfall(as_it_stands(each)).short[0] for each in routes)
    assert with_it > without + 1.0


def test_a_spare_pulleys_mount_stands_in_the_way_as_well() -> None:
    middle = np.mean([p.at_mm for p in WORKBOAT.routed if p.at_mm is not None], axis=0)
    spare = Pulley("spare", "idler", 10.0, at_mm=(float(middle[0]), float(middle[1])), belt_side="back")
    given = replace(WORKBOAT, pulleys={**WORKBOAT.pulleys, "spare": spare})
    given = with_pulley(given, "spare", mount=Mount(outline_mm=STRAP))
    own = _gaps(route_of(given), "mount of spare")
    assert own == pytest.approx({k: v for k, v in _gaps(route_of(_as_obstacle(given, "spare")), "metal").items()
                                 if k != "spare"})  # fmt: skip


def test_an_arms_mount_stays_where_its_pivot_is() -> None:
    arm = WORKBOAT.pulleys["tensioner"].adjuster
    assert isinstance(arm, Arm)
    assert _with(STRAP, "tensioner").pulleys["tensioner"].mounted.outline_mm[0] == pytest.approx(
        (arm.pivot_mm[0] - 15.0, arm.pivot_mm[1] - 10.0)
    )


@for_each(3, 4, 7)
def test_spans_that_may_come_near_share_no_pulley_or_just_one(n: int) -> None:
    pairs = _facing(n)[:-n]
    assert len(pairs) == n * (n - 3) // 2
    assert all({i, (i + 1) % n}.isdisjoint({j, (j + 1) % n}) for i, j in pairs)
