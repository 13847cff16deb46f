"""Misalignment of a span: atan(offset / span length), plane geometry, on spans of known length."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from beltplan.drive.layout import Layout
from tests.checks.drives import BACK_MM, found, layout, pulley, severity, two
from tests.for_each import for_each


def skewed(angle_deg: float, limits: dict[str, dict[str, float]] | None = None) -> Layout:
    """Two equal pulleys 300 mm apart, the spans askew by that angle: span length is the distance of centres."""
    given = two(limits=limits or {})
    far = replace(given.pulleys["far"], plane_mm=300.0 * math.tan(math.radians(angle_deg)))
    return replace(given, pulleys={"crank": replace(given.pulleys["crank"], plane_mm=0.0), "far": far})


def smooth(angle_deg: float) -> Layout:
    """Two pulleys on the back, 200 mm of level span between them, askew by that angle; the rest in line with each."""
    phi, span, reach = math.radians(30.0), 150.0, 50.0 + 50.0 + BACK_MM
    x = reach * math.sin(phi) + span * math.cos(phi)
    y = reach * math.cos(phi) - span * math.sin(phi)
    plane = 200.0 * math.tan(math.radians(angle_deg))
    return layout(
        pulley("crank", "crankshaft", 0, 0, plane_mm=0.0),
        pulley("left", "idler", x, y, belt_side="back", plane_mm=0.0),
        pulley("right", "idler", x + 200.0, y, belt_side="back", plane_mm=plane),
        pulley("far", "alternator", 2.0 * x + 200.0, 0, plane_mm=plane),
        limits={"max_misalignment_deg": {"": 80.0}},
    )


# 0.33 deg: SAE 1999-01-1709, abstract (guideline); 0.5 deg: common practice, no source.
@for_each((0.99 * 0.33, None), (1.01 * 0.33, "caution"), (0.99 * 0.5, "caution"), (1.01 * 0.5, "problem"))
def test_into_a_grooved_pulley(angle: float, expected: str | None) -> None:
    found_here = found(skewed(angle), "misalignment")
    assert [f.severity for f in found_here] == ([expected] * 2 if expected else [])
    assert all(f.value == pytest.approx(angle, abs=1e-9) for f in found_here)


# Twice the grooved ones: common practice, no source.
@for_each((0.99 * 0.66, None), (1.01 * 0.66, "caution"), (0.99, "caution"), (1.01, "problem"))
def test_between_two_smooth_pulleys(angle: float, expected: str | None) -> None:
    assert severity(smooth(angle), "misalignment", "left to right") == expected


def test_a_span_with_one_grooved_end_has_the_grooved_limit() -> None:
    given = smooth(0.0)
    left = replace(given.pulleys["left"], plane_mm=150.0 * math.tan(math.radians(0.6)))
    given = replace(given, limits={}, pulleys={**given.pulleys, "left": left})
    (finding,) = found(given, "misalignment", "crank to left")
    assert (finding.severity, finding.limit) == ("problem", 0.5)


def test_sources_of_the_caution_and_of_the_problem() -> None:
    assert "SAE 1999-01-1709" in found(skewed(0.4), "misalignment")[0].source
    assert "no source" in found(skewed(0.6), "misalignment")[0].source


@for_each("", "alternator", "far", "crankshaft")
def test_overrides_for_all_by_role_and_by_name(who: str) -> None:
    assert found(skewed(0.6, {"max_misalignment_deg": {who: 2.0}}), "misalignment") == []


def test_a_name_wins_over_a_role() -> None:
    own = {"max_misalignment_deg": {"alternator": 0.1, "far": 2.0}}
    assert found(skewed(0.6, own), "misalignment") == []


def test_without_any_plane_a_note_says_so() -> None:
    (finding,) = found(two(), "misalignment")
    assert finding.severity == "note" and "plane" in finding.message and finding.value is None


def test_a_plane_left_out_is_taken_as_nought_and_said_so() -> None:
    given = skewed(0.6)
    far = replace(given.pulleys["far"], plane_mm=None)
    findings = found(replace(given, pulleys={**given.pulleys, "far": far}), "misalignment")
    assert [f.severity for f in findings] == ["note"] and "far: taken as 0" in findings[0].message
    crank = replace(given.pulleys["crank"], plane_mm=None)
    findings = found(replace(given, pulleys={**given.pulleys, "crank": crank}), "misalignment")
    assert [f.severity for f in findings] == ["problem", "problem", "note"]


# Entry angle with tilt: atan(dz / l) - (a u_x + b u_y), a and b slopes of the pulley's plane; derived, plane geometry.


def leaning(tilt_deg: tuple[float, float], offset_deg: float = 0.0) -> Layout:
    """Two equal pulleys one beside the other, the far one's face tilted: both spans run along x."""
    given = skewed(offset_deg)
    return replace(given, pulleys={**given.pulleys, "far": replace(given.pulleys["far"], tilt_deg=tilt_deg)})


def test_a_face_tilted_along_its_spans_and_across_them() -> None:
    assert [f.value for f in found(leaning((0.5, 0.0)), "misalignment")] == pytest.approx([0.5, 0.5])
    assert found(leaning((0.0, 0.5)), "misalignment") == []


def test_a_tilt_adds_to_an_offset_or_takes_from_it() -> None:
    """The far pulley 0.3 deg ahead: a face that leads on toward the viewer meets its spans squarely."""
    assert found(leaning((0.3, 0.0), 0.3), "misalignment") == []
    assert [f.value for f in found(leaning((-0.3, 0.0), 0.3), "misalignment")] == pytest.approx([0.6, 0.6])


def test_a_tilt_without_any_plane_is_judged() -> None:
    given = two()
    far = replace(given.pulleys["far"], tilt_deg=(0.6, 0.0))
    told = found(replace(given, pulleys={**given.pulleys, "far": far}), "misalignment")
    assert [f.severity for f in told] == ["problem", "problem", "note"]
