"""Every gap of whole layouts against the same belt drawn with shapely, setting by setting."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from beltplan.checks.clearance import PLACES, gaps_of, telling_gaps
from beltplan.checks.every_check import findings_of
from beltplan.checks.gaps import GAP_CHECK, MEASURED, _may_be_near
from beltplan.checks.plan import worst_margin
from beltplan.drive.layout import Circle, Layout, Polygon
from beltplan.drive.route import Route, route_of
from beltplan.geometry.distances import Band
from beltplan.geometry.loops import FreeSpan
from beltplan.geometry.vectors import from_angle
from beltplan.layoutfile.layout_file import read_layout
from tests.checks.drives import layout, pulley, sagging, sliding, two
from tests.checks.drives import route as laid
from tests.for_each import for_each
from tests.geometry.drawn import drawn_gaps

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
