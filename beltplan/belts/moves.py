"""Which way and how far a pulley would have to move to make a belt fit a drive without an adjuster."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.belts.circuit import Circuit
from beltplan.geometry.sensitivity import length_by_centre
from beltplan.geometry.vectors import Floats, dot, norm

ROUNDS = 25
CLOSE_MM = 1e-9
FARTHEST_MM = 200.0


@dataclass(frozen=True, eq=False)
class Move:
    """A movement of one pulley's centre: distance in mm, direction in rad counter-clockwise from +x."""

    pulley: str
    distance_mm: float
    direction_rad: float


def shortest_move(circuit: Circuit, length_mm: float) -> Move | None:
    """The smallest straight movement of one pulley, the driver left alone, that makes the path a given length.

    Each pulley is moved along its steepest change of length (dL/dc), by Newton steps on the exact path.
    None where no pulley within 200 mm does it and leaves a sound path.
    """
    moves = [move for i in range(1, len(circuit.pulleys)) if (move := _move_of(circuit, i, length_mm)) is not None]
    return min(moves, key=lambda move: move.distance_mm, default=None)


def _move_of(circuit: Circuit, index: int, length_mm: float) -> Move | None:
    loop = circuit.loop_at(0.0)
    gradient = length_by_centre(loop)[index]
    steepness = float(norm(gradient))
    missing = length_mm - float(loop.length)
    if not steepness > 0.0:
        return None
    unit = gradient / steepness * np.sign(missing)
    distance = _distance(circuit, index, unit, length_mm)
    if distance is None or not _moved(circuit, index, distance * unit).sound_at(np.asarray(0.0)):
        return None
    return Move(circuit.pulleys[index].name, distance, float(np.arctan2(unit[1], unit[0])))


def _distance(circuit: Circuit, index: int, unit: Floats, length_mm: float) -> float | None:
    distance = 0.0
    for _ in range(ROUNDS):
        loop = _moved(circuit, index, distance * unit).loop_at(0.0)
        error = float(loop.length) - length_mm
        slope = float(dot(length_by_centre(loop)[index], unit))
        if abs(error) < CLOSE_MM:
            return distance
        distance -= error / slope if slope else np.inf
        if not abs(distance) < FARTHEST_MM:
            return None
    return None


def _moved(circuit: Circuit, index: int, step: Floats) -> Circuit:
    centre = circuit.centre.copy()
    centre[index] += step
    return replace(circuit, centre=centre)
