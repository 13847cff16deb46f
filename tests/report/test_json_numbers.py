"""Numbers of JSON results are rounded once, by their unit; drawings keep all their digits."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from beltplan.report.words import json_lines, json_text, rounded_numbers
from tests.for_each import for_each
from tests.report.results import LAYOUTS, json_from, read_back, route_from


@for_each(
    ("length_mm", 1685.12345678, 1685.123457),
    ("wrap_deg", 0.00000049, 0.0),
    ("covariance_mm2", 6.3000000004e-8, 6.3e-8),
    ("ratio", 2.0 / 3.0, 0.666666667),
    ("load_N", 12345.6789012, 12345.6789),
    ("use", 1.2345e-10, 0.0),
    ("rate", 1e300 / 3.0, 3.33333333e299),
    ("length_mm", 1e300 / 3.0, 1e300 / 3.0),
)  # fmt: skip
def test_decimals_follow_the_unit(key: str, value: float, wanted: float) -> None:
    assert rounded_numbers({key: value}) == {key: wanted}


def test_the_unit_of_a_key_holds_for_all_within() -> None:
    within = {"bounds_mm": {"x": [1.23456789, 2], "y": None}, "at": [1.23456789]}
    assert rounded_numbers(within) == {"bounds_mm": {"x": [1.234568, 2], "y": None}, "at": [1.23456789]}


def test_the_unit_of_an_object_holds_for_its_values() -> None:
    findings = [{"value": 3.00000000004, "unit": "mm"}, {"value": 3.00000004, "unit": "N"}, {"value": 3.00000004}]
    assert [each["value"] for each in rounded_numbers(findings)] == [3.0, 3.00000004, 3.00000004]


@pytest.mark.parametrize("key", ["x_mm", "ratio"])
def test_no_minus_before_nothing(key: str) -> None:
    assert math.copysign(1.0, rounded_numbers({key: -1e-15})[key]) == 1.0


def test_whole_numbers_words_and_unknowns_stay() -> None:
    value = {"line": 7, "mm": True, "name": "1.23456789012", "unit": None, "x_mm": None}
    assert rounded_numbers(value) == value
    assert json_text({"line": 7, "ratio": np.float64(0.1) + np.float64(0.2)}) == '{\n  "line": 7,\n  "ratio": 0.3\n}'


@for_each("x_mm", "ratio")
@for_each(math.nan, math.inf, -math.inf)
def test_a_number_that_is_not_finite_is_still_refused(key: str, value: float) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        json_text({key: value})


def test_lines_alone_keep_every_digit() -> None:
    assert json.loads(json_lines({"x_mm": math.pi}))["x_mm"] == math.pi


def _numbers(value: Any, key: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(value, dict):
        for name, each in value.items():
            yield from _numbers(each, name)
    elif isinstance(value, list):
        for each in value:
            yield from _numbers(each, key)
    elif isinstance(value, float):
        yield key, value


def test_a_whole_result_has_no_digit_too_many() -> None:
    numbers = list(_numbers(read_back(json_from(route_from(LAYOUTS / "railcar.yaml", LAYOUTS)))))
    assert len(numbers) > 200
    for key, value in numbers:
        digits = Decimal(repr(value)).normalize()
        if key.endswith(("_mm", "_deg")):
            assert -int(digits.as_tuple().exponent) <= 6, key
        else:
            assert len(digits.as_tuple().digits) <= 9, key
