"""Layouts as they may really be: the measurements with random errors, all draws at once along the last leading axis."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.belts.adjusters import Arm, Slide
from beltplan.belts.circuit import TOUCHING_MM, Circuit
from beltplan.belts.route import Route
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, is_sound
from beltplan.geometry.loops import Loop, close_loop, overlap
from beltplan.geometry.sensitivity import length_by_motion
from beltplan.geometry.vectors import Bools, Floats, from_angle, left_normal
from beltplan.studies.measurements import UNIFORM_HALF_WIDTH, Measurement, Part

CHUNK_PAIRS = 90_000
"""Couples of pulleys in the draws worked on together: their arrays stay in the processor's cache."""
LEAST_CHUNK = 20


@dataclass(frozen=True, eq=False)
class ArmTrack:
    """Drawn arms. pivot: (d, 2) mm; length: (d) mm; first, last: (d) rad at the stops."""

    pivot: Floats
    length: Floats
    first: Floats
    last: Floats

    def centre_at(self, share: Floats) -> Floats:
        """Centre at a share of the travel from the first stop, (..., d) -> (..., d, 2) mm."""
        return np.asarray(self.pivot + self.length[:, None] * from_angle(self._angle(share)))

    def motion_at(self, share: Floats) -> Floats:
        """Movement of the centre with the share, (..., d) -> (..., d, 2) mm."""
        turn = self.length * (self.last - self.first)
        return np.asarray(turn[:, None] * left_normal(from_angle(self._angle(share))))

    def _angle(self, share: Floats) -> Floats:
        return self.first + share * (self.last - self.first)

    def where(self, keep: Bools | slice) -> ArmTrack:
        """Only some of the draws."""
        return ArmTrack(self.pivot[keep], self.length[keep], self.first[keep], self.last[keep])


@dataclass(frozen=True, eq=False)
class SlideTrack:
    """Drawn slides. start, end: (d, 2) mm."""

    start: Floats
    end: Floats

    def centre_at(self, share: Floats) -> Floats:
        """Centre at a share of the way, (..., d) -> (..., d, 2) mm."""
        return np.asarray(self.start + share[..., None] * (self.end - self.start))

    def motion_at(self, share: Floats) -> Floats:
        """Movement of the centre with the share, (..., d) -> (..., d, 2) mm."""
        return np.broadcast_to(self.end - self.start, (*share.shape, 2))

    def where(self, keep: Bools | slice) -> SlideTrack:
        """Only some of the draws."""
        return SlideTrack(self.start[keep], self.end[keep])


Track = ArmTrack | SlideTrack


@dataclass(frozen=True, eq=False)
class Drawn:
    """Drawn layouts, d of them, with the pulleys in the direction of belt travel of the layout as given.

    centre: (d, n, 2) mm, the adjusted pulley's not used; radius, rim: (d, n) mm. track: of the adjusted pulley, whose
    place is told by its share of the travel from the first stop. design: (d) share of the design setting, which an
    error may put past a stop. marks: (2, d) shares. belt: (d) in -1 to 1, the belt's place in its length tolerance.
    """

    circuit: Circuit
    centre: Floats
    radius: Floats
    rim: Floats
    track: Track | None
    design: Floats
    marks: Floats | None
    belt: Floats

    @property
    def count(self) -> int:
        """Number of draws."""
        return len(self.radius)

    def where(self, keep: Bools | slice) -> Drawn:
        """Only some of the draws."""
        track = None if self.track is None else self.track.where(keep)
        marks = None if self.marks is None else self.marks[:, keep]
        arrays = {name: getattr(self, name)[keep] for name in ("centre", "radius", "rim", "design", "belt")}
        return replace(self, track=track, marks=marks, **arrays)

    def chunks(self) -> list[Drawn]:
        """The draws in handy pieces."""
        size = max(LEAST_CHUNK, CHUNK_PAIRS // self.radius.shape[-1] ** 2)
        return [self.where(slice(first, first + size)) for first in range(0, self.count, size)]

    def loop_at(self, share: Floats) -> Loop:
        """The loop of every draw for places of the adjuster, (..., d) -> Loop over (..., d)."""
        return close_loop(self._centre_at(share), self.radius, self.circuit.sense)

    def slope_at(self, share: Floats) -> Floats:
        """Change of path length with the share, (..., d) mm; zero without an adjuster."""
        if self.track is None or self.circuit.moving is None:
            return np.zeros(share.shape)
        return length_by_motion(self.loop_at(share), self.circuit.moving, self.track.motion_at(share))

    def sound_at(self, share: Floats) -> Bools:
        """Whether there is a simple loop with every pulley on its side and no rims overlapping, (..., d)."""
        return np.asarray(is_sound(self.loop_at(share), float(self.circuit.turning)) & self._apart(share))

    def one_turn_at(self, share: Floats) -> Bools:
        """The part of `sound_at` that costs little: everything but whether the path crosses itself."""
        loop = self.loop_at(share)
        turned = np.abs(loop.turns - float(self.circuit.turning)) < WHOLE_LOOP_TURNS
        return np.asarray(loop.exists & turned & self._apart(share))

    def _apart(self, share: Floats) -> Bools:
        depth, _ = overlap(self._centre_at(share), self.rim)
        return np.asarray(~(depth > TOUCHING_MM).any(axis=-1) & (self.radius > 0.0).all(axis=-1))

    def _centre_at(self, share: Floats) -> Floats:
        if self.track is None:
            return np.broadcast_to(self.centre, (*share.shape, *self.centre.shape[1:]))
        centre = np.array(np.broadcast_to(self.centre, (*share.shape, *self.centre.shape[1:])))
        centre[..., self.circuit.moving, :] = self.track.centre_at(share)
        return centre


def drawn_layouts(route: Route, measurements: tuple[Measurement, ...], draws: int, seed: int) -> Drawn:
    """Draw layouts: every measurement with an error of its own; the belt uniform over its length tolerance.

    Same seed, same draws.
    """
    errors, belt = _errors(measurements, draws, seed)
    circuit, layout = route.circuit, route.layout
    count = len(circuit.pulleys)
    centre = np.stack(
        [np.stack([errors.of(i, "x"), errors.of(i, "y")], axis=-1) + circuit.centre[i] for i in range(count)], axis=1
    )
    half = np.stack([0.5 * errors.of(i, "diameter") for i in range(count)], axis=-1)
    nominal, middle = layout.belt.profile.rim_minus_line_mm, 0.5 * sum(layout.belt.profile.rim_range_mm)
    by_rim = {measurement.index for measurement in measurements if measurement.part == "rim height"}
    # The range of the rim's height need not lie evenly about its nominal.
    shift = np.array([middle - nominal if i in by_rim else 0.0 for i in range(count)])
    height = shift + np.stack([errors.of(i, "rim height") for i in range(count)], axis=-1)
    track, design, marks = _track(circuit, errors, draws)
    radius = circuit.radius + half - 0.5 * height
    return Drawn(circuit, centre, radius, circuit.rim + half, track, design, marks, belt)


@dataclass(frozen=True, eq=False)
class _Errors:
    """Errors by pulley and part, each (d); nothing for what is not measured."""

    by_part: dict[tuple[int, Part], Floats]
    draws: int

    def of(self, index: int, part: Part) -> Floats:
        return self.by_part.get((index, part), np.zeros(self.draws))


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


def _track(circuit: Circuit, errors: _Errors, draws: int) -> tuple[Track | None, Floats, Floats | None]:
    adjuster, i = circuit.adjuster, circuit.moving
    if adjuster is None or i is None:
        return None, np.zeros(draws), None
    if isinstance(adjuster, Slide):
        start = adjuster.start_mm + np.stack([errors.of(i, "from x"), errors.of(i, "from y")], axis=-1)
        end = adjuster.end_mm + np.stack([errors.of(i, "to x"), errors.of(i, "to y")], axis=-1)
        return SlideTrack(start, end), np.full(draws, adjuster.nominal / adjuster.length_mm), None
    return _arm_track(adjuster, errors, i)


def _arm_track(arm: Arm, errors: _Errors, i: int) -> tuple[Track, Floats, Floats | None]:
    pivot = np.asarray(arm.pivot_mm) + np.stack([errors.of(i, "pivot x"), errors.of(i, "pivot y")], axis=-1)
    first = arm.stops_rad[0] + np.radians(errors.of(i, "first stop"))
    last = arm.stops_rad[1] + np.radians(errors.of(i, "second stop"))

    def share(angle: float, part: Part) -> Floats:
        return np.asarray((angle + np.radians(errors.of(i, part)) - first) / (last - first))

    design = np.full(errors.draws, 0.5) if arm.at_rad is None else share(arm.at_rad, "design angle")
    marks = None
    if arm.marks_rad is not None:
        marks = np.stack((share(arm.marks_rad[0], "new mark"), share(arm.marks_rad[1], "worn mark")))
    return ArmTrack(pivot, arm.length_mm + errors.of(i, "arm length"), first, last), design, marks
