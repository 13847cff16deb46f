"""Travel that is of no use, and readings over the rim; two pulleys of 100 mm, path 2 x distance + 100 pi."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley, Slide
from tests.checks.drives import RIM_UNDER_MM, found, layout, pulley, route, sliding, two


def test_a_whole_travel_is_no_finding() -> None:
    assert found(sliding(), "travel") == []


def test_travel_that_starts_in_the_other_pulley() -> None:
    # Rims meet where the centres are two rim radii apart: the path is shortest there.
    given = sliding((20.0, 0.0), (360.0, 0.0), at=1.0)
    (finding,) = found(given, "travel")
    shortest = 2.0 * (100.0 - 2.0 * RIM_UNDER_MM) + 100.0 * math.pi
    assert finding.severity == "caution" and "no nearer than 99.6 mm to crank" in finding.message
    assert route(given).travel is not None
    assert route(given).window.shortest == pytest.approx(shortest, abs=1e-4)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("start", "end", "why"),
    [
        ((150.0, 120.0), (150.0, 50.0), "beyond it the belt never touches guide"),
        ((150.0, 80.0), (150.0, -90.0), "beyond it span far to crank crosses the belt on guide"),
    ],
)
def test_what_ends_the_usable_travel_is_told_without_numbers_or_sides(
    start: tuple[float, float], end: tuple[float, float], why: str
) -> None:
    """A guide of 80 mm on the back over a span 50 mm up: it leaves the belt, or presses it into the lower span."""
    guide = Pulley("guide", "tensioner", 80.0, belt_side="back", adjuster=Slide(start, end))
    crank, far = two(300.0).pulleys.values()
    (finding,) = found(layout(crank, guide, far), "travel")
    assert why in finding.wrong and "either way round" not in finding.wrong and "on this side" not in finding.wrong


def test_a_design_setting_without_a_path_is_a_problem() -> None:
    given = sliding((20.0, 0.0), (360.0, 0.0), at=0.0)
    assert [f.severity for f in found(given, "travel")] == ["problem", "caution"]
    assert route(given).needed_mm is None


@pytest.mark.parametrize(("at", "longest"), [(0.9, math.hypot(300.0, 50.0)), (0.1, math.hypot(300.0, 90.0))])
def test_travel_past_the_turning_point_is_cut_to_the_part_that_holds_the_setting(at: float, longest: float) -> None:
    # Across the line of centres: nearest at y = 0, so the path falls to 600 + 100 pi there and grows again.
    given = sliding((300.0, -90.0), (300.0, 50.0), at=at)
    window = route(given).window
    (finding,) = found(given, "travel")
    assert "past the short end it tightens the belt again" in finding.wrong and window is not None
    # The nearest point is the shortest path: past it the belt is tightened again, not slackened.
    assert "slackens" not in finding.message
    assert window.shortest == pytest.approx(600.0 + 100.0 * math.pi, abs=1e-6)
    assert window.longest == pytest.approx(2.0 * longest + 100.0 * math.pi, abs=1e-9)


def over_rim(*names: str) -> Layout:
    """Two pulleys, some of them read over the rib tips."""
    given = two(300.0)
    pulleys = {n: replace(p, reading="rim" if n in names else "line") for n, p in given.pulleys.items()}
    return replace(given, pulleys=pulleys)


@pytest.mark.parametrize(("names", "wrap"), [(("far",), math.pi), (("crank", "far"), 2.0 * math.pi)])
def test_readings_over_the_rim_leave_length_open(names: tuple[str, ...], wrap: float) -> None:
    # PK: the rim lies 0.385 mm under the effective diameter, 0 to 0.9 at the ends (derived from ISO 9982:2021 table 2,
    # widened to SAE J1459-2022); the path changes by half a diameter's change x wrap (dL/dr = wrap).
    (finding,) = found(over_rim(*names), "rim_reading")
    least, most = -0.5 * 0.385 * wrap, 0.5 * (0.9 - 0.385) * wrap
    assert finding.severity == "note" and f"{-least:.1f} mm shorter or {most:.1f} mm longer" in finding.wrong
    assert all(name in finding.message for name in names)


def test_no_note_without_readings_over_the_rim() -> None:
    assert found(two(), "rim_reading") == []


def _swept(first_deg: float, second_deg: float) -> Layout:
    arm = Arm((600.0, 0.0), 60.0, (math.radians(first_deg), math.radians(second_deg)))
    return layout(pulley("crank", "crankshaft", 0, 0), Pulley("far", "tensioner", 100.0, adjuster=arm))


@pytest.mark.parametrize(("deg", "asked"), [(179.9, False), (180.1, True)])
def test_half_a_turn_is_the_widest_sweep(deg: float, asked: bool) -> None:
    """Common practice, no source."""
    assert any("deg apart" in each.wrong for each in found(_swept(90.0, 90.0 + deg), "travel")) == asked


def test_an_arm_that_sweeps_more_than_half_a_turn_is_asked_about() -> None:
    """Stops of 350 and 20 deg, meant as 350 to 380, are an arm that sweeps 330 deg the other way."""
    given = _swept(350.0, 20.0)
    wide = [f for f in found(given, "travel") if "deg apart" in f.wrong]
    assert [f.severity for f in wide] == ["caution"] and "write [-10, 20]" in wide[0].message
    narrow = _swept(350.0, 380.0)
    assert not [f for f in found(narrow, "travel") if "deg apart" in f.wrong]
