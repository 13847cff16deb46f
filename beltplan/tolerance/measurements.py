"""Every single measurement of a layout that moves its belt path, and the layouts that their errors may make of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout, deviations_of
from beltplan.drive.pulleys import Arm, Pulley, Slide, Track, slide_track
from beltplan.drive.route import Route
from beltplan.drive.travel import Circuit
from beltplan.geometry.pieces import pieces_of
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

    spread: how its errors fall round their mean; uniform ones reach sqrt(3) standard deviations either way.
    planned: of a place where the pulley does not stand yet.
    """

    pulley: str
    index: int
    part: Part
    deviation: float
    spread: Literal["normal", "uniform"] = "normal"
    mean: float = 0.0
    planned: bool = False

    @property
    def unit(self) -> Literal["mm", "deg"]:
        return "deg" if self.part in _ANGLES else "mm"

    @property
    def words(self) -> str:
        return f"{_SAID.get(self.part, self.part)} of {self.pulley}"


def measurements_of(route: Route) -> tuple[Measurement, ...]:
    """Every measurement behind a route, pulley by pulley in the direction of belt travel."""
    return tuple(each for i, pulley in enumerate(route.pulleys) for each in _of_pulley(route.layout, pulley, i))


def _of_pulley(layout: Layout, pulley: Pulley, index: int) -> list[Measurement]:
    deviations, adjuster = deviations_of(layout, pulley), pulley.adjuster
    # All is measured from the pulley at the origin, whose place then has no error of its own.
    origin = pulley.at_mm == (0.0, 0.0) and pulley.uncertainty.position_mm is None
    places = () if origin else _PLACES[type(adjuster)]
    found = [Measurement(pulley.name, index, part, deviations.position_mm, planned=pulley.planned) for part in places]
    found.append(Measurement(pulley.name, index, "diameter", deviations.diameter_mm))
    if pulley.reading == "rim" and not pulley.on_back:
        least, most = layout.belt.profile.rim_range_mm
        half, off = 0.5 * (most - least), 0.5 * (least + most) - layout.belt.profile.rim_minus_line_mm
        found.append(Measurement(pulley.name, index, "rim height", half / _HALF_WIDTH, "uniform", off))
    if isinstance(adjuster, Arm):
        given = {"design angle": adjuster.at_rad, "new mark": adjuster.marks_rad, "worn mark": adjuster.marks_rad}
        angles = (part for part in _ANGLES if given.get(part, adjuster.stops_rad) is not None)
        found += [Measurement(pulley.name, index, part, deviations.angle_deg) for part in angles]
    return found


# Layouts as they may really be: all of them at once as one circuit.

_Errors = defaultdict[tuple[int, Part], Floats]
"""By pulley and part, each (d); nothing for what is not measured."""
_STEP = 1e-3
"""Of a derivative, mm or deg: its central difference is off by less than 1e-8 of it."""


def drawn_circuits(
    route: Route, measurements: tuple[Measurement, ...], draws: int, seed: int
) -> tuple[Circuit, Floats]:
    """Draw layouts, d of them, as one circuit over (d): every measurement with an error of its own, the pulleys in the
    direction of travel of the layout as given. And where each draw's belt lies in its length tolerance, (d), evenly
    from -1 to 1.

    Same seed, same draws.
    """
    chance = np.random.default_rng(seed)
    errors = [each.mean + each.deviation * _spread(each, chance, draws) for each in measurements]
    return _with_errors(route, measurements, errors), chance.uniform(-1.0, 1.0, draws)


def slopes_of(route: Route, measurements: tuple[Measurement, ...]) -> Floats:
    """What each measurement does to the path at the design setting, mm for a mm or a degree; NaN without a path."""
    steps = _STEP * np.eye(len(measurements))
    ahead, behind = (_with_errors(route, measurements, way * steps).base.length for way in (1.0, -1.0))
    return np.asarray((ahead - behind) / (2.0 * _STEP))


def _spread(measurement: Measurement, chance: np.random.Generator, draws: int) -> Floats:
    normal = measurement.spread == "normal"
    return chance.standard_normal(draws) if normal else chance.uniform(-_HALF_WIDTH, _HALF_WIDTH, draws)


def _with_errors(route: Route, measurements: Sequence[Measurement], errors: Sequence[Floats] | Floats) -> Circuit:
    """The layout measured with errors, (d) of each measurement, as one circuit over (d)."""
    circuit, none = route.circuit, np.zeros_like(errors[0])
    parts = ((each.index, each.part) for each in measurements)
    off: _Errors = defaultdict(lambda: none, zip(parts, errors, strict=True))
    track = _track(circuit, off)
    centre = [at + _along(off, i, "x", "y") for i, at in enumerate(circuit.centre)]
    if track is not None and circuit.moving is not None:
        centre[circuit.moving] = track.centre_at(track.nominal)
    half = np.stack([0.5 * off[i, "diameter"] for i in range(len(centre))])
    height = np.stack([off[i, "rim height"] for i in range(len(centre))])
    base = pieces_of(centre, circuit.radius[:, None] + half - 0.5 * height, circuit.sense)
    return replace(circuit, base=base, rim=circuit.rim[:, None] + half, track=track)


def _along(off: _Errors, index: int, x: Part, y: Part) -> Floats:
    """Errors of a point, (d, 2)."""
    return np.stack((off[index, x], off[index, y]), axis=-1)


def _track(circuit: Circuit, off: _Errors) -> Track | None:
    adjuster, i = circuit.adjuster, circuit.moving
    if adjuster is None or i is None:
        return None
    if isinstance(adjuster, Slide):
        start = adjuster.start_mm + _along(off, i, "from x", "from y")
        end = adjuster.end_mm + _along(off, i, "to x", "to y")
        return slide_track(start, end, np.asarray(adjuster.nominal / adjuster.length_mm))

    def at(angle: float, part: Part) -> Floats:
        return np.asarray(angle + np.radians(off[i, part]))

    stops = (at(adjuster.stops_rad[0], "first stop"), at(adjuster.stops_rad[1], "second stop"))
    nominal = 0.5 * (stops[0] + stops[1]) if adjuster.at_rad is None else at(adjuster.at_rad, "design angle")
    marks = adjuster.marks_rad and (at(adjuster.marks_rad[0], "new mark"), at(adjuster.marks_rad[1], "worn mark"))
    pivot = np.asarray(adjuster.pivot_mm) + _along(off, i, "pivot x", "pivot y")
    return Track(pivot, adjuster.length_mm + off[i, "arm length"], None, stops, nominal, marks)
