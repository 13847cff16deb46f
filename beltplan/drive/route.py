"""The belt's route over a layout: the window, the belt that is judged, and the geometry it makes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

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
    stretch_lengths,
    window_of,
)
from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Adjuster, Pulley, Slide, ratios_of
from beltplan.drive.travel import Circuit, Travel, stacked, travel_of, travel_round
from beltplan.drive.way_round import NoBeltPath, circuit_for, ways_round
from beltplan.geometry.loops import Loop
from beltplan.geometry.vectors import TURN, Floats


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
        return self.circuit.spans

    @property
    def moving(self) -> Pulley | None:
        return None if self.circuit.moving is None else self.pulleys[self.circuit.moving]

    @property
    def stop_names(self) -> tuple[str, str]:
        """What the two ends of the travel are called, in the adjuster's order: after the path that they give."""
        travel, adjuster = self.travel, self.circuit.adjuster
        if travel is None or adjuster is None:
            return "short", "long"
        # The file gives its stops in either order, rising or falling.
        first = adjuster.travel[0]
        return ("short", "long") if abs(first - travel.short) <= abs(first - travel.long) else ("long", "short")

    @property
    def belt(self) -> Belt:
        """The belt judged; that of the layout, with or without a length, where none is."""
        return self.layout.belt if self.judged is None else self.judged.belt

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
    def take_up_percent(self) -> float | None:
        """Take-up against the best that it could be, %; None without an adjuster."""
        return None if self.setting is None else float(self.circuit.take_up_percent_at(self.setting))

    @property
    def ratios(self) -> Floats:
        """Speed of each pulley over the driver's, (n), in the direction of travel."""
        return ratios_of(self.layout.belt, self.pulleys)

    def belt_speed_m_per_s(self, driver_rpm: float) -> float:
        """Speed of the belt at a speed of the driver."""
        return driver_rpm / 60.0 * TURN * self.pulleys[0].pitch_radius_mm(self.layout.belt) / 1000.0

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
    (route,) = [laid] if laid else routes_of([layout])
    if route is None:
        return layout
    travel = route.travel
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
    ways = [ways_round(layout) for layout in layouts]
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
    setting = _unfitted_setting(circuit, travel, window, named) if judged is None else judged.setting
    loop = circuit.loop_at(setting or 0.0)
    length = judged.line_mm if judged is not None else float(loop.length) if named is None else named
    return Route(layout, circuit, both_ways, travel, window, needed, stock, judged, length, setting, loop)


def over(route: Route, layout: Layout) -> Route:
    """Another layout, as of another belt, over the same path."""
    return belted(layout, route.circuit, route.both_ways, route.travel)


def _unfitted_setting(
    circuit: Circuit, travel: Travel | None, window: Window[float] | None, named_mm: float | None
) -> float | None:
    if circuit.adjuster is None or travel is None or window is None:
        return None
    if named_mm is not None:
        return float(travel.short if named_mm < window.shortest else travel.long)
    return float(middle_of(circuit.adjuster, travel))


def middle_of(adjuster: Adjuster, travel: Travel) -> Floats:
    """Setting in the middle of the adjuster's travel, or of its usable part where that does not hold it, (...)."""
    inside = (travel.low <= adjuster.middle) & (adjuster.middle <= travel.high)
    return np.where(inside, adjuster.middle, 0.5 * (travel.low + travel.high))
