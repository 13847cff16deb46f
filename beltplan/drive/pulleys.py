"""A pulley as it was measured, the arm or slide that moves it, and how far the measurements may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar, Literal

import numpy as np

from beltplan.drive.belt import Belt
from beltplan.drive.loads import Load, UsualLoad
from beltplan.drive.mounts import Mount
from beltplan.geometry.vectors import TURN, Bools, Floats, from_angle, left_normal, norm, picked


@dataclass(frozen=True, eq=False)
class Uncertainty:
    """One standard deviation of the measurements of a layout or of one pulley; None where not given.

    position_mm: of x and of y of a centre, an arm's pivot, an end of a slide, and of an arm's length.
    diameter_mm: of a diameter. angle_deg: of an arm's angles.
    """

    position_mm: float | None = None
    diameter_mm: float | None = None
    angle_deg: float | None = None

    @property
    def says_anything(self) -> bool:
        """Whether any of them is given."""
        return any(value is not None for value in (self.position_mm, self.diameter_mm, self.angle_deg))


@dataclass(frozen=True, eq=False)
class Deviations:
    """One standard deviation of each kind of measurement, every one known."""

    position_mm: float
    diameter_mm: float
    angle_deg: float


NOTHING_SAID = Uncertainty()
TAPE_AND_CALIPERS = Deviations(position_mm=1.0, diameter_mm=0.2, angle_deg=0.5)
DEVIATIONS_SOURCE = "common practice, no source"
"""Where the deviations come from that hold where the layout gives none."""
ADDED_IDLER = "added_idler"
"""What an idler is called, with a number where there are more, that is proposed."""


def shifted(place: tuple[float, float], step: tuple[float, float]) -> tuple[float, float]:
    """A place so far off, mm; to a millionth, as it is written and read back."""
    return round(place[0] + step[0], 6), round(place[1] + step[1], 6)


# What moves a pulley to tighten the belt: an arm or a slide, with a spring or locked by hand.


@dataclass(frozen=True, eq=False)
class Track:
    """Where an adjuster can put its pulley, in one layout or in many over leading axes (...) that broadcast.

    origin: (..., 2) mm, the pivot of an arm or the start of a slide. lever: (...) mm for one unit of the setting: the
    arm's length, 1 on a slide. along: (..., 2) unit vector of a slide, None for an arm.
    travel: first and last setting. nominal: that of the design. marks: settings that bound the reserve, or None.
    """

    origin: Floats
    lever: Floats
    along: Floats | None
    travel: tuple[Floats, Floats]
    nominal: Floats
    marks: tuple[Floats, Floats] | None = None

    def centre_at(self, setting: Floats) -> Floats:
        """Centre of the pulley, (...) rad or mm -> (..., 2) mm."""
        if self.along is None:
            return np.asarray(self.origin + self.lever[..., None] * from_angle(setting))
        return np.asarray(self.origin + np.asarray(setting)[..., None] * self.along)

    def motion_at(self, setting: Floats) -> Floats:
        """Movement of the centre with the setting, (...) -> (..., 2) mm for one unit."""
        if self.along is None:
            return np.asarray(self.lever[..., None] * left_normal(from_angle(setting)))
        return np.broadcast_to(self.along, (*np.broadcast_shapes(np.shape(setting), self.along.shape[:-1]), 2))

    def picked(self, where: Bools) -> Track:
        along = None if self.along is None else picked(self.along, where, 1)
        first, last = (picked(stop, where) for stop in self.travel)
        marks = None if self.marks is None else (picked(self.marks[0], where), picked(self.marks[1], where))
        origin = picked(self.origin, where, 1)
        return Track(origin, picked(self.lever, where), along, (first, last), picked(self.nominal, where), marks)


def stacked_tracks(tracks: Sequence[Track]) -> Track:
    """Tracks of one kind as one over (N), without their marks."""
    rows = [(own.origin, own.lever, *own.travel, own.nominal) for own in tracks]
    origin, lever, first, last, nominal = (np.stack(values) for values in zip(*rows, strict=True))
    along = [own.along for own in tracks if own.along is not None]
    return Track(origin, lever, np.stack(along) if along else None, (first, last), nominal)


@dataclass(frozen=True)
class WrenchReadings:
    """What a torque wrench in an arm's square read, at two or more angles: the spring by straight line, and friction.

    rows: the arm's angle, deg; the torque turned against the spring, and the one turned back with it, Nm.

    >>> read = WrenchReadings(((98.0, 55.0, 47.0), (110.0, 49.0, 42.0)))
    >>> read.middle_deg, read.torque_Nm, round(read.slope_Nm_per_deg, 4), round(read.friction, 4)
    (104.0, 48.25, -0.4583, 0.0777)
    """

    rows: tuple[tuple[float, float, float], ...]

    def times(self, factor: float) -> WrenchReadings:
        """Of a spring so many times as strong on the same arm, whose friction, as a share, stays."""
        return WrenchReadings(tuple((angle, factor * up, factor * down) for angle, up, down in self.rows))

    @property
    def middle_deg(self) -> float:
        return float(np.mean([angle for angle, _, _ in self.rows]))

    @property
    def torque_Nm(self) -> float:
        """Of the line in the middle of the angles."""
        return float(np.mean(self._means_Nm))

    @property
    def slope_Nm_per_deg(self) -> float:
        """Of the line, as the angles count: a true spring's falls toward longer path."""
        return float(self._away_deg @ self._means_Nm / (self._away_deg @ self._away_deg))

    @property
    def off_Nm(self) -> float:
        """How far the furthest mean lies off the line."""
        line = self.torque_Nm + self.slope_Nm_per_deg * self._away_deg
        return float(np.abs(self._means_Nm - line).max())

    @property
    def friction(self) -> float:
        """Either way, as a share of the spring: half of the damping ratio 2 (A - B) / (A + B) of all readings."""
        _, up, down = np.sum(self.rows, axis=0)
        return float((up - down) / (up + down))

    @cached_property
    def _means_Nm(self) -> Floats:
        return np.array([0.5 * (up + down) for _, up, down in self.rows])

    @cached_property
    def _away_deg(self) -> Floats:
        return np.array([angle for angle, _, _ in self.rows]) - self.middle_deg


@dataclass(frozen=True)
class ArmSpring:
    """Spring of an arm: torque at an angle, falling by |rate| for each degree toward longer path.

    readings: where it comes from what a torque wrench read.
    """

    torque_Nm: float
    at_deg: float
    rate_Nm_per_deg: float
    readings: WrenchReadings | None = None

    @property
    def law(self) -> tuple[float, float, float]:
        """Torque, Nm, at an angle, deg, and its rate."""
        return self.torque_Nm, self.at_deg, self.rate_Nm_per_deg


@dataclass(frozen=True)
class SlideSpring:
    """Spring of a slide: force at a distance from `start`, falling by |rate| for each mm toward longer path."""

    force_N: float
    at_mm: float
    rate_N_per_mm: float

    readings: ClassVar[None] = None

    @property
    def law(self) -> tuple[float, float, float]:
        """Force, N, at a distance, mm, and its rate."""
        return self.force_N, self.at_mm, self.rate_N_per_mm


class _Adjusting:
    """What an arm and a slide have in common."""

    spring: ArmSpring | SlideSpring | None
    unit: ClassVar[str]
    own: ClassVar[float]
    """`unit` for one of the setting."""
    spring_scale: ClassVar[float]
    """What `spring_force_at` gives for one of the spring's own."""

    def spring_force_at(self, setting: Floats, longer: Floats | int) -> Floats:
        """Torque or force of the spring toward longer path, (...) -> (...) N mm of an arm, N of a slide; nothing
        without a spring.

        longer: +1 where the setting grows toward longer path, else -1. The spring falls by |rate| that way, to nothing.
        """
        if self.spring is None:
            return np.zeros(np.shape(setting))
        effort, at, rate = self.spring.law
        left = effort - abs(rate) * longer * (self.own * np.asarray(setting) - at)
        return np.asarray(self.spring_scale * np.maximum(left, 0.0))


@dataclass(frozen=True)
class Arm(_Adjusting):
    """A pulley on a swinging arm. Its setting is the arm's angle in rad, counter-clockwise from +x.

    stops_rad: travel from the first to the second. at_rad: where the design has it (None: mid-travel).
    marks_rad: (new, worn) angles that bound the reserve, where the arm carries such marks.
    tension_N: span tension to which an arm without spring is set, engine stopped. inertia_kgm2: about the pivot, with
    its pulley; None where not given.
    """

    pivot_mm: tuple[float, float]
    length_mm: float
    stops_rad: tuple[float, float]
    at_rad: float | None = None
    marks_rad: tuple[float, float] | None = None
    spring: ArmSpring | None = None
    tension_N: float | None = None
    inertia_kgm2: float | None = None

    kind: ClassVar[Literal["arm"]] = "arm"
    unit, own, spring_scale = "deg", float(np.degrees(1.0)), 1000.0
    points: ClassVar[tuple[str, ...]] = ("pivot",)
    """What is measured of where it is, by the keys of the layout."""

    def shifted(self, step: tuple[float, float]) -> Arm:
        """The same mounted elsewhere. step: in x and y, mm."""
        return replace(self, pivot_mm=shifted(self.pivot_mm, step))

    @property
    def travel(self) -> tuple[float, float]:
        return self.stops_rad

    @property
    def nominal(self) -> float:
        """Setting of the design: as given, else the middle of the travel."""
        return self.middle if self.at_rad is None else self.at_rad

    @property
    def middle(self) -> float:
        return 0.5 * (self.stops_rad[0] + self.stops_rad[1])

    @property
    def lever_mm(self) -> float:
        """Movement of the pulley's centre for one unit of the setting: the arm's length per rad."""
        return self.length_mm

    @cached_property
    def track(self) -> Track:
        marks = None if self.marks_rad is None else _arrays(self.marks_rad)
        pivot, length = np.asarray(self.pivot_mm), np.asarray(self.length_mm)
        return Track(pivot, length, None, _arrays(self.stops_rad), np.asarray(self.nominal), marks)


@dataclass(frozen=True)
class Slide(_Adjusting):
    """A pulley on a straight slide or slotted bracket. Its setting is the distance from `start_mm` in mm.

    at: where the design has it, a fraction from `start_mm` (None: the middle). tension_N: span tension to which a
    slide without spring is set, engine stopped. mass_kg: of what slides, with its pulley; None where not given.
    """

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    at: float | None = None
    spring: SlideSpring | None = None
    tension_N: float | None = None
    mass_kg: float | None = None

    kind: ClassVar[Literal["slide"]] = "slide"
    unit, own, spring_scale = "mm", 1.0, 1.0
    points: ClassVar[tuple[str, ...]] = ("from", "to")
    lever_mm: ClassVar[float] = 1.0

    @property
    def length_mm(self) -> float:
        return float(np.hypot(self.end_mm[0] - self.start_mm[0], self.end_mm[1] - self.start_mm[1]))

    def shifted(self, step: tuple[float, float]) -> Slide:
        """The same mounted elsewhere. step: in x and y, mm."""
        return replace(self, start_mm=shifted(self.start_mm, step), end_mm=shifted(self.end_mm, step))

    @property
    def travel(self) -> tuple[float, float]:
        return (0.0, self.length_mm)

    @property
    def nominal(self) -> float:
        """Setting of the design: as given (a fraction from `start_mm`), else the middle."""
        return self.middle if self.at is None else self.at * self.length_mm

    @property
    def middle(self) -> float:
        return 0.5 * self.length_mm

    @cached_property
    def track(self) -> Track:
        start, end = np.asarray(self.start_mm), np.asarray(self.end_mm)
        return slide_track(start, end, np.asarray(0.5 if self.at is None else self.at))


def slide_track(start: Floats, end: Floats, share: Floats) -> Track:
    """The track of slides from a start to an end, (..., 2) mm; share: (...) of the way, where the design has them.

    >>> track = slide_track(np.array([0.0, 0.0]), np.array([30.0, 40.0]), np.array(0.5))
    >>> track.nominal.item(), track.centre_at(np.array([0.0, 25.0, 50.0])).tolist()
    (25.0, [[0.0, 0.0], [15.0, 20.0], [30.0, 40.0]])
    """
    step = np.asarray(end - start)
    length = norm(step)
    stops = (np.zeros(length.shape), length)
    return Track(start, np.ones(()), step / length[..., None], stops, share * length)


def _arrays(pair: tuple[float, float]) -> tuple[Floats, Floats]:
    return np.asarray(pair[0]), np.asarray(pair[1])


Adjuster = Arm | Slide


def stops_of(adjuster: Adjuster) -> tuple[float, float]:
    """The two ends of the travel in the adjuster's unit, the lower first."""
    low, high = sorted(adjuster.own * stop for stop in adjuster.travel)
    return low, high


WAYS_ROUND = ("right", "up and right", "up", "up and left", "left", "down and left", "down", "down and right")
"""As seen from the front, an eighth of a turn apart."""


def way_of(turn: float) -> str:
    """Which way an angle points, rad.

    >>> [way_of(np.radians(deg)) for deg in (20.0, 100.0, -60.0)]
    ['right', 'up', 'down and right']
    """
    return WAYS_ROUND[round(len(WAYS_ROUND) * turn / TURN) % len(WAYS_ROUND)]


def stops_words(arm: Arm) -> str:
    """Which way an arm points at its stops, to be held against the engine."""
    ways = {f"{np.degrees(turn):.4g}": way_of(turn) for turn in sorted(arm.travel)}
    if len({*ways.values()}) == 1:
        return f"{way_of(arm.middle)} from its pivot at both stops, {' and '.join(ways)} deg"
    return f"from its pivot {' and '.join(f'{way} at {deg} deg' for deg, way in ways.items())}"


# A pulley as it was measured, and the radii that follow from it.

Role = Literal[
    "crankshaft",
    "alternator",
    "steering_pump",
    "hydraulic_pump",
    "air_conditioning",
    "water_pump",
    "fan",
    "air_compressor",
    "vacuum_pump",
    "supercharger",
    "idler",
    "tensioner",
    "other",
]
Side = Literal["ribbed", "back"]
Turns = Literal["clockwise", "counterclockwise", "either"]
_Reading = Literal["line", "rim"]

GUIDING_ROLES: tuple[Role, ...] = ("idler", "tensioner")
"""Roles that carry no load: they only guide the belt."""


@dataclass(frozen=True)
class Pulley:
    """One pulley as the layout gives it. Lengths in mm, whatever the file's units.

    diameter_mm with reading 'line' is the effective diameter (datum for classical sections) of a grooved pulley;
    with reading 'rim' it is what calipers read over the rib tips. On the back of the belt both are the outside
    diameter. at_mm is None where an adjuster carries the pulley. flange_mm: height of a side flange over the rim.
    side_open: either side of the belt may touch it, and belt_side is the one that is judged. optional: an idler that
    may be left out.
    overhang_mm: middle of the belt to its bearing, or to the nose it is bolted to, max_moment_Nm: the maker's highest
    bending moment there. pointer_radius_mm: radius at which its arm's pointer is read.
    tilt_deg: slope of its face along x (its pitch: its
    right edge nearer to the viewer) and along y (its yaw: its top nearer to the viewer).
    first_groove_used: the first in which the belt runs, counted from the engine. plane_by_grooves: whether plane_mm was
    found from the place of its grooves, so that it moves with the belt's ribs.
    movable_mm: how far its place (or that of its whole adjuster) may be moved. diameters_mm: those that can be had.
    usual_load: where `load` is not the user's own but a usual one. mount: what bolts its part on, from `bolted_at_mm`.
    """

    name: str
    role: Role
    diameter_mm: float
    reading: _Reading = "line"
    at_mm: tuple[float, float] | None = None
    adjuster: Adjuster | None = None
    belt_side: Side = "ribbed"
    grooves: int | None = None
    plane_mm: float | None = None
    tilt_deg: tuple[float, float] = (0.0, 0.0)
    first_groove_used: int = 1
    plane_by_grooves: bool = False
    turns: Turns | None = None
    max_rpm: float | None = None
    min_rpm: float | None = None
    rated_A: float | None = None
    flange_mm: float | None = None
    drives: bool = False
    inertia_kgm2: float | None = None
    load: Load | None = None
    usual_load: UsualLoad | None = None
    one_way: bool = False
    max_hub_load_N: float | None = None
    overhang_mm: float | None = None
    max_moment_Nm: float | None = None
    pointer_radius_mm: float | None = None
    side_open: bool = False
    optional: bool = False
    uncertainty: Uncertainty = NOTHING_SAID
    planned: bool = False
    movable_mm: float = 0.0
    diameters_mm: tuple[float, ...] = ()
    mount: Mount | None = None

    def planned_at(self, at_mm: tuple[float, float] | None, adjuster: Adjuster | None = None) -> Pulley:
        """The same at a place where it does not stand yet, of which no measurement of the old one tells anything."""
        unsure = replace(self.uncertainty, position_mm=None)
        return replace(self, at_mm=at_mm, adjuster=adjuster, planned=True, uncertainty=unsure)

    @property
    def own_load(self) -> Load | None:
        """The user's own, no usual one."""
        return None if self.usual_load else self.load

    @property
    def on_back(self) -> bool:
        """Whether it touches the back of the belt, outside the loop."""
        return self.belt_side == "back"

    @property
    def guides_only(self) -> bool:
        """Whether it is an idler or tensioner, with no accessory behind it."""
        return self.role in GUIDING_ROLES

    @property
    def bolted_at_mm(self) -> tuple[float, float]:
        """What its mount is measured from, which no setting moves: its centre, the arm's pivot, a slide's start."""
        if self.adjuster is None:
            assert self.at_mm is not None
            return self.at_mm
        return self.adjuster.pivot_mm if isinstance(self.adjuster, Arm) else self.adjuster.start_mm

    @property
    def mounted(self) -> Mount:
        """Its mount in the layout's frame; an empty one where it has none."""
        return Mount() if self.mount is None else self.mount.at(self.bolted_at_mm)

    @property
    def usable_grooves(self) -> int | None:
        """Grooves from the first one used on; None where their number is not given."""
        return None if self.grooves is None else self.grooves - self.first_groove_used + 1

    def line_diameter_mm(self, belt: Belt) -> float:
        """Diameter at the effective (or datum) line of a grooved pulley; the outside diameter of a smooth one."""
        if self.on_back or self.reading == "line":
            return self.diameter_mm
        return self.diameter_mm - belt.profile.rim_minus_line_mm

    def rim_radius_mm(self, belt: Belt) -> float:
        """Radius of the metal: over the rib tips, or the smooth face.

        >>> from beltplan.drive.belt import parse_designation
        >>> belt = parse_designation("6PK")
        >>> pulley = Pulley("fan", "fan", diameter_mm=120.0, reading="rim")
        >>> [round(r(belt), 4) for r in (pulley.rim_radius_mm, pulley.line_radius_mm, pulley.pitch_radius_mm)]
        [60.0, 60.1925, 62.1925]
        """
        rim = 0.0 if self.on_back else belt.profile.rim_minus_line_mm
        return (self.line_diameter_mm(belt) + rim) / 2.0

    @property
    def size_key(self) -> str:
        """The key of the layout file at which its size stands."""
        return "rim_diameter" if self.reading == "rim" else "diameter"

    def line_radius_mm(self, belt: Belt) -> float:
        """Radius at which the belt's effective (or datum) line runs round this pulley.

        Raises ValueError for a pulley on the back where the belt's back height is not known.
        """
        if not self.on_back:
            return self.line_diameter_mm(belt) / 2.0
        if belt.back_mm is None:
            raise ValueError(f"back height of profile {belt.profile.name} is not known")
        return self.diameter_mm / 2.0 + belt.back_mm

    def pitch_radius_mm(self, belt: Belt) -> float:
        """Radius at which the pulling cord runs: the one that speed and torque count on.

        Source: ISO 9981:2020, 5.4 (ratio on d_e + 2 b_e); on the back outside radius + depth of the cord,
        common practice, no source. A cord under the rim stays on a radius, however small the pulley (a finding).
        """
        if self.on_back:
            return self.diameter_mm / 2.0 + belt.cord_depth_mm
        line_mm = self.line_radius_mm(belt)
        return max(line_mm + belt.pitch_line_mm, line_mm / 2.0)

    def climb_mm(self, belt: Belt) -> float:
        """Height the belt must climb to be slipped over this pulley's rim: the ribs, and the flange where given."""
        return belt.profile.climb_mm + (self.flange_mm or 0.0)


def ratios_of(belt: Belt, pulleys: tuple[Pulley, ...]) -> Floats:
    """Speed of each pulley over the first one's, (n).

    Source: pitch radii without creep, see `Pulley.pitch_radius_mm`.

    >>> from beltplan.drive.belt import parse_designation
    >>> pulleys = (Pulley("crank", "crankshaft", 156.0), Pulley("alternator", "alternator", 56.0))
    >>> ratios_of(parse_designation("6PK"), pulleys).round(4).tolist()
    [1.0, 2.6667]
    """
    pitch = np.array([pulley.pitch_radius_mm(belt) for pulley in pulleys])
    return np.asarray(pitch[0] / pitch)
