"""What was measured of pulleys that nobody has drawn, one class a kind of reading, and the equation that each gives.

A reading knows what it ties, what it says by the unknowns of the network (residual and Jacobian), where it leaves a
point to lie, and how it was written. What reports say of it is no part of it. `sd` is one standard deviation.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import ClassVar, Literal, NamedTuple

import numpy as np

from beltplan.drive.belt import MM_PER_UNIT
from beltplan.drive.layout import Units
from beltplan.geometry.loops import Loop, after, close_loop, length_by_centre, outline
from beltplan.geometry.vectors import TURN, Floats, cross, dot, from_angle, left_normal, norm
from beltplan.layoutfile.schema import SeenSide
from beltplan.measure.images import Model, mapped
from beltplan.measure.loci import Circle, Curve, Straight

Between = Literal["centres", "outside", "gap"]
"""What a tape was laid along: centre to centre, over both far rims, or between the near ones."""
RIMS: dict[Between, float] = {"centres": 0.0, "outside": 1.0, "gap": -1.0}
"""How often both radii count in what the tape reads."""
Axis = Literal["x", "y"]
AXES: tuple[Axis, Axis] = ("x", "y")
OPPOSITE: dict[SeenSide, SeenSide] = {"left": "right", "right": "left", "above": "below", "below": "above"}
Pixel = tuple[float, float]
YRuns = Literal["up", "down"]
SeenFrom = Literal["front", "back"]
Hand = Literal["y_runs", "seen_from"]
Unit = Literal["mm", "deg", "px"]

_NONE = -1
"""Place of an unknown that an equation has no use for: it counts as zero."""
_NEAREST_MM = 1e-6
"""Points nearer than this have no direction between them: it is taken as if they were this far apart."""

_Radii = Mapping[str, float]
_Tie = tuple[str, str, Callable[[Floats], Curve]]
"""A point, another, and the curve on which the first lies where the other stands at a place, (2) mm."""


class Unknowns(NamedTuple):
    """Where everything stands in the vector of unknowns: x of points, y next; radii; numbers of images; rim angles."""

    points: Mapping[str, int]
    radii: Mapping[str, int]
    images: Mapping[Image, slice]
    angles: Mapping[Pick, int]


@dataclass(frozen=True, eq=False, kw_only=True)
class Reading(ABC):
    """One thing that was read. written: what stands in the file, for messages; line: where.

    Of a class: kind, in words; unit: of its value; rows: how many equations it gives; called: its own name, and tied:
    the points that it ties or at which it was read, both by its fields.
    """

    written: str = ""
    line: int = 1

    kind: ClassVar[str]
    unit: ClassVar[Unit] = "mm"
    rows: ClassVar[int] = 1
    called: ClassVar[str]
    tied: ClassVar[tuple[str, ...]]

    @property
    def words(self) -> str:
        """Its own name: crank - alternator."""
        return self.called.format(self)

    @property
    def points(self) -> tuple[str, ...]:
        """The points that it ties, or the one at which it was read."""
        return tuple(getattr(self, field) for field in self.tied)

    @property
    @abstractmethod
    def value(self) -> float | None:
        """What was read, in its unit; None for a place."""

    @property
    @abstractmethod
    def sd(self) -> float:
        """Its standard deviation, in its unit."""

    @property
    def given(self) -> tuple[float, ...]:
        """What its equations must know of it, (c): what was read."""
        return () if self.value is None else (self.value,)

    def unknowns(self, where: Unknowns) -> list[int]:
        """Places of the unknowns in its equations, (k)."""
        return [place for name in self.points for place in (where.points[name], where.points[name] + 1)]

    @abstractmethod
    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        """Residuals (..., m, r), what the unknowns say less what was read, in its unit; their Jacobian (..., m, r, k).

        For m readings at once that are alike: of this kind, on the same image. at: (..., m, k); given: (m, c).
        """

    @property
    def image(self) -> Image | None:
        return None

    @property
    def alike(self) -> object:
        """Readings of a kind that have this in common stand side by side in `equations`."""
        return self.image

    @property
    def is_of_rim(self) -> bool:
        """Whether it says little of a place: a diameter, or one of the points of a rim that was traced."""
        return False

    def ties(self, radii_mm: _Radii) -> tuple[_Tie, ...]:
        """Where it leaves each of its points to lie by the other. radii_mm: before anything is settled."""
        return ()

    def drawn(self, radii_mm: _Radii, *places: Floats) -> Floats | None:
        """The line by which it is drawn where its points stand at places, (n, 2) mm; None for one at a point."""
        return np.array(places) if len(places) == 2 else None


class _Length(Reading):
    value_mm: float
    sd_mm: float

    @property
    def rims(self) -> tuple[str, ...]:
        return ()

    @property
    def value(self) -> float:
        return self.value_mm

    @property
    def sd(self) -> float:
        return self.sd_mm


@dataclass(frozen=True, eq=False)
class Distance(_Length):
    """A distance between two points: centre to centre, over the rims of both, or the gap between them."""

    first: str
    second: str
    value_mm: float
    sd_mm: float
    between: Between = "centres"

    kind: ClassVar[str] = "distance"
    tied: ClassVar[tuple[str, ...]] = ("first", "second")

    @property
    def words(self) -> str:
        return f"{self.first} - {self.second}" + ("" if self.between == "centres" else f" ({self.between})")

    @property
    def rims(self) -> tuple[str, ...]:
        return self.points if RIMS[self.between] else ()

    def least_mm(self, rims_mm: _Radii) -> tuple[float, tuple[str, ...]]:
        """What its rims alone take, and whose they are; -inf where they take nothing. rims_mm: diameters."""
        known = self.between == "outside" and {*self.points} <= rims_mm.keys()
        return (0.5 * sum(rims_mm[name] for name in self.points) if known else -math.inf), self.points

    @property
    def given(self) -> tuple[float, ...]:
        return self.value_mm, RIMS[self.between]

    def unknowns(self, where: Unknowns) -> list[int]:
        return super().unknowns(where) + ([where.radii[name] for name in self.rims] or [_NONE, _NONE])

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        step, rims = at[..., 2:4] - at[..., :2], given[:, 1]
        apart = np.maximum(np.sqrt(dot(step, step)), _NEAREST_MM)[..., None]
        residuals = apart[..., 0] + rims * (at[..., 4] + at[..., 5]) - given[:, 0]
        slopes = (-step / apart, step / apart, np.broadcast_to(rims[:, None], step.shape))
        return residuals[..., None], np.concatenate(slopes, axis=-1)[..., None, :]

    def ties(self, radii_mm: _Radii) -> tuple[_Tie, ...]:
        apart = max(self.apart_mm(radii_mm), 0.0)
        return tuple((own, other, lambda at: Circle(at, apart)) for own, other in (self.points, self.points[::-1]))

    def apart_mm(self, radii_mm: _Radii) -> float:
        return self.value_mm - RIMS[self.between] * sum(radii_mm[name] for name in self.rims)


@dataclass(frozen=True, eq=False)
class Direction(Reading):
    """The angle of the line from one point to another, counter-clockwise from level to the right."""

    first: str
    second: str
    value_rad: float
    sd_rad: float

    kind: ClassVar[str] = "angle"
    unit: ClassVar[Unit] = "deg"
    called: ClassVar[str] = "angle {0.first} - {0.second}"
    tied: ClassVar[tuple[str, ...]] = ("first", "second")

    @property
    def value(self) -> float:
        return math.degrees(self.value_rad)

    @property
    def sd(self) -> float:
        return math.degrees(self.sd_rad)

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        """By the direction from one to the other, by the shorter way round."""
        step = at[..., 2:] - at[..., :2]
        across = np.degrees(left_normal(step) / np.maximum(dot(step, step), _NEAREST_MM**2)[..., None])
        off = np.degrees(np.arctan2(step[..., 1], step[..., 0])) - given[:, 0]
        slopes = np.concatenate((-across, across), axis=-1)
        return (off - 360.0 * np.round(off / 360.0))[..., None], slopes[..., None, :]

    def ties(self, radii_mm: _Radii) -> tuple[_Tie, ...]:
        along = from_angle(np.asarray(self.value_rad))
        return (
            (self.second, self.first, lambda at: Straight(at, along, True)),
            (self.first, self.second, lambda at: Straight(at, -along, True)),
        )


@dataclass(frozen=True, eq=False)
class Offset(_Length):
    """How far a point lies from a datum point along x or y, as a square shows it."""

    point: str
    datum: str
    axis: Axis
    value_mm: float
    sd_mm: float

    kind: ClassVar[str] = "offset"
    called: ClassVar[str] = "{0.axis} of {0.point} from {0.datum}"
    tied: ClassVar[tuple[str, ...]] = ("datum", "point")

    def unknowns(self, where: Unknowns) -> list[int]:
        return [where.points[name] + AXES.index(self.axis) for name in self.points]

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        slopes = np.broadcast_to(np.array((-1.0, 1.0)), (*at.shape[:-1], 1, 2))
        return (at[..., 1] - at[..., 0])[..., None] - given, slopes

    def ties(self, radii_mm: _Radii) -> tuple[_Tie, ...]:
        axis = np.eye(2)[AXES.index(self.axis)]
        step, across = self.value_mm * axis, left_normal(axis)
        return (
            (self.point, self.datum, lambda at: Straight(at + step, across, False)),
            (self.datum, self.point, lambda at: Straight(at - step, across, False)),
        )

    def drawn(self, radii_mm: _Radii, *places: Floats) -> Floats:
        start, end = places
        corner = np.array((end[0], start[1]))
        return np.array([start, corner] if self.axis == "x" else [corner, end])


class Rounded(NamedTuple):
    """A pulley that a loop is laid round. point: the one that its place is measured by; carried_mm: from there to it.

    over_mm: height of the loop's line over the rim. rim_mm: radius over the rim where it is none of the network's.
    """

    pulley: str
    point: str
    on_back: bool = False
    over_mm: float = 0.0
    carried_mm: tuple[float, float] = (0.0, 0.0)
    rim_mm: float | None = None


@dataclass(frozen=True, eq=False)
class LoopLength(_Length):
    """The length of a wire or string laid round pulleys, or of a belt on them with the arm at a known angle."""

    name: str
    around: tuple[Rounded, ...]
    value_mm: float
    sd_mm: float
    is_belt: bool = False

    kind: ClassVar[str] = "loop"
    between: ClassVar[str] = "a loop"
    called: ClassVar[str] = "loop {0.name}"

    @property
    def points(self) -> tuple[str, ...]:
        return tuple(each.point for each in self.around)

    @property
    def rims(self) -> tuple[str, ...]:
        return tuple(each.pulley for each in self.around if each.rim_mm is None)

    @property
    def arms(self) -> list[str]:
        """Pulleys that an arm carries from the point which is measured."""
        return [each.pulley for each in self.around if any(each.carried_mm)]

    @property
    def alike(self) -> object:
        return self

    def least_mm(self, rims_mm: _Radii) -> tuple[float, tuple[str, ...]]:
        """Twice the width of its two largest rims side by side: no way round both is shorter."""
        inside = [each for each in self.around if not each.on_back]
        own = sorted((0.5 * rims_mm.get(each.pulley, 0.0) + (each.rim_mm or 0.0), each.pulley) for each in inside)[-2:]
        return 4.0 * sum(radius for radius, _ in own), tuple(name for _, name in own)

    def unknowns(self, where: Unknowns) -> list[int]:
        radii = [where.radii[each.pulley] if each.rim_mm is None else _NONE for each in self.around]
        return super().unknowns(where) + radii

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        """By the length of the path, mm. Where no path can be laid a polygon with one turn of the mean radius."""
        n, lead = len(self.around), at.shape[:-1]
        laid = self._laid(at[..., : 2 * n].reshape(*lead, n, 2), at[..., 2 * n :])
        step = laid.centre[..., after(n), :] - laid.centre
        apart, exists = np.maximum(norm(step), _NEAREST_MM), laid.exists
        bare = replace(laid, direction=step / apart[..., None], span=apart, wrap=np.full_like(apart, TURN / n))
        length = np.where(exists, laid.length, bare.length)
        by_centre = np.where(exists[..., None, None], length_by_centre(laid), length_by_centre(bare))
        by_radius = np.where(exists[..., None], laid.wrap, bare.wrap)
        slopes = np.concatenate((by_centre.reshape(*lead, 2 * n), by_radius), axis=-1)
        return length[..., None] - given, slopes[..., None, :]

    def drawn(self, radii_mm: _Radii, *places: Floats) -> Floats:
        """Once round, back to where it began; from place to place where a rim is not known."""
        known = all(each.pulley in radii_mm for each in self.around if each.rim_mm is None)
        radii = np.array([0.0 if each.rim_mm else radii_mm.get(each.pulley, 0.0) for each in self.around])
        laid = self._laid(np.array(places), radii)
        ring = outline(laid) if known and laid.exists else laid.centre
        return np.concatenate((ring, ring[:1]))

    def _laid(self, places: Floats, radii: Floats) -> Loop:
        """The path at places of its points, (..., n, 2), and radii, (..., n), that way round in which they lie."""
        centre = places + np.array([each.carried_mm for each in self.around])
        radius = radii + np.array([each.over_mm + (each.rim_mm or 0.0) for each in self.around])
        turn = np.sum(cross(centre, centre[..., after(len(self.around)), :]), axis=-1)
        inside = np.array([-1.0 if each.on_back else 1.0 for each in self.around])
        with np.errstate(divide="ignore", invalid="ignore"):  # two places in one: no path
            return close_loop(centre, radius, np.where(turn < 0.0, -1.0, 1.0)[..., None] * inside)


@dataclass(frozen=True, eq=False)
class Diameter(_Length):
    """The diameter over the rim of a pulley, as calipers read it."""

    pulley: str
    value_mm: float
    sd_mm: float

    kind: ClassVar[str] = "diameter"
    called: ClassVar[str] = "diameter of {0.pulley}"
    tied: ClassVar[tuple[str, ...]] = ("pulley",)

    @property
    def is_of_rim(self) -> bool:
        return True

    def unknowns(self, where: Unknowns) -> list[int]:
        return [where.radii[self.pulley]]

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        return 2.0 * at - given, np.full((*at.shape, 1), 2.0)


@dataclass(frozen=True, eq=False)
class Pick(Reading):
    """A place picked on an image; of a rim point with its number on that rim, from 1."""

    point: str
    on: Image
    at: Pixel
    rim_place: int | None = None

    kind: ClassVar[str] = "pick"
    unit: ClassVar[Unit] = "px"
    rows: ClassVar[int] = 2
    tied: ClassVar[tuple[str, ...]] = ("point",)

    @property
    def words(self) -> str:
        rim = f"rim point {self.rim_place} of " if self.is_of_rim else ""
        return f"{rim}{self.point} on {self.on.name}"

    @property
    def value(self) -> None:
        return None

    @property
    def sd(self) -> float:
        return self.on.sd_px

    @property
    def given(self) -> tuple[float, ...]:
        return self.at

    @property
    def image(self) -> Image:
        return self.on

    @property
    def is_of_rim(self) -> bool:
        return self.rim_place is not None

    def unknowns(self, where: Unknowns) -> list[int]:
        rim = [where.radii[self.point], where.angles[self]] if self.is_of_rim else [_NONE, _NONE]
        numbers = where.images[self.on]
        return [*super().unknowns(where), *rim, *range(numbers.start, numbers.stop)]

    def equations(self, at: Floats, given: Floats) -> tuple[Floats, Floats]:
        """By where the image shows the point, or the point of its rim, u before v, px."""
        outward, radius = from_angle(at[..., 3]), at[..., 2:3]
        points = at[..., :2] + radius * outward
        seen, by_point, by_numbers = mapped(self.on.model, self.on.px_per_mm, at[..., 0, 4:], points)
        by_rim = [by_point @ way[..., None] for way in (outward, radius * left_normal(outward))]
        return seen - given, np.concatenate((by_point, *by_rim, by_numbers), axis=-1)


def way_of(y_runs: YRuns, seen_from: SeenFrom) -> Pixel:
    """Signs by which coordinates turn into those seen from the front with the second running up, and back again."""
    return -1.0 if seen_from == "back" else 1.0, 1.0 if y_runs == "up" else -1.0


@dataclass(frozen=True, eq=False)
class Image:
    """Places picked on a photo, scan or tracing, px, seen from the front with the second coordinate running up.

    model: rigid where px_per_mm is known, slanted for a photo at an angle, else similar. places: of points.
    rims: of points on the rims of pulleys, three or more each and not on one line. sd_px: of each coordinate.
    given: whether its places are known, as the corners of a card are, and not picked; a px is a mm then.
    y_runs, seen_from: the words of its file by which the places were turned so; of known places those of their picture.
    lines: of places by name, of rim points by name and number from 1; key_lines: of its keys; where there is none,
    line stands for it.
    """

    name: str
    model: Model
    sd_px: float
    places: Mapping[str, Pixel]
    rims: Mapping[str, tuple[Pixel, ...]] = field(default_factory=dict)
    px_per_mm: float = 1.0
    line: int = 1
    given: bool = False
    y_runs: YRuns = "up"
    seen_from: SeenFrom = "front"
    lines: Mapping[tuple[str, int | None], int] = field(default_factory=dict)
    key_lines: Mapping[str, int] = field(default_factory=dict)

    @property
    def way(self) -> Pixel:
        """Signs by which its coordinates turn into those of its file."""
        return way_of(self.y_runs, self.seen_from)

    def line_of(self, *keys: str) -> int:
        """The line of the first key that is written, else of the image."""
        return next((self.key_lines[key] for key in keys if key in self.key_lines), self.line)

    def mirrored(self, key: Hand) -> Image:
        """What it is if the other word is right at a key; known places do not mind which way pixels run."""
        if key == "y_runs" and self.given:
            return self
        places = {name: (u, -v) for name, (u, v) in self.places.items()}
        rims = {name: tuple((u, -v) for u, v in rim) for name, rim in self.rims.items()}
        if key == "y_runs":
            return replace(self, places=places, rims=rims, y_runs="down" if self.y_runs == "up" else "up")
        return replace(self, places=places, rims=rims, seen_from="back" if self.seen_from == "front" else "front")

    @property
    def of(self) -> str:
        """The picture that it is, or whose known places."""
        return self.name.rpartition(", ")[0] if self.given else self.name

    @property
    def has_say(self) -> bool:
        """Whether it says anything: two known places whose scale is open say nothing."""
        return not (self.given and self.model == "similar" and len(self.places) < 3)

    @cached_property
    def picks(self) -> tuple[Pick, ...]:
        rims = [(name, at, i) for name, points in self.rims.items() for i, at in enumerate(points, start=1)]
        centres = [(name, at, None) for name, at in self.places.items()]
        every = (*centres, *rims)
        return tuple(Pick(name, self, at, i, line=self.lines.get((name, i), self.line)) for name, at, i in every)

    @property
    def unit(self) -> Unit:
        """That of its places: mm where one is the other, as for places that are known."""
        return "mm" if self.given or (self.model == "rigid" and self.px_per_mm == 1.0) else "px"


@dataclass(frozen=True, eq=False)
class Measured:
    """All that was measured of one drive.

    points: names, in the order of the file. origin: the one that stands at (0, 0). level: two points on a level line,
    the second to the right, where that is what level means. sides: where points are seen from the origin.
    marks: those of the points that carry no pulley and no adjuster: bolts, corners of a card.
    unrouted: pulleys that `route` leaves out, and nothing says that it may.
    carried_mm: how far from the pivot of each arm it carries its pulley at the design's angle, counted from level;
    stopped_mm: and at its stops.
    in_inches: whether the user writes inches. tape_mm: standard deviation of a distance that does not give its own.
    asked: the units of answers, where they are not those of the file.
    """

    title: str
    points: tuple[str, ...]
    origin: str
    distances: tuple[Distance, ...] = ()
    directions: tuple[Direction, ...] = ()
    offsets: tuple[Offset, ...] = ()
    loops: tuple[LoopLength, ...] = ()
    diameters: tuple[Diameter, ...] = ()
    images: tuple[Image, ...] = ()
    level: tuple[str, str] | None = None
    sides: Mapping[str, tuple[SeenSide, ...]] = field(default_factory=dict)
    marks: tuple[str, ...] = ()
    in_inches: bool = False
    tape_mm: float = 1.0
    carried_mm: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    stopped_mm: Mapping[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    asked: Units | None = None
    unrouted: tuple[str, ...] = ()

    @property
    def units(self) -> Units:
        return self.asked or ("in" if self.in_inches else "mm")

    @property
    def unit_mm(self) -> float:
        """Mm for one unit of the file."""
        return MM_PER_UNIT["in" if self.in_inches else "mm"]

    @property
    def frame_is_open(self) -> bool:
        """Whether nothing says which way is level."""
        return self.level is None and not self.directions and not self.offsets

    @property
    def needs_level(self) -> bool:
        """Whether nothing says which way is level, from which an arm counts its angles."""
        return self.frame_is_open and bool(self.carried_mm)

    @property
    def arms(self) -> list[str]:
        return [f"{point.rpartition('.')[0]}'s arm" for point in self.carried_mm]

    @cached_property
    def level_taken(self) -> tuple[str, str] | None:
        """The line that is laid level where nothing says which is: the origin and the first point measured from it."""
        taped = (name for each in self.distances if self.origin in each.points for name in each.points)
        shown = (name for image in self.images for name in image.places)
        others = (name for name in (*taped, *shown, *self.points) if name != self.origin)
        return next(((self.origin, name) for name in others), None) if self.frame_is_open else None
