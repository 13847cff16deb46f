"""Layouts as they may really be: measurements with random errors, all draws at once, and the usable travel of each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from beltplan.drive.fit import Windows
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Slide
from beltplan.drive.route import Route
from beltplan.drive.travel import SAMPLES as FINE_SAMPLES
from beltplan.drive.travel import SHORTEST_WINDOW_MM, TOUCHING_MM, Circuit, newton_inside
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, is_sound
from beltplan.geometry.loops import Loop, close_loop, length_by_motion, overlap
from beltplan.geometry.vectors import Bools, Floats, from_angle, left_normal
from beltplan.tolerance.measurements import UNIFORM_HALF_WIDTH, Measurement, Part

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


# The usable travel of every drawn layout, by the same rule as that of a single one, and where a belt puts it.

SAMPLES = 13
"""Places along the travel at which every draw is looked at."""
HALVINGS = 24
"""Rounds that find an end inside the travel to a few billionths of it."""
SOLVE_ROUNDS = 60
CLOSE = 1e-11


@dataclass(frozen=True, eq=False)
class Ends:
    """The usable part of each draw's travel: sound, and length going one way; (d) all.

    exists: whether there is any. low, high: shares of the whole travel. turns_back: whether the length turns back
    somewhere on the travel. cut: whether the part is not the whole travel.
    """

    exists: Bools
    low: Floats
    high: Floats
    turns_back: Bools
    cut: Bools


def usable_travel(drawn: Drawn) -> Ends:
    """The part of each draw's travel that holds its design setting, or lies nearest to it.

    Soundness is tested in full at the design setting and at both ends; between them at 13 places, where a path that
    makes one turn but crosses itself would pass.
    """
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None] * np.ones(drawn.count)
    slope = drawn.slope_at(share)
    home, found = _homes(drawn)
    direction = np.sign(np.nan_to_num(drawn.slope_at(home)))
    fit = drawn.one_turn_at(share) & (np.sign(np.nan_to_num(slope)) == direction)
    fit[0] &= drawn.sound_at(share[0])
    fit[-1] &= drawn.sound_at(share[-1])
    low = _edge(drawn, direction, home, share, fit, found, -1.0)
    high = _edge(drawn, direction, home, share, fit, found, 1.0)
    signs = np.where(np.isfinite(slope), np.sign(slope), 0.0)
    turns_back = ((signs > 0.0).any(axis=0) & (signs < 0.0).any(axis=0)) & found
    return Ends(found, low, high, turns_back, found & ((low > 0.0) | (high < 1.0)))


def _homes(drawn: Drawn) -> tuple[Floats, Bools]:
    """Where each draw's part is looked for: its design setting, else the sound place nearest to it."""
    home = np.clip(drawn.design, 0.0, 1.0)
    found = drawn.sound_at(home)
    lost = ~found
    if lost.any():
        home[lost], found[lost] = _nearest_sound(drawn.where(lost), home[lost])
    return home, found


def _nearest_sound(drawn: Drawn, wanted: Floats) -> tuple[Floats, Bools]:
    # The full test is dear, so it is made only where the cheap one passes, and everywhere only where they differ.
    share = np.linspace(0.0, 1.0, FINE_SAMPLES)[:, None] * np.ones(drawn.count)
    away = np.where(drawn.one_turn_at(share), np.abs(share - wanted), np.inf)
    home, found = share[np.argmin(away, axis=0), 0], np.asarray(np.isfinite(away).any(axis=0))
    differ = found & ~drawn.sound_at(home)
    if differ.any():
        away = np.where(drawn.where(differ).sound_at(share[:, differ]), away[:, differ], np.inf)
        home[differ], found[differ] = share[np.argmin(away, axis=0), 0], np.isfinite(away).any(axis=0)
    return home, found


def _edge(drawn: Drawn, direction: Floats, home: Floats, share: Floats, fit: Bools, found: Bools, way: float) -> Floats:
    """The end of the part on one side of home: the stop, or what bisection finds between the last two samples."""
    ahead = way * (share - home)
    stop = np.where(~fit & (ahead > 0.0), ahead, np.inf).min(axis=0)
    end = np.full(drawn.count, 0.5 * (1.0 + way))
    open_ = found & np.isfinite(stop)
    if open_.any():
        before = np.where(fit & (ahead > 0.0) & (ahead < stop), ahead, 0.0).max(axis=0)
        inside, outside = (home + way * at for at in (before, stop))
        end[open_] = _bisected(drawn.where(open_), direction[open_], inside[open_], outside[open_])
    return end


def _bisected(drawn: Drawn, direction: Floats, inside: Floats, outside: Floats) -> Floats:
    for _ in range(HALVINGS):
        middle = 0.5 * (inside + outside)
        fit = drawn.sound_at(middle) & (np.sign(np.nan_to_num(drawn.slope_at(middle))) == direction)
        inside, outside = np.where(fit, middle, inside), np.where(fit, outside, middle)
    return inside


def windows_of(layout: Layout, drawn: Drawn, ends: Ends) -> Windows:
    """The lengths that each draw can take, and what must be left of them; every draw must have a usable travel.

    Source: as `belts.fit.window_of`.
    """
    at = np.stack((ends.low, ends.high))
    loop = drawn.loop_at(at)
    shares, lengths = _by_length(at, loop.length)
    wrap = np.where((loop.length[0] <= loop.length[1])[:, None], loop.wrap[0], loop.wrap[1])
    fixed = [i for i in range(len(drawn.circuit.pulleys)) if i != drawn.circuit.moving]
    climb = np.array([drawn.circuit.pulleys[i].climb_mm(layout.belt) for i in fixed])
    reserved = lengths
    if drawn.marks is not None:
        marks = np.clip(drawn.marks, ends.low, ends.high)
        reserved = _by_length(marks, drawn.loop_at(marks).length)[1]
    fitting = (wrap[:, fixed] * climb).min(axis=-1)
    return Windows(shares[0], shares[1], lengths[0], lengths[1], reserved[0], reserved[1], fitting)


def _by_length(share: Floats, length: Floats) -> tuple[Floats, Floats]:
    order = np.argsort(length, axis=0, kind="stable")
    return np.take_along_axis(share, order, axis=0), np.take_along_axis(length, order, axis=0)


def share_for(drawn: Drawn, windows: Windows, length_mm: Floats) -> Floats:
    """Where a length puts each draw's adjuster, (d) mm -> (d); lengths outside the window give the nearer end.

    Bisection with Newton steps from the closed-form slope, as `belts.travel.setting_for`.
    """
    wanted = np.clip(length_mm, windows.shortest, windows.longest)
    low, high = windows.short, windows.long
    width = np.maximum(windows.longest - windows.shortest, SHORTEST_WINDOW_MM)
    share = low + (high - low) * (wanted - windows.shortest) / width
    for _ in range(SOLVE_ROUNDS):
        error, slope = _error_and_slope(drawn, share, wanted)
        low, high = np.where(error < 0.0, share, low), np.where(error < 0.0, high, share)
        new = newton_inside(slope, share, error, low, high)
        if np.all(np.abs(new - share) <= CLOSE):
            return np.asarray(new)
        share = new
    return np.asarray(share)


def _error_and_slope(drawn: Drawn, share: Floats, wanted: Floats) -> tuple[Floats, Floats]:
    loop = drawn.loop_at(share)
    if drawn.track is None or drawn.circuit.moving is None:
        return loop.length - wanted, np.zeros(share.shape)
    return loop.length - wanted, length_by_motion(loop, drawn.circuit.moving, drawn.track.motion_at(share))
