"""Every single measurement of a layout that moves its belt path, and the layouts that their errors may make of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout, deviations_of
from beltplan.drive.pulleys import Arm, Pulley, Slide, Track, slide_track
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.loops import pieces_of
from beltplan.geometry.vectors import Floats

Part = Literal[
    "x", "y", "diameter", "rim height", "pivot x", "pivot y", "arm length", "design angle", "first stop", "second stop",
    "new mark", "worn mark", "from x", "from y", "to x", "to y",
]  # fmt: skip
"""What is measured of a pulley. Rim height: rim diameter less the line's, which is not measured but has a range."""

_SAID: dict[Part, str] = {
    "pivot x": "x of the pivot",
    "pivot y": "y of the pivot",
    "design angle": "arm angle",
    "new mark": "new-belt mark",
    "worn mark": "worn-belt mark",
    "from x": "x of the slide's `from`",
    "from y": "y of the slide's `from`",
    "to x": "x of the slide's `to`",
    "to y": "y of the slide's `to`",
}
"""How parts are said that are not said as they are called."""
_PLACES: dict[type, tuple[Part, ...]] = {
    Arm: ("pivot x", "pivot y", "arm length"),
    Slide: ("from x", "from y", "to x", "to y"),
    type(None): ("x", "y"),
}
"""What tells the place of a pulley, by what moves it."""
_ANGLES: tuple[Part, ...] = ("design angle", "first stop", "second stop", "new mark", "worn mark")
_HALF_WIDTH = float(np.sqrt(3.0))
"""Half the width of a uniform error of standard deviation 1."""


@dataclass(frozen=True)
class Measurement:
    """One measurement. index: of its pulley in the direction of belt travel. deviation: one standard deviation, `unit`.

    spread: how its errors fall; uniform ones reach sqrt(3) standard deviations either way.
    """

    pulley: str
    index: int
    part: Part
    deviation: float
    spread: Literal["normal", "uniform"] = "normal"

    @property
    def unit(self) -> Literal["mm", "deg"]:
        return "deg" if self.part in _ANGLES else "mm"

    @property
    def words(self) -> str:
        """What is measured, in words: x of guide."""
        return f"{_SAID.get(self.part, self.part)} of {self.pulley}"


def measurements_of(route: Route) -> tuple[Measurement, ...]:
    """Every measurement behind a route, pulley by pulley in the direction of belt travel."""
    every = (_of_pulley(route.layout, pulley, i) for i, pulley in enumerate(route.pulleys))
    return tuple(measurement for own in every for measurement in own)


def is_origin(pulley: Pulley) -> bool:
    """Whether a pulley is the point that the others are measured from, so that its place has no error of its own."""
    return pulley.at_mm == (0.0, 0.0) and pulley.adjuster is None and pulley.uncertainty.position_mm is None


def _of_pulley(layout: Layout, pulley: Pulley, index: int) -> list[Measurement]:
    deviations, adjuster = deviations_of(layout, pulley), pulley.adjuster
    places = () if is_origin(pulley) else _PLACES[type(adjuster)]
    found = [Measurement(pulley.name, index, part, deviations.position_mm) for part in places]
    found.append(Measurement(pulley.name, index, "diameter", deviations.diameter_mm))
    if pulley.reading == "rim" and not pulley.on_back:
        least, most = layout.belt.profile.rim_range_mm
        found.append(Measurement(pulley.name, index, "rim height", 0.5 * (most - least) / _HALF_WIDTH, "uniform"))
    if isinstance(adjuster, Arm):
        given = {"design angle": adjuster.at_rad, "new mark": adjuster.marks_rad, "worn mark": adjuster.marks_rad}
        angles = (part for part in _ANGLES if given.get(part, adjuster.stops_rad) is not None)
        found += [Measurement(pulley.name, index, part, deviations.angle_deg) for part in angles]
    return found


# Layouts as they may really be: all draws at once as one circuit.


def drawn_circuits(
    route: Route, measurements: tuple[Measurement, ...], draws: int, seed: int
) -> tuple[Circuit, Floats]:
    """Draw layouts, d of them, as one circuit over (d): every measurement with an error of its own, the pulleys in the
    direction of travel of the layout as given. And where each draw's belt lies in its length tolerance, (d), evenly
    from -1 to 1.

    Same seed, same draws.
    """
    chance = np.random.default_rng(seed)
    errors = _Errors({(each.index, each.part): _drawn(each, chance, draws) for each in measurements}, draws)
    circuit, profile = route.circuit, route.layout.belt.profile
    track = _track(circuit, errors)
    centre = [at + errors.along(i, "x", "y") for i, at in enumerate(circuit.centre)]
    if track is not None and circuit.moving is not None:
        centre[circuit.moving] = track.centre_at(track.nominal)
    count = len(circuit.pulleys)
    half = np.stack([0.5 * errors.of(i, "diameter") for i in range(count)])
    # The range of the rim's height need not lie evenly about its nominal.
    off = 0.5 * sum(profile.rim_range_mm) - profile.rim_minus_line_mm
    shift = np.array([[off if (i, "rim height") in errors.by_part else 0.0] for i in range(count)])
    height = shift + np.stack([errors.of(i, "rim height") for i in range(count)])
    base = pieces_of(centre, circuit.radius[:, None] + half - 0.5 * height, circuit.sense)
    drawn = replace(circuit, base=base, rim=circuit.rim[:, None] + half, track=track)
    return drawn, chance.uniform(-1.0, 1.0, draws)


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


def _drawn(measurement: Measurement, chance: np.random.Generator, draws: int) -> Floats:
    if measurement.spread == "normal":
        return measurement.deviation * chance.standard_normal(draws)
    return measurement.deviation * chance.uniform(-_HALF_WIDTH, _HALF_WIDTH, draws)


def _track(circuit: Circuit, errors: _Errors) -> Track | None:
    adjuster, i = circuit.adjuster, circuit.moving
    if adjuster is None or i is None:
        return None
    if isinstance(adjuster, Slide):
        start = adjuster.start_mm + errors.along(i, "from x", "from y")
        end = adjuster.end_mm + errors.along(i, "to x", "to y")
        return slide_track(start, end, np.asarray(adjuster.nominal / adjuster.length_mm))

    def off(angle: float, part: Part) -> Floats:
        return np.asarray(angle + np.radians(errors.of(i, part)))

    stops = (off(adjuster.stops_rad[0], "first stop"), off(adjuster.stops_rad[1], "second stop"))
    nominal = 0.5 * (stops[0] + stops[1]) if adjuster.at_rad is None else off(adjuster.at_rad, "design angle")
    marks = adjuster.marks_rad and (off(adjuster.marks_rad[0], "new mark"), off(adjuster.marks_rad[1], "worn mark"))
    pivot = np.asarray(adjuster.pivot_mm) + errors.along(i, "pivot x", "pivot y")
    return Track(pivot, adjuster.length_mm + errors.of(i, "arm length"), None, stops, nominal, marks)
