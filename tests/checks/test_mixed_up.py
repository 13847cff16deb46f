"""Loads under another pulley than they belong to, and radii typed for diameters: asked first, and of no sound layout.

The bounds of likely ratios are common practice, no source; no layout that is shipped or checked elsewhere reaches them.
"""

from __future__ import annotations

from dataclasses import replace

from beltplan.checks.doubts import DOUBT
from beltplan.checks.limits import Finding
from beltplan.checks.plan import plan_of
from beltplan.drive.layout import Layout
from beltplan.layoutfile.layout_file import read_layout
from tests.for_each import for_each

SHIPPED = ("railcar", "workboat", "camper", "orchard_sprayer", "too_tight")
RIG = "tests/checks/exchanged.yaml"


def _first(layout: Layout) -> list[Finding]:
    return [each for each in plan_of(layout).findings if each.check == DOUBT.name and each.asks_first]


@for_each(*SHIPPED)
def test_a_sound_layout_is_not_asked(name: str) -> None:
    assert _first(read_layout(f"layouts/{name}.yaml").layout) == []


HALVED = [
    *((RIG, name) for name in ("crank", "hyd_pump", "vac_pump", "water_pump", "alternator", "compressor")),
    *(("layouts/railcar.yaml", name) for name in ("crank", "compressor", "crane_pump", "water_pump", "alternator")),
    *(("layouts/workboat.yaml", name) for name in ("crank", "water_pump", "steering_pump", "alternator")),
    *(("layouts/camper.yaml", name) for name in ("crank", "air_conditioning", "engine_alternator", "water_pump")),
]


@for_each(*HALVED)
def test_a_radius_typed_for_a_diameter_is_asked_after_with_the_diameter(path: str, name: str) -> None:
    right = read_layout(path).layout
    pulley = right.pulleys[name]
    (asked,) = _first(right.with_pulley(replace(pulley, diameter_mm=pulley.diameter_mm / 2.0)))
    key = "rim_diameter" if pulley.reading == "rim" else "diameter"
    meant = pulley.diameter_mm / (25.4 if right.units == "in" else 1.0)
    assert (asked.subject, asked.severity) == (name, "caution")
    assert "its radius? Then write" in asked.advice and f"`{key}: {meant:.6g}`" in asked.advice


def test_the_order_of_the_route_may_begin_anywhere() -> None:
    right = read_layout(RIG).layout
    turned = replace(right, route=(*right.route[2:], *right.route[:2]))
    assert _first(turned) == [] and turned.route[0] != "crank"


def test_an_own_limit_answers_the_question_of_the_radius() -> None:
    right = read_layout(RIG).layout
    small = right.with_pulley(replace(right.pulleys["compressor"], diameter_mm=2.75 * 25.4))
    assert _first(small) and _first(replace(small, limits={"max_likely_ratio": {"compressor": 3.0}})) == []


def test_two_loads_mixed_up_are_told_with_where_they_may_belong() -> None:
    right = read_layout(RIG).layout
    pump, alternator = right.pulleys["hyd_pump"], right.pulleys["alternator"]
    mixed = right.with_pulley(replace(pump, load=alternator.load)).with_pulley(replace(alternator, load=None))
    (asked,) = _first(mixed)
    assert asked.message == ("`current_A` of 55, but its role is hydraulic_pump: does that belong under `alternator`?")
    both = right.with_pulley(replace(pump, load=alternator.load)).with_pulley(replace(alternator, load=pump.load))
    found = {each.subject: each.message for each in _first(both)}
    assert found["hyd_pump"].endswith("its role is hydraulic_pump: does that belong under `alternator`?")
    assert found["alternator"].startswith("`pressure_bar` of 68.95, but its role is alternator")
