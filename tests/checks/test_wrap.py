"""Wrap against what the role asks. Wraps are the outer angles of a triangle of equal pulleys, plane geometry.

The limits are common practice, no source: a first screen; what is tested is that each holds where it says.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from beltplan.drive.layout import Layout
from tests.checks.drives import found, pulley, sagging, severity, triangle, two
from tests.for_each import for_each

LEAST = {
    "alternator": 120.0, "air_conditioning": 110.0, "air_compressor": 120.0, "supercharger": 150.0,
    "steering_pump": 100.0, "hydraulic_pump": 100.0, "vacuum_pump": 90.0, "water_pump": 90.0, "fan": 90.0,
    "other": 90.0, "idler": 20.0,
}  # fmt: skip


def apex(wrap_deg: float, role: str, limits: dict[str, dict[str, float]] | None = None, **more: Any) -> Layout:
    """A triangle with that wrap on the pulley `it`."""
    return triangle(wrap_deg, pulley("it", role, 0, 0, **more), limits=limits or {})


@for_each(*LEAST.items())
@for_each((0.99, "problem"), (1.01, "caution"), (1.09, "caution"), (1.11, None))
def test_ribbed_wrap_at_the_limit_of_every_role(role: str, least: float, share: float, expected: str | None) -> None:
    assert severity(apex(least * share, role), "wrap", "it") == expected


@for_each(
    ("crankshaft", 118.8, "problem"), ("crankshaft", 121.2, "caution"), ("crankshaft", 148.5, "caution"),
    ("crankshaft", 151.5, None), ("tensioner", 44.55, "problem"), ("tensioner", 45.45, "caution"),
    ("tensioner", 59.4, "caution"), ("tensioner", 60.6, None),
)  # fmt: skip
def test_roles_with_a_caution_of_their_own(role: str, wrap: float, expected: str | None) -> None:
    assert severity(apex(wrap, role), "wrap", "it") == expected


@for_each("water_pump", "fan")
@for_each((118.8, "problem"), (121.2, "caution"), (133.2, None))
def test_water_pump_and_fan_on_the_back_need_more(role: str, wrap: float, expected: str | None) -> None:
    # Back wrap is twice the angle at which the spans leave the level, see `sagging`.
    layout = sagging(wrap, pulley("it", role, 0, 0, turns="either"))
    assert severity(layout, "wrap", "it") == expected
    assert all("deg of wrap on the belt's back, " in each.message for each in found(layout, "wrap", "it"))


def test_other_roles_on_the_back_keep_their_own_limit() -> None:
    assert severity(sagging(95.0, pulley("it", "steering_pump", 0, 0)), "wrap", "it") == "problem"
    assert severity(sagging(115.0, pulley("it", "steering_pump", 0, 0)), "wrap", "it") is None


@for_each((160.0, 148.5, None), (161.0, 148.5, "problem"), (161.0, 151.5, "caution"), (161.0, 166.0, None))
def test_an_alternator_above_160_A_needs_150_deg(amps: float, wrap: float, expected: str | None) -> None:
    assert severity(apex(wrap, "alternator", rated_A=amps), "wrap", "it") == expected


def test_rating_counts_for_alternators_only() -> None:
    assert severity(apex(125.0, "water_pump", rated_A=500.0), "wrap", "it") is None


def test_name_beats_role_beats_all() -> None:
    wide: dict[str, float] = {"": 170.0}
    by_role = {**wide, "alternator": 100.0}
    by_name = {**by_role, "it": 140.0}
    values = [
        [f.limit for f in found(apex(130.0, "alternator", {"min_wrap_deg": own}), "wrap", "it")]
        for own in (wide, by_role, by_name)
    ]
    assert values == [[170.0], [], [140.0]]


@for_each("it", "alternator", "")
def test_an_override_beats_the_rule_for_big_alternators(who: str) -> None:
    limits = {"min_wrap_deg": {who: 100.0}}
    assert severity(apex(115.0, "alternator", limits, rated_A=200.0), "wrap", "it") is None


def test_an_override_beats_the_rule_for_pumps_on_the_back() -> None:
    layout = sagging(100.0, pulley("it", "water_pump", 0, 0), limits={"min_wrap_deg": {"water_pump": 80.0}})
    assert severity(layout, "wrap", "it") is None
    (finding,) = found(replace(layout, limits={"min_wrap_deg": {"water_pump": 110.0}}), "wrap", "it")
    assert "100.0 deg of wrap, 10.0 short" in finding.message, "its role's own number is for either side"


def test_the_rating_and_its_wrap_can_be_overridden() -> None:
    higher = apex(125.0, "alternator", {"big_alternator_A": {"": 250.0}}, rated_A=200.0)
    assert severity(higher, "wrap", "it") == "caution"
    lower = apex(135.0, "alternator", {"min_wrap_big_alternator_deg": {"alternator": 120.0}}, rated_A=200.0)
    assert severity(lower, "wrap", "it") is None


def test_value_limit_and_source_are_told() -> None:
    # Small pulley of two: pi - 2 asin((R - r) / D); 300 mm apart, 390 and 60 mm in diameter.
    wrap = 180.0 - 2.0 * math.degrees(math.asin(165.0 / 300.0))
    (finding,) = found(two(300.0, 390.0, 60.0), "wrap", "far")
    assert finding.value == pytest.approx(wrap, abs=1e-9)
    assert (finding.severity, finding.limit, finding.unit) == ("problem", 120.0, "deg")
    assert finding.margin == pytest.approx(wrap / 120.0 - 1.0)
    assert "no source" in finding.source


@for_each(
    ("alternator", 100.0, "100.0 deg of wrap, 20.0 short of its minimum of 120: more wrap: "),
    ("alternator", 125.0, "125.0 deg of wrap, 5.0 over its minimum of 120 (recommended 132): more would be safer: "),
    ("alternator", 131.96, "131.96 deg of wrap, 11.96 over its minimum of 120 (recommended 132): more would be"),
    ("crankshaft", 121.2, "121.2 deg of wrap, 28.8 short of the recommended 150 (minimum 120): more would be safer: "),
)
def test_it_is_told_how_much_is_wanting(role: str, wrap: float, told: str) -> None:
    (finding,) = found(apex(wrap, role), "wrap", "it")
    assert finding.message.startswith(told)


def test_an_overridden_limit_names_the_file_as_its_source() -> None:
    (finding,) = found(apex(90.0, "alternator", {"min_wrap_deg": {"it": 95.0}}), "wrap", "it")
    assert finding.source == "the layout file"
