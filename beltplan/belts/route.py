"""The belt's route over a layout: the path, the window, the belt that is judged, and the geometry it makes."""

from __future__ import annotations

from dataclasses import dataclass

from beltplan.belts.circuit import Circuit
from beltplan.belts.designations import format_designation
from beltplan.belts.fit import (
    FittedBelt,
    Window,
    acceptable_lengths,
    fitted_in_window,
    fitted_on_fixed,
    stretch_lengths,
    window_of,
)
from beltplan.belts.layout import Layout
from beltplan.belts.lengths import line_length_mm
from beltplan.belts.pulleys import Pulley
from beltplan.belts.routing import circuit_for
from beltplan.belts.stock import may_be_sold
from beltplan.belts.travel import Travel, travel_of
from beltplan.geometry.loops import Loop


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
    window: Window | None
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
    def strands(self) -> tuple[tuple[Pulley, Pulley], ...]:
        """The pulleys at both ends of every strand, in the same order."""
        return tuple(zip(self.pulleys, self.pulleys[1:] + self.pulleys[:1], strict=True))

    @property
    def moving(self) -> Pulley | None:
        """The adjusted pulley."""
        return None if self.circuit.moving is None else self.pulleys[self.circuit.moving]

    @property
    def named_outside(self) -> bool:
        """Whether the layout names a belt that does not fit."""
        return self.layout.belt.length_mm is not None and self.judged is None

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
        return self.travel.position(self.setting)

    @property
    def acceptable_mm(self) -> tuple[float, float] | None:
        """Least and most belt length, along the followed line, that is good here; None where none is."""
        if self.window is not None:
            return acceptable_lengths(self.layout.belt, self.window)
        return None if self.needed_mm is None else stretch_lengths(self.layout.belt, self.needed_mm)

    @property
    def to_ask_for_mm(self) -> tuple[float, float] | None:
        """Least and most length to ask a supplier for, where none of the built-in list fits but others may be sold."""
        good = self.acceptable_mm
        return good if self.judged is None and good is not None and may_be_sold(self.layout, *good) else None


def route_of(layout: Layout) -> Route:
    """Lay the belt: direction, travel, window, the belts that fit, and the geometry that the judged one makes.

    Raises NoBeltPath where there is no belt path anywhere on the adjuster's travel.
    """
    circuit, both_ways = circuit_for(layout)
    travel = travel_of(circuit)
    needed = _needed(circuit, travel)
    window = None if travel is None else window_of(layout, circuit, travel)
    stock = _stock(layout, circuit, travel, window, needed)
    judged = _judged(layout, stock)
    setting = _setting(layout, circuit, travel, judged)
    loop = circuit.loop_at(0.0 if setting is None else setting)
    length = _length(layout, judged, loop)
    return Route(layout, circuit, both_ways, travel, window, needed, stock, judged, length, setting, loop)


def _needed(circuit: Circuit, travel: Travel | None) -> float | None:
    setting = 0.0 if circuit.adjuster is None else circuit.adjuster.nominal
    if travel is not None and not travel.contains_nominal:
        return None
    return float(circuit.loop_at(setting).length)


def _stock(
    layout: Layout, circuit: Circuit, travel: Travel | None, window: Window | None, needed: float | None
) -> tuple[FittedBelt, ...]:
    if travel is not None and window is not None:
        return fitted_in_window(layout, circuit, travel, window)
    return () if needed is None else fitted_on_fixed(layout, needed)


def _judged(layout: Layout, stock: tuple[FittedBelt, ...]) -> FittedBelt | None:
    if layout.belt.length_mm is None:
        return stock[0] if stock else None
    return next((fitted for fitted in stock if fitted.belt == layout.belt), None)


def _setting(layout: Layout, circuit: Circuit, travel: Travel | None, judged: FittedBelt | None) -> float | None:
    if circuit.adjuster is None or travel is None:
        return None
    if judged is not None:
        return judged.setting
    if layout.belt.length_mm is not None:
        return travel.short if line_length_mm(layout.belt) < travel.shortest_mm else travel.long
    low, high = sorted((travel.short, travel.long))
    middle = circuit.adjuster.middle
    return middle if low <= middle <= high else 0.5 * (low + high)


def _length(layout: Layout, judged: FittedBelt | None, loop: Loop) -> float:
    if judged is not None:
        return judged.line_mm
    return line_length_mm(layout.belt) if layout.belt.length_mm is not None else float(loop.length)
