"""Cures by one pulley of another diameter, as it can be had."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from beltplan.belts.layout import Layout
from beltplan.belts.pulleys import Pulley
from beltplan.studies.cure_change import Change, Family
from beltplan.studies.cure_pool import Pool
from beltplan.studies.cure_screen import Paths

STEP_MM, SHARE = 5.0, 0.2
"""Where the layout lists no diameters: steps up and down, within a share of what there is."""


@dataclass(frozen=True)
class OtherDiameter:
    """Another diameter, read as the pulley's own is. size: by how much of itself it changes."""

    target: str
    diameter_mm: float
    before_mm: float

    family: ClassVar[Family] = "diameter"

    @property
    def size(self) -> float:
        """Change as a share of what there is."""
        return abs(self.diameter_mm / self.before_mm - 1.0)

    @property
    def words(self) -> str:
        """What is to be done."""
        return f"fit a pulley of {self.diameter_mm:.10g} mm on {self.target}, {self.before_mm:.10g} before"

    def applied(self, layout: Layout) -> Layout:
        """The layout with that pulley."""
        pulley = replace(layout.pulleys[self.target], diameter_mm=self.diameter_mm)
        return replace(layout, pulleys={**layout.pulleys, self.target: pulley})


def diameters_of(pulley: Pulley) -> tuple[float, ...]:
    """The other diameters of a pulley, mm: those listed, else 5 mm steps within a fifth."""
    if pulley.diameters_mm:
        return tuple(size for size in pulley.diameters_mm if size != pulley.diameter_mm)
    steps = int(SHARE * pulley.diameter_mm / STEP_MM + 1e-9)
    return tuple(round(pulley.diameter_mm + STEP_MM * k, 6) for k in range(-steps, steps + 1) if k)


def other_diameters(layout: Layout, base: Paths) -> Pool | None:
    """Every other diameter of every pulley, one at a time."""
    found = [
        (i, OtherDiameter(pulley.name, size, pulley.diameter_mm))
        for i, pulley in enumerate(base.pulleys)
        for size in diameters_of(pulley)
        if replace(pulley, diameter_mm=size).line_radius_mm(layout.belt) > 1.0
    ]
    if not found:
        return None
    count = len(found)
    radius, rim = np.repeat(base.radius, count, axis=0), np.repeat(base.rim, count, axis=0)
    for row, (i, change) in enumerate(found):
        pulley = replace(base.pulleys[i], diameter_mm=change.diameter_mm)
        radius[row, i], rim[row, i] = pulley.line_radius_mm(layout.belt), pulley.rim_radius_mm(layout.belt)
    centre, sense = np.repeat(base.centre, count, axis=0), np.repeat(base.sense, count, axis=0)
    sizes = np.array([change.size for _, change in found])

    def change_of(number: int, size: float) -> Change:
        return found[number][1]

    return Pool(Paths(base.pulleys, centre, radius, rim, sense), sizes, change_of)
