"""Clearances: on drives whose gaps are plain differences, and against the belt drawn anew with shapely's own buffers.

Limits (10, 15, 5, 400 mm) are common practice, no source.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from beltplan.checks.clearance import gaps_of
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.pulleys import Pulley
from beltplan.drive.route import Route
from beltplan.geometry.loops import outline
from tests.checks.drives import (
    BACK_MM,
    RIM_UNDER_MM,
    UNDER_MM,
    found,
    layout,
    pulley,
    route,
    sagging,
    severity,
    sliding,
    two,
)
from tests.for_each import for_each

EVERYTHING = {"min_clearance_mm": {"": 1e6}, "min_strand_gap_mm": {"": 1e6}, "min_rim_gap_mm": {"": 1e6}}
"""Limits that nothing meets, so that every gap is told."""
EDGES = [(0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None)]


def spare(gap: float) -> Pulley:
    """A smooth idler of 40 mm off the belt, over the middle of the upper span of `two`, that far from its back."""
    return pulley("spare", "idler", 150.0, 50.0 + BACK_MM + 20.0 + gap, 40.0, belt_side="back")


def plate(gap: float) -> Polygon:
    """A straight edge over the upper span of `two`, that far from the belt's back."""
    y = 50.0 + BACK_MM + gap
    return Polygon("plate", ((140.0, y), (160.0, y), (160.0, y + 30.0), (140.0, y + 30.0)))


@for_each(*EDGES)
def test_span_to_a_pulley_off_the_belt(share: float, expected: str | None) -> None:
    given = two(beside=(spare(10.0 * share),))
    assert severity(given, "clearance", "crank to far / spare") == expected


@for_each(*EDGES)
def test_span_to_an_obstacle(share: float, expected: str | None) -> None:
    given = two(obstacles=(plate(10.0 * share),))
    assert severity(given, "clearance", "crank to far / plate") == expected


def test_the_gap_itself_is_told() -> None:
    (to_pulley,) = found(two(beside=(spare(3.0),)), "clearance", "crank to far / spare")
    (to_plate,) = found(two(obstacles=(plate(3.0),)), "clearance")
    assert to_pulley.value == pytest.approx(3.0, abs=1e-9)
    assert to_plate.value == pytest.approx(3.0, abs=1e-9)


def test_a_part_is_marked_by_its_whole_name() -> None:
    name = "foot of the engine"
    (over_span,) = found(two(obstacles=(replace(plate(3.0), name=name),)), "clearance")
    assert over_span.parts == ("crank to far", name)
    (spared,) = found(two(beside=(replace(spare(3.0), name=name),)), "clearance", f"crank to far / {name}")
    assert spared.parts[1] == name and spared.advice.startswith(f"if {name} is not fitted here")


def test_a_span_through_a_pulley_is_as_bad_as_it_is_deep() -> None:
    # The centre lies within the belt itself: the whole radius is cut.
    inside = pulley("spare", "idler", 150.0, 50.0, 40.0, belt_side="back")
    (finding,) = found(two(beside=(inside,)), "clearance", "crank to far / spare")
    assert finding.severity == "problem" and finding.value == pytest.approx(-20.0)
    assert "runs through pulley spare by at least 20.0 mm; the minimum gap is 10 mm" in finding.message


@for_each((0.0499, ""), (0.0501, " by at least 0.1 mm"), (0.054, " by at least 0.1 mm"))
def test_a_depth_that_would_read_as_nothing_is_not_told(deep: float, told: str) -> None:
    (finding,) = found(two(beside=(spare(-deep),)), "clearance", "crank to far / spare")
    assert finding.wrong == f"crank to far runs through pulley spare{told}; the minimum gap is 10 mm"


def test_a_span_over_the_middle_of_a_round_obstacle_is_a_problem_by_its_radius() -> None:
    (finding,) = found(two(obstacles=(Circle("hose", (150.0, 50.0), 30.0),)), "clearance")
    assert (finding.severity, finding.value) == ("problem", -15.0)


@for_each("", "idler", "spare", "far", "alternator")
def test_overrides_for_all_by_role_and_by_name(who: str) -> None:
    given = two(beside=(spare(6.0),), limits={"min_clearance_mm": {who: 4.0}})
    assert severity(given, "clearance", "crank to far / spare") is None


def test_a_name_wins_over_a_role() -> None:
    given = two(beside=(spare(6.0),), limits={"min_clearance_mm": {"alternator": 4.0, "spare": 8.0}})
    assert [f.limit for f in found(given, "clearance", "crank to far / spare")] == [8.0]


def test_an_obstacle_met_only_at_the_far_end_of_the_travel() -> None:
    # At the long end the belt's back round the moved pulley reaches 360 + 50 + 2.2 mm; at the short end 60 mm less.
    given = sliding(obstacles=(Polygon("wall", ((421.2, -9.0), (500.0, -9.0), (500.0, 9.0), (421.2, 9.0))),))
    (finding,) = found(given, "clearance", "belt on far / wall")
    assert finding.severity == "problem" and finding.value == pytest.approx(9.0)
    assert "(adjuster at 60.0 mm past `from`)" in finding.message
    nearer = replace(given, pulleys=sliding(end=(340.0, 0.0)).pulleys)
    assert found(nearer, "clearance") == []


def test_an_obstacle_met_only_at_the_near_end_of_the_travel() -> None:
    # The belt's back stands 52.2 mm under the centre of the moved pulley, which rises from y = 0 to y = 60 mm.
    wall = Polygon("wall", ((290.0, -90.0), (310.0, -90.0), (310.0, -60.0), (290.0, -60.0)))
    (finding,) = found(
        sliding((300.0, 0.0), (300.0, 60.0), at=1.0, obstacles=(wall,)), "clearance", "belt on far / wall"
    )
    assert (
        finding.value == pytest.approx(60.0 - 50.0 - BACK_MM) and "(adjuster at 0.0 mm past `from`)" in finding.message
    )


def drawn(given: Route, setting: float) -> dict[str, shapely.Geometry]:
    """Every span, and the belt on every pulley, as areas that shapely grows from the bare line.

    The belt is to the left of its travel by what stands outside the line of a clockwise loop, to the right by the rest.
    """
    loop = given.circuit.loop_at(setting)
    outside, inside = (BACK_MM, UNDER_MM) if float(loop.turns) < 0 else (UNDER_MM, BACK_MM)
    names = [p.name for p in given.pulleys]
    parts: dict[str, shapely.Geometry] = {}
    for i, name in enumerate(names):
        span = shapely.LineString([loop.start[i], loop.end[i]])
        halves = [span.buffer(outside, single_sided=True), span.buffer(-inside, single_sided=True)]
        parts[f"{name} to {names[(i + 1) % len(names)]}"] = shapely.union_all(halves)
    return parts


OBSTACLES = (
    Polygon("roof", ((-40.0, 130.0), (60.0, 170.0), (640.0, 120.0), (640.0, 220.0), (-40.0, 220.0))),
    Polygon("box", ((230.0, -300.0), (330.0, -280.0), (300.0, -240.0))),
)


@for_each(20.0, 75.0, 110.0)
def test_gaps_of_spans_against_shapely_alone(wrap: float) -> None:
    given = sagging(wrap, pulley("it", "idler", 0, 0, 80.0), obstacles=OBSTACLES, limits=EVERYTHING)
    parts = drawn(route(given), 0.0)
    shapes = {o.name: shapely.Polygon(o.corners_mm) for o in OBSTACLES}
    told = {f.subject: f.value for f in found(given, "clearance") if f.subject.split(" / ")[0] in parts}
    expected = {f"{part} / {name}": parts[part].distance(shape) for part in parts for name, shape in shapes.items()}
    assert {key: told[key] for key in expected} == pytest.approx(expected, abs=1e-6)


def test_least_gap_of_the_whole_belt_against_its_grown_outline() -> None:
    # The whole loop as one area, grown by what stands outside its line; drawn in chords that leave 0.005 mm.
    given = sagging(90.0, pulley("it", "idler", 0, 0, 80.0), obstacles=OBSTACLES, limits=EVERYTHING)
    body = shapely.Polygon(outline(route(given).loop, 0.005)).buffer(BACK_MM, quad_segs=256)
    told = [f.value for f in found(given, "clearance") if f.subject.endswith("/ roof") and f.value is not None]
    assert min(told) == pytest.approx(body.distance(shapely.Polygon(OBSTACLES[0].corners_mm)), abs=0.01)


def test_worst_place_of_the_travel_against_shapely_at_many_settings() -> None:
    box = Polygon("box", ((310.0, 70.0), (350.0, 70.0), (330.0, 110.0)))
    given = sliding((300.0, 0.0), (330.0, -60.0), obstacles=(box,), limits=EVERYTHING)
    laid, shape = route(given), shapely.Polygon(box.corners_mm)
    assert laid.travel is not None
    settings = np.linspace(laid.travel.short, laid.travel.long, 241)
    (finding,) = found(given, "clearance", "crank to far / box")
    assert finding.value == pytest.approx(
        min(drawn(laid, float(at))["crank to far"].distance(shape) for at in settings), abs=1e-3
    )


def flat_ring(height: float, **more: Any) -> Layout:
    """Four equal pulleys of 20 mm at the corners of a flat rectangle, clockwise from the lower left."""
    corners: Sequence[tuple[float, float]] = ((0.0, 0.0), (0.0, height), (300.0, height), (300.0, 0.0))
    roles = ("crankshaft", "idler", "idler", "alternator")
    return layout(*(pulley(f"p{i}", roles[i], x, y, 20.0) for i, (x, y) in enumerate(corners)), **more)


LONG_PAIR = "p1 to p2 / p3 to p0"


@for_each(*EDGES)
@for_each("", "p2", "alternator")
def test_span_to_span(share: float, expected: str | None, who: str) -> None:
    # The long spans face each other with their ribs: height + 20 mm less what lies under both lines.
    gap = 40.0 + 20.0 - 2.0 * UNDER_MM
    given = flat_ring(40.0, limits={"min_strand_gap_mm": {who: gap / share}})
    assert severity(given, "strand_gap", LONG_PAIR) == expected


def test_span_gap_default() -> None:
    # 15 mm needs a rim of hardly any size: two smooth pulleys of 14 mm side by side, ribs facing 19.6 - 4.6 mm apart.
    tight = [pulley(f"p{i}", "crankshaft" if i == 0 else "idler", x, y, 4.0) for i, (x, y) in enumerate(
        ((0.0, 0.0), (0.0, 15.0), (300.0, 15.0), (300.0, 0.0)))]  # fmt: skip
    (finding,) = found(layout(*tight), "strand_gap", LONG_PAIR)
    assert finding.severity == "problem" and finding.value == pytest.approx(15.0 + 4.0 - 2.0 * UNDER_MM)


@for_each(*EDGES)
def test_rim_to_rim(share: float, expected: str | None) -> None:
    given = two(100.0 - 2.0 * RIM_UNDER_MM + 5.0 * share)
    assert severity(given, "rim_gap", "crank / far") == expected


@for_each(*EDGES)
def test_rim_to_obstacle(share: float, expected: str | None) -> None:
    x = -(50.0 - RIM_UNDER_MM) - 5.0 * share
    wall = Polygon("wall", ((x, -10.0), (x - 20.0, -10.0), (x - 20.0, 10.0), (x, 10.0)))
    assert severity(two(obstacles=(wall,)), "rim_gap", "crank / wall") == expected


@for_each(*EDGES)
def test_rim_to_a_round_obstacle(share: float, expected: str | None) -> None:
    """Two discs: distance of centres less both radii."""
    x = -(50.0 - RIM_UNDER_MM) - 5.0 * share - 15.0
    given = two(obstacles=(Circle("hose", (x, 0.0), 30.0),))
    assert severity(given, "rim_gap", "crank / hose") == expected


@for_each(*EDGES)
def test_belt_on_a_pulley_to_a_round_obstacle(share: float, expected: str | None) -> None:
    hose = Circle("hose", (-(50.0 + BACK_MM + 10.0 * share + 15.0), 0.0), 30.0)
    assert severity(two(obstacles=(hose,)), "clearance", "belt on crank / hose") == expected


@for_each(-4.0, 3.0, 30.0)
def test_a_round_obstacle_is_as_far_as_two_discs_are(apart: float) -> None:
    """From the rim, and from the belt on it, whose back stands `BACK_MM` over the line: plane geometry."""
    hose = Circle("hose", (-(50.0 + 15.0 + apart) * 0.6, (50.0 + 15.0 + apart) * 0.8), 30.0)
    gaps = {gap.subject: gap.value_mm for gap in gaps_of(route(two(obstacles=(hose,))))}
    assert gaps["crank / hose"] == pytest.approx(apart + RIM_UNDER_MM, abs=1e-9)
    assert gaps["belt on crank / hose"] == pytest.approx(max(apart - BACK_MM, -15.0), abs=1e-9)


@for_each((1.2, 1.3925), (2.2, 2.3925), (3.5, 3.6925))
def test_the_belt_on_a_back_pulley_reaches_its_whole_height_over_the_metal(back_mm: float, over_rim_mm: float) -> None:
    """It lies with its back on the metal, so its ribs stand 4.5 mm off, wherever the line runs in it.

    Height of a PK belt 4.5 mm from memory, medium confidence; the rim 0.1925 mm under the line derived, see above.
    """
    given = sagging(90.0, pulley("press", "idler", 0.0, 0.0, 80.0))
    x, y = given.pulleys["press"].at_mm or (math.nan, math.nan)
    top = y - 40.0 - 4.5 - 7.0
    plate = Polygon("plate", ((x - 5.0, top), (x + 5.0, top), (x + 5.0, top - 30.0), (x - 5.0, top - 30.0)))
    measured = replace(given, belt=replace(given.belt, back_over_rim_mm=over_rim_mm), obstacles=(plate,))
    assert measured.belt.back_mm == pytest.approx(back_mm)
    (gap,) = (gap for gap in gaps_of(route(measured)) if gap.subject == "belt on press / plate")
    assert gap.value_mm == pytest.approx(7.0, abs=1e-9)


@for_each(15.0, 25.0, 52.5, 65.0, 75.0)
def test_a_narrow_obstacle_beside_the_travel_is_met_where_the_pulley_passes_it(at_mm: float) -> None:
    """A pulley slides 80 mm past a point: nearest where their heights agree, whatever settings are looked at.

    Half a step of 5 mm beside it, the distance is 0.06 mm more (Pythagoras on 52.2 + 2 mm).
    """
    tip = 300.0 + 50.0 + BACK_MM + 2.0
    thorn = Polygon("thorn", ((tip, at_mm), (tip + 40.0, at_mm - 0.5), (tip + 40.0, at_mm + 0.5)))
    (finding,) = found(sliding((300.0, 0.0), (300.0, 80.0), obstacles=(thorn,)), "clearance", "belt on far / thorn")
    assert finding.severity == "problem" and finding.value == pytest.approx(2.0, abs=0.06)
    told = float(finding.message.split("adjuster at ")[1].split(" mm past `from`")[0])
    assert told == pytest.approx(at_mm, abs=3.0)


def test_a_pulley_in_the_way_of_another_off_the_belt() -> None:
    beside = pulley("spare", "idler", 0.0, 90.0, 100.0, belt_side="back")
    (finding,) = found(two(beside=(beside,)), "rim_gap", "crank / spare")
    gap = 90.0 - 50.0 - 50.0 + RIM_UNDER_MM
    assert finding.severity == "problem" and finding.value == pytest.approx(gap)
    assert f"crank and spare overlap by {-gap:.1f} mm; the minimum gap is 5 mm" in finding.message


@for_each("", "far", "alternator")
def test_rim_gap_overridden(who: str) -> None:
    given = two(100.0 - 2.0 * RIM_UNDER_MM + 3.0, limits={"min_rim_gap_mm": {who: 2.0}})
    assert severity(given, "rim_gap", "crank / far") is None


@for_each((396.0, []), (404.0, ["caution"] * 2), (4000.0, ["caution"] * 2))
def test_free_span_is_never_more_than_a_caution(length: float, expected: list[str]) -> None:
    # Equal pulleys: the span is as long as the distance of centres.
    findings = found(two(length), "free_strand")
    assert [f.severity for f in findings] == expected
    assert all(f.value == pytest.approx(length) for f in findings)


@for_each("", "far", "crankshaft")
def test_free_span_overridden(who: str) -> None:
    findings = found(two(300.0, limits={"max_free_strand_mm": {who: 250.0}}), "free_strand")
    assert [f.severity for f in findings] == ["caution", "caution"]


def test_unequal_pulleys_span_length() -> None:
    (first, _) = found(two(500.0, 200.0, 80.0), "free_strand")
    assert first.value == pytest.approx(math.sqrt(500.0**2 - 60.0**2))


@for_each(
    two(beside=(spare(40.0),)),
    two(obstacles=(plate(70.0), Circle("hose", (150.0, 0.0), 30.0))),
    sliding((260.0, 0.0), (300.0, 0.0)),
    sagging(40.0, pulley("press", "idler", 0.0, 0.0, 80.0)),
)
def test_every_gap_is_told_and_the_smallest_is_that_of_the_findings(given: Layout) -> None:
    """With limits that nothing meets every gap is a finding: the two ways out of one measurement agree."""
    gaps = gaps_of(route(given))
    strict = replace(given, limits=EVERYTHING)
    findings = [f for check in ("clearance", "strand_gap", "rim_gap") for f in found(strict, check)]
    assert sorted((g.check, g.subject, g.value_mm) for g in gaps) == sorted(
        (f.check, f.subject, f.value) for f in findings
    )


def test_the_smallest_gap_is_the_one_built() -> None:
    gap = min(gaps_of(route(two(obstacles=(plate(3.0),)))), key=lambda gap: gap.value_mm)
    assert gap.value_mm == pytest.approx(3.0, abs=1e-9)
    assert (gap.first, gap.second, gap.second_is, gap.position) == ("crank to far", "plate", "obstacle", None)


def test_the_smallest_gap_says_where_on_the_travel_it_is() -> None:
    # The slide closes on the crank: rims 260 - 100 + 2 x 0.1925 mm apart at the short-path end.
    gaps = gaps_of(route(sliding((260.0, 0.0), (300.0, 0.0))))
    (rims,) = (gap for gap in gaps if gap.check == "rim_gap")
    assert rims.value_mm == pytest.approx(160.0 + 2.0 * RIM_UNDER_MM) and rims.position == pytest.approx(0.0)


def test_the_adjuster_is_named_only_where_it_changes_the_gap() -> None:
    """An obstacle 3 mm left of the crankshaft's rim, where only it and the belt on it stand still."""
    beside = Polygon("block", ((-70.0, -5.0), (-53.0, -5.0), (-53.0, 5.0), (-70.0, 5.0)))
    told = {each.subject: each.wrong for each in found(replace(sliding(), obstacles=(beside,)), "rim_gap")}
    assert set(told) == {"crank / block"} and "adjuster" not in told["crank / block"]
    ahead = Polygon("stop", ((412.0, -5.0), (440.0, -5.0), (440.0, 5.0), (412.0, 5.0)))
    told = {each.subject: each.wrong for each in found(replace(sliding(), obstacles=(ahead,)), "rim_gap")}
    assert set(told) == {"far / stop"} and "(adjuster at 60.0 mm past `from`)" in told["far / stop"]


@for_each((None, "take it out of the file"), ("old", "write `pulleys: {spare: null}` in the variant"))
def test_a_pulley_that_the_belt_leaves_out_may_not_be_fitted_at_all(variant: str | None, words: str) -> None:
    """Nothing is led round it: moving it or taking it away is what helps."""
    given = two(beside=(spare(5.0),))
    (told,) = found(replace(given, variant=variant), "clearance")
    assert told.advice == f"if spare is not fitted here, {words}; else move one of the two"
    bare = replace(given, pulleys={name: each for name, each in given.pulleys.items() if name != "spare"})
    assert not found(bare, "clearance")
