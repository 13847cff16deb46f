"""The tolerance study as JSON."""

from __future__ import annotations

from typing import Any

import numpy as np

from beltplan.belts.uncertainty import DEVIATIONS_SOURCE, deviations_of
from beltplan.geometry.vectors import Floats
from beltplan.report.json_lines import json_text
from beltplan.report.words import CAUTION
from beltplan.studies.measurements import Measurement
from beltplan.studies.tolerance import Tolerance, WrapSpread, band
from beltplan.studies.tolerance_belts import BeltChance
from beltplan.studies.tolerance_first_order import Contribution

Object = dict[str, Any]


def tolerance_json(study: Tolerance) -> str:
    """The study as one JSON object in plain ASCII, every number finite; what is unknown is null."""
    return json_text(tolerance_object(study))


def tolerance_object(study: Tolerance) -> Object:
    """The study as plain values; mm, deg, chances and shares from 0 to 1."""
    first = study.first
    return {
        "title": study.route.layout.title,
        "variant": study.route.layout.variant,
        "units": "mm",
        "draws": study.draws,
        "seed": study.seed,
        "buy": None if study.best is None else study.best.designation,
        "nearest": None if study.nearest is None else study.nearest.designation,
        "chosen": None if study.chosen is None else study.chosen.designation,
        "measure_again": None if first is None or not first.deviation_mm else first.contributions[0].measurement.words,
        "uncertainty": _uncertainty(study),
        "needed": _needed(study),
        "window": _window(study),
        "no_path": study.no_path,
        "length_turns_back": study.turns_back,
        "travel_cut_short": study.cut,
        "belts": [_belt(belt) for belt in study.belts],
        "wraps": [_wrap(wrap) for wrap in study.wraps],
        "measurements": _measurements(study),
        "caution": CAUTION,
    }


def _uncertainty(study: Tolerance) -> Object:
    every, own = deviations_of(study.route.layout), study.route.layout.uncertainty
    names = ("position_mm", "diameter_mm", "angle_deg")
    return {
        "meaning": "one standard deviation",
        **{name: getattr(every, name) for name in names},
        "sources": {name: DEVIATIONS_SOURCE if getattr(own, name) is None else "the layout file" for name in names},
        "belt_tolerance": "uniform over the band",
    }


def _needed(study: Tolerance) -> Object:
    drawn = study.needed_mm
    return {
        "as_given_mm": study.route.needed_mm,
        "first_order_deviation_mm": None if study.first is None else study.first.deviation_mm,
        "drawn_mean_mm": float(drawn.mean()) if drawn.size else None,
        "drawn_deviation_mm": float(drawn.std()) if drawn.size else None,
        "drawn_95_percent_mm": list(band(drawn)) if drawn.size else None,
    }


def _window(study: Tolerance) -> Object | None:
    if study.windows is None:
        return None
    return {
        "shortest_mm": _spread(study.windows.shortest),
        "longest_mm": _spread(study.windows.longest),
        "fitting_mm": _spread(study.windows.fitting),
    }


def _spread(values: Floats) -> Object:
    return {"mean": float(np.mean(values)), "deviation": float(np.std(values)), "95_percent": list(band(values))}


def _belt(belt: BeltChance) -> Object:
    return {
        "designation": belt.designation,
        "length_mm": belt.line_mm,
        "chance_goes_on": belt.inside,
        "chance_with_reserves": belt.with_reserve,
        "reserve_19_of_20_mm": belt.reserve_mm,
    }


def _wrap(wrap: WrapSpread) -> Object:
    return {
        "name": wrap.pulley,
        "least_deg": wrap.least_deg,
        "mean_deg": wrap.mean_deg,
        "deviation_deg": wrap.deviation_deg,
        "95_percent_deg": list(wrap.band_deg),
        "chance_under_least": wrap.under,
    }


def _measurements(study: Tolerance) -> list[Object]:
    if study.first is None:
        return [_measurement(measurement) for measurement in study.measurements]
    return [_measurement(row.measurement, row) for row in study.first.contributions]


def _measurement(measurement: Measurement, row: Contribution | None = None) -> Object:
    return {
        "pulley": measurement.pulley,
        "measurement": measurement.part,
        "deviation": measurement.deviation,
        "unit": measurement.unit,
        "distribution": measurement.spread,
        "length_mm_per_unit": None if row is None else row.mm_per_unit,
        "length_deviation_mm": None if row is None else row.deviation_mm,
        "share_of_variance": None if row is None else row.share,
    }
