"""The smallest movement of a pulley that makes a belt fit, against plane geometry and scipy's constrained search."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from beltplan.drive.route import Route, route_of, shortest_move
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import close_loop
from beltplan.geometry.vectors import Floats
from tests.drive.drives import fixed, layout, pulley
from tests.for_each import for_each


def _three() -> Route:
    return route_of(
        layout(
            [
                pulley("crank", 0, 0, 160, role="crankshaft"),
                pulley("pump", -180, 220, 120),
                pulley("generator", 200, 260, 60),
            ]
        )
    )


@pytest.mark.parametrize(("change", "direction"), [(6.0, 0.0), (-6.0, np.pi)])
def test_of_two_pulleys_the_driven_one_moves_by_half_the_change(change: float, direction: float) -> None:
    move = shortest_move(route_of(fixed()), 600.0 + 100.0 * np.pi + change)
    assert move is not None
    assert move.pulley == "pump"
    assert move.distance_mm == pytest.approx(3.0)
    assert np.cos(move.direction_rad) == pytest.approx(np.cos(direction))


@for_each(-15.0, -4.0, 4.0, 15.0)
def test_against_a_constrained_search(change: float) -> None:
    """scipy's SLSQP may bend the direction as it goes: at these distances it gains less than 1 %."""
    route = _three()
    circuit = route.circuit
    wanted = float(circuit.loop_at(0.0).length) + change
    move = shortest_move(route, wanted)
    assert move is not None
    least = min(_searched(circuit, index, wanted) for index in (1, 2))
    assert least <= move.distance_mm + 1e-6
    assert move.distance_mm <= 1.01 * least


def _searched(circuit: Circuit, index: int, wanted: float) -> float:
    def missing(step: Floats) -> float:
        centre = np.array(circuit.centre)
        centre[index] += step
        return float(close_loop(centre, circuit.radius, circuit.sense).length) - wanted

    found = minimize(lambda step: step @ step, [1.0, 1.0], constraints={"type": "eq", "fun": missing}, method="SLSQP")
    assert found.success
    return float(np.hypot(*found.x))


@pytest.mark.parametrize("change", [-30.0, 30.0])
def test_the_movement_gives_the_length(change: float) -> None:
    route = _three()
    circuit = route.circuit
    wanted = float(circuit.loop_at(0.0).length) + change
    move = shortest_move(route, wanted)
    assert move is not None
    index = [p.name for p in circuit.pulleys].index(move.pulley)
    step = move.distance_mm * np.array([np.cos(move.direction_rad), np.sin(move.direction_rad)])
    moved = circuit.moved({index: circuit.centre[index] + step})
    assert float(moved.loop_at(0.0).length) == pytest.approx(wanted, abs=1e-8)
    assert moved.sound_at(np.array(0.0))


def test_no_move_within_reach() -> None:
    assert shortest_move(route_of(fixed()), 5000.0) is None


def test_no_move_into_the_next_pulley() -> None:
    assert shortest_move(route_of(fixed(110.0)), 2.0 * 95.0 + 100.0 * np.pi) is None
