"""What was measured of pulleys that nobody has drawn: distances, angles, offsets, diameters, and places on pictures.

Every deviation is one standard deviation. `written` is what stands in the file, for messages; `line` where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.sightings import Model

Between = Literal["centres", "outside", "gap"]
"""What a tape was laid along: centre to centre, over both far rims, or between the near ones."""
Axis = Literal["x", "y"]

"""Where a point is seen from the origin, facing the pulleys."""
Pixel = tuple[float, float]


@dataclass(frozen=True)
class Distance:
    """A distance between two points."""

    first: str
    second: str
    value_mm: float
    deviation_mm: float
    between: Between = "centres"
    written: str = ""
    line: int = 1


@dataclass(frozen=True)
class Direction:
    """The angle of the line from one point to another, counter-clockwise from level to the right."""

    first: str
    second: str
    value_rad: float
    deviation_rad: float
    written: str = ""
    line: int = 1


@dataclass(frozen=True)
class Offset:
    """How far a point lies from a datum point along x or y, as a square shows it."""

    point: str
    datum: str
    axis: Axis
    value_mm: float
    deviation_mm: float
    written: str = ""
    line: int = 1


@dataclass(frozen=True)
class Size:
    """The diameter over the rim of a pulley, as calipers read it."""

    pulley: str
    diameter_mm: float
    deviation_mm: float
    written: str = ""
    line: int = 1


@dataclass(frozen=True, eq=False)
class Picture:
    """Places picked on a photo, scan or tracing, px, seen from the front with the second coordinate running up.

    model: rigid where px_per_mm is known, slanted for a photo at an angle, else similar. places: of points.
    rims: of points on the rims of pulleys, three or more each and not on one line. deviation_px: of each coordinate.
    given: whether its places are known, as the corners of a card are, and not picked; a px is a mm then.
    """

    name: str
    model: Model
    deviation_px: float
    places: Mapping[str, Pixel]
    rims: Mapping[str, tuple[Pixel, ...]] = field(default_factory=dict)
    px_per_mm: float = 1.0
    line: int = 1
    given: bool = False


@dataclass(frozen=True, eq=False)
class Measured:
    """All that was measured of one drive.

    points: names, in the order of the file. origin: the one that stands at (0, 0). level: two points on a level line,
    the second to the right, where that is what level means. sides: where points are seen from the origin.
    marks: those of the points that carry no pulley and no adjuster: bolts, corners of a card.
    in_inches: whether the user writes inches. tape_mm: deviation of a distance that does not give its own.
    """

    title: str
    points: tuple[str, ...]
    origin: str
    distances: tuple[Distance, ...] = ()
    directions: tuple[Direction, ...] = ()
    offsets: tuple[Offset, ...] = ()
    sizes: tuple[Size, ...] = ()
    pictures: tuple[Picture, ...] = ()
    level: tuple[str, str] | None = None
    sides: Mapping[str, tuple[SeenSide, ...]] = field(default_factory=dict)
    marks: tuple[str, ...] = ()
    in_inches: bool = False
    tape_mm: float = 1.0

    @property
    def frame_is_open(self) -> bool:
        """Whether nothing says which way is level."""
        return self.level is None and not self.directions and not self.offsets
