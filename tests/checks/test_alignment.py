"""Misalignment of a span: atan(offset / span length), plane geometry, on spans of known length."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example
from hypothesis import given as for_any
from hypothesis import strategies as st
from scipy.optimize import linprog

from beltplan.checks.alignment import best_grooves, shims, tilted
from beltplan.checks.card import card_of
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout
from beltplan.drive.route import Route, route_of
from beltplan.report.card import card_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import BACK_MM, found, layout, pulley, route, severity, two
from tests.cli.running import Runner
from tests.drive.drives import with_pulley
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


# The pulleys to move into line: against every set of pulleys, each tried by linear programming (scipy).


CAUTION_DEG = 0.33
SIDE_MM = 200.0
PLAY_MM = SIDE_MM * math.tan(math.radians(CAUTION_DEG))
"""What a span of that length may be out of line: plane geometry; 0.33 deg: SAE 1999-01-1709, abstract (guideline)."""


def ring(*planes: float | None, tilts: tuple[tuple[float, float], ...] = ()) -> Layout:
    """Equal pulleys at the corners of a regular polygon, so that every span is as long as a side."""
    n = len(planes)
    radius = SIDE_MM / (2.0 * math.sin(math.pi / n))
    turns, tilt = [2.0 * math.pi * i / n for i in range(n)], (*tilts, *[(0.0, 0.0)] * (n - len(tilts)))
    return layout(
        *(
            pulley(
                *(f"p{i}", "alternator" if i else "crankshaft", -radius * math.cos(at), radius * math.sin(at)),
                plane_mm=z,
                tilt_deg=tilt[i],
            )
            for i, (at, z) in enumerate(zip(turns, planes, strict=True))
        )
    )


def shimmed(given: Layout, offsets: dict[str, float]) -> Layout:
    moved = {
        name: replace(p, plane_mm=(p.plane_mm or 0.0) + offsets.get(name, 0.0)) for name, p in given.pulleys.items()
    }
    return replace(given, pulleys=moved)


def fewest(planes: list[float], low_mm: Sequence[float], high_mm: Sequence[float]) -> int:
    """How many pulleys besides the first must move: every set of them, smallest first, by linear programming.

    low_mm, high_mm: between which each span's end may stand ahead of its start.
    """
    n = len(planes)
    steps = np.eye(n) - np.roll(np.eye(n), 1, axis=1)
    for count in range(n):
        for free in combinations(range(1, n), count):
            bounds = [(None, None) if i in free else (z, z) for i, z in enumerate(planes)]
            limits = np.concatenate((-np.array(low_mm), high_mm)) + 1e-9
            if linprog(np.zeros(n), np.concatenate((steps, -steps)), limits, bounds=bounds).status == 0:
                return count
    raise AssertionError("with all moved into the first one's plane, everything is straight")


def test_one_pulley_out_of_line_is_brought_back() -> None:
    assert shims(route(ring(0.0, 4.0, 0.0, 0.0))) == {"p1": pytest.approx(-4.0)}


def test_the_driver_stays_even_where_it_alone_is_out_of_line() -> None:
    assert set(shims(route(ring(5.0, 0.0, 0.0)))) == {"p1", "p2"}


def test_nothing_is_moved_where_all_is_straight_enough() -> None:
    for share in (0.99, 1.0, -1.0):
        assert shims(route(ring(0.0, share * PLAY_MM, 0.0))) == {}
    assert shims(route(ring(None, None, None))) == {}


def test_what_is_only_planned_is_hung_elsewhere_and_not_measured_again() -> None:
    """Straight between equal neighbours at 0: as far back as it stands ahead, however little that is."""
    strict = replace(ring(0.0, 0.12, 0.0, 0.0), limits={"max_misalignment_deg": {"": 0.03}})
    measured, planned = (with_pulley(strict, "p1", planned=each) for each in (False, True))
    advice = {each.advice for each in found(planned, "misalignment")}
    assert advice == {"p1 is only planned: hang it 0.1 mm toward the engine"}
    assert all(each.advice.startswith("measure again: ") for each in found(measured, "misalignment"))
    for unknown, first in ((measured, "measure `plane` of p1 first"), (planned, "move p1 2.0 mm toward the viewer")):
        apart = replace(ring(2.0, None, 2.0, 2.0), limits=strict.limits)
        apart = with_pulley(apart, "p1", planned=unknown is planned)
        askew = [each.advice for each in found(apart, "misalignment") if each.severity != "note"]
        assert askew and all(each.startswith(first) for each in askew)


def test_no_spacer_is_proposed_that_is_not_sold() -> None:
    """Spacers start at 0.2 mm: common practice, no source. Out of line by more, it is proposed."""
    for out, moved in ((0.19, {}), (0.2, {"p1": pytest.approx(-0.2)}), (0.21, {"p1": pytest.approx(-0.21)})):
        strict = replace(ring(0.0, out, 0.0, 0.0), limits={"max_misalignment_deg": {"": 0.05}})
        assert shims(route(strict)) == moved
        findings = found(strict, "misalignment")
        assert {finding.subject for finding in findings} == {"p0 to p1", "p1 to p2"}
        assert all(finding.advice.startswith("move p1" if moved else "measure again: ") for finding in findings)
        fitter = " ".join(shown(card_report(card_of(plan_of(strict))), Screen()).split())
        assert ("move p1" if moved else "but for p1, out of line by less than the thinnest spacer") in fitter


def test_of_two_that_would_do_the_measured_one_is_moved() -> None:
    # Either of the two between leaves room enough; p2 was not measured and counts as 0.
    both = route(ring(0.0, 1.5 * PLAY_MM, None, 0.0))
    assert list(shims(both)) == ["p1"]
    assert list(shims(route(ring(0.0, None, 1.5 * PLAY_MM, 0.0)))) == ["p2"]


@for_any(st.lists(st.floats(-4.0, 4.0).map(lambda z: round(z, 2)), min_size=3, max_size=6))
def test_no_smaller_set_does_and_after_it_nothing_is_askew(planes: list[float]) -> None:
    given = ring(*planes)
    offsets = shims(route(given), 0.0)
    assert "p0" not in offsets
    assert len(offsets) == fewest(planes, [-PLAY_MM] * len(planes), [PLAY_MM] * len(planes))
    # Right at the caution rounding decides: a hundred-thousandth of a degree is left for it.
    left = found(
        replace(shimmed(given, offsets), limits={"max_misalignment_deg": {"": 1.1 * CAUTION_DEG + 1e-5}}),
        "misalignment",
    )
    assert left == []


TILT = st.tuples(st.floats(-0.23, 0.23), st.floats(-0.23, 0.23))
"""Of a face that no span finds too much by itself: in any direction less than 0.33 deg."""


@for_any(st.lists(st.tuples(st.floats(-4.0, 4.0).map(lambda z: round(z, 2)), TILT), min_size=3, max_size=6))
@example([(-3.84, (-0.05, -0.05)), (0.22, (0.19, -0.05)), (-2.36, (-0.07, -0.07)), (1.93, (-0.01, -0.19))])
def test_likewise_with_faces_that_lean(pulleys: list[tuple[float, tuple[float, float]]]) -> None:
    """Both ends of a span: |atan(dz / l) - slope along it| within the caution."""
    planes, tilts = [z for z, _ in pulleys], tuple(tilt for _, tilt in pulleys)
    given = ring(*planes, tilts=tilts)
    laid = route(given)
    lean = np.array(
        [[p.tilt_deg @ along for p in ends] for ends, along in zip(laid.spans, laid.loop.direction, strict=True)]
    )
    low, high = (
        SIDE_MM * np.tan(np.radians(deg)) for deg in (lean.max(axis=1) - CAUTION_DEG, lean.min(axis=1) + CAUTION_DEG)
    )
    order = [int(p.name[1:]) for p in laid.pulleys]
    offsets = shims(laid, 0.0)
    assert tilted(laid) == [] and "p0" not in offsets
    assert len(offsets) == fewest([planes[i] for i in order], low, high)
    ample = replace(shimmed(given, offsets), limits={"max_misalignment_deg": {"": 1.1 * CAUTION_DEG + 1e-5}})
    assert found(ample, "misalignment") == []


def test_a_tilt_that_no_shim_cures_is_told_as_such() -> None:
    """A square of pulleys: of a tilt along x of 0.8 deg its spans, at 45 deg, see 0.8 cos 45 deg."""
    given = ring(0.0, 0.0, 0.0, 0.0, tilts=((0.0, 0.0), (0.8, 0.0)))
    assert [p.name for p in tilted(route(given))] == ["p1"] and shims(route(given)) == {}
    findings = found(given, "misalignment")
    assert {f.subject for f in findings} == {"p0 to p1", "p1 to p2"}
    for finding in findings:
        assert finding.value == pytest.approx(0.8 * math.cos(math.pi / 4.0))
        assert "the face of p1 leans 0.57 deg along it" in finding.message
        assert finding.advice == "set p1 square, its right edge 0.80 deg (1.4 mm across its face) toward the engine"


@pytest.mark.parametrize(("out_mm", "told"), [(0.049, ""), (0.0501, "0.1 mm out of line over 200 mm, ")])
def test_beside_a_tilt_an_offset_is_told_where_it_can_be_measured(out_mm: float, told: str) -> None:
    """Nobody measures less than 0.05 mm: common practice, no source."""
    given = ring(0.0, out_mm, 0.0, 0.0, tilts=((0.0, 0.0), (0.8, 0.0)))
    assert {each.wrong.split("the face")[0] for each in found(given, "misalignment")} == {told}


def test_of_tilt_and_offset_each_has_its_cure() -> None:
    given = ring(0.0, 4.0, 0.0, 0.0, tilts=((0.0, 0.0), (0.0, -0.8)))
    assert shims(route(given)) == {"p1": pytest.approx(-4.0)}
    advice = found(given, "misalignment")[0].advice
    assert advice.startswith(
        "set p1 square, its top edge 0.80 deg (1.4 mm across its face) toward the viewer, and move p1 4.0 mm"
    )


# In which grooves the belt lines up best: against every choice there is, tried one by one. Drives invented.


PITCH_MM = 3.56
"""Groove pitch of PK: ISO 9982:2021, table 2."""


def drive(seed: int) -> Layout:
    """Five pulleys round a circle, some of up to three grooves more than the belt's six ribs; the crank in plane 0."""
    rng = np.random.default_rng(seed)
    turns = 2.0 * np.pi * np.arange(5) / 5 + rng.uniform(0.0, 0.3, 5)
    grooves = rng.integers(6, 10, 5)
    return layout(
        *(
            pulley(
                *(f"p{i}", "alternator" if i else "crankshaft", -250.0 * math.cos(at), 250.0 * math.sin(at)),
                plane_mm=float(rng.uniform(-8.0, 8.0)) * (i > 0),
                grooves=int(grooves[i]),
                first_groove_used=int(rng.integers(1, grooves[i] - 4)),
                tilt_deg=tuple(rng.normal(0.0, 0.1, 2).tolist()),
            )
            for i, at in enumerate(turns)
        )
    )


def squares(laid: Route, firsts: dict[str, int]) -> float:
    """The sum over all spans of the entry angle's square, each the worse of its ends: plane geometry."""
    total = 0.0
    for (start, end), span, along in zip(laid.spans, laid.loop.span, laid.loop.direction, strict=True):
        planes = [(p.plane_mm or 0.0) + PITCH_MM * (firsts[p.name] - p.first_groove_used) for p in (start, end)]
        run = math.degrees(math.atan((planes[1] - planes[0]) / span))
        total += max(abs(run - float(np.dot(p.tilt_deg, along))) for p in (start, end)) ** 2
    return total


@for_each(*range(5), 59)  # of the last, cubes would choose otherwise
def test_no_choice_is_better(seed: int) -> None:
    given = drive(seed)
    laid = route_of(given)
    ways = {name: range(1, (p.grooves or 0) - 6 + 2) for name, p in given.pulleys.items()}
    every = [dict(zip(ways, way, strict=True)) for way in product(*ways.values())]
    present = {name: p.first_groove_used for name, p in given.pulleys.items()}
    chosen = present | best_grooves(laid)
    assert len(every) > 1 and chosen in every
    assert squares(laid, chosen) == pytest.approx(min(squares(laid, way) for way in every))


def test_where_nothing_is_better_nothing_is_told() -> None:
    """All in one plane, the belt stays: also where all could be moved by a groove alike."""
    given = drive(0)
    flat = {name: replace(p, plane_mm=1.0, grooves=8, tilt_deg=(0.0, 0.0)) for name, p in given.pulleys.items()}
    assert best_grooves(route_of(replace(given, pulleys=flat))) == {}
    narrow = {name: replace(p, grooves=6, first_groove_used=1) for name, p in given.pulleys.items()}
    assert best_grooves(route_of(replace(given, pulleys=narrow))) == {}


TEXT = """\
belt: 6PK930
pulleys:
  crank: {role: crankshaft, at: [0, 0], diameter: 100, grooves: 8, plane: {stack: {hub: 20}, to: first_groove}}
  far:
    role: alternator
    diameter: 100
    grooves: 6
    slide: {from: [290, 0], to: [340, 0]}
    plane: {stack: {bracket: 19, spacer: 8.12}, to: face, face_to_first_groove: 0}
route: [crank, far]
"""


def test_the_card_names_the_grooves_and_what_is_left(run: Runner, here: Path) -> None:
    """19 + 8.12 is 27.12, two pitches of 3.56 from the crankshaft's first groove at 20."""
    Path("drive.yaml").write_text(TEXT)
    told = " ".join(run("fit", "drive.yaml").out.split())
    assert "LINE UP move far 7.12 mm (0.280 in) toward the engine" in told
    assert (
        "GROOVES it lines up best in grooves 3 to 8 of crank, counted from the engine (`first_groove_used: 3`)" in told
    )
    assert "then nothing is to be moved" in told
    Path("better.yaml").write_text(TEXT.replace("to: first_groove}", "to: first_groove}, first_groove_used: 3"))
    told = " ".join(run("fit", "better.yaml").out.split())
    assert "nothing to move" in told and "GROOVES" not in told
    Path("off.yaml").write_text(TEXT.replace("8.12", "12.12"))
    assert "then move only far 4.00 mm (0.157 in) toward the engine" in " ".join(run("fit", "off.yaml").out.split())
