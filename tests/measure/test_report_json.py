"""The JSON of a measured drive: every key in every state, and numbers that a general solver finds as well."""

import json
import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares

from beltplan.measure.report import measure_json
from beltplan.measure.study import Measuring
from tests.for_each import for_each
from tests.measure.measurings import STATES, made
from tests.report.results import CLOSE

KEYS = {
    "title", "units", "origin", "sound", "settled", "enough", "fits", "degrees_of_freedom", "sum_of_squares", "factor",
    "shape_deviation_mm", "level", "level_is_taken", "level_is_open", "as_seen", "clashes", "not_on_route", "points",
    "covariance_mm2", "readings", "cause", "misread", "suspects", "mirrors", "settles_mirrors", "loose", "further",
    "pictures", "sizes", "written", "caution", "mending", "unchecked_arms", "loops_show_mm", "springs", "arms_stand",
}  # fmt: skip
OF = {
    "points": {"name", "mark", "x_mm", "y_mm", "deviation_x_mm", "deviation_y_mm", "correlation", "loose"},
    "readings": {"words", "kind", "written", "line", "value", "unit", "deviation", "residual", "share", "redundancy",
                 "shows", "left_out"},
    "misread": {"words", "kind", "written", "line", "value", "unit", "error", "deviation", "step", "steps",
                "would_fit", "slip", "other_end"},
    "suspects": {"words", "kind", "written", "line", "value", "unit", "error", "deviation", "step", "steps",
                 "would_fit", "slip", "other_end"},
    "mirrors": {"points", "sides", "distance", "picture"},
    "loose": {"name", "readings_needed", "from"},
    "further": {"first", "second", "about_mm", "before_mm", "after_mm", "checks", "hanging"},
    "pictures": {"name", "mm_per_px", "stated_px", "rms_px", "rms_mm", "factor", "trusted"},
    "sizes": {"name", "rim_diameter_mm", "deviation_mm"},
}  # fmt: skip


def loaded(name: str) -> dict[str, Any]:
    def refuse(word: str) -> float:
        raise ValueError(word)

    result: dict[str, Any] = json.loads(measure_json(made(name)), parse_constant=refuse)
    return result


@for_each(*STATES)
def test_every_key_is_always_there(name: str) -> None:
    result = loaded(name)
    assert set(result) == KEYS and result["units"] == "mm"
    for key, inner in OF.items():
        assert [set(entry) for entry in result[key]] == [inner] * len(result[key]), key
    assert measure_json(made(name)).isascii()


def test_every_list_is_filled_in_some_state() -> None:
    assert [key for key in OF if not any(loaded(name)[key] for name in STATES)] == []


@for_each(*STATES)
def test_covariances_agree_with_the_points(name: str) -> None:
    result = loaded(name)
    for i, point in enumerate(result["points"]):
        x, y = (result["covariance_mm2"][k][k] for k in (2 * i, 2 * i + 1))
        if point["loose"]:
            assert x is y is None and point["x_mm"] is None and point["deviation_x_mm"] is None
            continue
        assert (point["deviation_x_mm"], point["deviation_y_mm"]) == pytest.approx(
            (math.sqrt(x), math.sqrt(y)), abs=CLOSE
        )
        if point["correlation"] is not None:
            shared = result["covariance_mm2"][2 * i][2 * i + 1]
            assert shared == pytest.approx(point["correlation"] * math.sqrt(x * y), rel=1e-6, abs=1e-9)


def solved(found: Measuring) -> tuple[Any, Any]:
    """Distances and angles over their deviations, by scipy.optimize.least_squares with numeric slopes."""
    names = [centre.name for centre in found.centres if centre.name != found.measured.origin]
    start = [x + off for name in names for x, off in zip(found.centre(name).at_mm, (3.0, -4.0), strict=True)]
    out = {each.reading for each in found.checked if each.left_out}

    def misfits(unknowns: Any) -> Any:
        at = dict(zip(names, unknowns.reshape(-1, 2), strict=True)) | {found.measured.origin: np.zeros(2)}
        rows = []
        for each in found.measured.distances:
            if each not in out:
                apart = at[each.second] - at[each.first]
                rows.append((math.hypot(*apart) - each.value_mm) / each.sd_mm)
        for line in found.measured.directions:
            along = at[line.second] - at[line.first]
            rows.append((math.atan2(along[1], along[0]) - line.value_rad) / line.sd_rad)
        return np.array(rows)

    return least_squares(misfits, start, jac="3-point", xtol=1e-14, ftol=1e-14, gtol=1e-14), names


@for_each("sound", "inches", "misread in", "misread mm", "twelve")
def test_places_deviations_and_misfits_are_those_of_a_general_solver(name: str) -> None:
    """Outside check: scipy.optimize.least_squares; covariance (J'J)^-1, redundancy 1 - diag(J (J'J)^-1 J')."""
    found, result = made(name), loaded(name)
    fit, names = solved(found)
    points = {point["name"]: point for point in result["points"]}
    at = [value for each in names for value in (points[each]["x_mm"], points[each]["y_mm"])]
    assert at == pytest.approx(fit.x.tolist(), abs=1e-4)
    covariance = np.linalg.inv(fit.jac.T @ fit.jac)
    both = [value for each in names for value in (points[each]["deviation_x_mm"], points[each]["deviation_y_mm"])]
    assert both == pytest.approx(np.sqrt(np.diagonal(covariance)).tolist(), rel=1e-4)
    assert result["sum_of_squares"] == pytest.approx(2.0 * fit.cost, abs=1e-6)
    assert result["degrees_of_freedom"] == len(fit.fun) - len(fit.x)
    kept = [row for row in result["readings"] if not row["left_out"]]
    assert [-row["residual"] / row["deviation"] for row in kept] == pytest.approx(fit.fun.tolist(), abs=1e-4)
    left = 1.0 - np.sum((fit.jac @ covariance) * fit.jac, axis=1)
    assert [row["redundancy"] for row in kept] == pytest.approx(left.tolist(), abs=1e-5)
    shares = [row["share"] for row in kept if row["share"] is not None]
    again = [abs(misfit) / math.sqrt(part) for misfit, part in zip(fit.fun, left, strict=True) if part > 0.02]
    assert shares == pytest.approx(again, abs=1e-3)


def test_what_was_misread_is_told_with_what_would_fit() -> None:
    (row,) = loaded("misread in")["misread"]
    assert (row["words"], row["written"], row["steps"], row["step"]) == (
        "alternator - steering_pump",
        "20 3/4",
        1,
        25.4,
    )
    assert row["would_fit"] == pytest.approx(19.75 * 25.4)
    assert [each["words"] for each in loaded("misread in")["readings"] if each["left_out"]] == [row["words"]]


def test_what_is_unknown_is_null() -> None:
    assert loaded("photo alone")["pictures"][0]["trusted"] is None
    assert loaded("sound")["settles_mirrors"] is None and loaded("sound")["written"] is None
    assert loaded("sound")["level"] is None and loaded("open frame")["level"] == ["crank", "water_pump"]
    assert loaded("open frame")["level_is_taken"] and not loaded("level given")["level_is_taken"]
    picks = [row for row in loaded("photo")["readings"] if row["kind"] == "pick"]
    assert picks and all(row["written"] is None and row["value"] is None for row in picks)
    assert json.loads(measure_json(made("sound"), "a.yaml"))["written"] == "a.yaml"
