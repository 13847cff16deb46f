"""The tolerance study as JSON: fixed keys, finite numbers, null for what is unknown."""

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Uncertainty
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.tolerance.report import tolerance_json
from beltplan.tolerance.study import Tolerance, tolerance_of
from tests.drive.drives import railcar
from tests.for_each import for_each
from tests.tolerance.drives import DRIVES, NO_ERRORS, shipped, two_fixed

KEYS = {
    "title", "variant", "units", "draws", "seed", "buy", "nearest", "chosen", "length_line", "ask_for_mm",
    "measure_again", "to_place", "uncertainty", "needed", "window", "no_path", "length_turns_back", "travel_cut_short",
    "belts", "wraps", "gaps", "measurements", "new_findings", "caution",
}  # fmt: skip
LAYOUTS: dict[str, Callable[[], Layout]] = {
    **DRIVES,
    "too tight": lambda: shipped("too_tight"),
    "fixed": lambda: two_fixed(300.0, "6PK"),
    "exact": lambda: replace(railcar(), uncertainty=NO_ERRORS),
    "wild": lambda: replace(railcar(), uncertainty=Uncertainty(100.0, 50.0, 45.0)),
}


@for_each(*LAYOUTS)
def test_keys_are_fixed_and_every_number_is_finite(name: str) -> None:
    text = tolerance_json(tolerance_of(route_of(LAYOUTS[name]()), 300))
    assert text.isascii()
    found = json.loads(text, parse_constant=pytest.fail)
    assert set(found) == KEYS
    assert set(found["needed"]) == {
        "as_given_mm", "first_order_deviation_mm", "drawn_mean_mm", "drawn_deviation_mm", "drawn_95_percent_mm"
    }  # fmt: skip


def told(study: Tolerance) -> Any:
    return json.loads(tolerance_json(study))


def test_values_are_those_of_the_study() -> None:
    study = tolerance_of(route_of(railcar()), 300, 11)
    found = told(study)
    assert study.best is not None
    assert (found["draws"], found["seed"], found["buy"]) == (300, 11, study.best.designation)
    assert found["measure_again"] == study.contributions[0].measurement.words
    assert sum(row["share_of_variance"] for row in found["measurements"]) == pytest.approx(1.0, abs=1e-5)
    assert len(found["measurements"]) == len(study.contributions)
    assert [row["chance_goes_on"] for row in found["belts"]] == pytest.approx([belt.inside for belt in study.belts])
    assert found["uncertainty"]["meaning"] == "one standard deviation"
    assert found["uncertainty"]["position_mm"] == 1.0


def test_unknown_is_null() -> None:
    fixed = told(tolerance_of(route_of(LAYOUTS["fixed"]()), 300))
    assert fixed["window"] is None and all(row["chance_with_reserves"] is None for row in fixed["belts"])
    exact = told(tolerance_of(route_of(LAYOUTS["exact"]()), 300))
    assert exact["measure_again"] is None
    assert all(row["share_of_variance"] is None for row in exact["measurements"])
    assert told(tolerance_of(route_of(LAYOUTS["too tight"]()), 300))["buy"] is None


def test_what_to_ask_for_is_there_with_its_line() -> None:
    """Two circles of R and r, D apart: path 2 sqrt(D^2 - (R - r)^2) + pi (R + r) + 2 (R - r) asin((R - r) / D), plane
    geometry. It is slipped over the one that stays, whose wrap is pi + 2 asin; 0.5 % of tolerance and 0.7 % of wear.
    """
    route = route_of(read_layout("tests/cases/pm_stock.yaml", None).layout)
    found = told(tolerance_of(route, 300))
    turn = np.arcsin(25.0 / (apart := np.array([640.0, 760.0])))
    short, long = 2.0 * np.sqrt(apart**2 - 25.0**2) + np.pi * 225.0 + 50.0 * turn
    slipped_on = short + (np.pi + 2.0 * turn[0]) * route.layout.belt.profile.climb_mm
    assert (
        found["ask_for_mm"] == pytest.approx([slipped_on / 0.995, long / 1.012]) and found["length_line"] == "effective"
    )
    assert (found["buy"], found["nearest"]) == (None, None)
