"""What holds another pulley must not stand where the tensioner's pivot and arm are. Distances by shapely.

Widths of an arm and of a bolt or shaft: common practice, no source (ours: 15 and 10 mm either way of the middle).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point

from beltplan.checks.clearance import PLACES, gaps_of
from beltplan.checks.limits import Finding
from beltplan.checks.plan import plan_of
from beltplan.cure.screen import as_it_stands, screen_of
from beltplan.cure.trials import trial_of
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Pulley
from beltplan.drive.route import route_of
from beltplan.place.study import STATES, judged_places
from tests.checks.drives import found
from tests.drive.drives import with_pulley
from tests.for_each import for_each
from tests.place.drives import shipped

WORKBOAT = shipped("workboat")
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
