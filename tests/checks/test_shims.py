"""The pulleys to move into line: against every set of pulleys, each tried by linear programming (scipy)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import example
from hypothesis import given as for_any
from hypothesis import strategies as st
from scipy.optimize import linprog

from beltplan.checks.alignment import shims, tilted
from beltplan.checks.card import card_of
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout
from beltplan.report.card import card_report
from beltplan.report.screen import Screen, shown
from tests.checks.drives import found, layout, pulley, route

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
