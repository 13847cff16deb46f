"""Screening against the spine: one path at a time by the checks, wraps and clearances by plane geometry and shapely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from beltplan.cure.screen import Needs, as_it_stands, needs_of
from beltplan.drive.layout import Circle, Layout
from beltplan.drive.layout import Polygon as Body
from beltplan.drive.operation import Operation, accelerated, operation_of
from beltplan.drive.travel import Circuit
from tests.cure.drives import route


def needs(layout: Layout, **wanted: float) -> Needs:
    """ample: a fifth more than is wanted."""
    wraps = {name: np.radians(wanted.get(name, 0.0)) for name in layout.pulleys}
    return Needs(layout, wraps, {name: 1.2 * wrap for name, wrap in wraps.items()})


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
    found = needs_of(laid, operation_of(laid)).shortfall(as_it_stands(laid))
    assert found.short[0] == 0.0
    assert found.length_mm[0] == pytest.approx(float(laid.loop.length), abs=1e-9)
    assert found.tight[0] > 0.0, "the compressor's 128 deg are a caution under 132"


def test_a_path_that_is_not_sound_falls_short_without_end() -> None:
    laid = route("railcar")
    base = as_it_stands(laid)
    # The guide as it stands, and put on top of the crankshaft.
    index = [pulley.name for pulley in base.pulleys].index("guide")
    mixed = base.moved({index: np.stack((base.centre[index], base.centre[0]))})
    short = needs_of(laid, None).shortfall(mixed).short
    assert np.isfinite(short).tolist() == [True, False]


def test_the_wrap_that_is_missing_counts_as_its_share() -> None:
    layout, base = bare("railcar")
    laid = route("railcar")
    own = float(np.degrees(laid.loop.wrap[[p.name for p in laid.pulleys].index("compressor")]))
    found = needs(layout, compressor=own * 1.25).shortfall(base)
    assert found.short[0] == pytest.approx(0.2, abs=1e-9)
    assert found.tight[0] == pytest.approx(1.0 - 0.8 / 1.2, abs=1e-9)


def _revving_use(operation: Operation) -> float:
    """Highest use of the crank in the wet: while the engine speeds up, which asks more than steady running."""
    changed = accelerated(operation)
    assert changed is not None
    utilisation = float(changed[1][1, ..., 0].max())
    assert utilisation > float(operation.utilisation[1, ..., 0].max())
    return utilisation


def test_slip_wants_more_wrap() -> None:
    laid = route("camper")
    operation = operation_of(laid)
    assert operation is not None
    by_role, by_slip = needs_of(laid, None), needs_of(laid, operation)
    utilisation = _revving_use(operation)
    assert utilisation > 1.0
    assert by_slip.wanted_rad["crank"] == pytest.approx(utilisation * float(laid.loop.wrap[0]))
    assert by_role.wanted_rad["crank"] == pytest.approx(np.radians(120.0))


def test_the_ample_wrap_is_that_which_leaves_no_caution() -> None:
    """Of the table of limits: a crankshaft 150 deg, an alternator of 220 A a tenth over 150; slip in the wet 0.8."""
    laid = route("camper")
    operation = operation_of(laid)
    assert operation is not None
    by_role, by_slip = needs_of(laid, None), needs_of(laid, operation)
    assert by_role.ample_rad["crank"] == pytest.approx(np.radians(150.0))
    assert by_role.ample_rad["house_alternator"] == pytest.approx(np.radians(165.0))
    utilisation = _revving_use(operation)
    assert by_slip.ample_rad["crank"] == pytest.approx(utilisation / 0.8 * float(laid.loop.wrap[0]))
    assert by_slip.against_cautions.wanted_rad is by_slip.ample_rad


def test_an_added_idler_falls_short_of_its_caution_in_what_leaves_margin_alone() -> None:
    """Of the table of limits: an idler 20 deg, a caution under 22."""
    layout, base = bare("railcar")
    index = [pulley.name for pulley in base.pulleys].index("guide")
    pulleys = tuple(replace(p, name="new", role="idler") if i == index else p for i, p in enumerate(base.pulleys))
    wrap = float(np.degrees(route("railcar").loop.wrap[index]))
    own = replace(layout, limits={"min_wrap_deg": {"new": wrap / 1.05}})
    found = needs(own).shortfall(replace(base, pulleys=pulleys))
    assert found.short[0] == pytest.approx(0.0, abs=1e-9)
    assert found.tight[0] == pytest.approx(1.0 - 1.05 / 1.1, abs=1e-9)


@pytest.mark.parametrize("gap", [12.0, 9.0, 4.0])
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
    short = needs(replace(layout, obstacles=(hose,))).shortfall(base).short[0]
    assert short == pytest.approx(max(0.0, 1.0 - gap / 10.0), abs=1e-6)


def test_rims_too_near_a_polygon_count_as_shapely_measures_it() -> None:
    """Least rim gap 5 mm (common practice, no source); the distance by shapely. Inside the loop, off the belt."""
    layout, base = bare("railcar")
    index = [pulley.name for pulley in base.pulleys].index("crane_pump")
    x, y = base.centre[index] + (base.rim[index] + 3.0) * np.array((0.6, -0.8))
    corners = ((x, y), (x + 2.0, y - 1.0), (x + 1.0, y - 2.0))
    measured = Polygon(corners).distance(Point(base.centre[index])) - base.rim[index]
    found = needs(replace(layout, obstacles=(Body("plate", corners),)))
    apart = needs(replace(layout, obstacles=(Body("plate", corners),), limits={"min_rim_gap_mm": {"": 0.0}}))
    only_rim = found.shortfall(base).short[0] - apart.shortfall(base).short[0]
    assert only_rim == pytest.approx(1.0 - measured / 5.0, abs=1e-9)
