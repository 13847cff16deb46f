"""A mount whose outline is given is metal that goes with its pulley: for check, map and cure alike.

Gaps against those of an obstacle of the same corners (held against shapely in test_clearance.py), and by shapely.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from beltplan.checks.clearance import gaps_of
from beltplan.checks.every_check import findings_of
from beltplan.cure.screen import as_it_stands, screen_of
from beltplan.drive.layout import Layout, Polygon
from beltplan.drive.mounts import Hole, Mount
from beltplan.drive.operation import operation_of
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import Route, route_of
from beltplan.place.study import STATES, judged_places
from tests.checks.drives import found
from tests.drawing.drawn_drives import shifted
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.place.drives import shipped

WORKBOAT = shipped("workboat")
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
