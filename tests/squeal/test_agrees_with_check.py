"""What `check` finds that can be heard is a cause in `squeal`, with the same number: so the two never disagree."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from beltplan.checks.alignment import MISALIGNMENT
from beltplan.checks.clearance import CLEARANCE, RIM_GAP, SPAN_GAP
from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.checks.resonance import RESONANCE
from beltplan.checks.shaking import ARM_TRAVEL, DRIVE_RESONANCE, SWING_SLIP, TENSION_SWING
from beltplan.checks.slip import SLIP, SLIP_ON_REVS
from beltplan.drive.layout import CrankSwing, Engine
from beltplan.layoutfile.layout_file import read_layout
from beltplan.squeal.readings import WEIGHTS, Heard
from beltplan.squeal.study import Squealing, Weighed, squealing_of
from tests.for_each import for_each
from tests.shipped import SHIPPED_LAYOUTS
from tests.test_cases import FOLDER, LAYOUTS

RUNNING = (SLIP, SLIP_ON_REVS, RESONANCE, DRIVE_RESONANCE, TENSION_SWING, SWING_SLIP, ARM_TRAVEL, MISALIGNMENT)
STATIC = (CLEARANCE, SPAN_GAP, RIM_GAP)
JUDGED = tuple(FOLDER / f"{name}.yaml" for name, status in LAYOUTS.items() if status != 2)
SHAKEN = (
    *(Engine(swing_deg=CrankSwing((half_deg,))) for half_deg in (0.05, 0.2)),
    Engine(swing_deg=CrankSwing((3.0,)), cruise_rpm=1400.0),
)
"""Half the crank's swing at idle as if it were measured: at last so hard that tensioners meet their stops, while it
cruises near the first mode of most of the drives.
"""
SHAKEN_CASES = tuple(FOLDER / f"{name}.yaml" for name in ("squeal", "squeal_low2", "carrier"))
CASES = (
    *((path, None) for path in (*SHIPPED_LAYOUTS, *JUDGED)),
    *((path, engine) for path in (*SHIPPED_LAYOUTS, *SHAKEN_CASES) for engine in SHAKEN),
)
IN_PERCENT = {TENSION_SWING.name: 100.0}
"""Of what a check tells as a share."""


@cache
def _plan(path: Path, shaken: Engine | None) -> Plan:
    layout = read_layout(str(path)).layout
    if shaken is None:
        return plan_of(layout)
    cruise_rpm = shaken.cruise_rpm or layout.engine.cruise_rpm
    return plan_of(replace(layout, engine=replace(layout.engine, swing_deg=shaken.swing_deg, cruise_rpm=cruise_rpm)))


def _heard(plan: Plan) -> list[Finding]:
    """What it finds that can be heard; a note that has no number only says what is not judged."""
    asked = {check.name for check in (*RUNNING, *STATIC)}
    return [f for f in plan.findings if f.check in asked and (f.severity != "note" or f.value is not None)]


def _causes(finding: Finding, squealing: Squealing) -> list[Weighed]:
    """Its cause at every place that it is about: a belt that hangs slack at each of the pulleys."""
    slack = finding.check in (SLIP.name, SLIP_ON_REVS.name) and finding.value is None
    value = math.inf if slack else (finding.value or 0.0) * IN_PERCENT.get(finding.check, 1.0)
    wanted = max(value, 0.0) if finding.check in IN_PERCENT else value
    return [
        each
        for each in squealing.weighed
        if finding.check in [check.name for check in each.cause.checks]
        and each.reading.where in (finding.parts if slack else (finding.subject,))
        and each.reading.value == pytest.approx(wanted, rel=1e-9, abs=1e-9)
        and each.reading.severity == WEIGHTS[finding.severity]
    ]


@for_each(*CASES, ids=str)
def test_what_check_finds_that_can_be_heard_is_a_cause_with_the_same_number(path: Path, shaken: Engine | None) -> None:
    squealing = squealing_of(_plan(path, shaken), Heard())
    for finding in _heard(squealing.plan):
        causes = _causes(finding, squealing)
        places = {each.reading.where for each in causes}
        assert places == set(finding.parts if finding.value is None else (finding.subject,)), finding
        assert all(each in squealing.telling for each in causes if each.reading.severity), finding


def test_every_check_that_can_be_heard_finds_something_in_these_layouts() -> None:
    seen = {finding.check for path, shaken in CASES for finding in _heard(_plan(path, shaken))}
    assert seen == {check.name for check in (*RUNNING, *STATIC)} - {SPAN_GAP.name}
