"""What was found of each pulley, as it goes into a layout: places, sizes, and how sure they are."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from beltplan.belts.adjusters import Adjuster, Arm, Slide
from beltplan.belts.designations import MM_PER_INCH
from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.reading.measurements_file import MeasurementsFile
from beltplan.reading.rewriting import number_text
from beltplan.reading.text_edits import CannotEdit, Keys
from beltplan.studies.measuring import Measuring
from beltplan.studies.measuring_spread import points_of, spread_of

DIGITS = 2
MOST_POSITION_MM = 100.0
"""The largest deviation that a layout takes."""
MOST_DIAMETER_MM = 50.0

Edit = tuple[Keys, str | tuple[str, ...]]


@dataclass(frozen=True, eq=False)
class Placed:
    """A pulley with its place, and the edits of its keys that put it there. edits: keys below the pulley."""

    pulley: Pulley
    edits: tuple[Edit, ...]


def placed_layout(source: MeasurementsFile, found: Measuring) -> tuple[Layout, tuple[Edit, ...]]:
    """The layout with every place found, and the edits of its text that say so. Raises CannotEdit."""
    layout = source.layout
    if layout is None or not source.has_layout:
        raise CannotEdit(f"a layout needs {', '.join(source.missing)} as well, which {source.path} does not have")
    scale = MM_PER_INCH if source.measured.in_inches else 1.0
    bare = {name: _placed(pulley, source, found, scale) for name, pulley in layout.pulleys.items()}
    spread = spread_of(found, replace(layout, pulleys={name: each.pulley for name, each in bare.items()}))
    placed = {name: _unsure(each, spread[name]) for name, each in bare.items()}
    edits = ((("pulleys", name, *keys), value) for name, each in placed.items() for keys, value in each.edits)
    return replace(layout, pulleys={name: each.pulley for name, each in placed.items()}), tuple(edits)


def _placed(pulley: Pulley, source: MeasurementsFile, found: Measuring, scale: float) -> Placed:
    centres = {key: found.centre(name) for key, name in _points_of(pulley)}
    at = {key: (centre.x_mm, centre.y_mm) for key, centre in centres.items()}
    edits: list[Edit] = [(key, tuple(number_text(number, scale) for number in place)) for key, place in at.items()]
    moved = replace(pulley, at_mm=at.get(("at",)), adjuster=_moved(pulley.adjuster, at))
    return _sized(moved, tuple(edits), source, found, scale)


def _points_of(pulley: Pulley) -> zip[tuple[Keys, str]]:
    """The keys of each place of a pulley, with the name of the point that stands there."""
    adjuster = pulley.adjuster
    keys: list[Keys] = [("at",)] if adjuster is None else [(adjuster.kind, end) for end in adjuster.points]
    return zip(keys, points_of(pulley), strict=True)


def _moved(adjuster: Adjuster | None, at: dict[Keys, tuple[float, float]]) -> Adjuster | None:
    if isinstance(adjuster, Arm):
        return replace(adjuster, pivot_mm=at["arm", "pivot"])
    if isinstance(adjuster, Slide):
        return replace(adjuster, start_mm=at["slide", "from"], end_mm=at["slide", "to"])
    return None


def _unsure(placed: Placed, spread_mm: float) -> Placed:
    """The same with the deviation of its place, rounded up."""
    position, pulley = rounded_up(spread_mm), placed.pulley
    if position > MOST_POSITION_MM:
        raise CannotEdit(f"the place of {pulley.name} is known to {position:.2g} mm only: measure it better first")
    pulley = replace(pulley, uncertainty=replace(pulley.uncertainty, position_mm=position))
    return Placed(pulley, (*placed.edits, (("uncertainty", "position_mm"), f"{position:.10g}")))


def rounded_up(value: float) -> float:
    """A deviation with two digits, never less than it is."""
    if not value > 1e-6:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - DIGITS + 1)
    return float(f"{math.ceil(value / step - 1e-9) * step:.{DIGITS}g}")


def _sized(pulley: Pulley, edits: tuple[Edit, ...], source: MeasurementsFile, found: Measuring, scale: float) -> Placed:
    """The pulley with the size that was measured, where the file gives none of its own."""
    if pulley.name in source.sized:
        return Placed(pulley, edits)
    size, deviation = _size(pulley.name, source, found)
    deviation = rounded_up(deviation)
    if deviation > MOST_DIAMETER_MM:
        raise CannotEdit(f"the diameter of {pulley.name} is known to {deviation:.2g} mm only: measure it better first")
    # A smooth face has but one diameter; of grooves it is the rim that shows.
    key = "diameter" if pulley.on_back else "rim_diameter"
    uncertainty = replace(pulley.uncertainty, diameter_mm=deviation)
    sized = replace(pulley, diameter_mm=size, reading="line" if pulley.on_back else "rim", uncertainty=uncertainty)
    more: tuple[Edit, ...] = (((key,), number_text(size, scale)), (("uncertainty", "diameter_mm"), f"{deviation:.10g}"))
    return Placed(sized, (*edits, *more))


def _size(name: str, source: MeasurementsFile, found: Measuring) -> tuple[float, float]:
    """A diameter over the rim, with its deviation: by all that was measured, else by calipers alone."""
    whole = next((size for size in found.sizes if size.pulley == name), None)
    if whole is not None:
        return whole.diameter_mm, whole.deviation_mm
    weights = [(size.deviation_mm**-2, size.diameter_mm) for size in source.diameters if size.pulley == name]
    total = sum(weight for weight, _ in weights)
    return sum(weight * diameter for weight, diameter in weights) / total, total**-0.5
