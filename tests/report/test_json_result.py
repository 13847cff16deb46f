"""The JSON result: its keys as the manual lists them, and its numbers against closed forms worked out here."""

import cmath
import json
import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from beltplan.report.words import json_lines, json_text, rounded_numbers
from tests.for_each import for_each
from tests.report.results import CLOSE, EXAMPLE, FIXED, LAYOUTS, SLIDE, json_from, read_back, result_from, route_from

NUMBER = (int, float)
TOP = {"title": str, "units": str, "belt": dict, "pulleys": list, "spans": list, "stock": list, "findings": list}
BELT: dict[str, Any] = {"profile": str, "ribs": int, "length_mm": NUMBER}
PULLEY: dict[str, Any] = {
    "name": str, "role": str, "belt_side": str, "x_mm": NUMBER, "y_mm": NUMBER, "wrap_deg": NUMBER, "ratio": NUMBER,
    "turns": str, "rpm": dict,
}  # fmt: skip
SPAN: dict[str, Any] = {"from": str, "to": str, "length_mm": NUMBER}
ADJUSTER: dict[str, Any] = {"name": str, "kind": str, "sprung": bool, "shortest_mm": NUMBER, "longest_mm": NUMBER}
STOCK: dict[str, Any] = {"designation": str, "length_mm": NUMBER, "judged": str}
FINDING: dict[str, Any] = {"check": str, "severity": str, "subject": str, "message": str, "advice": str, "source": str}
UNKNOWN = {"belt": ("designation", "needed_mm"), "stock": ("position",), "findings": ("value", "limit", "unit")}
"""Keys that must be there and may be null."""


def assert_shape(given: dict[str, Any], shape: dict[str, Any]) -> None:
    """Every key of the shape is there with a value of its kind."""
    for key, kind in shape.items():
        assert isinstance(given[key], kind), (key, given[key])


@pytest.fixture(params=[EXAMPLE, SLIDE, FIXED], ids=["arm", "slide", "none"])
def result(request: pytest.FixtureRequest, tmp_path: Path) -> dict[str, Any]:
    return result_from(request.param, tmp_path)


def test_every_key_of_the_manual_is_there(result: dict[str, Any]) -> None:
    assert_shape(result, TOP)
    assert_shape(result["belt"], BELT)
    assert result["units"] == "mm" and "adjuster" in result
    for rows, shape in (("pulleys", PULLEY), ("spans", SPAN), ("stock", STOCK), ("findings", FINDING)):
        for row in result[rows]:
            assert_shape(row, shape)
    for rows, keys in UNKNOWN.items():
        for row in [result[rows]] if isinstance(result[rows], dict) else result[rows]:
            assert set(keys) <= set(row)
    assert all(set(row["rpm"]) == {"idle", "cruise", "max"} for row in result["pulleys"])


def test_words_are_those_of_the_manual(result: dict[str, Any]) -> None:
    assert {row["severity"] for row in result["findings"]} <= {"problem", "caution", "note"}
    assert {row["judged"] for row in result["stock"]} <= {"good", "marginal"} and result["stock"]
    assert {row["turns"] for row in result["pulleys"]} <= {"clockwise", "counterclockwise"}
    assert {row["belt_side"] for row in result["pulleys"]} <= {"ribbed", "back"}


def numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from numbers(part)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield value


def test_every_number_is_finite(result: dict[str, Any]) -> None:
    every = list(numbers(result))
    assert len(every) > 15 and all(math.isfinite(number) for number in every)


def test_the_kinds_of_adjuster(tmp_path: Path) -> None:
    arm, slide, none = (result_from(text, tmp_path)["adjuster"] for text in (EXAMPLE, SLIDE, FIXED))
    for adjuster in (arm, slide):
        assert_shape(adjuster, ADJUSTER)
    assert (arm["name"], arm["kind"], arm["sprung"]) == ("tensioner", "arm", True)
    assert (slide["name"], slide["kind"], slide["sprung"]) == ("far", "slide", False)
    assert none is None


def test_what_is_unknown_is_null(tmp_path: Path) -> None:
    given = result_from(SLIDE.replace("stock: [6PK970, 6PK1030]", "stock: [6PK800]"), tmp_path)
    assert given["belt"]["designation"] is None and given["stock"] == []
    assert given["belt"]["length_mm"] == pytest.approx(660.0 + 100.0 * math.pi)  # middle of the travel
    assert all(row["rpm"] == {"idle": None, "cruise": None, "max": None} for row in given["pulleys"])
    notes = [row for row in given["findings"] if row["check"] == "misalignment"]
    assert [(row["value"], row["limit"], row["unit"]) for row in notes] == [(None, None, None)]
    assert result_from(FIXED, tmp_path)["stock"][0]["position"] is None


def test_no_path_at_the_design_setting_is_null(tmp_path: Path) -> None:
    text = SLIDE.replace("from: [300, 0], to: [360, 0]", "from: [20, 0], to: [360, 0], at: 0")
    assert result_from(text, tmp_path)["belt"]["needed_mm"] is None


def test_a_named_belt_outside_keeps_its_name_and_length(tmp_path: Path) -> None:
    given = result_from(SLIDE.replace("belt: 6PK", "belt: 6PK800"), tmp_path)
    assert (given["belt"]["designation"], given["belt"]["length_mm"]) == ("6PK800", 800.0)
    assert [span["length_mm"] for span in given["spans"]] == pytest.approx([300.0, 300.0])


def test_closed_forms_of_two_equal_pulleys(tmp_path: Path) -> None:
    # Path 2 x distance + pi d; wraps of half a turn; a belt of 970 mm puts the slide at (970 - 100 pi) / 2 mm.
    given = result_from(SLIDE, tmp_path)
    distance = (970.0 - 100.0 * math.pi) / 2.0
    assert given["adjuster"]["shortest_mm"] == pytest.approx(600.0 + 100.0 * math.pi, abs=CLOSE)
    assert given["adjuster"]["longest_mm"] == pytest.approx(720.0 + 100.0 * math.pi, abs=CLOSE)
    assert given["belt"]["needed_mm"] == pytest.approx(660.0 + 100.0 * math.pi, abs=CLOSE)
    assert [row["x_mm"] for row in given["pulleys"]] == pytest.approx([0.0, distance], abs=CLOSE)
    assert [row["length_mm"] for row in given["spans"]] == pytest.approx([distance] * 2, abs=CLOSE)
    assert [row["wrap_deg"] for row in given["pulleys"]] == pytest.approx([180.0] * 2, abs=CLOSE)
    assert given["stock"][0]["position"] == pytest.approx((distance - 300.0) / 60.0, abs=1e-9)


def test_results_are_mm_whatever_the_units_of_the_file(tmp_path: Path) -> None:
    """An inch is 25.4 mm exactly (ISO 31-1); the path of two equal circles is 2 D + pi d."""
    inches = FIXED.replace("300", "10").replace("100", "4") + "units: in\n"
    given = result_from(inches, tmp_path)
    assert given["units"] == "mm" and given["pulleys"][1]["x_mm"] == 254.0
    assert given["belt"]["needed_mm"] == pytest.approx(25.4 * (20.0 + math.pi * 4.0), abs=CLOSE)


# Beyond this line the manual's example is laid anew with complex numbers: signed radii R, span direction turned by
# asin((R_i - R_j) / D) from the line of centres, contact at c + i R u turned the other way. The back runs at outside
# radius + t, and t = 2.2 mm is how PK stands over its effective line.
RADII = {"crank": -95.0, "tensioner": 38.2, "pump": -65.0, "guide": 40.2, "generator": -30.0}
ORDER = list(RADII)
PITCH = {"crank": 97.0, "tensioner": 37.1, "pump": 67.0, "guide": 39.1, "generator": 32.0}
"""Pitch radii: d / 2 + 2 on the ribs (ISO 9981:2020, 5.4), outside radius + 1.1 on the back (common practice)."""


def laid(arm_deg: float) -> tuple[list[float], list[float]]:
    """Spans and wraps (rad) of the example with the arm at an angle, clockwise from the crankshaft."""
    tensioner = complex(-150, 215) + 85.0 * cmath.exp(1j * math.radians(arm_deg))
    centres = [0j, tensioner, complex(-190, 300), complex(0, 245), complex(235, 300)]
    radii = list(RADII.values())
    spans, ways = [], []
    for i in range(5):
        step, offset = centres[(i + 1) % 5] - centres[i], radii[i] - radii[(i + 1) % 5]
        spans.append(math.sqrt(abs(step) ** 2 - offset**2))
        ways.append(step / abs(step) * cmath.exp(1j * math.asin(offset / abs(step))))
    turned = [cmath.phase(ways[i] / ways[i - 1]) % math.tau for i in range(5)]
    return spans, [angle if radius > 0 else math.tau - angle for angle, radius in zip(turned, radii, strict=True)]


def length(arm_deg: float) -> float:
    spans, wraps = laid(arm_deg)
    return sum(spans) + sum(wrap * abs(r) for wrap, r in zip(wraps, RADII.values(), strict=True))


def test_example_path_over_the_travel(tmp_path: Path) -> None:
    given = result_from(EXAMPLE, tmp_path)
    # The manual's own numbers, recomputed independently of this project: 1672 to 1718 mm.
    assert (round(length(300.0)), round(length(265.0))) in {(1672, 1718), (1718, 1672)}
    ends = sorted((length(265.0), length(300.0)))
    assert given["adjuster"]["shortest_mm"] == pytest.approx(ends[0], abs=CLOSE)
    assert given["adjuster"]["longest_mm"] == pytest.approx(ends[1], abs=CLOSE)
    assert given["belt"]["needed_mm"] == pytest.approx(length(285.0), abs=CLOSE)


def test_example_geometry_where_the_belt_puts_the_arm(tmp_path: Path) -> None:
    given = result_from(EXAMPLE, tmp_path)
    assert given["belt"]["designation"] == "6PK1685"
    arm = brentq(lambda angle: length(angle) - 1685.0, 265.0, 300.0, xtol=1e-13)
    spans, wraps = laid(arm)
    assert [row["name"] for row in given["pulleys"]] == ORDER
    assert [row["length_mm"] for row in given["spans"]] == pytest.approx(spans, abs=CLOSE)
    assert [row["wrap_deg"] for row in given["pulleys"]] == pytest.approx([math.degrees(w) for w in wraps], abs=CLOSE)
    ratios = {row["name"]: row["ratio"] for row in given["pulleys"]}
    assert ratios == pytest.approx({name: 97.0 / radius for name, radius in PITCH.items()}, rel=1e-8)
    assert given["pulleys"][4]["rpm"] == pytest.approx(
        {"idle": 750 * 97 / 32, "cruise": 1600 * 97 / 32, "max": 7881.25}
    )


def test_example_order_and_senses(tmp_path: Path) -> None:
    given = result_from(EXAMPLE, tmp_path)
    assert [(row["from"], row["to"]) for row in given["spans"]] == list(zip(ORDER, ORDER[1:] + ORDER[:1], strict=True))
    senses = {row["name"]: row["turns"] for row in given["pulleys"]}
    assert senses == {n: "clockwise" if r < 0 else "counterclockwise" for n, r in RADII.items()}


def test_example_stock_positions_and_order(tmp_path: Path) -> None:
    given = result_from(EXAMPLE, tmp_path)
    assert [row["designation"] for row in given["stock"]] == ["6PK1685", "6PK1700"]
    short = 300.0 if length(300.0) < length(265.0) else 265.0
    for row in given["stock"]:
        at = brentq(lambda angle, wanted=row["length_mm"]: length(angle) - wanted, 265.0, 300.0, xtol=1e-13)
        assert row["position"] == pytest.approx(abs(at - short) / 35.0, abs=1e-9)


def test_a_variant_is_named(tmp_path: Path) -> None:
    given = result_from(EXAMPLE, tmp_path, "high mount")
    assert given["variant"] == "high mount"
    assert (given["pulleys"][4]["x_mm"], given["pulleys"][4]["y_mm"]) == (210.0, 335.0)


def test_plain_ascii_so_that_any_pipe_carries_it(tmp_path: Path) -> None:
    route = route_from(SLIDE.replace("far", "entfernt über"), tmp_path)
    text = json_from(route)
    assert text.isascii() and json.loads(text)["pulleys"][1]["name"] == "entfernt über"


# Numbers of JSON results are rounded once, by their unit; drawings keep all their digits.


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
