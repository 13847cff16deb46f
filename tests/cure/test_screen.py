"""Screening against the spine: one path at a time by the checks, wraps and clearances by plane geometry and shapely."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from beltplan.checks.every_check import findings_of
from beltplan.checks.limits import Bound
from beltplan.cure.screen import Screen, as_it_stands, screen_of
from beltplan.drive.layout import Circle, Layout
from beltplan.drive.layout import Polygon as Body
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import NoBeltPath, route_of
from beltplan.drive.travel import Circuit, place_of
from beltplan.layoutfile.layout_file import read_layout
from tests.corpus.invented import ring
from tests.cure.drives import route
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
