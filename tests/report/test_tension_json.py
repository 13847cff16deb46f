"""The tension part of the JSON result."""

import json
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from beltplan.checks.plan import plan_of, plan_on
from beltplan.drive.mechanics import CONDITIONS, grip_utilisation
from beltplan.drive.operation import Operation, operation_of
from beltplan.drive.route import route_of
from beltplan.layoutfile.layout_file import read_layout
from beltplan.report.check_json import result_of, result_text
from tests.cure.drives import layout_of

CAMPER = str(Path(__file__).parents[2] / "layouts" / "camper.yaml")


def _operation() -> Operation:
    operation = operation_of(route_of(read_layout(CAMPER).layout))
    assert operation is not None
    return operation


@pytest.fixture(scope="module")
def result() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(result_text(plan_on(_operation().route)))
    return loaded


def test_every_speed_duty_and_condition_is_there(result: dict[str, Any]) -> None:
    engine = _operation().route.layout.engine
    there = {(point["rpm"], point["duty"], point["condition"]) for point in result["operating"]}
    wanted = {
        (rpm, duty, condition)
        for rpm in (engine.idle_rpm, engine.cruise_rpm, engine.max_rpm)
        for duty in _operation().duties
        for condition in CONDITIONS
    }
    assert wanted <= there
    assert {(row["rpm"], row["duty"], row["condition"]) for row in result["slip"]} <= there


def test_every_point_obeys_the_formulas(result: dict[str, Any]) -> None:
    """P_leaving = P_entering + M / r; hub load P_i u_i - P_(i-1) u_(i-1): recomputed from what is printed."""
    operation = _operation()
    belt = operation.route.layout.belt
    radius_mm = np.array([pulley.pitch_radius_mm(belt) for pulley in operation.route.pulleys])
    for point in result["operating"]:
        tractive = np.array([span["tractive_N"] for span in point["spans"]])
        torque = np.array([pulley["torque_Nm"] for pulley in point["pulleys"]])
        np.testing.assert_allclose(tractive - np.roll(tractive, 1), 1000.0 * torque / radius_mm, atol=1e-4)
        hubs = np.array([pulley["hub_load_N"] for pulley in point["pulleys"]])
        np.testing.assert_allclose(hubs.sum(axis=0), 0.0, atol=1e-4)
        lift = {span["tension_N"] - span["tractive_N"] for span in point["spans"]}
        assert max(lift) == pytest.approx(min(lift), abs=1e-5)  # N, of thousands: nine digits


def test_the_worst_use_is_the_one_of_its_point(result: dict[str, Any]) -> None:
    for row in result["slip"]:
        (at,) = [
            point
            for point in result["operating"]
            if [point[key] for key in ("rpm", "duty", "condition", "at")]
            == [*(row[key] for key in ("rpm", "duty", "condition")), "nominal"]
        ]
        (own,) = [pulley for pulley in at["pulleys"] if pulley["name"] == row["name"]]
        assert own["slip_use"] == row["slip_use"]


def test_the_friction_told_is_the_one_that_slip_is_reckoned_with(result: dict[str, Any]) -> None:
    """Euler, ln(P_high / P_low) = use x friction x wrap: of ribs and of the back, from the spans beside each pulley."""
    wraps = {pulley["name"]: np.radians(pulley["wrap_deg"]) for pulley in result["pulleys"]}
    order = list(wraps)
    for row in result["slip"]:
        keys = ("rpm", "duty", "condition")
        wanted = [*(row[key] for key in keys), "nominal"]
        (at,) = [point for point in result["operating"] if [point[key] for key in (*keys, "at")] == wanted]
        place = order.index(row["name"])
        beside = [at["spans"][i]["tractive_N"] for i in (place - 1, place)]
        ratio = np.log(max(beside) / min(beside))
        assert row["slip_use"] * row["friction"] * wraps[row["name"]] == pytest.approx(ratio, rel=0.02)
    told = {(row["name"], row["condition"]): row["friction"] for row in result["slip"]}
    assert told["water_pump", "dry"] == 0.35 and told["crank", "dry"] == 1.0, "on the back, on the ribs"


def test_more_wrap_by_what_is_said_would_do(result: dict[str, Any]) -> None:
    (row,) = [row for row in result["slip"] if (row["name"], row["condition"]) == ("crank", "wet")]
    wrap = next(pulley["wrap_deg"] for pulley in result["pulleys"] if pulley["name"] == "crank")
    # The use is inversely as the wrap: ln(P_high / P_low) / (f wrap).
    assert row["slip_use"] * wrap / (wrap + row["extra_wrap_deg"]) == pytest.approx(0.8, rel=0.01)


def test_the_cure_by_tension(result: dict[str, Any]) -> None:
    (cure,) = result["cures"]
    assert (cure["condition"], cure["by"], cure["unit"]) == ("wet", "spring torque", "Nm")
    stronger = operation_of(_operation().route, cure["wanted"] / cure["now"])
    assert stronger is not None and stronger.revving is not None
    assert stronger.revving[1][CONDITIONS.index("wet")].max() == pytest.approx(0.8, rel=1e-3)


def test_what_is_assumed_of_revving_is_marked() -> None:
    """The camper gives every accessory's inertia and none for its tensioner; the workboat gives no rate."""
    camper = _revving("camper")
    assert camper["rev_up_rpm_per_s"] == 1200.0
    assert {row["name"]: row["inertia_kgm2"] for row in camper["inertias"] if row["assumed"]} == {"tensioner": 0.0004}
    assert {"name": "house_alternator", "inertia_kgm2": 0.004, "assumed": False} in camper["inertias"]
    assert _revving("workboat") is None


def test_the_worst_grip_while_revving_is_told_with_what_the_engine_does() -> None:
    """Against the drive solved while the engine changes speed; the crank is worst when it speeds up."""
    operation = _operation()
    changed, names = operation.revving, [pulley.name for pulley in operation.route.pulleys]
    assert changed is not None
    rows = _revving("camper")["slip"]
    assert [(row["name"], row["condition"]) for row in rows] == list(product(names, CONDITIONS))
    for row in rows:
        own = changed[1][CONDITIONS.index(row["condition"]), ..., names.index(row["name"])]
        assert row["slip_use"] == pytest.approx(own.max(), rel=1e-8)
        way = ("speeds up", "slows down").index(row["engine"])
        speed = operation.driver_rpm.tolist().index(pytest.approx(row["rpm"]))
        assert own[way, operation.duties.index(row["duty"]), speed] == pytest.approx(own.max(), rel=1e-8)
    assert {row["engine"] for row in rows if row["name"] == "crank"} == {"speeds up"}


def _revving(name: str) -> Any:
    return result_of(plan_of(layout_of(name)))["revving"]


def test_the_stopped_drive(result: dict[str, Any]) -> None:
    """Equal tensions at rest, and strings: f = sqrt(T / m) / (2 l)."""
    operation = _operation()
    tension, mass = result["stopped"]["tension_N"], operation.mechanics.mass_kg_per_m
    for row, span in zip(result["stopped"]["spans"], operation.stopped.loop.span, strict=True):
        assert row["frequency_Hz"] == pytest.approx(np.sqrt(tension / mass) / (2.0 * span / 1000.0), rel=1e-8)
    assert len(result["stopped"]["hub_load_N"]) == len(operation.route.pulleys)


def test_a_slack_span_is_null() -> None:
    assert np.isinf(grip_utilisation(np.array(100.0), np.array(-1.0), np.array(1.0), np.array(3.0)))
