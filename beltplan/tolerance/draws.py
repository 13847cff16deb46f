"""Layouts as they may really be: measurements with random errors, all draws at once as one circuit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.pulleys import Arm, Slide, Track, slide_track
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import pieces_of
from beltplan.geometry.vectors import Floats
from beltplan.tolerance.measurements import UNIFORM_HALF_WIDTH, Measurement, Part


def drawn_circuits(
    route: Route, measurements: tuple[Measurement, ...], draws: int, seed: int
) -> tuple[Circuit, Floats]:
    """Draw layouts, d of them, as one circuit over (d): every measurement with an error of its own, the pulleys in the
    direction of travel of the layout as given. And where each draw's belt lies in its length tolerance, (d), evenly
    from -1 to 1.

    Same seed, same draws.
    """
    errors, belt = _errors(measurements, draws, seed)
    circuit, layout = route.circuit, route.layout
    track = _track(circuit, errors)
    centre = [at + errors.along(i, "x", "y") for i, at in enumerate(circuit.centre)]
    if track is not None and circuit.moving is not None:
        centre[circuit.moving] = track.centre_at(track.nominal)
    count = len(circuit.pulleys)
    half = np.stack([0.5 * errors.of(i, "diameter") for i in range(count)])
    nominal, middle = layout.belt.profile.rim_minus_line_mm, 0.5 * sum(layout.belt.profile.rim_range_mm)
    by_rim = {measurement.index for measurement in measurements if measurement.part == "rim height"}
    # The range of the rim's height need not lie evenly about its nominal.
    shift = np.array([[middle - nominal if i in by_rim else 0.0] for i in range(count)])
    height = shift + np.stack([errors.of(i, "rim height") for i in range(count)])
    base = pieces_of(centre, circuit.radius[:, None] + half - 0.5 * height, circuit.sense)
    return replace(circuit, base=base, rim=circuit.rim[:, None] + half, track=track), belt


@dataclass(frozen=True, eq=False)
class _Errors:
    """Errors by pulley and part, each (d); nothing for what is not measured."""

    by_part: dict[tuple[int, Part], Floats]
    draws: int

    def of(self, index: int, part: Part) -> Floats:
        return self.by_part.get((index, part), np.zeros(self.draws))

    def along(self, index: int, x: Part, y: Part) -> Floats:
        """Errors of a point, (d, 2)."""
        return np.stack((self.of(index, x), self.of(index, y)), axis=-1)


def _errors(measurements: tuple[Measurement, ...], draws: int, seed: int) -> tuple[_Errors, Floats]:
    chance = np.random.default_rng(seed)
    drawn = {
        (each.index, each.part): each.deviation
        * (
            chance.standard_normal(draws)
            if each.spread == "normal"
            else chance.uniform(-UNIFORM_HALF_WIDTH, UNIFORM_HALF_WIDTH, draws)
        )
        for each in measurements
    }
    return _Errors(drawn, draws), chance.uniform(-1.0, 1.0, draws)


def _track(circuit: Circuit, errors: _Errors) -> Track | None:
    adjuster, i = circuit.adjuster, circuit.moving
    if adjuster is None or i is None:
        return None
    if isinstance(adjuster, Slide):
        start = adjuster.start_mm + errors.along(i, "from x", "from y")
        end = adjuster.end_mm + errors.along(i, "to x", "to y")
        return slide_track(start, end, np.asarray(adjuster.nominal / adjuster.length_mm))
    return _arm_track(adjuster, errors, i)


def _arm_track(arm: Arm, errors: _Errors, i: int) -> Track:
    def off(angle: float, part: Part) -> Floats:
        return np.asarray(angle + np.radians(errors.of(i, part)))

    stops = (off(arm.stops_rad[0], "first stop"), off(arm.stops_rad[1], "second stop"))
    nominal = 0.5 * (stops[0] + stops[1]) if arm.at_rad is None else off(arm.at_rad, "design angle")
    marks = arm.marks_rad and (off(arm.marks_rad[0], "new mark"), off(arm.marks_rad[1], "worn mark"))
    pivot = np.asarray(arm.pivot_mm) + errors.along(i, "pivot x", "pivot y")
    return Track(pivot, arm.length_mm + errors.of(i, "arm length"), None, stops, nominal, marks)
