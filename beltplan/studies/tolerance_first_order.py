"""The spread of the needed length to first order: closed-form derivatives, no draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from beltplan.belts.adjusters import Arm, Slide
from beltplan.belts.route import Route
from beltplan.geometry.sensitivity import length_by_centre, length_by_radius
from beltplan.geometry.vectors import Floats, dot, from_angle, left_normal
from beltplan.studies.measurements import Measurement, Part

Slopes = dict[Part, float]


@dataclass(frozen=True)
class Contribution:
    """What one measurement does to the needed length.

    mm_per_unit: change of length for a mm, or a degree, of the measurement. share: of the variance, None where there
    is no variance at all.
    """

    measurement: Measurement
    mm_per_unit: float
    share: float | None

    @property
    def deviation_mm(self) -> float:
        """Standard deviation of the needed length by this measurement alone."""
        return abs(self.mm_per_unit) * self.measurement.deviation


@dataclass(frozen=True)
class FirstOrder:
    """Standard deviation of the needed length, mm, and what each measurement adds, the largest share first."""

    deviation_mm: float
    contributions: tuple[Contribution, ...]


def first_order(route: Route, measurements: tuple[Measurement, ...]) -> FirstOrder | None:
    """Spread of the path length at the design setting by independent small errors; None without a path there.

    Source: propagation of uncertainty, variance = sum of (dL/dm x deviation)^2 (JCGM 100:2008, 5.1.2), with
    dL/dcentre and dL/dradius of `geometry/sensitivity`.
    """
    if route.needed_mm is None:
        return None
    slopes = length_by_measurement(route, measurements)
    parts = slopes * np.array([measurement.deviation for measurement in measurements])
    variance = float(np.sum(parts**2))
    shares = [None if variance == 0.0 else float(part**2) / variance for part in parts]
    rows = [Contribution(*row) for row in zip(measurements, slopes.tolist(), shares, strict=True)]
    return FirstOrder(float(np.sqrt(variance)), tuple(sorted(rows, key=lambda row: -row.deviation_mm)))


def length_by_measurement(route: Route, measurements: tuple[Measurement, ...]) -> Floats:
    """Change of the path length at the design setting with each measurement, (m) mm per mm or per deg."""
    adjuster = route.circuit.adjuster
    loop = route.circuit.loop_at(0.0 if adjuster is None else adjuster.nominal)
    by_centre, by_radius = length_by_centre(loop), length_by_radius(loop)
    slopes = [_slopes(route, i, by_centre[i], float(by_radius[i])) for i in range(len(route.pulleys))]
    return np.array([slopes[measurement.index].get(measurement.part, 0.0) for measurement in measurements])


def _slopes(route: Route, index: int, by_centre: Floats, by_radius: float) -> Slopes:
    adjuster = route.pulleys[index].adjuster
    # The rim's height over the line is taken off the reading.
    found: Slopes = {"diameter": 0.5 * by_radius, "rim height": -0.5 * by_radius}
    if isinstance(adjuster, Arm):
        return found | _arm_slopes(adjuster, by_centre)
    if isinstance(adjuster, Slide):
        return found | _slide_slopes(adjuster, by_centre)
    return found | {"x": float(by_centre[0]), "y": float(by_centre[1])}


def _arm_slopes(arm: Arm, by_centre: Floats) -> Slopes:
    out = from_angle(np.asarray(arm.nominal))
    by_degree = float(np.radians(arm.length_mm * dot(by_centre, left_normal(out))))
    found: Slopes = {
        "pivot x": float(by_centre[0]),
        "pivot y": float(by_centre[1]),
        "arm length": float(dot(by_centre, out)),
    }
    if arm.at_rad is not None:
        return found | {"design angle": by_degree}
    # The middle of the travel moves half as far as either stop.
    return found | {"first stop": 0.5 * by_degree, "second stop": 0.5 * by_degree}


def _slide_slopes(slide: Slide, by_centre: Floats) -> Slopes:
    share = slide.nominal / slide.length_mm
    x, y = float(by_centre[0]), float(by_centre[1])
    return {"from x": (1.0 - share) * x, "from y": (1.0 - share) * y, "to x": share * x, "to y": share * y}
