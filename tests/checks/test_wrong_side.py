"""Does a pulley's face suit the side of the belt? Which roles are grooved: common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.checks.drives import found, pulley, sagging
from tests.for_each import for_each


@for_each(
    ("water_pump", {"grooves": 6}, "problem"),
    ("idler", {"grooves": 6}, "caution"),
    ("alternator", {}, "caution"),
    ("steering_pump", {"turns": "either"}, "caution"),
    ("steering_pump", {"side_open": True}, None),
    ("air_conditioning", {"grooves": 6}, "problem"),
    ("water_pump", {}, None),
    ("fan", {}, None),
    ("idler", {}, None),
    ("tensioner", {}, None),
)
def test_on_the_back(role: str, more: dict[str, Any], severity: str | None) -> None:
    """`sagging` bends the belt over its back. A back drives smooth pumps and fans: only grooves make that a problem."""
    findings = found(sagging(120.0, pulley("it", role, 0, 0, **more)), "wrong_side", "it")
    assert [finding.severity for finding in findings] == ([] if severity is None else [severity])
    assert all(finding.advice and "back" in finding.wrong for finding in findings)


@pytest.mark.parametrize(("more", "asked"), [({}, True), ({"grooves": 6}, False)])
def test_a_tensioner_on_the_ribs_is_asked_for_its_grooves(more: dict[str, Any], asked: bool) -> None:
    layout = sagging(120.0, pulley("it", "idler", 0, 0))
    far = next(p for p in layout.pulleys.values() if not p.on_back and not p.drives)
    given = {**layout.pulleys, far.name: replace(far, role="tensioner", **more)}
    findings = found(replace(layout, pulleys=given), "wrong_side", far.name)
    assert [finding.severity for finding in findings] == ["caution"] * asked
    assert all("`grooves: 6`" in finding.advice and "`belt_side: back`" in finding.advice for finding in findings)
