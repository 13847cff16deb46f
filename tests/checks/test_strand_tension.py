"""Strands, hubs and springs within what they stand: edges at 0.99 and 1.01 of each limit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from beltplan.belts.layout import Layout
from beltplan.belts.loads import TorqueLoad
from beltplan.checks.finding import Finding
from beltplan.checks.strand_tension import (
    CHECK,
    HUB_CHECK,
    SPRING_CHECK,
    hub_load_findings,
    spring_findings,
    strand_tension_findings,
)
from beltplan.reading.layout_file import read_layout
from tests.belts.drives import with_belt, with_pulley
from tests.tension.drives import SWING, on_slide, operation, seven

UNLOADED = on_slide(tension_N=1000.0, loads={})


CASES = Path(__file__).parents[1] / "cases"


def _limited(limit_N: float) -> list[Finding]:
    """An unloaded locked drive, 1000 N in every strand, stopped and running."""
    return strand_tension_findings(operation(replace(UNLOADED, limits={"max_strand_N": {"": limit_N}})))


@pytest.mark.parametrize(
    ("tension_share", "severity"), [(1.01, "problem"), (0.99, "caution"), (0.92, "caution"), (0.90, None)]
)
def test_edges_of_strand_tension(tension_share: float, severity: str | None) -> None:
    found = _limited(1000.0 / tension_share)
    assert {f.severity for f in found} == (set() if severity is None else {severity})
    assert all(f.check == CHECK and f.value == pytest.approx(1000.0) for f in found)


def test_default_limit_of_a_strand_goes_by_the_rib() -> None:
    """About 180 N a rib, common practice, no source: 1080 N for six."""
    for set_N, severity in ((1.01 * 1080.0, "problem"), (0.99 * 1080.0, "caution")):
        found = strand_tension_findings(operation(on_slide(tension_N=set_N, loads={})))
        assert {f.severity for f in found} == {severity} and found[0].limit == pytest.approx(1080.0)


def _torque_to_slack() -> float:
    """Load on the last pulley that takes all tension from the strands before it, at the highest speed.

    Statics: the mean of the totals stays 1000 N, least + rise x share of the last strand + m v^2, with least = 0.
    """
    run = operation(UNLOADED)
    loop = run.stopped.loop
    arc = loop.wrap * loop.radius
    share = (loop.span[6] + 0.5 * (arc[6] + arc[0])) / loop.length
    rise_N = (1000.0 - run.running.centrifugal_N.max()) / share
    return float(rise_N) * (120.0 / 2.0 + 2.0) / 1000.0


@pytest.mark.parametrize(("share", "slack"), [(0.99, False), (1.01, True)])
def test_edges_of_slack(share: float, slack: bool) -> None:
    given = on_slide(tension_N=1000.0, loads={"cooling": TorqueLoad(share * _torque_to_slack())})
    hanging = [f for f in strand_tension_findings(operation(given)) if "slack" in f.message]
    assert [f.severity for f in hanging] == ["problem"] * slack
    # The six strands between the driver and the load, on its slack side, are all named.
    assert [len(f.parts) for f in hanging] == [6] * slack


def _hub_limit(limit_N: float | None) -> Layout:
    return with_pulley(UNLOADED, "generator", max_hub_load_N=limit_N)


@pytest.mark.parametrize(("share", "severity"), [(1.01, "problem"), (0.99, "caution"), (0.90, None)])
def test_edges_of_hub_load(share: float, severity: str | None) -> None:
    """2 T sin(wrap / 2), T set with the engine stopped, when it is greatest."""
    wrap = float(operation(UNLOADED).stopped.loop.wrap[4])
    load = 2000.0 * np.sin(wrap / 2.0)
    found = hub_load_findings(operation(_hub_limit(float(load / share))))
    assert [(f.check, f.severity) for f in found] == ([] if severity is None else [(HUB_CHECK, severity)])


def test_hub_without_a_limit_is_not_judged() -> None:
    assert hub_load_findings(operation(_hub_limit(None))) == []


def test_spring_against_its_stop() -> None:
    """The same belt, with the long stop just before and just beyond the place where the arm settles."""
    free = operation(seven(loads={}))
    belt = {"length_mm": free.route.length_mm}
    furthest = float(max(free.running.setting.max(), free.stopped.setting))
    for beyond, count in ((0.001, 0), (-0.001, 1)):
        stops = (float(np.radians(265.0)), furthest + beyond)
        given = with_belt(seven(replace(SWING, stops_rad=stops, at_rad=4.7), loads={}), **belt)
        found = spring_findings(operation(given))
        assert [(f.check, f.severity, f.subject) for f in found] == [(SPRING_CHECK, "problem", "tensioner")] * count


def test_locked_adjuster_has_no_spring_to_judge() -> None:
    assert spring_findings(operation(UNLOADED)) == []


def test_a_narrow_profile_is_not_judged_by_the_forces_of_a_wide_one() -> None:
    """6PJ, 14 mm wide, set to 1000 N: half of PK's 180 N a rib (common practice, no source), as its measuring force.

    ISO 9982, from memory, medium confidence: 25 N a rib of PJ, 50 of PK.
    """
    (finding,) = strand_tension_findings(operation(read_layout(str(CASES / "pj_1000N.yaml")).layout))
    assert (finding.severity, finding.limit) == ("problem", 6 * 180.0 * 25.0 / 50.0)
    assert finding.value is not None and finding.value > 1000.0
