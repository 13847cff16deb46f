"""The table of limits and the overrides of a layout."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from beltplan.checks.limits import LIMIT_KEYS, LIMITS, PROFILE_LIMITS, Bound, bound_for, demanded
from beltplan.drive.pulleys import Role
from tests.checks.drives import two
from tests.for_each import for_each


def test_every_row_has_a_source_a_unit_and_a_finite_limit() -> None:
    for (_, who), bound in LIMITS.items():
        assert bound.source and bound.unit and 0.0 < bound.limit < 1e6
        assert who == "" or who in get_args(Role)


NUMBERS = {
    "min_wrap_deg": "crankshaft 120 150, alternator 120, air_conditioning 110, air_compressor 120, supercharger 150, "
    "steering_pump 100, hydraulic_pump 100, vacuum_pump 90, water_pump 90, fan 90, other 90, idler 20, tensioner 45 60",
    "min_wrap_on_back_deg": "water_pump 120, fan 120",
    "min_wrap_big_alternator_deg": "alternator 150",
    "big_alternator_A": "alternator 160",
    "max_misalignment_deg": "0.5 0.33",
    "max_misalignment_smooth_deg": "1 0.66",
    "min_clearance_mm": "10",
    "min_strand_gap_mm": "15",
    "min_rim_gap_mm": "5",
    "max_free_strand_mm": "400",
    "min_take_up_percent": "20 40",
    "max_slip_use": "1 0.8",
    "max_slip_use_design": "1",
    "min_likely_diameter_mm": "10",
    "max_likely_diameter_mm": "600",
    "min_likely_arm_mm": "15",
    "max_likely_arm_mm": "600",
    "max_likely_hole_mm": "60",
    "max_likely_plane_mm": "300",
    "max_likely_apart_mm": "3000",
    "min_likely_length_mm": "200",
    "min_likely_overhang_mm": "8",
    "min_likely_movable_mm": "2",
    "max_likely_current_A": "500",
    "max_likely_voltage_V": "100",
    "min_likely_idle_rpm": "150",
    "max_likely_pressure_bar": "450",
    "max_likely_ratio": "alternator 4, air_conditioning 2, air_compressor 2, steering_pump 2, hydraulic_pump 2, "
    "vacuum_pump 2, water_pump 2, fan 2",
    "min_likely_displacement_cm3": "1",
    "max_likely_power_kW": "200",
    "max_spring_outside_deg": "30",
    "max_spring_outside_mm": "30",
    "max_spring_off_line_percent": "5",
    "idle_band_percent": "10",
    "drive_resonance_percent": "10",
    "min_swung_tension": "0.05 0.15",
}
"""Limit, and where the caution begins if that is no tenth short of it, by role."""


def test_numbers_of_the_table() -> None:
    """Frozen: common practice, no source, but that a use of 1 is slip (Euler). Whoever moves one moves a verdict."""
    found: dict[str, list[str]] = {}
    for (key, who), bound in LIMITS.items():
        numbers = [f"{each:g}" for each in (bound.limit, bound.caution) if each is not None]
        found.setdefault(key, []).append(" ".join([who] * bool(who) + numbers))
    assert {key: ", ".join(rows) for key, rows in found.items()} == NUMBERS


def test_every_role_has_a_least_wrap() -> None:
    assert {who for key, who in LIMITS if key == "min_wrap_deg"} == set(get_args(Role))


def test_names_of_limits_say_which_way_they_limit() -> None:
    for key, kind in LIMIT_KEYS.items():
        if key.startswith(("min_", "max_")):
            assert kind == {"min_": "lower", "max_": "upper"}[key[:4]]


def test_cautions_lie_on_the_good_side() -> None:
    for bound in LIMITS.values():
        if bound.caution is not None:
            assert (bound.caution > bound.limit) is (bound.kind == "lower")


@for_each(*LIMIT_KEYS)
def test_every_limit_can_be_overridden_and_keeps_its_unit(key: str) -> None:
    own = bound_for(two(limits={key: {"": 12.5}}), key, ("far",), "alternator")
    default = bound_for(two(), key, ("far",), "alternator")
    assert own is not None and own.limit == 12.5 and own.kind == LIMIT_KEYS[key]
    if default is not None:
        assert (own.unit, own.only_caution) == (default.unit, default.only_caution)
    elif key not in PROFILE_LIMITS:
        assert own.unit


def test_name_then_role_then_all_then_table() -> None:
    own = {"far": 1.0, "alternator": 2.0, "": 3.0}
    limits = [
        demanded(two(limits={"min_rim_gap_mm": given}), "min_rim_gap_mm", ("crank", "far")).limit
        for given in (own, {k: v for k, v in own.items() if k != "far"}, {"": 3.0}, {})
    ]
    assert limits == [1.0, 2.0, 3.0, 5.0]


def test_a_key_that_is_no_limit_is_a_mistake_of_ours() -> None:
    with pytest.raises(KeyError):
        demanded(two(), "min_nonsense")


def test_shortfall_counts_from_the_limit_or_from_where_the_caution_begins() -> None:
    """By hand: 11 is over 10, and a twelfth under 12."""
    bound, values = Bound("lower", 10.0, "mm", "a standard", caution=12.0), np.array([9.0, 11.0, 13.0])
    assert bound.shortfall(values).tolist() == pytest.approx([0.1, 0.0, 0.0])
    assert bound.shortfall(values, ample=True).tolist() == pytest.approx([0.25, 1.0 / 12.0, 0.0])


def test_only_caution_never_becomes_a_problem() -> None:
    assert Bound("upper", 10.0, "mm", "", only_caution=True).verdict(1e9) == ("caution", 10.0, "")


def test_what_is_hardly_likely_is_asked_after_and_never_a_problem() -> None:
    likely = {who: bound for who, bound in LIMITS.items() if "_likely_" in who[0]}
    assert len(likely) > 10 and all(bound.only_caution for bound in likely.values())


def test_a_caution_names_its_own_source_else_that_of_the_limit() -> None:
    bound = Bound("lower", 10.0, "mm", "a standard", caution=12.0)
    assert bound.verdict(11.0) == ("caution", 12.0, "a standard")
    assert replace(bound, caution_source="a handbook").verdict(11.0) == ("caution", 12.0, "a handbook")
