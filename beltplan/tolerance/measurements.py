"""Every single measurement of a layout that moves its belt path, with one standard deviation of its error."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout, deviations_of
from beltplan.drive.pulleys import Arm, Pulley, Slide
from beltplan.drive.route import Route

Part = Literal[
    "x",
    "y",
    "diameter",
    "rim height",
    "pivot x",
    "pivot y",
    "arm length",
    "design angle",
    "first stop",
    "second stop",
    "new mark",
    "worn mark",
    "from x",
    "from y",
    "to x",
    "to y",
]
"""What is measured of a pulley. Rim height: rim diameter less the line's, which is not measured but has a range."""

UNIFORM_HALF_WIDTH = float(np.sqrt(3.0))
"""Half the width of a uniform error of standard deviation 1."""
_ORIGIN = (0.0, 0.0)
_WORDS: dict[Part, str] = {
    "x": "x of {}",
    "y": "y of {}",
    "diameter": "diameter of {}",
    "rim height": "rim height of {}",
    "pivot x": "x of the pivot of {}",
    "pivot y": "y of the pivot of {}",
    "arm length": "arm length of {}",
    "design angle": "arm angle of {}",
    "first stop": "first stop of {}",
    "second stop": "second stop of {}",
    "new mark": "new-belt mark of {}",
    "worn mark": "worn-belt mark of {}",
    "from x": "x of the slide's `from` of {}",
    "from y": "y of the slide's `from` of {}",
    "to x": "x of the slide's `to` of {}",
    "to y": "y of the slide's `to` of {}",
}
_ANGLES: tuple[Part, ...] = ("design angle", "first stop", "second stop", "new mark", "worn mark")


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
        """Unit of the deviation."""
        return "deg" if self.part in _ANGLES else "mm"

    @property
    def words(self) -> str:
        """What is measured, in words: x of guide."""
        return _WORDS[self.part].format(self.pulley)


def measurements_of(route: Route) -> tuple[Measurement, ...]:
    """Every measurement behind a route, pulley by pulley in the direction of belt travel."""
    every = (_of_pulley(route.layout, pulley, i) for i, pulley in enumerate(route.pulleys))
    return tuple(measurement for own in every for measurement in own)


def is_origin(pulley: Pulley) -> bool:
    """Whether a pulley is the point that the others are measured from, so that its place has no error of its own."""
    return pulley.at_mm == _ORIGIN and pulley.adjuster is None and pulley.uncertainty.position_mm is None


def _of_pulley(layout: Layout, pulley: Pulley, index: int) -> list[Measurement]:
    deviations = deviations_of(layout, pulley)
    places: tuple[Part, ...] = () if is_origin(pulley) else _places(pulley)
    found = [Measurement(pulley.name, index, part, deviations.position_mm) for part in places]
    found.append(Measurement(pulley.name, index, "diameter", deviations.diameter_mm))
    if pulley.reading == "rim" and not pulley.on_back:
        least, most = layout.belt.profile.rim_range_mm
        deviation = 0.5 * (most - least) / UNIFORM_HALF_WIDTH
        found.append(Measurement(pulley.name, index, "rim height", deviation, "uniform"))
    return found + [Measurement(pulley.name, index, part, deviations.angle_deg) for part in _angles(pulley)]


def _places(pulley: Pulley) -> tuple[Part, ...]:
    if isinstance(pulley.adjuster, Arm):
        return ("pivot x", "pivot y", "arm length")
    if isinstance(pulley.adjuster, Slide):
        return ("from x", "from y", "to x", "to y")
    return ("x", "y")


def _angles(pulley: Pulley) -> tuple[Part, ...]:
    arm = pulley.adjuster
    if not isinstance(arm, Arm):
        return ()
    design: tuple[Part, ...] = () if arm.at_rad is None else ("design angle",)
    marks: tuple[Part, ...] = () if arm.marks_rad is None else ("new mark", "worn mark")
    return (*design, "first stop", "second stop", *marks)
