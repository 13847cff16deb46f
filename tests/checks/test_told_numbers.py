"""What findings tell of whole layouts, whatever they are about: laws between value, limit, margin, place and words."""

from __future__ import annotations

import re

import numpy as np
import pytest

from beltplan.checks.limits import Finding
from beltplan.checks.plan import Plan, plan_of
from beltplan.drive.mechanics import CONDITIONS, frictions
from beltplan.drive.operation import REVVING, Operation
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each

DRIVES = (
    *(f"layouts/{name}.yaml" for name in ("camper", "orchard_sprayer", "too_tight")),
    *(f"tests/cases/{name}.yaml" for name in ("asym", "carrier", "close", "findings", "hz", "no_loads", "pj_1000N")),
    *(f"tests/cases/{name}.yaml" for name in ("squeal", "squeal_low2", "wide_flat")),
)
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
ELSEWHERE = ("resonance", "tension_swing")
"""Checks of which the words tell more than the value: both numbers of which it is the share."""
WHERE = re.compile(r"at (\d+) rpm(?: while the engine ([a-z ]+))?, duty '([^']+)'")


def plan(path: str) -> Plan:
    return plan_of(read_layout(path).layout)


def measured(path: str) -> list[tuple[Finding, float, float]]:
    """Findings with a value, and with a limit that has a share."""
    every = [(each, each.value, each.limit) for each in plan(path).findings]
    return [(each, value, limit) for each, value, limit in every if value is not None and limit]


def as_read(number: str) -> float:
    """Half of the last digit."""
    return 0.5001 * 10.0 ** -len(number.partition(".")[2])


@for_each(*DRIVES)
def test_the_margin_is_the_way_from_the_limit_as_a_share_of_it(path: str) -> None:
    """And on the good side of it only where the words say so."""
    told = measured(path)
    for finding, value, limit in told:
        good = re.search("over its minimum|under its maximum", finding.wrong) is not None
        assert finding.margin == pytest.approx((1.0 if good else -1.0) * abs(value - limit) / limit), finding
        assert not good or finding.severity == "caution"
    assert told


@for_each(*DRIVES)
def test_the_value_stands_in_the_words(path: str) -> None:
    """What cuts into another is told by its depth, so without its sign."""
    for finding, value, _ in measured(path):
        numbers = [number.lstrip("-") for number in NUMBER.findall(finding.wrong)]
        read = any(abs(float(number) - abs(value)) <= as_read(number) for number in numbers)
        assert read or value == 0.0 or finding.check in ELSEWHERE, finding


def place(operation: Operation, finding: Finding) -> tuple[str, int, int]:
    """What the engine does, the duty and the speed that a finding names."""
    named = WHERE.search(finding.wrong)
    assert named is not None, finding
    rpm, when, duty = named.groups()
    speed = int(np.abs(operation.driver_rpm - float(rpm)).argmin())
    assert abs(operation.driver_rpm[speed] - float(rpm)) <= 0.5
    return when or "steady", operation.duties.index(duty), speed


def slips(path: str) -> list[tuple[Operation, Finding, float]]:
    """Findings of slip with a number, beside the drive at that end of its tension."""
    operation = plan(path).operation
    if operation is None:
        return []
    low = operation.ends[0] if operation.ends else operation
    found = [each for each in plan(path).findings if each.check in ("slip", "slip_on_revs")]
    return [(low if "tension down" in f.wrong else operation, f, f.value) for f in found if f.value is not None]


def condition_of(finding: Finding) -> int:
    words = re.search(r"by the (design) friction|\b(dry|wet)\b", finding.wrong)
    assert words is not None, finding
    return next(i for i, condition in enumerate(CONDITIONS) if condition in words.groups())


SLIPPING = ("layouts/camper.yaml", *(f"tests/cases/{name}.yaml" for name in ("asym", "close", "squeal", "squeal_low2")))


@for_each(*SLIPPING)
def test_slip_is_told_where_it_is_worst_with_the_wrap_that_it_lacks(path: str) -> None:
    """Euler: use x wrap stays the same, so a use of u comes down to w by (u / w - 1) of the wrap more."""
    told = slips(path)
    for operation, finding, value in told:
        index = [pulley.name for pulley in operation.route.pulleys].index(finding.subject)
        when, duty, speed = place(operation, finding)
        state, use = operation.running, operation.utilisation
        if when != "steady":
            assert operation.revving is not None
            state, use = operation.revving[0].at(REVVING.index(when)), operation.revving[1][:, REVVING.index(when)]
        own = use[condition_of(finding), :, :, index]
        assert own[duty, speed] == own.max() == value
        wrap_deg = float(np.degrees(state.loop.wrap[duty, speed, index]))
        lacks = re.search(
            r"(?:(\d+) deg more wrap just hold, )?(\d+) (?:deg more wrap )?bring it to ([\d.]+)", finding.wrong
        )
        if lacks is None:
            assert value / 0.8 * wrap_deg > 240.0, finding
            held = value / (1.0 if value >= 1.0 else 0.8) * wrap_deg <= 240.0
            assert ("no wrap is enough" in finding.advice) == (not held), finding
            continue
        assert float(lacks[2]) == pytest.approx((value / float(lacks[3]) - 1.0) * wrap_deg, abs=0.51)
        assert float(lacks[1] or 0.0) == pytest.approx(max(value - 1.0, 0.0) * wrap_deg, abs=0.51)
        steadily = re.search(r"\(([\d.]+) steadily\)", finding.wrong)
        assert (steadily is None) == (when == "steady")
        if steadily is not None:
            steady = operation.utilisation[condition_of(finding), :, :, index].max()
            assert float(steadily[1]) == pytest.approx(float(steady), abs=0.00501)
    assert told


@for_each(*SLIPPING[:3])
def test_the_pull_on_a_hub_is_told_where_it_is_greatest(path: str) -> None:
    """Law over every duty and speed, for the tension as it is and at its high end; the first speed of equal pulls."""
    told = plan(path)
    assert told.operation is not None and told.operation.ends is not None
    for hub in told.hubs:
        size = told.operation.hub_size_N[..., hub.index]
        assert float(np.hypot(*hub.running_N)) == pytest.approx(float(size.max()), rel=1e-6)
        assert hub.rpm == told.operation.driver_rpm[(size >= size.max() * (1.0 - 1e-6)).argmax() % size.shape[1]]
        for drive, most in ((told.operation, hub.maximum_N), (told.operation.ends[1], hub.high_N)):
            stopped = float(np.hypot(*drive.stopped.hub_load_N[hub.index]))
            assert most == pytest.approx(max(stopped, float(drive.hub_size_N[..., hub.index].max())))


def least_and_worst(values: Floats) -> tuple[float, tuple[int, ...]]:
    return float(values.min()), tuple(int(i) for i in np.unravel_index(int(values.argmin()), values.shape))


@for_each("layouts/camper.yaml", "layouts/orchard_sprayer.yaml", "tests/cases/carrier.yaml")
def test_what_the_firing_does_is_told_where_it_is_worst(path: str) -> None:
    operation = plan(path).operation
    assert operation is not None and operation.shaken is not None
    shaken, names = operation.shaken, [pulley.name for pulley in operation.route.pulleys]
    (swing,) = [each for each in plan(path).findings if each.check == "tension_swing"]
    least, worst = least_and_worst(shaken.least_N / shaken.mean_N)
    span = f"{names[worst[2]]} to {names[(worst[2] + 1) % len(names)]}"
    assert swing.subject == span and swing.value == pytest.approx(least)
    assert place(operation, swing)[1:] == worst[:2]
    slack = bool((shaken.least_N <= 0.0).any())
    assert ("falls slack" in swing.wrong) == slack
    slips = [each for each in plan(path).findings if each.check == "swing_slip"]
    assert len(slips) == (not slack)
    for slip in slips:
        used = shaken.grip_needed / frictions(operation.route.layout.belt, operation.route.pulleys)[condition_of(slip)]
        _, duty, speed = place(operation, slip)
        assert slip.value == used[..., names.index(slip.subject)].max() == used[duty, speed, names.index(slip.subject)]
