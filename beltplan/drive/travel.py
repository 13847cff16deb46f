"""The pulleys in the order of belt travel, and the belt's path over the travel of the adjuster: where it is sound, how
long it is, how fast it grows, and the setting that a length asks for; for one layout, or for very many at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Pulley, Track, stacked_tracks
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, boxes_meet, crosses
from beltplan.geometry.loops import Loop, around, beside, close_loop, length_by_motion
from beltplan.geometry.pieces import Pieces, joined, picked_rows, pieces_of
from beltplan.geometry.vectors import Bools, Floats, Ints, norm

TOUCHING_MM = 1e-9
"""Rims that share less than this only touch."""


@dataclass(frozen=True, eq=False)
class Circuit:
    """Pulleys in the order that the belt passes them: one layout, or many over leading axes (...) that broadcast.

    base: the path with the adjuster at its nominal setting. rim: (n, ...) mm. turning: the way the loop goes round.
    moving: index of the adjusted pulley, and track: where it can go; None without one. A single layout has no axes.
    """

    pulleys: tuple[Pulley, ...]
    base: Pieces
    rim: Floats
    turning: int
    moving: int | None
    track: Track | None

    @property
    def adjuster(self) -> Adjuster | None:
        """What moves the adjusted pulley, as the layout gives it."""
        return None if self.moving is None else self.pulleys[self.moving].adjuster

    @property
    def adjusted(self) -> frozenset[int]:
        """Index of the adjusted pulley, if there is one."""
        return frozenset(() if self.moving is None else (self.moving,))

    @property
    def spans(self) -> tuple[tuple[Pulley, Pulley], ...]:
        """The pulleys at both ends of every span, in the same order."""
        return tuple(zip(self.pulleys, self.pulleys[1:] + self.pulleys[:1], strict=True))

    def ends(self, span: int) -> tuple[str, str]:
        """Names of the pulleys at the ends of a span."""
        return self.pulleys[span].name, self.pulleys[(span + 1) % len(self.pulleys)].name

    def span_name(self, span: int) -> str:
        """Name of a span, by the pulleys at its ends."""
        return " to ".join(self.ends(span))

    @property
    def centre(self) -> tuple[Floats, ...]:
        """Centres, n arrays (..., 2) mm, the adjusted pulley's at its nominal place."""
        return self.base.centre

    @property
    def radius(self) -> Floats:
        """Radii of the line, (n, ...) mm."""
        return self.base.radius

    @property
    def sense(self) -> Floats:
        """The way each pulley turns, (n)."""
        return self.base.sense

    @property
    def shape(self) -> tuple[int, ...]:
        """Leading axes of the whole: () for a single layout."""
        return np.broadcast_shapes(*(at.shape[:-1] for at in self.centre), self.radius.shape[1:], self.nominal.shape)

    @property
    def nominal(self) -> Floats:
        """The design's own setting, (...); 0 without an adjuster."""
        return np.zeros(()) if self.track is None else self.track.nominal

    def moved(self, centres: Mapping[int, Floats]) -> Circuit:
        """Many layouts of this one: some pulleys elsewhere, by index, (..., 2) mm each."""
        return replace(self, base=self.base.moved(centres))

    def picked(self, where: Bools) -> Circuit:
        track = None if self.track is None else self.track.picked(where)
        return replace(self, base=self.base.picked(where), rim=picked_rows(self.rim, where), track=track)

    def path_at(self, setting: Floats | float) -> Pieces:
        """The path for settings of the adjuster (any number without one), (...) -> Pieces over (...)."""
        if self.track is None or self.moving is None or setting is self.track.nominal:
            return self.base
        return self.base.moved({self.moving: self.track.centre_at(np.asarray(setting, dtype=float))})

    def centre_at(self, setting: Floats | float) -> Floats:
        """Centres for settings of the adjuster, (...) -> (..., n, 2) mm."""
        places, setting = list(self.centre), np.asarray(setting, dtype=float)
        if self.track is not None and self.moving is not None:
            places[self.moving] = self.track.centre_at(setting)
        lead = np.broadcast_shapes(setting.shape, *(place.shape[:-1] for place in places))
        return joined(places, lead)

    def loop_at(self, setting: Floats | float) -> Loop:
        """The loop for settings of the adjuster, (...), every part of it with all leading axes."""
        return close_loop(self.centre_at(setting), np.moveaxis(self.radius, 0, -1), self.sense)

    def slope_at(self, setting: Floats | float, path: Pieces | None = None) -> Floats:
        """Change of path length for one unit of the setting, (...) mm per rad or per mm; zero without an adjuster.

        path: at that setting, where it is laid already.
        """
        if self.track is None or self.moving is None:
            return np.zeros(np.shape(setting))
        own = self.path_at(setting) if path is None else path
        motion = self.track.motion_at(np.asarray(setting, dtype=float))
        return length_by_motion(own.direction[self.moving - 1], own.direction[self.moving], motion)

    def take_up_percent_at(self, setting: Floats | float, path: Pieces | None = None) -> Floats:
        """Take-up against the best that it could be, (...) %; zero where the belt only touches.

        Source: dL/dsetting (closed form) over lever x 2 sin(wrap / 2), its value when the movement bisects the spans.
        """
        own = self.path_at(setting) if path is None else path
        if self.adjuster is None or self.moving is None:
            return np.zeros(np.shape(setting))
        best = self.adjuster.lever_mm * 2.0 * np.sin(own.wrap[self.moving] / 2.0)
        return np.asarray(100.0 * np.abs(self.slope_at(setting, own)) / np.where(best > 0.0, best, np.inf))

    def sound_at(self, setting: Floats | float, among: frozenset[int] | None = None) -> Bools:
        """Whether there is a simple loop with every pulley on its side and no rims overlapping, (...).

        among: look only for rims, spans and arcs that meet those of these pulleys; None for all.
        """
        path = self.path_at(setting)
        sound = np.array(self.rims_apart(path, among) & self.one_turn(path))
        if sound.ndim < np.ndim(setting):
            sound = np.array(np.broadcast_to(sound, np.shape(setting)))
        if sound.any():
            sound[sound] = ~crosses(path.picked(sound), among)
        return sound

    def one_turn(self, path: Pieces | Loop) -> Bools:
        """Whether a path exists and makes one turn the circuit's way, (...)."""
        return np.asarray(np.abs(path.turns - self.turning) < WHOLE_LOOP_TURNS)

    def rims_apart(self, path: Pieces, among: frozenset[int] | None = None) -> Bools:
        """Whether no rim overlaps another one, (...)."""
        clear = (self.radius > 0.0).all(axis=0)
        for i, j in self._near_rims(path):
            if among is None or i in among or j in among:
                clear = clear & ~(self.rim_gap(path, i, j) < -TOUCHING_MM)
        return np.asarray(clear)

    def _near_rims(self, path: Pieces) -> Iterator[tuple[int, int]]:
        n = len(self.pulleys)
        over = (self.rim - self.radius).reshape(n, -1).max(axis=1)
        first, second = np.triu(boxes_meet(path.circle_boxes, over), 1).nonzero()
        return zip(first.tolist(), second.tolist(), strict=True)

    def rim_gap(self, path: Pieces, first: int, second: int) -> Floats:
        """How far the rims of two pulleys are apart, (...) mm."""
        apart = norm(path.centre[second] - path.centre[first])
        return np.asarray(apart - self.rim[first] - self.rim[second])


def circuit_of(layout: Layout, reverse: bool = False) -> Circuit:
    """Lay out the pulleys from the driver on, in the listed order or the other way round."""
    routed = layout.routed[::-1] if reverse else layout.routed
    first = routed.index(layout.driver)
    pulleys = routed[first:] + routed[:first]
    moving = next((i for i, pulley in enumerate(pulleys) if pulley.adjuster is not None), None)
    adjuster = None if moving is None else pulleys[moving].adjuster
    base = pieces_of(
        [np.asarray(place_of(pulley), dtype=float) for pulley in pulleys],
        np.array([pulley.line_radius_mm(layout.belt) for pulley in pulleys]),
        np.array([layout.sense_of(pulley) for pulley in pulleys], dtype=float),
    )
    rim = np.array([pulley.rim_radius_mm(layout.belt) for pulley in pulleys])
    return Circuit(pulleys, base, rim, layout.loop_sense, moving, None if adjuster is None else adjuster.track)


def stacked(circuits: Sequence[Circuit]) -> Circuit:
    """Circuits of the same pulleys on the same sides, with the same kind of adjuster, as one over (N)."""
    first, centres = circuits[0], zip(*(circuit.centre for circuit in circuits), strict=True)
    radius, rim = (np.stack([getattr(own, part) for own in circuits], axis=1) for part in ("radius", "rim"))
    tracks = [circuit.track for circuit in circuits if circuit.track is not None]
    base = pieces_of([np.stack(places) for places in centres], radius, first.sense)
    return replace(first, base=base, rim=rim, track=stacked_tracks(tracks) if tracks else None)


def place_of(pulley: Pulley) -> tuple[float, float]:
    """Centre of a pulley, mm; an adjusted one at its nominal place."""
    if pulley.adjuster is not None:
        x, y = pulley.adjuster.track.centre_at(np.asarray(pulley.adjuster.nominal))
        return float(x), float(y)
    if pulley.at_mm is None:
        raise ValueError(f"pulley {pulley.name} has no place")
    return pulley.at_mm


# The usable travel: where the path is sound and its length goes one way.

FEW = 9
"""Settings that are looked at first; where anything comes near to changing between two of them, `SAMPLES` are."""
SAMPLES = 121
_HALVES, _FINE_PARTS = (2, 30), (32, 10)
"""Parts and rounds that find an end inside the travel, to less than a thousand-millionth of it."""
_FEW_ENDS = 8
"""Up to so many layouts fine parts are quicker."""
_JUST_BEYOND = 1e-6
"""How far past an end of the usable travel, as a share of it, to look for what ends it."""
End = Literal["stop", "shortest path", "longest path", "no path"]
"""What ends the usable travel: a stop, the path turning back at either end, or the belt having no path any more."""
END_WORDS: Mapping[End, str] = MappingProxyType(
    {
        "stop": "rests on its stop",
        "shortest path": "rests where the path is shortest",
        "longest path": "runs to where the path is longest",
        "no path": "runs to where the belt has no path any more",
    }
)
"""What an adjuster does there."""


@dataclass(frozen=True, eq=False)
class Travel:
    """The usable part of the adjuster's travel: sound, and length going one way; (...) for many layouts.

    low, high: settings of both ends, rising. direction: sign of the change of length with the setting.
    low_cut, high_cut: whether it ends there before the adjuster's stop. low_lost, high_lost: whether because there is
    no sound path beyond; else the length turns back. at_nominal: whether the design's own setting lies in it.
    """

    low: Floats
    high: Floats
    direction: Floats
    low_cut: Bools
    high_cut: Bools
    low_lost: Bools
    high_lost: Bools
    at_nominal: Bools

    @property
    def short(self) -> Floats:
        return np.where(self.direction < 0.0, self.high, self.low)[()]

    @property
    def long(self) -> Floats:
        return np.where(self.direction < 0.0, self.low, self.high)[()]

    @property
    def whole(self) -> Bools:
        return np.asarray(~(self.low_cut | self.high_cut))

    @property
    def turns_back(self) -> Bools:
        """Whether it ends where the length turns back."""
        return np.asarray((self.low_cut & ~self.low_lost) | (self.high_cut & ~self.high_lost))

    @property
    def fails_at(self) -> tuple[float, ...]:
        """Settings of a single layout just past an end where there is no path."""
        step = _JUST_BEYOND * (self.high - self.low)
        beyond = ((self.low_lost, self.low - step), (self.high_lost, self.high + step))
        return tuple(float(at) for lost, at in beyond if lost)

    def position(self, setting: Floats | float) -> Floats:
        """0 at the short-path stop, 1 at the long-path stop."""
        span = np.asarray(self.long - self.short)
        return np.asarray((setting - self.short) / np.where(span == 0.0, 1.0, span))

    def ends_by(self, setting: float) -> End:
        """What ends the usable travel of a single layout at one of its ends."""
        low = abs(setting - self.low) <= abs(setting - self.high)
        cut, lost = (self.low_cut, self.low_lost) if low else (self.high_cut, self.high_lost)
        if not cut:
            return "stop"
        return "no path" if lost else "shortest path" if low == bool(self.direction > 0.0) else "longest path"

    def where(self, keep: Bools | Ints) -> Travel:
        """Only some of many layouts: here each has values of its own, where `picked` keeps what is the same for all."""
        return Travel(*(getattr(self, field.name)[keep] for field in fields(self)))

    def ends(self, circuit: Circuit) -> Floats:
        """Settings of both ends, (2, ...); (2, 1) where all of many layouts have the whole of the same travel."""
        if self.low.size > 1 and not circuit.nominal.ndim and self.whole.all():
            return np.array([self.low[:1], self.high[:1]])
        return np.stack((self.low, self.high))


def joined_travels(parts: Sequence[Travel]) -> Travel:
    """The travels of many layouts as one batch, along the first axis."""
    return Travel(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(Travel)))


def travel_of(circuit: Circuit) -> Travel | None:
    """The usable travel of a single layout, round its nominal setting or, where that has no sound path, the nearest
    setting that has.

    None where no setting gives a sound path, or there is no adjuster.
    """
    if circuit.track is None:
        return None
    home, found = nearest_sound(circuit)
    return travel_round(circuit, home) if found else None


def nearest_sound(circuit: Circuit) -> tuple[Floats, Bools]:
    """The nominal setting of every layout, kept to its travel, or the sample with a sound path that is nearest to it,
    and whether there is any; (...) each.
    """
    inside = circuit.nominal if circuit.track is None else np.clip(circuit.nominal, *_stops(circuit.track))
    found = circuit.sound_at(inside)
    home = np.array(np.broadcast_to(inside, found.shape))
    lost = ~found
    if circuit.track is not None and lost.any():
        own = circuit.picked(lost)
        setting = _settings(own, home[lost], SAMPLES)
        away = np.where(own.sound_at(setting), np.abs(setting - home[lost]), np.inf)
        home[lost] = _row(setting, away.argmin(axis=0))
        found[lost] = np.isfinite(away).any(axis=0)
    return home, found


def travel_round(circuit: Circuit, home: Floats) -> Travel:
    """The part of the travel round a setting where the path is sound and its length goes one way.

    home: (...), a setting of every layout with a sound path. Nine samples tell where something changes, 121 where it
    might unseen, and halving finds the end. Without an adjuster the travel is a single setting.
    """
    if circuit.track is None:
        nothing, no = np.zeros(circuit.shape), np.zeros(circuit.shape, dtype=bool)
        return Travel(nothing, nothing, nothing, no, no, no, no, ~no)
    scan, doubtful = _scanned(circuit, home, FEW)
    if doubtful.any():
        own, own_home = circuit.picked(doubtful), home[doubtful] if home.ndim else home
        again, _ = _scanned(own, own_home, SAMPLES)
        for field in fields(scan):
            getattr(scan, field.name)[doubtful] = getattr(again, field.name)
    low = _end(circuit, scan.direction, scan.low, scan.below)
    high = _end(circuit, scan.direction, scan.high, scan.above)
    step = _JUST_BEYOND * (high - low)
    lost = (_lost(circuit, low - step, scan.below), _lost(circuit, high + step, scan.above))
    at_nominal = np.broadcast_to(home == circuit.nominal, low.shape)
    travel = Travel(low, high, scan.direction, ~np.isnan(scan.below), ~np.isnan(scan.above), *lost, at_nominal)
    return travel if circuit.shape else travel.where(np.array(0))


@dataclass(frozen=True, eq=False)
class _Scan:
    """What samples along the travel tell of every layout, all (N).

    low, high: the outermost good settings round home, rising; below, above: the bad ones next to them, NaN at a stop
    of the adjuster. direction: sign of the slope.
    """

    low: Floats
    high: Floats
    below: Floats
    above: Floats
    direction: Floats


def _stops(track: Track) -> tuple[Floats, Floats]:
    first, last = track.travel
    return np.minimum(first, last), np.maximum(first, last)


def _settings(circuit: Circuit, home: Floats, count: int) -> Floats:
    """Even samples and `home` among them, so that its own part is found however short it is; (S, N), or (S, 1)."""
    assert circuit.track is not None
    even = np.linspace(*_stops(circuit.track), count)
    lead = np.broadcast_shapes(even.shape[1:], home.shape)
    even = even.reshape(count, *(1,) * (len(lead) - even.ndim + 1), *even.shape[1:])
    rows = np.concatenate((np.broadcast_to(even, (count, *lead)), np.broadcast_to(home, (1, *lead))))
    rows = np.sort(rows.reshape(count + 1, -1), axis=0)
    return np.asarray(rows[np.append(True, (np.diff(rows, axis=0) > 0.0).any(axis=1))])


def _row(values: Floats, number: Ints) -> Floats:
    """One row of values (S, N) or (S, 1) for every column, by number (N)."""
    columns = np.arange(values.shape[1]) if values.shape[1] != 1 else np.zeros((), dtype=np.intp)
    return np.asarray(values[number, columns])


def _scanned(circuit: Circuit, home: Floats, count: int) -> tuple[_Scan, Bools]:
    """The scan over so many samples, and whether something may change unseen between two of them."""
    setting = _settings(circuit, home, count)
    path = circuit.path_at(setting)
    slope = circuit.slope_at(setting, path)
    sign = np.sign(np.nan_to_num(slope))
    # A sample that falls just on the turning point belongs to the part after it.
    sign = np.where(sign == 0.0, np.append(sign[1:], sign[-2:-1], axis=0), sign)
    at_home = np.broadcast_to((setting == home).argmax(axis=0), sign.shape[1:])
    direction = _row(sign, at_home)
    good = _runs(circuit, path) & ~crosses(path, circuit.adjusted) & (sign == direction)
    number = np.arange(len(setting), dtype=np.int16)[:, None]
    first = np.where(~good & (number < at_home), number, -1).max(axis=0) + 1
    last = np.where(~good & (number > at_home), number, len(setting)).min(axis=0) - 1
    framed = np.pad(setting, ((1, 1), (0, 0)), constant_values=np.nan)
    direction = np.array(np.broadcast_to(direction, first.shape))
    scan = _Scan(_row(setting, first), _row(setting, last), _row(framed, first), _row(framed, last + 2), direction)
    return scan, _doubtful(circuit, setting, path, slope, first, last)


def _runs(circuit: Circuit, path: Pieces) -> Bools:
    # What does not move with the adjuster was looked at with the home setting.
    return np.asarray(circuit.one_turn(path) & circuit.rims_apart(path, circuit.adjusted))


def _doubtful(circuit: Circuit, setting: Floats, path: Pieces, slope: Floats, first: Ints, last: Ints) -> Bools:
    """Whether the slope, a wrap, a span or a gap of rims is so small that it may pass zero unseen between samples."""
    moving, n = circuit.moving or 0, len(path.span)
    watched = [np.abs(slope), *(path.wrap[i] for i in sorted(around(circuit.adjusted, n)))]
    # Between face and back a span is lost before the rims meet.
    watched += [path.span[i] for i in sorted(beside(circuit.adjusted, n))]
    watched += [circuit.rim_gap(path, index, moving) for index in range(n) if index != moving]
    inside: Bools | None = None
    found = np.zeros(len(first), dtype=bool)
    for values in watched:
        suspect = np.broadcast_to(_near_zero(setting, values), found.shape) & ~found
        if suspect.any():
            if inside is None:
                number = np.arange(len(values))[:, None]
                inside = (first <= number) & (number <= last)
            own = np.broadcast_to(values, inside.shape)[:, suspect]
            at = setting if setting.shape[1] == 1 else setting[:, suspect]
            found[suspect] = _near_zero(at, np.where(inside[:, suspect], own, np.nan))
    return found


def _near_zero(setting: Floats, values: Floats) -> Bools:
    """Whether a value comes nearer to zero than it leaves the straight line between its neighbouring samples.

    Between two samples a smooth value bends by about a quarter of that.
    """
    share = (setting[1:-1] - setting[:-2]) / (setting[2:] - setting[:-2])
    bend = values[1:-1] - values[:-2] - share * (values[2:] - values[:-2])
    return np.asarray(np.fmin.reduce(values, axis=0) < np.fmax.reduce(np.abs(bend), axis=0, initial=0.0))


def _end(circuit: Circuit, direction: Floats, inside: Floats, beyond: Floats) -> Floats:
    """An end of the travel, (N): `inside` at a stop, else what halving finds towards the bad setting `beyond`.

    Where the path does not cross itself beyond, crossing is left out at first, and all is done again with it where the
    end so found turns out to cross.
    """

    def halved(own: Bools, crossing: bool) -> Floats:
        return _halved(circuit.picked(own), direction[own], inside[own], beyond[own], crossing)

    def crossed(own: Bools, at: Floats) -> Bools:
        part = circuit.picked(own)
        return np.broadcast_to(crosses(part.path_at(at[own]), circuit.adjusted), (int(own.sum()),))

    end, tangled, simple = inside.copy(), ~np.isnan(beyond), ~np.isnan(beyond)
    if simple.any():
        simple[simple] = ~crossed(simple, beyond)
        end[simple] = halved(simple, crossing=False)
        tangled &= ~simple
        tangled[simple] = crossed(simple, end)
        end[tangled] = halved(tangled, crossing=True)
    return end


def _halved(circuit: Circuit, direction: Floats, inside: Floats, outside: Floats, crossing: bool) -> Floats:
    parts, rounds = _HALVES if len(inside) > _FEW_ENDS else _FINE_PARTS
    share = np.arange(parts + 1)[:, None] / parts
    for _ in range(rounds if len(inside) else 0):
        at = inside + share * (outside - inside)
        path = circuit.path_at(at[1:-1])
        fit = _runs(circuit, path) & (np.sign(np.nan_to_num(circuit.slope_at(at[1:-1], path))) == direction)
        if crossing:
            fit = fit & ~crosses(path, circuit.adjusted)
        good = np.logical_and.accumulate(fit, axis=0).sum(axis=0)
        inside, outside = _row(at, good), _row(at, good + 1)
    return inside


def _lost(circuit: Circuit, setting: Floats, beyond: Floats) -> Bools:
    """Whether there is no sound path at a setting, (N); looked at only where the travel is cut."""
    lost = ~np.isnan(beyond)
    if lost.any():
        lost[lost] = ~circuit.picked(lost).sound_at(setting[lost], circuit.adjusted)
    return lost
