"""Invented drives for the tolerance study, and a layout with one measurement changed in what the user gave."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from beltplan.drive.layout import Layout
from beltplan.drive.pulleys import Arm, Slide, Uncertainty
from beltplan.drive.route import Route, route_of
from beltplan.drive.travel import Circuit
from beltplan.geometry.vectors import Floats
from beltplan.layoutfile.layout_file import read_layout
from beltplan.tolerance.measurements import Measurement, drawn_circuits, measurements_of
from tests.drive.drives import arm, layout, on_slide, pulley, railcar, with_pulley

LAYOUTS = Path(__file__).parents[2] / "layouts"
NO_ERRORS = Uncertainty(0.0, 0.0, 0.0)


def shipped(name: str) -> Layout:
    """A layout that comes with the project."""
    return read_layout(str(LAYOUTS / f"{name}.yaml")).layout


def by_rim() -> Layout:
    """The example drive, its pump read over the rim, its arm with marks and without a design angle."""
    swing = arm((-150.0, 215.0), 85.0, (265.0, 300.0), marks_rad=(float(np.radians(270.0)), float(np.radians(296.0))))
    return with_pulley(with_pulley(railcar(), "pump", reading="rim", diameter_mm=129.6), "tensioner", adjuster=swing)


DRIVES: dict[str, Callable[[], Layout]] = {
    "railcar": railcar,
    "by rim": by_rim,
    "slide": lambda: on_slide(at=0.3),
    "workboat": lambda: shipped("workboat"),
    "camper": lambda: shipped("camper"),
    "orchard sprayer": lambda: shipped("orchard_sprayer"),
}


def smaller(given: Layout, factor: float) -> Layout:
    """The same layout, measured that much better than usual."""
    return replace(given, uncertainty=Uncertainty(factor, 0.2 * factor, 0.5 * factor))


def changed(given: Layout, measurement: Measurement, by: float) -> Layout:
    """A layout with one measurement changed by that much, mm or deg, as the user would have written it."""
    name, part = measurement.pulley, measurement.part
    own = given.pulleys[name]
    held = own.adjuster
    if part == "diameter":
        return with_pulley(given, name, diameter_mm=own.diameter_mm + by)
    if part == "rim height":
        # A rim higher over the line by so much: the line's diameter is smaller by as much.
        return with_pulley(given, name, diameter_mm=own.diameter_mm - by)
    if isinstance(held, Arm):
        return with_pulley(given, name, adjuster=_arm(held, part, by))
    if isinstance(held, Slide):
        return with_pulley(given, name, adjuster=_slide(held, part, by))
    assert own.at_mm is not None
    return with_pulley(given, name, at_mm=_moved(own.at_mm, part, by))


def _moved(point: tuple[float, float], part: str, by: float) -> tuple[float, float]:
    return (point[0] + by, point[1]) if part.endswith("x") else (point[0], point[1] + by)


def _arm(held: Arm, part: str, by: float) -> Arm:
    turn, (first, last) = float(np.radians(by)), held.stops_rad
    if part == "arm length":
        return replace(held, length_mm=held.length_mm + by)
    if part == "design angle":
        return replace(held, at_rad=held.nominal + turn)
    if part.endswith("stop"):
        return replace(held, stops_rad=(first + turn, last) if part == "first stop" else (first, last + turn))
    if part.endswith("mark"):
        assert held.marks_rad is not None
        new, worn = held.marks_rad
        return replace(held, marks_rad=(new + turn, worn) if part == "new mark" else (new, worn + turn))
    return replace(held, pivot_mm=_moved(held.pivot_mm, part, by))


def _slide(held: Slide, part: str, by: float) -> Slide:
    if part.startswith("from"):
        return replace(held, start_mm=_moved(held.start_mm, part, by))
    return replace(held, end_mm=_moved(held.end_mm, part, by))


def two_fixed(distance: float, belt: str) -> Layout:
    """Two fixed pulleys of 100 mm, the first at the origin. Path length 2 x distance + 100 pi."""
    drives = [pulley("crank", 0, 0, 100, role="crankshaft"), pulley("pump", distance, 0, 100, role="water_pump")]
    return layout(drives, belt)


def drawn_of(given: Layout, draws: int, seed: int = 4) -> tuple[Route, Circuit, Floats]:
    """A layout's route, draws of it, and the place of each draw's belt in its tolerance."""
    route = route_of(given)
    return route, *drawn_circuits(route, measurements_of(route), draws, seed)
