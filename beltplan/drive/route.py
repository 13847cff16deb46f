"""The belt's route over a layout: which way round it runs, or why it cannot; the window, the belt that is judged, the
geometry it makes, and how fast everything turns."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from beltplan.drive.belt import Belt, format_designation, line_length_mm
from beltplan.drive.fit import (
    FittedBelt,
    Window,
    acceptable_lengths,
    ends_to_ask_for,
    fitted_in_window,
    fitted_on_fixed,
    may_be_sold,
    setting_for,
    stretch_lengths,
    window_of,
)
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Pulley, Slide, Turns, slide_track
from beltplan.drive.travel import SAMPLES, TOUCHING_MM, Circuit, Travel, circuit_of, stacked, travel_of, travel_round
from beltplan.geometry.crossing import WHOLE_LOOP_TURNS, crossings
from beltplan.geometry.loops import Loop, length_by_centre, length_by_motion, overlap
from beltplan.geometry.pieces import Pieces
from beltplan.geometry.vectors import TURN, Floats, norm

_MISSED_RAD = np.radians(300.0)
"""A wrap beyond this, where the turns do not add up, is a pulley that the belt misses."""
_MOST_CROSSINGS = 6
"""So many are told of a belt that crosses itself."""


class _Crossing(NamedTuple):
    """Where a belt crosses itself: the two parts of it, spans or the pulleys that they lie on, and words for it."""

    words: str
    first: str
    second: str


@dataclass(frozen=True, eq=False)
class PathFault:
    """Why there is no belt path: the pulleys concerned, what was found and what is needed, in words.

    overlap: how much of the sum of their radii two rims share; 0 where they do not.
    """

    pulleys: tuple[str, ...]
    got: str
    allowed: str
    crossings: tuple[_Crossing, ...] = ()
    overlap: float = 0.0


class NoBeltPath(ValueError):
    """There is no belt path anywhere on the adjuster's travel."""

    def __init__(self, faults: tuple[PathFault, ...]) -> None:
        super().__init__("; ".join(fault.got for fault in faults))
        self.faults = faults


def circuit_for(layout: Layout) -> tuple[Circuit, bool]:
    """The pulleys in the direction of belt travel that gives a simple loop, and whether both directions do.

    If both are sound, the listed order is taken.
    Raises NoBeltPath where neither is, anywhere on the adjuster's travel.
    """
    circuits = _ways_round(layout)
    at_nominal = [bool(circuit.sound_at(_settings(circuit)[-1])) for circuit in circuits]
    # The whole travel is looked at only where the design's own setting decides nothing.
    sound = at_nominal if any(at_nominal) else [bool(c.sound_at(_settings(c)).any()) for c in circuits]
    if not any(sound):
        raise NoBeltPath(_why_not(circuits))
    return circuits[sound.index(True)], sum(at_nominal) == 2


def _ways_round(layout: Layout) -> tuple[Circuit, ...]:
    # Two pulleys make the same loop either way.
    return tuple(circuit_of(layout, reverse) for reverse in ((False, True) if len(layout.route) > 2 else (False,)))


def _settings(circuit: Circuit) -> Floats:
    if circuit.adjuster is None:
        return np.zeros(1)
    return np.append(np.linspace(*circuit.adjuster.travel, SAMPLES), circuit.adjuster.nominal)


def _why_not(circuits: tuple[Circuit, ...]) -> tuple[PathFault, ...]:
    """Rims that overlap wherever the adjuster is; else the reasons at its own setting, the nearer way round."""
    overlaps = _overlaps(circuits[0], _settings(circuits[0]))
    return overlaps or why_not_at(*_nearest_to_sound(circuits))


def unsound(layout: Layout) -> tuple[Circuit, Loop]:
    """Of a layout without a belt path, the way round that is nearest to one, and its loop at the design setting."""
    circuit, setting = _nearest_to_sound(_ways_round(layout))
    return circuit, circuit.loop_at(setting)


def _nearest_to_sound(circuits: tuple[Circuit, ...]) -> tuple[Circuit, float]:
    setting = float(_settings(circuits[0])[-1])
    return min(circuits, key=lambda circuit: _distance_from_sound(circuit, circuit.loop_at(setting))), setting


def why_not_at(circuit: Circuit, setting: float) -> tuple[PathFault, ...]:
    """Why there is no sound path at a setting without one: overlaps, else tangents, else misses or crossings."""
    overlaps = _overlaps(circuit, np.array([setting]))
    loop = circuit.loop_at(setting)
    if overlaps or not loop.exists:
        return overlaps or _missing_tangents(circuit, loop)
    return _missed(circuit, loop) or _crossed(circuit, loop)


def _distance_from_sound(circuit: Circuit, loop: Loop) -> tuple[bool, int, float]:
    # The fewest crossings: a missed pulley makes one, the same route run the wrong way round makes more.
    if not loop.exists:
        return (True, 0, 0.0)
    crossed = sum(bool(hit) for *_, hit in crossings(Pieces.of(loop)))
    return (False, crossed, round(abs(float(loop.turns) - circuit.turning), 3))


def _overlaps(circuit: Circuit, settings: Floats) -> tuple[PathFault, ...]:
    depth, pairs = overlap(circuit.centre_at(settings), circuit.rim)
    always = depth.min(axis=0)
    names = [pulley.name for pulley in circuit.pulleys]
    return overlap_faults(names, circuit.rim, pairs, always)


def overlap_faults(
    names: Sequence[str], rim: Floats, pairs: Sequence[tuple[int, int]], depth: Floats
) -> tuple[PathFault, ...]:
    """The pairs of discs that share ground, in words. rim: radii (n) mm; depth: of each pair, mm, as `overlap` says."""
    found = []
    for (i, j), deep in zip(pairs, depth.tolist(), strict=True):
        if deep > TOUCHING_MM:
            first, second, need = names[i], names[j], float(rim[i] + rim[j])
            got = f"{first} and {second} overlap by {deep:.2f} mm: centres {need - deep:.2f} mm apart"
            allowed = f"{need:.2f} mm or more, the sum of their radii"
            found.append(PathFault((first, second), got, allowed, overlap=deep / need))
    return tuple(found)


def _missing_tangents(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    # Rims stand apart here, so the line of a pulley on the back meets that of one on the ribs.
    found, n = [], len(circuit.pulleys)
    for i in np.flatnonzero(np.isnan(loop.span)).tolist():
        j = (i + 1) % n
        couple = (circuit.pulleys[i].name, circuit.pulleys[j].name)
        apart = float(np.linalg.norm(loop.centre[i] - loop.centre[j]))
        need = float(abs(loop.sense[i] * loop.radius[i] - loop.sense[j] * loop.radius[j]))
        numbers = f"centres {apart:.2f} mm apart, but over {need:.2f} mm needed"
        got = f"{couple[0]} and {couple[1]} leave no room for the belt: {numbers}"
        found.append(PathFault(couple, got, f"these two {need - apart:.2f} mm farther apart"))
    return tuple(found)


def _missed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    if abs(float(loop.turns) - circuit.turning) < WHOLE_LOOP_TURNS:
        return ()
    return tuple(
        PathFault(
            (pulley.name,),
            f"on this side the belt never touches {pulley.name}",
            f"a place, a belt_side ({pulley.belt_side} now) or a position in the route where the belt leans on it",
        )
        for pulley, wrap in zip(circuit.pulleys, loop.wrap, strict=True)
        if wrap > _MISSED_RAD
    )


def _crossed(circuit: Circuit, loop: Loop) -> tuple[PathFault, ...]:
    names, n = [pulley.name for pulley in circuit.pulleys], len(circuit.pulleys)
    parts = [*(f"{names[i]} to {names[(i + 1) % n]}" for i in range(n)), *names]
    hits = sorted(((i >= n) + (j >= n), i, j) for i, j, hit in crossings(Pieces.of(loop)) if hit)
    told = ("span {} crosses span {}", "span {} crosses the belt on {}", "the belt on {} runs into the belt on {}")
    every = [_Crossing(told[kind].format(parts[i], parts[j]), parts[i], parts[j]) for kind, i, j in hits]
    if not every:
        # A loop that does not cross itself goes round once: here the other way than its pulleys turn.
        back = tuple(pulley.name for pulley in circuit.pulleys if pulley.on_back)
        got = f"the belt would lie inside out, with its back on {', '.join(back)}"
        return (PathFault(back, got, "`belt_side: ribbed` for those that the belt goes round"),)
    some = tuple(every[:_MOST_CROSSINGS])
    words = [f"({number}) {each.words}" for number, each in enumerate(some, 1)]
    if len(every) > len(some):
        words.append(f"and {len(every) - len(some)} more crossings")
    got = f"the belt would cross itself, either way round: {'; '.join(words)}"
    return (PathFault(tuple(names), got, "an order and belt sides for which the belt does not cross itself", some),)


# The belt's route over a layout: the path, the window, the belt that is judged, and the geometry it makes.


@dataclass(frozen=True, eq=False)
class Route:
    """A layout with its belt on.

    circuit: pulleys in the direction of belt travel, from the driver. both_ways: either direction would be sound.
    travel, window: of the adjuster, None without one. needed_mm: path length at the design setting, None where there
    is no path there. stock: belts that fit, best first. judged: the one judged, None where none fits or the named
    belt does not. length_mm: length along the followed line that is judged. setting: where that puts the adjuster.
    loop: the geometry there.
    """

    layout: Layout
    circuit: Circuit
    both_ways: bool
    travel: Travel | None
    window: Window[float] | None
    needed_mm: float | None
    stock: tuple[FittedBelt, ...]
    judged: FittedBelt | None
    length_mm: float
    setting: float | None
    loop: Loop

    @property
    def pulleys(self) -> tuple[Pulley, ...]:
        """Pulleys in the direction of belt travel, from the driver."""
        return self.circuit.pulleys

    @property
    def spans(self) -> tuple[tuple[Pulley, Pulley], ...]:
        """The pulleys at both ends of every span, in the same order."""
        return tuple(zip(self.pulleys, self.pulleys[1:] + self.pulleys[:1], strict=True))

    @property
    def moving(self) -> Pulley | None:
        return None if self.circuit.moving is None else self.pulleys[self.circuit.moving]

    @property
    def named_outside(self) -> bool:
        """Whether the layout names a belt that does not fit."""
        return self.layout.belt.length_mm is not None and self.judged is None

    @property
    def last_over(self) -> str | None:
        """The fixed pulley over which the belt slips last, the easiest; None without an adjuster."""
        return None if self.window is None else self.pulleys[int(self.window.last_over)].name

    @property
    def designation(self) -> str | None:
        """Designation of the belt judged, None where the layout names none and none fits."""
        if self.judged is not None:
            return self.judged.designation
        return format_designation(self.layout.belt) if self.named_outside else None

    @property
    def position(self) -> float | None:
        """Place of the adjuster in its usable travel, 0 short to 1 long."""
        if self.travel is None or self.setting is None:
            return None
        return float(self.travel.position(self.setting))

    @property
    def acceptable_mm(self) -> tuple[float, float] | None:
        """Least and most belt length, along the followed line, that is good here; None where none is."""
        if self.window is not None:
            return acceptable_lengths(self.layout.belt, self.window)
        return None if self.needed_mm is None else stretch_lengths(self.layout.belt, self.needed_mm)

    @property
    def to_ask_for_mm(self) -> tuple[float, float] | None:
        """Least and most length to ask a supplier for, where none of the built-in list fits but others may be sold.

        What is good, and where nothing is, what can be put on at all.
        """
        if self.judged is not None:
            return None
        if self.window is None:
            good = self.acceptable_mm
            return good if good is not None and may_be_sold(self.layout, *good) else None
        least, most, any_sold = ends_to_ask_for(self.layout, self.window)
        return (float(least), float(most)) if any_sold else None


def route_of(layout: Layout) -> Route:
    """Lay the belt: direction, travel, window, the belts that fit, and the geometry that the judged one makes.

    Raises NoBeltPath where there is no belt path anywhere on the adjuster's travel.
    """
    circuit, both_ways = circuit_for(layout)
    return belted(layout, circuit, both_ways, travel_of(circuit))


def with_known_push(layout: Layout, laid: Route | None = None) -> Layout:
    """The layout with the way in which its adjuster's spring pushes, as its own path tells it: toward longer path.

    A spring does not turn about with the belt. On another path that would take a push the other way, which a layout
    without this cannot know. As it is where that is known, where no belt can be laid, or where what a wrench read says
    otherwise. laid: its route, where it has been laid.
    """
    held = None if layout.adjusted is None else layout.adjusted.adjuster
    if layout.pushes or held is None or held.spring is None:
        return layout
    try:
        travel = (laid or route_of(layout)).travel
    except NoBeltPath:
        return layout
    way, read = 0 if travel is None else int(travel.direction), held.spring.readings
    return layout if read is not None and read.slope_Nm_per_deg * way > 0.0 else replace(layout, pushes=way)


def with_push_of(layout: Layout, other: Layout) -> Layout:
    """The layout with the push that is known of another, where the same spring is mounted the same way round."""
    own, held = (None if each.adjusted is None else each.adjusted.adjuster for each in (layout, other))
    if own is None or held is None or own.kind != held.kind or own.spring != held.spring:
        return layout
    # A slide that is turned about pushes the other way along itself.
    along = [np.subtract(each.end_mm, each.start_mm) for each in (own, held) if isinstance(each, Slide)]
    return layout if along and along[0] @ along[1] <= 0.0 else replace(layout, pushes=other.pushes)


def routes_of(layouts: Sequence[Layout]) -> list[Route | None]:
    """The routes of many layouts, None where there is no belt path; those over the same pulleys are laid at once."""
    found: list[Route | None] = [None] * len(layouts)
    groups: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    ways = [_ways_round(layout) for layout in layouts]
    for i, (circuit, *_) in enumerate(ways):
        kinds = tuple((p.name, p.on_back, p.adjuster and p.adjuster.kind) for p in circuit.pulleys)
        groups[circuit.turning, kinds].append(i)
    for numbers in groups.values():
        for i, laid in zip(numbers, _laid([ways[i] for i in numbers]), strict=True):
            with suppress(NoBeltPath):
                found[i] = route_of(layouts[i]) if laid is None else belted(layouts[i], *laid)
    return found


_Laid = tuple[Circuit, bool, Travel | None]


def _laid(ways: Sequence[tuple[Circuit, ...]]) -> list[_Laid | None]:
    """The same as `circuit_for` and `travel_of` give for each of many layouts; None where that is to be asked."""
    found: list[_Laid | None] = [None] * len(ways)
    circuits = [stacked(each) for each in zip(*ways, strict=True)] if len(ways) > 1 else []
    sound = [np.broadcast_to(circuit.sound_at(circuit.nominal), len(ways)) for circuit in circuits]
    for way, circuit in enumerate(circuits):
        own = np.flatnonzero(sound[way] & ~np.any(sound[:way], axis=0))
        if not len(own):
            continue
        own_circuit = circuit.picked(np.isin(np.arange(len(ways)), own))
        travels = None if circuit.track is None else travel_round(own_circuit, own_circuit.nominal)
        for k, i in enumerate(own.tolist()):
            both = sum(bool(each[i]) for each in sound) == 2
            found[i] = (ways[i][way], both, None if travels is None else travels.where(np.array(k)))
    return found


def belted(layout: Layout, circuit: Circuit, both_ways: bool, travel: Travel | None) -> Route:
    """The route over a path with its travel: the belts that fit, and the geometry that the judged one makes."""
    window: Window[float] | None = None
    needed: float | None = None
    stock: tuple[FittedBelt, ...] = ()
    if travel is None or travel.at_nominal:
        needed = float(circuit.base.length)
    if travel is not None:
        window = window_of(layout, circuit, travel).single
        stock = fitted_in_window(layout, circuit, travel, window)
    elif needed is not None:
        stock = fitted_on_fixed(layout, needed)
    named = None if layout.belt.length_mm is None else line_length_mm(layout.belt)
    judged = next((fitted for fitted in stock if named is None or fitted.belt == layout.belt), None)
    setting = None if window is None else _setting(circuit, travel, window, judged, named)
    loop = circuit.loop_at(setting or 0.0)
    length = judged.line_mm if judged is not None else float(loop.length) if named is None else named
    return Route(layout, circuit, both_ways, travel, window, needed, stock, judged, length, setting, loop)


def _setting(
    circuit: Circuit, travel: Travel | None, window: Window[float], judged: FittedBelt | None, named_mm: float | None
) -> float | None:
    if circuit.adjuster is None or travel is None:
        return None
    if judged is not None:
        return judged.setting
    if named_mm is not None:
        return float(travel.short if named_mm < window.shortest else travel.long)
    return float(middle_of(circuit.adjuster, travel))


def middle_of(adjuster: Adjuster, travel: Travel) -> Floats:
    """Setting in the middle of the adjuster's travel, or of its usable part where that does not hold it, (...)."""
    inside = (travel.low <= adjuster.middle) & (adjuster.middle <= travel.high)
    return np.where(inside, adjuster.middle, 0.5 * (travel.low + travel.high))


# How well an adjuster takes up belt where it works.


def take_up_per_unit(route: Route) -> float | None:
    """Change of path length for one unit of the adjuster's setting, mm per rad or per mm; None without an adjuster."""
    moving, track, along = route.circuit.moving, route.circuit.track, route.loop.direction
    if route.setting is None or moving is None or track is None:
        return None
    return abs(float(length_by_motion(along[moving - 1], along[moving], track.motion_at(np.asarray(route.setting)))))


def take_up_percent(route: Route) -> float | None:
    """Take-up against the best that it could be, %; None without an adjuster.

    Source: dL/dsetting (closed form) over lever x 2 sin(wrap / 2), its value when the movement bisects the spans.
    """
    moving, adjuster, slope = route.circuit.moving, route.circuit.adjuster, take_up_per_unit(route)
    if moving is None or adjuster is None or slope is None:
        return None
    return float(share_of_best_percent(np.asarray(slope), adjuster.lever_mm, route.loop.wrap[moving]))


def share_of_best_percent(slope: Floats, lever_mm: float, wrap_rad: Floats) -> Floats:
    """A take-up in mm for one unit of the setting against its best, (...) %; zero where the belt only touches.

    >>> share_of_best_percent(np.array([160.0, 80.0]), 80.0, np.array(np.pi)).tolist()
    [100.0, 50.0]
    """
    best = lever_mm * 2.0 * np.sin(np.asarray(wrap_rad) / 2.0)
    return np.asarray(100.0 * slope / np.where(best > 0.0, best, np.inf))


# Which way and how far a pulley would have to move to make a belt fit a drive without an adjuster.

_FARTHEST_MM = 200.0


class _Move(NamedTuple):
    """A movement of one pulley's centre: distance in mm, direction in rad counter-clockwise from +x."""

    distance_mm: float
    direction_rad: float
    pulley: str


def shortest_move(route: Route, length_mm: float) -> _Move | None:
    """The smallest straight movement of one pulley, the driver left alone, that makes the path a given length.

    Each pulley is moved along its steepest change of length (dL/dc), as a slide would take it.
    None where no pulley within 200 mm does it with a sound path all the way.
    """
    indices = range(1, len(route.pulleys))
    moves = [move for i in indices if (move := _move_of(route.layout, route.circuit, i, length_mm)) is not None]
    return min(moves, default=None)


def _move_of(layout: Layout, circuit: Circuit, index: int, length_mm: float) -> _Move | None:
    gradient, start = length_by_centre(circuit.base.whole)[index], circuit.centre[index]
    steepness = float(norm(gradient))
    if not steepness > 0.0:
        return None
    way = gradient / steepness * np.sign(length_mm - circuit.base.length)
    slide = replace(circuit, moving=index, track=slide_track(start, start + _FARTHEST_MM * way, np.zeros(())))
    travel = travel_round(slide, slide.nominal)
    window = window_of(layout, slide, travel).single
    if not window.shortest <= length_mm <= window.longest:
        return None
    distance = setting_for(slide, travel, window, np.asarray(length_mm))
    return _Move(float(distance), float(np.arctan2(way[1], way[0])), circuit.pulleys[index].name)


# How fast and which way everything turns.


def ratios(route: Route) -> Floats:
    """Speed of each pulley over the driver's, (n), in the direction of travel."""
    return ratios_of(route.layout.belt, route.pulleys)


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


def turning_sense(route: Route, pulley: Pulley) -> Turns:
    """The way a pulley turns, seen from the front."""
    return "counterclockwise" if route.layout.sense_of(pulley) > 0 else "clockwise"


def belt_speed_m_per_s(route: Route, driver_rpm: float) -> float:
    """Speed of the belt at a speed of the driver."""
    radius_mm = route.pulleys[0].pitch_radius_mm(route.layout.belt)
    return driver_rpm / 60.0 * TURN * radius_mm / 1000.0
